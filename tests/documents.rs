//! Output shown in documents is real: every part between `<!-- NAME: begin -->` and `<!-- NAME: end -->` is made
//! by the command in this table. `KNEEDAMP_BLESS=1 cargo test documents` writes the parts anew.

use crate::commands::stdout;

/// One made part.
struct Part {
    document: &'static str,
    name: &'static str,
    command: &'static [&'static str],
    /// What the document shows of the output.
    cut: fn(&str) -> String,
}

const PARTS: &[Part] = &[
    Part {
        document: "README.md",
        name: "run",
        command: &["run"],
        cut: |o| from_to(o, "SUMMARY", "Caution. "),
    },
    Part {
        document: "docs/studies.md",
        name: "compare",
        command: &["compare", "--lesson", "6"],
        cut: |o| from_to(o, "sit-down, B against A:", ""),
    },
    Part {
        document: "docs/studies.md",
        name: "recheck",
        command: &["recheck", "foot_extra_mass_kg=1.5", "temperature_c=0"],
        cut: |o| from_to(o, "Of 49 limits", "2. "),
    },
    Part {
        document: "docs/studies.md",
        name: "rules",
        command: &["rules", "--only", "9,10"],
        cut: |o| lines(o, &["9a ", "9b ", "9c ", "10a ", "10b "]),
    },
    Part {
        document: "docs/studies.md",
        name: "uncertainty",
        command: &["uncertainty", "--scenario", "sit-down", "--samples", "64"],
        cut: |o| lines(o, &["outcome ", "sit_time_s", "seat_speed_m_per_s"]),
    },
    Part {
        document: "docs/studies.md",
        name: "align",
        command: &["align"],
        cut: |o| from_to(o, "Standing on a slope", "The foot is shifted"),
    },
    Part {
        document: "docs/studies.md",
        name: "sweep",
        command: &[
            "sweep",
            "swing-flexion=0:100:50",
            "mass_kg=50,75",
            "--outcomes",
            "landing,verdict,limiting",
        ],
        cut: whole,
    },
    Part {
        document: "docs/studies.md",
        name: "verify",
        command: &["run", "--verify"],
        cut: |o| {
            let table = o.split("VERIFICATION").nth(1).unwrap_or_default();
            let begins = [
                " outcome ",
                " peak flexion in swing ",
                " full extension ",
                " landing ",
                " friction needed ",
            ];
            let sentences = from_to(o, "Run again from", "This shows");
            let rows = begins
                .map(|begin| table.lines().find(|l| l.starts_with(begin)).unwrap_or_default().trim_end());
            format!("{sentences}\n\n{}", rows.join("\n"))
        },
    },
    Part {
        document: "docs/studies.md",
        name: "adjust",
        command: &["adjust", "--start", "middle"],
        cut: |o| from_to(o, "A fitting session", "Caution. "),
    },
    Part {
        document: "docs/studies.md",
        name: "next",
        command: &["next", "--seen", "knee-late-straight:clear@walk-fast", "--set", "swing-extension=65"],
        cut: |o| from_to(o, "Told: ", "extension stop 1"),
    },
    Part {
        document: "docs/studies.md",
        name: "identify-bench",
        command: &[
            "identify",
            "bench",
            "docs/examples/damper.csv",
            "--open",
            "1",
            "--closed",
            "8",
            "--name",
            "damper",
            "--output",
            "target/damper.yaml",
        ],
        cut: |o| from_to(o, "In flexion: ", "LAWS THAT"),
    },
    Part {
        document: "docs/studies.md",
        name: "identify-stride",
        command: &[
            "identify",
            "stride",
            "docs/examples/walk.csv",
            "--mass",
            "82",
            "--speed",
            "1.2",
            "--name",
            "anna",
            "--output",
            "target/anna",
        ],
        cut: |o| from_to(o, "Stride of ", "Next: ") + "\n\n" + &from_to(o, "VALUES WITH", "DAMPER LAWS"),
    },
    Part {
        document: "docs/studies.md",
        name: "window",
        command: &["window", "sit-down", "ramp-down-8-deg", "stairs-down"],
        cut: |o| from_to(o, "stance-yield", "Caution. "),
    },
];

/// All of the output.
fn whole(output: &str) -> String {
    output.trim_end().to_owned()
}

/// From the line that holds one text up to that which holds another, or to the end of the paragraph.
fn from_to(output: &str, from: &str, to: &str) -> String {
    let start = output.find(from).unwrap_or_else(|| panic!("no '{from}' in\n{output}"));
    let start = output[..start].rfind('\n').map_or(0, |i| i + 1);
    let rest = &output[start..];
    let end = if to.is_empty() {
        rest.find("\n\n")
    } else {
        rest.find(to).map(|i| rest[..i].rfind('\n').unwrap_or(i))
    };
    rest[..end.unwrap_or(rest.len())].trim_end().to_owned()
}

/// The first line that begins with each of these, but for blanks.
fn lines(output: &str, begins: &[&str]) -> String {
    let find = |begin: &&str| {
        let line = output.lines().find(|l| l.trim_start().starts_with(*begin));
        line.unwrap_or_else(|| panic!("no line '{begin}' in\n{output}")).trim_end().to_owned()
    };
    begins.iter().map(find).collect::<Vec<_>>().join("\n")
}

/// The part as it stands in the document: indented, so that it is shown as it is.
fn shown(text: &str) -> String {
    let indented: String = text
        .lines()
        .map(|l| if l.is_empty() { "\n".to_owned() } else { format!("    {}\n", l.trim_end()) })
        .collect();
    format!("\n{indented}\n")
}

#[test]
fn documents_show_real_output() {
    let mut stale = Vec::new();
    for part in PARTS {
        let now = shown(&(part.cut)(&stdout(part.command, 0)));
        let path = format!("{}/{}", env!("CARGO_MANIFEST_DIR"), part.document);
        let text = std::fs::read_to_string(&path).expect(part.document);
        let begin_mark = format!("<!-- {}: begin -->\n", part.name);
        let begin = text.find(&begin_mark).expect("begin mark") + begin_mark.len();
        let end = begin + text[begin..].find(&format!("<!-- {}: end -->", part.name)).expect("end mark");
        if std::env::var_os("KNEEDAMP_BLESS").is_some() {
            std::fs::write(&path, format!("{}{now}{}", &text[..begin], &text[end..])).expect("writes");
        } else if text[begin..end] != now {
            stale.push(format!(
                "{}, part '{}': shows\n{}now\n{now}",
                part.document,
                part.name,
                &text[begin..end]
            ));
        }
    }
    assert!(stale.is_empty(), "{}", stale.join("\n"));
}

/// Every command line that a document shows in a code block is one that the program takes.
#[test]
fn documents_name_commands_that_exist() {
    let help = stdout(&["--help"], 0);
    let known: Vec<&str> = help.lines().filter_map(|l| l.trim_start().split(' ').next()).collect();
    let mut count = 0;
    for document in ["README.md", "docs/studies.md", "docs/teaching.md", "docs/batch.md"] {
        let path = format!("{}/{document}", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).expect(document);
        for line in text.lines().filter_map(|l| l.strip_prefix("    kneedamp ")) {
            let command = line.split(' ').next().expect("a word");
            assert!(known.contains(&command), "{document}: kneedamp {command} is no command");
            count += 1;
        }
    }
    assert!(count > 20, "{count} commands found");
}
