//! `kneedamp sheet`.

use serde_json::Value as Json;

use super::{kneedamp, refused, stdout, unwrapped};

fn sheet(args: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("sheet.html");
    let path = file.to_str().expect("UTF-8");
    kneedamp(&[&["sheet", "--output", path], args].concat()).assert().code(0);
    std::fs::read_to_string(file).expect("written")
}

/// Texts of the page, without tags.
fn read(page: &str) -> String {
    let (_, body) = page.split_once("<body>").expect("a body");
    let mut text = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            c if !inside => text.push(c),
            _ => {}
        }
    }
    unwrapped(&text.replace("&gt;", ">").replace("&lt;", "<").replace("&amp;", "&"))
}

/// The answer about a stumble that can go either way is marked doubtful, not within.
#[test]
fn commands_sheet_marks_what_is_doubtful() {
    let page = sheet(&["--set", "stance-yield=10"]);
    let answer = page.lines().find(|l| l.contains("What if the foot lands bent?")).expect("answered");
    assert!(answer.contains("<span class=\"doubtful\">? doubtful</span>"), "{answer}");
}

/// No sentence has the name of a scenario or an input that is typed; only the command that makes the sheet again has.
#[test]
fn commands_sheet_has_no_keys_in_sentences() {
    let sheets: [&[&str]; 4] = [
        &[],
        &["--set", "swing-flexion=60,stance-yield=20", "--was", "swing-flexion=80,stance-yield=40"],
        &["--person", "50-kg", "--set", "swing-flexion=0,swing-extension=90,catch-load=100"],
        &["--foot-shift", "-55", "--temperature", "-10"],
    ];
    for args in sheets {
        let page = sheet(args);
        let said = read(page.split_once("Made again by").expect("the command").0);
        for key in crate::common::library().names(kneedamp::library::Kind::Scenario) {
            // those that are plain words remain
            assert!(!key.contains('-') || !said.contains(&key), "{key} in: {said}");
        }
        let inputs = kneedamp::case::inputs::INPUTS.iter().map(|i| i.key).filter(|k| k.contains('_'));
        for key in inputs {
            assert!(!said.contains(key), "{key} in: {said}");
        }
        assert!(said.contains("fast walking") || said.contains("sitting down"), "{said}");
        assert!(page.contains("<svg class=\"leg\""), "the drawing of the leg");
    }
}

/// What is seen of a limit that is doubtful is marked so, and not as shown.
#[test]
fn commands_sheet_marks_symptoms_that_are_doubtful() {
    let page = sheet(&["--set", "stance-yield=10"]);
    let row = |begin: &str| page.lines().find(|l| l.starts_with("<tr") && l.contains(begin)).expect("a row");
    assert!(row("the foot lands early on a bent knee").contains(">? the foot lands early"), "{page}");
    assert!(row("the person drops into the chair").contains(">● the person drops"), "{page}");
    assert!(row("the knee knocks hard").contains(">the knee knocks hard"), "{page}");
}

#[test]
fn commands_sheet_answers_ten_questions() {
    let page = sheet(&[]);
    let said = read(&page);
    for words in [
        "Teaching sheet, model person",
        "What to rule out first",
        "Is standing safe",
        "At what load does it catch",
        "Does it let go in time",
        "Is heel rise like the sound side's?",
        "Is it straight before heel contact when hurried",
        "How hard is the end knock?",
        "Does one yield setting serve chair, ramp and stairs",
        "What if the foot lands bent?",
        "What was changed from what to what",
        "heavier shoes",
        "a cold morning",
        "more body weight",
        "Looked at again",
        "kneedamp sheet --output",
        kneedamp::CAUTION,
    ] {
        assert!(said.contains(words), "no '{words}' in: {said}");
    }
    assert!(!said.to_lowercase().contains("settings to use"));
}

/// Its figures are those of `run`.
#[test]
fn commands_sheet_says_what_run_says() {
    let said = read(&sheet(&["--person", "100-kg", "--set", "catch-load=40"]));
    let args = ["run", "--person", "100-kg", "--set", "catch-load=40", "--format", "json"];
    let run: Json = serde_json::from_str(&stdout(&args, 0)).expect("JSON");
    let value = |scenario: &str, key: &str| {
        let runs = run["runs"].as_array().expect("runs");
        let one = runs.iter().find(|r| r["scenario"] == scenario).expect("run");
        one["outcomes"][key].as_f64().expect("a number")
    };
    for figure in [
        format!("comfortable {:.1}°", value("walk-comfortable", "peak_flexion_deg")),
        format!("hurried {:.0} ms", value("walk-hurried", "extension_margin_ms")),
        format!("fast {:.2} J", value("walk-fast", "terminal_energy_j")),
        format!("Chair: {:.2} s", value("sit-down", "sit_time_s")),
        format!("greatest flexion {:.1}°", value("stumble", "max_flexion_deg")),
        format!("A slope down of {:.1}°", value("stand", "slope_limit_deg")),
    ] {
        assert!(said.contains(&figure), "no '{figure}' in: {said}");
    }
}

