//! What became of each part from one book to the next, and on whose word.

use super::align::{Alignment, suffix};
use super::markup::{Fate, Marked, marked};
use crate::base::printed::printed_order;
use crate::edition::{Atom, Atoms, Composed, Event, Line, Sort, readdressed};
use crate::ir::program::Mark;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What became of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// Says the same under the same number. Counted, not listed.
    Unchanged,
    /// Says something else.
    Changed,
    /// Says the same under another number.
    Moved,
    /// Another number, and says something else.
    MovedAndChanged,
    /// New.
    Added,
    /// No longer there.
    Removed,
    /// Its number stands without content.
    Reserved,
    /// Its number now names another subject: one part was removed, another added.
    NumberReused,
    /// Only titles, notes or subjects changed: no verdict can.
    NoteOnly,
    /// Refers to a part that is no longer there.
    DanglingReference,
    /// Refers to a number that now names another subject.
    TargetSubjectChanged,
    /// By the dates of the facts it is over.
    Expired,
    /// An amendment that changes nothing of its base: a candidate to retire.
    Redundant,
    /// An amendment that changes notes and titles only.
    AmendmentNoteOnly,
    /// Copied from the edition before without being checked.
    CarriedUnchecked,
}

impl Class {
    /// In words.
    pub fn as_str(self) -> &'static str {
        match self {
            Class::Unchanged => "unchanged",
            Class::Changed => "changed",
            Class::Moved => "moved",
            Class::MovedAndChanged => "moved and changed",
            Class::Added => "added",
            Class::Removed => "removed",
            Class::Reserved => "reserved",
            Class::NumberReused => "number reused",
            Class::NoteOnly => "note only",
            Class::DanglingReference => "dangling reference",
            Class::TargetSubjectChanged => "target subject changed",
            Class::Expired => "expired",
            Class::Redundant => "redundant",
            Class::AmendmentNoteOnly => "amendment of notes only",
            Class::CarriedUnchecked => "carried unchecked",
        }
    }

    /// Whether a verdict may differ for it.
    pub fn binds(self) -> bool {
        match self {
            Class::Changed
            | Class::MovedAndChanged
            | Class::Added
            | Class::Removed
            | Class::Reserved
            | Class::NumberReused
            | Class::Expired => true,
            Class::Unchanged
            | Class::Moved
            | Class::NoteOnly
            | Class::DanglingReference
            | Class::TargetSubjectChanged
            | Class::Redundant
            | Class::AmendmentNoteOnly
            | Class::CarriedUnchecked => false,
        }
    }
}

/// One part that is not as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PartChange {
    /// The later book.
    pub book: String,
    /// What became of it.
    pub class: Class,
    /// Its number in the later book, or the one it had if it is gone.
    pub at: String,
    /// Its number in the earlier book where that is another; else empty.
    pub was_at: String,
    /// Its name, or empty.
    pub name: String,
    /// Its printed lines that differ.
    pub lines: Vec<Marked>,
    /// What else there is to say, or empty.
    pub note: String,
    /// How many parts inside it went the same way and are not listed.
    pub within: usize,
    /// The documents on record for it.
    pub documents: Vec<String>,
    /// Sources and their marks.
    pub marks: Vec<String>,
    /// The part in the earlier and in the later book, as [`Atom::at`].
    #[serde(skip)]
    pub parts: (String, String),
}

/// What became of all parts of a book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Classified {
    /// The earlier book.
    pub from: String,
    /// The later book.
    pub to: String,
    /// The books share no lineage: parts were matched by their numbers.
    pub by_number: bool,
    /// How many parts went which way.
    pub counts: BTreeMap<String, usize>,
    /// What is not as it was, in the order of the numbers.
    pub changes: Vec<PartChange>,
}

/// The dates of the project that the facts state, by their names.
pub type Dates = BTreeMap<String, String>;

/// The parts of two books, aligned and with their lines.
pub struct Pair<'p> {
    first: (&'p Composed, &'p Atoms),
    second: (&'p Composed, &'p Atoms),
    /// Which part is which.
    pub alignment: Alignment,
    /// The lines of the first book with its references as the second numbers them; none if no number moved.
    told: Option<Atoms>,
}

