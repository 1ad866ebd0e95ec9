//! The example installations give exactly the verdicts which their header comments promise, and nothing else is amiss.
//!
//! A header promises in lines of this form, ended by `everything else   met or not applicable`:
//!
//! ```text
//! #   517.13, 517.13(A)   undecided: met as literal, not met as strict (reading either-path)
//! #   517.13(B)(2)   met    any remark
//! ```
//!
//! The rules behind the promises have their sources in the rulebooks; these tests keep comments and verdicts together.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use support::Bench;
use whereas::report::Inspection;

const VERDICTS: [&str; 5] = ["not met", "not applicable", "for the authority", "undecided", "met"];

/// What a header promises of one section.
struct Promise {
    verdict: String,
    /// Reading, option and verdict, for an undecided one that names a disputed text.
    readings: Vec<(String, String, String)>,
}

fn starts_with_verdict(text: &str) -> Option<&'static str> {
    VERDICTS.into_iter().find(|v| text.starts_with(v))
}

fn promises(name: &str, text: &str) -> BTreeMap<String, Promise> {
    let mut found = BTreeMap::new();
    let header = text.lines().take_while(|l| l.starts_with('#'));
    let lines = header.skip_while(|l| *l != "# Expected under nec 2017:").skip(1);
    for line in lines {
        let line = line.trim_start_matches('#').trim();
        let (sections, said) = line.split_once("   ").unwrap_or_else(|| panic!("{name}: cannot read `{line}`"));
        let said = said.trim();
        if sections == "everything else" {
            assert!(said.starts_with("met or not applicable"), "{name}: {line}");
            return found;
        }
        let verdict = starts_with_verdict(said).unwrap_or_else(|| panic!("{name}: no verdict in `{line}`"));
        let mut readings = Vec::new();
        if let Some((options, reading)) = said.split_once("(reading ") {
            let reading = reading.trim_end_matches(')');
            for option in options.trim().trim_start_matches("undecided:").split(',') {
                let (verdict, option) = option.trim().split_once(" as ").unwrap();
                readings.push((reading.to_string(), option.to_string(), verdict.to_string()));
            }
        }
        for section in sections.split(", ") {
            let promise = Promise { verdict: verdict.to_string(), readings: readings.clone() };
            assert!(found.insert(section.to_string(), promise).is_none(), "{name}: {section} twice");
        }
    }
    panic!("{name}: the header does not end with `everything else`")
}

/// The verdicts of each section over all its subjects; that some subject is outside it is no news.
fn verdicts(report: &Inspection) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for verdict in &report.verdicts {
        let of = found.entry(verdict.section.clone()).or_default();
        if verdict.verdict != "not applicable" {
            of.insert(verdict.verdict.clone());
        }
    }
    found
}

fn only(verdict: &str) -> BTreeSet<String> {
    if verdict == "not applicable" { BTreeSet::new() } else { BTreeSet::from([verdict.to_string()]) }
}

fn lessons() -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples/clinic");
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "facts"));
    files.sort();
    assert_eq!(files.len(), 11);
    files
}

#[test]
fn promised_verdicts() {
    let bench = Bench::nec_2017();
    let mut wrong = Vec::new();
    for file in lessons() {
        let name = file.file_name().unwrap().to_string_lossy().to_string();
        let text = fs::read_to_string(&file).unwrap();
        let promises = promises(&name, &text);
        let came_out = verdicts(&bench.inspect(&name, &text, &[]));
        for (section, promise) in &promises {
            match came_out.get(section) {
                Some(found) if *found == only(&promise.verdict) => {}
                found => wrong.push(format!("{name}: {section} promises {}, came out {found:?}", promise.verdict)),
            }
            for (reading, option, verdict) in &promise.readings {
                let report = bench.inspect(&name, &text, &[format!("{reading}={option}")]);
                let found = verdicts(&report).remove(section).unwrap_or_default();
                if found != only(verdict) {
                    wrong.push(format!("{name}: {section} promises {verdict} as {option}, came out {found:?}"));
                }
            }
        }
        for (section, found) in &came_out {
            if !promises.contains_key(section) && found.iter().any(|v| v != "met") {
                wrong.push(format!("{name}: {section} is not promised, came out {found:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn exit_status() {
    for file in lessons() {
        let name = file.file_name().unwrap().to_string_lossy().to_string();
        let text = fs::read_to_string(&file).unwrap();
        let promised: BTreeSet<String> = promises(&name, &text).into_values().map(|p| p.verdict).collect();
        let expected = if promised.contains("not met") {
            1
        } else if promised.contains("undecided") {
            3
        } else {
            0
        };
        let output = Command::new(env!("CARGO_BIN_EXE_whereas"))
            .args(["inspect", "--under", "nec 2017"])
            .arg(&file)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(expected), "{name}: {}", String::from_utf8_lossy(&output.stderr));
        assert!(!output.stdout.is_empty(), "{name}");
    }
}
