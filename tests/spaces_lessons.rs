//! The lessons on placement and spaces give under each edition exactly what their header comments promise.
//!
//! They are the trainer's scenarios 12, 13, 14, 19 to 23, 26, 28 and 30 of a collection of changes, moved to invented
//! places; a promise is `all met`, `not met: SECTIONS`, `open: SECTION by READING`, or several joined by `; `. Under 2026
//! most of the answers rest on text carried unchecked.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use support::Bench;
use whereas::report::Inspection;

const YEARS: [&str; 5] = ["2014", "2017", "2020", "2023", "2026"];

fn lessons() -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples/spaces");
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "facts"));
    files.sort();
    files
}

/// The outcome in the words of a promise; a kind that was left out is an outcome of its own.
fn outcome(report: &Inspection) -> String {
    let mut not_met = BTreeSet::new();
    let mut open = BTreeSet::new();
    for verdict in &report.verdicts {
        match verdict.verdict.as_str() {
            "not met" => {
                not_met.insert(verdict.section.clone());
            }
            "undecided" | "for the authority" => {
                let by: BTreeSet<&str> = verdict.readings.iter().map(|r| r.reading.as_str()).collect();
                let by = by.into_iter().collect::<Vec<_>>().join(", ");
                let missing = verdict.missing.iter().map(|m| m.field.as_str()).collect::<Vec<_>>().join(", ");
                if verdict.lean != "no violation possible" {
                    open.insert(format!("{} by {by}{missing}", verdict.section));
                }
            }
            _ => {}
        }
    }
    let mut told = Vec::new();
    if !not_met.is_empty() {
        told.push(format!("not met: {}", not_met.into_iter().collect::<Vec<_>>().join(", ")));
    }
    if !open.is_empty() {
        told.push(format!("open: {}", open.into_iter().collect::<Vec<_>>().join(", ")));
    }
    for missing in &report.not_described {
        told.push(format!("not described: {}", missing.what));
    }
    if told.is_empty() { "all met".to_string() } else { told.join("; ") }
}

#[test]
fn each_edition_answers_as_promised() {
    let books: BTreeMap<&str, Bench> = YEARS.iter().map(|year| (*year, Bench::nec(year))).collect();
    let mut wrong = Vec::new();
    let files = lessons();
    assert_eq!(files.len(), 11);
    for file in files {
        let name = file.file_name().unwrap().to_string_lossy().to_string();
        let text = fs::read_to_string(&file).unwrap();
        let mut row = Vec::new();
        for year in YEARS {
            let head = format!("# Under nec {year}   ");
            let promised = text.lines().find_map(|l| l.strip_prefix(head.as_str()));
            let promised = promised.unwrap_or_else(|| panic!("{name} promises nothing under {year}"));
            let came_out = outcome(&books[year].inspect(&name, &text, &[]));
            if came_out != promised {
                wrong.push(format!("{name} under {year}: promised {promised}, came out {came_out}"));
            }
            row.push(format!("{year} {came_out}"));
        }
        println!("{name}: {}", row.join(" | "));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
