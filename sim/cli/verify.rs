//! `kneedamp verify`, and what `run --verify` does in one go.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::common::ReportOptions;
use super::output::Status;
use super::progress::{while_working, with_progress};
use crate::error::SimError;
use crate::findings::{Findings, Table};
use crate::library::read_result;
use crate::report::recorded::{self, Recorded};
use crate::study::survey::survey;
use crate::study::text::count;
use crate::study::verify::{Verification, VerifyStudy};

/// Examples:
///   kneedamp run --format json > result.json
///   kneedamp verify result.json
///   kneedamp run walk-fast --verify
///   kneedamp verify result.json --format json
///
/// Runs a result again from its own inputs and compares every outcome with the file; then integrates the same motions
/// again with another integrator (Dopri5 of ode_solvers at 1e-12, with its own event search). Prints the greatest
/// difference per outcome; exits with 4 if one is beyond its tolerance, a thousandth of the last digit that is shown.
/// A result of another version is compared too, and called so.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// What `kneedamp run --format json` wrote
    #[arg(value_name = "RESULT.json")]
    pub result: PathBuf,
    #[command(flatten)]
    pub report: ReportOptions,
}

/// A result, run and integrated again.
pub struct Verified {
    recorded: Recorded,
    verification: Verification,
    elsewhere: Option<Table>,
}

/// Runs the command.
///
/// # Errors
/// A file that is no result, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let origin = o.result.display().to_string();
    let verified = verify(&read_result(&o.result)?, &origin)?;
    let inputs = json!({
        "file": origin,
        "version_of_file": verified.recorded.version,
        "same_version": verified.recorded.is_of_this_version(),
    });
    o.report
        .print_as("verify", inputs, &verified.findings(&origin), || verified.findings_for_people(&origin))?;
    Ok(verified.status())
}

/// Verifies a result as text.
///
/// # Errors
/// As [`run`].
pub fn verify(text: &str, origin: &str) -> Result<Verified, SimError> {
    let recorded = recorded::read(text, origin)?;
    let again = while_working(|| survey(recorded.setup.clone(), recorded.scenarios.clone()))?;
    let study = VerifyStudy { survey: &again, recorded: recorded.runs.clone() };
    let verification = with_progress(study.steps(), |tick| study.run(tick))?;
    // another version may say the same in other words
    let elsewhere = recorded.is_of_this_version().then(|| recorded.elsewhere(&again));
    Ok(Verified { recorded, verification, elsewhere })
}

impl Verified {
    /// 4 if anything differs.
    #[must_use]
    pub fn status(&self) -> Status {
        let elsewhere = self.elsewhere.as_ref().is_some_and(|t| !t.rows.is_empty());
        let differs = elsewhere || self.verification.beyond().next().is_some();
        if differs { Status::Differs } else { Status::Done }
    }

    /// As data.
    #[must_use]
    pub fn findings(&self, origin: &str) -> Findings {
        let empty = || Table { key: "elsewhere".into(), ..Table::default() };
        let mut found = self.with_version(origin, self.verification.findings());
        found.tables.push(self.elsewhere.clone().unwrap_or_else(empty));
        found
    }

    /// For people.
    #[must_use]
    pub fn findings_for_people(&self, origin: &str) -> Findings {
        let mut found = self.with_version(origin, self.verification.findings_for_people());
        found.tables.extend(self.elsewhere.clone().filter(|t| !t.rows.is_empty()));
        found
    }

    fn with_version(&self, origin: &str, mut found: Findings) -> Findings {
        let this = env!("CARGO_PKG_VERSION");
        let made = match &self.elsewhere {
            None => format!(
                "{origin}: made by version {}; this is {this}. What differs when it is run again can come from what \
                 changed between the two, in sentences and limits too, which are not compared; what the second \
                 integrator finds cannot.",
                self.recorded.version
            ),
            Some(table) => {
                let elsewhere = match table.rows.len() {
                    0 => "resolved inputs, limits and sentences are those of the re-run too".into(),
                    n => format!("{} elsewhere in the file that the re-run does not have", count(n, "value")),
                };
                format!("{origin}: made by this version, {this}; {elsewhere}.")
            }
        };
        found.text.insert(0, made);
        found
    }
}
