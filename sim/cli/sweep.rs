//! `kneedamp sweep`.

use std::ops::Range;
use std::path::{Path, PathBuf};
use std::time::Instant;

use clap::{Args, ValueEnum};
use serde_json::json;

use super::common::SetupOptions;
use super::output::{Status, data_while_read, message};
use super::progress::with_progress;
use crate::case::axis::Axis;
use crate::error::SimError;
use crate::library::example;
use crate::report;
#[cfg(feature = "columnar")]
use crate::report::columnar::{ColumnarFile, ColumnarFormat, ColumnarRequest};
use crate::report::row_file::{RowFile, RowRequest};
use crate::report::rows::RowFormat;
use crate::study::sweep::{RowBlock, Samples, Sweep};

/// Examples:
///   kneedamp sweep swing-flexion=0:100:10 mass_kg=50,75,100
///   kneedamp sweep swing-flexion=0:100:5 swing-extension=0:100:5 --outcomes extension_margin_ms,verdict --output map.csv
///   kneedamp sweep swing-flexion=0..100 catch-load=0..100 --samples 10000 --seed 7 --output random.jsonl
///   kneedamp sweep mass_kg=50:125:1 stance-yield=0:100:1 --scenario sit-down,stairs-down --shard 3/16 --output part-03.csv
///
/// One row per combination and scenario. `mass_kg=` alone leaves the stature as it is; with the option --mass
/// the stature follows the mass. A run that was killed goes on where it stopped when the same
/// command is given again; what was asked for stands in FILE.request.json. A .parquet or .arrow file appears when it is
/// whole; until then its rows gather in FILE.parts. Shards are contiguous: `cat` of CSV shards in order gives the whole,
/// and only the first one has the header; readers of Parquet take a folder of shards as one table. `run` is more exact in the last
/// digits: a sweep computes on the looser tolerance for scans (flexion to about 1e-6 rad). Settings are in percent; the
/// other keys carry their unit. `not_reached` names the outcomes of a row that never came about, such as the time
/// of a knee that is never straight; other empty cells do not apply to the scenario.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Inputs: KEY=VALUE,VALUE,… or KEY=FROM:TO:STEP or, to draw from, KEY=LOW..HIGH; `list inputs` shows the keys
    #[arg(required = true, value_name = "KEY=VALUES")]
    pub inputs: Vec<String>,
    /// Scenarios by name or path
    #[arg(long, value_name = "NAME,…", value_delimiter = ',', default_value = example::SCENARIO)]
    pub scenario: Vec<String>,
    /// Draws this many samples of the inputs that have a range
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub samples: Option<u64>,
    /// Seed of the samples
    #[arg(long, default_value_t = 1, requires = "samples")]
    pub seed: u64,
    /// Outcomes, then verdict, limiting, energy_residual in that order; by default all. Fewer run faster
    #[arg(long, value_name = "KEY,…", value_delimiter = ',')]
    pub outcomes: Vec<String>,
    /// Runs walking strides in batches: many times as fast, for outcomes of the stride itself (no verdict, no
    /// landing), most of them to 1e-6 rad and 1e-5 s
    #[arg(long, requires = "outcomes")]
    pub batch: bool,
    /// Writes to a file, .csv, .jsonl, .parquet or .arrow, and goes on with it if it is there; by default to standard
    /// output
    #[arg(long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Form of the rows on standard output
    #[arg(long, value_enum, default_value = "csv", conflicts_with = "output")]
    pub format: LineForm,
    /// Only the I-th of N parts, counted from 1
    #[arg(long, value_name = "I/N")]
    pub shard: Option<String>,
    /// Leaves out the line of column names
    #[arg(long)]
    pub no_header: bool,
    #[command(flatten)]
    pub setup: SetupOptions,
}

/// Form of the rows on standard output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LineForm {
    /// Comma-separated
    Csv,
    /// One JSON object per line
    #[value(alias = "jsonl")]
    Json,
}

/// Rows of a part of a columnar file: what a run that is killed may lose. Batches are fast.
const PART_ROWS: [u64; 2] = [16_384, 262_144];

