//! Books side by side. The rules here are invented; only the comparison is tested.
#![allow(clippy::unwrap_used)]

use whereas::compare::markup::Fate;
use whereas::compare::{Class, Comparison, PartChange, Side, comparison, markdown, text};
use whereas::report;
use whereas::session::{self, FactsForm, Session};

const BOOKS: &str = r#"
terms for demo "Demo"
thing receptacle { voltage: voltage
    listed: yes-no
    length: length
}
edition demo 1 "First"
section 8 "Protection" { governs receptacle
    when voltage is 125 V
    requires listed
}
section 9 "Length" { governs receptacle
    (A) "Short" { requires length at most 6 ft }
}
edition demo 2 follows demo 1 "Second" {
    in 8: voltage was 125 V, now 125 V through 250 V    seen "c1"
    renumber 9 as 19
}
edition demo 3 follows demo 2 "Third" {
    in 19(A): length was 6 ft, now 4 ft
    add section 20 "New" { governs receptacle
        requires listed }
}
"#;

fn compared(books: &[&str], facts: &str) -> Comparison {
    let mut session = Session::empty();
    assert!(session.add_rulebook("books", BOOKS.as_bytes().to_vec()).is_empty());
    let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let found: Vec<_> = books
        .iter()
        .map(|under| {
            let (composed, _) = session.compose(under);
            let (program, diagnostics) = session.open(under);
            assert!(diagnostics.is_empty());
            let (installation, _) = session.install(&program, std::slice::from_ref(&file));
            let (choices, _) = session::choose(&program, &[]);
            (composed, report::inspection(&program, &installation, &choices))
        })
        .collect();
    let sides: Vec<Side> =
        found.iter().map(|(book, found)| Side { book, inspection: Some(found), overlays: &[] }).collect();
    comparison(&sides, &session::dates(&[file]))
}

/// The lines of a change, with `[struck]` and `{inserted}` words.
fn plain(change: &PartChange) -> Vec<String> {
    let line = |line: &whereas::compare::markup::Marked| {
        line.runs
            .iter()
            .map(|run| match run.fate {
                Fate::Same => run.text.clone(),
                Fate::Struck => format!("[{}]", run.text),
                Fate::Inserted => format!("{{{}}}", run.text),
            })
            .collect()
    };
    change.lines.iter().map(line).collect()
}

const FACTS: &str = "receptacle R { voltage: 240 V, listed: no, length: 5 ft }";

#[test]
fn an_edition_against_itself_differs_in_nothing() {
    let same = compared(&["demo 2", "demo 2"], FACTS);
    assert!(!same.differs && same.rules.iter().all(|rules| rules.changes.is_empty()));
}

#[test]
fn rows_are_aligned_by_identity_and_say_what_changed_them() {
    let all = compared(&["demo 1", "demo 2", "demo 3"], FACTS);
    assert!(all.differs);
    let row = |section: &str| all.outcomes.iter().find(|r| r.sections.iter().any(|s| s == section)).unwrap();
    assert_eq!(row("8").verdicts, ["not applicable", "not met", "not met"]);
    assert_eq!(plain(&row("8").because[0]), ["when voltage is 125 V{ through 250 V}"]);
    assert_eq!(row("8").because[0].marks, ["seen c1"]);
    assert_eq!(row("19(A)").sections, ["9(A)", "19(A)", "19(A)"]);
    assert_eq!(row("19(A)").verdicts, ["met", "met", "not met"]);
    assert_eq!(row("20").verdicts, ["no such requirement", "no such requirement", "not met"]);
    assert_eq!(row("20").because[0].class, Class::Added);
}

#[test]
fn looking_back_says_what_the_older_book_lacks() {
    let back = compared(&["demo 2", "demo 1"], FACTS);
    let classes: Vec<Class> = back.rules[0].changes.iter().map(|change| change.class).collect();
    assert_eq!(classes, [Class::Changed, Class::Moved]);
    assert_eq!(plain(&back.rules[0].changes[0]), ["when voltage is 125 V[ through 250 V]"]);
    assert!(back.differs);
}

#[test]
fn text_and_markdown_name_the_books_and_the_verdicts() {
    let all = compared(&["demo 1", "demo 2"], FACTS);
    let shown = text(&all, &Default::default());
    assert!(
        shown.contains("What demo 2 changed in demo 1")
            && shown.contains("not met")
            && shown.contains("authority having jurisdiction")
    );
    let marked = markdown(&all);
    assert!(marked.contains("| requirement | subject | 1 | 2 | because |"));
}

/// The change that is named is the one that turned the verdict: a new exception that does not help is not, a kind without a
/// paragraph of its own may be.
#[test]
fn the_cause_is_what_turned_the_verdict() {
    let text = r#"
terms for demo "Demo"
thing outlet { listed: yes-no
    damp: yes-no
    length: length }
edition demo 1 "First"
kind near of outlet { length at most 6 ft, not damp }
section 8 "Protection" { governs outlet
    requires listed where any of {
        (1) near
    }
}
edition demo 2 follows demo 1 "Second" {
    in near: strike not damp
    in 8: add Ex. 1 as hung when length at most 1 ft
}
"#;
    let mut session = Session::empty();
    assert!(session.add_rulebook("books", text.as_bytes().to_vec()).is_empty());
    let facts = "outlet O { listed: no, damp: yes, length: 4 ft }";
    let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let found: Vec<_> = ["demo 1", "demo 2"]
        .map(|under| {
            let (program, diagnostics) = session.open(under);
            assert!(diagnostics.is_empty());
            let (installation, _) = session.install(&program, std::slice::from_ref(&file));
            let (choices, _) = session::choose(&program, &[]);
            (session.compose(under).0, report::inspection(&program, &installation, &choices))
        })
        .into_iter()
        .collect();
    let sides: Vec<Side> =
        found.iter().map(|(book, found)| Side { book, inspection: Some(found), overlays: &[] }).collect();
    let all = comparison(&sides, &session::dates(&[file]));
    let row = all.outcomes.iter().find(|row| row.sections[0] == "8(1)").unwrap();
    assert_eq!(row.verdicts, ["not applicable", "not met"]);
    assert_eq!(row.because.iter().map(|change| change.at.as_str()).collect::<Vec<_>>(), ["near"]);
}
