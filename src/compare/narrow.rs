//! A comparison narrowed to some sections, with the kinds, definitions, limits and readings that they use.

use super::{Comparison, PartChange};
use crate::edition::{Atoms, Composed, Sort};
use crate::report::Only;
use std::collections::{BTreeMap, BTreeSet};

impl Comparison {
    /// The part of it that is wanted, by the numbers of either book; counts and the whole in one word are those of what is left. How
    /// many parts are unchanged is then not told.
    pub fn narrowed(mut self, only: &Only, books: &[&Composed]) -> Comparison {
        if only.is_all() {
            return self;
        }
        self.outcomes.retain(|row| row.sections.iter().any(|number| !number.is_empty() && only.keeps(number)));
        let names: BTreeSet<String> = books.iter().flat_map(|book| used(&Atoms::of(book), only)).collect();
        let wanted = |change: &PartChange| {
            let numbers = [&change.at, &change.was_at, &change.parts.0, &change.parts.1];
            numbers.iter().any(|number| !number.is_empty() && (only.keeps(number) || names.contains(*number)))
        };
        for rules in &mut self.rules {
            rules.changes.retain(wanted);
            let mut counts: BTreeMap<String, usize> = BTreeMap::new();
            for change in &rules.changes {
                *counts.entry(change.class.as_str().to_string()).or_default() += 1 + change.within;
            }
            rules.counts = counts;
        }
        self.differs = self.outcomes.iter().any(|row| row.differs);
        self.only = only.words();
        self
    }
}

/// The names that the wanted parts of a book use, and those that these use.
fn used(atoms: &Atoms, only: &Only) -> BTreeSet<String> {
    let named = |atom: &&crate::edition::Atom| {
        matches!(atom.sort, Sort::Kind | Sort::Define | Sort::Limit | Sort::Reading) && !atom.name.is_empty()
    };
    let known: BTreeMap<&str, usize> = atoms
        .all
        .iter()
        .enumerate()
        .filter(|(_, atom)| named(atom))
        .map(|(at, atom)| (atom.name.as_str(), at))
        .collect();
    let mut found: BTreeSet<String> = BTreeSet::new();
    let mut next: Vec<usize> =
        (0..atoms.all.len()).filter(|at| only.keeps(&atoms.all[*at].at) || only.keeps(&atoms.all[*at].cite)).collect();
    while let Some(at) = next.pop() {
        for inner in atoms.within(at) {
            let words = atoms.all[inner]
                .lines
                .iter()
                .flat_map(|line| line.text.split(|c: char| !(c.is_alphanumeric() || c == '-')).collect::<Vec<_>>());
            for word in words {
                if let Some((name, at)) = known.get_key_value(word)
                    && found.insert((*name).to_string())
                {
                    next.push(*at);
                }
            }
        }
    }
    found
}
