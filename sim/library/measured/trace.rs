//! Angles of a walking person over time or over a stride, from a table.
//!
//! Columns: `time_s` or `percent` (of one stride from heel contact; time counts if there are both), `knee_deg`; if there
//! are such, `thigh_deg` (from vertical, knee ahead positive) and both `hip_forward_m` and `hip_up_m` (path of the hip in
//! the room, or on a treadmill). `t_s`, `time_ms`, `stride_pct`, `_rad` for `_deg` and `_mm` for `_m` are read as well, so
//! that a trace of `run` can be read again. Other names are given as `knee_deg=NAME`, or `knee_deg=-NAME` where the table counts the other way. Rows
//! with a gap in a column that is used are left out.

use super::motion_table;
use crate::error::SimError;
use crate::library::table::{Named, Row, Table, at_line};
use crate::units::{DEG, within};

/// A column, the greatest value that it may have, and the headings under which it is read with their units.
struct Heading {
    ours: &'static str,
    most: f64,
    known: &'static [(&'static str, f64)],
}

const fn heading(ours: &'static str, most: f64, known: &'static [(&'static str, f64)]) -> Heading {
    Heading { ours, most, known }
}

const COLUMNS: [Heading; 6] = [
    heading("time_s", 1e5, &[("time_s", 1.0), ("t_s", 1.0), ("time_ms", 1e-3)]),
    heading("percent", 100.0, &[("percent", 1.0), ("stride_pct", 1.0)]),
    heading("knee_deg", 180.0, &[("knee_deg", 1.0), ("knee_rad", 1.0 / DEG)]),
    heading("thigh_deg", 90.0, &[("thigh_deg", 1.0), ("thigh_rad", 1.0 / DEG)]),
    heading("hip_forward_m", 1e4, &[("hip_forward_m", 1.0), ("hip_forward_mm", 1e-3)]),
    heading("hip_up_m", 1e4, &[("hip_up_m", 1.0), ("hip_up_mm", 1e-3)]),
];
/// Fewer samples tell no stride.
const LEAST_SAMPLES: usize = 20;
const MOST_SAMPLES: usize = 200_000;

/// What the samples are over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Time, s.
    Time,
    /// One stride, fractions from heel contact.
    Stride,
}

/// One instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time or fraction of the stride.
    pub at: f64,
    /// Knee flexion, degrees.
    pub knee_deg: f64,
    /// Thigh from vertical, degrees.
    pub thigh_deg: Option<f64>,
    /// Hip, forward and up, m.
    pub hip_m: Option<[f64; 2]>,
}

/// A measured walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// What the samples are over.
    pub over: Over,
    /// Samples, ascending.
    pub samples: Vec<Sample>,
    /// What was left out or read in a way that a reader should know.
    pub notes: Vec<String>,
}

/// A column under another name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    ours: &'static str,
    theirs: String,
    reversed: bool,
}

impl std::str::FromStr for Column {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let known = || COLUMNS.map(|c| c.ours).join(", ");
        let (ours, theirs) = text.split_once('=').ok_or("OURS=THEIRS is needed, as knee_deg=knee_angle_r")?;
        let found = COLUMNS.iter().find(|c| c.ours == ours.trim());
        let ours = found.ok_or_else(|| format!("'{ours}' is no column; known: {}", known()))?.ours;
        let theirs = theirs.trim();
        let (reversed, theirs) = theirs.strip_prefix('-').map_or((false, theirs), |t| (true, t));
        Ok(Self { ours, theirs: theirs.to_owned(), reversed })
    }
}

struct Reader<'a> {
    table: Table,
    file: Named<'a>,
    columns: &'a [Column],
    in_radians: bool,
}

