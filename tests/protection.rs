//! The protection lessons give, under each edition, the verdicts which their header comments promise, and nothing else is
//! amiss.
//!
//! A header promises by the name of a rule, which it keeps when its number moves: `NAME of SUBJECT: ` and five verdicts,
//! `-` where the edition has no such rule. The sources stand in the headers, by the keys that `rulebooks/README.md` explains.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;
use support::Bench;

const HEADING: &str = "# Expected under nec 2014 | 2017 | 2020 | 2023 | 2026:";

fn lessons() -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples/protection");
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// Verdicts by name of rule and subject, one for each edition.
fn promises(text: &str) -> BTreeMap<(String, String), Vec<String>> {
    let lines = text.lines().take_while(|l| l.starts_with('#')).skip_while(|l| *l != HEADING).skip(1);
    lines
        .map(|line| {
            let (of, verdicts) = line.trim_start_matches('#').split_once(": ").unwrap();
            let (name, subject) = of.trim().split_once(" of ").unwrap();
            ((name.to_string(), subject.to_string()), verdicts.split(" | ").map(|v| v.trim().to_string()).collect())
        })
        .collect()
}

#[test]
fn promised_verdicts_under_each_edition() {
    let mut wrong = Vec::new();
    let lessons: Vec<(String, String)> = lessons()
        .iter()
        .map(|file| (file.file_name().unwrap().to_string_lossy().to_string(), fs::read_to_string(file).unwrap()))
        .collect();
    assert_eq!(lessons.len(), 10);
    for (at, year) in ["2014", "2017", "2020", "2023", "2026"].iter().enumerate() {
        let bench = Bench::nec(year);
        for (file, text) in &lessons {
            assert!(text.lines().any(|l| l.starts_with("# Sources: ")), "{file} names no source");
            let promises = promises(text);
            assert!(!promises.is_empty(), "{file} promises nothing");
            let report = bench.inspect(file, text, &[]);
            for ((name, subject), verdicts) in &promises {
                let expected = verdicts.get(at).unwrap_or_else(|| panic!("{file}: {name} of {subject} lacks {year}"));
                let came_out = match support::verdict_named(&report, name, subject) {
                    said if said == "no such verdict" => "-".to_string(),
                    said => said,
                };
                if came_out != *expected {
                    wrong.push(format!("{file} {year}: {name} of {subject} promises {expected}, came out {came_out}"));
                }
            }
            for verdict in report.verdicts.iter().filter(|v| !matches!(v.verdict.as_str(), "met" | "not applicable")) {
                let promised = promises
                    .keys()
                    .any(|(name, subject)| *name == verdict.name && support::is_subject(subject, &verdict.subject));
                if !promised {
                    wrong.push(format!(
                        "{file} {year}: {} of {} is not promised, came out {}",
                        verdict.section, verdict.subject, verdict.verdict
                    ));
                }
            }
            assert!(report.not_described.is_empty(), "{file} {year} leaves things undescribed");
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
