//! A comparison in sentences: what is compared, then per scenario what a watcher would notice.

use super::{Comparison, LETTERS, Scene};
use crate::case::variant::{Change, Variant};
use crate::outcome::{Assessment, TrialVerdict};
use crate::study::observation::noticed;

impl Comparison {
    /// The base, the variants, then scenario by scenario A alone and each other against A.
    pub(super) fn text(&self) -> Vec<String> {
        let named = |(i, v): (usize, &Variant)| {
            let said: Vec<String> = v.changes.iter().map(Change::said).collect();
            let said = if said.is_empty() { "as it is".to_owned() } else { said.join(", ") };
            format!("{}: {said}", LETTERS[i])
        };
        let mut text = self.base_said();
        text.extend(self.variants.iter().enumerate().map(named));
        text.extend(self.scenes.iter().flat_map(scene_text));
        text
    }

    /// The base that the variants change.
    fn base_said(&self) -> Vec<String> {
        match self.base.resolve() {
            Ok(r) => vec![format!("{}; {}.", self.base.said_models(&r), r.said_settings())],
            Err(_) => vec![],
        }
    }
}

/// What a scenario shows: verdict of A, then each other variant against A; notes and failures.
fn scene_text(scene: &Scene) -> Vec<String> {
    let name = &scene.scenario.name;
    let mut text = Vec::new();
    for (i, run) in scene.runs.iter().enumerate() {
        match run {
            Err(e) => text.push(format!("{name}, {}: {e}.", LETTERS[i])),
            Ok(r) => {
                let sentence = match (i, &scene.runs[0]) {
                    (0, _) | (_, Err(_)) => format!("{name}, {}: {}", LETTERS[i], state(&r.assessment)),
                    (_, Ok(a)) => {
                        format!("{name}, {} against A: {}", LETTERS[i], noticed(&a.assessment, &r.assessment))
                    }
                };
                text.push(sentence);
                text.extend(r.notes.iter().map(|n| format!("{name}, {}, note: {n}.", LETTERS[i])));
            }
        }
    }
    text
}

/// What is seen of one variant alone.
fn state(a: &Assessment) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for l in a.binding().filter(|l| !l.holds()) {
        if !seen.contains(&l.seen()) {
            seen.push(l.seen());
        }
    }
    match (a.verdict(), seen.as_slice()) {
        (TrialVerdict::NoLimits, _) => "no limits to hold it against.".into(),
        (_, []) => "within all limits.".into(),
        (_, seen) => format!("what would be seen: {}.", seen.join("; ")),
    }
}
