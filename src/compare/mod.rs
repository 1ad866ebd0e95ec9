//! What differs between books: the changes of the rules, and for one installation the outcomes side by side.
//!
//! Requirements are aligned by identity, not by printed number. Nothing is solved here: without an installation only the
//! rules are compared. [`text`] draws it.

mod text;

pub use text::{markdown, text};

use crate::base::printed::printed_order;
use crate::edition::{Composed, Event};
use crate::ir::program::Mark;
use crate::report::CAUTION;
use crate::report::view::{Inspection, Reason, Verdict};
use serde::Serialize;

/// The version of the shape.
pub const VERSION: u32 = 1;

/// Several books side by side, in the order asked for.
#[derive(Debug, Clone, Serialize)]
pub struct Comparison {
    /// [`VERSION`].
    pub version: u32,
    /// The books.
    pub books: Vec<String>,
    /// What each book changed against the one before it.
    pub changes: Vec<RuleChange>,
    /// One row for each requirement and subject; empty without an installation.
    pub outcomes: Vec<Row>,
    /// Whether any outcome differs.
    pub differs: bool,
    /// The usual caution.
    pub caution: String,
}

/// A change of the rules.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RuleChange {
    /// The book in which it first shows.
    pub book: String,
    /// The document that made it.
    pub document: String,
    /// The number it has there.
    pub at: String,
    /// `added`, `removed`, `moved`, `replaced`, `carried unchecked`, `changed`, or `absent here` where the later book lacks
    /// what the earlier one had changed.
    pub kind: String,
    /// What it says, in a line.
    pub what: String,
    /// Sources and their marks.
    pub marks: Vec<String>,
}

/// One requirement on one subject in every book.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// Its number in each book; empty where there is no such requirement.
    pub sections: Vec<String>,
    /// Its heading in the last book that has it.
    pub title: String,
    /// The thing judged.
    pub subject: String,
    /// The verdict in each book, or `no such requirement`.
    pub verdicts: Vec<String>,
    /// Whether they differ.
    pub differs: bool,
    /// The changes that touch it, where the verdict changes.
    pub because: Vec<RuleChange>,
}

/// One book with what was found under it.
pub struct Side<'s> {
    /// The composed book.
    pub book: &'s Composed,
    /// The inspection of the installation, if there is one.
    pub inspection: Option<&'s Inspection>,
}

/// Compares books in the order given.
pub fn comparison(sides: &[Side]) -> Comparison {
    let changes: Vec<RuleChange> = sides.windows(2).flat_map(|w| changes(w[0].book, w[1].book)).collect();
    let outcomes = rows(sides, &changes);
    Comparison {
        version: VERSION,
        books: sides.iter().map(|s| s.book.name.clone()).collect(),
        differs: outcomes.iter().any(|row| row.differs),
        changes,
        outcomes,
        caution: CAUTION.to_string(),
    }
}

fn kind_of(event: &Event) -> &'static str {
    match event.what.as_str() {
        "added" | "inserted" => "added",
        "deleted" | "struck" => "removed",
        "replaced" => "replaced",
        "reserved" => "reserved",
        "carried unchecked" => "carried unchecked",
        what if what.starts_with("was ") => "moved",
        _ => "changed",
    }
}

/// What the second book has on record that the first has not, and the other way round.
fn changes(first: &Composed, second: &Composed) -> Vec<RuleChange> {
    let known = |book: &Composed, event: &Event| book.history.values().flatten().any(|other| other == event);
    let told = |at: &str, event: &Event, kind: &str| RuleChange {
        book: second.name.clone(),
        document: event.document.clone(),
        at: at.to_string(),
        kind: kind.to_string(),
        what: event.what.clone(),
        marks: event
            .marks
            .iter()
            .map(|mark| match mark {
                Mark::Seen(source) => format!("seen {source}"),
                Mark::Memory => "memory".to_string(),
                Mark::Disputed(how) => format!("disputed: {how}"),
            })
            .collect(),
    };
    let mut all = Vec::new();
    for (at, events) in &second.history {
        all.extend(events.iter().filter(|e| !known(first, e)).map(|e| told(at, e, kind_of(e))));
    }
    for (at, events) in &first.history {
        all.extend(events.iter().filter(|e| !known(second, e)).map(|e| told(at, e, "absent here")));
    }
    all.sort_by_cached_key(|change| printed_order(&change.at));
    all
}