/// What the rows are written as.
enum Form<'a> {
    /// On standard output, or in a file.
    Lines(RowFormat, Option<&'a Path>),
    #[cfg(feature = "columnar")]
    Columns(ColumnarFormat, &'a Path),
}

/// Runs the command.
///
/// # Errors
/// Bad input, a file of another request, a disk that is full.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let form = o.form()?;
    let (shard, shards) = shard(o.shard.as_deref())?;
    let sweep = o.sweep()?;
    let rows = sweep.shard(shard, shards);
    let output = Output { sweep: &sweep, begun: Instant::now(), rows: rows.clone() };
    let document = || o.document(&sweep, &rows);
    match form {
        Form::Lines(format, path) => {
            let headless = o.no_header || shard > 1;
            let header = if headless { String::new() } else { format.header(&sweep.columns())? };
            let Some(path) = path else { return output.to_standard_output(format, &header) };
            let fingerprint = format!("{}-{shard}/{shards}-{}", sweep.fingerprint(), header.len());
            let request = RowRequest {
                format,
                header: &header,
                first: rows.start + 1,
                rows: rows.end - rows.start,
                fingerprint: &fingerprint,
                document: document()?,
            };
            output.to_lines(path, &request)
        }
        #[cfg(feature = "columnar")]
        Form::Columns(format, path) => {
            let request = ColumnarRequest {
                format,
                columns: sweep.column_notes(),
                rows: rows.clone(),
                part_rows: PART_ROWS[usize::from(o.batch)],
                fingerprint: format!("{}-{shard}/{shards}", sweep.fingerprint()),
                document: document()?,
            };
            output.to_columns(path, request)
        }
    }
}

/// What is asked for.
///
/// # Errors
/// Bad input.
pub(super) fn request(o: &Options) -> Result<Sweep, SimError> {
    o.sweep()
}

impl Options {
    fn form(&self) -> Result<Form<'_>, SimError> {
        let Some(path) = &self.output else {
            let json = self.format == LineForm::Json;
            return Ok(Form::Lines(if json { RowFormat::JsonLines } else { RowFormat::Csv }, None));
        };
        match path.extension().and_then(|e| e.to_str()) {
            Some("csv") => Ok(Form::Lines(RowFormat::Csv, Some(path))),
            Some("jsonl") => Ok(Form::Lines(RowFormat::JsonLines, Some(path))),
            #[cfg(feature = "columnar")]
            Some("parquet") => Ok(Form::Columns(ColumnarFormat::Parquet, path)),
            #[cfg(feature = "columnar")]
            Some("arrow") => Ok(Form::Columns(ColumnarFormat::Arrow, path)),
            _ => Err(SimError::Usage(format!(
                "--output {}: the name must end in .csv, .jsonl{}",
                path.display(),
                if cfg!(feature = "columnar") { ", .parquet or .arrow" } else { "" }
            ))),
        }
    }

    fn sweep(&self) -> Result<Sweep, SimError> {
        let axes = self.inputs.iter().map(|t| Axis::parse(t)).collect::<Result<Vec<_>, _>>()?;
        if let Some(axis) = axes.iter().find(|a| self.fixes(a.input.key)) {
            return Err(SimError::Usage(format!("{} is both swept and given as an option", axis.input.key)));
        }
        let library = self.setup.library.open()?;
        let scenarios =
            self.scenario.iter().map(|n| library.scenario(n)).collect::<Result<Vec<_>, SimError>>()?;
        let setup = self.setup.read(&library, &scenarios)?;
        let samples = self.samples.map(|count| Samples { count, seed: self.seed });
        let sweep = Sweep::new(setup, scenarios, axes, samples, &self.outcomes)?;
        if self.batch { sweep.batched() } else { Ok(sweep) }
    }

    /// Whether an option of the set-up fixes an input.
    fn fixes(&self, key: &str) -> bool {
        let s = &self.setup;
        match key {
            "mass_kg" => s.mass.is_some(),
            "stature_m" => s.stature.is_some(),
            "speed_m_per_s" => s.speed.is_some(),
            "cadence_steps_per_min" => s.cadence.is_some(),
            "temperature_c" => s.temperature.is_some(),
            "foot_shift_m" => s.foot_shift.is_some(),
            _ => s.set.iter().any(|pair| pair.split('=').next().is_some_and(|name| name.trim() == key)),
        }
    }

    /// The document that is written beside a file of rows.
    fn document(&self, sweep: &Sweep, rows: &Range<u64>) -> Result<serde_json::Value, SimError> {
        let scenarios: Vec<&str> = sweep.scenarios().iter().map(|s| s.name.as_str()).collect();
        Ok(json!({
            "version": env!("CARGO_PKG_VERSION"),
            "command": "sweep",
            "varied": self.inputs,
            "samples": self.samples,
            "seed": self.samples.map(|_| self.seed),
            "scenarios": scenarios,
            "batched": self.batch,
            "columns": sweep.columns(),
            "rows_of_the_whole": sweep.rows(),
            "first_row": rows.start + 1,
            "rows": rows.end - rows.start,
            "inputs": report::json::inputs(sweep.setup(), &sweep.setup().resolve()?),
            "caution": crate::CAUTION,
        }))
    }
}

