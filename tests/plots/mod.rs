//! Plots as SVG: well formed, readable, told apart in grey, and the picture of the documents up to date.

use approx::assert_abs_diff_eq;
use std::collections::BTreeSet;
use std::path::PathBuf;

use roxmltree::{Document, Node};

use crate::commands::{kneedamp, refused, stdout};
use crate::common::{library, trial};
use kneedamp::CAUTION_SHORT;
use kneedamp::findings::{Band, Mark, Panel, Plot, Series};
use kneedamp::library::Kind;
use kneedamp::report::plot::svg;
use kneedamp::study::survey::plot;

/// Canvas units per pixel.
const SCALE: f64 = 10.0;
/// Width of curves on the canvas.
const CURVE: &str = "22";

fn scenario_plot(name: &str) -> Option<Plot> {
    let trial = trial(name);
    plot::plot(&trial, &trial.run().expect("runs"))
}

/// Names of all scenarios that move.
fn moving() -> Vec<String> {
    library().names(Kind::Scenario).into_iter().filter(|n| n != "stand").collect()
}

/// Text of the elements, with ordinary spaces.
fn texts(document: &Document) -> Vec<String> {
    let all = document.descendants().filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "text")));
    all.map(|n| n.text().expect("text").trim().replace('\u{a0}', " ")).collect()
}

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).and_then(|v| v.parse().ok()).unwrap_or_else(|| panic!("{name} is a number"))
}

/// Space of a text for a usual font: left, right, middle, height.
fn space(node: Node) -> (f64, f64, f64, f64) {
    let (x, y, size) = (number(node, "x"), number(node, "y"), number(node, "font-size"));
    let width = 0.52 * size * node.text().expect("text").trim().chars().count() as f64;
    let (left, middle) = match (node.attribute("text-anchor"), node.attribute("dy")) {
        (Some("start"), dy) => (x, dy),
        (Some("end"), dy) => (x - width, dy),
        (_, dy) => (x - width / 2.0, dy),
    };
    let down = match middle {
        Some("0.5ex") => 0.0,
        Some("0.76em") => 0.4 * size,
        _ => -0.4 * size,
    };
    (left, left + width, y + down, 0.8 * size)
}

fn check_texts(name: &str, document: &Document) {
    let all: Vec<Node> = document.descendants().filter(|n| n.tag_name().name() == "text").collect();
    let width = number(document.root_element(), "width") * SCALE;
    for (i, a) in all.iter().enumerate() {
        let (left, right, y, height) = space(*a);
        let said = a.text().expect("text").trim();
        assert!(left >= 0.0 && right <= width, "{name}: '{said}' leaves the picture");
        // 9 pt where the picture is as wide as A5, 148 mm
        assert!(number(*a, "font-size") / width * 148.0 / 25.4 * 72.0 >= 9.0, "{name}: '{said}' is small");
        for b in &all[i + 1..] {
            let (l, r, v, h) = space(*b);
            let apart = right <= l || r <= left || (y - v).abs() >= 0.5 * (height + h);
            assert!(apart, "{name}: '{said}' and '{}' overlap", b.text().expect("text").trim());
        }
    }
}

