//! The ten questions of a sheet, answered from the runs.

use super::words::in_words;
use crate::error::SimError;
use crate::joint::{SettingName, Trigger};
use crate::outcome::{Assessment, METRICS, OutcomeWord, TrialVerdict, Value, metric};
use crate::scenario::Severity;
use crate::study::survey::{RunResult, Survey};
use crate::study::window::{SettingWindow, Windows};
use crate::units::GRAVITY_M_PER_S2 as G;

/// A question and the answer of the model.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The question.
    pub question: &'static str,
    /// The answer.
    pub said: String,
    /// The worst verdict on the limits behind it; [`TrialVerdict::NoLimits`] where there are none.
    pub verdict: TrialVerdict,
}

/// Walking scenarios with their names on the sheet.
const WALKS: [(&str, &str); 4] = [
    ("walk-slow", "slow"),
    ("walk-comfortable", "comfortable"),
    ("walk-fast", "fast"),
    ("walk-hurried", "hurried"),
];

/// The runs, by scenario and outcome.
struct Runs<'a>(&'a Survey);

impl Runs<'_> {
    fn result(&self, scenario: &str) -> Option<&Result<RunResult, SimError>> {
        self.0.runs.iter().find(|r| r.scenario.name == scenario).map(|r| &r.result)
    }

    fn of(&self, scenario: &str) -> Option<&Assessment> {
        self.result(scenario)?.as_ref().ok().map(|r| &r.assessment)
    }

    fn value(&self, scenario: &str, key: &str) -> Value {
        self.of(scenario).and_then(|a| a.outcomes.get(key)).unwrap_or(Value::NotReached)
    }

    /// A value with its unit; the context names the instant that a time is measured from.
    fn say(&self, scenario: &str, key: &str) -> String {
        match (metric(key), self.result(scenario)) {
            (_, Some(Err(e))) => e.in_place_of_verdict().into(),
            (Some(m), Some(Ok(_))) => m.say_short(self.value(scenario, key)),
            _ => String::new(),
        }
    }

    /// `slow 4.7°, comfortable 4.4°, …`; words that are the same at each pace stand once.
    fn walks(&self, key: &str) -> String {
        let said = WALKS.map(|(scenario, _)| self.say(scenario, key));
        let words = WALKS.iter().all(|w| self.value(w.0, key).as_number().is_none());
        if words && said.iter().all(|s| *s == said[0]) {
            return format!("{} at each pace", said[0]);
        }
        let each: Vec<String> = WALKS.iter().zip(&said).map(|(w, s)| format!("{} {s}", w.1)).collect();
        each.join(", ")
    }

    /// The worst verdict on the limits on these outcomes in these scenarios, on all limits without a key.
    fn verdict(&self, scenarios: &[&str], keys: &[&str]) -> TrialVerdict {
        if scenarios.iter().any(|s| self.of(s).is_none()) {
            return TrialVerdict::Outside;
        }
        let limits = scenarios.iter().filter_map(|s| self.of(s)).flat_map(Assessment::binding);
        TrialVerdict::worst(limits.filter(|l| keys.is_empty() || keys.contains(&l.limit.outcome.as_str())))
    }

    /// [`Runs::say`] with `missing` for an outcome that is not reached.
    fn say_or(&self, scenario: &str, key: &str, missing: &str) -> String {
        match self.value(scenario, key) {
            Value::NotReached if self.of(scenario).is_some() => missing.into(),
            _ => self.say(scenario, key),
        }
    }

    /// A word over the band of the hip moment.
    fn hip_band(&self, scenario: &str, key: &str) -> String {
        let of = |end: &str| {
            METRICS
                .iter()
                .find(|m| m.key.strip_prefix(key) == Some(end))
                .map_or((Value::NotReached, String::new()), |m| {
                    (self.value(scenario, m.key), self.say(scenario, m.key))
                })
        };
        let (least, most) = (of("_at_least_hip_moment"), of("_at_most_hip_moment"));
        if least.0 == most.0 {
            format!("the same from a weak to a strong hip ({})", most.1)
        } else {
            format!("from a weak to a strong hip {} to {}: depends on hip strength too", least.1, most.1)
        }
    }

    /// ` (limit at least 40 ms before)`, from the first limit on an outcome that binds; for a target whether it is met.
    fn limit(&self, scenario: &str, key: &str) -> String {
        let limits = self.of(scenario).map_or(&[][..], |a| &a.limits);
        let of = |severity| limits.iter().find(|l| l.limit.outcome == key && l.limit.severity == severity);
        match (of(Severity::Limit), of(Severity::Target)) {
            (Some(l), _) => format!(" (limit {})", l.bounds()),
            (None, Some(t)) => format!(" (target {}: {} in {scenario})", t.bounds(), t.in_words()),
            (None, None) => String::new(),
        }
    }
}

