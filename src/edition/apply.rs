//! One set of changes applied to a composed book.
//!
//! Numbers are read in the book as it stood before the set, at once: changes inside parts come first, then deletions and
//! replacements, then what moves numbers, then what is new. Every change says what it expects to find; where the book says
//! otherwise nothing is changed and both places are shown.

use super::compose::{Composed, Event, Making};
use super::new_marks;
use super::site::{self, Site};
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::format::line;
use crate::syntax::ast::*;
use std::collections::BTreeMap;

pub(super) struct Work<'w, 'b> {
    pub(super) book: &'w mut Composed,
    pub(super) document: String,
    pub(super) books: &'w [(SourceId, &'b Rulebook)],
    /// What this set already changed, with the place: two operations on one part are an error.
    pub(super) done: BTreeMap<String, Span>,
    /// What this set took out, with the place: what referred to it refers to nothing, or to another subject.
    pub(super) gone: BTreeMap<String, Span>,
    /// Numbers this set gives, and those they had: all its addresses mean the base.
    pub(super) given: Vec<(String, String)>,
    /// Editions that are being made and that are made.
    pub(super) making: &'w mut Making,
    /// Statements that splits of this set have copied.
    pub(super) copied: usize,
    pub(super) diagnostics: &'w mut Diagnostics,
    /// The part just added, renumbered or taken out, for the event that tells of it where its number does not find it.
    pub(super) touched: Option<Span>,
}

/// Applies a set of changes under the name of its document.
pub(super) fn set(
    book: &mut Composed,
    set: &ChangeSet,
    document: &str,
    books: &[(SourceId, &Rulebook)],
    making: &mut Making,
    diagnostics: &mut Diagnostics,
) {
    let mut work = Work {
        book,
        document: document.to_string(),
        books,
        done: BTreeMap::new(),
        gone: BTreeMap::new(),
        given: Vec::new(),
        making,
        copied: 0,
        diagnostics,
        touched: None,
    };
    work.given.extend(set.changes.iter().filter_map(|change| given(&change.kind)));
    for turn in 0..4 {
        for change in set.changes.iter().filter(|c| turn_of(&c.kind) == turn) {
            work.change(change);
        }
    }
    work.dangling();
}

/// Puts terms that an edition itself means for some of its parts only where they belong.
pub(super) fn terms_for_some(
    book: &mut Composed,
    terms: &[Item],
    document: &str,
    books: &[(SourceId, &Rulebook)],
    making: &mut Making,
    diagnostics: &mut Diagnostics,
) {
    let document = document.to_string();
    let mut work = Work {
        book,
        document,
        books,
        done: BTreeMap::new(),
        gone: BTreeMap::new(),
        given: Vec::new(),
        making,
        copied: 0,
        diagnostics,
        touched: None,
    };
    for term in terms {
        work.scoped(term);
    }
}

/// In which of the four turns a change is applied.
fn turn_of(kind: &ChangeKind) -> u8 {
    match kind {
        ChangeKind::InForce { .. }
        | ChangeKind::In(..)
        | ChangeKind::InTable(..)
        | ChangeKind::InSeries(..)
        | ChangeKind::Waive(..)
        | ChangeKind::Release(..)
        | ChangeKind::Start(..)
        | ChangeKind::Lapse(..)
        | ChangeKind::Delay { .. }
        | ChangeKind::Carry(_)
        | ChangeKind::Settle(..)
        | ChangeKind::LimitWas(..)
        | ChangeKind::ReadEverywhere(..)
        | ChangeKind::Declare { .. } => 0,
        ChangeKind::Delete(..)
        | ChangeKind::DeleteTable(_)
        | ChangeKind::UseTable(..)
        | ChangeKind::Exclude(_)
        | ChangeKind::Reserve(_)
        | ChangeKind::Replace { .. }
        | ChangeKind::NotesFall
        | ChangeKind::Use { .. } => 1,
        ChangeKind::Insert { .. }
        | ChangeKind::Renumber(..)
        | ChangeKind::Move(..)
        | ChangeKind::Split(..)
        | ChangeKind::Merge(..)
        | ChangeKind::Becomes(..) => 2,
        ChangeKind::AddAfter { .. } | ChangeKind::Added(_) => 3,
    }
}

