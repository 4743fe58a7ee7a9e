//! The variations under which every edge is computed again: each value of judgement at the least and the
//! greatest value that can be argued for, and the judged edges of limits moved by their own band. These
//! ranges stand nowhere else.

use crate::case::inputs::input;
use crate::outcome::metric;
use crate::scenario::{ActivityKind, Limit};

/// A value of judgement, by the key of its input, and the range over which it varies.
#[derive(Debug)]
pub struct Judged {
    /// Key in the registry of inputs.
    pub key: &'static str,
    /// Least.
    pub least: f64,
    /// Most.
    pub most: f64,
    /// Why this range.
    pub why: &'static str,
    /// Activities whose motion it changes.
    pub touches: &'static [ActivityKind],
    /// Of a walking stride it changes only the landing after it.
    pub only_landing: bool,
}

/// The values of judgement, varied one at a time.
pub static JUDGED: &[Judged] = &[
    Judged {
        key: "hip_moment_n_m_per_kg",
        least: 0.1,
        most: 0.3,
        why: "from a weak push back of the hip to a firm one; the band that a landing is judged over",
        touches: &[ActivityKind::Walk, ActivityKind::Ramp, ActivityKind::Stairs, ActivityKind::Stumble],
        only_landing: true,
    },
    Judged {
        key: "user_effort_n_m_per_kg",
        least: 0.1,
        most: 0.3,
        why: "half and one and a half times the example's 0.2; decides a late release",
        touches: &[ActivityKind::Walk],
        only_landing: false,
    },
    Judged {
        key: "release_distance_m",
        least: 0.14,
        most: 0.18,
        why: "the foremost centre of pressure that the walking drive knows, and as far beyond the example's 0.16",
        touches: &[
            ActivityKind::Walk,
            ActivityKind::Sit,
            ActivityKind::Ramp,
            ActivityKind::Stairs,
            ActivityKind::Stumble,
        ],
        only_landing: false,
    },
];

/// One of the conditions under which the windows are computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Variation {
    /// Files and options as they are.
    AsSet,
    /// One value of judgement at an end of its range.
    Judged {
        /// Key of the input.
        key: &'static str,
        /// Its value.
        value: f64,
    },
    /// All judged edges of limits moved by their own band.
    Edges {
        /// Inwards.
        tighter: bool,
    },
}

impl Variation {
    /// All variations; the first is the inputs as set.
    #[must_use]
    pub fn all() -> Vec<Self> {
        let judged = JUDGED.iter().flat_map(|j| [(j.key, j.least), (j.key, j.most)]);
        std::iter::once(Self::AsSet)
            .chain(judged.map(|(key, value)| Self::Judged { key, value }))
            .chain([true, false].map(|tighter| Self::Edges { tighter }))
            .collect()
    }

    /// What is varied, and to what.
    #[must_use]
    pub fn name_and_value(self) -> (&'static str, Option<f64>) {
        match self {
            Self::AsSet => ("as set", None),
            Self::Judged { key, value } => (key, Some(value)),
            Self::Edges { tighter: true } => ("judged edges tighter", None),
            Self::Edges { tighter: false } => ("judged edges wider", None),
        }
    }

    /// The same in a line.
    #[must_use]
    pub fn label(self) -> String {
        match self.name_and_value() {
            (name, Some(value)) => format!("{name} {value}"),
            (name, None) => name.to_owned(),
        }
    }

    /// For people: `hip extension moment after landing 0.3 N m/kg`.
    #[must_use]
    pub fn in_words(self) -> String {
        match (self, self.name_and_value()) {
            (Self::Judged { key, .. }, (_, Some(value))) => match input(key) {
                Ok(row) => format!("{} {value} {}", row.label, row.unit),
                Err(_) => self.label(),
            },
            (_, (name, _)) => name.to_owned(),
        }
    }

    /// Whether it can change the verdict on a limit of such a scenario.
    #[must_use]
    pub fn reaches(self, kind: ActivityKind, limit: &Limit) -> bool {
        match self {
            Self::AsSet => true,
            Self::Judged { key, .. } => JUDGED.iter().any(|j| {
                let stride_only = kind == ActivityKind::Walk && j.only_landing && !reads_landing(limit);
                j.key == key && j.touches.contains(&kind) && !stride_only
            }),
            Self::Edges { .. } => limit.band_pct.is_some(),
        }
    }

    /// A limit under this variation: only its judged edges move, its scale stays.
    #[must_use]
    pub fn applied_to(self, limit: &Limit) -> Limit {
        let mut moved = limit.clone();
        if let (Self::Edges { tighter }, Some(band)) = (self, limit.band_pct) {
            let share = band / 100.0 * if tighter { 1.0 } else { -1.0 };
            moved.scale = Some(limit.unit_margin());
            moved.min = limit.min.map(|v| v + share * v.abs());
            moved.max = limit.max.map(|v| v - share * v.abs());
        }
        moved
    }
}

/// Whether the outcome of a walking scenario is one of the landing.
#[must_use]
pub fn reads_landing(limit: &Limit) -> bool {
    metric(&limit.outcome).is_some_and(|m| m.by_landing)
}