/// One file: nothing is fetched, nothing is asked for, no person is named.
#[test]
fn commands_sheet_stands_alone() {
    let page = sheet(&[]);
    for fetched in ["<script", "src=", "href=", "url(", "@import", "<input", "<form", "<iframe", "<object"] {
        assert!(!page.contains(fetched), "{fetched}");
    }
    let addresses = page.matches("http").count() - page.matches("http://www.w3.org/2000/svg").count();
    assert_eq!(addresses, page.matches("http-equiv").count());
    assert!(page.contains("default-src 'none'") && page.len() < 200_000);
}

#[test]
fn commands_sheet_can_be_made_again() {
    let number = |page: &str| {
        let (_, rest) = page.split_once(", inputs ").expect("a number of the inputs");
        rest[..16].to_owned()
    };
    let [one, same, other] = [sheet(&[]), sheet(&[]), sheet(&["--set", "swing-flexion=69"])];
    assert_eq!(number(&one), number(&same));
    assert_ne!(number(&one), number(&other));
    let body = |page: &str| page.split_once("<footer>").expect("a footer").0.to_owned();
    assert_eq!(body(&one), body(&same));
}

/// What was different before: the settings from and to, and what the change did.
#[test]
fn commands_sheet_says_where_it_came_from() {
    let said = read(&sheet(&["--set", "swing-flexion=65", "--was", "swing-flexion=0"]));
    assert!(said.contains("Changed: swing-flexion 0 % → 65 %."), "{said}");
    assert!(said.contains("Hurried walking: outside before, now within"), "{said}");
}

/// Names from files are text, not markup.
#[test]
fn commands_sheet_shows_names_as_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("p.yaml");
    let path = file.to_str().expect("UTF-8");
    stdout(&["new", "person", path], 0);
    let text = std::fs::read_to_string(&file).expect("written");
    let name = text.lines().find(|l| l.starts_with("name:")).expect("a name").to_owned();
    std::fs::write(&file, text.replace(&name, "name: \"<img onerror=x>\"")).expect("writes");
    let page = sheet(&["--person", path]);
    assert!(!page.contains("<img") && page.contains("&lt;img onerror=x&gt;"));
}

#[test]
fn commands_sheet_bad_requests_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).to_str().expect("UTF-8").to_owned();
    for (args, said) in [
        (vec!["--output", &path("a.html"), "--speed", "1.2"], "own speeds"),
        (vec!["--output", &path("a.html"), "--set", "swing-flexion=180"], "0 to 100"),
        (vec!["--output", &path("a.html"), "--was", "swing-flexon=3"], "swing-flexion"),
        (vec!["--output", &path("no/a.html")], "a.html"),
    ] {
        let err = refused(&[&["sheet"], &args[..]].concat());
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 0, "nothing half-written");
}

/// A joint that no task with a bending knee can be done with has its sheet all the same, which says so.
#[test]
fn commands_sheet_of_a_locked_joint() {
    let folder = tempfile::tempdir().expect("a folder");
    let knee = folder.path().join("locked.yaml");
    let path = knee.to_str().expect("UTF-8");
    kneedamp(&["new", "knee", path]).assert().code(0);
    let text = std::fs::read_to_string(&knee).expect("reads");
    std::fs::write(&knee, text + "\nlocked: true\n").expect("writes");
    let said = read(&sheet(&["--knee", path]));
    assert!(said.contains("N m keep the knee straight"), "{said}");
    assert!(said.contains("No range of the yield setting can be found: sitting down: cannot run"), "{said}");
}

/// A usual change that leads out of what an input may be is told, not an error; one that changes nothing is left out.
#[test]
fn commands_sheet_at_the_end_of_a_range() {
    let said = read(&sheet(&["--foot-shift", "-55", "--temperature", "-10"]));
    assert!(said.contains("Not tried: foot further forward under the knee axis"), "{said}");
    assert!(!said.contains("a cold morning"), "{said}");
}