impl Work<'_, '_> {
    pub(super) fn say(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Claims a part for this set; a second claim of the same is an error.
    pub(super) fn claim(&mut self, key: &str, span: Span) -> bool {
        if let Some(first) = self.done.insert(key.to_string(), span) {
            let diagnostic = Diagnostic::error(Code::ChangedTwice, format!("two changes to {key} in one document"))
                .at(span, "again here")
                .at(first, "first here")
                .help("join them into one change");
            self.say(diagnostic);
            return false;
        }
        true
    }

    pub(super) fn event(&mut self, at: &str, what: String, change: &Change) {
        let node = self.touched.take().or_else(|| site::node(&mut self.book.items, at));
        let mut marks = crate::sema::marks(&change.marks);
        for mark in crate::sema::marks(&new_marks::of_content(&change.kind)) {
            if !marks.contains(&mark) {
                marks.push(mark);
            }
        }
        // What a kind asks belongs to the paragraph that it speaks for, an exception to the part it excepts from.
        let (name, rest) = at.split_at(at.find('(').unwrap_or(at.len()));
        let per = self.book.items.iter().find_map(|item| match item {
            Item::Kind(kind) if kind.name.text == name => kind.per.as_ref(),
            Item::Define(define) if define.name.text == name => define.per.as_ref(),
            Item::Amount(amount) if amount.name.text == name => amount.per.as_ref(),
            _ => None,
        });
        let (at, what) = match per {
            Some(per) => (format!("{}{rest}", per.text), format!("{name}: {what}")),
            None => (at.split(" Ex.").next().unwrap_or(at).to_string(), what),
        };
        let event = Event { document: self.document.clone(), what, marks, span: change.span, node };
        self.book.note(&at, event);
    }

    /// Puts a statement into the section that has a part.
    pub(super) fn add_to_section_of(&mut self, number: &str, statement: Statement) {
        let at = site::home(&self.book.items, number);
        if let Some(Item::Section(section)) = at.and_then(|at| self.book.items.get_mut(at)) {
            section.body.statements.push(statement);
        }
    }

    /// The full number of a target, or a diagnostic that it is not there.
    pub(super) fn number(&mut self, target: &Address) -> Option<String> {
        let found = site::number_of(&self.book.items, &target.text);
        if found.is_none() {
            let known = self.known_numbers();
            let near = nearest(&target.text, known.iter().map(String::as_str)).map(str::to_string);
            // A label too many: what it would stand in is nearer than any other number.
            let outer = target.text.rfind('(').map(|at| target.text[..at].to_string());
            let near = outer.filter(|outer| site::number_of(&self.book.items, outer).is_some()).or(near);
            let title = format!("there is no {} in {}", target.text, self.book.name);
            let diagnostic = Diagnostic::error(Code::NoSuchTarget, title).at(target.span, "nothing stands there");
            let before = self.given.iter().find_map(|(old, new)| {
                let rest = target.text.strip_prefix(new.as_str())?;
                (rest.is_empty() || rest.starts_with('(')).then(|| format!("{old}{rest}"))
            });
            let stands = near.as_ref().and_then(|near| site::node(&mut self.book.items, near));
            self.say(match (before, near) {
                (Some(before), _) => {
                    let why = "numbers are read in the book as it stood before this document";
                    diagnostic.note(why).help(format!("write {before}, which gets its new number here"))
                }
                (None, Some(near)) => {
                    let diagnostic = diagnostic.help(format!("did you mean {near}?"));
                    stands.map_or(diagnostic.clone(), |place| diagnostic.at(place, format!("{near} stands here")))
                }
                (None, None) => diagnostic.help("encode that section in the base first"),
            });
        }
        found
    }

    fn known_numbers(&self) -> Vec<String> {
        self.book
            .items
            .iter()
            .flat_map(|item| match item {
                Item::Section(s) => {
                    let name = s.name.as_ref().map(|n| n.text.to_string());
                    std::iter::once(s.address.text.to_string()).chain(name).collect::<Vec<_>>()
                }
                Item::Kind(k) => vec![k.name.text.to_string()],
                Item::Define(d) => vec![d.name.text.to_string()],
                Item::Amount(a) => vec![a.name.text.to_string()],
                _ => Vec::new(),
            })
            .collect()
    }

    pub(super) fn mismatch(&mut self, span: Span, title: String, wanted: &str, place: Option<(Span, String)>) {
        let mut diagnostic = Diagnostic::error(Code::OldValueDiffers, title).at(span, format!("expects {wanted}"));
        if let Some((place, says)) = place {
            diagnostic = diagnostic.at(place, says);
        }
        self.say(diagnostic.help("state what the base really says, or amend another base"));
    }

    fn change(&mut self, change: &Change) {
        match &change.kind {
            // Which date selects the set is the caller's matter: it is applied because it was asked for.
            ChangeKind::InForce { .. } => {}
            ChangeKind::In(target, edits) => {
                let (targets, every) = match target {
                    ChangeTarget::At(address) => (vec![address.clone()], false),
                    ChangeTarget::About(subject) => (self.about(subject), true),
                };
                for target in targets {
                    for edit in edits {
                        // A section that only waives or notes has nothing to except from.
                        let excepts = matches!(edit, Edit::AddException(..));
                        if !(every && excepts && self.asks_nothing(&target)) {
                            self.edit(&target, edit, change);
                        }
                    }
                }
            }
            ChangeKind::InTable(address, edits) => {
                for edit in edits {
                    self.table(address, edit, change);
                }
            }
            ChangeKind::InSeries(address, edits) => {
                for edit in edits {
                    self.series(address, edit, change);
                }
            }
            ChangeKind::Waive(addresses, case) => {
                for address in addresses {
                    let Some(number) = self.number(address) else { continue };
                    let to = Address { text: number.as_str().into(), span: address.span };
                    let what = match case {
                        Some(case) => format!("waived when {}", line::clauses(case)),
                        None => "waived".to_string(),
                    };
                    let statement = Statement {
                        kind: StatementKind::Waives(to, case.clone()),
                        marks: change.marks.clone(),
                        span: change.span,
                    };
                    self.add_to_section_of(&number, statement);
                    self.touched = site::home(&self.book.items, &number).and_then(|at| match self.book.items.get(at) {
                        Some(Item::Section(section)) => Some(section.span),
                        _ => None,
                    });
                    self.event(&number, what, change);
                }
            }
            ChangeKind::Release(addresses, provided) => {
                for address in addresses {
                    let what = format!("not required; if provided ({}), still conforms", line::clauses(provided));
                    self.scope(address, provided.clone(), what, change);
                }
            }
            ChangeKind::Start(address, date, clock, case) => {
                let clauses = only_if(case.as_ref(), dated(DateSide::Before, date, clock, true));
                let what = format!("starts on {} by {}{}", date.text, clock.text, when_words(case.as_ref()));
                self.scope(address, clauses, what, change);
            }
            ChangeKind::Lapse(address, date, clock, case) => {
                let clauses = only_if(case.as_ref(), dated(DateSide::Before, date, clock, false));
                let what = format!("lapses on {} by {}{}", date.text, clock.text, when_words(case.as_ref()));
                self.scope(address, clauses, what, change);
            }
            ChangeKind::Delay { at, old, new, clock } => self.delay(at, old, new, clock, change),
            ChangeKind::DeleteTable(address) => self.delete_table(address, change),
            ChangeKind::UseTable(address, edition) => self.use_table(address, edition, change),
            ChangeKind::Exclude(ranges) => {
                for (from, through) in ranges {
                    self.exclude(from, through.as_ref(), change);
                }
            }
            ChangeKind::Move(from, to) => self.shift(from, to, change),
            ChangeKind::Split(from, parts) => self.split(from, parts, change),
            ChangeKind::Merge(parts, to) => self.merge(parts, to, change),
            ChangeKind::Becomes(part, place) => self.becomes(part, place, change),
            ChangeKind::ReadEverywhere(old, new) => self.read_everywhere(old, new, change),
            ChangeKind::Settle(reading, option) => self.settle(reading, option, change),
            ChangeKind::LimitWas(name, old, new) => self.limit_was(name, old, new, change),
            ChangeKind::NotesFall => self.notes_fall(change),
            ChangeKind::Carry(all) => all.iter().for_each(|carried| self.carry(carried, change)),
            ChangeKind::Declare { thing, field } => self.book.fields.push((thing.clone(), field.clone())),
            ChangeKind::Delete(from, through) => self.delete(from, through.as_ref(), change),
            ChangeKind::Reserve(address) => {
                let Some(number) = self.number(address) else { return };
                if !self.claim(&number, change.span) {
                    return;
                }
                self.gone.insert(number.clone(), address.span);
                match site::find(&mut self.book.items, &number) {
                    Some(Site::Section(section)) => {
                        let kind = StatementKind::Notes("reserved".into());
                        section.body =
                            Body { statements: vec![Statement { kind, marks: Vec::new(), span: change.span }] };
                    }
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                        *body = None
                    }
                    _ => {}
                }
                self.event(&number, "reserved".to_string(), change);
            }
            ChangeKind::Replace { at, title, content } => {
                let Some(number) = self.number(at) else { return };
                if !self.claim(&number, change.span) {
                    return;
                }
                // An exception is found by its name only: its number may not be its own.
                let named = matches!(site::find(&mut self.book.items, &at.text), Some(Site::Exception(_)));
                let key = if named { at.text.to_string() } else { number.clone() };
                self.put(&key, title.as_deref(), content, change.span);
                self.event(&number, if named { format!("{key} replaced") } else { "replaced".to_string() }, change);
            }
            ChangeKind::Use { what, at, edition, words } => self.graft(what, at, edition, *words, change),
            ChangeKind::Insert { at, name, title, content, moves } => {
                self.insert(at, name.as_ref(), title.as_deref(), content, moves, change);
            }
            ChangeKind::Renumber(from, to) => self.renumber(from, to, change),
            ChangeKind::AddAfter { name, section, .. } => {
                if self.taken(&name.text, name.span) {
                    return;
                }
                self.book.items.push(Item::Section(section.clone()));
                self.event(&name.text, "added".to_string(), change);
            }
            ChangeKind::Added(item) => {
                let (key, span) = match item.as_ref() {
                    Item::Section(s) => (s.address.text.to_string(), s.address.span),
                    Item::Kind(k) => (k.name.text.to_string(), k.name.span),
                    Item::Table(t) => (format!("table {}", t.address.text), t.address.span),
                    Item::Define(d) => (d.name.text.to_string(), d.name.span),
                    Item::Limit(l) => (l.name.text.to_string(), l.name.span),
                    Item::Reading(r) => (r.name.text.to_string(), r.name.span),
                    Item::Amount(a) => (a.name.text.to_string(), a.name.span),
                    Item::Series(s) => (format!("series {}", s.address.text), s.address.span),
                    Item::Choice(_)
                    | Item::Scale(_)
                    | Item::Thing(_)
                    | Item::Terms(_)
                    | Item::Edition(_)
                    | Item::Beside(_)
                    | Item::Changes(_)
                    | Item::Jurisdiction(_) => {
                        let diagnostic = Diagnostic::error(Code::OutOfPlace, "vocabulary inside a set of changes")
                            .at(change.span, "not here")
                            .help(
                                "declare a single field with `fact NAME of THING: TYPE`, or put it under `terms for …`",
                            );
                        self.say(diagnostic);
                        return;
                    }
                };
                let only = match item.as_ref() {
                    Item::Kind(Kind { only, .. })
                    | Item::Define(Define { only, .. })
                    | Item::Limit(Limit { only, .. }) => !only.is_empty(),
                    _ => false,
                };
                if only {
                    let name = key;
                    let means = match item.as_ref() {
                        Item::Kind(kind) => line::items(&kind.items),
                        Item::Define(define) => line::expr(&define.expr),
                        Item::Limit(limit) => line::quantity(&limit.quantity),
                        _ => String::new(),
                    };
                    for number in self.scoped(item).unwrap_or_default() {
                        self.event(&number, format!("`{name}` here is {means}"), change);
                    }
                    return;
                }
                if self.taken(&key, span) {
                    return;
                }
                self.book.items.push(item.as_ref().clone());
                self.anew(&key);
                self.event(&key, "added".to_string(), change);
            }
        }
    }

