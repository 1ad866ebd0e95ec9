//! The books that examples are run under: each opened once, with the conditions of its claims lowered beside its rules.

use super::check::Asked;
use super::shelf::Placed;
use crate::base::source::{SourceId, Sources, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::edition;
use crate::ir::program::{DutyId, KindId, Program, TableId};
use crate::sema;
use crate::syntax::ast::{
    Address, Claim, Clauses, Item, Items, Kind, ListItem, Name, PublishedTable, Rulebook, Table, Under, YearSpan,
};
use std::collections::BTreeMap;

/// The rulebooks at hand.
pub(super) struct Library<'a> {
    pub(super) sources: &'a Sources,
    pub(super) trees: &'a [(SourceId, &'a Rulebook)],
    editions: Vec<sema::Book>,
}

/// The name of a book.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct BookKey {
    pub(super) family: String,
    pub(super) year: String,
    pub(super) with: Vec<String>,
}

impl BookKey {
    /// `nec 2020 with harbor-2021`.
    pub(super) fn words(&self) -> String {
        match self.with.as_slice() {
            [] => format!("{} {}", self.family, self.year),
            with => format!("{} {} with {}", self.family, self.year, with.join(", ")),
        }
    }
}

/// An opened book.
pub(super) struct Book {
    pub(super) key: BookKey,
    pub(super) program: Program,
    /// Present numbers by the number of their first printing.
    pub(super) moved: BTreeMap<String, String>,
    /// The condition of a claim and that of its `only where`, by the claim's position.
    pub(super) claims: BTreeMap<usize, (KindId, Option<KindId>)>,
    /// Tables beside the same as published, by the place of the latter.
    pub(super) published: BTreeMap<Span, Asked>,
}

