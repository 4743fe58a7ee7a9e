//! `kneedamp identify stride`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use super::provenance::made_from;
use crate::cli::common::{ReportOptions, SetupOptions, check_name};
use crate::cli::output::{Status, message};
use crate::cli::picture::PictureFile;
use crate::cli::progress::while_working;
use crate::cli::replay_command::quoted;
use crate::error::SimError;
use crate::library::example;
use crate::library::measured::trace::{Column, read};
use crate::library::table::Named;
use crate::library::{Model, parse, read_table, to_yaml};
use crate::report::output::write_whole;
use crate::scenario::{Activity, Scenario, WalkingDrive};
use crate::study::identify_stride::{Also, StrideFit, StrideStudy, SwingLaw};
use crate::units::within;

/// Examples:
///   kneedamp identify stride walk.csv --speed 1.2 --mass 82 --stature 1.78 --name anna --output anna
///   kneedamp run --library anna --person anna --knee anna --drive anna
///   kneedamp identify stride gait.mot --columns knee_deg=-knee_angle_r --name anna --output anna --plot anna.svg
///
/// TABLE: time_s or percent (of one stride from heel contact), knee_deg (flexion positive); if there are such,
/// thigh_deg (from vertical, knee ahead positive), hip_forward_m and hip_up_m. CSV with , ; or tab, or a plain-text
/// motion table (.sto, .mot). With angles of both legs make the person's drive first (kneedamp drive) and give it with
/// --drive. The joint stays the one given with --knee but for its two resistances of swing and its assist.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Angles over time, or over one stride
    #[arg(value_name = "TABLE")]
    pub table: PathBuf,
    /// Columns with other names; a - before the name where it counts the other way
    #[arg(long, value_name = "OURS=THEIRS,…", value_delimiter = ',')]
    pub columns: Vec<Column>,
    /// Heel contacts of the prosthetic side, s: two or more, one after the other; by default they are found
    #[arg(long, value_name = "S,S,…", value_delimiter = ',', allow_negative_numbers = true)]
    pub heel_contact: Vec<f64>,
    /// Toe-off of the prosthetic side, percent of the stride; by default that of the drive
    #[arg(long, value_name = "PCT")]
    pub toe_off: Option<f64>,
    /// What is found besides the two resistances of swing and the assist
    #[arg(long, value_name = "WHAT,…", value_delimiter = ',')]
    pub also: Vec<AlsoOption>,
    /// Damper law of the new knee; all laws are tried and compared
    #[arg(long, value_enum, default_value = "orifice")]
    pub law: LawOption,
    /// Name of the new models: letters, digits and -
    #[arg(long, value_name = "NAME")]
    pub name: String,
    /// Folder to write, to be given with --library: knees/, people/, drives/
    #[arg(long, value_name = "FOLDER")]
    pub output: PathBuf,
    /// Draws the model over the measured curve
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
    #[command(flatten)]
    pub report: ReportOptions,
    #[command(flatten)]
    pub setup: SetupOptions,
}

/// Law of the new knee.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum LawOption {
    /// Orifice
    Orifice,
    /// Proportional to rate
    Linear,
    /// Constant friction
    ConstantFriction,
}

/// What is found besides.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum AlsoOption {
    /// Mass and inertia below the knee, as a factor
    Mass,
    /// The user's effort in pre-swing; runs the whole stride
    Effort,
}

