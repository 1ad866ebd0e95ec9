//! Carrying an amendment to another edition: each operation under the number its part has there, and what became of what
//! it was applied to.
//!
//! Parts are followed by identity through whatever the editions between did to them, never by number. Where the lineage
//! of a part is not on record nothing is guessed: that is an error. Whether an operation still applies is found by applying
//! it; whether the base has absorbed it, by comparing what it did to its own base with what the other edition says.
//! What is carried is a draft in the language itself, for a person to confirm; nothing is written here.

mod addresses;
mod draft;
mod lineage;
mod text;
mod trial;

pub use text::text;

use crate::base::source::{SourceId, Span};
use crate::compare::classes::Pair;
use crate::compare::markup::Marked;
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::edition::{self, Atoms, Composed};
use crate::syntax::ast::*;
use serde::Serialize;
use std::collections::BTreeMap;

/// The version of the shape.
pub const VERSION: u32 = 1;

/// What became of an operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// It applies, under the number its part has now.
    Applies,
    /// It applies to something that says something else than it did: to be confirmed.
    ChangedUnderneath,
    /// The edition says it itself: a candidate to retire.
    Absorbed,
    /// What it changes is no longer there.
    TargetGone,
}

impl Fate {
    /// In words.
    pub fn as_str(self) -> &'static str {
        match self {
            Fate::Applies => "applies",
            Fate::ChangedUnderneath => "changed underneath",
            Fate::Absorbed => "absorbed by the base",
            Fate::TargetGone => "target gone",
        }
    }
}

/// A number that changed on the way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Moved {
    /// In the edition the amendment was written against.
    pub from: String,
    /// In the edition it is carried to.
    pub to: String,
}

/// One operation of the amendment.
#[derive(Debug, Clone, Serialize)]
pub struct Operation {
    /// What became of it.
    pub fate: Fate,
    /// As written.
    pub was: String,
    /// As it stands in the draft.
    pub now: String,
    /// Numbers that changed.
    pub moved: Vec<Moved>,
    /// What a person has to know of it, or to confirm.
    pub notes: Vec<String>,
    /// How what it is applied to changed.
    pub underneath: Vec<Marked>,
    /// Where it is written: the file and the line.
    pub place: String,
    /// The same, in bytes.
    #[serde(skip)]
    pub span: Span,
}

/// An amendment carried to another edition.
#[derive(Debug, Clone, Serialize)]
pub struct Carried {
    /// [`VERSION`].
    pub version: u32,
    /// Its name.
    pub amendment: String,
    /// The book it was written against; empty if it amends every base.
    pub from: String,
    /// The book it is carried to.
    pub to: String,
    /// Its operations, in order.
    pub operations: Vec<Operation>,
    /// How many went which way, and how many moved.
    pub counts: BTreeMap<String, usize>,
    /// The draft, in the language.
    pub draft: String,
    /// The usual caution.
    pub caution: String,
}

impl Carried {
    /// How many operations went which way, in a line.
    pub fn summary(&self) -> String {
        summary(&self.counts)
    }

    /// Whether every operation applies as it was written, but for its numbers.
    pub fn settled(&self) -> bool {
        self.operations.iter().all(|operation| operation.fate == Fate::Applies)
    }
}

/// How many operations went which way, in a line.
fn summary(counts: &BTreeMap<String, usize>) -> String {
    let count = |word: &str| counts.get(word).copied().unwrap_or(0);
    let all = [Fate::Applies, Fate::ChangedUnderneath, Fate::Absorbed, Fate::TargetGone];
    let total: usize = all.iter().map(|fate| count(fate.as_str())).sum();
    let parts: Vec<String> = all
        .iter()
        .filter(|fate| count(fate.as_str()) > 0)
        .map(|fate| match (fate, count(fate.as_str())) {
            (Fate::Applies, 1) => "1 applies".to_string(),
            (Fate::Applies, n) => format!("{n} apply"),
            (fate, n) => format!("{n} {}", fate.as_str()),
        })
        .collect();
    let moved = match count("moved") {
        0 => String::new(),
        n => format!("; {n} moved"),
    };
    match total {
        0 => "it has no operation".to_string(),
        1 => format!("1 operation: {}{moved}", parts.join(", ")),
        n => format!("{n} operations: {}{moved}", parts.join(", ")),
    }
}

/// What is carried, and between which books.
pub struct Journey<'j> {
    /// All rulebooks, for texts that an amendment takes from other editions.
    pub books: &'j [(SourceId, &'j Rulebook)],
    /// The amendment.
    pub set: &'j ChangeSet,
    /// The book it was written against, without it.
    pub from: &'j Composed,
    /// The book it is carried to.
    pub to: &'j Composed,
    /// The edition that the draft declares as its base.
    pub base: EditionName,
    /// The editions on the way, oldest first, the last one being `to`'s.
    pub between: &'j [Composed],
}

/// One operation on its way.
struct Unit {
    /// Which change of the set it belongs to.
    change: usize,
    /// As carried.
    carried: Change,
    operation: Operation,
}

/// Carries an amendment. Nothing comes out if the lineage of a part is not on record, or if the amendment does not fit its
/// own base.
pub fn carry(journey: &Journey) -> (Option<Carried>, Diagnostics) {
    let mut diagnostics = Diagnostics::new();
    let own = edition::applied(journey.from, journey.set, journey.books, &mut diagnostics);
    if diagnostics.has_errors() {
        return (None, diagnostics);
    }
    diagnostics = Diagnostics::new();
    let (old, new) = (Atoms::of(journey.from), Atoms::of(journey.to));
    let pair = Pair::of((journey.from, &old), (journey.to, &new));
    if pair.alignment.by_number {
        let title = format!("`{}` and `{}` share no lineage", journey.from.name, journey.to.name);
        let diagnostic = Diagnostic::error(Code::NoLineage, title)
            .at(journey.set.span, format!("written against {}", journey.from.name))
            .help("carry it to an edition that follows its base, or write it anew");
        diagnostics.push(diagnostic);
        return (None, diagnostics);
    }
    let lineage = lineage::Lineage::new(journey, &old, &new, &pair, &own);
    let mut units = Vec::new();
    for (at, change) in journey.set.changes.iter().enumerate() {
        for single in addresses::single(change) {
            if let Some((carried, operation)) = trial::tried(&lineage, &single, &mut diagnostics) {
                units.push(Unit { change: at, carried, operation });
            }
        }
    }
    if diagnostics.has_errors() {
        return (None, diagnostics);
    }
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for unit in &units {
        *counts.entry(unit.operation.fate.as_str().to_string()).or_default() += 1;
        if !unit.operation.moved.is_empty() {
            *counts.entry("moved".to_string()).or_default() += 1;
        }
    }
    let draft = draft::draft(journey, &units, &counts);
    let carried = Carried {
        version: VERSION,
        amendment: journey.set.name.text.to_string(),
        from: journey.from.name.clone(),
        to: journey.to.name.clone(),
        operations: units.into_iter().map(|unit| unit.operation).collect(),
        counts,
        draft,
        caution: crate::report::CAUTION.to_string(),
    };
    (Some(carried), diagnostics)
}
