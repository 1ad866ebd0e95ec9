//! Amounts, series, values that depend on a case, tables read backwards: what they mean, how editions change them, and how
//! `work` tells them. The rules here are invented.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Code, Diagnostics, Look, render};
use whereas::report::{self, Worksheets, worksheet_text};
use whereas::session::{self, FactsForm, Session};

const BASE: &str = r#"
terms for demo "Demo"
choice metal { copper, aluminum }
scale size { 14 AWG < 12 AWG < 10 AWG < 8 AWG }
thing project { installation: date }
thing wire { size: size
    quantity: count, never negative }
thing crate where described "a crate" { wires: many wire
    lid: yes-no
    room: volume, never negative
    load: current, never negative
    metal: metal }
edition demo 1 "First"
table 5 by size: size, gives volume in in3 {
    14 AWG | 2
    12 AWG | 2.25
    10 AWG | 2.5
}
table 6 by size: size, across metal: metal, gives current in A {
           | copper | aluminum
    14 AWG | 15     | -
    12 AWG | 20     | 15
    10 AWG | 30     | 25
}
series 7 "Ratings" : current { 15 A, 20 A, 30 A }
define allowance of wire = table 5 at size
amount fill of crate : volume in in3, per 5(B) "Fill" {
    (1) each wire: quantity x allowance
    (2) 1 in3 if lid
    as rest: 0.5 in3                            memory
}
define device of crate, per 7 = next of series 7 at or above load
define below of crate = next of series 7 below load
define least of crate, per 6 = first row of table 6 across metal where at least load
define reach of crate = larger of load and 18 A
define either of crate = 2 A if lid, otherwise 3 A
reading depth of crate "How deep?", disputed "a against b" {
    a "one" = 1 ft
    b "two" = 2 ft
}
section 5 "Fill" {
    governs crate
    requires room at least fill
}
section 8 "Depth" {
    governs crate
    requires depth at least 1.5 ft
}
"#;

const CRATE: &str = "crate C { lid: yes, room: 10 in3, load: 16 A, metal: copper\nwires { a { size: 14 AWG, quantity: 2 }\nb { size: 12 AWG, quantity: 1 } } }\n";

struct Desk {
    session: Session,
    found: Diagnostics,
}

impl Desk {
    fn with(more: &str) -> Desk {
        let mut session = Session::empty();
        let found = session.add_rulebook("rules", format!("{BASE}{more}").into_bytes());
        Desk { session, found }
    }

    fn drawn(&self) -> String {
        render(&self.found, self.session.sources(), &Look::default())
    }

    fn work(mut self, book: &str, facts: &str, what: &str, readings: &[&str]) -> Worksheets {
        let (program, more) = self.session.open(book);
        self.found.extend(more);
        let (file, more) = self.session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
        self.found.extend(more);
        let (installation, more) = self.session.install(&program, &[file]);
        self.found.extend(more);
        let readings: Vec<String> = readings.iter().map(ToString::to_string).collect();
        let (choices, more) = session::choose(&program, &readings);
        self.found.extend(more);
        let (sheets, more) = self.session.work(&program, &installation, &choices, what);
        self.found.extend(more);
        assert!(self.found.is_empty(), "{}", self.drawn());
        sheets.unwrap()
    }

    fn verdict(mut self, facts: &str, section: &str) -> String {
        let (program, _) = self.session.open("demo 1");
        let (file, _) = self.session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
        let (installation, _) = self.session.install(&program, &[file]);
        let (choices, _) = session::choose(&program, &[]);
        let report = report::inspection(&program, &installation, &choices);
        report.verdicts.into_iter().find(|v| v.section == section).unwrap().verdict
    }
}

fn value(facts: &str, what: &str) -> String {
    let sheets = Desk::with("").work("demo 1", facts, what, &[]);
    assert_eq!(sheets.worksheets.len(), 1);
    sheets.worksheets[0].value.clone()
}

/// The crate with other words in place of some.
fn instead(old: &str, new: &str) -> String {
    assert!(CRATE.contains(old));
    CRATE.replace(old, new)
}

