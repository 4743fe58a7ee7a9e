//! Joint angles and people from their tables (CSV).
//!
//! Angles: `subject,side,angle_deg,p0,p1,...`, one row per angle and side; the points lie evenly over
//! 0-100 % of that side's own stride, from heel contact to heel contact. Flexion, dorsiflexion and forward
//! pelvic tilt are positive. People: `subject,mass_kg,stature_m,speed_m_per_s` and, if known, `level`.
//! Lines that begin with `#` are comments; `# source: ...` and `# licence: ...` go into the drive file.

use std::collections::BTreeMap;

use super::people::{Person, read_people};
use super::series::in_percent;
use super::user::{Angle, Side, SideAngles, User};
use crate::error::SimError;
use crate::library::table::{Named, Row, Table, at_line};

/// Points per stride that a table may have.
pub const POINTS: std::ops::RangeInclusive<usize> = 20..=1001;
/// Greatest gap between both ends of a curve, degrees.
pub const GREATEST_GAP_DEG: f64 = 15.0;
/// Least greatest flexion of a knee over a stride, degrees; less means another unit.
pub const LEAST_PEAK_FLEXION_DEG: f64 = 10.0;
/// Least range of hip flexion over a stride, degrees; less means another unit.
pub const LEAST_HIP_RANGE_DEG: f64 = 5.0;

/// What both tables hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Users in the order of the table of angles.
    pub users: Vec<User>,
    /// People without angles.
    pub without_angles: Vec<String>,
    /// Points per stride in the table.
    pub points: usize,
    /// Where the angles come from, from the table's own words.
    pub source: Option<String>,
    /// What may be done with them, likewise.
    pub licence: Option<String>,
}

/// Reads both tables. With `subjects`, only these users are read and every one of them must be there.
///
/// # Errors
/// What is wrong, with file and line: a column, side, angle, person or number that is missing, unknown or
/// given twice; angles in radians; too few points; ends that do not meet.
pub fn read(angles: Named, people: Named, subjects: &[String]) -> Result<Recording, SimError> {
    let persons = read_people(people)?;
    let table = Table::parse(angles, &["subject", "side", "angle_deg"])?;
    let points = table.points()?;
    if !POINTS.contains(&points) {
        let why = format!("{points} points per stride; {} to {} are needed", POINTS.start(), POINTS.end());
        return Err(at_line(angles.name, Some(table.header_line), "p0, p1, ...", why));
    }
    let asked = |subject: &str| subjects.is_empty() || subjects.iter().any(|s| s == subject);
    let mut order: Vec<(String, u64)> = Vec::new();
    let mut curves: BTreeMap<(String, Side), BTreeMap<Angle, Vec<f64>>> = BTreeMap::new();
    for row in &table.rows {
        let subject = table.text(row, "subject")?.to_owned();
        let wrong = |field: &str, why: String| at_line(angles.name, Some(row.line), field, why);
        if !persons.contains_key(&subject) {
            return Err(wrong("subject", format!("'{subject}' has no row in {}", people.name)));
        }
        let (side, angle) = side_and_angle(&table, row).map_err(|(field, why)| wrong(field, why))?;
        let field = format!("{subject}, {}, {}", side.as_str(), angle.as_str());
        let values = table.numbers(row, &field)?;
        check_curve(angle, &values).map_err(|why| wrong(&field, why))?;
        if !order.iter().any(|(s, _)| *s == subject) {
            order.push((subject.clone(), row.line));
        }
        let of_side = curves.entry((subject, side)).or_default();
        if of_side.insert(angle, in_percent(&values)).is_some() {
            return Err(wrong(&field, "stands in the table twice".into()));
        }
    }
    for s in subjects {
        if !order.iter().any(|(found, _)| found == s) {
            let found: Vec<&str> = order.iter().map(|(s, _)| s.as_str()).collect();
            let why = format!("'{s}' has no angles; subjects in the table: {}", found.join(", "));
            return Err(at_line(angles.name, None, "subjects", why));
        }
    }
    let without_angles =
        persons.keys().filter(|s| !order.iter().any(|(found, _)| found == *s)).cloned().collect();
    let users = order
        .into_iter()
        .filter(|(subject, _)| asked(subject))
        .map(|(subject, line)| {
            let mut side = |side: Side| {
                let found = curves.remove(&(subject.clone(), side)).unwrap_or_default();
                complete(found, &subject, side)
                    .map_err(|(field, why)| at_line(angles.name, Some(line), &field, why))
            };
            let (prosthetic, sound) = (side(Side::Prosthetic)?, side(Side::Sound)?);
            let Person { level, mass_kg, stature_m, speed_m_per_s } = persons[&subject].clone();
            Ok(User { subject, level, mass_kg, stature_m, speed_m_per_s, line, prosthetic, sound })
        })
        .collect::<Result<Vec<_>, SimError>>()?;
    if users.is_empty() {
        return Err(at_line(angles.name, None, "subject", "the table has no rows; angles are needed".into()));
    }
    Ok(Recording { users, without_angles, points, source: table.source, licence: table.licence })
}

