//! A session and an examination as findings: the log in words, the same as a table for data.

use super::search::Best;
use super::seen::{Examination, Move, Standing, Worked};
use super::session::{Came, Change, End, Entry, Session, Unmended, said};
use super::trials::{Danger, Look, MISSED};
use crate::findings::{Cell, Findings, Table};
use crate::joint::SettingName;
use crate::outcome::{Value, metric};
use crate::scenario::Scenario;

/// A session, its scenarios and the best that a search found, if there was one.
#[derive(Debug)]
pub struct Report<'a> {
    /// Scenarios, in the order of [`Session::looks`].
    pub scenarios: &'a [Scenario],
    /// Session.
    pub session: &'a Session,
    /// Best found.
    pub best: Option<&'a Best>,
}

fn count(n: usize, what: &str) -> String {
    if n == 1 { format!("{n} {what}") } else { format!("{n} {what}s") }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

impl Report<'_> {
    /// As findings; with the log as a table of every step, or, for people, in words alone.
    #[must_use]
    pub fn findings(&self, with_log: bool) -> Findings {
        let s = self.session;
        let mut text = vec![
            format!("A fitting session in simulation, with an invented person. It starts at {}.", s.start),
            "A trial is one run of one scenario. It is unsafe if the knee gives way, if a landing or stumble is \
             doubtful, if the person drops into the chair, or if the stance valve never supports."
                .to_owned(),
        ];
        text.extend(narrated(&s.entries));
        text.push(self.ending());
        text.extend(self.gap());
        text.extend(s.unmended.iter().map(|u| self.cannot_mend(u)));
        if !s.unmended.is_empty() {
            text.push("Where no setting mends it, a prosthetist looks at assist spring, extension stop, alignment, or another joint.".to_owned());
        }
        let mut tables = Vec::new();
        if with_log {
            tables.push(log(&s.entries));
        }
        tables.extend([self.settings(), self.closest(), self.counts()]);
        Findings { text, tables, plots: vec![] }
    }

    fn ending(&self) -> String {
        let s = self.session;
        let how = match s.ended {
            End::AllRight => "Everything looked at is right",
            End::NothingHelps => "The session ends: something is not right, and no rule of thumb helps",
            End::OutOfTrials => "The session is broken off: no trial is left",
        };
        let reasons: Vec<String> = Danger::ALL
            .into_iter()
            .filter_map(|d| s.unsafe_by.get(&d).map(|n| format!("{} {n}", d.as_str())))
            .collect();
        let reasons = if reasons.is_empty() { String::new() } else { format!(" ({})", reasons.join(", ")) };
        format!(
            "{how}. What the model shows: {}, after {}, {} of them unsafe{reasons}; {}, {} of them kept.",
            s.end,
            count(s.trials, "trial"),
            s.unsafe_trials(),
            count(s.steps, "step"),
            s.kept_steps,
        )
    }

    fn gap(&self) -> Option<String> {
        let best = self.best?;
        let worst = self.session.worst();
        let gap = best.worst - worst;
        let holds = if best.worst >= 0.0 {
            "there, every limit holds"
        } else {
            "not even there does every limit hold: with these limits no setting is right for everything"
        };
        Some(format!(
            "Worst relative margin {worst:.2} ({}); the best setting that a search over the whole range finds \
             reaches {:.2} ({}) at {}; {holds}. The gap is {gap:.2}.",
            self.limiting(&self.session.looks),
            best.worst,
            self.limiting(&best.looks),
            best.at,
        ))
    }

    /// The limit that limits, with its scenario.
    fn limiting(&self, looks: &[Look]) -> String {
        let worst = self.scenarios.iter().zip(looks).min_by(|a, b| a.1.worst().total_cmp(&b.1.worst()));
        worst.map_or_else(String::new, |(scenario, look)| match look.closest() {
            Some(l) => {
                let m = metric(&l.limit.outcome);
                format!(
                    "{}: {}",
                    scenario.name,
                    m.map_or_else(String::new, |m| format!("{} {}", m.label, m.say(l.value)))
                )
            }
            None => format!("{}: cannot be followed", scenario.name),
        })
    }

    fn cannot_mend(&self, u: &Unmended) -> String {
        let name = &self.scenarios[u.scenario].name;
        let tried = if u.tried.is_empty() {
            String::new()
        } else {
            format!(" Tried from here: {}.", u.tried.join("; "))
        };
        let at_best = self.best.and_then(|b| {
            let limit = b.looks[u.scenario].binding().find(|l| l.limit == u.limit)?;
            Some(if limit.holds() {
                " At the best setting found it holds, at a price elsewhere or out of reach of single steps."
                    .to_owned()
            } else {
                format!(" At the best setting found it is broken too ({}).", said(limit))
            })
        });
        let otherwise = u.symptom.map_or_else(
            || "No rule of thumb is about it.".to_owned(),
            |s| format!("Look at: {}.", s.otherwise.join("; ")),
        );
        format!("Cannot mend: {name}: {}.{tried}{} {otherwise}", u.seen, at_best.unwrap_or_default())
    }

    fn settings(&self) -> Table {
        let s = self.session;
        let rows = SettingName::ALL
            .into_iter()
            .filter(|n| s.end.pct(*n).is_some())
            .map(|n| {
                vec![
                    Cell::text(n.as_str()),
                    Cell::number(s.start.pct(n), 0),
                    Cell::number(s.end.pct(n), 0),
                    Cell::number(self.best.and_then(|b| b.at.pct(n)), 0),
                ]
            })
            .collect();
        Table {
            key: "settings".into(),
            title: "Settings, percent of this model's range; match no mark on any joint".into(),
            columns: ["setting", "start_pct", "end_pct", "best_found_pct"].map(str::to_owned).to_vec(),
            rows,
        }
    }

    fn closest(&self) -> Table {
        let side = |look: Option<&Look>| -> [Cell; 3] {
            match look.map(|l| (l.closest(), l.worst())) {
                Some((Some(l), worst)) => {
                    let m = metric(&l.limit.outcome);
                    [
                        Cell::text(m.map_or("", |m| m.key)),
                        Cell::text(m.map_or_else(String::new, |m| m.say(l.value))),
                        Cell::number(Some(worst).filter(|w| w.is_finite()), 2),
                    ]
                }
                Some((None, w)) if w <= MISSED => {
                    [Cell::text("cannot be followed"), Cell::Empty, Cell::Number(w, 2)]
                }
                _ => [Cell::Empty, Cell::Empty, Cell::Empty],
            }
        };
        let rows = self
            .scenarios
            .iter()
            .enumerate()
            .map(|(i, scenario)| {
                let mut row = vec![Cell::text(&scenario.name)];
                row.extend(side(self.session.looks.get(i)));
                row.extend(side(self.best.and_then(|b| b.looks.get(i))));
                row
            })
            .collect();
        Table {
            key: "closest_limits".into(),
            title: "Closest limit of each scenario, at the end of the session and at the best setting found"
                .into(),
            columns: [
                "scenario",
                "closest_limit",
                "value",
                "margin",
                "best_closest_limit",
                "best_value",
                "best_margin",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows,
        }
    }

    fn counts(&self) -> Table {
        #[allow(clippy::cast_precision_loss)] // counts
        let number = |n: usize| Cell::Number(n as f64, 0);
        let s = self.session;
        let mut rows = vec![
            vec![Cell::text("trials"), number(s.trials)],
            vec![Cell::text("unsafe trials"), number(s.unsafe_trials())],
        ];
        rows.extend(Danger::ALL.into_iter().map(|d| {
            vec![
                Cell::Text(format!("unsafe: {}", d.as_str())),
                number(s.unsafe_by.get(&d).copied().unwrap_or(0)),
            ]
        }));
        rows.extend([
            vec![Cell::text("steps"), number(s.steps)],
            vec![Cell::text("steps kept"), number(s.kept_steps)],
            vec![Cell::text("worst relative margin at the end"), Cell::number(Some(s.worst()), 3)],
            vec![
                Cell::text("worst relative margin of the best found"),
                Cell::number(self.best.map(|b| b.worst), 3),
            ],
            vec![Cell::text("gap"), Cell::number(self.best.map(|b| b.worst - s.worst()), 3)],
            vec![Cell::text("positions searched"), self.best.map_or(Cell::Empty, |b| number(b.positions))],
        ]);
        Table {
            key: "counts".into(),
            title: "Counts".into(),
            columns: ["what", "value"].map(str::to_owned).to_vec(),
            rows,
        }
    }
}

/// The log in sentences; steps that follow the same rule and are kept stand in one.
fn narrated(entries: &[Entry]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut explained: Vec<&str> = Vec::new();
    let mut i = 0;
    while i < entries.len() {
        let first = &entries[i];
        let mut last = first;
        let mut steps = first.change.map_or(0, |c| c.steps);
        while let Some(next) = entries.get(i + 1).filter(|next| goes_on(last, next)) {
            steps += next.change.map_or(0, |c| c.steps);
            last = next;
            i += 1;
        }
        let news = first.symptom.is_some_and(|s| !explained.contains(&s.name));
        explained.extend(first.symptom.map(|s| s.name));
        out.push(sentence(out.len() + 1, [first, last], steps, news));
        i += 1;
    }
    out
}

fn goes_on(a: &Entry, b: &Entry) -> bool {
    let turn = |e: &Entry| e.change.map(|c| c.turn);
    a.came == Came::Kept
        && b.came == Came::Kept
        && a.activity == b.activity
        && a.symptom == b.symptom
        && turn(a) == turn(b)
}

fn sentence(number: usize, [first, last]: [&Entry; 2], steps: usize, explain: bool) -> String {
    let mut out = format!("{number}. {}: ", first.activity);
    let seen = |e: &Entry| if e.seen.is_empty() { String::new() } else { format!(" ({})", e.seen) };
    match (&first.came, first.symptom) {
        (Came::Right, _) => {
            let closest =
                if first.seen.is_empty() { String::new() } else { format!("; closest is {}", first.seen) };
            out += &format!("right{closest}.");
        }
        (Came::CannotRun(why), _) => out += &format!("cannot be followed here: {why}."),
        (_, Some(s)) => {
            out += &format!("{}{}.", s.seen, seen(first));
            if explain {
                out += &format!(" It can mean: {}.", s.means);
            }
        }
        (_, None) => out += &format!("not right{}, and no rule of thumb is about it.", seen(first)),
    }
    if let (Some(c), Some(end)) = (first.change, last.change) {
        out += &turned(c, end, steps);
    }
    match &last.came {
        Came::Right | Came::CannotRun(_) => {}
        Came::Kept => out += " Kept: what was right is right.",
        Came::Compromise(what) => {
            out += &format!(" Kept as a compromise: the worst is better, though now {what}.");
        }
        Came::BackedOut(why) => out += &format!(" Backed out: {why}."),
        Came::Unmended(why) if why.is_empty() => out += " Left as it is: no setting acts on it.",
        Came::Unmended(why) => out += &format!(" Left as it is: {why}."),
    }
    format!("{out} [{}, {} unsafe]", count(last.trials, "trial"), last.unsafe_trials)
}

fn turned(first: Change, last: Change, steps: usize) -> String {
    format!(
        " Turned: {} {:.0} → {:.0} % ({}): {}.",
        first.turn.setting,
        first.from_pct,
        last.to_pct,
        count(steps, "step"),
        first.turn.why
    )
}

fn log(entries: &[Entry]) -> Table {
    let rows = entries
        .iter()
        .map(|e| {
            let (came, why) = match &e.came {
                Came::Right => ("right", ""),
                Came::Kept => ("kept", ""),
                Came::Compromise(w) => ("compromise", w.as_str()),
                Came::BackedOut(w) => ("backed out", w.as_str()),
                Came::Unmended(w) => ("left as it is", w.as_str()),
                Came::CannotRun(w) => ("cannot be followed", w.as_str()),
            };
            let c = e.change;
            #[allow(clippy::cast_precision_loss)] // counts
            let number = |n: usize| Cell::Number(n as f64, 0);
            vec![
                number(e.round),
                Cell::text(&e.activity),
                e.symptom.map_or(Cell::Empty, |s| Cell::text(s.name)),
                Cell::text(&e.seen),
                e.symptom.map_or(Cell::Empty, |s| Cell::text(s.means)),
                c.map_or(Cell::Empty, |c| Cell::text(c.turn.setting.as_str())),
                Cell::number(c.map(|c| c.from_pct), 1),
                Cell::number(c.map(|c| c.to_pct), 1),
                c.map_or(Cell::Empty, |c| number(c.steps)),
                c.map_or(Cell::Empty, |c| Cell::text(c.turn.why)),
                Cell::text(came),
                Cell::text(why),
                number(e.trials),
                number(e.unsafe_trials),
            ]
        })
        .collect();
    Table {
        key: "log".into(),
        title: "Log".into(),
        columns: [
            "round",
            "activity",
            "symptom",
            "seen",
            "means",
            "setting",
            "from_pct",
            "to_pct",
            "steps",
            "why",
            "result",
            "because",
            "trials",
            "unsafe_trials",
        ]
        .map(str::to_owned)
        .to_vec(),
        rows,
    }
}

/// Examinations as findings; with every move as a table, or, for people, in words alone.
#[must_use]
pub fn examined(all: &[Examination], with_table: bool) -> Findings {
    let mut text = Vec::new();
    for e in all {
        let s = e.symptom;
        text.push(format!("{}: {}.", s.name.to_uppercase(), s.seen));
        text.push(format!("Rule out first: {}.", s.first.join("; ")));
        text.push(match &e.standing {
            Standing::Shown(where_) => format!("The model shows it for this person with these settings: {}.", where_.join("; ")),
            Standing::NotShown(near) => format!(
                "The model does not show it for this person with these settings{}: look elsewhere first. What the \
                 settings would do is said all the same.",
                near.as_ref().map_or_else(String::new, |n| format!(" (nearest: {n})"))
            ),
            Standing::NotLookedFor => "None of the scenarios run has such an activity: nothing can be said.".to_owned(),
        });
        text.extend(e.moves.chunks(2).map(|moves| rule(e, moves)));
        let settled = e.moves.iter().any(|m| m.worked == Worked::Mends && m.breaks.is_empty());
        let begin = if settled {
            "If it is not a damper problem after all"
        } else {
            "Not a damper problem, or not one that a setting mends alone"
        };
        text.push(format!("{begin}: {}.", s.otherwise.join("; ")));
    }
    let tables = if with_table { vec![moves(all)] } else { vec![] };
    Findings { text, tables, plots: vec![] }
}

/// A rule of thumb with its moves: one step, several.
fn rule(e: &Examination, moves: &[Move]) -> String {
    let turn = moves[0].turn;
    let mut out = format!("{} {}, because {}: ", capital(turn.setting.as_str()), turn.way.as_str(), turn.why);
    if moves.iter().all(|m| m.worked == Worked::NoRoom) {
        return out + "no room, the setting is at the end of its range or this knee has none.";
    }
    let m = e.target.as_ref().and_then(|t| metric(t.1));
    let say = |v: Value| m.map_or_else(String::new, |m| m.say(v));
    let begin = e
        .target
        .as_ref()
        .map_or_else(String::new, |t| format!("{} in {} is {}", m.map_or("", |m| m.label), t.0, say(t.2)));
    out += &begin;
    for m in moves {
        let to = m.pct.map_or_else(String::new, |[_, to]| format!(" ({to:.0} %)"));
        out += &format!(", after {}{to} {}: {}", count(m.steps, "step"), say(m.after), m.worked.as_str());
        if !m.breaks.is_empty() {
            out += &format!(", but breaks {}", m.breaks.join("; "));
        }
    }
    out + "."
}

fn moves(all: &[Examination]) -> Table {
    let value = |v: Value| match v {
        Value::Number(x) => Cell::Number(x, 2),
        Value::Word(w) => Cell::text(w),
        Value::NotReached => Cell::Empty,
    };
    let mut rows = Vec::new();
    for e in all {
        for m in &e.moves {
            #[allow(clippy::cast_precision_loss)] // a handful
            let steps = Cell::Number(m.steps as f64, 0);
            rows.push(vec![
                Cell::text(e.symptom.name),
                Cell::text(if e.shown() { "true" } else { "false" }),
                Cell::text(m.turn.setting.as_str()),
                Cell::text(m.turn.way.as_str()),
                steps,
                Cell::number(m.pct.map(|p| p[0]), 1),
                Cell::number(m.pct.map(|p| p[1]), 1),
                e.target.as_ref().map_or(Cell::Empty, |t| Cell::text(&t.0)),
                e.target.as_ref().map_or(Cell::Empty, |t| Cell::text(t.1)),
                e.target.as_ref().map_or(Cell::Empty, |t| value(t.2)),
                value(m.after),
                Cell::text(m.worked.as_str()),
                Cell::Text(m.breaks.join("; ")),
            ]);
        }
    }
    Table {
        key: "moves".into(),
        title: "Moves".into(),
        columns: [
            "symptom", "shown", "setting", "way", "steps", "from_pct", "to_pct", "scenario", "outcome",
            "before", "after", "result", "breaks",
        ]
        .map(str::to_owned)
        .to_vec(),
        rows,
    }
}
