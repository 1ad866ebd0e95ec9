//! Questions from the trade with answers that its experts agreed on, and those they did not agree on.
//!
//! Each file of `tests/cases/` is one case: a title, its sources by their keys (the letters are explained in
//! `rulebooks/README.md`), the facts, and in lines that begin with `#:` what must come out:
//!
//! ```text
//! #: SECTION of SUBJECT: VERDICT                 as stated
//! #: SECTION STANDING of SUBJECT: qualifies      for sections that say what a thing counts as
//! #: SECTION of any: VERDICT                     for every subject of the section
//! #: read READING=OPTION                         the following lines: with this reading chosen
//! #: instead `OLD` write `NEW`                   the following lines: with this change to the facts as stated
//! #: also `OLD` write `NEW`                      the following lines: with this change besides
//! #: under nec 2020                              the following lines: under this book, as stated; nec 2017 to begin with
//! ```
//!
//! Of the group on fill and ampacity, E08 is a number: see `tests/worked/others.facts`. Cases that turn on which book governs, or on a
//! place's own words, are in `tests/field_cases_by_place.rs`.
//! Absent, of the groups on patient care spaces, grounding conductors and supports, under the 2017 edition:
//! 358.10 in A06 is not encoded;
//! A08, A10 and A14 as of 2014, A15 as of 2011 and 2014, B01 and B03 as of 2014, B09 as of 2011, D06 as of 2020 ask for
//! other editions; of the traps, P01 asks for 2014, P03 and P04 are A23 and A18, and P09, P13 and P15 lie outside these
//! sections; a warning beside the owner's declaration in A27 is not given; B06's engineer's wish is no rule.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use support::Bench;

/// What the following lines of a case are judged with.
#[derive(Default)]
struct Setting {
    readings: Vec<String>,
    changes: Vec<(String, String)>,
}

impl Setting {
    fn facts(&self, name: &str, text: &str) -> String {
        self.changes.iter().fold(text.to_string(), |text, (old, new)| {
            assert!(text.contains(old.as_str()), "{name}: `{old}` does not stand in the facts");
            text.replace(old.as_str(), new)
        })
    }
}

/// The books opened so far, by their names.
#[derive(Default)]
struct Benches(BTreeMap<String, Bench>);

impl Benches {
    fn of(&mut self, book: &str) -> &Bench {
        self.0.entry(book.to_string()).or_insert_with(|| Bench::nec(book))
    }
}

/// Judges one case; returns what came out otherwise than written, and how many lines were checked.
fn judge(benches: &mut Benches, name: &str, text: &str) -> (Vec<String>, usize) {
    let facts: String = text.lines().filter(|l| !l.starts_with("#:")).map(|l| format!("{l}\n")).collect();
    let mut wrong = Vec::new();
    let mut checked = 0;
    let mut setting = Setting::default();
    let mut book = "2017".to_string();
    let mut report = benches.of(&book).inspect(name, &facts, &[]);
    for line in text.lines().filter_map(|l| l.strip_prefix("#:")).map(str::trim) {
        if let Some(under) = line.strip_prefix("under nec ") {
            book = under.to_string();
            setting = Setting::default();
        } else if let Some(reading) = line.strip_prefix("read ") {
            setting.readings = vec![reading.to_string()];
        } else if line.starts_with("instead ") || line.starts_with("also ") {
            let parts: Vec<&str> = line.split('`').collect();
            let [said, old, between, new, _] = parts.as_slice() else { panic!("{name}: cannot read `{line}`") };
            assert_eq!(between.trim(), "write", "{name}: {line}");
            if said.trim() == "instead" {
                setting = Setting::default();
            }
            setting.changes.push((old.to_string(), new.to_string()));
        } else {
            let (asked, expected) = line.rsplit_once(": ").unwrap_or_else(|| panic!("{name}: cannot read `{line}`"));
            let (section, subject) = asked.split_once(" of ").unwrap_or_else(|| panic!("{name}: {line}"));
            let came_out = match (section.split_once(' '), subject) {
                (Some((section, standing)), _) => vec![support::standing(&report, section, standing, subject)],
                (None, "any") => every(&report, section),
                (None, _) => vec![support::verdict(&report, section, subject)],
            };
            checked += 1;
            for came_out in came_out {
                if came_out != expected {
                    let with = setting.readings.join(" ");
                    let changes = setting.changes.iter().map(|(_, new)| format!(" with `{new}`")).collect::<String>();
                    wrong.push(format!(
                        "{name}: {asked}: expected {expected}, came out {came_out} under {book} {with}{changes}"
                    ));
                }
            }
            continue;
        }
        report = benches.of(&book).inspect(name, &setting.facts(name, &facts), &setting.readings);
    }
    (wrong, checked)
}

