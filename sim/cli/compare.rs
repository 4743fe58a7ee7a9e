//! `kneedamp compare`.

use clap::Args;

use super::common::{Format, ReportOptions, SetupOptions};
use super::output::{Status, message};
use super::picture::PictureFile;
use super::progress::with_progress;
use super::variants;
use crate::case::setup::Setup;
use crate::case::variant::Variant;
use crate::error::SimError;
use crate::findings::{Cell, Findings, Table};
use crate::library::Library;
use crate::library::example;
use crate::scenario::Scenario;
use crate::study::compare::ComparisonStudy;
use crate::teaching::lessons::{LESSONS, Lesson, lesson};
use crate::words::{LANGUAGES, Words};

/// Examples:
///   kneedamp compare --a swing-flexion=0 --b swing-flexion=80
///   kneedamp compare --a "" --b temperature_c=0,foot_extra_mass_kg=0.5 --scenario walk-fast
///   kneedamp compare --a person=100-kg --b person=50-kg --c person=50-kg,catch-load=10 --scenario sit-down
///   kneedamp compare --lesson list
///   kneedamp compare --lesson 5 --plot cliff.svg
///
/// Puts two to four variants next to each other and says what a watcher would notice.
#[derive(Debug, Args)]
#[command(verbatim_doc_comment)]
pub struct Options {
    /// Variant that the others are compared with: KEY=VALUE,… or "" for the base as it is. Keys are inputs
    /// (swing-flexion … in percent of the model's range, mass_kg, temperature_c, …), person, prosthesis, knee
    #[arg(long, value_name = "KEY=VALUE,…", required_unless_present = "lesson", conflicts_with = "lesson")]
    pub a: Option<String>,
    /// Second variant
    #[arg(long, value_name = "KEY=VALUE,…", required_unless_present = "lesson", conflicts_with = "lesson")]
    pub b: Option<String>,
    /// Third variant
    #[arg(long, value_name = "KEY=VALUE,…", requires = "b", conflicts_with = "lesson")]
    pub c: Option<String>,
    /// Fourth variant
    #[arg(long, value_name = "KEY=VALUE,…", requires = "c", conflicts_with = "lesson")]
    pub d: Option<String>,
    /// Scenario by name or path; can be given several times [default: walk-comfortable]
    #[arg(long, value_name = "NAME|FILE", conflicts_with = "lesson")]
    pub scenario: Vec<String>,
    /// A ready-made comparison by number, or list
    #[arg(long, value_name = "NUMBER|list")]
    pub lesson: Option<String>,
    /// Draws the curves of all variants over each other; one file per scenario that moves
    #[arg(long, value_name = "FILE.svg|png")]
    pub plot: Option<PictureFile>,
    #[command(flatten)]
    pub setup: SetupOptions,
    #[command(flatten)]
    pub report: ReportOptions,
}

/// Runs the command.
///
/// # Errors
/// Bad input, or a failed run.
pub fn run(o: &Options) -> Result<Status, SimError> {
    let library = o.setup.library.open()?;
    match o.lesson.as_deref() {
        Some("list") if o.plot.is_some() => {
            Err(SimError::Usage("--plot draws a comparison: name a lesson by its number".into()))
        }
        Some("list") => {
            o.report.print(
                "compare",
                &o.setup.read(&library, &[])?,
                &lessons(Words::of(LANGUAGES[0].0)?, o.report.format),
            )?;
            Ok(Status::Done)
        }
        Some(number) => {
            let lesson = number.trim().parse().ok().and_then(lesson).ok_or_else(|| {
                SimError::Usage(format!("--lesson {number}: lessons are 1 to {}, or list", LESSONS.len()))
            })?;
            let written: Vec<_> = lesson.variants.iter().map(|v| ("--lesson", (*v).to_owned())).collect();
            let scenarios: Vec<_> = lesson.scenarios.iter().map(|s| (*s).to_owned()).collect();
            print_comparison(o, &library, &written, &scenarios, Some(lesson))
        }
        None => {
            let all = [("--a", &o.a), ("--b", &o.b), ("--c", &o.c), ("--d", &o.d)];
            let written: Vec<_> =
                all.into_iter().filter_map(|(name, v)| v.clone().map(|v| (name, v))).collect();
            let one = [example::SCENARIO.to_owned()];
            let scenarios = if o.scenario.is_empty() { &one[..] } else { &o.scenario[..] };
            print_comparison(o, &library, &written, scenarios, None)
        }
    }
}

