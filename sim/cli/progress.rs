//! How far a study has come, for people at a terminal: the only place that draws it. It goes to stderr and is taken
//! away at the end; nothing is drawn where stderr is no terminal. It has no colours, so `NO_COLOR` changes nothing.

use std::fmt::Write;
use std::io::IsTerminal;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressState, ProgressStyle};

/// Bar, steps done, steps a second, time left.
const BAR: &str = "{bar:30} {pos} of {len}, {rate} a second, {eta} left";
/// Of work whose end is not known: a sign of life, and the time it has taken.
const WAITING: &str = "{spinner} {elapsed}";
/// A sign of life so often.
const TICK: Duration = Duration::from_millis(200);

/// Runs a study with a progress bar on a terminal; `work` calls its argument once per step done.
pub fn with_progress<T>(steps: u64, work: impl FnOnce(&(dyn Fn() + Sync)) -> T) -> T {
    let bar = drawn(|| ProgressBar::new(steps), BAR);
    let result = work(&|| bar.inc(1));
    bar.finish_and_clear();
    result
}

/// Does work that cannot say how much of it is left.
pub fn while_working<T>(work: impl FnOnce() -> T) -> T {
    let bar = drawn(ProgressBar::new_spinner, WAITING);
    if !bar.is_hidden() {
        bar.enable_steady_tick(TICK);
    }
    let result = work();
    bar.finish_and_clear();
    result
}

fn rate(state: &ProgressState, to: &mut dyn Write) {
    let _ = write!(to, "{:.1}", state.per_sec());
}

fn drawn(bar: impl FnOnce() -> ProgressBar, template: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    match ProgressStyle::with_template(template) {
        Ok(style) => bar().with_style(style.progress_chars("=> ").with_key("rate", rate)),
        Err(_) => bar(),
    }
}
