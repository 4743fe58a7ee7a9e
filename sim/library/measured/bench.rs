//! Torque of a damper at measured rates and settings, from a table.
//!
//! Columns: `torque_n_m` and `rate_rad_per_s` or `rate_deg_per_s`; if there are such, `direction` (flexion or
//! extension; without it the sign of the rate says it, flexion positive), `setting` (a number on the scale of the
//! joint), `temperature_c`, `torque_sd_n_m`. Rigs differ in the sign of torque: in each direction the sign that most
//! torques have is that of resistance.

use crate::error::SimError;
use crate::library::error_lines::clipped;
use crate::library::table::{Named, Row, Table, at_line};
use crate::units::{DEG, within};

/// Slower than this is standing still: the torque of a rest is friction of either sign, rad/s.
const AT_REST: f64 = 1e-3;
const FASTEST: f64 = 50.0;

/// Direction of motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Direction {
    /// The knee bends.
    Flexion,
    /// The knee straightens.
    Extension,
}

impl Direction {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Flexion, Self::Extension];

    /// In words.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Flexion => "flexion",
            Self::Extension => "extension",
        }
    }
}

/// A measured point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Direction.
    pub direction: Direction,
    /// Rate, rad/s, positive.
    pub rate_rad_per_s: f64,
    /// Resistance, N m; noise may make a small one negative.
    pub torque_n_m: f64,
    /// Setting, 0 open to 1 closed; none if the table has no settings.
    pub setting: Option<f64>,
    /// Temperature, °C.
    pub temperature_c: Option<f64>,
    /// Standard deviation of the torque, N m; 1 where none is given, the same for all points.
    pub sd_n_m: f64,
}

/// A table of points.
#[derive(Debug, Clone, PartialEq)]
pub struct Bench {
    /// Points, in the order of the table.
    pub points: Vec<Point>,
    /// What was left out or read in a way that a reader should know.
    pub notes: Vec<String>,
}

/// Marks of the joint's scale at which the valve is open and closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Least resistance: 0 %.
    pub open: f64,
    /// Greatest resistance: 100 %.
    pub closed: f64,
}

impl Scale {
    fn setting(self, mark: f64) -> f64 {
        (mark - self.open) / (self.closed - self.open)
    }
}

/// Reads a table.
///
/// # Errors
/// What is wrong in it, with line and column; a mark outside the scale.
pub fn read(file: Named, scale: Scale) -> Result<Bench, SimError> {
    let table = Table::parse(file, &["torque_n_m"])?;
    let (rate_column, unit) = match ["rate_rad_per_s", "rate_deg_per_s"].map(|c| table.has(c)) {
        [true, false] => ("rate_rad_per_s", 1.0),
        [false, true] => ("rate_deg_per_s", DEG),
        [both, _] => {
            let why = if both { "both are there; one is needed" } else { "no such column" };
            let field = "rate_rad_per_s or rate_deg_per_s";
            return Err(at_line(file.name, Some(table.header_line), field, why.into()));
        }
    };
    let (mut points, mut at_rest) = (Vec::new(), 0);
    for row in &table.rows {
        let bad = |e: SimError| SimError::InFile {
            file: file.name.to_owned(),
            line: Some(row.line),
            cause: Box::new(e),
        };
        let rate = unit * table.number(row, rate_column)?;
        within(rate_column, rate.abs() / unit, 0.0..=FASTEST / unit).map_err(bad)?;
        let torque = table.number(row, "torque_n_m")?;
        within("torque_n_m", torque, -1000.0..=1000.0).map_err(bad)?;
        if rate.abs() < AT_REST {
            at_rest += 1;
            continue;
        }
        points.push(Point {
            direction: direction(&table, row, file, rate)?,
            rate_rad_per_s: rate.abs(),
            torque_n_m: torque * rate.signum(),
            setting: setting(&table, row, file, scale)?,
            temperature_c: in_range(&table, row, "temperature_c", -30.0..=100.0).map_err(bad)?,
            sd_n_m: in_range(&table, row, "torque_sd_n_m", 1e-6..=1000.0).map_err(bad)?.unwrap_or(1.0),
        });
    }
    let mut notes = resisting(&mut points);
    if at_rest > 0 {
        notes.push(format!(
            "{at_rest} points at rest were left out: there the torque is friction of either sign."
        ));
    }
    Ok(Bench { points, notes })
}

fn direction(table: &Table, row: &Row, file: Named, rate: f64) -> Result<Direction, SimError> {
    if !table.has("direction") {
        return Ok(if rate > 0.0 { Direction::Flexion } else { Direction::Extension });
    }
    let word = table.text(row, "direction")?;
    Direction::ALL.into_iter().find(|d| word.eq_ignore_ascii_case(d.as_str())).ok_or_else(|| {
        let why = format!("'{}'; flexion or extension is needed", clipped(word));
        at_line(file.name, Some(row.line), "direction", why)
    })
}

fn setting(table: &Table, row: &Row, file: Named, scale: Scale) -> Result<Option<f64>, SimError> {
    if !table.has("setting") {
        return Ok(None);
    }
    let mark = table.number(row, "setting")?;
    let setting = scale.setting(mark);
    if !(-1e-9..=1.0 + 1e-9).contains(&setting) {
        let why = format!(
            "{mark} lies outside the scale from {} (open) to {} (closed); see --open and --closed",
            scale.open, scale.closed
        );
        return Err(at_line(file.name, Some(row.line), "setting", why));
    }
    Ok(Some(setting.clamp(0.0, 1.0)))
}

fn in_range(
    table: &Table,
    row: &Row,
    column: &str,
    range: std::ops::RangeInclusive<f64>,
) -> Result<Option<f64>, SimError> {
    if !table.has(column) {
        return Ok(None);
    }
    within(column, table.number(row, column)?, range).map(Some)
}

/// Turns torques so that most of each direction resist.
fn resisting(points: &mut [Point]) -> Vec<String> {
    let mut notes = vec![];
    for d in Direction::ALL {
        let sum: f64 = points.iter().filter(|p| p.direction == d).map(|p| p.torque_n_m).sum();
        if sum < 0.0 {
            points.iter_mut().filter(|p| p.direction == d).for_each(|p| p.torque_n_m *= -1.0);
            notes.push(format!("In {} torques opposite to the rate were taken as resistance.", d.as_str()));
        }
    }
    notes
}