    /// Whether a number or name already stands in the book; says so.
    pub(super) fn taken(&mut self, key: &str, span: Span) -> bool {
        let first = self.book.items.iter().find_map(|item| match item {
            Item::Section(s) if s.address.text == key => Some(s.address.span),
            Item::Table(t) if format!("table {}", t.address.text) == key => Some(t.address.span),
            Item::Define(d) if d.name.text == key => Some(d.name.span),
            Item::Limit(l) if l.name.text == key => Some(l.name.span),
            Item::Reading(r) if r.name.text == key => Some(r.name.span),
            Item::Kind(k) if k.name.text == key => Some(k.name.span),
            Item::Amount(a) if a.name.text == key => Some(a.name.span),
            Item::Series(s) if format!("series {}", s.address.text) == key => Some(s.address.span),
            _ => None,
        });
        if let Some(first) = first {
            let diagnostic =
                Diagnostic::error(Code::NumberTaken, format!("{key} already stands in {}", self.book.name))
                    .at(span, "added here")
                    .at(first, "stands here")
                    .help("replace it, or delete it first");
            self.say(diagnostic);
        }
        first.is_some()
    }

    fn asks_nothing(&mut self, target: &Address) -> bool {
        match site::find(&mut self.book.items, &target.text) {
            Some(Site::Section(section)) => !super::force::demands(&section.body),
            _ => false,
        }
    }

