//! Findings beyond mistakes: rules that can be run, and probably do not say what was meant.
//!
//! One file for each family of findings: `conditions` (exceptions, list items, conditions that always or never hold, found by
//! contradiction in [`possible`]), `names` (what nothing uses), `tables` (rows out of reach), `numbers` (gaps), `duals` (limits in
//! two systems), `wording` (vague words), `marks` (no source), `examples` (no example). [`settle`] takes out what is said to be
//! `intended F0102 "…"` at its place, and tells of what is said so for nothing. A finding holds of every installation or is not
//! made: where a proof grows too large there is none. Deliberately absent: mistakes (they are the compiler's), and whether the
//! rules are right.
//!
//! Tests: `tests/review.rs`, and the pages of the codes that start with `F`.

mod conditions;
mod duals;
mod examples;
mod findings;
mod marks;
mod names;
mod numbers;
mod possible;
mod reads;
mod settle;
mod span;
mod tables;
mod view;
mod wording;

use crate::base::source::{SourceId, Sources, Span};
use crate::diag::{Diagnostic, Diagnostics};
use crate::edition::{self, Composed};
use crate::ir::program::Program;
use crate::sema;
use crate::syntax::ast::{Item, Rulebook, SetKind};
use findings::Findings;
use std::collections::{BTreeMap, BTreeSet};

/// A finding and the books it was made in.
#[derive(Debug, Clone)]
pub struct Finding {
    /// What is to be said of it, with its code and places.
    pub diagnostic: Diagnostic,
    /// The books it was made in; none: it is about the vocabulary of a family.
    pub books: Vec<String>,
}

/// A finding that is said at its place to be as it should be.
#[derive(Debug, Clone)]
pub struct Intended {
    /// The finding.
    pub finding: Finding,
    /// The reason given.
    pub reason: String,
    /// Where that is written.
    pub span: Span,
}

/// What a review found.
#[derive(Debug, Clone, Default)]
pub struct Review {
    /// The books looked at, such as `nec 2017` or `nec 2020 with harbor-2021`.
    pub books: Vec<String>,
    /// Findings by code, then by place.
    pub findings: Vec<Finding>,
    /// Those said to be intended, in the same order.
    pub intended: Vec<Intended>,
}

/// A book that is looked at.
struct Book {
    family: String,
    composed: Composed,
    program: Program,
}

/// The name of a book: family, edition and amendments.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct BookKey {
    family: String,
    year: String,
    with: Vec<String>,
}

/// Looks at the books named in `under`, each as `nec 2017`, `2017` or `nec 2020 with harbor-2021`; at every edition, and every
/// amendment on the edition it is written against, if none is named. What nothing uses is always looked for over all
/// editions that are loaded. Books that cannot be opened are told of in the diagnostics, and nothing is found then.
pub fn review(sources: &Sources, trees: &[(SourceId, &Rulebook)], under: &[String]) -> (Review, Diagnostics) {
    let mut diagnostics = Diagnostics::new();
    let all = every_book(trees);
    let wanted: Vec<BookKey> = if under.is_empty() { all.clone() } else { named(&all, under) };
    let mut books = Vec::new();
    for key in all.iter().chain(wanted.iter().filter(|key| !all.contains(key))) {
        books.extend(open(sources, trees, key, &mut diagnostics).map(|book| (key, book)));
    }
    if diagnostics.has_errors() {
        return (Review::default(), diagnostics);
    }
    let mut findings = Findings::default();
    let families: BTreeSet<&str> = books.iter().map(|(_, book)| book.family.as_str()).collect();
    for family in families {
        let ours: Vec<&Book> = books.iter().filter(|(_, b)| b.family == family).map(|(_, b)| b).collect();
        let looked_at: Vec<&Book> =
            books.iter().filter(|(key, b)| b.family == family && wanted.contains(key)).map(|(_, b)| b).collect();
        if looked_at.is_empty() {
            continue;
        }
        let vocabulary = vocabulary(family, trees);
        names::review(family, &ours, trees, sources, &mut findings);
        tables::review(&ours, &mut findings);
        examples::review(family, &looked_at, trees, &mut findings);
        let heads: BTreeMap<String, Span> = headers(family, trees).into_iter().collect();
        for book in looked_at {
            let items: Vec<&Item> = vocabulary.iter().copied().chain(&book.composed.items).collect();
            conditions::review(&book.program, sources, &mut findings);
            numbers::review(book, &mut findings);
            duals::review(&book.program.edition, &items, sources, &mut findings);
            wording::review(book, &items, &mut findings);
            let edition = book.program.edition.split(" with ").next().unwrap_or_default();
            match heads.get(edition).filter(|_| marks::none(book)) {
                Some(head) => marks::missing(&book.program.edition, *head, &mut findings),
                None => marks::review(book, &items, sources, &mut findings),
            }
        }
    }
    let names: Vec<String> = wanted.iter().map(BookKey::words).collect();
    let mut review = settle::settle(findings.done(sources), trees, under.is_empty());
    review.books = names;
    review.tell_books();
    (review, diagnostics)
}

