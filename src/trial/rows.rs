//! Verdicts of an installation in short, and what changes between two states of it.

use super::state::Opened;
use crate::base::printed::printed_order;
use crate::eval::{self, Lean, Verdict};
use crate::facts::installation::{Installation, ObjectId};
use crate::ir::program::DutyId;

/// One requirement on one subject.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Row {
    /// What it is recognised by across books: first printing, subject, and which of several with one number.
    pub(super) key: (String, String, usize),
    pub(super) address: String,
    pub(super) title: String,
    pub(super) name: String,
    pub(super) verdict: Verdict,
    pub(super) lean: Lean,
    pub(super) duty: DutyId,
    pub(super) subject: ObjectId,
}

/// Judges everything that is stated.
pub(super) fn rows(opened: &Opened, installation: &Installation) -> Vec<Row> {
    let program = &opened.program;
    let mut rows: Vec<Row> = Vec::new();
    let mut numbered: std::collections::BTreeMap<(String, String), usize> = std::collections::BTreeMap::new();
    for finding in eval::inspect_stated(program, installation, &opened.choices) {
        let Some(duty) = program.duties.get(finding.duty.index()) else { continue };
        let subject = installation.full_name(&program.schema, finding.subject);
        let first = opened.first.get(finding.duty.index()).cloned().unwrap_or_default();
        let count = numbered.entry((first.clone(), subject.clone())).or_insert(0);
        let key = (first, subject, *count);
        *count += 1;
        rows.push(Row {
            key,
            address: duty.address.clone(),
            title: duty.title.clone(),
            name: duty.name.clone(),
            verdict: finding.outcome.verdict,
            lean: finding.outcome.lean,
            duty: finding.duty,
            subject: finding.subject,
        });
    }
    rows
}

/// A verdict that is another than before. None: there is no such requirement on such a subject.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Flip {
    pub(super) address: String,
    pub(super) title: String,
    pub(super) subject: String,
    pub(super) before: Option<Verdict>,
    pub(super) after: Option<Verdict>,
}

/// What flips from one state of an installation to another, in the order of the book.
pub(super) fn flips(before: &[Row], after: &[Row]) -> Vec<Flip> {
    use std::collections::{BTreeMap, BTreeSet};
    let old: BTreeMap<&(String, String, usize), &Row> = before.iter().map(|row| (&row.key, row)).collect();
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    // What does not apply and what is not there come to the same.
    let weight = |verdict: Option<Verdict>| verdict.filter(|v| *v != Verdict::NotApplicable);
    for row in after {
        seen.insert(&row.key);
        let was = old.get(&row.key).map(|row| row.verdict);
        if weight(was) != weight(Some(row.verdict)) {
            all.push(flip(row, was, Some(row.verdict)));
        }
    }
    for row in before.iter().filter(|row| !seen.contains(&row.key)) {
        if weight(Some(row.verdict)).is_some() {
            all.push(flip(row, Some(row.verdict), None));
        }
    }
    all
}

/// Numbers of requirements that have bearing, have the same verdict in both states, and ask it in other words.
pub(super) fn reworded<'r>(before: &[Row], old: &Opened, after: &'r [Row], new: &Opened) -> Vec<&'r str> {
    let words = |opened: &Opened, row: &Row| {
        let duty = opened.program.duties.get(row.duty.index());
        duty.map(|duty| opened.program.origin(duty.origin).words.clone())
    };
    let known: std::collections::BTreeMap<_, &Row> = before.iter().map(|row| (&row.key, row)).collect();
    let mut all: Vec<&str> = Vec::new();
    for row in after.iter().filter(|row| row.verdict != Verdict::NotApplicable) {
        if let Some(was) = known.get(&row.key)
            && was.verdict == row.verdict
            && words(old, was) != words(new, row)
            && !all.contains(&row.address.as_str())
        {
            all.push(&row.address);
        }
    }
    all.sort_by_key(|a| printed_order(a));
    all
}

fn flip(row: &Row, before: Option<Verdict>, after: Option<Verdict>) -> Flip {
    Flip { address: row.address.clone(), title: row.title.clone(), subject: row.key.1.clone(), before, after }
}

/// How many verdicts of each kind.
pub(super) fn tally(rows: &[Row]) -> String {
    tally_of(rows.iter().map(|row| row.verdict))
}

/// How many verdicts of each kind.
pub(super) fn tally_of(verdicts: impl Iterator<Item = Verdict>) -> String {
    let all: Vec<Verdict> = verdicts.collect();
    let count = |verdict: Verdict| all.iter().filter(|known| **known == verdict).count();
    let said: Vec<String> =
        [Verdict::NotMet, Verdict::Undecided, Verdict::ForTheAuthority, Verdict::Met, Verdict::NotApplicable]
            .into_iter()
            .map(|verdict| (count(verdict), words(verdict)))
            .filter(|(count, _)| *count > 0)
            .map(|(count, words)| format!("{count} {words}"))
            .collect();
    if said.is_empty() { "no requirement concerns it yet".to_string() } else { said.join(", ") }
}

/// A verdict in words.
pub(super) fn words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Met => "met",
        Verdict::NotMet => "not met",
        Verdict::NotApplicable => "not applicable",
        Verdict::Undecided => "undecided",
        Verdict::ForTheAuthority => "for the authority",
    }
}