#[test]
fn plots_of_every_scenario_but_standing() {
    assert!(scenario_plot("stand").is_none());
    for name in moving() {
        let plot = scenario_plot(&name).unwrap_or_else(|| panic!("{name} has a plot"));
        let text = svg(&plot).expect("draws");
        let document = Document::parse(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
        let root = document.root_element();
        let (w, h) = (number(root, "width"), number(root, "height"));
        let canvas = format!("0 0 {} {}", w * SCALE, h * SCALE);
        assert_eq!(root.attribute("viewBox"), Some(canvas.as_str()), "{name}");
        assert!(h <= 1.5 * w, "{name}: fits a page");
        assert!(!text.contains("NaN") && !text.contains("inf,"), "{name}");
        let said = texts(&document);
        let labels =
            plot.panels.iter().map(|p| p.y_label.as_str()).chain([plot.x_label.as_str(), CAUTION_SHORT]);
        for label in labels.chain(plot.instants.iter().map(|i| i.1.as_str())) {
            assert!(said.iter().any(|t| t == label), "{name}: no '{label}'");
        }
        assert_eq!(plot.panels.len(), 4, "{name}");
        assert!(plot.subtitle.contains(&name) && plot.subtitle.contains("75 kg"), "{}", plot.subtitle);
        check_texts(&name, &document);
    }
}

/// A knee that is not straight at heel contact is followed further, and the axis says what that means.
#[test]
fn plots_of_a_late_stride_go_on_past_heel_contact() {
    let mut late = trial("walk-fast");
    let mut settings = kneedamp::Settings::default();
    let closed = kneedamp::units::Setting::from_pct("swing-extension", 90.0).expect("0 to 100");
    settings.set(kneedamp::SettingName::SwingExtension, closed);
    late.knee = library().knee("built-in").expect("shipped").resolve(&settings, None).expect("resolves");
    for (trial, reach) in [(trial("walk-fast"), 100.0), (late, 115.0)] {
        let plot = plot::plot(&trial, &trial.run().expect("runs")).expect("moves");
        let end = |panel: usize| plot.panels[panel].series[0].points.last().expect("points").0;
        assert!((end(0) - reach).abs() < 0.2, "{}", end(0));
        assert!(end(3) <= 100.0, "the ground load is not known beyond heel contact");
        assert_eq!(plot.x_label.contains("still in the air"), reach > 100.0);
        check_texts("late", &Document::parse(&svg(&plot).expect("draws")).expect("well formed"));
    }
}

/// What a stride is held against in the outcomes is what its plot marks.
#[test]
fn plots_of_a_stride_mark_its_outcomes() {
    let trial = trial("walk-comfortable");
    let motion = trial.run().expect("runs");
    let outcomes = kneedamp::Outcomes::of(&motion);
    let plot = plot::plot(&trial, &motion).expect("moves");
    let marks = &plot.panels[0].marks;
    let value = |key: &str| outcomes.number(key).expect("a number");
    assert_abs_diff_eq!(marks[0].at.0, value("peak_flexion_pct"), epsilon = 1e-9);
    assert_abs_diff_eq!(marks[0].at.1, value("peak_flexion_deg"), epsilon = 1e-9);
    assert_abs_diff_eq!(marks[1].at.0, value("full_extension_pct"), epsilon = 1e-9);
    assert_abs_diff_eq!(marks[2].at.1, value("heel_contact_flexion_deg"), epsilon = 1e-9);
    assert_abs_diff_eq!(plot.instants[0].0, value("release_pct"), epsilon = 1e-9);
    // torque before pre-swing is what holds the knee straight: not drawn
    let first = plot.panels[2].series.iter().flat_map(|s| &s.points).map(|p| p.0).fold(f64::MAX, f64::min);
    assert!(first > 30.0 && first < plot.instants[0].0, "{first}");
    let named: Vec<&str> = plot.panels[2].series.iter().map(|s| s.label.as_str()).collect();
    assert_eq!(named, ["damper", "friction", "stop", "assist", "ground and hip"]);
}

fn wave(shift: f64) -> Vec<(f64, f64)> {
    (0..=200).map(|i| f64::from(i) * 0.05).map(|x| (x, (x + shift).sin())).collect()
}

/// Eight curves, bands, marks close together and instants close together.
fn crowded() -> Plot {
    let series = (0..8).map(|i| Series { label: format!("curve {i}"), points: wave(0.3 * f64::from(i)) });
    let marks = [2.0_f64, 2.1, 2.2, 9.9].map(|x| Mark { label: format!("mark {x}"), at: (x, x.sin()) });
    let points = wave(0.0).into_iter().map(|(x, y)| (x, y - 0.2, y + 0.1)).collect();
    let panel = Panel {
        y_label: "Height <h> & depth (m)".into(),
        series: series.collect(),
        marks: marks.to_vec(),
        bands: vec![Band { label: "mean ± SD".into(), points, around: 0 }],
        height: 1.5,
        ..Panel::default()
    };
    Plot {
        key: "crowded".into(),
        title: "Crowded & \"busy\" <plot>".into(),
        subtitle: "An input of 5 %, and another one that goes on for longer than a line: ".repeat(3),
        x_label: "Time (s)".into(),
        instants: [0.0, 0.2, 0.3, 5.0, 9.0, 9.5, 10.0].map(|x| (x, format!("instant {x}"))).to_vec(),
        panels: vec![panel],
        ..Plot::default()
    }
}

/// Colour and dashes of every curve drawn, the legend's samples among them.
fn looks(document: &Document) -> Vec<(String, String)> {
    let curves = document.descendants().filter(|n| n.attribute("stroke-width") == Some(CURVE));
    curves
        .map(|n| {
            assert_eq!(n.tag_name().name(), "polyline");
            let read = |name| n.attribute(name).unwrap_or("solid").to_owned();
            (read("stroke"), read("stroke-dasharray"))
        })
        .collect()
}

#[test]
fn plots_tell_curves_apart_by_colour_and_by_dashes() {
    let text = svg(&crowded()).expect("draws");
    let document = Document::parse(&text).expect("well formed");
    let found = looks(&document);
    assert_eq!(found.len(), 16, "a curve and a sample each");
    let pairs: BTreeSet<_> = found.iter().cloned().collect();
    let colours: BTreeSet<_> = found.iter().map(|l| &l.0).collect();
    let dashes: BTreeSet<_> = found.iter().map(|l| &l.1).collect();
    assert_eq!([pairs.len(), colours.len(), dashes.len()], [8, 8, 8]);
    check_texts("crowded", &document);
    assert!(texts(&document).iter().any(|t| t == "Height <h> & depth (m)"));
}

#[test]
fn plots_leave_a_gap_where_a_value_is_missing() {
    let curve = |points| {
        let panel = Panel { series: vec![Series { label: "a".into(), points }], ..Panel::default() };
        Plot { panels: vec![panel], ..Plot::default() }
    };
    let count = |plot: &Plot| looks(&Document::parse(&svg(plot).expect("draws")).expect("well formed")).len();
    let whole = curve(wave(0.0));
    let mut broken = whole.clone();
    broken.panels[0].series[0].points[100].1 = f64::NAN;
    assert_eq!([count(&whole), count(&broken)], [2, 3]);
    for nothing in [Plot::default(), curve(vec![]), curve(vec![(0.0, f64::NAN)])] {
        assert!(svg(&nothing).expect_err("nothing to draw").to_string().contains("nothing to draw"));
    }
    // a single point and a level curve have axes too
    for little in [curve(vec![(1.0, 2.0)]), curve(vec![(0.0, -3.0), (1.0, -3.0)])] {
        Document::parse(&svg(&little).expect("draws")).expect("well formed");
    }
    let mut many = crowded();
    many.panels[0].series.push(Series { label: "ninth".into(), points: wave(0.0) });
    assert!(svg(&many).expect_err("too many").to_string().contains("more than 8 curves"));
}

#[test]
fn plots_are_written_whole_or_not_at_all() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    for (args, said) in [
        (vec!["run", "walk-fast", "--plot", &path("a.gif")], "must end in .svg"),
        (vec!["run", "walk-fast", "--plot", &path("svg")], "must end in .svg"),
        (vec!["compare", "--lesson", "list", "--plot", &path("a.svg")], "name a lesson"),
        (
            vec!["compare", "--a", "", "--b", "", "--scenario", "stand", "--plot", &path("a.svg")],
            "nothing that",
        ),
        (vec!["run", "walk-fast", "sit-down", "--plot", &path("a.svg")], "--plot wants one scenario, and 2"),
        (vec!["run", "--plot", &path("a.svg")], "name one"),
        (vec!["run", "stand", "--plot", &path("a.svg")], "does not move: no plot"),
        (vec!["run", "stumble", "--plot", &path("no/a.svg")], "a.svg"),
        (vec!["run", "stand", "--plot", &path("a.svg"), "--trace", &path("a.csv")], "does not move"),
    ] {
        let err = refused(&args);
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 0, "nothing half-written");
    let file = path("stumble.svg");
    let out = stdout(&["run", "stumble", "--plot", &file, "--trace", &path("stumble.csv")], 0);
    assert!(out.contains("STUMBLE"), "the report comes all the same");
    let text = std::fs::read_to_string(&file).expect("written");
    let said = texts(&Document::parse(&text).expect("well formed")).join(" ");
    for word in
        ["Scenario stumble", "prosthesis typical", "knee built-in", "oil 30 °C", "stance-yield 40.2 %"]
    {
        assert!(said.contains(word), "no '{word}' in: {said}");
    }
    assert!(folder.path().join("stumble.csv").exists());
}

