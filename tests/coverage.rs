//! What the shipped rulebooks cover: the table in `rulebooks/README.md` is made from the books and from
//! `rulebooks/coverage.tsv`, which says what is left out, and both are held to what the books hold.
//!
//! WHEREAS_BLESS=1 writes the table anew.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;
mod support;

use common::{blessing, difference, root};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use support::{Bench, rows};
use whereas::base::source::Sources;
use whereas::ir::program::{Mark, OriginId, Program};
use whereas::session::Session;

const YEARS: [&str; 5] = ["2014", "2017", "2020", "2023", "2026"];
const LEFT_OUT: &str = include_str!("../rulebooks/coverage.tsv");

/// Something written in a book under a number: a duty, a permission, a definition, a kind, a table or a series.
struct Part {
    address: String,
    unchecked: bool,
}

fn unchecked(program: &Program, origin: OriginId) -> bool {
    program.origin(origin).marks.iter().any(|mark| matches!(mark, Mark::Unchecked(_)))
}

/// What a book holds, each number once for each thing written under it.
fn parts(program: &Program) -> Vec<Part> {
    let mut found = Vec::new();
    let carried: BTreeSet<&str> = program
        .sections
        .iter()
        .filter(|s| s.marks.iter().any(|m| matches!(m, Mark::Unchecked(_))))
        .map(|s| s.address.as_str())
        .collect();
    let in_carried = |address: &str| carried.iter().any(|c| within(c, address));
    let mut add = |address: &str, own: bool| {
        // Which column of table 4 is meant is a table of ours.
        if address.starts_with(|c: char| c.is_ascii_digit()) && address != "4-columns" {
            found.push(Part { address: address.to_string(), unchecked: own || in_carried(address) });
        }
    };
    for duty in &program.duties {
        add(&duty.address, unchecked(program, duty.origin));
    }
    for permission in &program.permissions {
        add(&permission.address, false);
    }
    for table in &program.tables {
        add(&table.address, unchecked(program, table.origin));
    }
    for series in &program.series {
        add(&series.address, unchecked(program, series.origin));
    }
    for formula in &program.formulas {
        add(&formula.cite, unchecked(program, formula.origin));
    }
    for kind in &program.kinds {
        add(&kind.cite, unchecked(program, kind.origin));
    }
    found
}

fn within(outer: &str, inner: &str) -> bool {
    inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
}

/// `210.8` of `210.8(A)(1)`; tables of chapter 9 have bare numbers.
fn section(address: &str) -> String {
    let number = address.split('(').next().unwrap();
    match number {
        "100" => "Article 100".to_string(),
        _ if number.contains('.') => number.to_string(),
        _ => format!("Chapter 9, table {number}"),
    }
}

/// By article and number, not by letters.
fn order(section: &str) -> (u32, u32, String) {
    // Chapter 9 stands behind the articles.
    let last = section.rsplit(' ').next().unwrap();
    let (article, number) = section.split_once('.').unwrap_or(if last == "100" { (last, "0") } else { ("2000", last) });
    (article.parse().unwrap_or(0), number.parse().unwrap_or(0), section.to_string())
}

/// What one edition holds of one section: how many paragraphs, and how many of them were carried unchecked.
#[derive(Default, Clone)]
struct Held {
    paragraphs: BTreeSet<String>,
    unchecked: BTreeSet<String>,
}

fn held(program: &Program) -> BTreeMap<String, Held> {
    let mut found: BTreeMap<String, Held> = BTreeMap::new();
    for part in parts(program) {
        let held = found.entry(section(&part.address)).or_default();
        held.paragraphs.insert(part.address.clone());
        if part.unchecked {
            held.unchecked.insert(part.address);
        }
    }
    found
}

struct Book {
    name: String,
    program: Program,
}

fn books() -> (Vec<Book>, Sources) {
    let (session, found) = Session::shipped();
    assert!(found.is_empty());
    let names = YEARS.iter().map(|year| format!("nec {year}"));
    let books = names.map(|name| Book { program: session.open(&name).0, name }).collect();
    (books, session.sources().clone())
}

