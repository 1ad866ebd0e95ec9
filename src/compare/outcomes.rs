//! The outcomes of one installation under several books, and the nearest change behind each that differs.

use super::Side;
use super::classes::{Classified, Pair, PartChange};
use crate::base::printed::printed_order;
use crate::edition::Atoms;
use crate::report::view::{Reason, Verdict};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What is said where a book has no such requirement.
pub const ABSENT: &str = "no such requirement";

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
    /// For each step where the verdict changes the nearest change that touches it.
    pub because: Vec<PartChange>,
}

/// All rows, in the order of their numbers.
pub(super) fn rows(sides: &[Side], atoms: &[Atoms], pairs: &[Pair], rules: &[Classified]) -> Vec<Row> {
    let ids = identities(atoms, pairs);
    let mut keys: BTreeMap<(String, String, usize), usize> = BTreeMap::new();
    let mut found: Vec<Vec<Option<&Verdict>>> = Vec::new();
    for (at, side) in sides.iter().enumerate() {
        let mut seen: BTreeMap<(String, String), usize> = BTreeMap::new();
        for verdict in side.inspection.iter().flat_map(|i| &i.verdicts) {
            let part = atoms.get(at).and_then(|atoms| atoms.find(&verdict.section));
            let id = part.and_then(|part| ids.get(at)?.get(part)).map(|id| format!("#{id}"));
            let key = (id.unwrap_or_else(|| verdict.section.clone()), verdict.subject.clone());
            // Several statements may share a number: they are told apart by their order.
            let nth = seen.entry(key.clone()).or_default();
            let whole = (key.0, key.1, *nth);
            *nth += 1;
            let row = *keys.entry(whole).or_insert_with(|| {
                found.push(vec![None; sides.len()]);
                found.len() - 1
            });
            if let Some(cell) = found.get_mut(row).and_then(|cells| cells.get_mut(at)) {
                *cell = Some(verdict);
            }
        }
    }
    let mut rows: Vec<Row> = found.into_iter().map(|cells| row(&cells, rules)).collect();
    rows.sort_by_cached_key(|row| {
        let section = row.sections.iter().rev().find(|s| !s.is_empty());
        section.map(|s| printed_order(s))
    });
    rows
}

/// One number for the same part in all books, for each book and part.
fn identities(atoms: &[Atoms], pairs: &[Pair]) -> Vec<Vec<usize>> {
    let mut next = 0;
    let mut all: Vec<Vec<usize>> = Vec::new();
    for (at, own) in atoms.iter().enumerate() {
        let ids = (0..own.all.len())
            .map(|part| {
                let before = at.checked_sub(1).and_then(|at| {
                    let from = pairs.get(at)?.alignment.from(part)?;
                    all.get(at)?.get(from).copied()
                });
                before.unwrap_or_else(|| {
                    next += 1;
                    next
                })
            })
            .collect();
        all.push(ids);
    }
    all
}

fn row(cells: &[Option<&Verdict>], rules: &[Classified]) -> Row {
    let verdicts: Vec<String> =
        cells.iter().map(|c| c.map_or_else(|| ABSENT.to_string(), |v| v.verdict.clone())).collect();
    let differs = verdicts.windows(2).any(|w| weight(&w[0]) != weight(&w[1]));
    let last = cells.iter().rev().flatten().next();
    let because = if differs {
        (1..cells.len())
            .filter(|at| weight(&verdicts[at - 1]) != weight(&verdicts[*at]))
            .filter_map(|at| nearest(cells[at - 1], cells[at], rules.get(at - 1)?))
            .collect()
    } else {
        Vec::new()
    };
    Row {
        sections: cells.iter().map(|c| c.map_or_else(String::new, |v| v.section.clone())).collect(),
        title: last.map_or_else(String::new, |v| v.title.clone()),
        subject: last.map_or_else(String::new, |v| v.subject.clone()),
        verdicts,
        differs,
        because,
    }
}

/// A requirement that is not there binds as little as one that does not apply.
pub(super) fn weight(verdict: &str) -> &str {
    if verdict == ABSENT { "not applicable" } else { verdict }
}

