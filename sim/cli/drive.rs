//! `kneedamp drive`.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::common::{LibraryOptions, ReportOptions, check_name};
use super::output::{Status, message};
use crate::error::SimError;
use crate::library::angles::landmarks::Landmark;
use crate::library::angles::{convert, yaml};
use crate::library::table::Named;
use crate::library::{parse, read_text};
use crate::report::output::write_whole;
use crate::scenario::DriveFile;

/// Examples:
///   kneedamp drive angles.csv --people people.csv --name my-users --output my-users.yaml
///   kneedamp drive angles.csv --people people.csv --name one --output one.yaml --subjects TF05
///
/// Turns joint angles of both legs of users of above-knee prostheses on a treadmill into a
/// walking drive: phase between the sides, stride time, path of the hip, toe-off, mean over the
/// users. Writes the drive file and prints the checks of this reconstruction and what alignment
/// at landmarks does to the mean. At speeds that were not measured the base drive is shifted by
/// the difference found at the measured one.
///
/// ANGLES.csv: subject, side (prosthetic or sound), angle_deg (pelvis_tilt, pelvis_obliquity,
/// pelvis_rotation, hip_flexion, knee_flexion, ankle_dorsiflexion), p0, p1, ...: 20 points or
/// more, evenly over 0-100 % of that side's own stride. PEOPLE.csv: subject, mass_kg, stature_m,
/// speed_m_per_s. Lines `# source: ...` and `# licence: ...` of ANGLES.csv go into the file.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Joint angles of both sides, one stride each
    #[arg(value_name = "ANGLES.csv")]
    pub angles: PathBuf,
    /// Mass, stature and speed of the people
    #[arg(long, value_name = "PEOPLE.csv")]
    pub people: PathBuf,
    /// Drive whose rows are shifted for speeds that were not measured: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = "able-bodied-2008")]
    pub base: String,
    /// Name of the new drive: letters, digits and -
    #[arg(long, value_name = "NAME")]
    pub name: String,
    /// File to write; an existing one is replaced
    #[arg(long, value_name = "FILE.yaml")]
    pub output: PathBuf,
    /// Only these users
    #[arg(long, value_name = "SUBJECT,…", value_delimiter = ',')]
    pub subjects: Vec<String>,
    /// Landmarks at which strides are aligned before they are averaged; also greatest-thigh
    #[arg(long, value_name = "LANDMARK,…", value_delimiter = ',', default_values_t = Landmark::DEFAULT)]
    pub landmarks: Vec<Landmark>,
    /// Averages percent by percent, without alignment
    #[arg(long, conflicts_with = "landmarks")]
    pub plain_mean: bool,
    #[command(flatten)]
    pub report: ReportOptions,
    #[command(flatten)]
    pub library: LibraryOptions,
}

impl Options {
    fn aligned_at(&self) -> &[Landmark] {
        if self.plain_mean { &[] } else { &self.landmarks }
    }

    /// The command that makes the file again, for its first line.
    fn command(&self, angles: &str, people: &str) -> String {
        let Self { base, name, output, .. } = self;
        let mut command = format!(
            "kneedamp drive {angles} --people {people} --base {base} --name {name} --output {}",
            output.display()
        );
        if !self.subjects.is_empty() {
            command += &format!(" --subjects {}", self.subjects.join(","));
        }
        if self.plain_mean {
            command += " --plain-mean";
        } else {
            let names: Vec<String> = self.landmarks.iter().map(Landmark::to_string).collect();
            command += &format!(" --landmarks {}", names.join(","));
        }
        command
    }
}

/// Runs the command.
///
/// # Errors
/// What is wrong in a table or the base drive; a file that cannot be written. Nothing is written then.
pub fn run(o: &Options) -> Result<Status, SimError> {
    check_name(&o.name)?;
    let base = o.library.open()?.drive(&o.base)?;
    let [angles_name, people_name] = [&o.angles, &o.people].map(|p| p.display().to_string());
    let (angles, people) = (read_text(&o.angles)?, read_text(&o.people)?);
    let tables = [Named { name: &angles_name, text: &angles }, Named { name: &people_name, text: &people }];
    let converted = convert(tables, &o.subjects, o.aligned_at(), &base, &o.name)?;
    let text = yaml(&converted.file, &o.command(&angles_name, &people_name))?;
    parse::<DriveFile>(&text, "the new drive")?;
    let inputs = json!({
        "angles": angles_name, "people": people_name, "base": o.base, "name": o.name,
        "subjects": converted.mean.subjects,
        "aligned_at": converted.mean.aligned_at.iter().map(|l| l.as_str()).collect::<Vec<_>>(),
    });
    write_whole(&o.output, text.as_bytes())?;
    o.report.print_as("drive", inputs, &converted.findings, || converted.findings.clone())?;
    message(&format!("wrote {}; use it by its path", o.output.display()));
    Ok(Status::Done)
}