/// Side and angle of a row, or the column that is wrong and why.
fn side_and_angle(table: &Table, row: &Row) -> Result<(Side, Angle), (&'static str, String)> {
    let cell = |column: &'static str| table.text(row, column).map_err(|e| (column, e.to_string()));
    let (side, angle) = (cell("side")?, cell("angle_deg")?);
    let side_found = Side::ALL.into_iter().find(|s| s.as_str() == side);
    let angles = Angle::ALL.into_iter().find(|a| a.as_str() == angle);
    match (side_found, angles) {
        (None, _) => Err(("side", format!("'{side}' is unknown; needed: prosthetic or sound"))),
        (_, None) => {
            let known = Angle::ALL.map(Angle::as_str).join(", ");
            Err(("angle_deg", format!("'{angle}' is unknown; needed: {known}")))
        }
        (Some(side), Some(angle)) => Ok((side, angle)),
    }
}

/// Whether a curve can be this angle in degrees.
fn check_curve(angle: Angle, values: &[f64]) -> Result<(), String> {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if least < -180.0 || most > 180.0 {
        return Err(format!("from {least} to {most}; angles in degrees within ±180 are needed"));
    }
    if angle == Angle::KneeFlexion && most < LEAST_PEAK_FLEXION_DEG {
        return Err(format!(
            "the greatest flexion is {most}; degrees are needed (at least {LEAST_PEAK_FLEXION_DEG}), \
             these look like radians"
        ));
    }
    if angle == Angle::HipFlexion && most - least < LEAST_HIP_RANGE_DEG {
        return Err(format!(
            "moves by {:.3} only; degrees are needed (at least {LEAST_HIP_RANGE_DEG}), these look like radians",
            most - least
        ));
    }
    let gap = values[values.len() - 1] - values[0];
    if gap.abs() > GREATEST_GAP_DEG {
        return Err(format!(
            "ends {gap:+.1} degrees from where it began; a whole stride is needed (at most {GREATEST_GAP_DEG})"
        ));
    }
    Ok(())
}

/// A side with all its angles, or what is missing.
fn complete(
    found: BTreeMap<Angle, Vec<f64>>,
    subject: &str,
    side: Side,
) -> Result<SideAngles, (String, String)> {
    let missing: Vec<&str> =
        Angle::ALL.into_iter().filter(|a| !found.contains_key(a)).map(Angle::as_str).collect();
    let field = format!("{subject}, {}", side.as_str());
    if missing.len() == Angle::ALL.len() {
        return Err((field, "no angles of this side; both sides are needed".into()));
    }
    if !missing.is_empty() {
        return Err((field, format!("no row for {}; all six angles are needed", missing.join(", "))));
    }
    Ok(SideAngles::new(found))
}
