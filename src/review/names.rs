//! Names that nothing uses, over all books of a family: what one edition no longer reads another one may.

use super::Book;
use super::findings::Findings;
use super::reads::{Reader, Reads};
use crate::base::source::{SourceId, Sources, Span};
use crate::diag::{Code, Diagnostic};
use crate::ir::schema::{FieldType as Holds, PROJECT};
use crate::syntax::ast::{Beside, ChangeKind, FieldType, Item, Name, Rulebook, Section, Target};
use std::collections::{BTreeMap, BTreeSet};

/// What the books of one family use.
#[derive(Debug, Default)]
struct Used {
    /// Thing and field, the parts of a keyed measurement by its name.
    fields: BTreeSet<(String, String)>,
    /// Thing and kind.
    kinds: BTreeSet<(String, String)>,
    formulas: BTreeSet<(String, String)>,
    /// Tables and series by where they are written: numbers change.
    read: BTreeSet<Span>,
    /// Numbers of tables that are read, for the second system of one.
    tables: BTreeSet<String>,
    things: BTreeSet<String>,
    /// Choices and scales, and whatever else types are called.
    types: BTreeSet<String>,
}

/// Looks at all names of a family.
pub(super) fn review(
    family: &str,
    books: &[&Book],
    trees: &[(SourceId, &Rulebook)],
    sources: &Sources,
    findings: &mut Findings,
) {
    let mut used = Used::default();
    for book in books {
        used.book(book);
    }
    let spoken = spoken(trees, sources);
    let declared = declared(family, trees);
    types_of(trees, books, &mut used.types);
    let mut told: BTreeSet<Span> = BTreeSet::new();
    for book in books {
        let program = &book.program;
        let permitted: BTreeSet<_> = program.permissions.iter().map(|p| p.kind).collect();
        let granted: BTreeSet<&str> = program
            .kinds
            .iter()
            .enumerate()
            .filter(|(at, _)| permitted.iter().any(|k| k.index() == *at))
            .map(|(_, k)| k.name.as_str())
            .collect();
        for kind in &program.kinds {
            let key = (program.schema.thing(kind.thing).name.clone(), kind.name.clone());
            let span = program.origin(kind.origin).span;
            let named = kind.name.contains(' ') || granted.contains(kind.name.as_str()) || spoken.contains(&kind.name);
            if !named && !used.kinds.contains(&key) && told.insert(span) {
                let diagnostic = Diagnostic::advice(Code::KindUnused, format!("nothing uses `{}` of {}", key.1, key.0))
                    .at(span, "not used by any rule of any edition that is loaded")
                    .help("use it where it was meant, or drop it");
                findings.add(&program.edition, diagnostic);
            }
        }
        for formula in &program.formulas {
            let key = (program.schema.thing(formula.thing).name.clone(), formula.name.clone());
            let span = program.origin(formula.origin).span;
            // What a section is said to work out is a result, though no rule compares with it.
            let result = !formula.cite.is_empty() || !formula.lines.is_empty() || spoken.contains(&formula.name);
            if !result && !used.formulas.contains(&key) && told.insert(span) {
                let title = format!("nothing uses `{}` of {}", key.1, key.0);
                let diagnostic = Diagnostic::advice(Code::DefinitionUnused, title)
                    .at(span, "not used by any rule of any edition that is loaded")
                    .help("use it where it was meant, drop it, or say with `, per NUMBER` which section works it out");
                findings.add(&program.edition, diagnostic);
            }
        }
        let tables = program.tables.iter().filter(|t| !used.tables.contains(&t.address));
        let tables = tables.map(|t| ("table", &t.address, t.origin));
        for (what, address, origin) in tables.chain(program.series.iter().map(|s| ("series", &s.address, s.origin))) {
            let span = program.origin(origin).span;
            if !used.read.contains(&span) && told.insert(span) {
                let diagnostic = Diagnostic::advice(Code::TableUnread, format!("nothing looks up {what} {address}"))
                    .at(span, "not read by any rule of any edition that is loaded")
                    .help(format!("compare with `{what} {address}` where it was meant, or drop it"));
                findings.add(&program.edition, diagnostic);
            }
        }
        limits(book, sources, trees, &mut told, findings);
    }
    if books.is_empty() {
        return;
    }
    for thing in &declared.things {
        if thing.name != PROJECT && !used.things.contains(thing.name) {
            let diagnostic = Diagnostic::advice(Code::ThingUnused, format!("nothing is asked of any `{}`", thing.name))
                .at(thing.span, "no rule looks at one")
                .help("write the rule that was meant, or drop it");
            findings.add("", diagnostic);
            continue;
        }
        for (field, span) in &thing.fields {
            let key = (thing.name.to_string(), field.to_string());
            if thing.name != PROJECT && !used.fields.contains(&key) && !spoken.contains(*field) {
                let title = format!("no rule reads `{field}` of {}", thing.name);
                let diagnostic = Diagnostic::advice(Code::FieldUnread, title)
                    .at(*span, "asked for, and never read")
                    .help("read it where it was meant, or drop it");
                findings.add("", diagnostic);
            }
        }
    }
    for (what, name, span) in &declared.types {
        if !used.types.contains(*name) {
            let diagnostic = Diagnostic::advice(Code::ThingUnused, format!("nothing is of the {what} `{name}`"))
                .at(*span, "no field and no table key")
                .help("declare the field that was meant, or drop it");
            findings.add("", diagnostic);
        }
    }
}