/// The nearest change that touches a requirement whose verdict changed: first what its reasons newly say or no longer say, then
/// what lies nearest to its number.
fn nearest(before: Option<&Verdict>, after: Option<&Verdict>, rules: &Classified) -> Option<PartChange> {
    let (old, new) = (said(before), said(after));
    let differing: Vec<&Said> = old.symmetric_difference(&new).collect();
    let binding = rules.changes.iter().filter(|change| change.class.binds());
    binding
        .filter_map(|change| {
            let told = differing.iter().any(|said| speaks(said, change));
            let near = distance(before, after, change);
            let itself = near == Some(0) && !change.at.contains(" Ex.");
            let both = before.is_some() && after.is_some();
            let rank = match (itself, told, near) {
                (true, ..) => 0,
                (false, true, _) => 1,
                // Where a requirement comes or goes, so does what it lies in.
                (false, false, Some(_)) if !both => 2,
                (false, false, Some(_)) => 3,
                (false, false, None) => return None,
            };
            Some((rank, near.unwrap_or(usize::MAX), change))
        })
        .min_by_key(|(told, steps, _)| (*told, *steps))
        .map(|(_, _, change)| change.clone())
}

/// What a reason says: its part in the whole, its words, the number cited, and the answer.
type Said = (String, String, String, &'static str);

fn said(verdict: Option<&Verdict>) -> BTreeSet<Said> {
    fn add(reasons: &[Reason], all: &mut BTreeSet<Said>) {
        for reason in reasons {
            all.insert((reason.role.clone(), reason.text.clone(), reason.cite.clone(), reason.answer));
            add(&reason.because, all);
        }
    }
    let mut all = BTreeSet::new();
    if let Some(verdict) = verdict {
        // What did not help is no reason of this verdict: a new exception cannot make a violation.
        let helps = |reason: &&Reason| reason.answer != "no" || matches!(reason.role.as_str(), "" | "scope" | "asks");
        let told: Vec<Reason> = verdict.because.iter().filter(helps).cloned().collect();
        add(&told, &mut all);
        if !verdict.by.is_empty() {
            all.insert((verdict.by.clone(), String::new(), String::new(), "yes"));
        }
        for reading in &verdict.readings {
            all.insert((String::new(), reading.reading.clone(), String::new(), "unknown"));
        }
    }
    all
}

/// Whether a reason speaks of a changed part: by its number or by its name.
fn speaks(said: &Said, change: &PartChange) -> bool {
    let (role, text, cite, _) = said;
    let numbers = [&change.parts.0, &change.parts.1, &change.at, &change.was_at];
    let table = change.at.strip_prefix("table ").and_then(|t| t.split(',').next());
    // What speaks for no paragraph is told by its name alone: `by-sink`.
    let bare = change.at.starts_with(char::is_alphabetic) && !change.at.contains(' ');
    let name = if change.name.is_empty() && bare { &change.at } else { &change.name };
    if numbers.iter().any(|number| !number.is_empty() && *number == cite) && name.is_empty() {
        return true;
    }
    if let Some(table) = table {
        return text.contains(&format!("table {table}"));
    }
    !name.is_empty() && [role, text].iter().any(|words| words.split([' ', ',', ':', '(', ')']).any(|word| word == name))
}

/// How many labels lie between a requirement and a change of it, of what it lies in or of what lies in it.
fn distance(before: Option<&Verdict>, after: Option<&Verdict>, change: &PartChange) -> Option<usize> {
    let steps = |own: &str, other: &str| {
        let other = other.split(" Ex.").next().unwrap_or(other);
        let (long, short) = if own.len() >= other.len() { (own, other) } else { (other, own) };
        let rest = long.strip_prefix(short)?;
        (rest.is_empty() || rest.starts_with('(')).then(|| rest.matches('(').count())
    };
    let of = |verdict: Option<&Verdict>, number: &str| {
        verdict.filter(|_| !number.is_empty()).and_then(|v| steps(&v.section, number))
    };
    let was = if change.was_at.is_empty() { &change.at } else { &change.was_at };
    [of(after, &change.at), of(before, was)].into_iter().flatten().min()
}
