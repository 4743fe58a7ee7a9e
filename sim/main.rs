//! The program `kneedamp`.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(kneedamp::cli::run().code())
}