impl Used {
    fn book(&mut self, book: &Book) {
        let program = &book.program;
        let schema = &program.schema;
        let Reads { fields, kinds, formulas, tables, series, things, lookups: _, backwards: _ } = Reader::book(program);
        for (thing, field) in fields {
            let known = schema.field(thing, field);
            let name = known.keyed.as_ref().map_or(&known.name, |keyed| &keyed.name);
            self.fields.insert((schema.thing(thing).name.clone(), name.clone()));
        }
        for kind in kinds.iter().filter_map(|k| program.kinds.get(k.index())) {
            self.kinds.insert((schema.thing(kind.thing).name.clone(), kind.name.clone()));
        }
        for formula in formulas.iter().filter_map(|f| program.formulas.get(f.index())) {
            self.formulas.insert((schema.thing(formula.thing).name.clone(), formula.name.clone()));
        }
        for table in tables.iter().filter_map(|t| program.tables.get(t.index())) {
            self.read.insert(program.origin(table.origin).span);
            self.tables.insert(table.address.clone());
        }
        let series = series.iter().filter_map(|s| program.series.get(s.index()));
        self.read.extend(series.map(|s| program.origin(s.origin).span));
        self.things.extend(things.iter().map(|t| schema.thing(*t).name.clone()));
        self.things.extend(program.kinds.iter().map(|k| schema.thing(k.thing).name.clone()));
        self.things.extend(program.formulas.iter().map(|f| schema.thing(f.thing).name.clone()));
        // Owners: what nests in them is looked at.
        for thing in &schema.things {
            for field in &thing.fields {
                if let Holds::Many(inner) = field.ty
                    && self.things.contains(&schema.thing(inner).name)
                {
                    self.things.insert(thing.name.clone());
                    self.fields.insert((thing.name.clone(), field.name.clone()));
                }
            }
        }
    }
}

/// Rules and kinds that examples name, and the words of claims.
fn spoken(trees: &[(SourceId, &Rulebook)], sources: &Sources) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for item in trees.iter().flat_map(|(_, tree)| &tree.items) {
        let Item::Beside(beside) = item else { continue };
        match beside.as_ref() {
            Beside::Example(example) => {
                for expect in &example.expects {
                    if let Some(Target::At(address, _)) = &expect.target {
                        found.insert(address.text.to_string());
                    }
                }
            }
            Beside::Claim(claim) => {
                for clauses in [Some(&claim.says), claim.only.as_ref()].into_iter().flatten() {
                    found.extend(words(sources.slice(clauses.span)).map(str::to_string));
                }
            }
            Beside::Fixture(_) | Beside::Survives(_) => {}
        }
    }
    found
}

/// The words of a text as names are spelt.
fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '-' || c == '_')).filter(|word| !word.is_empty())
}

struct DeclaredThing<'a> {
    name: &'a str,
    span: Span,
    fields: Vec<(&'a str, Span)>,
}

/// What the rulebooks of a family declare.
#[derive(Default)]
struct Declared<'a> {
    things: Vec<DeclaredThing<'a>>,
    types: Vec<(&'static str, &'a str, Span)>,
}

fn declared<'a>(family: &str, trees: &[(SourceId, &'a Rulebook)]) -> Declared<'a> {
    let mut all = Declared::default();
    for (_, tree) in trees {
        let mut ours = false;
        for item in &tree.items {
            match item {
                Item::Terms(header) => ours = header.family.text == family,
                Item::Edition(header) => ours = header.family.text == family,
                Item::Changes(set) if set.base.as_ref().is_some_and(|base| base.family.text == family) => {
                    for change in &set.changes {
                        match &change.kind {
                            ChangeKind::Declare { thing, field } => {
                                all.things.push(DeclaredThing {
                                    name: thing.text.as_str(),
                                    span: thing.span,
                                    fields: vec![(field.name.text.as_str(), field.span)],
                                });
                            }
                            ChangeKind::Added(item) => all.take(item),
                            _ => {}
                        }
                    }
                }
                item if ours => all.take(item),
                _ => {}
            }
        }
    }
    all
}

impl<'a> Declared<'a> {
    fn take(&mut self, item: &'a Item) {
        match item {
            Item::Thing(thing) => self.things.push(DeclaredThing {
                name: thing.name.text.as_str(),
                span: thing.name.span,
                fields: thing.fields.iter().map(|f| (f.name.text.as_str(), f.name.span)).collect(),
            }),
            Item::Choice(choice) => self.types.push(("choice", choice.name.text.as_str(), choice.name.span)),
            Item::Scale(scale) => self.types.push(("scale", scale.name.text.as_str(), scale.name.span)),
            _ => {}
        }
    }
}

