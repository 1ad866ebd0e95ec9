//! From the name of a book to its items: the base edition, then each set of changes in turn.

use super::apply;
use super::layers::{BaseSet, Layer, Standing, compose_layers};
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::ir::program::Mark;
use crate::syntax::ast::*;
use std::collections::{BTreeMap, BTreeSet};

/// The most editions one may follow another through.
const LONGEST_CHAIN: usize = 32;

/// What a document did to a part of a book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// The document, such as `nec 2020` or `tia-23-3`.
    pub document: String,
    /// What it did, in a line.
    pub what: String,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Where it is written.
    pub span: Span,
    /// The part it was done to, by where that part was first written: see [`super::Atom::node`].
    pub node: Option<Span>,
}

/// A book ready to be lowered.
#[derive(Debug, Clone, Default)]
pub struct Composed {
    /// `nec 2020`, or `nec 2020 with harbor-2021`.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Its own items, without the vocabulary.
    pub items: Vec<Item>,
    /// Fields that amendments declare: thing and field.
    pub fields: Vec<(Name, Field)>,
    /// What was done to each part, oldest first, by its present number (or its name, for kinds).
    pub history: BTreeMap<String, Vec<Event>>,
    /// The identity of each part that moved: present number to the number of its first printing here.
    pub identity: BTreeMap<String, String>,
    /// New wording of changed lines, by the place the line kept.
    pub reworded: BTreeMap<Span, String>,
}

/// Editions on the way: which are being made, so that a circle is seen, and which are made, so that each is made once.
#[derive(Default)]
pub(super) struct Making {
    pub(super) chain: Vec<(String, Span)>,
    pub(super) made: BTreeMap<String, Composed>,
}

/// Composes a book. `with` names sets of changes on top of the edition, in that order.
pub fn compose(
    books: &[(SourceId, &Rulebook)],
    family: &str,
    year: &str,
    with: &[&str],
    diagnostics: &mut Diagnostics,
) -> Composed {
    let amendments = with.iter().map(|name| (*name).to_string()).collect();
    let layer = Layer { place: String::new(), amendments, over: Standing::Unsaid };
    let base = BaseSet { family: family.to_string(), year: year.to_string(), layers: vec![layer] };
    compose_layers(books, &base, diagnostics)
}

/// The interim or local amendment of that name: the one to this edition if several bases have one of that name.
pub(super) fn amendment<'a>(
    books: &[(SourceId, &'a Rulebook)],
    name: &str,
    family: &str,
    year: &str,
) -> Option<&'a ChangeSet> {
    let named = amendments_named(books, name);
    let amends =
        |set: &&ChangeSet| set.base.as_ref().is_none_or(|base| base.family.text == family && base.year.text == year);
    named.iter().copied().find(amends).or_else(|| named.first().copied())
}

/// All interim and local amendments of that name, in the order they were loaded: one for each base it was written against.
pub fn amendments_named<'a>(books: &[(SourceId, &'a Rulebook)], name: &str) -> Vec<&'a ChangeSet> {
    amendments(books).into_iter().filter(|set| set.name.text == name).collect()
}

/// All interim and local amendments, in the order they were loaded.
pub fn amendments<'a>(books: &[(SourceId, &'a Rulebook)]) -> Vec<&'a ChangeSet> {
    sets(books).filter(|set| set.kind != SetKind::Edition).collect()
}

/// The editions that one follows, oldest first, with itself at the end.
pub fn chain(books: &[(SourceId, &Rulebook)], family: &str, year: &str) -> Vec<(String, String)> {
    let mut all = vec![(family.to_string(), year.to_string())];
    while let Some((family, year)) = all.last().cloned() {
        let before = sets(books)
            .find(|s| s.edition.as_ref().is_some_and(|e| e.family.text == family && e.year.text == year))
            .and_then(|s| s.base.as_ref())
            .map(|base| (base.family.text.to_string(), base.year.text.to_string()));
        match before {
            Some(before) if !all.contains(&before) => all.push(before),
            _ => break,
        }
    }
    all.reverse();
    all
}

/// A book with one more set of changes on top, whatever base that set declares.
pub fn applied(
    book: &Composed,
    set: &ChangeSet,
    books: &[(SourceId, &Rulebook)],
    diagnostics: &mut Diagnostics,
) -> Composed {
    let mut changed = book.clone();
    apply::set(&mut changed, set, &set.name.text, books, &mut Making::default(), diagnostics);
    changed
}

/// All sets of changes.
pub(super) fn sets<'a>(books: &[(SourceId, &'a Rulebook)]) -> impl Iterator<Item = &'a ChangeSet> {
    let all: Vec<&'a ChangeSet> = books
        .iter()
        .flat_map(|(_, book)| &book.items)
        .filter_map(|item| match item {
            Item::Changes(set) => Some(set),
            _ => None,
        })
        .collect();
    all.into_iter()
}

