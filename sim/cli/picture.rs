//! Pictures that a command writes: SVG, or PNG where the program was built with the feature `png`.

use std::path::{Path, PathBuf};
use std::str::FromStr;

use super::output::message;
use crate::error::SimError;
use crate::findings::Plot;
use crate::report;

/// A picture file; its ending gives the format.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureFile {
    path: PathBuf,
    form: Form,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Svg,
    #[cfg(feature = "png")]
    Png,
}

impl FromStr for PictureFile {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let path = PathBuf::from(text);
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let form = match ending.as_deref() {
            Some("svg") => Form::Svg,
            #[cfg(feature = "png")]
            Some("png") => Form::Png,
            #[cfg(not(feature = "png"))]
            Some("png") => {
                return Err("this program draws SVG; for PNG build it with --features png".into());
            }
            _ if cfg!(feature = "png") => return Err("the name must end in .svg or .png".into()),
            _ => return Err("the name must end in .svg".into()),
        };
        // a link must not lead to a model, or to another output
        if path.canonicalize().is_ok_and(|target| {
            target.extension().map(|e| e.to_ascii_lowercase())
                != path.extension().map(|e| e.to_ascii_lowercase())
        }) {
            return Err("the file it links to has another ending".into());
        }
        Ok(Self { path, form })
    }
}

impl PictureFile {
    /// Writes one picture.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn write(&self, svg: &str) -> Result<(), SimError> {
        self.write_to(&self.path, svg)
    }

    /// The picture in the form of the file.
    ///
    /// # Errors
    /// It cannot be drawn.
    pub fn bytes(&self, svg: &str) -> Result<Vec<u8>, SimError> {
        match self.form {
            Form::Svg => Ok(svg.as_bytes().to_vec()),
            #[cfg(feature = "png")]
            Form::Png => report::png::png(svg),
        }
    }

    /// Where it is written.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes the plots of a study: one under the name of the file, several with `-KEY` before the ending, which a
    /// message lists.
    ///
    /// # Errors
    /// Nothing to draw; a file cannot be written.
    pub fn write_plots(&self, plots: &[Plot]) -> Result<(), SimError> {
        match plots {
            [] => {
                Err(SimError::Usage("--plot: nothing that was run moves, so there is nothing to draw".into()))
            }
            [one] => self.write(&report::plot::svg(one)?),
            several => {
                let drawn: Vec<(PathBuf, String)> = several
                    .iter()
                    .map(|p| Ok((self.named(&p.key), report::plot::svg(p)?)))
                    .collect::<Result<_, SimError>>()?;
                for (path, svg) in &drawn {
                    self.write_to(path, svg)?;
                }
                let names: Vec<String> = drawn.iter().map(|d| d.0.display().to_string()).collect();
                message(&format!("drawn: {}", names.join(", ")));
                Ok(())
            }
        }
    }

    fn write_to(&self, path: &Path, svg: &str) -> Result<(), SimError> {
        report::output::write_whole(path, &self.bytes(svg)?)
    }

    /// `out.svg` and `sit-down` give `out-sit-down.svg`.
    fn named(&self, key: &str) -> PathBuf {
        let part = |p: Option<&std::ffi::OsStr>| p.unwrap_or_default().to_string_lossy().into_owned();
        let name = format!("{}-{key}.{}", part(self.path.file_stem()), part(self.path.extension()));
        self.path.with_file_name(name)
    }
}
