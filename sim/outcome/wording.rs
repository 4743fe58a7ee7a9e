//! Numbers of outcomes in words: the only place that rounds them, adds the unit and reads the sign.
//!
//! ```
//! use kneedamp::outcome::metric;
//! let extension = metric("extension_margin_ms").unwrap();
//! let words = |v: f64| extension.sentence(v);
//! assert_eq!(words(-101.2), "straight 101 ms after the foot lands");
//! assert_eq!(words(46.0), "straight 46 ms before the foot lands");
//! assert_eq!(words(-0.3), "straight as the foot lands");
//! assert_eq!(extension.change(76.0, 36.0), "straight 76 ms before → 36 ms before the foot lands");
//! assert_eq!(extension.say_short(-101.2), "101 ms after");
//! assert_eq!(extension.say_difference(-147.2), "-147 ms");
//! let peak = metric("peak_vs_able_bodied_deg").unwrap();
//! assert_eq!(peak.sentence(-8.4), "8.4° less bend than able-bodied");
//! let again = metric("rebound_deg").unwrap();
//! assert_eq!(again.sentence(kneedamp::outcome::Value::NotReached), "does not bend again");
//! assert_eq!(metric("sit_time_s").unwrap().sentence(1.5), "time to sit down 1.50 s");
//! ```

use super::{LimitVerdict, Metric, SignWords, Value, metric};

/// Full extension against heel contact.
pub(super) const EXTENSION: SignWords = SignWords {
    begin: "straight ",
    negative: "after",
    positive: "before",
    from: "the foot lands",
    zero: "as the foot lands",
    table_label: "full extension, from heel contact",
    number_label: "full extension before heel contact",
};

/// Peak flexion against that of able-bodied walking.
pub(super) const PEAK: SignWords = SignWords {
    begin: "",
    negative: "less",
    positive: "more",
    from: "bend than able-bodied",
    zero: "as much bend as able-bodied",
    table_label: "peak flexion, from able-bodied",
    number_label: "peak flexion, difference from able-bodied",
};

impl Metric {
    /// An outcome in a sentence: `time to sit down 1.50 s`; where the sign has words, `straight 76 ms before the foot
    /// lands`.
    #[must_use]
    pub fn sentence(&self, value: impl Into<Value>) -> String {
        match (value.into(), &self.sign) {
            (Value::NotReached, _) if !self.not_reached.is_empty() => self.not_reached.to_owned(),
            (Value::Number(v), Some(sign)) => format!("{}{}", sign.begin, self.number_in_words(v)),
            (Value::Word(w), _) => format!("{}: {w}", self.label),
            (value, _) => format!("{} {}", self.label, self.say(value)),
        }
    }

    /// How it changed: `straight 76 ms before → 36 ms before the foot lands`.
    #[must_use]
    pub fn change(&self, before: impl Into<Value>, after: impl Into<Value>) -> String {
        let (before, after) = (before.into(), after.into());
        let missing = |v: Value| v == Value::NotReached && !self.not_reached.is_empty();
        if missing(before) || missing(after) {
            return format!("{} → {}", self.sentence(before), self.sentence(after));
        }
        let numbers = [before, after].iter().all(|v| v.as_number().is_some());
        let begin = match &self.sign {
            Some(sign) if numbers => sign.begin.to_owned(),
            _ => format!("{} ", self.label),
        };
        format!("{begin}{} → {}", self.say_short(before), self.say(after))
    }

    /// A number with its unit: `13.3 N m`. Where the sign has words: `76 ms before the foot lands`.
    pub(super) fn number_in_words(&self, v: f64) -> String {
        match &self.sign {
            None => self.say_difference(v),
            Some(_) if self.rounds_to_zero(v) => self.say_short(v),
            Some(sign) => format!("{} {}", self.say_short(v), sign.from),
        }
    }

    /// A value under [`Metric::table_label`]: `76 ms before`.
    #[must_use]
    pub fn say_short(&self, value: impl Into<Value>) -> String {
        match (value.into(), &self.sign) {
            (Value::Number(v), Some(sign)) if self.rounds_to_zero(v) => sign.zero.to_owned(),
            (Value::Number(v), Some(sign)) => {
                let word = if v < 0.0 { sign.negative } else { sign.positive };
                format!("{} {word}", self.say_difference(v.abs()))
            }
            (value, _) => self.say(value),
        }
    }

    /// A difference of two values with its unit, for instance a margin: `-2.3°`.
    #[must_use]
    pub fn say_difference(&self, v: f64) -> String {
        // no minus before a rounded zero
        let number = format!("{:.*}", self.decimals, if self.rounds_to_zero(v) { 0.0 } else { v });
        match self.unit {
            "" => number,
            "°" | "°/s" => number + self.unit,
            unit => format!("{number} {unit}"),
        }
    }

    /// The label above or beside short values: `full extension, from heel contact`.
    #[must_use]
    pub fn table_label(&self) -> String {
        self.sign.as_ref().map_or(self.label, |sign| sign.table_label).to_owned()
    }

    /// The label of plain numbers, whose minus sign means the opposite: `full extension before heel contact`.
    #[must_use]
    pub fn number_label(&self) -> String {
        self.sign.as_ref().map_or(self.label, |sign| sign.number_label).to_owned()
    }

    fn rounds_to_zero(&self, v: f64) -> bool {
        format!("{v:.*}", self.decimals).trim_matches(['-', '0', '.']).is_empty()
    }
}

impl LimitVerdict {
    /// The limit in words: `at least 40 ms before`, `40.0° to 70.0°`, `straight or caught`.
    #[must_use]
    pub fn bounds(&self) -> String {
        let m = metric(&self.limit.outcome);
        let say = |v: f64| m.map_or_else(|| v.to_string(), |m| m.say_short(v));
        // at least −20 ms before is at most 20 ms after
        let reversed = |v: f64| v < 0.0 && m.is_some_and(|m| m.sign.is_some());
        let [least, most] = ["at least", "at most"];
        match (self.limit.min, self.limit.max) {
            (Some(a), Some(b)) => format!("{} to {}", say(a), say(b)),
            (Some(a), None) => format!("{} {}", if reversed(a) { most } else { least }, say(a)),
            (None, Some(b)) => format!("{} {}", if reversed(b) { least } else { most }, say(b)),
            (None, None) => self.limit.allowed.join(" or "),
        }
    }
}