#[test]
fn lines_add_up_and_cases_count_nothing() {
    assert_eq!(value(CRATE, "fill"), "7.75 in3");
    assert_eq!(value(&instead("lid: yes", "lid: no"), "fill"), "6.75 in3");
    assert_eq!(value(&instead("lid: yes, ", ""), "fill"), "at least 6.75 in3 and at most 7.75 in3");
    assert_eq!(value(&instead("quantity: 1", "quantity: 1 through 2"), "fill"), "at least 7.75 in3 and at most 10 in3");
    assert_eq!(
        value(&instead("size: 12 AWG", "size: 14 AWG or 12 AWG"), "fill"),
        "at least 7.5 in3 and at most 7.75 in3"
    );
    // 8 AWG stands in no row.
    assert_eq!(value(&instead("size: 12 AWG", "size: 8 AWG"), "fill"), "the book does not say");
    assert_eq!(value("crate C { lid: yes, wires: none }", "fill"), "1.5 in3");
    assert_eq!(
        value("crate C { lid: yes, wires { and maybe more } }", "fill"),
        "at least 1.5 in3, or the book does not say"
    );
}

#[test]
fn an_interval_decides_where_it_can() {
    let verdict = |facts: &str| Desk::with("").verdict(facts, "5");
    assert_eq!(verdict(CRATE), "met");
    assert_eq!(verdict(&instead("lid: yes, room: 10 in3", "room: 8 in3")), "met");
    assert_eq!(verdict(&instead("lid: yes, room: 10 in3", "room: 7 in3")), "undecided");
    assert_eq!(verdict(&instead("lid: yes, room: 10 in3", "room: 6 in3")), "not met");
    // At least as much is enough.
    assert_eq!(verdict(&instead("room: 10 in3", "room: 7.75 in3")), "met");
}

#[test]
fn standard_values() {
    assert_eq!(value(CRATE, "device"), "20 A");
    assert_eq!(value(&instead("load: 16 A", "load: 20 A"), "device"), "20 A");
    assert_eq!(value(&instead("load: 16 A", "load: 20.001 A"), "device"), "30 A");
    assert_eq!(value(&instead("load: 16 A", "load: 31 A"), "device"), "the book does not say");
    assert_eq!(value(&instead("load: 16 A", "load: 16 A through 19 A"), "device"), "20 A");
    assert_eq!(value(&instead("load: 16 A", "load: 14 A through 19 A"), "device"), "at least 15 A and at most 20 A");
    assert_eq!(value(&instead("load: 16 A", "load: more than 20 A and at most 30 A"), "device"), "30 A");
    assert_eq!(
        value(&instead("load: 16 A", "load: at least 16 A"), "device"),
        "at least 20 A and at most 30 A, or the book does not say"
    );
    assert_eq!(value(CRATE, "below"), "15 A");
    assert_eq!(value(&instead("load: 16 A", "load: 20 A"), "below"), "15 A");
    assert_eq!(value(&instead("load: 16 A", "load: 15 A"), "below"), "the book does not say");
}

#[test]
fn tables_backwards() {
    assert_eq!(value(CRATE, "least"), "12 AWG");
    assert_eq!(value(&instead("metal: copper", "metal: aluminum"), "least"), "10 AWG");
    assert_eq!(value(&instead("load: 16 A", "load: 15 A"), "least"), "14 AWG");
    // `-` is large enough for nothing.
    assert_eq!(value(&instead("load: 16 A, metal: copper", "load: 1 A, metal: aluminum"), "least"), "12 AWG");
    assert_eq!(value(&instead("load: 16 A", "load: 31 A"), "least"), "the book does not say");
    assert_eq!(value(&instead(", metal: copper", ""), "least"), "12 AWG or 10 AWG");
    assert_eq!(value(&instead("load: 16 A", "load: 14 A through 20 A"), "least"), "14 AWG or 12 AWG");
}

