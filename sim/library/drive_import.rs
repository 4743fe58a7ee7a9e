//! A walking drive from a table (CSV): `kneedamp new drive FILE --from-csv`.
//!
//! The table has one signal per row: signal, meaning, speed label, v*, coefficients. Lines that begin
//! with `#` are comments. Signals: `scalars` (cadence*, step*, toe-off fraction, opposite-contact
//! fraction), the four Fourier signals (a0 a1 b1 a2 b2 ...) and the two loads (sine series).

use crate::error::SimError;
use crate::scenario::harmonics::Harmonics;
use crate::scenario::{DriveFile, DriveKind, DriveRow};

/// Texts of a drive file that a table does not have.
#[derive(Debug, Clone)]
pub struct Provenance {
    /// Name of the drive.
    pub name: String,
    /// What it is.
    pub about: String,
    /// Where the numbers come from.
    pub source: String,
    /// What may be done with them.
    pub licence: String,
    /// Standard deviation of the peak of knee flexion in swing, degrees.
    pub knee_flexion_sd_deg: Option<f64>,
}

/// Reads a table.
///
/// # Errors
/// A row that cannot be read, a signal that is missing for a speed, or what [`DriveFile::check`] refuses.
pub fn from_csv(text: &str, provenance: Provenance) -> Result<DriveFile, SimError> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut rows: Vec<(String, String, Vec<f64>)> = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| SimError::Syntax(e.to_string()))?;
        let line = record.position().map_or(0, csv::Position::line);
        let wrong = |why: String| SimError::Syntax(format!("line {line}: {why}"));
        // the reader takes a comment without a line end for an empty row
        if record.iter().all(str::is_empty) {
            continue;
        }
        if record.len() < 5 {
            return Err(wrong("wanted: signal, meaning, speed label, v*, coefficients".into()));
        }
        let numbers = record
            .iter()
            .skip(3)
            .map(|v| v.trim().parse::<f64>().ok().filter(|x| x.is_finite()))
            .collect::<Option<Vec<f64>>>()
            .ok_or_else(|| wrong("every coefficient must be a number".into()))?;
        rows.push((record[0].to_owned(), record[2].to_owned(), numbers));
    }
    let speeds = rows
        .iter()
        .filter(|(signal, ..)| signal == "scalars")
        .map(|(_, label, scalars)| {
            let get = |signal: &str| {
                rows.iter()
                    .find(|(s, l, _)| s == signal && l == label)
                    .map(|(_, _, n)| &n[1..])
                    .ok_or_else(|| SimError::Syntax(format!("no row '{signal}' for speed '{label}'")))
            };
            if scalars.len() < 5 {
                return Err(SimError::Syntax(format!("'scalars' for speed '{label}' needs four values")));
            }
            Ok(DriveRow {
                label: label.clone(),
                dimensionless_speed: scalars[0],
                dimensionless_cadence: scalars[1],
                dimensionless_step: scalars[2],
                toe_off_fraction: scalars[3],
                opposite_contact_fraction: scalars[4],
                thigh_angle_deg: harmonics(get("thigh_angle_deg")?),
                knee_flexion_deg: harmonics(get("knee_flexion_deg")?),
                hip_vertical_acceleration_g: harmonics(get("hip_vertical_acceleration_g")?),
                hip_forward_acceleration_g: harmonics(get("hip_forward_acceleration_g")?),
                vertical_load_bw: get("vertical_load_bw")?.to_vec(),
                forward_load_bw: get("forward_load_bw")?.to_vec(),
            })
        })
        .collect::<Result<Vec<_>, _>>()?;
    let Provenance { name, about, source, licence, knee_flexion_sd_deg } = provenance;
    let file = DriveFile {
        kind: DriveKind::Drive,
        name,
        about,
        source,
        licence,
        knee_flexion_sd_deg,
        measured: None,
        speeds,
    };
    file.check()?;
    Ok(file)
}

fn harmonics(values: &[f64]) -> Harmonics {
    Harmonics {
        mean: values[0],
        cos: values[1..].iter().step_by(2).copied().collect(),
        sin: values[1..].iter().skip(1).step_by(2).copied().collect(),
    }
}
