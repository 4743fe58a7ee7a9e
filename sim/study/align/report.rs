//! The alignment study in words and tables.

use super::{AlignmentResult, Criterion, Edge, FEW_CENTIMETRES_M, SLOPE_DEG, ShiftRange, ShiftResult};
use crate::body::alignment::MOST_FOOT_SHIFT_M;
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::outcome::{Assessment, Value};
use crate::units::DEG;

/// The two criteria of the first range.
pub(super) const FIRST: [Criterion; 2] = [Criterion::StandsOnSlope, Criterion::ReleasesInTime];

impl Criterion {
    /// What must hold.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::StandsOnSlope => "standing on a slope of 1 in 12",
            Self::ReleasesInTime => "release in walking",
            Self::Lands => "landing after walking",
            Self::Stumble => "stumble",
            Self::Chair => "sitting down",
            Self::Ramp => "ramp",
            Self::Stairs => "stairs",
        }
    }
}

impl AlignmentResult {
    /// Sentences, the table over the shifts, the table of edges.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let mut text = vec![self.standing_in_words(), self.first_in_words(), self.all_in_words()];
        text.extend(self.other_ranges_in_words());
        text.extend([self.practice_in_words(), self.tilt_in_words(), limits()]);
        Findings { text, tables: vec![self.shifts(), self.edges()], plots: vec![] }
    }

    fn standing_in_words(&self) -> String {
        let s = &self.unshifted;
        let to_bend = s.hip_moment_to_bend_n_m;
        format!(
            "Standing on the level with {:.0} % of the weight on the prosthesis and the foot where the ratios of \
             the body put it, the load line passes {:.0} mm in front of the knee axis: {:.1} N m keep the knee \
             straight, a slope of {:.1}° down takes them away, and {to_bend:.1} N m at the hip start to bend it.",
            100.0 * self.share,
            1e3 * s.load_line_ahead_m,
            s.extension_moment_n_m,
            s.slope_limit_rad / DEG,
        )
    }

    fn tilt_in_words(&self) -> String {
        format!(
            "Tilting the foot acts in standing as a shift does: 1° toes down like {:.1} mm forward. In late stance \
             the ground force is at the toe either way, so that a tilt changes release little (--foot-tilt).",
            1e3 * self.shift_per_tilt_m
        )
    }

    fn first_in_words(&self) -> String {
        let loss = self.late_release_deg.map_or(String::new(), |d| {
            format!(" (at most {d}° of peak lost, and the peak within its limits)")
        });
        let asked = format!(
            "Standing on a slope of {SLOPE_DEG}° (1 in 12) and release in time in comfortable walking{loss}"
        );
        let Some(range) = self.common(&FIRST) else {
            return format!("{asked} do not hold together at any shift up to {} mm.", most_mm());
        };
        format!(
            "{asked} both hold with the load line {} in front of the knee axis (foot shifted by {}). {} {}",
            load_lines(&range),
            shifts(&range),
            edge_in_words("The near edge", &range.near),
            edge_in_words("The far edge", &range.far),
        )
    }

    fn all_in_words(&self) -> String {
        let Some(range) = self.common(&Criterion::ALL) else {
            let never: Vec<&str> = self.never().collect();
            return if let Some(edges) = self.innermost_edges(&Criterion::ALL) {
                format!(
                    "There is no shift at which landing, stumble, chair, ramp and stairs hold as well: {}; {}.",
                    needs("at least", &edges.near),
                    needs("at most", &edges.far),
                )
            } else {
                format!(
                    "With landing, stumble, chair, ramp and stairs there is no such range: {} not within limits at \
                     any shift.",
                    if never.len() == 1 {
                        format!("{} is", never[0])
                    } else {
                        format!("{} are", never.join(", "))
                    }
                )
            };
        };
        format!(
            "With landing, stumble, chair, ramp and stairs within their limits as well, {} remain (foot shifted by \
             {}). {} {}",
            load_lines(&range),
            shifts(&range),
            edge_in_words("The near edge", &range.near),
            edge_in_words("The far edge", &range.far),
        )
    }

    fn never(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.ranges.iter().filter(|(_, s)| s.is_err()).map(|(c, _)| c.label())
    }

    fn other_ranges_in_words(&self) -> Option<String> {
        let others: Vec<String> = self
            .other_ranges
            .iter()
            .map(|(c, from, to)| format!("{} from {:.0} to {:.0} mm", c.label(), 1e3 * from, 1e3 * to))
            .collect();
        (!others.is_empty()).then(|| {
            format!(
                "Left out, because it is not joined to the stretch that counts: {} (to the 5 mm at which it was \
                 looked at).",
                others.join("; ")
            )
        })
    }

    fn practice_in_words(&self) -> String {
        let (low, high) = FEW_CENTIMETRES_M;
        let against = |range: Option<ShiftRange>, by: &str| {
            let Some(range) = range else { return format!("{by}, there is no range for it to lie in") };
            let (near, far) = (range.near.load_line_m, range.far.load_line_m);
            let (from, to) = (near.max(low), far.min(high));
            let open = match (&range.near.closed_by, &range.far.closed_by) {
                (Some(_), Some(_)) => "",
                (None, Some(_)) => ", but nothing keeps the load line from lying further back",
                (Some(_), None) => ", but nothing keeps the load line from lying further in front",
                (None, None) => ", but nothing keeps the load line there",
            };
            if from > to {
                format!("{by}, none of it is within the range")
            } else if near <= low && far >= high {
                format!("{by}, all of it is within the range{open}")
            } else {
                let (from, to) = (1e3 * from, 1e3 * to);
                format!("{by}, {from:.0} to {to:.0} mm of it are within the range{open}")
            }
        };
        format!(
            "Common practice of the trade is a load line a few centimetres in front of the knee axis, here taken \
             as {:.0} to {:.0} mm [J]. {}. {}.",
            1e3 * low,
            1e3 * high,
            against(self.common(&FIRST), "By standing and release alone"),
            against(self.common(&Criterion::ALL), "With the other tasks"),
        )
    }

    fn shifts(&self) -> Table {
        let columns = [
            "foot_shift_mm",
            "load_line_ahead_mm",
            "extension_moment_n_m",
            "slope_limit_deg",
            "hip_moment_to_bend_n_m",
            "release_pct",
            "peak_flexion_deg",
            "late_release_loss_deg",
            "landing",
            "stumble",
            "sit_time_s",
            "ramp",
            "stairs",
        ];
        let rows = self.rows.iter().map(shift_row).collect();
        Table::new("shifts", "over the shift of the foot, forward positive", &columns, rows)
    }

    fn edges(&self) -> Table {
        let end = |edge: &Edge| match &edge.closed_by {
            Some((_, why)) => Cell::text(why.clone()),
            None => Cell::text(format!("open up to {} mm of shift", most_mm())),
        };
        let row = |(criterion, range): &(Criterion, Result<ShiftRange, String>)| {
            let name = Cell::text(criterion.label());
            match range {
                Err(why) => {
                    vec![
                        name,
                        Cell::Empty,
                        Cell::Empty,
                        Cell::text(format!("holds nowhere: {why}")),
                        Cell::Empty,
                    ]
                }
                Ok(s) => vec![
                    name,
                    Cell::Number(1e3 * s.near.load_line_m, 1),
                    Cell::Number(1e3 * s.far.load_line_m, 1),
                    end(&s.near),
                    end(&s.far),
                ],
            }
        };
        let columns = ["what", "from_mm", "to_mm", "near_edge_closed_by", "far_edge_closed_by"];
        let title = "where each holds: load line in front of the knee axis";
        Table::new("edges", title, &columns, self.ranges.iter().map(row).collect())
    }
}

