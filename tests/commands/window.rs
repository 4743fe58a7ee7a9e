//! `kneedamp window`.

use super::{json, kneedamp, refused, screen_lines, stdout};

const QUICK: [&str; 4] = ["window", "sit-down", "stairs-down", "--no-bands"];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    QUICK.iter().copied().chain(more.iter().copied()).collect()
}

#[test]
fn commands_window_tells_people() {
    let out = stdout(&with(&[]), 0);
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "stance-yield, set to 40.2 %: every limit holds from",
        "closed below by time to sit down (sit-down) and above by hip in front of the step's edge (stairs-down)",
        "matches no mark on any joint".to_uppercase().as_str(),
        "swing-extension, set to 52.9 %: every limit holds over the whole range",
    ] {
        assert!(flat.to_uppercase().contains(&said.to_uppercase()), "{said} in {flat}");
    }
    assert!(flat.ends_with(kneedamp::CAUTION));
}

/// Without `--full` there is no table of limits; with it there is.
#[test]
fn commands_window_full_adds_the_limits() {
    let (short, full) = (stdout(&with(&[]), 0), stdout(&with(&["--full"]), 0));
    assert!(short.contains("--full") && screen_lines(&short) <= 40, "{short}");
    let title = "WHERE EACH LIMIT HOLDS";
    assert!(!short.contains(title) && full.contains(title), "{full}");
    let limit = "speed on reaching the seat (sit-down)";
    assert!(!short.contains(limit) && full.contains(limit), "{full}");
}

#[test]
fn commands_window_json_has_edges_and_what_closes_them() {
    let j = json(&with(&["--format", "json"]));
    let rows = j["windows"].as_array().expect("windows");
    assert_eq!(rows.len(), 4);
    for row in rows {
        let at = |k: &str| row[k].as_f64().expect("number");
        assert_eq!(row["empty"], false);
        assert!(at("min_pct") <= at("centre_pct") && at("centre_pct") <= at("max_pct"));
        for (edge, end, by) in [("min_pct", 0.0, "min_closed_by"), ("max_pct", 100.0, "max_closed_by")] {
            assert_eq!(row[by].is_null(), (at(edge) - end).abs() < 1e-9, "{row}");
        }
    }
    let yields = rows.iter().find(|r| r["setting"] == "stance-yield").expect("a row");
    assert_eq!(yields["min_closed_by"], "sit-down: sit_time_s");
    assert_eq!(yields["max_closed_by"], "stairs-down: hip_past_edge_m");
    assert_eq!(j["caution"], kneedamp::CAUTION);
    assert_eq!(j["inputs"]["scenarios"].as_array().expect("scenarios").len(), 2);
    assert!(
        j["judged"].as_array().expect("judged").iter().all(|r| !r["why"].as_str().expect("why").is_empty())
    );
    assert!(j["limits"].as_array().expect("limits").len() >= 4 * 6);
}

#[test]
fn commands_window_bands_and_left_out_limits() {
    let args = ["window", "stairs-down", "--without", "hip_past_edge_m", "--format", "json"];
    let j = json(&args);
    let yields = &j["windows"][2];
    assert!(yields["max_closed_by"].is_null() || yields["max_closed_by"] != "stairs-down: hip_past_edge_m");
    let at = |k: &str| yields[k].as_f64().expect("number");
    assert!(at("min_least_pct") <= at("min_pct") && at("min_pct") <= at("min_most_pct"));
    assert!(at("max_least_pct") <= at("max_pct") && at("max_pct") <= at("max_most_pct"));
    let varied = j["varied"].as_array().expect("varied");
    assert!(varied.iter().any(|r| r["varied"] == "hip_moment_n_m_per_kg" && r["value"] == 0.3));
    assert_eq!(j["inputs"]["without"][0], "hip_past_edge_m");
}