impl<'p> Pair<'p> {
    /// Aligns two books.
    pub fn of(first: (&'p Composed, &'p Atoms), second: (&'p Composed, &'p Atoms)) -> Pair<'p> {
        let alignment = Alignment::of(first, second);
        let moved: BTreeMap<&str, &str> = alignment
            .forward
            .iter()
            .enumerate()
            .filter_map(|(at, to)| Some((first.1.all[at].at.as_str(), second.1.all[(*to)?].at.as_str())))
            .filter(|(old, new)| old != new)
            .collect();
        let told = (!moved.is_empty()).then(|| {
            Atoms::of_items(&readdressed(&first.0.items, &|number| {
                let at = first.1.nearest(number)?;
                let own = &first.1.all[at].at;
                let bare = own.strip_prefix("table ").unwrap_or(own);
                let new = *moved.get(own.as_str())?;
                let rest = number.strip_prefix(bare)?;
                Some(format!("{}{rest}", new.strip_prefix("table ").unwrap_or(new)))
            }))
        });
        Pair { first, second, alignment, told }
    }

    /// The lines of a part of the first book.
    pub fn old_lines(&self, at: usize) -> Vec<Line> {
        let told = self.told.as_ref().and_then(|t| t.all.get(at));
        told.or_else(|| self.first.1.all.get(at)).map(Atom::printed).unwrap_or_default()
    }

    /// The lines of a part of the second book.
    pub fn new_lines(&self, at: usize) -> Vec<Line> {
        self.second.1.all.get(at).map(Atom::printed).unwrap_or_default()
    }

    /// Whether the number of a part changed by more than the number of what it stands in.
    fn moved(&self, at: usize, to: usize) -> bool {
        let (old, new) = (&self.first.1.all[at], &self.second.1.all[to]);
        if old.at == new.at {
            return false;
        }
        match (old.parent, new.parent) {
            (Some(a), Some(b)) if self.alignment.to(a) == Some(b) => {
                suffix(&self.first.1.all[a], old) != suffix(&self.second.1.all[b], new)
            }
            _ => true,
        }
    }

    /// How two aligned parts differ.
    pub fn class(&self, at: usize, to: usize) -> (Class, Vec<Marked>) {
        let (old, new) = (self.old_lines(at), self.new_lines(to));
        let moved = self.moved(at, to);
        if old == new {
            return (if moved { Class::Moved } else { Class::Unchanged }, Vec::new());
        }
        let lines = if self.first.1.all[at].sort == self.second.1.all[to].sort {
            marked(&old, &new)
        } else {
            let struck = old.iter().map(|line| Marked::whole(line, Fate::Struck));
            struck.chain(new.iter().map(|line| Marked::whole(line, Fate::Inserted))).collect()
        };
        let binds = lines.iter().any(|l| l.binds);
        let class = match (moved, binds) {
            _ if self.second.1.all[to].reserved && !self.first.1.all[at].reserved => Class::Reserved,
            (true, true) => Class::MovedAndChanged,
            (false, true) => Class::Changed,
            (true, false) => Class::Moved,
            (false, false) => Class::NoteOnly,
        };
        (class, lines)
    }
}

/// Classifies every part of two books.
pub fn classify(pair: &Pair, dates: &Dates) -> Classified {
    let (a, b) = (pair.first.1, pair.second.1);
    let mut found = Finder { pair, news: news(pair), counts: BTreeMap::new(), changes: Vec::new() };
    let mut replaced: BTreeSet<usize> = BTreeSet::new();
    for (to, atom) in b.all.iter().enumerate() {
        match pair.alignment.from(to) {
            Some(at) => found.aligned(at, to),
            None => {
                let parent_is_new = atom.parent.is_some_and(|p| pair.alignment.from(p).is_none());
                let gone = a.find(&atom.at).filter(|at| pair.alignment.to(*at).is_none() && atom.sort != Sort::Row);
                match gone {
                    _ if parent_is_new => found.count(Class::Added),
                    Some(at) => {
                        replaced.insert(at);
                        found.reused(at, to);
                    }
                    None => found.added(to),
                }
            }
        }
        found.references(to);
        found.expired(to, dates);
    }
    for (at, atom) in a.all.iter().enumerate().filter(|(at, _)| pair.alignment.to(*at).is_none()) {
        let parent_gone = atom.parent.is_some_and(|p| pair.alignment.to(p).is_none());
        if parent_gone {
            found.count(Class::Removed);
        } else if !replaced.contains(&at) {
            found.removed(at);
        }
    }
    found.unchecked();
    found.without_target();
    let Finder { mut changes, counts, .. } = found;
    changes.sort_by_cached_key(|change| {
        let number = change.at.strip_prefix("table ").unwrap_or(&change.at);
        // Exceptions stand behind their part and before the paragraphs in it.
        let (part, exception) = number.split_once(" Ex.").unwrap_or((number, ""));
        (printed_order(part), printed_order(exception.trim()), change.parts.clone())
    });
    Classified {
        from: pair.first.0.name.clone(),
        to: pair.second.0.name.clone(),
        by_number: pair.alignment.by_number,
        counts: counts.into_iter().map(|(class, n)| (class.as_str().to_string(), n)).collect(),
        changes,
    }
}

