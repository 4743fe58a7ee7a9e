//! Documents: their sizes, the paths that they name, the caution, nothing left open.

use super::{files, root, rust_files, text};

/// Greatest sizes, bytes.
const SIZES: [(&str, usize); 2] = [("README.md", 12_000), ("DEVELOPERS.md", 8_000)];

#[test]
fn house_documents_are_short() {
    for (name, most) in SIZES {
        let size = text(name).len();
        assert!(size <= most, "{name} has {size} bytes, at most {most}");
    }
}

/// Paths in backquotes or links in the documents, and the tests that sources promise, exist.
#[test]
fn house_every_path_named_in_a_document_exists() {
    let mut texts: Vec<(String, String)> =
        ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "tests/reference/README.md"]
            .iter()
            .map(|n| ((*n).to_owned(), text(n)))
            .collect();
    texts.extend(files("docs", &["md"]));
    texts.extend(rust_files("sim"));
    let ends = |w: &str| {
        [".rs", ".yaml", ".md", ".py", ".csv", ".json", ".svg", ".png", ".toml", ".sh"]
            .iter()
            .any(|e| w.ends_with(e))
    };
    let starts = |w: &str| {
        ["sim/", "tests/", "models/", "scenarios/", "benches/", ".ci/", "docs/"]
            .iter()
            .any(|s| w.starts_with(s))
    };
    let mut missing = Vec::new();
    for (name, text) in texts {
        for word in text.split(|c: char| c.is_whitespace() || "`()[],;\"'".contains(c)) {
            let word = word.trim_end_matches(['.', ':']);
            let wild = word.contains(['*', '{', '<', '…']);
            if starts(word) && ends(word) && !wild && !root().join(word).exists() {
                missing.push(format!("{name} names {word}, which is not there"));
            }
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

/// Links between documents, relative to where they stand.
#[test]
fn house_links_lead_somewhere() {
    let mut documents = files("docs", &["md"]);
    documents.extend(["README.md", "DEVELOPERS.md"].iter().map(|n| ((*n).to_owned(), text(n))));
    let mut count = 0;
    for (name, text) in documents {
        let home = root().join(&name).parent().expect("a folder").to_path_buf();
        for (i, _) in text.match_indices("](") {
            let target = text[i + 2..].split([')', '#']).next().unwrap_or("");
            if !target.is_empty() && !target.contains("://") {
                count += 1;
                assert!(home.join(target).exists(), "{name} links to {target}, which is not there");
            }
        }
    }
    assert!(count > 5, "{count} links found");
}

#[test]
fn house_the_readme_carries_the_caution() {
    let flat = |s: &str| s.split_whitespace().filter(|w| *w != ">").collect::<Vec<_>>().join(" ");
    assert!(flat(&text("README.md")).contains(&flat(kneedamp::CAUTION)));
}

#[test]
fn house_nothing_is_left_open() {
    let marks = ["todo!(", "unimplemented!(", "#[ignore", "dbg!("];
    for folder in ["sim", "benches", "bindings"] {
        for (path, text) in rust_files(folder) {
            for mark in marks {
                assert!(!text.contains(mark), "{path}: {mark}");
            }
        }
    }
}

/// Numbers in the sentences of the README follow from the files and constants that they speak of; its tables and output are
/// made (tests/documents.rs, tests/accuracy.rs).
#[test]
fn house_numbers_of_the_readme() {
    let library = kneedamp::library::Library::default();
    let readme = text("README.md").split_whitespace().collect::<Vec<_>>().join(" ");
    let says = |what: String| assert!(readme.contains(&what), "'{what}' is not in the README");
    says(format!("Rust ({} or newer)", env!("CARGO_PKG_RUST_VERSION")));
    let person = library.person("75-kg").expect("shipped");
    says(format!("invented person of {:.0} kg", person.mass_kg));
    let file = library.knee("built-in").expect("shipped");
    let knee = file.resolve(&kneedamp::joint::Settings::default(), None).expect("resolves");
    says(format!("catch load of the example joint, {:.0} N,", knee.stance.catch_load_n));
    // θ = τ V/(β D²). The README's angles were there first: they are those of 0.7 and 1.2 GPa for oil and housing together,
    // read off backwards; so this holds them to the displacement and to each other, and shows no modulus
    let (torque_n_m, volume_m3) = (100.0, 30e-6);
    let bend = |modulus_pa: f64| torque_n_m * volume_m3 / (modulus_pa * file.displacement_m3_per_rad.powi(2));
    says(format!(
        "{:.1} to {:.0}° at 100 N m for 30 cm³",
        bend(1.2e9).to_degrees(),
        bend(0.7e9).to_degrees()
    ));
    let drive = library.drive("users-2020").expect("shipped").measured.expect("measured");
    let near = drive.dimensionless_speeds[0] * (9.81 * person.leg_length_m()).sqrt();
    says(format!("The drive was measured near {near:.1} m/s"));
    let people =
        include_str!("../reference/prosthesis_users_people.csv").lines().filter(|l| !l.starts_with('#'));
    assert_eq!(people.count(), 1 + 9, "a head, and a row for each");
    says("nine users of above-knee prostheses".into());
}
