//! Everything that reads what a stranger may hand over, each with good inputs to start from.

use std::io::Write;
use std::sync::LazyLock;

use kneedamp::case::axis::Axis;
use kneedamp::case::variant::{Variant, parse};
use kneedamp::cli::call;
use kneedamp::library::measured::bench::Scale;
use kneedamp::library::measured::{bench, trace};
use kneedamp::library::table::Named;
use kneedamp::library::{Kind, Library, angles, check_text};
use kneedamp::report::recorded;
use kneedamp::serve::questions::{Answers, Question};
use kneedamp::study::next::{Grade, Observation};
use kneedamp::teaching::model_set::ModelSet;
use tempfile::NamedTempFile;

/// A reader and its seeds.
pub struct Target {
    pub name: &'static str,
    pub seeds: fn() -> Vec<String>,
    /// Whether the input was good.
    pub read: fn(&str) -> bool,
}

const NAME: &str = "fuzz";

fn files(kind: Kind) -> Vec<String> {
    let library = Library::default();
    library.names(kind).iter().map(|n| library.text(kind, n).expect("shipped").0).collect()
}

fn good_file(text: &str) -> bool {
    check_text(text, NAME).is_ok()
}

fn words(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|t| (*t).to_owned()).collect()
}

fn result() -> Vec<String> {
    let asked = ["run", "stand", "--format", "json"].map(str::to_owned);
    vec![call::answer(&asked).expect("runs").data]
}

static ANSWERS: LazyLock<Answers> =
    LazyLock::new(|| Answers::of(ModelSet::of(&Library::default()).expect("shipped")).expect("shipped"));

/// One range: more of them only make more runs.
static RANGES: LazyLock<NamedTempFile> = LazyLock::new(|| {
    let mut file = tempfile::Builder::new().suffix(".yaml").tempfile().expect("a file");
    let text = "kind: uncertainty\nname: one\nabout: one range\ninputs:\n- {input: temperature_c, low: 15, high: 40, why: test}\n";
    file.write_all(text.as_bytes()).expect("written");
    file
});

/// The name of a question, a line break, its body. Good questions of two kinds are left alone: their answers take
/// thousands of runs.
fn question(text: &str) -> bool {
    let (name, body) = text.split_once('\n').unwrap_or((text, ""));
    let short = |q: &Question| matches!(q, Question::Legs(_) | Question::Curve(_));
    Question::read(name, body.as_bytes()).is_ok_and(|q| !short(&q) || ANSWERS.to(&q).is_ok())
}

fn called(command: &[&str], last: &str) -> bool {
    let all: Vec<String> = command.iter().copied().chain([last]).map(str::to_owned).collect();
    call::answer(&all).is_ok()
}

