//! `kneedamp align`.

use clap::Args;

use super::common::{ReportOptions, SetupOptions};
use super::output::Status;
use super::picture::PictureFile;
use super::progress::with_progress;
use crate::body::alignment::MOST_FOOT_SHIFT_M;
use crate::error::SimError;
use crate::numerics::steps::Steps;
use crate::study::align::{AlignmentStudy, Tasks};
use crate::units::within;

/// Examples:
///   kneedamp align
///   kneedamp align --from -20 --to 40 --step 5 --person 50-kg
///   kneedamp align --set catch-load=5 --format csv > align.csv
///   kneedamp align --step 5 --plot align.svg
///
/// The foot is shifted under the knee axis, forward positive; the load line moves with it.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// First shift of the foot, mm
    #[arg(long, value_name = "MM", default_value_t = -60.0, allow_negative_numbers = true)]
    pub from: f64,
    /// Last shift of the foot, mm
    #[arg(long, value_name = "MM", default_value_t = 60.0, allow_negative_numbers = true)]
    pub to: f64,
    /// Step, mm
    #[arg(long, value_name = "MM", default_value_t = 10.0, allow_negative_numbers = true)]
    pub step: f64,
    /// Draws moments, release and peak flexion over the load line, with limits and the range in which they hold
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
    #[command(flatten)]
    pub report: ReportOptions,
    #[command(flatten)]
    pub setup: SetupOptions,
}

/// More rows than this are refused.
const MOST_ROWS: u64 = 2000;

/// Runs the command.
///
/// # Errors
/// Bad input.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let shifts_m = shifts_m(o.from, o.to, o.step)?;
    if o.setup.foot_shift.is_some() {
        return Err(SimError::Usage("align varies the shift of the foot: leave out --foot-shift".into()));
    }
    let library = o.setup.library.open()?;
    let task = |name: &str| library.scenario(name);
    let tasks = Tasks {
        stand: task("stand")?,
        walk: task("walk-comfortable")?,
        stumble: task("stumble")?,
        sit: task("sit-down")?,
        ramp: task("ramp-down-8-deg")?,
        stairs: task("stairs-down")?,
    };
    let setup = o.setup.read(&library, std::slice::from_ref(&tasks.walk))?;
    let study = AlignmentStudy { setup, tasks, shifts_m };
    let found = with_progress(study.steps(), |tick| study.run(tick))?;
    if let Some(file) = &o.plot {
        file.write_plots(&[found.plot(&study.curve()?)])?;
    }
    o.report.print("align", &study.setup, &found.findings())?;
    Ok(Status::Done)
}

fn shifts_m(from: f64, to: f64, step: f64) -> Result<Vec<f64>, SimError> {
    let most = 1e3 * MOST_FOOT_SHIFT_M;
    within("--from (mm)", from, -most..=most)?;
    within("--to (mm)", to, -most..=most)?;
    let steps = Steps::new(from, to, step)
        .map_err(|why| SimError::Usage(format!("--from {from} --to {to} --step {step}: {why}")))?;
    if steps.count > MOST_ROWS {
        let rows = steps.count;
        return Err(SimError::Usage(format!("--step {step}: {rows} rows; the most is {MOST_ROWS}")));
    }
    Ok(steps.values().map(|mm| mm / 1e3).collect())
}