    fn about(&mut self, subject: &Name) -> Vec<Address> {
        let found: Vec<Address> = self
            .book
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Section(s) if s.about.iter().any(|a| a.text == subject.text) => Some(s.address.clone()),
                _ => None,
            })
            .collect();
        if found.is_empty() {
            let title = format!("no rule of {} is about `{}`", self.book.name, subject.text);
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(subject.span, "no section says so")
                    .help("a section says so in its head: `section 8.1 \"…\" about tests { … }`"),
            );
        }
        found
    }

    /// Adds a condition to where a part applies. An item that is a duty of its own is waived otherwise: a condition added
    /// to it would be demanded.
    pub(super) fn scope(&mut self, address: &Address, clauses: Clauses, what: String, change: &Change) {
        let home = site::number_of(&self.book.items, &address.text)
            .and_then(|number| Some((site::home(&self.book.items, &number)?, number)));
        let duty = home.as_ref().is_some_and(|(at, number)| match self.book.items.get(*at) {
            Some(Item::Section(section)) => {
                let labels = site::within(section, number).unwrap_or_default();
                !labels.is_empty() && site::is_duty(&section.body, &labels)
            }
            _ => false,
        });
        let item = matches!(site::find(&mut self.book.items, &address.text), Some(Site::Item(_)));
        let (Some((_, number)), true, true) = (home, duty, item) else {
            self.condition(address, clauses, what, change);
            return;
        };
        let span = clauses.span;
        let line = ListItem { label: None, name: None, clauses, marks: Vec::new(), span };
        let kind = ClauseKind::NoneOf(Items { all: vec![line], span });
        let case = Clauses { all: vec![Clause { negated: false, kind, span }], span };
        let to = Address { text: number.as_str().into(), span: address.span };
        let kind = StatementKind::Waives(to, Some(case));
        self.add_to_section_of(&number, Statement { kind, marks: change.marks.clone(), span: change.span });
        self.event(&number, what, change);
    }

    /// `delay A from DATE to DATE by CLOCK`
    fn delay(&mut self, at: &Address, old: &Name, new: &Name, clock: &Name, change: &Change) {
        let Some(number) = self.number(at) else { return };
        if !self.claim(&format!("the start of {number}"), change.span) {
            return;
        }
        let mut starts = Vec::new();
        let mut done = false;
        for clauses in self.conditions_of(&at.text) {
            for clause in &mut clauses.all {
                if let Some(date) = start_of(clause, &clock.text) {
                    if date.text == old.text && !done {
                        date.text = new.text.clone();
                        done = true;
                    } else {
                        starts.push(date.clone());
                    }
                }
            }
            if done {
                let mut words = vec![(clauses.span, line::clauses(clauses))];
                words.extend(clauses.all.iter().map(|clause| (clause.span, line::clause(clause))));
                self.book.reworded.extend(words);
                break;
            }
        }
        if done {
            self.event(&number, format!("started on {}, now on {} by {}", old.text, new.text, clock.text), change);
            return;
        }
        let title = format!("{number} does not start on {} by {}", old.text, clock.text);
        match starts.first() {
            Some(start) => {
                let place = (start.span, format!("starts on {}", start.text));
                self.mismatch(old.span, title, &format!("a start on {}", old.text), Some(place));
            }
            None => self.say(
                Diagnostic::error(Code::OldValueDiffers, title)
                    .at(old.span, "it has no such date")
                    .at(at.span, "looked for in this part")
                    .help(format!("write `start {} on {} by {}`", at.text, new.text, clock.text)),
            ),
        }
    }

    /// What referred to parts that are gone: it reaches nothing any more, or another subject under the old number.
    fn dangling(&mut self) {
        let gone = std::mem::take(&mut self.gone);
        let below = |to: &str| {
            gone.iter().find(|(number, _)| {
                to.strip_prefix(number.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
            })
        };
        let mut found: Vec<(String, String, Span, Span)> = Vec::new();
        for item in &self.book.items {
            if let Item::Section(section) = item {
                reaches(&section.body, &mut |to, span| {
                    if let Some((_, place)) = below(to) {
                        found.push((section.address.text.to_string(), to.to_string(), span, *place));
                    }
                });
            }
        }
        for (from, to, span, place) in found {
            let stands = site::number_of(&self.book.items, &to).is_some();
            let again = match site::find(&mut self.book.items, &to) {
                Some(Site::Section(Section { body, .. }))
                | Some(Site::Paragraph(Statement {
                    kind: StatementKind::Paragraph { body: Some(body), .. }, ..
                })) => super::force::demands(body),
                Some(Site::Item(_)) => true,
                _ => false,
            };
            let title = match (again, stands) {
                (true, _) => format!("{from} refers to {to}, which now has another subject"),
                (false, true) => format!("{from} refers to {to}, which asks nothing any more"),
                (false, false) => format!("{from} refers to {to}, which is gone"),
            };
            let help = match again {
                true => "amend the reference, or keep the old subject under another number",
                false => "amend the reference too; until then it reaches nothing",
            };
            self.say(
                Diagnostic::warning(Code::ReferenceToGone, title)
                    .at(place, "taken out here")
                    .at(span, "referred to here")
                    .help(help),
            );
            if !again {
                for item in &mut self.book.items {
                    if let Item::Section(section) = item {
                        without_reach(&mut section.body, span);
                    }
                }
                let what = format!("no longer reaches {to}, which asks nothing any more");
                let event = Event { document: self.document.clone(), what, marks: Vec::new(), span: place, node: None };
                self.book.note(&from, event);
            }
        }
    }

    /// Adds a condition to the scope of a part.
    pub(super) fn condition(&mut self, address: &Address, clauses: Clauses, what: String, change: &Change) {
        let Some(number) = self.number(address) else { return };
        self.book.reworded.insert(clauses.span, line::clauses(&clauses));
        match site::find(&mut self.book.items, &address.text).or(None) {
            Some(Site::Section(section)) => section.body.statements.push(when(clauses, change.span)),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                body.statements.push(when(clauses, change.span));
            }
            Some(Site::Item(item)) => item.clauses.all.extend(clauses.all),
            Some(Site::Exception(statement)) => {
                if let StatementKind::Unless(_, case, _) | StatementKind::Exception(_, case, _) = &mut statement.kind {
                    case.all.extend(clauses.all);
                    let words = line::clauses(case);
                    let span = case.span;
                    self.book.reworded.insert(span, words);
                }
            }
            Some(Site::Half(_) | Site::Kind(_) | Site::Paragraph(_)) | None => {
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{} has no scope of its own", address.text))
                        .at(address.span, "this has none")
                        .help("a section, paragraph, item or exception is meant"),
                );
                return;
            }
        }
        self.event(&number, what, change);
    }
}