/// All readers.
pub const TARGETS: &[Target] = &[
    Target { name: "knee", seeds: || files(Kind::Knee), read: good_file },
    Target { name: "person", seeds: || files(Kind::Person), read: good_file },
    Target { name: "prosthesis", seeds: || files(Kind::Prosthesis), read: good_file },
    Target { name: "drive", seeds: || files(Kind::Drive), read: good_file },
    Target { name: "scenario", seeds: || files(Kind::Scenario), read: good_file },
    Target { name: "uncertainty", seeds: || files(Kind::Uncertainty), read: good_file },
    Target { name: "result", seeds: result, read: |text| recorded::read(text, NAME).is_ok() },
    Target {
        name: "stride table",
        seeds: || {
            words(&[
                include_str!("../../../docs/examples/walk.csv"),
                "knee\nversion=1\nnRows=3\nnColumns=3\ninDegrees=yes\nendheader\ntime\tknee_deg\tthigh_deg\n0\t5\t10\n0.5\t60\t20\n1.1\t4\t11\n",
                "percent;knee_deg\n0;4,5\n50;30,25\n60;61\n100;5\n",
            ])
        },
        read: |text| trace::read(Named { name: NAME, text }, &[]).is_ok(),
    },
    Target {
        name: "bench table",
        seeds: || {
            words(&[
                include_str!("../../../docs/examples/damper.csv"),
                "rate_deg_per_s,torque_n_m\n100,3\n200,9\n300,20\n",
            ])
        },
        read: |text| bench::read(Named { name: NAME, text }, Scale { open: 0.0, closed: 100.0 }).is_ok(),
    },
    Target {
        name: "angles table",
        seeds: || {
            // the whole table is long: two of its users, twelve rows each
            let all = include_str!("../../reference/prosthesis_users_0p8.csv");
            let head = all.lines().take_while(|l| l.starts_with('#')).count() + 1;
            let part =
                |users: usize| all.lines().take(head + 12 * users).collect::<Vec<_>>().join("\n") + "\n";
            vec![part(1), part(2)]
        },
        read: |text| {
            let people = include_str!("../../reference/prosthesis_users_people.csv");
            angles::read::read(Named { name: NAME, text }, Named { name: "people", text: people }, &[])
                .is_ok()
        },
    },
    Target {
        name: "people table",
        seeds: || words(&[include_str!("../../reference/prosthesis_users_people.csv")]),
        read: |text| angles::people::read_people(Named { name: NAME, text }).is_ok(),
    },
    Target {
        name: "axis",
        seeds: || {
            words(&[
                "swing-flexion=0:100:10",
                "mass_kg=50,75,100",
                "catch-load=0..100",
                "temperature_c=-10:40:0.5",
            ])
        },
        read: |text| Axis::parse(text).is_ok(),
    },
    Target {
        name: "variant",
        seeds: || {
            words(&[
                "swing-flexion=80, person=50-kg",
                "mass_kg=60,stature_m=1.7,speed_m_per_s=1.3",
                "knee=constant-friction",
            ])
        },
        read: |text| parse(text).is_ok() && Variant::of_values(text).is_ok(),
    },
    Target {
        name: "settings",
        seeds: || {
            words(&[
                "swing-flexion=40",
                "swing-flexion=40,stance-yield=10.5",
                "catch-load=0,swing-extension=100",
            ])
        },
        read: |text| {
            let asked = ["sweep", "mass_kg=75", "--scenario", "stand", "--set", text].map(str::to_owned);
            call::rows(&asked).is_ok()
        },
    },
    Target {
        name: "command line",
        seeds: || {
            words(&[
                "sweep mass_kg=60,70 --scenario stand --shard 1/2",
                "sweep swing-flexion=0..100 --samples 10 --seed 3 --outcomes peak_flexion_deg --batch",
                "sweep temperature_c=0:40:10 --person 50-kg --mass 60 --foot-shift 5 --speed 1.2 --knee built-in",
            ])
        },
        read: |text| {
            // no files beside the built-in ones: a text may not lead to one
            let plain = |w: &&str| !w.contains('/') && !w.contains('\\') && !w.contains(".y");
            let asked: Vec<String> = text.split_whitespace().filter(plain).map(str::to_owned).collect();
            call::rows(&asked).is_ok()
        },
    },
    Target {
        name: "map",
        seeds: || words(&["swing-flexion,swing-extension", "stance-yield,catch-load"]),
        read: |text| called(&["window", "stand", "--grid", "2", "--map"], text),
    },
    Target {
        name: "population",
        seeds: || words(&["mass_kg=60..90", "foot_shift_m=-0.01..0.01", "stature_m=1.6..1.9"]),
        read: |text| {
            let ranges = RANGES.path().to_str().expect("UTF-8");
            called(
                &["uncertainty", "--scenario", "stand", "--samples", "8", "--ranges", ranges, "--vary"],
                text,
            )
        },
    },
    Target {
        name: "observation",
        seeds: || {
            words(&["knee-late-straight:clear@walk-fast", "knee-late-straight", "knee-late-straight:none"])
        },
        read: |text| Observation::parse(text, Grade::Seen).is_ok(),
    },
    Target {
        name: "question",
        seeds: || {
            words(&[
                "answer\n{\"scenario\":\"stand\",\"legs\":[\"\",\"swing-flexion=30\"]}",
                "answer\n{\"scenario\":\"stand\",\"legs\":[\"person=50-kg,mass_kg=60\"],\"lang\":\"de\"}",
                "result\n{\"of\":\"lesson\",\"number\":99}",
                "curve\n{\"scenario\":\"stand\",\"leg\":\"\",\"table\":\"percent,knee_deg\\n0,5\\n100,5\\n\",\"later_pct\":3}",
                "next\n{\"scenario\":\"stand\",\"leg\":\"\",\"seen\":[\"knee-late-straight\"]}",
            ])
        },
        read: question,
    },
];
