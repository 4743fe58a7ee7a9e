//! From joint angles of both legs of users of above-knee prostheses to a walking drive: `kneedamp drive`.
//!
//! The tables hold one stride a side in percent of its own stride; no times, events or forces. What is needed
//! follows from segment lengths and from feet that do not slide on the belt:
//!
//! 1. phase between both sides from the pelvis, steps and stride time (`stride`);
//! 2. path of the hip from standing feet, toe-off from the toe that leaves its place (`hip_path`);
//! 3. zero of the knee from the straight stance (`reconstruction`);
//! 4. mean of the users, plain or aligned at landmarks (`mean`);
//! 5. rows at other speeds from a base drive (`speeds`).
//!
//! Checked against an independent program in tests/cross_code/users_drive.rs.

pub mod hip_path;
pub mod landmarks;
pub mod leg;
pub mod mean;
pub mod people;
pub mod read;
pub mod reconstruction;
pub mod report;
pub mod series;
pub mod speeds;
pub mod stride;
pub mod user;

use self::landmarks::Landmark;
use self::mean::MeanStride;
use self::read::Recording;
use self::reconstruction::Reconstruction;
use self::speeds::Provenance;
use super::to_yaml;
use crate::error::SimError;
use crate::findings::Findings;
use crate::library::table::Named;
use crate::scenario::DriveFile;

/// A drive made from joint angles.
#[derive(Debug, Clone)]
pub struct Converted {
    /// Each user's walk.
    pub users: Vec<Reconstruction>,
    /// The mean that was taken.
    pub mean: MeanStride,
    /// The drive file.
    pub file: DriveFile,
    /// The checks, and what alignment changes.
    pub findings: Findings,
}

/// Turns both tables into a drive: the mean of the users, or of the `subjects` named, aligned at some landmarks
/// (none: the plain mean), with the rows of a base drive shifted to it.
///
/// # Errors
/// What is wrong in a table, with file and line; sides that do not fit; a toe that slides; a speed that the
/// base does not cover.
pub fn convert(
    [angles, people]: [Named; 2],
    subjects: &[String],
    aligned_at: &[Landmark],
    base: &DriveFile,
    name: &str,
) -> Result<Converted, SimError> {
    let Recording { users, without_angles, points, source, licence } = read::read(angles, people, subjects)?;
    let users = users
        .into_iter()
        .map(|user| {
            let line = Some(user.line);
            let in_file = |e| SimError::InFile { file: angles.name.to_owned(), line, cause: Box::new(e) };
            Reconstruction::of(user).map_err(in_file)
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    let mean = MeanStride::of(&users, aligned_at)?;
    let file =
        speeds::drive(base, &mean, Provenance { name: name.to_owned(), source, licence, about: None })?;
    let mut findings = report::findings(&users, &mean);
    if points != series::PERCENT + 1 {
        findings.text.push(format!("{points} points per stride, resampled to whole percents."));
    }
    if !without_angles.is_empty() {
        findings.text.push(format!("People without angles: {}.", without_angles.join(", ")));
    }
    Ok(Converted { users, mean, file, findings })
}

/// The drive as a file whose first lines say how it was made.
///
/// # Errors
/// The serialiser's.
pub fn yaml(file: &DriveFile, command: &str) -> Result<String, SimError> {
    let command: String = command.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    Ok(format!(
        "# Made by this command, not by hand:\n#   {command}\n# Where the angles come from and what may be done \
         with them: `source` and `licence` below.\n{}",
        to_yaml(file)?
    ))
}