/// The number a change takes from a part, and the one it gives it.
fn given(kind: &ChangeKind) -> Option<(String, String)> {
    match kind {
        ChangeKind::Renumber(from, to) | ChangeKind::Move(from, to) => {
            Some((from.text.to_string(), to.text.to_string()))
        }
        _ => None,
    }
}

/// Calls `see` for each statement that waives, modifies or lifts something, with the number it names.
fn reaches(body: &Body, see: &mut dyn FnMut(&str, Span)) {
    for statement in &body.statements {
        match &statement.kind {
            StatementKind::Waives(to, _) | StatementKind::Modifies(to, ..) | StatementKind::Permits(_, Some(to)) => {
                see(&to.text, to.span);
            }
            StatementKind::Paragraph { body: Some(inner), .. } => reaches(inner, see),
            _ => {}
        }
    }
}

/// Makes a note of the statement whose reference stands at a place; a permission stays, it only lifts nothing.
fn without_reach(body: &mut Body, place: Span) {
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Waives(to, _) | StatementKind::Modifies(to, ..) if to.span == place => {
                let note = format!("referred to {}, which asks nothing any more", to.text);
                statement.kind = StatementKind::Notes(note.as_str().into());
            }
            StatementKind::Permits(_, lifts) if lifts.as_ref().is_some_and(|to| to.span == place) => *lifts = None,
            StatementKind::Paragraph { body: Some(inner), .. } => without_reach(inner, place),
            _ => {}
        }
    }
}