const ALL_WALKS: [&str; 4] = ["walk-slow", "walk-comfortable", "walk-fast", "walk-hurried"];

/// The answers, in the order of a fitting session.
pub(super) fn answers(survey: &Survey, yields: &Result<Windows, SimError>) -> Vec<Answer> {
    let s = Runs(survey);
    let answers = vec![
        Answer {
            question: "What to rule out first",
            said:
                "What no setting mends (common practice): a socket that slips or hurts; length; alignment, a \
                   knee axis too far forward or back; a shoe with another heel or weight than the one it was \
                   aligned with; a flexion contracture that the socket does not take up; habit."
                    .into(),
            verdict: TrialVerdict::NoLimits,
        },
        standing(&s),
        catching(&s),
        Answer {
            question: "Does it let go in time at the slowest and the fastest real speed?",
            said: format!(
                "Under load it lets go, slow: {}; fast: {}. Peak flexion lost to a late release: {}{}.",
                s.say_or("walk-slow", "release_pct", "never"),
                s.say_or("walk-fast", "release_pct", "never"),
                s.walks("late_release_loss_deg"),
                s.limit("walk-slow", "late_release_loss_deg")
            ),
            verdict: s.verdict(&ALL_WALKS, &["late_release_loss_deg"]),
        },
        Answer {
            question: "Is heel rise like the sound side's?",
            said: format!(
                "Peak flexion {}; difference from able-bodied walking at that speed {}{}.",
                s.walks("peak_flexion_deg"),
                s.walks("peak_vs_able_bodied_deg"),
                s.limit("walk-comfortable", "peak_vs_able_bodied_deg")
            ),
            verdict: s.verdict(&ALL_WALKS, &["peak_flexion_deg", "peak_vs_able_bodied_deg"]),
        },
        hurried(&s),
        Answer {
            question: "How hard is the end knock?",
            said: format!(
                "Energy at full extension {}{}.",
                s.walks("terminal_energy_j"),
                s.limit("walk-fast", "terminal_energy_j")
            ),
            verdict: s.verdict(&ALL_WALKS, &["terminal_energy_j"]),
        },
        serving(&s, yields),
        bent(&s),
    ];
    answers.into_iter().map(|a| Answer { said: in_words(&a.said), ..a }).collect()
}

fn standing(s: &Runs) -> Answer {
    Answer {
        question: "Is standing safe, how far may slope or trunk tilt?",
        said: format!(
            "The load line passes {} in front of the knee axis: {} keep the knee straight. A slope down of {}, or a \
             trunk leaning back until the load lies that much further behind, takes them away; {} at the hip start \
             to bend the knee.",
            s.say("stand", "load_line_ahead_mm"),
            s.say("stand", "extension_moment_n_m"),
            s.say("stand", "slope_limit_deg"),
            s.say("stand", "hip_moment_to_bend_n_m")
        ),
        verdict: s.verdict(&["stand"], &[]),
    }
}