/// Runs the command.
///
/// # Errors
/// What is wrong in the table or the models; a file that cannot be written. Nothing is written before all is found.
pub fn run(o: &Options) -> Result<Status, SimError> {
    check_name(&o.name)?;
    let toe_off =
        o.toe_off.map(|p| within("--toe-off (percent)", p, 51.0..=90.0).map(|p| p / 100.0)).transpose()?;
    if o.heel_contact.len() == 1
        || o.heel_contact.windows(2).any(|w| w[1].partial_cmp(&w[0]) != Some(std::cmp::Ordering::Greater))
    {
        return Err(SimError::Usage(
            "--heel-contact: two or more instants are needed, one after the other".into(),
        ));
    }
    let library = o.setup.library.open()?;
    let scenario = library.scenario(example::SCENARIO)?;
    let setup = o.setup.read(&library, std::slice::from_ref(&scenario))?;
    let named = o.table.display().to_string();
    let content = read_table(&o.table)?;
    let study = StrideStudy {
        trace: read(Named { name: &named, text: &content }, &o.columns)?,
        drive: drive(&scenario, &setup.drives)?,
        setup,
        contacts_s: o.heel_contact.clone(),
        toe_off,
        also: o.also.iter().map(|a| (*a).into()).collect(),
        law: o.law.into(),
        name: o.name.clone(),
    };
    let fit = while_working(|| study.run())?;
    let head = made_from(&named, &content);
    let files = files(&fit, &o.output, &head)?;
    let mut findings = fit.findings();
    findings.text.push(format!("Next: {}", next_command(o, &fit)));
    for (path, text) in &files {
        write_in_new_folder(path, text)?;
    }
    if let Some(picture) = &o.plot {
        picture.write_plots(&findings.plots)?;
    }
    let inputs = json!({
        "table": named, "person": o.setup.person, "knee": o.setup.knee, "drive": fit.asked.drive.file.name,
        "name": o.name, "stride_time_s": fit.timing.stride_time_s, "speed_m_per_s": fit.timing.speed_m_per_s,
    });
    o.report.print_as("identify stride", inputs, &findings, || findings.clone())?;
    let names: Vec<String> = files.iter().map(|f| f.0.display().to_string()).collect();
    message(&format!("wrote {}", names.join(", ")));
    Ok(Status::Done)
}

/// The drive that walking takes in this set-up.
fn drive(
    scenario: &Scenario,
    drives: &std::collections::BTreeMap<String, WalkingDrive>,
) -> Result<WalkingDrive, SimError> {
    let Activity::Walk(walk) = &scenario.activity else {
        return Err(SimError::Usage("the example scenario does not walk".into()));
    };
    drives.get(&walk.drive).cloned().ok_or_else(|| SimError::Unknown {
        kind: "drive",
        name: walk.drive.clone(),
        known: drives.keys().cloned().collect::<Vec<_>>().join(", "),
    })
}

/// The models as text, read back before anything is written.
fn files(fit: &StrideFit, folder: &Path, head: &str) -> Result<Vec<(PathBuf, String)>, SimError> {
    fn file<M: Model + serde::Serialize>(
        model: &M,
        folder: &Path,
        name: &str,
        head: &str,
    ) -> Result<(PathBuf, String), SimError> {
        let text = format!("{head}{}", to_yaml(model)?);
        parse::<M>(&text, &format!("the new {}", M::KIND.as_str()))?;
        Ok((folder.join(M::KIND.folder()).join(format!("{name}.yaml")), text))
    }
    let name = &fit.asked.name;
    let mut files = vec![
        file(&fit.knee_file(), folder, name, head)?,
        file(&fit.person(), folder, name, head)?,
        file(&fit.drive, folder, name, head)?,
    ];
    if let Some(prosthesis) = fit.prosthesis() {
        files.push(file(&prosthesis, folder, name, head)?);
    }
    Ok(files)
}

fn write_in_new_folder(path: &Path, text: &str) -> Result<(), SimError> {
    let folder = path.parent().unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder).map_err(|e| SimError::File {
        path: folder.display().to_string(),
        why: std::io::Error::from(e.kind()).to_string(),
    })?;
    write_whole(path, text.as_bytes())
}

fn next_command(o: &Options, fit: &StrideFit) -> String {
    let name = &o.name;
    let prosthesis = match fit.prosthesis() {
        Some(_) => format!(" --prosthesis {name}"),
        None => format!(" --prosthesis {}", quoted(&o.setup.prosthesis)),
    };
    format!(
        "kneedamp run walk-comfortable --library {} --person {name}{prosthesis} --knee {name} --drive {name} --speed {:.3}",
        quoted(&o.output.display().to_string()),
        fit.timing.speed_m_per_s
    )
}

impl From<LawOption> for SwingLaw {
    fn from(law: LawOption) -> Self {
        match law {
            LawOption::Orifice => Self::Orifice,
            LawOption::Linear => Self::Linear,
            LawOption::ConstantFriction => Self::Friction,
        }
    }
}

impl From<AlsoOption> for Also {
    fn from(also: AlsoOption) -> Self {
        match also {
            AlsoOption::Mass => Self::Mass,
            AlsoOption::Effort => Self::Effort,
        }
    }
}