fn print_comparison(
    o: &Options,
    library: &Library,
    written: &[(&str, String)],
    scenarios: &[String],
    lesson: Option<&Lesson>,
) -> Result<Status, SimError> {
    let scenarios: Vec<Scenario> = scenarios.iter().map(|n| library.scenario(n)).collect::<Result<_, _>>()?;
    let setup: Setup = o.setup.read(library, &scenarios)?;
    let variants: Vec<Variant> =
        written.iter().map(|(option, v)| variants::read(option, v, library)).collect::<Result<_, _>>()?;
    let study = ComparisonStudy { base: setup.clone(), variants, scenarios };
    let found = with_progress(study.steps(), |tick| study.run(tick))?;
    if found.nothing_ran() {
        for s in &found.scenarios {
            for e in s.runs.iter().filter_map(|r| r.as_ref().err()) {
                message(&format!("kneedamp: {}: {e}", s.scenario.name));
            }
        }
        return Ok(Status::Failed);
    }
    let for_people = o.report.format == Format::Table;
    let mut findings = if for_people { found.findings_for_people() } else { found.findings() };
    if let Some(l) = lesson {
        let words = Words::of(LANGUAGES[0].0)?;
        findings.text.splice(0..0, introduction(l, words, o));
        findings.text.push(format!("Why: {}", words.lesson(l.number, "why")));
        let consider = words.lesson(l.number, "consider");
        findings.text.push(format!("What a prosthetist would consider (common practice): {consider}"));
    }
    if let Some(file) = &o.plot {
        let mut plots = found.plots();
        if let Some(l) = lesson {
            let title = Words::of(LANGUAGES[0].0)?.lesson(l.number, "title");
            for plot in &mut plots {
                plot.subtitle = format!("{}. {}", plot.title, plot.subtitle);
                plot.title = format!("Lesson {}: {title}", l.number);
            }
        }
        file.write_plots(&plots)?;
    }
    o.report.print("compare", &setup, &findings)?;
    Ok(Status::Done)
}

/// The introduction of a lesson.
fn introduction(l: &Lesson, words: &Words, o: &Options) -> Vec<String> {
    let said = |what: &str| words.lesson(l.number, what);
    let mut text = vec![
        format!("Lesson {}: {}", l.number, said("title")),
        said("situation"),
        format!("What to watch: {}", said("watch")),
        format!("Guess first: {}", said("question")),
    ];
    text.extend(l.answers.iter().map(|a| format!("- {}", said(&format!("answers.{}.text", a.key)))));
    if !o.setup.is_default() {
        text.push(format!(
            "The lesson was made with {}; with others it need not show what it says.",
            words.text("lessons.made_with")
        ));
    }
    text
}

/// All lessons as findings.
fn lessons(words: &Words, format: Format) -> Findings {
    let columns =
        ["number", "title", "situation", "watch", "scenarios", "variants"].map(str::to_owned).to_vec();
    let row = |l: &Lesson| {
        vec![
            Cell::Number(f64::from(l.number), 0),
            Cell::text(words.lesson(l.number, "title")),
            Cell::text(words.lesson(l.number, "situation")),
            Cell::text(words.lesson(l.number, "watch")),
            Cell::text(l.scenarios.join(" ")),
            Cell::text(l.variants.join(" | ")),
        ]
    };
    if format == Format::Table {
        let line = |l: &Lesson| {
            let [title, situation] = ["title", "situation"].map(|what| words.lesson(l.number, what));
            format!("{} {title}. {situation} ({})", l.number, l.scenarios.join(", "))
        };
        return Findings { text: LESSONS.iter().map(line).collect(), ..Findings::default() };
    }
    let table = Table {
        key: "lessons".into(),
        title: "lessons".into(),
        columns,
        rows: LESSONS.iter().map(row).collect(),
    };
    Findings { tables: vec![table], ..Findings::default() }
}
