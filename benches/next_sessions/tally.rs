//! What all sessions came to.

use kneedamp::numerics::intervals::wilson_95;
use kneedamp::numerics::statistics::median;

/// One session.
#[derive(Clone, Copy)]
pub struct Outcome {
    pub set_up: bool,
    pub trials: usize,
    pub unsafe_trials: usize,
}

/// Sessions of one leader from one start, all people.
pub type Row = (&'static str, &'static str, Outcome);

#[derive(Default)]
pub struct Tally {
    sessions: Vec<Row>,
    pub calibration: Calibration,
}

impl Tally {
    pub fn add(&mut self, found: impl IntoIterator<Item = Row>) {
        self.sessions.extend(found);
    }

    pub fn print(&self, leaders: &[&str], starts: &[&str]) {
        println!(
            "{:<16} {:<7} {:>22} {:>14} {:>14}",
            "led by", "start", "set up (95 %)", "trials, median", "unsafe, mean"
        );
        for leader in leaders {
            for start in starts {
                self.line(leader, start, &|(l, s, _)| l == leader && s == start);
            }
            self.line(leader, "all", &|(l, _, _)| l == leader);
        }
        self.calibration.print();
    }

    fn line(&self, leader: &str, start: &str, which: &dyn Fn(&Row) -> bool) {
        let rows: Vec<Outcome> = self.sessions.iter().filter(|r| which(r)).map(|r| r.2).collect();
        let hits = rows.iter().filter(|o| o.set_up).count();
        let (low, high) = wilson_95(hits, rows.len());
        let share = |x: f64| format!("{:.0}", 100.0 * x);
        let set_up = format!("{hits}/{} ({}-{} %)", rows.len(), share(low), share(high));
        let trials = median(rows.iter().map(|o| o.trials as f64).collect()).unwrap_or(f64::NAN);
        let not_safe = rows.iter().map(|o| o.unsafe_trials as f64).sum::<f64>() / rows.len().max(1) as f64;
        println!("{leader:<16} {start:<7} {set_up:>22} {trials:>14.0} {not_safe:>14.1}");
    }
}

/// Steps by the chance of good that they were given, and what they did.
#[derive(Default)]
pub struct Calibration(Vec<(f64, bool, bool)>);

impl Calibration {
    pub fn extend(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    pub fn add(&mut self, given: f64, good: bool, taken: bool) {
        self.0.push((given, good, taken));
    }

    fn print(&self) {
        println!(
            "\n{:<14} {:>24} {:>24}",
            "given a chance", "did good, all (95 %)", "did good, taken (95 %)"
        );
        for (low, high) in
            [(0.0, 0.1), (0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.01)]
        {
            let within = |s: &&(f64, bool, bool)| (low..high).contains(&s.0);
            let words = |only_taken: bool| {
                let rows: Vec<_> = self.0.iter().filter(within).filter(|s| s.2 || !only_taken).collect();
                let hits = rows.iter().filter(|s| s.1).count();
                let (l, h) = wilson_95(hits, rows.len());
                let share = hits as f64 / rows.len().max(1) as f64;
                format!("{:.0} % of {} ({:.0}-{:.0} %)", 100.0 * share, rows.len(), 100.0 * l, 100.0 * h)
            };
            let name = format!("{:.0}-{:.0} %", 100.0 * low, 100.0 * high.min(1.0));
            println!("{name:<14} {:>24} {:>24}", words(false), words(true));
        }
    }
}
