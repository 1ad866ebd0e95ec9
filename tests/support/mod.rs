//! A shipped book, opened once, and short ways to ask an inspection for its verdicts.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use whereas::diag;
use whereas::ir::program::Program;
use whereas::report::{self, Inspection, Verdict};
use whereas::session::{self, FactsForm, Session};

/// The shipped rulebooks and the program of one edition.
pub struct Bench {
    session: Session,
    pub program: Program,
}

impl Bench {
    pub fn nec_2017() -> Bench {
        Bench::nec("2017")
    }

    /// The shipped book of an edition.
    pub fn nec(year: &str) -> Bench {
        Bench::open(&format!("nec {year}"))
    }

    /// A shipped book of any family.
    pub fn open(book: &str) -> Bench {
        let (session, mut diagnostics) = Session::shipped();
        let (program, more) = session.open(book);
        diagnostics.extend(more);
        assert!(!diagnostics.has_errors(), "{}", diag::render(&diagnostics, session.sources(), &Default::default()));
        Bench { session, program }
    }

    /// A book with a rulebook beside the shipped ones.
    pub fn beside(name: &str, rulebook: &str, book: &str) -> Bench {
        let (mut session, mut diagnostics) = Session::shipped();
        diagnostics.extend(session.add_rulebook(name, rulebook.as_bytes().to_vec()));
        let (program, more) = session.open(book);
        diagnostics.extend(more);
        assert!(!diagnostics.has_errors(), "{}", diag::render(&diagnostics, session.sources(), &Default::default()));
        Bench { session, program }
    }

    /// Inspects a text of facts; a mistake in it fails the test.
    pub fn inspect(&self, name: &str, facts: &str, readings: &[String]) -> Inspection {
        let mut session = self.session.clone();
        let (choices, mut diagnostics) = session::choose(&self.program, readings);
        let (file, more) = session.read_facts(name, facts.as_bytes().to_vec(), FactsForm::Native);
        diagnostics.extend(more);
        let (installation, more) = session.install(&self.program, &[file]);
        diagnostics.extend(more);
        assert!(
            !diagnostics.has_errors(),
            "{name}: {}",
            diag::render(&diagnostics, session.sources(), &Default::default())
        );
        report::inspection(&self.program, &installation, &choices)
    }

    /// Works a value out for every thing of its kind: what comes out, by the thing's name.
    pub fn work(&self, what: &str, facts: &str, readings: &[String]) -> BTreeMap<String, String> {
        let mut session = self.session.clone();
        let (choices, mut diagnostics) = session::choose(&self.program, readings);
        let (file, more) = session.read_facts(what, facts.as_bytes().to_vec(), FactsForm::Native);
        diagnostics.extend(more);
        let (installation, more) = session.install(&self.program, &[file]);
        diagnostics.extend(more);
        let (sheets, more) = session.work(&self.program, &installation, &choices, what);
        diagnostics.extend(more);
        assert!(
            !diagnostics.has_errors(),
            "{what}: {}",
            diag::render(&diagnostics, session.sources(), &Default::default())
        );
        sheets.unwrap().worksheets.into_iter().map(|w| (w.subject, w.value)).collect()
    }
}

/// `R1` names `R1 of EX4-1`, and `run of armor` names `run of armor of EX4-1`.
pub fn is_subject(written: &str, full: &str) -> bool {
    full == written || full.strip_prefix(written).is_some_and(|rest| rest.starts_with(" of "))
}

/// All verdicts of a section on a subject, joined by `and` in the book's order; an undecided verdict names the
/// disputed texts it depends on: `undecided by either-path`.
pub fn verdict(report: &Inspection, section: &str, subject: &str) -> String {
    joined(report, |v| v.section == section && is_subject(subject, &v.subject))
}

/// The same by the name of a rule or item, which it keeps when its number moves.
pub fn verdict_named(report: &Inspection, name: &str, subject: &str) -> String {
    joined(report, |v| v.name == name && is_subject(subject, &v.subject))
}

fn joined(report: &Inspection, wanted: impl Fn(&Verdict) -> bool) -> String {
    let found: Vec<String> = report
        .verdicts
        .iter()
        .filter(|v| wanted(v))
        .map(|v| {
            let mut by: Vec<&str> = v.readings.iter().map(|r| r.reading.as_str()).collect();
            by.dedup();
            if by.is_empty() || v.verdict != "undecided" || v.readings.iter().any(|r| r.chosen) {
                v.verdict.clone()
            } else {
                format!("{} by {}", v.verdict, by.join(", "))
            }
        })
        .collect();
    if found.is_empty() { "no such verdict".to_string() } else { found.join(" and ") }
}

/// What a section that grants a standing says of a thing.
pub fn standing(report: &Inspection, section: &str, standing: &str, subject: &str) -> String {
    report
        .qualifies
        .iter()
        .find(|q| q.section == section && q.standing == standing && is_subject(subject, &q.subject))
        .map_or_else(|| "no such standing".to_string(), |q| q.answer.clone())
}

/// The rows of a tab-separated table: comments and the header row left out.
pub fn rows(text: &str) -> Vec<Vec<&str>> {
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
        .skip(1)
        .map(|line| line.split('\t').collect())
        .collect()
}