fn catching(s: &Runs) -> Answer {
    let setup = &s.0.setup;
    let weight_n = setup.person.mass_kg * G;
    let stance = &s.0.resolved.knee.stance;
    let sitting = match s.value("sit-down", "least_ground_load_bw") {
        Value::Number(bw) => format!("{:.0} N or more lie on it when sitting down", bw * weight_n),
        _ => "sitting down cannot be followed".into(),
    };
    let catches = match stance.trigger {
        Trigger::Load => format!(
            "It catches at {:.0} N, {:.0} % of body weight",
            stance.catch_load_n,
            100.0 * stance.catch_load_n / weight_n
        ),
        Trigger::Always => "Its stance resistance acts at any load".into(),
        Trigger::None => "It has no stance resistance".into(),
    };
    let supported = match s.value("sit-down", "supported") {
        Value::Word(OutcomeWord::Yes) => "the valve supports",
        Value::Word(_) => "the valve does not support",
        _ => "nothing is known",
    };
    Answer {
        question: "At what load does it catch, and does this person reach it, also when sitting?",
        said: format!(
            "{catches}. {sitting}: {supported}. After a stumble the valve is half closed: {}{}.",
            s.say_or("stumble", "support_after_ms", "never"),
            s.limit("stumble", "support_after_ms")
        ),
        verdict: s
            .verdict(&["stumble", "sit-down"], &["support_after_ms", "seat_speed_m_per_s", "sit_time_s"]),
    }
}

fn hurried(s: &Runs) -> Answer {
    Answer {
        question: "Is it straight before heel contact when hurried, by how much, and what happens if not?",
        said: format!(
            "Full extension, from heel contact: {}{}. Flexion at heel contact: {}. Landing: {}; hurried, {}.",
            s.walks("extension_margin_ms"),
            [("walk-comfortable", "limit"), ("walk-hurried", "limit, hurried,")]
                .map(|(scenario, word)| s.limit(scenario, "extension_margin_ms").replace("(limit", word))
                .map(|said| said.trim_end_matches(')').trim().to_owned())
                .into_iter()
                .filter(|said| !said.is_empty())
                .reduce(|a, b| format!("{a}; {b}"))
                .map_or_else(String::new, |both| format!(" ({both})")),
            s.walks("heel_contact_flexion_deg"),
            s.walks("landing"),
            s.hip_band("walk-hurried", "landing")
        ),
        verdict: s.verdict(&ALL_WALKS, &["extension_margin_ms", "heel_contact_flexion_deg", "landing"]),
    }
}

fn serving(s: &Runs, yields: &Result<Windows, SimError>) -> Answer {
    let of_yield = |w: &&SettingWindow| w.setting == SettingName::StanceYield;
    let range = match yields {
        Ok(windows) => windows.people.first().and_then(|c| c.settings.iter().find(of_yield)).map_or_else(
            || "This joint has no yield setting.".to_owned(),
            |w| w.sentence().replacen("stance-yield, set to", "Stance-yield, set to", 1),
        ),
        Err(why) => format!("No range of the yield setting can be found: {why}."),
    };
    Answer {
        question: "Does one yield setting serve chair, ramp and stairs, and if not, which gives way?",
        said: format!(
            "Chair: {}, ramp of 8°: {}, stairs: {}. {range}",
            s.say("sit-down", "sit_time_s"),
            s.say("ramp-down-8-deg", "what_happens"),
            s.say("stairs-down", "what_happens")
        ),
        verdict: s.verdict(&["sit-down", "ramp-down-8-deg", "stairs-down"], &[]),
    }
}

fn bent(s: &Runs) -> Answer {
    Answer {
        question: "What if the foot lands bent?",
        said: format!(
            "Landing bent by 15° after a stumble: {}, greatest flexion {}; {}.",
            s.say("stumble", "what_happens"),
            s.say("stumble", "max_flexion_deg"),
            s.hip_band("stumble", "what_happens")
        ),
        verdict: s.verdict(&["stumble"], &[]),
    }
}
