//! `kneedamp identify bench`.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::provenance::made_from;
use crate::cli::common::{LibraryOptions, ReportOptions, check_name};
use crate::cli::output::{Status, check_ending, message};
use crate::cli::picture::PictureFile;
use crate::cli::progress::while_working;
use crate::error::SimError;
use crate::joint::KneeFile;
use crate::library::example;
use crate::library::measured::bench::{Scale, read};
use crate::library::table::Named;
use crate::library::{parse, read_table, to_yaml};
use crate::report::output::write_whole;
use crate::study::identify_bench::{BenchFit, identify};

/// Examples:
///   kneedamp identify bench damper.csv --name my-damper --output my-damper.yaml --plot my-damper.svg
///   kneedamp identify bench damper.csv --open 1 --closed 8 --name my-damper --output my-damper.yaml
///   kneedamp run --knee my-damper.yaml
///
/// TABLE.csv: torque_n_m and rate_rad_per_s or rate_deg_per_s; as far as they are known direction (flexion or
/// extension; without it a positive rate is flexion), setting, temperature_c, torque_sd_n_m. Columns are separated
/// by , ; or tab. Every law is tried in each direction, the one that explains the points best for its number of
/// values is taken, and both directions share one seal friction. What the table does not hold is that of the base
/// knee.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Torques of the damper
    #[arg(value_name = "TABLE.csv")]
    pub table: PathBuf,
    /// Mark of the joint's scale at which the valve is open: 0 %
    #[arg(long, value_name = "MARK", default_value_t = 0.0, allow_negative_numbers = true)]
    pub open: f64,
    /// Mark at which it is closed: 100 %
    #[arg(long, value_name = "MARK", default_value_t = 100.0, allow_negative_numbers = true)]
    pub closed: f64,
    /// Knee for all that a bench does not measure: name or path
    #[arg(long, value_name = "NAME|FILE", default_value = example::KNEE)]
    pub base: String,
    /// Name of the new knee: letters, digits and -
    #[arg(long, value_name = "NAME")]
    pub name: String,
    /// File to write; an existing one is replaced
    #[arg(long, value_name = "FILE.yaml")]
    pub output: PathBuf,
    /// Draws points, laws and what they leave
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
    #[command(flatten)]
    pub report: ReportOptions,
    #[command(flatten)]
    pub library: LibraryOptions,
}

/// Runs the command.
///
/// # Errors
/// What is wrong in the table or the base knee; a file that cannot be written. Nothing is written then.
pub fn run(o: &Options) -> Result<Status, SimError> {
    check_name(&o.name)?;
    check_ending("--output", &o.output, "yaml")?;
    let scale = Scale { open: o.open, closed: o.closed };
    if !(scale.open.is_finite() && scale.closed.is_finite() && (scale.open - scale.closed).abs() > 1e-6) {
        return Err(SimError::Usage("--open and --closed: two different marks are needed".into()));
    }
    let base = o.library.open()?.knee(&o.base)?;
    let named = o.table.display().to_string();
    let content = read_table(&o.table)?;
    let points = read(Named { name: &named, text: &content }, scale)?;
    let fit = while_working(|| identify(points, &base))?;
    let knee = fit.knee(&o.name, about(&fit, &base));
    let text = made_from(&named, &content) + &to_yaml(&knee)?;
    parse::<KneeFile>(&text, "the new knee")?;
    let findings = fit.findings(&knee);
    write_whole(&o.output, text.as_bytes())?;
    if let Some(picture) = &o.plot {
        picture.write_plots(&findings.plots)?;
    }
    let inputs = json!({
        "table": named, "base": o.base, "name": o.name, "open": o.open, "closed": o.closed,
    });
    o.report.print_as("identify bench", inputs, &findings, || findings.clone())?;
    message(&format!("wrote {}; use it by its path", o.output.display()));
    Ok(Status::Done)
}

fn about(fit: &BenchFit, base: &KneeFile) -> String {
    let laws: Vec<String> = fit
        .directions
        .iter()
        .map(|d| {
            format!("{}: {} from {} points", d.direction.as_str(), d.law.in_words(d.several), d.points.len())
        })
        .collect();
    format!(
        "Swing laws fitted to measured torques ({}). All else is that of {} and not measured.",
        laws.join("; "),
        base.name
    )
}