impl BookKey {
    fn words(&self) -> String {
        match self.with.as_slice() {
            [] => format!("{} {}", self.family, self.year),
            with => format!("{} {} with {}", self.family, self.year, with.join(", ")),
        }
    }
}

/// Every edition, and every amendment on the edition it is written against.
fn every_book(trees: &[(SourceId, &Rulebook)]) -> Vec<BookKey> {
    let mut all: BTreeSet<BookKey> = BTreeSet::new();
    for book in sema::editions(trees) {
        all.insert(BookKey { family: book.family, year: book.year, with: Vec::new() });
    }
    let editions: Vec<BookKey> = all.iter().cloned().collect();
    for set in edition::amendments(trees) {
        // One to every base is looked at on the latest edition; the text of errata is that of the book they correct.
        let on = match &set.base {
            Some(base) => {
                editions.iter().find(|e| e.family == base.family.text.as_str() && e.year == base.year.text.as_str())
            }
            None => editions.last(),
        };
        if let Some(on) = on.filter(|_| set.kind != SetKind::Erratum) {
            all.insert(BookKey { with: vec![set.name.text.to_string()], ..on.clone() });
        }
    }
    all.into_iter().collect()
}

/// The books that are meant.
fn named(all: &[BookKey], under: &[String]) -> Vec<BookKey> {
    let mut found = Vec::new();
    for name in under {
        let known: Vec<&BookKey> =
            all.iter().filter(|key| key.words() == *name || (key.year == *name && key.with.is_empty())).collect();
        if known.is_empty() {
            let (edition, with) = name.split_once(" with ").unwrap_or((name, ""));
            let mut words = edition.split_whitespace();
            found.push(BookKey {
                family: words.next().unwrap_or("").to_string(),
                year: words.collect::<Vec<_>>().join("-"),
                with: with.split(',').map(str::trim).filter(|w| !w.is_empty()).map(str::to_string).collect(),
            });
        }
        found.extend(known.into_iter().cloned());
    }
    found.sort();
    found.dedup();
    found
}

fn open(
    sources: &Sources,
    trees: &[(SourceId, &Rulebook)],
    key: &BookKey,
    diagnostics: &mut Diagnostics,
) -> Option<Book> {
    let with: Vec<&str> = key.with.iter().map(String::as_str).collect();
    let mut found = Diagnostics::new();
    let composed = edition::compose(trees, &key.family, &key.year, &with, &mut found);
    let (program, more) = sema::lower(sources, trees, &composed, &key.family, &key.year);
    found.extend(more);
    let broken = found.has_errors();
    for diagnostic in found {
        if !diagnostics.iter().any(|known| *known == diagnostic) {
            diagnostics.push(diagnostic);
        }
    }
    (!broken).then(|| Book { family: key.family.clone(), composed, program })
}

/// Items that stand under the terms of a family.
fn vocabulary<'a>(family: &str, trees: &[(SourceId, &'a Rulebook)]) -> Vec<&'a Item> {
    let mut found = Vec::new();
    for (_, tree) in trees {
        let mut ours = false;
        for item in &tree.items {
            match item {
                Item::Terms(header) => ours = header.family.text == family,
                Item::Edition(_) => ours = false,
                Item::Changes(_) | Item::Beside(_) | Item::Jurisdiction(_) => {}
                item if ours => found.push(item),
                _ => {}
            }
        }
    }
    found
}

/// The editions of a family, each with the place of its head.
fn headers(family: &str, trees: &[(SourceId, &Rulebook)]) -> Vec<(String, Span)> {
    let mut found: BTreeMap<String, Span> = BTreeMap::new();
    for item in trees.iter().flat_map(|(_, tree)| &tree.items) {
        let (name, span) = match item {
            Item::Edition(header) => (format!("{} {}", header.family.text, header.year.text), header.span),
            Item::Changes(set) => match &set.edition {
                Some(edition) => (format!("{} {}", edition.family.text, edition.year.text), set.span),
                None => continue,
            },
            _ => continue,
        };
        if name.split(' ').next() == Some(family) {
            found.entry(name).or_insert(span);
        }
    }
    found.into_iter().collect()
}