/// The picture of the documents is what its command draws now. Other machines may round a canvas
/// digit the other way; numbers are compared with a tolerance.
#[test]
fn plots_picture_is_up_to_date() {
    let picture = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/pictures/stride.svg");
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("stride.svg");
    let args = ["run", "walk-comfortable", "--plot", file.to_str().expect("UTF-8")];
    kneedamp(&args).assert().code(0);
    let [then, now] = [picture, file].map(|f| std::fs::read_to_string(f).expect("an SVG"));
    let [then, now] = [&then, &now].map(|t| Document::parse(t).expect("well formed"));
    let again = "draw it again: cargo run --release -- run walk-comfortable --plot docs/pictures/stride.svg";
    assert_eq!(texts(&then), texts(&now), "{again}");
    let elements = |d: &Document| d.descendants().filter(Node::is_element).count();
    assert_eq!(elements(&then), elements(&now), "{again}");
    let pairs = then.descendants().zip(now.descendants()).filter(|(a, _)| a.is_element());
    for (a, b) in pairs {
        assert_eq!(a.tag_name(), b.tag_name(), "{again}");
        for attribute in a.attributes() {
            let (name, old) = (attribute.name(), attribute.value());
            let new = b.attribute(name).unwrap_or_else(|| panic!("no {name}: {again}"));
            let near = match (old.parse::<f64>(), new.parse::<f64>()) {
                (Ok(x), Ok(y)) => (x - y).abs() <= 3.0,
                _ if name == "points" => {
                    extent(old).iter().zip(extent(new)).all(|(x, y)| (x - y).abs() <= 3.0)
                }
                _ => old == new,
            };
            assert!(near, "{name}: {old} is now {new}; {again}");
        }
    }
}

