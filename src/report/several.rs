//! One report where several books are in force together, or where it is not settled which of several governs.
//!
//! Requirements are paired by identity, not by printed number. In force together: the worst verdict stands, and the book that
//! gives it is named. Not settled: a verdict is definite only where every book gives it; else it is open and names the facts
//! that select, so that settling the choice never turns a definite verdict.

use super::build::{ask_first, counted};
use super::view::{Governing, Inspection, Missing, NotDescribed, Overall, Qualifies, Under, Verdict};
use std::collections::BTreeMap;

/// What one book gives: its name, the first numbers of parts that moved, and the inspection.
#[derive(Debug, Clone)]
pub struct Judged {
    /// The book.
    pub book: String,
    /// Present number to the number of the first printing, for parts that moved.
    pub identity: BTreeMap<String, String>,
    /// What it says of the installation.
    pub inspection: Inspection,
}

/// A verdict's identity, subject, and which of several it is.
type Key = (String, String, usize);

impl Judged {
    /// The number a part had when it was first printed.
    fn first_number(&self, address: &str) -> String {
        self.identity
            .iter()
            .filter_map(|(now, first)| address.strip_prefix(now.as_str()).map(|rest| (now.len(), rest, first)))
            .filter(|(_, rest, _)| rest.is_empty() || rest.starts_with('('))
            .max_by_key(|(length, ..)| *length)
            .map_or_else(|| address.to_string(), |(_, rest, first)| format!("{first}{rest}"))
    }

    fn keyed(&self) -> Vec<(Key, &Verdict)> {
        let mut seen: BTreeMap<(String, String), usize> = BTreeMap::new();
        self.inspection
            .verdicts
            .iter()
            .map(|verdict| {
                let key = (self.first_number(&verdict.section), verdict.subject.clone());
                let nth = seen.entry(key.clone()).or_default();
                *nth += 1;
                ((key.0, key.1, *nth), verdict)
            })
            .collect()
    }
}

/// Rows of verdicts, one column for each book, in the order of the first book that has them.
fn rows<'j>(judged: &[&'j Judged]) -> Vec<(Key, Vec<Option<&'j Verdict>>)> {
    let mut at: BTreeMap<Key, usize> = BTreeMap::new();
    let mut rows: Vec<(Key, Vec<Option<&Verdict>>)> = Vec::new();
    for (column, one) in judged.iter().enumerate() {
        for (key, verdict) in one.keyed() {
            let row = *at.entry(key.clone()).or_insert_with(|| {
                rows.push((key, vec![None; judged.len()]));
                rows.len() - 1
            });
            if let Some(cell) = rows.get_mut(row).and_then(|(_, cells)| cells.get_mut(column)) {
                *cell = Some(verdict);
            }
        }
    }
    rows
}

/// How much a verdict weighs where several are in force together: a violation, then what may be one, then met, then open
/// without a possible violation, then what does not apply.
fn weight(verdict: &Verdict) -> u8 {
    match (verdict.verdict.as_str(), verdict.lean.as_str()) {
        ("not met", _) => 4,
        ("met", _) => 2,
        ("not applicable", _) => 0,
        (_, "no violation possible") => 1,
        _ => 3,
    }
}

/// All books are in force at once: every one of them must be met.
pub fn together(judged: Vec<Judged>) -> Option<Judged> {
    if judged.len() < 2 {
        return judged.into_iter().next();
    }
    let columns: Vec<&Judged> = judged.iter().collect();
    let verdicts = rows(&columns)
        .into_iter()
        .filter_map(|(_, cells)| {
            let heaviest = cells.iter().flatten().map(|v| weight(v)).max()?;
            let binding = cells.iter().flatten().find(|v| weight(v) == heaviest)?;
            let mut verdict = (**binding).clone();
            if cells.iter().all(|cell| cell.is_some_and(|v| alike(v, binding))) {
                return Some(verdict);
            }
            verdict.under = columns
                .iter()
                .zip(&cells)
                .map(|(judged, cell)| under(judged, *cell, cell.is_some_and(|v| weight(v) == heaviest)))
                .collect();
            Some(verdict)
        })
        .collect();
    let names: Vec<&str> = columns.iter().map(|j| j.book.as_str()).collect();
    let overall = |of: Overall| columns.iter().any(|j| j.inspection.outcome == of);
    let outcome = match (overall(Overall::NotMet), overall(Overall::Open)) {
        (true, _) => Overall::NotMet,
        (false, true) => Overall::Open,
        (false, false) => Overall::Met,
    };
    let book = names.join(" together with ");
    let identity = columns.first().map(|j| j.identity.clone()).unwrap_or_default();
    let inspection = joined(&columns, &book, verdicts, outcome, Way::Together);
    Some(Judged { book, identity, inspection })
}

/// It is not settled which of several governs. `None` among them: perhaps no book does.
pub fn agreed(possible: Vec<Option<Judged>>, selecting: &[Missing]) -> Option<Inspection> {
    let columns: Vec<&Judged> = possible.iter().flatten().collect();
    let nothing = possible.iter().any(Option::is_none);
    let [first, rest @ ..] = columns.as_slice() else { return None };
    if rest.is_empty() && !nothing {
        return Some(first.inspection.clone());
    }
    let verdicts: Vec<Verdict> =
        rows(&columns).into_iter().filter_map(|(_, cells)| common(&columns, &cells, nothing, selecting)).collect();
    let same = columns.iter().all(|j| j.inspection.outcome == first.inspection.outcome);
    let outcome = if same && !nothing { first.inspection.outcome } else { Overall::Open };
    let names: Vec<&str> = columns.iter().map(|j| j.book.as_str()).collect();
    let mut book = names.join(" or ");
    if nothing {
        book.push_str(" or no book");
    }
    Some(joined(&columns, &book, verdicts, outcome, Way::Either))
}

