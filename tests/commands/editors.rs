//! `schema` and `complete`: what editors and shells are told.

use kneedamp::library::{Kind, Library, to_yaml};
use serde_json::{Value, json};

use super::{kneedamp, refused, stdout};

/// Whether a value fits the schema that the program prints for a kind.
fn fits(kind: Kind, value: &Value) -> bool {
    let schema: Value = serde_json::from_str(&stdout(&["schema", kind.as_str()], 0)).expect("JSON");
    let (mut schemas, mut compiler) = (boon::Schemas::new(), boon::Compiler::new());
    compiler.add_resource("mem:///schema.json", schema).expect("a resource");
    let index = compiler.compile("mem:///schema.json", &mut schemas).expect("a valid schema");
    schemas.validate(value, index).is_ok()
}

/// A built-in file as it stands, without going through our types.
fn as_written(kind: Kind, name: &str) -> Value {
    serde_yaml::from_str(&Library::default().text(kind, name).expect("built in").0).expect("YAML")
}

#[test]
fn editors_schema_takes_every_built_in_file_and_no_other_kind() {
    for kind in Kind::ALL {
        for name in Library::default().names(kind) {
            let file = as_written(kind, &name);
            assert!(fits(kind, &file), "{} {name}", kind.as_str());
            for other in Kind::ALL.into_iter().filter(|o| *o != kind) {
                assert!(!fits(other, &file), "{name} as {}", other.as_str());
            }
        }
    }
}

/// What the schema refuses, the program refuses: unknown fields, missing ones, other types, other words.
#[test]
fn editors_schema_refuses_what_the_program_refuses() {
    let folder = tempfile::tempdir().expect("a folder");
    let changes: [(Kind, &str, &str, Value); 6] = [
        (Kind::Person, "75-kg", "/mass_lb", json!(165)),
        (Kind::Person, "75-kg", "/mass_kg", json!("heavy")),
        (Kind::Person, "75-kg", "/mass_kg", Value::Null),
        (Kind::Knee, "built-in", "/swing/flexion", json!({"spring": {}})),
        (Kind::Scenario, "stumble", "/limits/0/severity", json!("bad luck")),
        (Kind::Uncertainty, "default", "/inputs/0/around", json!("the-corner")),
    ];
    for (i, (kind, name, place, to)) in changes.into_iter().enumerate() {
        let mut file = as_written(kind, name);
        let (parent, field) = place.rsplit_once('/').expect("a place");
        let parent = file.pointer_mut(parent).and_then(Value::as_object_mut).expect("an object");
        if to.is_null() {
            parent.remove(field).expect("was there");
        } else {
            parent.insert(field.into(), to);
        }
        assert!(!fits(kind, &file), "{place} of {name}");
        let path = folder.path().join(format!("{i}.yaml"));
        std::fs::write(&path, to_yaml(&file).expect("YAML")).expect("writes");
        kneedamp(&["check", path.to_str().expect("UTF-8")]).assert().code(2);
    }
}

/// `new` says where an editor finds the schema, and what it writes fits it.
#[test]
fn editors_new_names_the_schema() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("tall.yaml");
    kneedamp(&["new", "person", path.to_str().expect("UTF-8")]).assert().code(0);
    let text = std::fs::read_to_string(&path).expect("reads");
    assert!(text.starts_with("# yaml-language-server: $schema=person.schema.json\n"), "{text}");
    assert!(fits(Kind::Person, &serde_yaml::from_str(&text).expect("YAML")));
}

/// A shell takes the completions, and they know every command that the help lists.
#[test]
fn editors_completions_know_every_command() {
    let help = stdout(&["--help"], 0);
    let commands = help.lines().skip_while(|l| *l != "Commands:").skip(1).take_while(|l| !l.is_empty());
    let commands: Vec<&str> = commands.filter_map(|l| l.split_whitespace().next()).collect();
    assert!(commands.len() > 15, "{commands:?}");
    for shell in ["bash", "zsh", "fish"] {
        let text = stdout(&["complete", shell], 0);
        for command in &commands {
            assert!(text.contains(command), "{shell}: {command}");
        }
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("completions");
    std::fs::write(&path, stdout(&["complete", "bash"], 0)).expect("writes");
    let told = "source \"$0\"; COMP_WORDS=(kneedamp unc); COMP_CWORD=1; _kneedamp kneedamp unc kneedamp; \
                echo \"${COMPREPLY[@]}\"";
    let bash = std::process::Command::new("bash").args(["-c", told]).arg(&path).output();
    let out = bash.expect("bash runs");
    assert_eq!(String::from_utf8_lossy(&out.stdout).trim(), "uncertainty");
}

#[test]
fn editors_manual_of_the_program_and_of_a_command() {
    let all = stdout(&["complete", "manual"], 0);
    assert!(all.starts_with(".ie") && all.contains(".SH SUBCOMMANDS"), "{all}");
    let one = stdout(&["complete", "manual", "window"], 0);
    assert!(one.contains("\\-\\-cadence") && !one.contains("SUBCOMMANDS"), "{one}");
    assert!(refused(&["complete", "manual", "windows"]).contains("window"));
    assert!(refused(&["complete", "bash", "window"]).contains("manual page"));
}