/// The day from which a condition holds by a clock, if that is what it says.
fn start_of<'c>(clause: &'c mut Clause, clock: &str) -> Option<&'c mut Name> {
    let negated = clause.negated;
    match &mut clause.kind {
        ClauseKind::Dated(side, date, Some(own)) if own.text == clock => {
            let starts = matches!((*side, negated), (DateSide::Before, true) | (DateSide::From, false));
            starts.then_some(date)
        }
        ClauseKind::If(_, then) if !negated => then.all.iter_mut().find_map(|clause| start_of(clause, clock)),
        _ => None,
    }
}

/// Conditions that count only in a case.
fn only_if(case: Option<&Clauses>, then: Clauses) -> Clauses {
    let Some(case) = case else { return then };
    let span = then.span;
    let kind = ClauseKind::If(case.clone(), then);
    Clauses { all: vec![Clause { negated: false, kind, span }], span }
}

fn when_words(case: Option<&Clauses>) -> String {
    case.map_or_else(String::new, |case| format!(" when {}", line::clauses(case)))
}

fn when(clauses: Clauses, span: Span) -> Statement {
    Statement { kind: StatementKind::When(clauses), marks: Vec::new(), span }
}

fn dated(side: DateSide, date: &Name, clock: &Name, negated: bool) -> Clauses {
    let span = date.span.to(clock.span);
    let kind = ClauseKind::Dated(side, date.clone(), Some(clock.clone()));
    Clauses { all: vec![Clause { negated, kind, span }], span }
}