/// An edition as printed: what it follows, its changes, and items under its own header.
pub(super) fn edition(
    books: &[(SourceId, &Rulebook)],
    family: &str,
    year: &str,
    making: &mut Making,
    diagnostics: &mut Diagnostics,
) -> Composed {
    let name = format!("{family} {year}");
    if let Some(made) = making.made.get(&name) {
        return made.clone();
    }
    let mut own: Vec<&ChangeSet> = sets(books)
        .filter(|s| s.edition.as_ref().is_some_and(|e| e.family.text == family && e.year.text == year))
        .collect();
    own.sort_by_key(|s| s.span);
    let mut composed = Composed { name: name.clone(), ..Composed::default() };
    if let Some(first) = own.first() {
        if making.chain.iter().any(|(known, _)| *known == name) || making.chain.len() >= LONGEST_CHAIN {
            let mut diagnostic = Diagnostic::error(Code::FollowsInCircle, format!("`{name}` follows itself"));
            for (known, span) in making.chain.iter() {
                diagnostic = diagnostic.at(*span, format!("`{known}` follows here"));
            }
            diagnostics.push(diagnostic.help("one edition of the ring must stand alone"));
            return composed;
        }
        making.chain.push((name.clone(), first.span));
        if let Some(base) = &first.base {
            composed = edition(books, &base.family.text, &base.year.text, making, diagnostics);
            if !has_header(books, &base.family.text, &base.year.text) {
                diagnostics.push(
                    Diagnostic::error(
                        Code::EditionNotLoaded,
                        format!("`{name}` follows an edition that is not loaded"),
                    )
                    .at(base.family.span.to(base.year.span), "not loaded")
                    .help("load it too, or correct its name or year"),
                );
                // Every change would complain that its place is missing.
                making.chain.pop();
                composed.name.clone_from(&name);
                return composed;
            }
        }
        composed.name.clone_from(&name);
        for set in own {
            if let Some(title) = &set.title {
                composed.title = title.to_string();
            }
            apply::set(&mut composed, set, &name, books, making, diagnostics);
        }
        making.chain.pop();
    }
    let mut titled = false;
    let mut terms = Vec::new();
    for (_, book) in books {
        let mut ours = false;
        for item in &book.items {
            match item {
                Item::Terms(_) => ours = false,
                Item::Edition(header) => {
                    ours = header.family.text == family && header.year.text == year;
                    if ours
                        && let Some(title) = &header.title
                        && !titled
                    {
                        composed.title = title.to_string();
                        titled = true;
                    }
                }
                Item::Changes(_) | Item::Beside(_) | Item::Jurisdiction(_) => {}
                Item::Kind(Kind { only, .. }) | Item::Define(Define { only, .. }) | Item::Limit(Limit { only, .. })
                    if ours && !only.is_empty() =>
                {
                    terms.push(item.clone());
                }
                other if ours => composed.items.push(other.clone()),
                _ => {}
            }
        }
    }
    apply::terms_for_some(&mut composed, &terms, &name, books, making, diagnostics);
    // Only text that is used elsewhere is asked for again.
    if sets(books).any(|set| set.changes.iter().any(|change| matches!(change.kind, ChangeKind::Use { .. }))) {
        making.made.insert(name, composed.clone());
    }
    composed
}

/// Whether some file opens this edition.
fn has_header(books: &[(SourceId, &Rulebook)], family: &str, year: &str) -> bool {
    books.iter().flat_map(|(_, b)| &b.items).any(|item| match item {
        Item::Edition(header) => {
            header.extent == Extent::Edition && header.family.text == family && header.year.text == year
        }
        Item::Changes(set) => set.edition.as_ref().is_some_and(|e| e.family.text == family && e.year.text == year),
        _ => false,
    })
}

impl Composed {
    /// The number a part had when it was first printed in these rulebooks.
    pub fn first_number(&self, address: &str) -> String {
        self.identity
            .iter()
            .filter_map(|(now, first)| address.strip_prefix(now.as_str()).map(|rest| (now.len(), rest, first)))
            .filter(|(_, rest, _)| rest.is_empty() || rest.starts_with('('))
            .max_by_key(|(length, ..)| *length)
            .map_or_else(|| address.to_string(), |(_, rest, first)| format!("{first}{rest}"))
    }

    /// Notes what a document did to a part.
    pub(super) fn note(&mut self, at: &str, event: Event) {
        self.history.entry(at.to_string()).or_default().push(event);
    }

    /// The history of a part and of what it lies in and what lies in it, outermost first.
    pub fn history_of<'c>(&'c self, address: &str) -> Vec<(&'c str, &'c Event)> {
        let related = |at: &str| {
            at == address
                || at.strip_prefix(address).is_some_and(|rest| rest.starts_with('('))
                || address.strip_prefix(at).is_some_and(|rest| rest.starts_with('('))
        };
        self.history
            .iter()
            .filter(|(at, _)| related(at))
            .flat_map(|(at, events)| events.iter().map(move |event| (at.as_str(), event)))
            .collect()
    }

    /// Numbers of the sections about a subject.
    pub fn about(&self, subject: &str) -> Vec<String> {
        let about = |section: &&Section| section.about.iter().any(|own| own.text == subject);
        self.section_items().filter(about).map(|section| section.address.text.to_string()).collect()
    }

    /// The subjects that sections are about.
    pub fn subjects(&self) -> BTreeSet<String> {
        self.section_items().flat_map(|section| &section.about).map(|own| own.text.to_string()).collect()
    }

    fn section_items(&self) -> impl Iterator<Item = &Section> {
        self.items.iter().filter_map(|item| match item {
            Item::Section(section) => Some(section),
            _ => None,
        })
    }

    /// Numbers of all sections.
    pub fn sections(&self) -> BTreeSet<&str> {
        self.items
            .iter()
            .filter_map(|item| match item {
                Item::Section(section) => Some(section.address.text.as_str()),
                _ => None,
            })
            .collect()
    }
}
