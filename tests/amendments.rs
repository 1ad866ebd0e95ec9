//! Amendments found in public law, each written as an overlay on a small base book, with installations whose verdicts flip.
//!
//! `tests/amendments/base/` holds the base: short paragraphs in our own words, editions 2005 to 2023. Each file of
//! `tests/amendments/rows/` is one amendment: a heading with its key and its citation, a paragraph that paraphrases it, a
//! block `rulebook` with the overlay, and for each installation a block `facts` followed by a block `expect` whose lines
//! are `BOOK: SECTION VERDICT`; a book may be `in PLACE`, which the facts then select. `SECTION absent` says that the book demands nothing there. What is not written, and why, is
//! in `not-written.md`. The rows are historical: none is presented as law in force.
#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use whereas::diag::{Diagnostics, Look, render};
use whereas::report;
use whereas::session::{self, FactsForm, Session};

/// At least so many rows of the collection are written whose verdicts flip, besides those of other documents.
const WRITTEN: usize = 45;

/// The rows of the collection: A01 to A63.
const ROWS: std::ops::RangeInclusive<usize> = 1..=63;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/amendments")
}

fn base() -> Session {
    let mut session = Session::empty();
    for name in ["terms", "2005", "later"] {
        let text = std::fs::read(folder().join(format!("base/{name}.rulebook"))).unwrap();
        let found = session.add_rulebook(&format!("base/{name}.rulebook"), text);
        assert!(found.is_empty(), "{}", drawn(&session, &found));
    }
    session
}

#[test]
fn the_base_opens_without_complaint() {
    let session = base();
    for edition in session.editions() {
        let (_, found) = session.open(&format!("{} {}", edition.family, edition.year));
        assert!(found.is_empty(), "{}", drawn(&session, &found));
    }
}

fn drawn(session: &Session, found: &Diagnostics) -> String {
    render(found, session.sources(), &Look::default())
}

struct Block {
    reads: String,
    text: String,
}

struct Row {
    key: String,
    page: String,
    blocks: Vec<Block>,
}

fn rows() -> Vec<Row> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(folder().join("rows")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
        .into_iter()
        .map(|file| {
            let page = std::fs::read_to_string(&file).unwrap();
            let mut blocks = Vec::new();
            let mut lines = page.lines();
            while let Some(line) = lines.next() {
                let Some(reads) = line.strip_prefix("```") else { continue };
                let text = lines.by_ref().take_while(|line| *line != "```").map(|line| format!("{line}\n")).collect();
                blocks.push(Block { reads: reads.to_string(), text });
            }
            Row { key: file.file_stem().unwrap().to_str().unwrap().to_string(), page, blocks }
        })
        .collect()
}

/// What a section says of an installation under a book.
fn verdict(session: &Session, under: &str, facts: &str, section: &str) -> Result<String, String> {
    let mut session = session.clone();
    if let Some(place) = under.strip_prefix("in ") {
        return verdict_in(&mut session, place, facts, section);
    }
    let with: Vec<&str> = under.split_once(" with ").map_or_else(Vec::new, |(_, names)| names.split(", ").collect());
    let known = |line: &&str| line.split_once("#! ").is_none_or(|(_, name)| with.contains(&name));
    let facts: String = facts.lines().filter(known).map(|line| format!("{line}\n")).collect();
    let (program, mut found) = session.open(under);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    if found.has_errors() {
        return Err(drawn(&session, &found));
    }
    let (choices, _) = session::choose(&program, &[]);
    Ok(said(&report::inspection(&program, &installation, &choices), section))
}

/// The same under whatever governs in a place.
fn verdict_in(session: &mut Session, place: &str, facts: &str, section: &str) -> Result<String, String> {
    let (file, mut found) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let mut files = vec![file];
    let asked = session::Asked { place: Some(place.to_string()), ..session::Asked::default() };
    let (selection, more) = session.govern(&asked, &mut files);
    found.extend(more);
    let inspected = selection.map(|selection| session.inspect_governed(&selection, &files, &[]));
    match inspected {
        Some((Some(report), more)) if !found.has_errors() && !more.has_errors() => Ok(said(&report, section)),
        Some((_, more)) => Err(drawn(session, &found) + &drawn(session, &more)),
        None => Err(drawn(session, &found)),
    }
}