#[test]
fn commands_window_csv_over_mass_and_cadence() {
    let args = with(&["--mass", "62.5:75:12.5", "--format", "csv"]);
    let out = stdout(&args, 0);
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let head = reader.headers().expect("head").clone();
    assert_eq!(
        head.iter().take(4).collect::<Vec<_>>(),
        ["mass_kg", "stature_m", "cadence_steps_per_min", "setting"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("row")).collect();
    assert_eq!(rows.len(), 8);
    assert_eq!(&rows[0][0], "62.5");
    let walking = ["window", "walk-comfortable", "--cadence", "100,110", "--no-bands", "--format", "csv"];
    let out = stdout(&walking, 0);
    assert!(out.lines().filter(|l| l.contains(",100,")).count() >= 4, "{out}");
    assert!(out.lines().filter(|l| l.contains(",110,")).count() >= 4);
}

#[test]
fn commands_window_map_and_picture() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("map.svg");
    let path = file.to_str().expect("UTF-8");
    let args = with(&["--map", "stance-yield,catch-load", "--grid", "4", "--plot", path, "--format", "json"]);
    let j = json(&args);
    let cells = j["map"].as_array().expect("map");
    assert_eq!(cells.len(), 16);
    for cell in cells {
        let within = cell["margin"].as_f64().is_none_or(|m| m >= 0.0);
        assert_eq!(cell["verdict"] == "within", within, "{cell}");
    }
    let svg = std::fs::read_to_string(&file).expect("drawn");
    for said in [
        "stance-yield, % of this model&apos;s range",
        "not a medical device",
        "time to sit down (sit-down)",
        "75 kg, 1.75 m",
    ] {
        assert!(svg.replace('\'', "&apos;").contains(said), "{said}");
    }
    assert!(svg.starts_with("<svg") && svg.ends_with("</svg>\n"));
    assert_eq!(svg.matches("<rect").count(), 16 + 1 + svg.matches("width=\"20\" height=\"14\"").count());
    let out = stdout(&with(&["--map", "stance-yield,catch-load", "--grid", "4"]), 0);
    assert!(out.contains("of 16 pairs"), "{out}");
}

#[test]
fn commands_window_same_bytes_for_any_number_of_threads() {
    let run = |threads: &str| {
        let args = with(&["--mass", "50,75", "--format", "json"]);
        kneedamp(&args).env("RAYON_NUM_THREADS", threads).assert().code(0).get_output().stdout.clone()
    };
    assert_eq!(run("1"), run("5"));
}

#[test]
fn commands_window_bad_usage_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let nowhere = folder.path().join("no/such/map.svg");
    let nowhere = nowhere.to_str().expect("UTF-8");
    for (args, said) in [
        (vec!["--without", "nonsense"], "no outcome named 'nonsense'"),
        (vec!["--map", "stance-yield"], "two settings"),
        (vec!["--map", "stance-yield,stance-yield"], "two different settings"),
        (vec!["--map", "stance-yield,stiffness"], "no setting named 'stiffness'"),
        (vec!["--map", "stance-yield,catch-load", "--grid", "1"], "2 to 101"),
        (vec!["--map", "stance-yield,catch-load", "--grid", "9999"], "2 to 101"),
        (vec!["--map", "stance-yield,catch-load", "--mass", "50,60"], "one person"),
        (vec!["--grid", "5"], "--map"),
        (vec!["--mass", "50:125"], "FROM:TO:STEP"),
        (vec!["--mass", "50:125:0"], "STEP must be greater than 0"),
        (vec!["--mass", "50:125:nan"], "STEP must be greater than 0"),
        (vec!["--mass", "125:50:5"], "FROM"),
        (vec!["--mass", "50:125:0.0001"], "larger STEP"),
        (vec!["--mass", "abc"], "not a number"),
        (vec!["--mass", "10"], "30 to 200"),
        (vec!["--mass", "nan"], "30 to 200"),
        (vec!["--mass", "70,70"], "given twice"),
        (vec!["--mass", "60,250"], "30 to 200"),
        (vec!["--cadence", "90:110:10"], "none of the scenarios is level walking"),
        (vec!["--plot", "x.svg"], "--map"),
        (vec!["--map", "stance-yield,catch-load", "--grid", "2", "--plot", nowhere], "map.svg"),
    ] {
        let err = refused(&with(&args));
        assert!(err.contains(said), "{args:?}: no '{said}' in: {err}");
    }
    assert!(refused(&["window", "sit-down", "sit-down"]).contains("named twice"));
    assert!(refused(&["window", "walk-fast", "--cadence", "20,90"]).contains("30 to 240"));
    assert!(refused(&["run", "--cadence", "90,100"]).contains("one value"));
    assert!(!std::path::Path::new("x.svg").exists());
}