fn shift_row(row: &ShiftResult) -> Vec<Cell> {
    let s = &row.standing;
    let [walk, stumble, sit, ramp, stairs] = &row.runs;
    let outcome = |run: &Result<Assessment, SimError>, key: &str, decimals| match run {
        Err(e) => Cell::text(e.in_place_of_verdict()),
        Ok(a) => match a.outcomes.get(key) {
            Some(Value::Number(v)) => Cell::Number(v, decimals),
            Some(Value::Word(w)) => Cell::text(w),
            Some(Value::NotReached) | None => Cell::Empty,
        },
    };
    let positive = |v: f64, decimals| if v > 0.0 { Cell::Number(v, decimals) } else { Cell::Empty };
    vec![
        Cell::Number(1e3 * row.shift_m, 1),
        Cell::Number(1e3 * s.load_line_ahead_m, 1),
        Cell::Number(s.extension_moment_n_m, 1),
        Cell::Number(s.slope_limit_rad / DEG, 1),
        // a knee that the weight bends needs no hip for it
        positive(s.hip_moment_to_bend_n_m, 1),
        outcome(walk, "release_pct", 1),
        outcome(walk, "peak_flexion_deg", 1),
        outcome(walk, "late_release_loss_deg", 1),
        outcome(walk, "landing", 0),
        outcome(stumble, "what_happens", 0),
        outcome(sit, "sit_time_s", 2),
        outcome(ramp, "what_happens", 0),
        outcome(stairs, "what_happens", 0),
    ]
}

fn limits() -> String {
    "The foot is shifted as a whole; the masses of foot and shoe stay where they are, and hip and thigh move as \
     measured whatever the alignment is: a person adapts, the model does not. What the model shows, not an \
     alignment to use."
        .into()
}

fn most_mm() -> String {
    format!("{:.0}", 1e3 * MOST_FOOT_SHIFT_M)
}

/// `25.1 to 57.0 mm`, `20.1 to at least 79.3 mm`.
pub(super) fn load_lines(range: &ShiftRange) -> String {
    let (near, far) = (1e3 * range.near.load_line_m, 1e3 * range.far.load_line_m);
    match (&range.near.closed_by, &range.far.closed_by) {
        (Some(_), Some(_)) => format!("{near:.1} to {far:.1} mm"),
        (Some(_), None) => format!("{near:.1} to at least {far:.1} mm"),
        (None, Some(_)) => format!("at most {near:.1} to {far:.1} mm"),
        (None, None) => format!("at most {near:.1} to at least {far:.1} mm"),
    }
}

fn shifts(range: &ShiftRange) -> String {
    format!("{:+.1} to {:+.1} mm", 1e3 * range.near.shift_m, 1e3 * range.far.shift_m)
}

/// `at least 44.9 mm for sitting down, else the person drops into the chair (…)`.
fn needs(what: &str, edge: &Edge) -> String {
    let (name, why) = match &edge.closed_by {
        Some((criterion, why)) => (criterion.label(), format!(", else {why}")),
        None => ("the range looked at", String::new()),
    };
    format!("{what} {:.1} mm for {name}{why}", 1e3 * edge.load_line_m)
}

fn edge_in_words(which: &str, edge: &Edge) -> String {
    match &edge.closed_by {
        Some((criterion, why)) => format!("{which} is closed by {}: {why}.", criterion.label()),
        None => format!("{which} is not closed: it holds as far as was looked, {} mm of shift.", most_mm()),
    }
}
