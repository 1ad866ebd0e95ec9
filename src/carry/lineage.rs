//! Where a part of one book is in another, or why it is nowhere.

use super::Journey;
use crate::compare::classes::Pair;
use crate::edition::{Atom, Atoms, Composed, Event, Sort};
use std::collections::BTreeSet;

/// Two books side by side, for one amendment.
pub(super) struct Lineage<'l> {
    pub(super) journey: &'l Journey<'l>,
    pub(super) old: &'l Atoms,
    pub(super) new: &'l Atoms,
    pub(super) pair: &'l Pair<'l>,
    /// Names that the amendment itself brings.
    own: BTreeSet<String>,
}

/// What became of a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Whereabouts {
    /// It names the same part, perhaps under another number; and that part in both books, where it has lines of its own.
    Here(String, Option<(usize, usize)>),
    /// Its part was taken out; by whom.
    Gone(String),
    /// Its part is not there, and nothing on record says where it went; what is known.
    Lost(String),
}

impl<'l> Lineage<'l> {
    pub(super) fn new(
        journey: &'l Journey<'l>,
        old: &'l Atoms,
        new: &'l Atoms,
        pair: &'l Pair<'l>,
        amended: &Composed,
    ) -> Lineage<'l> {
        let own = Atoms::of(amended).all.into_iter().filter(|a| old.find(&a.at).is_none());
        let own = own.flat_map(|a| [a.at, a.name]).filter(|n| !n.is_empty()).collect();
        Lineage { journey, old, new, pair, own }
    }

    /// Where a part is that the amendment changes.
    pub(super) fn target(&self, written: &str) -> Whereabouts {
        match self.old.find(written) {
            Some(at) => self.part(at, written),
            // The amendment's own, or something that has no lines: the trial will tell.
            None => Whereabouts::Here(self.place(written), None),
        }
    }

    /// Where a table is.
    pub(super) fn table(&self, written: &str) -> Whereabouts {
        match self.old.find(&format!("table {written}")) {
            Some(at) => match self.part(at, written) {
                Whereabouts::Here(number, parts) => {
                    let bare = number.strip_prefix("table ").unwrap_or(&number).to_string();
                    Whereabouts::Here(bare, parts)
                }
                other => other,
            },
            None => Whereabouts::Here(written.to_string(), None),
        }
    }

    /// Where a part of the old book is; `written` is how the amendment names it.
    pub(super) fn part(&self, at: usize, written: &str) -> Whereabouts {
        let old = &self.old.all[at];
        let Some(to) = self.pair.alignment.to(at) else { return self.missing(at) };
        let new = &self.new.all[to];
        if self.pair.alignment.restated.contains(&to)
            && old.sort != Sort::Row
            && self.pair.old_lines(at) != self.pair.new_lines(to)
        {
            let by = self.documents_above(to).join(", ");
            let by = if by.is_empty() { self.journey.to.name.clone() } else { by };
            return Whereabouts::Lost(format!("{by} said anew, as a whole, what it stands in"));
        }
        // A name stays a name as long as the part has it; labels behind it may have moved.
        let name = |atoms: &Atoms, mut at: usize| loop {
            let atom = &atoms.all[at];
            if !atom.name.is_empty() && written.split('(').next() == Some(atom.name.as_str()) {
                return Some(at);
            }
            match atom.parent {
                Some(parent) => at = parent,
                None => return None,
            }
        };
        let number = match (name(self.old, at), name(self.new, to)) {
            (Some(_), Some(named)) => {
                let named = &self.new.all[named];
                format!("{}{}", named.name, new.at.strip_prefix(named.at.as_str()).unwrap_or(""))
            }
            _ if old.at == new.at => written.to_string(),
            _ => new.at.clone(),
        };
        Whereabouts::Here(number, Some((at, to)))
    }

    /// The number of something new: that of what it lies in, with its own labels.
    pub(super) fn place(&self, written: &str) -> String {
        let mut above = written;
        while let Some(cut) = above.rfind('(') {
            above = &above[..cut];
            if self.own.contains(above) {
                return written.to_string();
            }
            if let Some(at) = self.old.find(above) {
                return match self.part(at, above) {
                    Whereabouts::Here(number, _) => format!("{number}{}", &written[cut..]),
                    Whereabouts::Gone(_) | Whereabouts::Lost(_) => written.to_string(),
                };
            }
        }
        written.to_string()
    }

    /// Where a reference leads, or why it leads nowhere.
    pub(super) fn reference(&self, written: &str) -> Result<String, String> {
        let Some(at) = self.old.nearest(written).filter(|_| !self.own.contains(written)) else {
            return Ok(written.to_string());
        };
        let own = &self.old.all[at];
        let bare = |number: &str| number.strip_prefix("table ").unwrap_or(number).to_string();
        let rest = written.strip_prefix(bare(&own.at).as_str());
        match (self.part(at, written), rest) {
            (Whereabouts::Here(number, _), Some(rest)) if number != written => Ok(format!("{}{rest}", bare(&number))),
            (Whereabouts::Here(..), _) => Ok(written.to_string()),
            (Whereabouts::Gone(why) | Whereabouts::Lost(why), _) => Err(format!("it refers to {written}: {why}")),
        }
    }

    fn missing(&self, at: usize) -> Whereabouts {
        let mut above = Some(at);
        while let Some(part) = above {
            let atom = &self.old.all[part];
            let done = self.since(&|event| event.node == Some(atom.node));
            let took =
                done.iter().find(|event| ["deleted", "struck", "excluded"].iter().any(|w| event.what.contains(w)));
            if let Some(event) = took {
                let what = if part == at { "it" } else { "what it stood in" };
                return Whereabouts::Gone(format!("{} took {what} out", event.document));
            }
            above = atom.parent;
        }
        let by = self.documents_of(at);
        let by = if by.is_empty() { self.journey.to.name.clone() } else { by.join(", ") };
        Whereabouts::Lost(format!("{by} has no part that came from it"))
    }

    fn since(&self, wanted: &dyn Fn(&Event) -> bool) -> Vec<&Event> {
        let known: BTreeSet<_> = self.journey.from.history.values().flatten().map(|e| e.span).collect();
        let to = self.journey.to.history.values().flatten();
        to.filter(|event| !known.contains(&event.span) && wanted(event)).collect()
    }

    /// The documents that touched a part of the old book, or what it stood in, since.
    fn documents_of(&self, at: usize) -> Vec<String> {
        let mut nodes = Vec::new();
        let mut above = Some(at);
        while let Some(part) = above {
            nodes.push(self.old.all[part].node);
            above = self.old.all[part].parent;
        }
        self.named(&|event| event.node.is_some_and(|n| nodes.contains(&n)))
    }

    fn documents_above(&self, to: usize) -> Vec<String> {
        let mut above = self.new.all[to].parent;
        while let Some(part) = above {
            let atom = &self.new.all[part];
            let found = self.named(&|event| event.node == Some(atom.node));
            if !found.is_empty() {
                return found;
            }
            above = atom.parent;
        }
        Vec::new()
    }

    /// The documents that touched a part of the new book, or something in it, since.
    pub(super) fn documents_at(&self, to: usize) -> Vec<String> {
        let nodes: Vec<_> = self.new.within(to).into_iter().map(|part| self.new.all[part].node).collect();
        self.named(&|event| event.node.is_some_and(|n| nodes.contains(&n)))
    }

    fn named(&self, wanted: &dyn Fn(&Event) -> bool) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for event in self.since(&|event| event.what != "carried unchecked" && wanted(event)) {
            if !all.contains(&event.document) {
                all.push(event.document.clone());
            }
        }
        all
    }

    pub(super) fn old_atom(&self, at: usize) -> &Atom {
        &self.old.all[at]
    }

    pub(super) fn new_atom(&self, to: usize) -> &Atom {
        &self.new.all[to]
    }
}