/// The verdicts of a section and all below it, whatever the subject.
fn every(report: &whereas::report::Inspection, section: &str) -> Vec<String> {
    let found: Vec<String> = report
        .verdicts
        .iter()
        .filter(|v| v.section.strip_prefix(section).is_some_and(|rest| rest.is_empty() || rest.starts_with('(')))
        .map(|v| v.verdict.clone())
        .collect();
    if found.is_empty() { vec!["no such verdict".to_string()] } else { found }
}

fn judge_group(prefix: &str) -> usize {
    let mut benches = Benches::default();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let mut wrong = Vec::new();
    let mut cases = 0;
    for file in files {
        let name = file.file_stem().unwrap().to_string_lossy().to_string();
        if !name.starts_with(prefix) {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.lines().any(|l| l.starts_with("# Source")), "{name} names no source");
        let (mine, checked) = judge(&mut benches, &name, &text);
        assert!(checked > 0, "{name} expects nothing");
        wrong.extend(mine);
        cases += 1;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    cases
}

#[test]
fn patient_care_spaces() {
    assert_eq!(judge_group("A"), 20);
}

#[test]
fn grounding_conductors() {
    assert_eq!(judge_group("B"), 9);
}

#[test]
fn supports_bends_and_ends() {
    assert_eq!(judge_group("D"), 6);
}

#[test]
fn working_space() {
    assert_eq!(judge_group("F"), 6);
}

#[test]
fn fill_and_ampacity() {
    assert_eq!(judge_group("E"), 6);
}

#[test]
fn protection_from_edition_to_edition() {
    assert_eq!(judge_group("C"), 7);
}

#[test]
fn believed_but_not_required() {
    assert_eq!(judge_group("G"), 6);
}

/// G03 and G08: what no rule asks for cannot be stated, and a count of receptacles decides nothing.
#[test]
fn habits_are_no_facts() {
    use whereas::diag::Code;
    use whereas::session::{FactsForm, Session};
    let (mut session, _) = Session::shipped();
    let (program, _) = session.open("nec 2023");
    for habit in ["ground-pin: down", "smoke-alarm-box-marked: no", "receptacles-on-circuit: 15"] {
        let facts = format!("branch-circuit C1 {{ {habit} }}\n");
        let (file, _) = session.read_facts("habit", facts.into_bytes(), FactsForm::Native);
        let (_, found) = session.install(&program, &[file]);
        assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::FactUnknownField], "{habit}");
    }
    // 180 VA for each yoke: ten are within 15 A at 120 V, eleven are not; thirteen within 20 A, fourteen not.
    let bench = Bench::nec("2014");
    let facts: String = [10, 11, 13, 14]
        .map(|n| format!("receptacle-plan n{n} {{ per-wall: 12 ft, walls: none, others: {n} }}\n"))
        .concat();
    let loads = bench.work("receptacle-load", &facts, &[]);
    let said: Vec<&str> = ["n10", "n11", "n13", "n14"].map(|n| loads[n].as_str()).to_vec();
    assert_eq!(said, ["1800 VA", "1980 VA", "2340 VA", "2520 VA"]);
}

#[test]
fn printings_and_errata() {
    assert_eq!(judge_group("H"), 1);
}

#[test]
fn traps() {
    assert_eq!(judge_group("P"), 9);
}