/// What `coverage.tsv` says is left out: by section, what, and whether any of it is there.
fn left_out() -> BTreeMap<String, (bool, String)> {
    rows(LEFT_OUT)
        .iter()
        .map(|row| {
            let [section, state, what] = row.as_slice() else { panic!("{row:?}") };
            assert!(matches!(*state, "partial" | "not encoded") && what.len() > 5, "{row:?}");
            (section.to_string(), (*state == "partial", what.to_string()))
        })
        .collect()
}

fn cell(held: Option<&Held>, partial: bool) -> String {
    let Some(held) = held else { return "-".to_string() };
    let count = held.paragraphs.len();
    if held.unchecked.len() == count {
        format!("unknown {count}")
    } else if !held.unchecked.is_empty() {
        format!("{} {count}, unknown {}", if partial { "partial" } else { "encoded" }, held.unchecked.len())
    } else {
        format!("{} {count}", if partial { "partial" } else { "encoded" })
    }
}

fn coverage() -> String {
    let (books, _) = books();
    let by_year: Vec<BTreeMap<String, Held>> = books.iter().map(|book| held(&book.program)).collect();
    let left_out = left_out();
    let mut sections: BTreeSet<(u32, u32, String)> =
        by_year.iter().flat_map(|held| held.keys()).map(|section| order(section)).collect();
    sections.extend(left_out.keys().map(|section| order(section)));
    let mut table =
        String::from("| section | 2014 | 2017 | 2020 | 2023 | 2026 | left out |\n|---|---|---|---|---|---|---|\n");
    for (_, _, section) in sections {
        let gap = left_out.get(&section);
        write!(table, "| {section} |").unwrap();
        for held in &by_year {
            let said = match (held.get(&section), gap) {
                (None, Some((false, _))) => "not encoded".to_string(),
                (there, gap) => cell(there, gap.is_some_and(|(partial, _)| *partial)),
            };
            write!(table, " {said} |").unwrap();
        }
        writeln!(table, " {} |", gap.map_or("", |(_, what)| what)).unwrap();
    }
    table.push_str("\n| section of 29 CFR | 1910 Subpart S | 1926 Subpart K |\n|---|---|---|\n");
    let [general, sites] = ["osha 1910-s", "osha 1926-k"].map(|book| held(&Bench::open(book).program));
    let sections: BTreeSet<(u32, u32, String)> =
        general.keys().chain(sites.keys()).filter(|s| s.starts_with("19")).map(|s| order(s)).collect();
    for (_, _, section) in sections {
        writeln!(table, "| {section} | {} | {} |", cell(general.get(&section), true), cell(sites.get(&section), true))
            .unwrap();
    }
    table
}

const BEGINS: &str = "<!-- coverage: written by tests/coverage.rs -->\n";
const ENDS: &str = "<!-- end of coverage -->\n";

#[test]
fn the_readme_tells_what_is_covered() {
    let path = root().join("rulebooks/README.md");
    let readme = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = readme.split_once(BEGINS).unwrap();
    let (_, after) = rest.split_once(ENDS).unwrap();
    let fresh = format!("{before}{BEGINS}{}{ENDS}{after}", coverage());
    if fresh != readme {
        if blessing() {
            std::fs::write(path, fresh).unwrap();
        } else {
            panic!("{}", difference("rulebooks/README.md", &readme, &fresh));
        }
    }
}

#[test]
fn what_is_left_out_is_out_and_what_is_partial_is_there() {
    let (books, _) = books();
    for (section, (partial, what)) in left_out() {
        let somewhere =
            books.iter().any(|book| parts(&book.program).iter().any(|part| within(&section, &part.address)));
        assert_eq!(somewhere, partial, "{section}: {what}");
    }
}

/// A paragraph is a number under which something is required, permitted, defined or tabulated.
#[test]
fn paragraphs_are_many() {
    let (books, _) = books();
    let mut all: BTreeSet<String> = BTreeSet::new();
    for book in &books {
        let own: BTreeSet<String> = parts(&book.program).into_iter().map(|part| part.address).collect();
        println!("{}: {} paragraphs", book.name, own.len());
        assert!(own.len() >= 150, "{}: {}", book.name, own.len());
        all.extend(own);
    }
    println!("all editions: {} paragraphs", all.len());
    // As public law says it, in a family of its own.
    let law: usize = ["osha 1910-s", "osha 1926-k"].map(|book| parts(&Bench::open(book).program).len()).iter().sum();
    assert!(law >= 30, "{law}");
}