/// `3/16`.
fn shard(text: Option<&str>) -> Result<(u32, u32), SimError> {
    let Some(text) = text else { return Ok((1, 1)) };
    let parts =
        text.split_once('/').and_then(|(i, n)| Some((i.trim().parse().ok()?, n.trim().parse().ok()?)));
    match parts {
        Some((i, n)) if (1..=n).contains(&i) => Ok((i, n)),
        _ => {
            Err(SimError::Usage(format!("--shard {text}: wanted I/N with I from 1 to N, for instance 3/16")))
        }
    }
}

/// A running sweep.
struct Output<'a> {
    sweep: &'a Sweep,
    begun: Instant,
    rows: Range<u64>,
}

/// Lines of a block, its rows, and how many of them could not run.
type Lines = (String, u64, u64);

impl Output<'_> {
    fn to_lines(&self, path: &Path, request: &RowRequest) -> Result<Status, SimError> {
        let mut file = RowFile::open(path, request)?;
        let done = file.done;
        let (_, failed) =
            self.lines(request.format, done, |text, rows| file.append(text, rows).map(|()| true))?;
        self.summary(&path.display().to_string(), done, failed);
        Ok(Status::Done)
    }

    fn to_standard_output(&self, format: RowFormat, header: &str) -> Result<Status, SimError> {
        if !data_while_read(header)? {
            return Ok(Status::Done);
        }
        let (whole, failed) = self.lines(format, 0, |lines, _| data_while_read(lines))?;
        // otherwise the reader has closed the pipe: no summary
        if whole {
            self.summary("standard output", 0, failed);
        }
        Ok(Status::Done)
    }

    /// Runs the rows behind those that are `done`; `take` gets the lines and number of rows of a window, and stops the
    /// run by false. Returns whether all was taken, and the number of rows that could not run.
    fn lines(
        &self,
        format: RowFormat,
        done: u64,
        mut take: impl FnMut(&str, u64) -> Result<bool, SimError>,
    ) -> Result<(bool, u64), SimError> {
        let columns = self.sweep.columns();
        let left = self.rows.start + done..self.rows.end;
        let mut failed = 0;
        let make = |block: RowBlock| -> Lines {
            (format.lines(&columns, &block), block.len() as u64, block.failed())
        };
        let whole = with_progress(left.end - left.start, |tick| {
            self.sweep.stream(left, tick, make, |window| {
                failed += window.iter().map(|(_, _, failed)| failed).sum::<u64>();
                let text: String = window.iter().map(|(text, ..)| text.as_str()).collect();
                take(&text, window.iter().map(|(_, rows, _)| rows).sum())
            })
        })?;
        Ok((whole, failed))
    }

    #[cfg(feature = "columnar")]
    fn to_columns(&self, path: &Path, request: ColumnarRequest) -> Result<Status, SimError> {
        let mut file = ColumnarFile::open(path, request)?;
        let done = file.done();
        let left = self.rows.start + done..self.rows.end;
        let mut failed = 0;
        with_progress(left.end - left.start, |tick| {
            self.sweep.stream(
                left,
                tick,
                |block| block,
                |window| {
                    failed += window.iter().map(RowBlock::failed).sum::<u64>();
                    file.append(window).map(|()| true)
                },
            )
        })?;
        file.finish()?;
        self.summary(&path.display().to_string(), done, failed);
        Ok(Status::Done)
    }

    fn summary(&self, to: &str, done: u64, failed: u64) {
        let rows = self.rows.end - self.rows.start - done;
        let seconds = self.begun.elapsed().as_secs_f64();
        let rate = rows as f64 / seconds.max(1e-9);
        let before = if done > 0 { format!("; {done} rows were there already") } else { String::new() };
        message(&format!("sweep: {rows} rows to {to} in {seconds:.1} s, {rate:.0} a second{before}"));
        if failed > 0 {
            message(&format!("sweep: {failed} of them could not run; the column 'error' says why"));
        }
        message(&format!("Caution. {}", crate::CAUTION));
    }
}