/// The names of types that fields, tables, amounts and series are declared with.
fn types_of(trees: &[(SourceId, &Rulebook)], books: &[&Book], found: &mut BTreeSet<String>) {
    let mut take = |name: &Name| found.insert(name.text.to_string());
    let mut field = |ty: &FieldType| match ty {
        FieldType::Plain(name) | FieldType::Many { thing: name, .. } | FieldType::Inverse { thing: name, .. } => {
            take(name);
        }
        FieldType::Keyed { dimension, key, through } => {
            take(dimension);
            take(key);
            through.iter().for_each(|t| {
                take(t);
            });
        }
    };
    for item in trees.iter().flat_map(|(_, tree)| &tree.items) {
        match item {
            Item::Thing(thing) => thing.fields.iter().for_each(|f| field(&f.ty)),
            Item::Changes(set) => {
                for change in &set.changes {
                    match &change.kind {
                        ChangeKind::Declare { field: declared, .. } => field(&declared.ty),
                        ChangeKind::Added(item) => {
                            if let Item::Thing(thing) = item.as_ref() {
                                thing.fields.iter().for_each(|f| field(&f.ty));
                            }
                        }
                        _ => {}
                    }
                }
            }
            _ => {}
        }
    }
    let items = books.iter().flat_map(|b| &b.composed.items).chain(trees.iter().flat_map(|(_, tree)| &tree.items));
    for item in items {
        match item {
            Item::Table(table) => {
                table.by.iter().chain(&table.across).for_each(|key| {
                    take(&key.ty);
                });
                take(&table.gives);
            }
            Item::Amount(amount) => {
                take(&amount.ty);
            }
            Item::Series(series) => {
                take(&series.ty);
            }
            _ => {}
        }
    }
}

/// Limits that nothing names, and limits written out where they are named too.
fn limits(
    book: &Book,
    sources: &Sources,
    trees: &[(SourceId, &Rulebook)],
    told: &mut BTreeSet<Span>,
    findings: &mut Findings,
) {
    let vocabulary = trees.iter().flat_map(|(_, tree)| &tree.items);
    let all: Vec<_> = book
        .composed
        .items
        .iter()
        .chain(vocabulary)
        .filter_map(|item| match item {
            Item::Limit(limit) => Some(limit),
            _ => None,
        })
        .collect();
    if all.is_empty() {
        return;
    }
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for (source, _) in trees {
        let text = sources.get(*source).map_or("", |s| s.text.as_str());
        for line in text.lines() {
            let line = line.split('#').next().unwrap_or("");
            let mut before = "";
            for word in words(line) {
                // Its own line, and a change of its value, are no use.
                if before != "limit" {
                    *counts.entry(word).or_default() += 1;
                }
                before = word;
            }
        }
    }
    for limit in all {
        let name = limit.name.text.as_str();
        if !counts.contains_key(name) {
            if told.insert(limit.name.span) {
                let diagnostic = Diagnostic::advice(Code::LimitUnused, format!("nothing uses the limit `{name}`"))
                    .at(limit.name.span, "not named by any rule that is loaded")
                    .help("name it where its value is meant, or drop it");
                findings.add(&book.program.edition, diagnostic);
            }
            continue;
        }
        let value = squeezed(sources.slice(limit.quantity.span));
        for section in book.composed.items.iter().filter_map(section) {
            let text = sources.slice(section.span);
            let named = words(text).any(|word| word == name);
            let Some((start, end)) = written_out(text, &value).filter(|_| named) else { continue };
            let at = section.span.start as usize;
            let span = Span::new(section.span.source, at + start, at + end);
            let title = format!("`{name}` is written out in {}", section.address.text);
            let diagnostic = Diagnostic::advice(Code::LimitRepeated, title)
                .at(span, "the same value, which a change of the limit would leave as it is")
                .at(limit.name.span, "the limit")
                .help(format!("write `{name}` here too, if it is the same limit"));
            findings.add(&book.program.edition, diagnostic);
        }
    }
}

fn section(item: &Item) -> Option<&Section> {
    match item {
        Item::Section(section) => Some(section),
        _ => None,
    }
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Where a value stands by itself in a text.
fn written_out(text: &str, value: &str) -> Option<(usize, usize)> {
    let at = text.find(value)?;
    let before = text.get(..at).and_then(|t| t.chars().next_back());
    let after = text.get(at + value.len()..).and_then(|t| t.trim_start().chars().next());
    let part = |c: char| c.is_alphanumeric() || c == '.' || c == '/' || c == '-';
    // `6 ft` in `6 ft (1.8 m)` or in `6 ft 6 in` is not the whole value.
    let whole = !before.is_some_and(part) && !after.is_some_and(|c| c == '(' || c.is_ascii_digit());
    whole.then_some((at, at + value.len()))
}