/// Reads a table, or a motion table.
///
/// # Errors
/// What is wrong in it, with line and column; too few samples; instants that do not ascend.
pub fn read(file: Named, columns: &[Column]) -> Result<Trace, SimError> {
    let motion = motion_table::read(file.text);
    let in_radians = motion.as_ref().is_some_and(|m| m.in_radians);
    let text = motion.as_ref().map_or(file.text, |m| &m.text);
    let mut columns = columns.to_vec();
    if motion.is_some() && !columns.iter().any(|c| c.ours == "time_s") {
        columns.push(Column { ours: "time_s", theirs: "time".into(), reversed: false });
    }
    let table = Table::parse(Named { text, ..file }, &[])?;
    let reader = Reader { table, file, columns: &columns, in_radians };
    let over = match ["time_s", "percent"].map(|c| reader.has(c)) {
        [true, _] => Over::Time,
        [false, true] => Over::Stride,
        [false, false] => {
            let why = "no such column; see --columns".into();
            return Err(at_line(file.name, Some(reader.table.header_line), "time_s or percent", why));
        }
    };
    let (mut samples, mut gaps) = (Vec::<Sample>::new(), 0);
    for row in &reader.table.rows {
        let Some(sample) = reader.sample(row, over)? else {
            gaps += 1;
            continue;
        };
        if samples.last().is_some_and(|last| sample.at <= last.at) {
            let why = "each row must come later than the one before";
            return Err(at_line(file.name, Some(row.line), reader.name_of_instants(over), why.into()));
        }
        samples.push(sample);
    }
    within("number of samples", samples.len() as f64, LEAST_SAMPLES as f64..=MOST_SAMPLES as f64)
        .map_err(|e| SimError::InFile { file: file.name.to_owned(), line: None, cause: Box::new(e) })?;
    let mut notes = vec![];
    if gaps > 0 {
        notes.push(format!("{gaps} rows with gaps were left out."));
    }
    if in_radians {
        notes.push("Angles were read as radians, as the header of the table says.".into());
    }
    Ok(Trace { over, samples, notes })
}

impl Reader<'_> {
    /// Name of a column in the table, and what its numbers are multiplied with. A column that is given by name but is
    /// not there is found out when it is read.
    fn theirs(&self, ours: &'static str) -> Option<(&str, f64)> {
        if let Some(c) = self.columns.iter().find(|c| c.ours == ours) {
            let unit = if self.in_radians && ours.ends_with("_deg") { 1.0 / DEG } else { 1.0 };
            return Some((&c.theirs, if c.reversed { -unit } else { unit }));
        }
        let known = COLUMNS.iter().find(|c| c.ours == ours)?.known;
        known.iter().copied().find(|(name, _)| self.table.has(name))
    }

    fn has(&self, ours: &'static str) -> bool {
        self.theirs(ours).is_some()
    }

    fn name_of_instants(&self, over: Over) -> &str {
        let ours = if over == Over::Time { "time_s" } else { "percent" };
        self.theirs(ours).map_or(ours, |t| t.0)
    }

    fn number(&self, row: &Row, ours: &'static str) -> Result<Option<f64>, SimError> {
        let (theirs, unit) = self.theirs(ours).unwrap_or((ours, 1.0));
        let Some(v) = self.table.optional(row, theirs)? else { return Ok(None) };
        let most = COLUMNS.iter().find(|c| c.ours == ours).map_or(f64::INFINITY, |c| c.most);
        let least = if ours == "percent" { 0.0 } else { -most };
        within(ours, unit * v, least..=most).map(Some).map_err(|e| SimError::InFile {
            file: self.file.name.to_owned(),
            line: Some(row.line),
            cause: Box::new(e),
        })
    }

    /// None where a column that is used has a gap.
    fn sample(&self, row: &Row, over: Over) -> Result<Option<Sample>, SimError> {
        let at = match over {
            Over::Time => self.number(row, "time_s")?,
            Over::Stride => self.number(row, "percent")?.map(|p| p / 100.0),
        };
        let optional =
            |ours| if self.has(ours) { self.number(row, ours).map(|v| (true, v)) } else { Ok((false, None)) };
        let (thigh, forward, up) =
            (optional("thigh_deg")?, optional("hip_forward_m")?, optional("hip_up_m")?);
        let gap = [thigh, forward, up].iter().any(|(wanted, v)| *wanted && v.is_none());
        let (Some(at), Some(knee_deg), false) = (at, self.number(row, "knee_deg")?, gap) else {
            return Ok(None);
        };
        let hip_m = forward.1.zip(up.1).map(|(x, z)| [x, z]);
        Ok(Some(Sample { at, knee_deg, thigh_deg: thigh.1, hip_m }))
    }
}