/// The verdict that holds whichever book governs.
fn common(columns: &[&Judged], cells: &[Option<&Verdict>], nothing: bool, selecting: &[Missing]) -> Option<Verdict> {
    let known: Vec<&Verdict> = cells.iter().flatten().copied().collect();
    let first = known.first()?;
    let absent = nothing || cells.iter().any(Option::is_none);
    let mut verdict = (*first).clone();
    let table: Vec<Under> = columns
        .iter()
        .zip(cells)
        .flat_map(|(judged, cell)| match cell {
            // What several books in force together say is told of each of them.
            Some(v) if !v.under.is_empty() => v.under.clone(),
            cell => vec![under(judged, *cell, false)],
        })
        .collect();
    let word = |v: &Verdict| v.verdict.clone();
    let all_same = known.iter().all(|v| word(v) == word(first));
    let settled = matches!(first.verdict.as_str(), "met" | "not met" | "not applicable");
    if all_same && settled && (!absent || first.verdict == "not applicable") && !nothing {
        verdict.under =
            if known.iter().all(|v| v.because == first.because) && !absent { first.under.clone() } else { table };
        return Some(verdict);
    }
    let harmless =
        |v: &Verdict| matches!(v.verdict.as_str(), "met" | "not applicable") || v.lean == "no violation possible";
    let harmful =
        |v: &Verdict| matches!(v.verdict.as_str(), "not met" | "not applicable") || v.lean == "violated if it applies";
    let lean = if known.iter().all(|v| harmless(v)) {
        "no violation possible"
    } else if known.iter().all(|v| harmful(v)) {
        "violated if it applies"
    } else {
        ""
    };
    let authority = all_same && !absent && first.verdict == "for the authority";
    verdict.verdict = if authority { "for the authority" } else { "undecided" }.to_string();
    verdict.lean = lean.to_string();
    if !all_same {
        verdict.relied_on.clear();
    }
    verdict.by = String::new();
    // Open for the same reasons in every book: what selects the book settles nothing.
    let same = !absent && known.iter().all(|v| alike(v, first));
    verdict.missing = if same { Vec::new() } else { selecting.to_vec() };
    for missing in known.iter().flat_map(|v| &v.missing) {
        if !verdict.missing.contains(missing) {
            verdict.missing.push(missing.clone());
        }
    }
    verdict.under = if same { first.under.clone() } else { table };
    Some(verdict)
}

/// Whether two books say the same of a subject, for the same reasons.
fn alike(one: &Verdict, other: &Verdict) -> bool {
    one.verdict == other.verdict
        && one.lean == other.lean
        && one.asks == other.asks
        && one.because == other.because
        && one.missing == other.missing
}

fn under(judged: &Judged, cell: Option<&Verdict>, binds: bool) -> Under {
    Under {
        book: judged.book.clone(),
        section: cell.map_or_else(String::new, |v| v.section.clone()),
        verdict: cell.map_or_else(
            || "no such requirement".to_string(),
            |v| match v.lean.as_str() {
                "" => v.verdict.clone(),
                lean => format!("{}, {lean}", v.verdict),
            },
        ),
        binds,
    }
}

/// How several books stand to one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Together,
    Either,
}

fn joined(columns: &[&Judged], book: &str, verdicts: Vec<Verdict>, outcome: Overall, way: Way) -> Inspection {
    let first = columns.first().map(|j| &j.inspection);
    let counts = counted(&verdicts);
    let mut readings = Vec::new();
    let mut qualifies: Vec<Qualifies> = Vec::new();
    let mut not_described: Vec<NotDescribed> = Vec::new();
    let mut not_looked_at: Vec<String> = Vec::new();
    for one in columns.iter().map(|j| &j.inspection) {
        for reading in &one.governing.readings {
            if !readings.iter().any(|known: &super::view::Reading| known.name == reading.name) {
                readings.push(reading.clone());
            }
        }
        let unseen: Vec<String> = one.not_looked_at.iter().filter(|t| !not_looked_at.contains(t)).cloned().collect();
        not_looked_at.extend(unseen);
        for own in &one.not_described {
            match not_described.iter_mut().find(|known| known.what == own.what) {
                Some(known) => {
                    let news: Vec<String> =
                        own.sections.iter().filter(|s| !known.sections.contains(s)).cloned().collect();
                    known.sections.extend(news);
                }
                None => not_described.push(own.clone()),
            }
        }
        for own in &one.qualifies {
            let known = qualifies
                .iter_mut()
                .find(|k| k.section == own.section && k.standing == own.standing && k.subject == own.subject);
            match known {
                Some(known) if known.answer == own.answer => {}
                // In force together: what one of them refuses is refused.
                Some(known) if way == Way::Together && known.answer == "does not qualify" => {}
                Some(known) if way == Way::Together && own.answer == "does not qualify" => known.clone_from(own),
                Some(known) => known.answer = "undecided".to_string(),
                None => qualifies.push(own.clone()),
            }
        }
    }
    Inspection {
        version: super::view::VERSION,
        governing: Governing {
            edition: book.to_string(),
            title: first.map_or_else(String::new, |i| i.governing.title.clone()),
            readings,
            selection: None,
        },
        project: first.map_or_else(String::new, |i| i.project.clone()),
        outcome,
        counts,
        ask_first: ask_first(&verdicts),
        verdicts,
        qualifies,
        not_described,
        not_looked_at,
        only: Vec::new(),
        caution: super::CAUTION.to_string(),
    }
}