/// What the second book has on record that the first has not, then the reverse.
fn news<'p>(pair: &Pair<'p>) -> Vec<&'p Event> {
    let (first, second) = (pair.first.0, pair.second.0);
    let of = |book: &'p Composed, other: &'p Composed| {
        let known: BTreeSet<_> = other.history.values().flatten().map(|event| event.span).collect();
        book.history.values().flatten().filter(move |event| !known.contains(&event.span))
    };
    of(second, first).chain(of(first, second)).collect()
}

struct Finder<'f, 'p> {
    pair: &'f Pair<'p>,
    news: Vec<&'p Event>,
    counts: BTreeMap<Class, usize>,
    changes: Vec<PartChange>,
}

impl<'p> Finder<'_, 'p> {
    fn count(&mut self, class: Class) {
        *self.counts.entry(class).or_default() += 1;
    }

    fn blank(&self, class: Class, atom: &Atom) -> PartChange {
        PartChange {
            book: self.pair.second.0.name.clone(),
            class,
            at: atom.cite.clone(),
            was_at: String::new(),
            name: if atom.name == atom.cite { String::new() } else { atom.name.clone() },
            lines: Vec::new(),
            note: String::new(),
            within: 0,
            documents: Vec::new(),
            marks: Vec::new(),
            parts: (String::new(), String::new()),
        }
    }

    fn push(&mut self, change: PartChange) {
        self.count(change.class);
        self.changes.push(change);
    }

    fn aligned(&mut self, at: usize, to: usize) {
        let (class, lines) = self.pair.class(at, to);
        if class == Class::Unchanged {
            self.count(class);
            return;
        }
        let (old, new) = (&self.pair.first.1.all[at], &self.pair.second.1.all[to]);
        let mut change = self.blank(class, new);
        if old.cite != new.cite && matches!(class, Class::Moved | Class::MovedAndChanged) {
            change.was_at.clone_from(&old.cite);
        }
        change.lines = lines;
        if old.sort != new.sort && (old.sort == Sort::Reading || new.sort == Sort::Reading) {
            change.note = match new.sort {
                Sort::Reading => "now a disputed text".to_string(),
                _ => "no longer a disputed text".to_string(),
            };
        }
        if matches!(class, Class::Moved | Class::MovedAndChanged) {
            change.within = self.pair.second.1.within(to).len() - 1;
        }
        change.parts = (old.at.clone(), new.at.clone());
        self.evidence(&mut change, &[old.node, new.node], to);
        self.push(change);
    }

    fn added(&mut self, to: usize) {
        let atom = &self.pair.second.1.all[to];
        let mut change = self.blank(Class::Added, atom);
        change.lines = self.whole(self.pair.second.1, to, Fate::Inserted);
        change.within = self.pair.second.1.within(to).len() - 1;
        change.parts.1.clone_from(&atom.at);
        if let Some(here) = self.pair.first.1.find(&atom.at)
            && let Some(went) = self.pair.alignment.to(here)
        {
            change.note = format!("what was {} is now {}", atom.cite, self.pair.second.1.all[went].cite);
        }
        self.evidence(&mut change, &[atom.node], to);
        self.push(change);
    }

    fn reused(&mut self, at: usize, to: usize) {
        let atom = &self.pair.second.1.all[to];
        let mut change = self.blank(Class::NumberReused, atom);
        change.lines = self.whole(self.pair.first.1, at, Fate::Struck);
        change.lines.extend(self.whole(self.pair.second.1, to, Fate::Inserted));
        let title = |a: &Atom| if a.title.is_empty() { a.name.clone() } else { a.title.clone() };
        let (old, new) = (title(&self.pair.first.1.all[at]), title(atom));
        change.note = match (old.as_str(), new.as_str()) {
            ("", _) | (_, "") => "one part was removed and another added under its number".to_string(),
            (old, new) => format!("\"{old}\" was removed, \"{new}\" added under its number"),
        };
        let old = &self.pair.first.1.all[at];
        change.parts = (old.at.clone(), atom.at.clone());
        self.evidence(&mut change, &[old.node, atom.node], to);
        self.push(change);
    }

    fn removed(&mut self, at: usize) {
        let atom = &self.pair.first.1.all[at];
        let mut change = self.blank(Class::Removed, atom);
        change.lines = self.whole(self.pair.first.1, at, Fate::Struck);
        change.within = self.pair.first.1.within(at).len() - 1;
        change.parts.0.clone_from(&atom.at);
        let mut events = self.news(&|event| event.node == Some(atom.node));
        let mut above = atom.parent;
        while let (true, Some(parent)) = (events.is_empty(), above) {
            let atom = &self.pair.first.1.all[parent];
            events = self.news(&|event| event.node == Some(atom.node) && whole_anew(event));
            above = atom.parent;
        }
        self.record(&mut change, &events);
        self.push(change);
    }

    /// The lines of a part and of those in it.
    fn whole(&self, atoms: &Atoms, at: usize, fate: Fate) -> Vec<Marked> {
        let own = &atoms.all[at].at;
        atoms
            .within(at)
            .into_iter()
            .flat_map(|inner| {
                let atom = &atoms.all[inner];
                let label = atom.at.strip_prefix(own.as_str()).unwrap_or("").trim_start_matches([',', ' ']).to_string();
                let row = atom.sort == Sort::Row;
                let mut first = true;
                atom.printed()
                    .into_iter()
                    .map(move |line| {
                        let head = if first && !label.is_empty() && !row { format!("{label} ") } else { String::new() };
                        first = false;
                        Marked::whole(&Line { text: format!("{head}{}", line.text), binds: line.binds }, fate)
                    })
                    .collect::<Vec<_>>()
            })
            .collect()
    }

    fn news(&self, wanted: &dyn Fn(&Event) -> bool) -> Vec<&'p Event> {
        self.news.iter().copied().filter(|event| wanted(event)).collect()
    }

    /// Who did it, by what is on record for a part or, where nothing is, for the nearest part that it stands in.
    fn evidence(&self, change: &mut PartChange, nodes: &[crate::base::source::Span], to: usize) {
        let real = |event: &Event| event.what != "carried unchecked";
        let mut events = self.news(&|event| real(event) && event.node.is_some_and(|n| nodes.contains(&n)));
        let mut above = self.pair.second.1.all[to].parent;
        let row = self.pair.second.1.all[to].sort == Sort::Row;
        let key =
            self.pair.second.1.all[to].at.rsplit_once("table ").and_then(|(_, k)| k.split_once(", ")).map(|(_, k)| k);
        while let (true, Some(parent)) = (events.is_empty(), above) {
            let atom = &self.pair.second.1.all[parent];
            let fits = |event: &Event| match (row, key, change.class) {
                (true, Some(key), _) => event.what.contains(key),
                (_, _, Class::Added) => event.what.starts_with("added") || whole_anew(event),
                _ => whole_anew(event),
            };
            events = self.news(&|event| real(event) && event.node == Some(atom.node) && fits(event));
            above = atom.parent;
        }
        self.record(change, &events);
        for mark in crate::edition::marks(&self.pair.second.1.all[to].marks) {
            if change.documents.is_empty() || change.class == Class::Added {
                add_mark(&mut change.marks, told(&mark));
            }
        }
    }

    fn record(&self, change: &mut PartChange, events: &[&Event]) {
        for event in events {
            if !change.documents.contains(&event.document) {
                change.documents.push(event.document.clone());
            }
            for mark in event.marks.iter().map(told) {
                add_mark(&mut change.marks, mark);
            }
        }
    }

    /// References that led somewhere in the first book and do not, or lead elsewhere, in the second.
    fn references(&mut self, to: usize) {
        let (a, b) = (self.pair.first.1, self.pair.second.1);
        let atom = &b.all[to];
        let mut told: BTreeSet<&str> = BTreeSet::new();
        for number in atom.refers.iter().filter(|r| told.insert(r)) {
            let (before, now) = (a.referred(number), b.referred(number));
            let (class, note) = match (before, now) {
                (Some(before), None) => {
                    let title = titled(&a.all[before]);
                    (Class::DanglingReference, format!("refers to {number}{title}, which is no longer there"))
                }
                (Some(before), Some(now)) if self.pair.alignment.to(before) != Some(now) => {
                    let (old, new) = (titled(&a.all[before]), titled(&b.all[now]));
                    let went = match self.pair.alignment.to(before) {
                        Some(went) => format!("; the former is now {}", b.all[went].cite),
                        None => String::new(),
                    };
                    (
                        Class::TargetSubjectChanged,
                        format!("refers to {number}{old}, which is now another part{new}{went}"),
                    )
                }
                _ => continue,
            };
            // A reference that composition moved along with its target is not stale.
            let followed = self.pair.alignment.from(to).is_some_and(|at| !a.all[at].refers.contains(number));
            if followed {
                continue;
            }
            let mut change = self.blank(class, atom);
            change.note = note;
            change.parts = (String::new(), atom.at.clone());
            self.push(change);
        }
    }

    /// Sections that composition let go of a reference, since what they referred to asks nothing any more.
    fn without_target(&mut self) {
        let news = self.news(&|event| event.what.starts_with("no longer reaches "));
        let book = self.pair.second.0;
        for (at, own) in &book.history {
            for event in own.iter().filter(|event| news.contains(event)) {
                let Some(to) = self.pair.second.1.find(at) else { continue };
                let mut change = self.blank(Class::DanglingReference, &self.pair.second.1.all[to]);
                change.note.clone_from(&event.what);
                change.parts = (String::new(), at.clone());
                self.record(&mut change, &[event]);
                self.push(change);
            }
        }
    }

    fn expired(&mut self, to: usize, dates: &Dates) {
        let atom = &self.pair.second.1.all[to];
        let Some(until) = &atom.until else { return };
        let Some(day) = dates.get(&until.clock) else { return };
        let inside = if until.through { *day <= until.date } else { *day < until.date };
        if inside {
            return;
        }
        let mut change = self.blank(Class::Expired, atom);
        let word = if until.through { "through" } else { "before" };
        change.note = format!("holds {word} {} by {}; the facts say {day}", until.date, until.clock);
        change.parts = (String::new(), atom.at.clone());
        change.marks = crate::edition::marks(&atom.marks).iter().map(told).collect();
        self.push(change);
    }

    fn unchecked(&mut self) {
        let events = self.news(&|event| event.what == "carried unchecked");
        let book = self.pair.second.0;
        let mut listed: BTreeSet<String> = BTreeSet::new();
        for (at, own) in &book.history {
            for event in own.iter().filter(|event| events.iter().any(|e| e.span == event.span && e.what == event.what))
            {
                let Some(to) = self.pair.second.1.find(at).filter(|_| listed.insert(at.clone())) else { continue };
                if event.what != "carried unchecked" {
                    continue;
                }
                let mut change = self.blank(Class::CarriedUnchecked, &self.pair.second.1.all[to]);
                self.record(&mut change, &[event]);
                self.push(change);
            }
        }
    }
}

/// Adds a mark unless another names all its sources already.
fn add_mark(marks: &mut Vec<String>, mark: String) {
    let names = |of: &str, key: &str| of.starts_with("seen ") && of.split(' ').any(|own| own == key);
    let known = |own: &String| {
        *own == mark || mark.strip_prefix("seen ").is_some_and(|keys| keys.split(' ').all(|key| names(own, key)))
    };
    if !marks.iter().any(known) {
        marks.push(mark);
    }
}

fn whole_anew(event: &Event) -> bool {
    event.what.ends_with("replaced")
        || event.what.contains("the text of ")
        || ["added", "inserted"].iter().any(|w| event.what == *w || event.what.ends_with(&format!(": {w}")))
}

fn titled(atom: &Atom) -> String {
    if atom.title.is_empty() { String::new() } else { format!(" \"{}\"", atom.title) }
}

/// A mark in words.
pub(super) fn told(mark: &Mark) -> String {
    match mark {
        Mark::Seen(source) => format!("seen {source}"),
        Mark::Memory => "memory".to_string(),
        Mark::Disputed(how) => format!("disputed: {how}"),
        Mark::Unchecked(document) => format!("carried into {document} unchecked"),
    }
}