/// First and last point, least and greatest coordinates of a polyline.
fn extent(points: &str) -> [f64; 8] {
    let all: Vec<(f64, f64)> = points
        .split_whitespace()
        .map(|p| p.split_once(',').expect("x,y"))
        .map(|(x, y)| (x.parse().expect("x"), y.parse().expect("y")))
        .collect();
    let (first, last) = (all[0], all[all.len() - 1]);
    let reach = all.iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |r, p| {
        [r[0].min(p.0), r[1].min(p.1), r[2].max(p.0), r[3].max(p.1)]
    });
    [first.0, first.1, last.0, last.1, reach[0], reach[1], reach[2], reach[3]]
}

/// Several scenarios give several files, named after them; the caution stands on each.
#[test]
fn plots_of_studies_are_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    let drawn = |name: &str, words: &[&str]| {
        let text = std::fs::read_to_string(path(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        let document = Document::parse(&text).expect("well formed");
        let said = texts(&document).join(" ");
        for word in words.iter().chain(&["not a medical device"]) {
            assert!(said.contains(word), "{name}: no '{word}' in: {said}");
        }
    };
    let two = ["--a", "swing-flexion=0", "--b", "swing-flexion=80"];
    let scenes = ["--scenario", "walk-fast", "--scenario", "sit-down", "--scenario", "stand"];
    stdout(&[&["compare"], &two[..], &scenes, &["--plot", &path("c.svg")]].concat(), 0);
    drawn("c-walk-fast.svg", &["A: swing-flexion 0 %; B: swing-flexion 80 %", "able-bodied", "B straight"]);
    drawn("c-sit-down.svg", &["Time (s)", "Torque of the damper"]);
    assert!(!folder.path().join("c-stand.svg").exists(), "standing does not move");
    stdout(&["compare", "--lesson", "6", "--plot", &path("six.svg")], 0);
    drawn("six.svg", &["Lesson 6: Two people, one joint", "Sitting down on a chair of 0.45 m"]);
    stdout(&["align", "--step", "20", "--plot", &path("align.svg")], 0);
    drawn(
        "align.svg",
        &["Load line in front of the knee axis (mm)", "swing-flexion 50 %", "present position"],
    );
    stdout(&["uncertainty", "--scenario", "sit-down", "--samples", "8", "--plot", &path("s.svg")], 0);
    drawn("s.svg", &["time to sit down", "within: ", "16 points", "[J]"]);
}

/// Every panel has its own axes with numbers, and the torques of one leg look like neither A nor B.
#[test]
fn plots_have_axes_on_every_panel_and_parts_that_are_no_variants() {
    let plot = scenario_plot("walk-comfortable").expect("moves");
    let text = svg(&plot).expect("draws");
    let document = Document::parse(&text).expect("well formed");
    let numbers = |n: &str| texts(&document).iter().filter(|t| *t == n).count();
    assert_eq!([numbers("90"), numbers("100")], [4, 4], "a number a panel");
    let [a, b, ..] = kneedamp::report::plot_style::compared_styles().map(|s| s.1);
    let mut alone = plot.clone();
    alone.panels = vec![plot.panels[2].clone()];
    alone.instants.clear();
    let torques = svg(&alone).expect("draws");
    let drawn = looks(&Document::parse(&torques).expect("well formed"));
    assert!(drawn.len() >= 10 && drawn.iter().all(|l| l.0 != a && l.0 != b), "{drawn:?}");
    let solid: BTreeSet<_> = drawn.iter().filter(|l| l.1 == "solid").collect();
    let pairs: BTreeSet<_> = drawn.iter().map(|l| &l.1).collect();
    assert_eq!([solid.len(), pairs.len()], [1, 5], "told apart without colour: {drawn:?}");
    // the ground's part ends with toe-off, and no line leads from there to zero
    let ground = plot.panels[2].series[4].points.last().expect("points");
    assert!(ground.0 < plot.instants[1].0 && ground.1.abs() > 1.0, "{ground:?}");
}

/// The stance valve has a panel where it moves, and words where it does not.
#[test]
fn plots_show_the_valve_where_it_moves() {
    for (name, moves) in [("walk-fast", true), ("stumble", true), ("sit-down", false), ("stairs-down", false)]
    {
        let plot = scenario_plot(name).expect("moves");
        let panel = plot.panels.last().expect("panels");
        assert_eq!(panel.series.len() == 2, moves, "{name}: {}", panel.y_label);
        assert_eq!(panel.y_label.ends_with("valve stays closed"), !moves, "{name}: {}", panel.y_label);
    }
}

/// Lessons have their titles, the speed that is walked, and no key with an underscore or an equals sign.
#[test]
fn plots_of_lessons_have_words_for_keys() {
    let folder = tempfile::tempdir().expect("a folder");
    for lesson in kneedamp::teaching::lessons::LESSONS {
        let file = folder.path().join(format!("{}.svg", lesson.number));
        let number = lesson.number.to_string();
        stdout(&["compare", "--lesson", &number, "--plot", file.to_str().expect("UTF-8")], 0);
    }
    let files = std::fs::read_dir(folder.path()).expect("a folder").map(|f| f.expect("a file").path());
    let mut valves = BTreeSet::new();
    for file in files {
        let text = std::fs::read_to_string(&file).expect("reads");
        let document = Document::parse(&text).expect("well formed");
        let (name, said) = (file.file_name().expect("a name").to_string_lossy(), texts(&document).join(" "));
        check_texts(&name, &document);
        let lesson =
            kneedamp::teaching::lessons::LESSONS.iter().find(|l| name.starts_with(&l.number.to_string()));
        let lesson = lesson.expect("a number");
        let title = kneedamp::words::Words::of("en").expect("English").lesson(lesson.number, "title");
        assert!(said.starts_with(&format!("Lesson {}: {}", lesson.number, title)), "{said}");
        assert!(!said.contains('_') && !said.contains('='), "{name}: {said}");
        let walked = said.contains("scenario walk-");
        assert_eq!(said.contains(" m/s. A: "), walked, "{name}: {said}");
        let panel = said.contains("Stance valve (0 open, 1 closed)");
        assert_ne!(panel, said.contains("No stance valve moves"), "{name}: {said}");
        valves.insert(panel);
    }
    assert_eq!(valves.len(), 2, "some move, some do not");
}

/// Of a picture whose width is that of A5, 148 mm: capitals of 1.8 mm and more, and no text beyond its edge.
fn check_a5(name: &str, text: &str) {
    let document = Document::parse(text).unwrap_or_else(|e| panic!("{name}: {e}"));
    let view: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .expect("a view")
        .split(' ')
        .map(|n| n.parse().expect("a number"))
        .collect();
    for node in document.descendants().filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "text"))) {
        let (size, said) = (number(node, "font-size"), node.text().expect("text"));
        // capitals of Helvetica are 0.716 of the size
        assert!(size * 0.716 * 148.0 / view[2] >= 1.8, "{name}: '{said}' is small");
        if node.attribute("transform").is_none() {
            let (left, right, ..) = space(node);
            assert!(left >= 0.0 && right <= view[2], "{name}: '{said}' leaves the picture");
        }
    }
}