fn said(report: &report::Inspection, section: &str) -> String {
    let own: Vec<&str> = report.verdicts.iter().filter(|v| v.section == section).map(|v| v.verdict.as_str()).collect();
    // A section may ask several things: one that is not met decides, then one that is open.
    let worst = ["not met", "undecided", "for the authority", "met"];
    let found = worst.iter().find(|wanted| own.contains(wanted)).copied().or(own.first().copied());
    found.unwrap_or("absent").to_string()
}

/// Every amendment is written in a few lines, none of which restates what it leaves alone.
#[test]
fn every_row_flips_a_verdict() {
    let mut wrong = String::new();
    let mut written = 0;
    let base = base();
    for row in rows() {
        let mut session = base.clone();
        let mut names: BTreeSet<String> = BTreeSet::new();
        let mut flips = 0;
        let mut facts = String::new();
        let mut verdicts = 0;
        for block in &row.blocks {
            match block.reads.as_str() {
                "rulebook" => {
                    let found = session.add_rulebook(&format!("{}.rulebook", row.key), block.text.clone().into_bytes());
                    if !found.is_empty() {
                        wrong += &format!("{}: {}", row.key, drawn(&session, &found));
                    }
                }
                "facts" => facts.clone_from(&block.text),
                "expect" => {
                    let mut seen: BTreeSet<String> = BTreeSet::new();
                    let mut books: BTreeSet<&str> = BTreeSet::new();
                    for line in block.text.lines() {
                        let (book, said) = line.split_once(": ").unwrap_or_else(|| panic!("{}: {line}", row.key));
                        let (section, wanted) = said.split_once(' ').unwrap_or_else(|| panic!("{}: {line}", row.key));
                        names.extend(book.split_once(" with ").map(|(_, names)| names.to_string()));
                        verdicts += 1;
                        match verdict(&session, book, &facts, section) {
                            Ok(found) if found == wanted => {}
                            Ok(found) => wrong += &format!("{}: {line}, but it is {found}\n", row.key),
                            Err(text) => wrong += &format!("{}: {line}\n{text}", row.key),
                        }
                        seen.insert(said.to_string());
                        books.insert(book);
                    }
                    if books.len() > 1 && seen.len() > 1 {
                        flips += 1;
                    }
                }
                other => wrong += &format!("{}: what is a block `{other}`?\n", row.key),
            }
        }
        if !row.page.starts_with(&format!("# {} ", row.key)) {
            wrong += &format!("{}: the heading does not name the row\n", row.key);
        }
        if row.page.contains("No verdict flips: ") {
            if flips > 0 {
                wrong += &format!("{}: a verdict flips, though none should\n", row.key);
            }
        } else {
            if flips == 0 || verdicts < 2 {
                wrong += &format!("{}: no verdict flips\n", row.key);
            }
            written += usize::from(row.key.starts_with('A'));
        }
        for name in names {
            let under = row.blocks.iter().filter(|b| b.reads == "expect").flat_map(|b| b.text.lines());
            let under = under.filter_map(|l| l.split_once(": ")).map(|(book, _)| book).find(|b| b.ends_with(&name));
            let (composed, _) = session.compose(under.unwrap());
            for one in name.split(", ") {
                if !composed.history.values().flatten().any(|event| event.document == one) {
                    wrong += &format!("{}: the history does not tell of {one}\n", row.key);
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(written >= WRITTEN, "{written} rows are written");
}

/// Every row that is not written says in one line why.
#[test]
fn rows_not_written_say_why() {
    let page = std::fs::read_to_string(folder().join("not-written.md")).unwrap();
    let written: BTreeSet<String> = rows().into_iter().map(|row| row.key).collect();
    let mut told: BTreeSet<String> = BTreeSet::new();
    for line in page.lines().filter_map(|line| line.strip_prefix("- ")) {
        let (key, why) = line.split_once(": ").unwrap_or_else(|| panic!("{line}"));
        assert!(why.len() > 20, "{key} says too little");
        assert!(!written.contains(key), "{key} is written");
        told.insert(key.to_string());
    }
    let all = ROWS.map(|number| format!("A{number:02}"));
    let silent: Vec<String> = all.filter(|key| !written.contains(key) && !told.contains(key)).collect();
    assert!(silent.is_empty(), "neither written nor given a reason: {silent:?}");
}

/// The guide to amendments is true: each of its lines is one change to its book, without any complaint, and leaves a trace.
#[test]
fn the_guide_is_true() {
    let page = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("rulebooks/AMENDMENTS.md")).unwrap();
    let mut blocks = page.split("```rulebook\n").skip(1).map(|rest| rest.split("```").next().unwrap().to_string());
    let (shown, book) = (blocks.next().unwrap(), blocks.next().unwrap());
    let mut wrong = String::new();
    let mut lines = 0;
    let cells = page.lines().filter_map(|line| line.strip_prefix("| ")?.strip_suffix("` |")?.split_once(" | `"));
    for (wanted, change) in std::iter::once(("shown", shown.as_str())).chain(cells) {
        let overlay = match wanted {
            "shown" => change.to_string(),
            // On one line a comma stands for the end of a statement.
            _ => format!(
                "amendment harbor-2021 to demo 2020 {{\n{}\n}}",
                change.replace("outlet, requires", "outlet\nrequires")
            ),
        };
        let mut session = Session::empty();
        let mut found = session.add_rulebook("guide", book.clone().into_bytes());
        found.extend(session.add_rulebook("change", overlay.into_bytes()));
        let under = "demo 2020 with harbor-2021";
        found.extend(session.open(under).1);
        if !found.is_empty() {
            wrong += &format!("{wanted}: {}", drawn(&session, &found));
        }
        let (composed, _) = session.compose(under);
        let told = composed.history.values().flatten().any(|event| event.document == "harbor-2021");
        if !told && !change.starts_with("fact ") {
            wrong += &format!("{wanted}: leaves no trace\n");
        }
        lines += 1;
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(lines > 50, "{lines}");
}

/// A text in words and in what stands between them.
fn words(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for c in text.chars() {
        let word = c.is_alphanumeric() || c == '-' || c == '.';
        match all.last_mut() {
            Some(last) if word && last.chars().all(|l| l.is_alphanumeric() || l == '-' || l == '.') => last.push(c),
            _ => all.push(c.to_string()),
        }
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 80, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is done to an overlay, it is composed or refused with a place or an advice; nothing panics.
    #[test]
    fn overlays_with_words_moved(which in any::<prop::sample::Index>(), moves in prop::collection::vec(any::<(u8, prop::sample::Index, prop::sample::Index)>(), 1..4)) {
        let rows = rows();
        let row = &rows[which.index(rows.len())];
        let text = &row.blocks.iter().find(|b| b.reads == "rulebook").unwrap().text;
        let mut all = words(text);
        for (how, a, b) in moves {
            let (a, b) = (a.index(all.len()), b.index(all.len()));
            match how % 4 {
                0 if all.len() > 1 => drop(all.remove(a)),
                1 => all.insert(b, all[a].clone()),
                2 => all.swap(a, b),
                _ => all[a] = all[b].clone(),
            }
        }
        let mut session = base();
        let mut found = session.add_rulebook("overlay", all.concat().into_bytes());
        let expected = row.blocks.iter().filter(|b| b.reads == "expect").flat_map(|b| b.text.lines());
        for book in expected.filter_map(|l| l.split_once(": ")).map(|(book, _)| book).collect::<BTreeSet<_>>() {
            found.extend(session.open(book).1);
        }
        for one in found.iter() {
            prop_assert!(one.place().is_some() || one.help.is_some(), "{:?}", one);
            // What a change refuses, it refuses with two places or an advice.
            let change = one.code.as_str().starts_with("E07");
            prop_assert!(!change || one.labels.len() > 1 || one.help.is_some(), "{:?}", one);
        }
    }
}