/// What stands at a place, to the end of its block, without marks and the shape of its lines.
fn text(program: &Program, sources: &Sources, origin: OriginId) -> String {
    let span = program.origin(origin).span;
    let rest = &sources.get(span.source).unwrap().text[span.start as usize..];
    let mut depth = 0i32;
    let mut end = rest.len();
    for (at, letter) in rest.char_indices() {
        match letter {
            '{' | '(' => depth += 1,
            '}' | ')' => depth -= 1,
            '\n' if depth <= 0 && !rest[..at].trim_end().ends_with(',') => {
                end = at;
                break;
            }
            _ => {}
        }
    }
    let lines = rest[..end].lines().map(|line| {
        let line = line.split("  seen ").next().unwrap().split("  memory").next().unwrap();
        line.split("  disputed ").next().unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
    });
    lines.collect::<Vec<_>>().join(" ")
}

/// Duties by number and name, as sets of what each asks and when; and definitions, kinds and tables.
fn told(program: &Program, sources: &Sources, of: impl Fn(&str) -> bool) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let from = |origin: OriginId| sources.get(program.origin(origin).span.source).is_some_and(|s| of(&s.name));
    for duty in &program.duties {
        if from(duty.origin) {
            let reliefs: Vec<&str> = duty.reliefs.iter().map(|r| program.origin(r.origin).words.as_str()).collect();
            let told = format!(
                "{:?} {} when {} unless {reliefs:?}",
                duty.force,
                text(program, sources, duty.origin),
                program.test_origin(duty.applies).words
            );
            found.entry(format!("{} {}", duty.address, duty.name)).or_default().insert(told);
        }
    }
    for formula in &program.formulas {
        if from(formula.origin) {
            let told = format!("{} {}", formula.cite, text(program, sources, formula.origin));
            found.entry(format!("define {}", formula.name)).or_default().insert(told);
        }
    }
    for kind in &program.kinds {
        if from(kind.origin) {
            let told = format!("{} {}", kind.cite, text(program, sources, kind.origin));
            found.entry(format!("kind {}", kind.name)).or_default().insert(told);
        }
    }
    for table in &program.tables {
        if from(table.origin) {
            found.entry(format!("table {}", table.address)).or_default().insert(format!("{:?}", table.rows));
        }
    }
    found
}

/// A later edition writes down what it changed and nothing else: what is written anew in its own files differs from what stood there.
#[test]
fn no_edition_restates_what_did_not_change() {
    let (books, sources) = books();
    let mut anew = 0;
    for pair in books.windows(2) {
        let [before, after] = pair else { panic!() };
        let year = after.name.strip_prefix("nec ").unwrap();
        let stood = told(&before.program, &sources, |_| true);
        for (what, said) in told(&after.program, &sources, |file| file.contains(&format!("/{year}"))) {
            anew += 1;
            assert_ne!(stood.get(&what), Some(&said), "{} restates {what}", after.name);
        }
    }
    assert!(anew > 50, "{anew}");
}

/// The text of an edition that only changes things stays in proportion to its changes.
#[test]
fn changes_are_short() {
    let text = |year: &str| -> String {
        whereas::session::RULEBOOKS
            .iter()
            .filter(|(name, _)| name.contains(&format!("/{year}")))
            .map(|(_, text)| {
                text.lines().filter(|l| !l.trim_start().starts_with('#')).collect::<Vec<_>>().join("\n") + "\n"
            })
            .collect()
    };
    let base = text("2014").len();
    for year in &YEARS[1..] {
        let changes = text(year);
        // A change begins a line at the first level of an edition or amendment.
        let count = changes
            .lines()
            .filter(|l| l.starts_with("    ") && !l.starts_with("     ") && !l.starts_with("    }"))
            .count();
        assert!(changes.len() * 4 < base, "{year}: {} bytes of {base}", changes.len());
        assert!(changes.len() < count * 300, "{year}: {} bytes for {count} changes", changes.len());
    }
}
