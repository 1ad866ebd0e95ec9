//! Which part of one book is which part of another.
//!
//! A part is the same if it was first written at the same place, whatever its number is now. What a book says anew as a whole
//! is aligned by its names, and inside it by its labels. A number alone never makes two parts the same, unless the books
//! share no lineage at all: then they are aligned by number, and [`Alignment::by_number`] says so.

use crate::base::source::Span;
use crate::edition::{Atom, Atoms, Composed, Sort};
use std::collections::{BTreeMap, BTreeSet};

/// The parts of two books side by side.
#[derive(Debug, Clone)]
pub struct Alignment {
    /// For each part of the first book, the same part of the second.
    pub forward: Vec<Option<usize>>,
    /// The reverse.
    pub backward: Vec<Option<usize>>,
    /// Parts of the second book that were said anew and matched inside by label only.
    pub restated: BTreeSet<usize>,
    /// The books share no lineage: everything was matched by number.
    pub by_number: bool,
}

impl Alignment {
    /// Aligns two books.
    pub fn of(first: (&Composed, &Atoms), second: (&Composed, &Atoms)) -> Alignment {
        let (a, b) = (first.1, second.1);
        let mut found = Alignment {
            forward: vec![None; a.all.len()],
            backward: vec![None; b.all.len()],
            restated: BTreeSet::new(),
            by_number: false,
        };
        found.by_node(a, b);
        let related = found.forward.iter().enumerate().any(|(at, to)| to.is_some() && a.all[at].sort == Sort::Section);
        if !related && !a.all.is_empty() && !b.all.is_empty() {
            found.by_number = true;
            for (at, atom) in a.all.iter().enumerate() {
                if let Some(to) = b.find(&atom.at) {
                    found.pair(at, to);
                }
            }
        }
        found.by_name(a, b);
        let anew = restated(first.0, second.0).chain(restated(second.0, first.0)).collect();
        found.by_label(a, b, &anew);
        found
    }

    /// The number or name of a part in the second book, by its number in the first.
    pub fn to(&self, at: usize) -> Option<usize> {
        self.forward.get(at).copied().flatten()
    }

    /// The reverse of [`Alignment::to`].
    pub fn from(&self, at: usize) -> Option<usize> {
        self.backward.get(at).copied().flatten()
    }

    fn pair(&mut self, at: usize, to: usize) {
        if let (Some(forward @ None), Some(backward @ None)) = (self.forward.get_mut(at), self.backward.get_mut(to)) {
            *forward = Some(to);
            *backward = Some(at);
        }
    }

    fn by_node(&mut self, a: &Atoms, b: &Atoms) {
        let mut nodes: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for (at, atom) in b.all.iter().enumerate() {
            nodes.entry(atom.node).or_default().push(at);
        }
        // One text may stand in several places: first those whose number stayed, then in their order.
        for stayed in [true, false] {
            for (at, atom) in a.all.iter().enumerate().filter(|(_, atom)| nodes.contains_key(&atom.node)) {
                if self.to(at).is_some() {
                    continue;
                }
                let same = |to: &&usize| {
                    self.from(**to).is_none() && b.all[**to].sort == atom.sort && (!stayed || b.all[**to].at == atom.at)
                };
                if let Some(to) = nodes.get(&atom.node).into_iter().flatten().find(same).copied() {
                    self.pair(at, to);
                }
            }
        }
        // An exception may have become an item, or the reverse.
        for (at, atom) in a.all.iter().enumerate() {
            if self.to(at).is_none()
                && let Some(to) =
                    nodes.get(&atom.node).into_iter().flatten().find(|to| self.from(**to).is_none()).copied()
            {
                self.pair(at, to);
            }
        }
    }

    fn by_name(&mut self, a: &Atoms, b: &Atoms) {
        let mut names: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (at, atom) in
            b.all.iter().enumerate().filter(|(at, atom)| !atom.name.is_empty() && self.from(*at).is_none())
        {
            names.entry(&atom.name).or_default().push(at);
        }
        for (at, atom) in a.all.iter().enumerate() {
            if self.to(at).is_none()
                && let Some([to]) = names.get(atom.name.as_str()).map(Vec::as_slice)
            {
                self.pair(at, *to);
            }
        }
    }

    /// Inside what was said anew: by the label behind the part it stands in.
    fn by_label(&mut self, a: &Atoms, b: &Atoms, anew: &BTreeSet<Span>) {
        for (at, atom) in a.all.iter().enumerate() {
            let (None, Some(parent)) = (self.to(at), atom.parent) else { continue };
            let Some(new_parent) = self.to(parent) else { continue };
            let (old, new) = (&a.all[parent], &b.all[new_parent]);
            let row = atom.sort == Sort::Row;
            if !row && old.node == new.node && !anew.contains(&new.node) && !self.restated.contains(&new_parent) {
                continue;
            }
            let wanted = format!("{}{}", new.at, suffix(old, atom));
            if let Some(to) = b.find(&wanted).filter(|to| self.from(*to).is_none()) {
                self.pair(at, to);
                self.restated.insert(to);
            }
        }
    }
}

/// A part's number behind that of the part it stands in.
pub fn suffix<'a>(parent: &Atom, atom: &'a Atom) -> &'a str {
    atom.at.strip_prefix(parent.at.as_str()).unwrap_or(&atom.at)
}

/// The parts that a document said anew as a whole in one book and not in the other.
fn restated<'b>(book: &'b Composed, other: &'b Composed) -> impl Iterator<Item = Span> + 'b {
    let known: BTreeSet<Span> = other.history.values().flatten().map(|event| event.span).collect();
    book.history
        .values()
        .flatten()
        .filter(move |event| !known.contains(&event.span))
        .filter(|event| event.what.ends_with("replaced") || event.what.contains("the text of "))
        .filter_map(|event| event.node)
}