/// The number a part had when it was first printed in these rulebooks.
pub(crate) fn identity(book: &Composed, address: &str) -> String {
    book.identity
        .iter()
        .filter_map(|(now, first)| address.strip_prefix(now.as_str()).map(|rest| (now.len(), rest, first)))
        .filter(|(_, rest, _)| rest.is_empty() || rest.starts_with('('))
        .max_by_key(|(length, ..)| *length)
        .map_or_else(|| address.to_string(), |(_, rest, first)| format!("{first}{rest}"))
}

fn rows(sides: &[Side], changes: &[RuleChange]) -> Vec<Row> {
    let absent = "no such requirement";
    let mut keys: Vec<(String, String, usize)> = Vec::new();
    let mut found: Vec<Vec<Option<&Verdict>>> = Vec::new();
    for (at, side) in sides.iter().enumerate() {
        let mut seen: Vec<(String, String)> = Vec::new();
        for verdict in side.inspection.iter().flat_map(|i| &i.verdicts) {
            let key = (identity(side.book, &verdict.section), verdict.subject.clone());
            // Several statements may share a number: they are told apart by their order.
            let nth = seen.iter().filter(|known| **known == key).count();
            seen.push(key.clone());
            let whole = (key.0, key.1, nth);
            let row = keys.iter().position(|known| *known == whole).unwrap_or_else(|| {
                keys.push(whole);
                found.push(vec![None; sides.len()]);
                keys.len() - 1
            });
            if let Some(cell) = found.get_mut(row).and_then(|cells| cells.get_mut(at)) {
                *cell = Some(verdict);
            }
        }
    }
    let mut rows: Vec<Row> = found
        .into_iter()
        .map(|cells| {
            let verdicts: Vec<String> =
                cells.iter().map(|c| c.map_or_else(|| absent.to_string(), |v| v.verdict.clone())).collect();
            let weight = |v: &String| if v == absent { "not applicable".to_string() } else { v.clone() };
            let differs = verdicts.windows(2).any(|w| weight(&w[0]) != weight(&w[1]));
            let because = if differs { causes(sides, &cells, changes) } else { Vec::new() };
            let last = cells.iter().rev().flatten().next();
            Row {
                sections: cells.iter().map(|c| c.map_or_else(String::new, |v| v.section.clone())).collect(),
                title: last.map_or_else(String::new, |v| v.title.clone()),
                subject: last.map_or_else(String::new, |v| v.subject.clone()),
                verdicts,
                differs,
                because,
            }
        })
        .collect();
    let order = |row: &Row| {
        let section = row.sections.iter().rev().find(|s| !s.is_empty());
        section.map(|s| printed_order(s))
    };
    rows.sort_by_cached_key(order);
    rows
}

/// The changes that touch a requirement, or a part its reasons pass through, where its verdict changes.
fn causes(sides: &[Side], cells: &[Option<&Verdict>], changes: &[RuleChange]) -> Vec<RuleChange> {
    let mut all: Vec<RuleChange> = Vec::new();
    for at in 1..cells.len() {
        let pair = [cells[at - 1], cells[at]];
        if pair[0].map(|v| &v.verdict) == pair[1].map(|v| &v.verdict) {
            continue;
        }
        for change in changes.iter().filter(|c| c.book == sides[at].book.name) {
            let touches = pair.iter().flatten().any(|verdict| {
                std::iter::once(&verdict.section).chain(&verdict.cites).any(|cite| related(&change.at, cite))
                    || names(&verdict.because, &change.at)
            });
            if touches && !all.contains(change) {
                all.push(change.clone());
            }
        }
    }
    all
}

/// Whether one number lies in the other; a table's number stands bare among the cites.
fn related(at: &str, cite: &str) -> bool {
    let at = at.strip_prefix("table ").unwrap_or(at);
    let below = |a: &str, b: &str| {
        a.strip_prefix(b).is_some_and(|rest| rest.is_empty() || rest.starts_with('(') || rest.starts_with(' '))
    };
    below(at, cite) || below(cite, at)
}

/// Whether the reasons speak of a kind by that name.
fn names(reasons: &[Reason], name: &str) -> bool {
    if name.contains(['(', '.', ' ']) {
        return false;
    }
    reasons.iter().any(|reason| reason.text.split([' ', ',']).any(|word| word == name) || names(&reason.because, name))
}