#[test]
fn cases_and_the_larger_of_two() {
    assert_eq!(value(CRATE, "reach"), "18 A");
    assert_eq!(value(&instead("load: 16 A", "load: 10 A through 20 A"), "reach"), "at least 18 A and at most 20 A");
    assert_eq!(value(CRATE, "either"), "2 A");
    assert_eq!(value(&instead("lid: yes, ", ""), "either"), "at least 2 A and at most 3 A");
}

#[test]
fn disputed_values() {
    let sheets = Desk::with("").work("demo 1", CRATE, "depth", &[]);
    let sheet = &sheets.worksheets[0];
    assert_eq!(sheet.value, "at least 1 ft and at most 2 ft");
    let under: Vec<(&str, &str)> = sheet.readings.iter().map(|u| (u.option.as_str(), u.value.as_str())).collect();
    assert_eq!(under, [("a", "1 ft"), ("b", "2 ft")]);
    let sheets = Desk::with("").work("demo 1", CRATE, "depth", &["depth=b"]);
    assert_eq!(sheets.worksheets[0].value, "2 ft");
    assert_eq!(Desk::with("").verdict(CRATE, "8"), "undecided");
}

#[test]
fn what_is_missing_is_named() {
    let sheets = Desk::with("").work("demo 1", &instead("lid: yes, ", ""), "fill", &[]);
    let sheet = &sheets.worksheets[0];
    assert!(!sheets.known && !sheet.known);
    let missing: Vec<&str> = sheet.missing.iter().map(|m| m.field.as_str()).collect();
    assert_eq!(missing, ["lid"]);
}

#[test]
fn asked_by_section_table_or_series() {
    let names = |what: &str| -> Vec<String> {
        Desk::with("").work("demo 1", CRATE, what, &[]).worksheets.into_iter().map(|w| w.name).collect()
    };
    assert_eq!(names("5(B)"), ["fill"]);
    // A section and a table with one number.
    assert_eq!(names("5"), ["fill", "allowance", "allowance"]);
    assert_eq!(names("table 5"), ["allowance", "allowance"]);
    assert_eq!(names("table 6"), ["least"]);
    assert_eq!(names("series 7"), ["device", "below"]);
    assert_eq!(names("8"), ["depth"]);
}

#[test]
fn nothing_to_work() {
    let mut desk = Desk::with("");
    let (program, _) = desk.session.open("demo 1");
    let (file, _) = desk.session.read_facts("facts", b"project \"P\" {}".to_vec(), FactsForm::Native);
    let (installation, _) = desk.session.install(&program, &[file]);
    let (choices, _) = session::choose(&program, &[]);
    for (what, code, help) in [
        ("fil", Code::NothingWorkedOut, "fill"),
        ("fill", Code::NothingToWorkFor, "crate"),
        ("", Code::NothingWorkedOut, ""),
    ] {
        let (sheets, found) = desk.session.work(&program, &installation, &choices, what);
        assert!(sheets.is_none());
        assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [code]);
        assert!(found.iter().all(|d| d.help.as_deref().is_some_and(|h| h.contains(help))), "{what}");
    }
}

#[test]
fn records_are_not_waited_for() {
    // A thing never mentioned may exist; one that is asked for only where described is told as not looked at.
    let mut desk = Desk::with("");
    let (program, _) = desk.session.open("demo 1");
    let (file, _) = desk.session.read_facts("facts", b"project \"P\" {}".to_vec(), FactsForm::Native);
    let (installation, _) = desk.session.install(&program, &[file]);
    let (choices, _) = session::choose(&program, &[]);
    let report = report::inspection(&program, &installation, &choices);
    assert!(report.verdicts.is_empty() && report.not_described.is_empty());
    assert_eq!(report.not_looked_at, ["crate"]);
}

// ------------------------------------------------------------------------------------------------ editions

fn under_two(changes: &str, what: &str) -> String {
    let more = format!("edition demo 2 follows demo 1 {{\n{changes}\n}}\n");
    Desk::with(&more).work("demo 2", CRATE, what, &[]).worksheets[0].value.clone()
}