impl<'a> Library<'a> {
    pub(super) fn new(sources: &'a Sources, trees: &'a [(SourceId, &'a Rulebook)]) -> Library<'a> {
        Library { sources, trees, editions: sema::editions(trees) }
    }

    /// The books an example or claim is run under.
    pub(super) fn books(
        &self,
        under: Option<&Under>,
        family: Option<&str>,
        place: Span,
        found: &mut Diagnostics,
    ) -> Vec<BookKey> {
        let lone = self.editions.first().map(|b| b.family.as_str());
        let lone = lone.filter(|family| self.editions.iter().all(|b| b.family == *family));
        let family = under.map(|u| u.family.text.as_str()).or(family).or(lone);
        let Some(family) = family else {
            found.push(
                Diagnostic::error(Code::NoBookToRun, "it is not said under which edition this is run")
                    .at(place, "several families are loaded")
                    .help("write `under FAMILY YEAR` behind its title"),
            );
            return Vec::new();
        };
        let with: Vec<String> = under.into_iter().flat_map(|u| &u.with).map(|n| n.text.to_string()).collect();
        let key = |year: &str| BookKey { family: family.to_string(), year: year.to_string(), with: with.clone() };
        let mut keys = Vec::new();
        match under {
            None => keys.extend(self.years(family).map(key)),
            Some(under) => {
                for span in &under.years {
                    keys.extend(self.spanned(family, span, found).iter().map(|year| key(year)));
                }
            }
        }
        keys.dedup();
        keys
    }

    fn years<'s>(&'s self, family: &'s str) -> impl Iterator<Item = &'s str> {
        self.editions.iter().filter(move |b| b.family == family).map(|b| b.year.as_str())
    }

    /// The editions of a family that a span names.
    pub(super) fn spanned(&self, family: &str, span: &YearSpan, found: &mut Diagnostics) -> Vec<String> {
        let years: Vec<&str> = self.years(family).collect();
        let mut position = |name: &Name| {
            let at = years.iter().position(|year| *year == name.text);
            if at.is_none() {
                let title = format!("there is no edition `{family} {}`", name.text);
                found.push(
                    Diagnostic::error(Code::NoBookToRun, title)
                        .at(name.span, "not loaded")
                        .help(format!("loaded: {}", years.join(", "))),
                );
            }
            at
        };
        let from = position(&span.from);
        let through = match &span.through {
            Some(name) => position(name),
            None => from,
        };
        match (from, through) {
            (Some(from), Some(through)) => {
                years.iter().skip(from).take((through + 1).saturating_sub(from)).map(|y| y.to_string()).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The table of a book that has a number, or had it in its first printing.
    fn table<'t>(&self, items: &'t [Item], number: &str) -> Option<&'t Table> {
        let tables = || {
            items.iter().filter_map(|item| match item {
                Item::Table(table) => Some(table),
                _ => None,
            })
        };
        let first = self.trees.iter().flat_map(|(_, tree)| &tree.items).find_map(|item| match item {
            Item::Table(table) if table.address.text == number => Some(table.span),
            _ => None,
        });
        tables().find(|t| t.address.text == number).or_else(|| tables().find(|t| Some(t.span) == first))
    }

    /// Opens a book. The conditions of claims are kinds of it, on the thing that the rule they speak of judges.
    pub(super) fn open(
        &self,
        key: &BookKey,
        claims: &[(usize, &Placed<Claim>)],
        tables: &[&PublishedTable],
        found: &mut Diagnostics,
    ) -> Option<Book> {
        let with: Vec<&str> = key.with.iter().map(String::as_str).collect();
        let mut mistakes = Diagnostics::new();
        let mut composed = edition::compose(self.trees, &key.family, &key.year, &with, &mut mistakes);
        let (plain, more) = sema::lower(self.sources, self.trees, &composed, &key.family, &key.year);
        mistakes.extend(more);
        let broken = mistakes.has_errors();
        found.extend(mistakes);
        if broken {
            return None;
        }
        let moved = composed.identity.iter().map(|(now, first)| (first.clone(), now.clone())).collect();
        let mut book =
            Book { key: key.clone(), program: plain, moved, claims: BTreeMap::new(), published: BTreeMap::new() };
        let mut asked = Vec::new();
        for (at, claim) in claims {
            let rule = &claim.item.rule;
            let Some(duty) = book.duties(&rule.text).first().copied() else {
                found.push(book.no_such_rule(&rule.text, rule.span));
                continue;
            };
            let thing = book.program.duties.get(duty.index()).map(|d| d.subject);
            let Some(thing) = thing.map(|t| book.program.schema.thing(t).name.clone()) else { continue };
            let thing = Name { text: thing.as_str().into(), span: rule.span };
            let mut add = |role: &str, clauses: &Clauses| {
                let name = format!("{role} of claim {at}");
                composed.items.push(condition(&name, &thing, clauses));
                name
            };
            let says = add("condition", &claim.item.says);
            let only = claim.item.only.as_ref().map(|only| add("circle", only));
            asked.push((*at, says, only));
        }
        let mut beside = Vec::new();
        for table in tables {
            let Some(own) = self.table(&composed.items, &table.address.text).cloned() else {
                found.push(no_such_table(key, table, &composed.items));
                continue;
            };
            let number = own.address.text.to_string();
            let name = format!("{number} as published at {}", table.span.start);
            composed.items.push(Item::Table(as_published(own, table, &name)));
            beside.push((table.span, number, name));
        }
        if asked.is_empty() && beside.is_empty() {
            return Some(book);
        }
        let (program, mistakes) = sema::lower(self.sources, self.trees, &composed, &key.family, &key.year);
        let broken = mistakes.has_errors();
        found.extend(mistakes);
        if broken {
            return None;
        }
        for (at, says, only) in asked {
            if let Some(says) = kind_named(&program, &says) {
                book.claims.insert(at, (says, only.and_then(|only| kind_named(&program, &only))));
            }
        }
        let table = |number: &str| {
            let at = program.tables.iter().position(|t| t.address == number);
            at.and_then(|at| u32::try_from(at).ok()).map(TableId)
        };
        for (span, number, name) in beside {
            if let (Some(own), Some(published)) = (table(&number), table(&name)) {
                book.published.insert(span, Asked::Table(own, published));
            }
        }
        book.program = program;
        Some(book)
    }
}

/// The book's own table with the rows of another.
fn as_published(own: Table, table: &PublishedTable, name: &str) -> Table {
    let columns = if table.columns.is_empty() { own.columns.clone() } else { table.columns.clone() };
    Table {
        address: Address { text: name.into(), ..own.address.clone() },
        unit: table.unit.clone().or(own.unit.clone()),
        columns,
        rows: table.rows.clone(),
        span: table.span,
        ..own
    }
}

fn no_such_table(key: &BookKey, table: &PublishedTable, items: &[Item]) -> Diagnostic {
    let known = items.iter().filter_map(|item| match item {
        Item::Table(table) => Some(table.address.text.as_str()),
        _ => None,
    });
    let title = format!("{} has no table `{}`", key.words(), table.address.text);
    let diagnostic = Diagnostic::error(Code::NoSuchTargetRule, title).at(table.address.span, "expected of this");
    match crate::diag::nearest(&table.address.text, known) {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None => diagnostic.help("run the example only under the editions that have it"),
    }
}

/// A claim's condition as a kind. Its name has blanks, so no rule can use it.
fn condition(name: &str, thing: &Name, clauses: &Clauses) -> Item {
    let line = ListItem { label: None, name: None, clauses: clauses.clone(), marks: Vec::new(), span: clauses.span };
    Item::Kind(Kind {
        name: Name { text: name.into(), span: clauses.span },
        thing: thing.clone(),
        per: None,
        only: Vec::new(),
        about: None,
        items: Items { all: vec![line], span: clauses.span },
        marks: Vec::new(),
        span: clauses.span,
    })
}

fn kind_named(program: &Program, name: &str) -> Option<KindId> {
    program.kinds.iter().position(|k| k.name == name).and_then(|at| u32::try_from(at).ok()).map(KindId)
}

impl Book {
    /// The duties that a number or name means: those of just that number, or else all within it. A number that no rule
    /// has now is taken for that of a first printing.
    pub(super) fn duties(&self, wanted: &str) -> Vec<DutyId> {
        let found = self.duties_now(wanted);
        if !found.is_empty() {
            return found;
        }
        self.present(wanted).map(|now| self.duties_now(&now)).unwrap_or_default()
    }

    fn duties_now(&self, wanted: &str) -> Vec<DutyId> {
        let exact = self.duties_where(|address, name| address == wanted || name == wanted);
        if !exact.is_empty() {
            return exact;
        }
        self.duties_where(|address, _| address.strip_prefix(wanted).is_some_and(|rest| rest.starts_with('(')))
    }

    fn duties_where(&self, meant: impl Fn(&str, &str) -> bool) -> Vec<DutyId> {
        let all = self.program.duties.iter().enumerate();
        let found = all.filter(|(_, duty)| meant(&duty.address, &duty.name));
        found.filter_map(|(at, _)| u32::try_from(at).ok().map(DutyId)).collect()
    }

    /// The present number of what was first printed as another.
    fn present(&self, wanted: &str) -> Option<String> {
        self.moved.iter().find_map(|(first, now)| {
            let rest = wanted.strip_prefix(first.as_str())?;
            (rest.is_empty() || rest.starts_with('(')).then(|| format!("{now}{rest}"))
        })
    }

    /// The kind or standing that a name, or the number of a section that grants it, means.
    pub(super) fn standings(&self, wanted: &str) -> Vec<KindId> {
        let granted = |number: &str| -> Vec<KindId> {
            let granting = self.program.permissions.iter().filter(|p| p.address == number);
            granting.map(|p| p.kind).collect()
        };
        if let Some(kind) = kind_named(&self.program, wanted) {
            return vec![kind];
        }
        let found = granted(wanted);
        if !found.is_empty() {
            return found;
        }
        self.present(wanted).map(|now| granted(&now)).unwrap_or_default()
    }

    pub(super) fn no_such_rule(&self, wanted: &str, span: Span) -> Diagnostic {
        let known = self.program.duties.iter().flat_map(|d| [d.address.as_str(), d.name.as_str()]);
        let kinds = self.program.kinds.iter().map(|k| k.name.as_str());
        let known: Vec<&str> = known.chain(kinds).filter(|name| !name.is_empty()).collect();
        let title = format!("{} has no rule `{wanted}`", self.key.words());
        let diagnostic = Diagnostic::error(Code::NoSuchTargetRule, title).at(span, "expected of this");
        match crate::diag::nearest(wanted, known.iter().copied()) {
            Some(near) => diagnostic
                .help(format!("did you mean `{near}`? Where an edition has no such rule, write `no such rule`")),
            None => diagnostic.help("where an edition has no such rule, write `no such rule`"),
        }
    }
}