/// Maps and bands can be read at A5; no code stands for a margin; a map without a cell that holds says so.
#[test]
fn plots_of_maps_and_bands_at_a5() {
    let folder = tempfile::tempdir().expect("a folder");
    let drawn = |name: &str, args: &[&str]| {
        let file = folder.path().join(name);
        stdout(&[args, &["--plot", file.to_str().expect("UTF-8")]].concat(), 0);
        let text = std::fs::read_to_string(&file).expect("drawn");
        check_a5(name, &text);
        let said = texts(&Document::parse(&text).expect("well formed")).join("|");
        for code in ["10.00", "9.50", "5.00", "2.50"] {
            assert!(!said.contains(&format!("\u{2212}{code}")), "{name}: a margin of {code} in {said}");
        }
        said
    };
    let map = ["--map", "stance-yield,catch-load", "--no-bands"];
    let some = drawn("some.svg", &[&["window", "sit-down"], &map[..], &["--grid", "6"]].concat());
    assert!(some.contains("Every limit holds in "), "{some}");
    let none = ["window", "walk-hurried", "--map", "swing-flexion,swing-extension", "--no-bands"];
    let none = drawn("none.svg", &[&none[..], &["--grid", "3", "--set", "catch-load=0"]].concat());
    assert!(none.contains("No cell holds: at each of the 9"), "{none}");
    let words = ["window", "ramp-down-8-deg", "--set", "swing-flexion=50"];
    drawn("words.svg", &[&words[..], &map[..], &["--grid", "26"]].concat());
    let people = drawn("people.svg", &["window", "sit-down", "--mass", "50,60,100", "--no-bands"]);
    assert!(people.contains("catch-load") && !people.contains("|own|"), "{people}");
    drawn("long.svg", &["uncertainty", "--scenario", "stumble", "--samples", "8"]);
    let bands = drawn("bands.svg", &["uncertainty", "--scenario", "walk-fast", "--samples", "8"]);
    assert!(bands.contains("What uncertain inputs do: Fast level walking"), "{bands}");
    // inputs have words; the scenario keeps its name, by which it is run
    assert!(!bands.contains('_'), "{bands}");
}

/// At different paces there is no one able-bodied knee to compare with.
#[test]
fn plots_of_variants_at_different_paces_leave_the_able_bodied_knee_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("c.svg");
    let args = ["compare", "--a", "speed_m_per_s=0.8", "--b", "speed_m_per_s=1.4", "--plot"];
    stdout(&[&args[..], &[file.to_str().expect("UTF-8")]].concat(), 0);
    let text = std::fs::read_to_string(&file).expect("drawn");
    let said = texts(&Document::parse(&text).expect("well formed")).join(" ");
    assert!(said.contains("A toe-off") && !said.contains("able-bodied"), "{said}");
}

/// A picture as PNG has its size and is not one colour.
#[cfg(feature = "png")]
#[test]
fn plots_as_png() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("stumble.png");
    stdout(&["run", "stumble", "--plot", file.to_str().expect("UTF-8")], 0);
    let picture = resvg::tiny_skia::Pixmap::load_png(&file).expect("a PNG");
    assert_eq!(picture.width(), 1440);
    let inks: BTreeSet<[u8; 3]> = picture.pixels().iter().map(|p| [p.red(), p.green(), p.blue()]).collect();
    assert!(inks.len() > 50, "text and curves with soft edges: {}", inks.len());
}
