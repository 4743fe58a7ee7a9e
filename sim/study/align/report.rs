//! What `align` found, in sentences, tables and a plot.

use super::{Alignments, Criterion, Edge, FEW_CENTIMETRES_M, Row, SLOPE_DEG, Stretch};
use crate::body::alignment::MOST_FOOT_SHIFT_M;
use crate::findings::{Cell, Findings, Panel, Plot, Series, Table};
use crate::outcome::{Assessment, Value};
use crate::units::DEG;

/// The two that the range is asked of.
const ASKED: [Criterion; 2] = [Criterion::StandsOnSlope, Criterion::ReleasesInTime];

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

impl Alignments {
    /// Sentences, the table over the shifts, the table of edges, a plot.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let mut text = vec![self.says_standing(), self.says_asked(), self.says_all()];
        text.extend(self.says_apart());
        text.extend([self.says_practice(), limits()]);
        Findings { text, tables: vec![self.shifts(), self.edges()], plots: vec![self.plot()] }
    }

    fn says_standing(&self) -> String {
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

    fn says_asked(&self) -> String {
        let loss = self.late_release_deg.map_or(String::new(), |d| format!(" (at most {d}° of peak lost)"));
        let asked = format!(
            "Standing on a slope of {SLOPE_DEG}° (1 in 12) and release in time in comfortable walking{loss}"
        );
        let Some(range) = self.common(&ASKED) else {
            return format!("{asked} do not hold together at any shift up to {} mm.", most_mm());
        };
        format!(
            "{asked} both hold with the load line {} in front of the knee axis (foot shifted by {}). {} {}",
            load_lines(&range),
            shifts(&range),
            closes("The near edge", &range.near),
            closes("The far edge", &range.far),
        )
    }

    fn says_all(&self) -> String {
        let Some(range) = self.common(&Criterion::ALL) else {
            let never: Vec<&str> = self.never().collect();
            return if let Some(apart) = self.innermost(&Criterion::ALL) {
                format!(
                    "There is no shift at which landing, stumble, chair, ramp and stairs hold as well: {}; {}.",
                    wants("at least", &apart.near),
                    wants("at most", &apart.far),
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
            closes("The near edge", &range.near),
            closes("The far edge", &range.far),
        )
    }

    fn never(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.stretches.iter().filter(|(_, s)| s.is_err()).map(|(c, _)| c.label())
    }

    fn says_apart(&self) -> Option<String> {
        let said: Vec<String> = self
            .apart
            .iter()
            .map(|(c, from, to)| format!("{} from {:.0} to {:.0} mm", c.label(), 1e3 * from, 1e3 * to))
            .collect();
        (!said.is_empty()).then(|| {
            format!(
                "Left out, because it is not joined to the stretch that counts: {} (to the 5 mm at which it was \
                 looked at).",
                said.join("; ")
            )
        })
    }

    fn says_practice(&self) -> String {
        let (low, high) = FEW_CENTIMETRES_M;
        let against = |range: Option<Stretch>, by: &str| {
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
            against(self.common(&ASKED), "By standing and release alone"),
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
        Table {
            key: "shifts".into(),
            title: "over the shift of the foot, forward positive".into(),
            columns: columns.map(str::to_owned).to_vec(),
            rows: self.rows.iter().map(shift_row).collect(),
        }
    }

    fn edges(&self) -> Table {
        let end = |edge: &Edge| match &edge.closed_by {
            Some((_, why)) => Cell::text(why.clone()),
            None => Cell::text(format!("open up to {} mm of shift", most_mm())),
        };
        let row = |(criterion, stretch): &(Criterion, Result<Stretch, String>)| {
            let name = Cell::text(criterion.label());
            match stretch {
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
        Table {
            key: "edges".into(),
            title: "where each holds: load line in front of the knee axis".into(),
            columns: ["what", "from_mm", "to_mm", "near_edge_closed_by", "far_edge_closed_by"]
                .map(str::to_owned)
                .to_vec(),
            rows: self.stretches.iter().map(row).collect(),
        }
    }

    fn plot(&self) -> Plot {
        let series = |label: &str, y: &dyn Fn(&Row) -> Option<f64>| Series {
            label: label.into(),
            points: self
                .rows
                .iter()
                .filter_map(|r| y(r).map(|y| (1e3 * r.standing.load_line_ahead_m, y)))
                .collect(),
        };
        let panel = |label: &str, series: Vec<Series>| Panel {
            y_label: label.into(),
            series,
            height: 1.0,
            ..Panel::default()
        };
        let walk = |r: &Row, key: &str| r.runs[0].as_ref().ok().and_then(|a| a.outcomes.number(key));
        Plot {
            key: "align".into(),
            title: "Load line in front of the knee axis".into(),
            subtitle: "what the model shows over the shift of the foot".into(),
            x_label: "Load line in front of the knee axis (mm)".into(),
            instants: vec![],
            panels: vec![
                panel(
                    "Moment (N m)",
                    vec![
                        series("keeps the knee straight", &|r| Some(r.standing.extension_moment_n_m)),
                        series("at the hip, starts to bend it", &|r| Some(r.standing.hip_moment_to_bend_n_m)),
                    ],
                ),
                panel(
                    "Instant of release (% of stride)",
                    vec![series("release", &|r| walk(r, "release_pct"))],
                ),
                panel(
                    "Peak flexion in swing (deg)",
                    vec![series("peak flexion", &|r| walk(r, "peak_flexion_deg"))],
                ),
            ],
        }
    }
}

fn shift_row(row: &Row) -> Vec<Cell> {
    let s = &row.standing;
    let [walk, stumble, sit, ramp, stairs] = &row.runs;
    let outcome = |run: &Result<Assessment, String>, key: &str, decimals| match run {
        Err(_) => Cell::text("cannot run"),
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
    "The foot is shifted as a whole and level; the masses of foot and shoe stay where they are, and hip, thigh \
     and centre of pressure move as published whatever the alignment is: a person adapts, the model does not. \
     What the model shows, not an alignment to use."
        .into()
}

fn most_mm() -> String {
    format!("{:.0}", 1e3 * MOST_FOOT_SHIFT_M)
}

/// `25.1 to 57.0 mm`, `20.1 to at least 79.3 mm`.
fn load_lines(range: &Stretch) -> String {
    let (near, far) = (1e3 * range.near.load_line_m, 1e3 * range.far.load_line_m);
    match (&range.near.closed_by, &range.far.closed_by) {
        (Some(_), Some(_)) => format!("{near:.1} to {far:.1} mm"),
        (Some(_), None) => format!("{near:.1} to at least {far:.1} mm"),
        (None, Some(_)) => format!("at most {near:.1} to {far:.1} mm"),
        (None, None) => format!("at most {near:.1} to at least {far:.1} mm"),
    }
}

fn shifts(range: &Stretch) -> String {
    format!("{:+.1} to {:+.1} mm", 1e3 * range.near.shift_m, 1e3 * range.far.shift_m)
}

/// `at least 44.9 mm for sitting down, else the person drops into the chair (…)`.
fn wants(what: &str, edge: &Edge) -> String {
    let (name, why) = match &edge.closed_by {
        Some((criterion, why)) => (criterion.label(), format!(", else {why}")),
        None => ("the range looked at", String::new()),
    };
    format!("{what} {:.1} mm for {name}{why}", 1e3 * edge.load_line_m)
}

fn closes(which: &str, edge: &Edge) -> String {
    match &edge.closed_by {
        Some((criterion, why)) => format!("{which} is closed by {}: {why}.", criterion.label()),
        None => format!("{which} is not closed: it holds as far as was looked, {} mm of shift.", most_mm()),
    }
}