#[test]
fn editions_change_lines_and_values() {
    assert_eq!(under_two("in 5(B)(2): was 1 in3 if lid, now 3 in3 if lid", "fill"), "9.75 in3");
    assert_eq!(under_two("in fill(2): was 1 in3 if lid, now 3 in3", "fill"), "9.75 in3");
    assert_eq!(under_two("in rest: was 0.5 in3, now 1 in3", "fill"), "8.25 in3");
    assert_eq!(under_two("in fill: add line (3) as new: each wire where size is 12 AWG: 10 in3", "fill"), "17.75 in3");
    assert_eq!(under_two("in 5(B): strike (2)", "fill"), "6.75 in3");
    assert_eq!(under_two("in either: was 2 A if lid, otherwise 3 A, now 4 A if lid, otherwise 5 A", "either"), "4 A");
    assert_eq!(under_two("in series 7: add 17.5 A", "device"), "17.5 A");
    assert_eq!(under_two("in series 7: strike 20 A", "device"), "30 A");
    assert_eq!(under_two("renumber table 6 as 60", "least"), "12 AWG");
    assert_eq!(under_two("delete either\nadd define either of crate = 7 A", "either"), "7 A");
    assert_eq!(under_two("carry fill, table 5, series 7, 5 unchecked", "fill"), "7.75 in3");
}

#[test]
fn changes_say_what_they_expect() {
    for (change, code, words) in [
        ("in 5(B)(2): was 2 in3 if lid, now 3 in3 if lid", Code::OldValueDiffers, "1 in3 if lid"),
        ("in 5(B)(9): was 2 in3, now 3 in3", Code::NoSuchTarget, "5(B)"),
        ("in 5: was 2 in3, now 3 in3", Code::NoSuchTarget, "neither a line of an amount nor a definition"),
        ("in fill: add line (2) 1 in3", Code::NumberTaken, "already has a line (2)"),
        ("in 8: add line (2) 1 in3", Code::NoSuchTarget, "not an amount"),
        ("in series 7: add 15 A", Code::NumberTaken, "already has 15 A"),
        ("in series 7: strike 16 A", Code::NoSuchTarget, "has no 16 A"),
        ("in series 9: add 16 A", Code::NoSuchTarget, "series 9"),
        ("carry table 9 unchecked", Code::NoSuchTarget, "table 9"),
        ("in either: was 1 A, now 2 A", Code::OldValueDiffers, "worked out otherwise"),
    ] {
        let mut desk = Desk::with(&format!("edition demo 2 follows demo 1 {{\n{change}\n}}\n"));
        desk.found.extend(desk.session.open("demo 2").1);
        let codes: Vec<Code> = desk.found.iter().map(|d| d.code).collect();
        assert_eq!(codes, [code], "{change}: {}", desk.drawn());
        assert!(desk.drawn().contains(words), "{change}: {}", desk.drawn());
    }
}

#[test]
fn history_tells_the_line() {
    let desk =
        Desk::with("edition demo 2 follows demo 1 {\nin 5(B)(2): was 1 in3 if lid, now 3 in3 if lid seen \"k\"\n}\n");
    let (composed, found) = desk.session.compose("demo 2");
    assert!(found.is_empty());
    let told: Vec<String> = composed.history_of("5(B)").iter().map(|(at, e)| format!("{at}: {}", e.what)).collect();
    assert_eq!(told, ["5(B)(2): was worked out as 1 in3 if lid, now as 3 in3 if lid"]);
}

#[test]
fn the_page_ends_in_the_caution() {
    let sheets = Desk::with("").work("demo 1", CRATE, "fill", &[]);
    let text = worksheet_text(&sheets, &Look::default());
    let wanted = "\
Worked out under demo 1 (First)

fill of C, Fill   5(B)
  7.75 in3
";
    assert!(text.starts_with(wanted), "{text}");
    assert!(text.contains("2 x 2 in3 + 1 x 2.25 in3 = 6.25 in3"), "{text}");
    assert!(text.trim_end().ends_with("persons do the work."), "{text}");
    let narrow = worksheet_text(&sheets, &Look { width: 40, ..Look::default() });
    assert!(narrow.lines().all(|line| line.chars().count() <= 60), "{narrow}");
}
