//! The command line through the program itself: transcripts in `tests/transcripts/`, and what only a program can compare.

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::{golden, rerun, root, shell};
use serde_json::Value;

#[test]
fn transcripts() {
    let folder = root().join("tests/transcripts");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(!files.is_empty());
    let check = |file: &std::path::PathBuf| golden(file, &rerun(&std::fs::read_to_string(file).unwrap())).err();
    let wrong: Vec<String> = std::thread::scope(|scope| {
        let running: Vec<_> = files.iter().map(|file| scope.spawn(|| check(file))).collect();
        running.into_iter().filter_map(|one| one.join().unwrap()).collect()
    });
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn json_facts_say_what_native_facts_say() {
    let native = shell("whereas inspect examples/clinic/01-ordinary-metal-clad.facts --under 'nec 2017' --json");
    let json = shell("whereas inspect tests/data/01-ordinary-metal-clad.json --under 'nec 2017' --json");
    assert!(native.contains("\"verdicts\""), "{native}");
    assert_eq!(native, json);
}

#[test]
fn the_same_facts_give_the_same_bytes() {
    let command = "whereas inspect examples/clinic/10-box-nobody-opened.facts --under 'nec 2017' --full";
    assert_eq!(shell(command), shell(command));
}

#[test]
fn forms_of_all_things_read_back_as_facts() {
    // Everything is unknown, so nothing is violated for certain: exit status 3, or 0 where nothing applies.
    let said = shell("whereas facts nec --form | whereas inspect - --under 'nec 2017'");
    assert!(said.ends_with("[exit status 3]\n"), "{said}");
    for thing in ["outlet", "space", "branch-circuit"] {
        let said = shell(&format!("whereas facts nec {thing} --form | whereas inspect - --under 'nec 2017'"));
        assert!(!said.contains("error"), "{thing}: {said}");
    }
}

#[test]
fn json_is_json_of_version_1() {
    let text = std::process::Command::new(env!("CARGO_BIN_EXE_whereas"))
        .args(["inspect", "examples/clinic/11-tall-luminaire.facts", "--under", "nec 2017", "--json"])
        .current_dir(root())
        .output()
        .unwrap();
    let report: Value = serde_json::from_slice(&text.stdout).unwrap();
    assert_eq!(report["version"], 1);
    assert_eq!(report["outcome"], "open");
    let verdicts = report["verdicts"].as_array().unwrap();
    let count = |word: &str| verdicts.iter().filter(|v| v["verdict"] == word).count();
    for (key, word) in [
        ("met", "met"),
        ("not_met", "not met"),
        ("undecided", "undecided"),
        ("for_the_authority", "for the authority"),
        ("not_applicable", "not applicable"),
    ] {
        assert_eq!(report["counts"][key].as_u64().unwrap() as usize, count(word), "{key}");
    }
    assert!(report["caution"].as_str().unwrap().contains("authority having jurisdiction"));
}

/// Whether a value fits a schema, as far as our schemas go (JSON Schema draft 2020-12); a word not known here fails.
fn fits(root: &Value, schema: &Value, value: &Value) -> Result<(), String> {
    let Some(words) = schema.as_object() else {
        return if schema == &Value::Bool(true) { Ok(()) } else { Err(format!("{value} is not allowed")) };
    };
    for (word, says) in words {
        match word.as_str() {
            "$schema" | "$defs" | "title" | "description" => {}
            "$ref" => {
                let pointer = says.as_str().unwrap().strip_prefix('#').unwrap();
                fits(root, root.pointer(pointer).ok_or(format!("{pointer} leads nowhere"))?, value)?;
            }
            "type" => {
                let wanted: Vec<&str> = match says {
                    Value::Array(all) => all.iter().map(|one| one.as_str().unwrap()).collect(),
                    one => vec![one.as_str().unwrap()],
                };
                let is = match value {
                    Value::Null => "null",
                    Value::Bool(_) => "boolean",
                    Value::Number(_) => "number",
                    Value::String(_) => "string",
                    Value::Array(_) => "array",
                    Value::Object(_) => "object",
                };
                if !wanted.contains(&is) {
                    return Err(format!("{value} is not {wanted:?}"));
                }
            }
            "enum" => {
                if !says.as_array().unwrap().contains(value) {
                    return Err(format!("{value} is not one of {says}"));
                }
            }
            "minimum" => {
                if value.as_f64().is_some_and(|number| number < says.as_f64().unwrap()) {
                    return Err(format!("{value} is below {says}"));
                }
            }
            "anyOf" => {
                let tried: Vec<String> =
                    says.as_array().unwrap().iter().filter_map(|one| fits(root, one, value).err()).collect();
                if tried.len() == says.as_array().unwrap().len() {
                    return Err(tried.join("; "));
                }
            }
            "items" => value.as_array().into_iter().flatten().try_for_each(|item| fits(root, says, item))?,
            "required" => {
                for name in says.as_array().unwrap() {
                    if value.is_object() && value.get(name.as_str().unwrap()).is_none() {
                        return Err(format!("{name} is missing"));
                    }
                }
            }
            "properties" => {
                for (name, of) in says.as_object().unwrap() {
                    if let Some(inner) = value.get(name) {
                        fits(root, of, inner).map_err(|e| format!("{name}: {e}"))?;
                    }
                }
            }
            "additionalProperties" => {
                let known = words.get("properties").and_then(Value::as_object);
                for (name, inner) in value.as_object().into_iter().flatten() {
                    if !known.is_some_and(|known| known.contains_key(name)) {
                        fits(root, says, inner).map_err(|e| format!("{name}: {e}"))?;
                    }
                }
            }
            other => return Err(format!("the schema says `{other}`, which is not understood here")),
        }
    }
    Ok(())
}

#[test]
fn the_json_schema_takes_the_lesson_and_refuses_slips() {
    let schema: Value = serde_json::from_str(&shell("whereas facts nec --json-schema")).unwrap();
    let text = std::fs::read_to_string(root().join("tests/data/01-ordinary-metal-clad.json")).unwrap();
    let lesson: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(fits(&schema, &schema, &lesson), Ok(()));
    let mut slip = lesson.clone();
    slip["branch-circuit"]["EX4-1"]["overcurent"] = "20 A".into();
    assert!(fits(&schema, &schema, &slip).is_err());
    let mut slip = lesson.clone();
    slip["space"]["exam-4"]["bed"] = 7.into();
    assert!(fits(&schema, &schema, &slip).is_err());
    let mut slip = lesson;
    slip["spaces"] = Value::Object(serde_json::Map::new());
    assert!(fits(&schema, &schema, &slip).is_err());
}
