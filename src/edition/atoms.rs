//! The addressable parts of a composed book, each with its own printed lines.
//!
//! A part is a section, paragraph, list item, half, exception, kind, definition, limit, table, row or reading. Its lines leave
//! out what parts inside it say, so that a change shows at one part only. Which part of one book is which part of another
//! is told by the place where it was first written ([`Atom::node`]): it stays when the part is renumbered, moved or replaced,
//! and another one comes with whatever is inserted or added.

use super::compose::Composed;
use crate::base::source::Span;
use crate::format::{block, line};
use crate::syntax::ast::*;
use std::collections::BTreeMap;

/// What sort of part it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sort {
    /// A section.
    Section,
    /// A paragraph of a section.
    Paragraph,
    /// A labelled item of a list.
    Item,
    /// One half of a pair.
    Half,
    /// An exception.
    Exception,
    /// A named condition.
    Kind,
    /// A named expression.
    Define,
    /// A named quantity.
    Limit,
    /// A table, without its rows.
    Table,
    /// A row of a table.
    Row,
    /// A disputed text.
    Reading,
}

/// One printed line of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The words.
    pub text: String,
    /// Whether it can change a verdict: titles and notes cannot.
    pub binds: bool,
}

/// A day on which a condition of a part ends or begins to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Until {
    /// The day, as `2026-09-01`.
    pub date: String,
    /// Whether the day itself is still inside.
    pub through: bool,
    /// Which date of the project counts; empty if the text does not say.
    pub clock: String,
}

/// An addressable part.
#[derive(Debug, Clone)]
pub struct Atom {
    /// The key it is found by: its printed number, `517.13 Ex. 3`, `table 250.122`, `table 250.122, 60 A`, or a kind's name.
    pub at: String,
    /// The number to cite: for a kind the paragraph that it speaks for, if it names one.
    pub cite: String,
    /// What sort of part.
    pub sort: Sort,
    /// A name given to it, or empty.
    pub name: String,
    /// Its title, or empty.
    pub title: String,
    /// Where it was first written: its identity.
    pub node: Span,
    /// The part it stands in.
    pub parent: Option<usize>,
    /// Its own lines.
    pub lines: Vec<Line>,
    /// The marks of its own lines.
    pub marks: Vec<Mark>,
    /// The numbers it refers to.
    pub refers: Vec<String>,
    /// Its number stands, without content.
    pub reserved: bool,
    /// The day on which its conditions let it end, if one of them is a date.
    pub until: Option<Until>,
}

/// All parts of a book.
#[derive(Debug, Clone, Default)]
pub struct Atoms {
    /// In the book's order, a part before those in it.
    pub all: Vec<Atom>,
    by_at: BTreeMap<String, usize>,
    by_name: BTreeMap<String, usize>,
}

impl Atoms {
    /// Takes a book apart.
    pub fn of(book: &Composed) -> Atoms {
        Atoms::of_items(&book.items)
    }

    /// Takes items apart.
    pub fn of_items(items: &[Item]) -> Atoms {
        let mut atoms = Atoms::default();
        for item in items {
            atoms.item(item);
        }
        atoms
    }

    /// The part with that key, or with that number or name as an amendment writes it.
    pub fn find(&self, wanted: &str) -> Option<usize> {
        if let Some(at) = self.by_at.get(wanted).or_else(|| self.by_name.get(wanted)) {
            return Some(*at);
        }
        // A name with labels behind it: `alarms(2)`.
        let (name, labels) = wanted.split_at(wanted.find('(')?);
        let named = self.all.get(*self.by_name.get(name)?)?;
        self.by_at.get(&format!("{}{labels}", named.at)).copied()
    }

    /// The part with that number, as a reference writes it: the number of a section, paragraph or item, else of a table.
    pub fn referred(&self, number: &str) -> Option<usize> {
        self.find(number).or_else(|| self.find(&format!("table {number}")))
    }

    /// The part a reference leads to, or the nearest one that it lies in.
    pub fn nearest(&self, number: &str) -> Option<usize> {
        let mut number = number;
        loop {
            if let Some(found) = self.referred(number) {
                return Some(found);
            }
            number = &number[..number.rfind('(')?];
        }
    }

    /// The parts that stand in one, at any depth, with itself in front.
    pub fn within(&self, at: usize) -> Vec<usize> {
        // A part stands before those in it, and they stand together.
        let inner = self.all.iter().skip(at + 1).take_while(|atom| atom.parent.is_some_and(|parent| parent >= at));
        (at..=at + inner.count()).collect()
    }

    /// Whether one part stands in the other, or is it.
    pub fn is_within(&self, mut inner: usize, outer: usize) -> bool {
        loop {
            if inner == outer {
                return true;
            }
            match self.all.get(inner).and_then(|a| a.parent) {
                Some(parent) => inner = parent,
                None => return false,
            }
        }
    }

    fn push(&mut self, mut atom: Atom) -> usize {
        let at = self.all.len();
        if self.by_at.contains_key(&atom.at) && matches!(atom.sort, Sort::Exception) {
            // Several exceptions without a number are told apart by their order.
            let nth = (2..).find(|n| !self.by_at.contains_key(&format!("{} #{n}", atom.at))).unwrap_or(2);
            atom.at = format!("{} #{nth}", atom.at);
        }
        self.by_at.entry(atom.at.clone()).or_insert(at);
        if !atom.name.is_empty() {
            self.by_name.entry(atom.name.clone()).or_insert(at);
        }
        // Lines that rest on one source name it once.
        let mut told: Vec<Mark> = Vec::new();
        for mark in std::mem::take(&mut atom.marks) {
            if !told.contains(&mark) {
                told.push(mark);
            }
        }
        atom.marks = told;
        self.all.push(atom);
        at
    }

    fn item(&mut self, item: &Item) {
        match item {
            Item::Section(section) => {
                let mut atom = blank(&section.address.text, Sort::Section, section.span);
                atom.name = section.name.as_ref().map_or_else(String::new, |n| n.text.to_string());
                atom.title = section.title.as_deref().unwrap_or("").to_string();
                if !section.about.is_empty() {
                    let about: Vec<&str> = section.about.iter().map(|n| n.text.as_str()).collect();
                    atom.note(format!("about {}", about.join(", ")));
                }
                atom.reserved = matches!(section.body.statements.as_slice(),
                    [Statement { kind: StatementKind::Notes(text), .. }] if text == "reserved");
                self.body(atom, &section.body);
            }
            Item::Kind(kind) => {
                let mut atom = blank(&kind.name.text, Sort::Kind, kind.span);
                atom.name = kind.name.text.to_string();
                atom.title = kind.about.as_deref().unwrap_or("").to_string();
                if let Some(per) = &kind.per {
                    atom.cite = per.text.to_string();
                }
                atom.marks.clone_from(&kind.marks);
                atom.of_thing(&kind.thing);
                for item in kind.items.all.iter().filter(|item| item.label.is_none()) {
                    atom.asks(line::item(&pruned_item(item)));
                    atom.marks.extend(item.marks.iter().cloned());
                    atom.refers.extend(references(&item.clauses));
                }
                let (at, cite) = (atom.at.clone(), atom.cite.clone());
                let parent = self.push(atom);
                self.items(&kind.items, parent, &at, &cite);
            }
            Item::Define(define) => {
                let mut atom = blank(&define.name.text, Sort::Define, define.span);
                atom.name = define.name.text.to_string();
                if let Some(per) = &define.per {
                    atom.cite = per.text.to_string();
                }
                atom.marks.clone_from(&define.marks);
                atom.of_thing(&define.thing);
                atom.asks(line::expr(&define.expr));
                self.push(atom);
            }
            Item::Limit(limit) => {
                let mut atom = blank(&limit.name.text, Sort::Limit, limit.span);
                atom.name = limit.name.text.to_string();
                if let Some(per) = &limit.per {
                    atom.cite = per.text.to_string();
                }
                atom.marks.clone_from(&limit.marks);
                atom.asks(line::quantity(&limit.quantity));
                self.push(atom);
            }
            Item::Table(table) => {
                let at = format!("table {}", table.address.text);
                let mut atom = blank(&at, Sort::Table, table.span);
                atom.title = table.title.as_deref().unwrap_or("").to_string();
                atom.marks.clone_from(&table.marks);
                // The number is told apart from the rest, as for every part.
                let mut head = table.clone();
                head.title = None;
                let head = block::table_head(&head);
                atom.asks(head.strip_prefix(at.as_str()).unwrap_or(&head).trim_start().to_string());
                if table.across.is_some() {
                    let columns: Vec<String> = table.columns.iter().map(|(key, _)| line::cell_key(key)).collect();
                    atom.asks(format!("| {}", columns.join(" | ")));
                }
                let parent = self.push(atom);
                for row in &table.rows {
                    let keys: Vec<String> = row.keys.iter().map(line::cell_key).collect();
                    let mut own = blank(&format!("{at}, {}", keys.join(", ")), Sort::Row, row.span);
                    own.cite.clone_from(&at);
                    own.parent = Some(parent);
                    own.marks.clone_from(&row.marks);
                    own.asks(line::row(row));
                    self.push(own);
                }
            }
            Item::Reading(reading) => {
                let mut atom = blank(&reading.name.text, Sort::Reading, reading.span);
                atom.name = reading.name.text.to_string();
                atom.title = reading.about.as_deref().unwrap_or("").to_string();
                atom.marks.clone_from(&reading.marks);
                if let Some(how) = &reading.disputed {
                    atom.marks.push(Mark::Disputed(how.clone()));
                }
                atom.of_thing(&reading.of);
                for option in &reading.options {
                    let says = match &option.says {
                        ReadingSays::Value(value) => line::expr(value),
                        ReadingSays::Enough(runs, _) => format!("{} is enough", line::enough(runs)),
                        ReadingSays::Items(items) => {
                            items.all.iter().for_each(|i| atom.refers.extend(references(&i.clauses)));
                            items.all.iter().map(line::item).collect::<Vec<_>>().join("; ")
                        }
                    };
                    atom.asks(format!("{} \"{}\": {says}", option.name.text, option.about));
                }
                self.push(atom);
            }
            Item::Amount(amount) => {
                let mut atom = blank(&amount.name.text, Sort::Define, amount.span);
                atom.name = amount.name.text.to_string();
                atom.title = amount.title.as_deref().unwrap_or("").to_string();
                if let Some(per) = &amount.per {
                    atom.cite = per.text.to_string();
                }
                atom.marks.clone_from(&amount.marks);
                atom.of_thing(&amount.thing);
                for added in &amount.lines {
                    atom.asks(line::amount_line(added));
                    atom.marks.extend(added.marks.iter().cloned());
                }
                self.push(atom);
            }
            Item::Series(series) => {
                let mut atom = blank(&format!("series {}", series.address.text), Sort::Table, series.span);
                atom.title = series.title.as_deref().unwrap_or("").to_string();
                atom.marks.clone_from(&series.marks);
                let values: Vec<String> = series.values.iter().map(line::value).collect();
                atom.asks(values.join(", "));
                self.push(atom);
            }
            Item::Terms(_)
            | Item::Edition(_)
            | Item::Choice(_)
            | Item::Scale(_)
            | Item::Thing(_)
            | Item::Jurisdiction(_)
            | Item::Beside(_)
            | Item::Changes(_) => {}
        }
    }

    /// A section or paragraph, then what stands in it.
    fn body(&mut self, mut atom: Atom, body: &Body) {
        let mut inner: Vec<&Statement> = Vec::new();
        for statement in &body.statements {
            match &statement.kind {
                StatementKind::Paragraph { .. } | StatementKind::Unless(..) | StatementKind::Exception(..) => {
                    inner.push(statement);
                }
                StatementKind::Marks => atom.marks.extend(statement.marks.iter().cloned()),
                StatementKind::Notes(_) => {
                    atom.note(line::statement(statement));
                    atom.marks.extend(statement.marks.iter().cloned());
                }
                StatementKind::Different(_) => {
                    atom.asks("requires different { … }".to_string());
                    atom.marks.extend(statement.marks.iter().cloned());
                    inner.push(statement);
                }
                kind => {
                    atom.dated(kind);
                    let own = pruned_statement(statement);
                    atom.asks(line::statement(&own));
                    atom.marks.extend(statement.marks.iter().cloned());
                    atom.refers.extend(references_of(&own));
                    inner.push(statement);
                }
            }
        }
        let (at, cite) = (atom.at.clone(), atom.cite.clone());
        let parent = self.push(atom);
        for statement in inner {
            self.statement(statement, parent, &at, &cite);
        }
    }

    fn statement(&mut self, statement: &Statement, parent: usize, at: &str, cite: &str) {
        match &statement.kind {
            StatementKind::Paragraph { labels, name, title, body } => {
                let own = line::labels(labels);
                let mut atom = blank(&format!("{at}{own}"), Sort::Paragraph, statement.span);
                atom.cite = format!("{cite}{own}");
                atom.parent = Some(parent);
                atom.name = name.as_ref().map_or_else(String::new, |n| n.text.to_string());
                atom.title = title.as_deref().unwrap_or("").to_string();
                atom.marks.clone_from(&statement.marks);
                atom.reserved = body.is_none();
                match body {
                    Some(body) => self.body(atom, body),
                    None => {
                        self.push(atom);
                    }
                }
            }
            StatementKind::Different(halves) => {
                for half in halves {
                    let mut atom = blank(&format!("{at}({})", half.label.text), Sort::Half, half.span);
                    atom.cite = format!("{cite}({})", half.label.text);
                    atom.parent = Some(parent);
                    atom.marks.clone_from(&half.marks);
                    let text = line::half(half);
                    let label = format!("({}) ", half.label.text);
                    atom.asks(text.strip_prefix(&label).unwrap_or(&text).to_string());
                    if let Some(clauses) = &half.clauses {
                        atom.refers.extend(references(clauses));
                    }
                    self.push(atom);
                }
            }
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                let mut bare = head.clone();
                bare.name = None;
                bare.uncounted = None;
                if bare.number.is_some() {
                    bare.to.clear();
                }
                let own = line::exception_head(&bare);
                let mut atom = blank(&format!("{at} {own}"), Sort::Exception, statement.span);
                atom.cite = format!("{cite} {own}");
                atom.parent = Some(parent);
                atom.name = head.name.as_ref().map_or_else(String::new, |n| n.text.to_string());
                atom.marks.clone_from(&statement.marks);
                let whole = pruned_statement(statement);
                atom.dated(&statement.kind);
                atom.refers.extend(references_of(&whole));
                atom.asks(told_exception(&whole));
                let (at, cite) = (atom.at.clone(), atom.cite.clone());
                let parent = self.push(atom);
                for clauses in clauses_of(&statement.kind) {
                    self.clauses(clauses, parent, &at, &cite);
                }
            }
            kind => {
                for clauses in clauses_of(kind) {
                    self.clauses(clauses, parent, at, cite);
                }
                if let StatementKind::Requires(_, Some(items)) | StatementKind::Prohibits(_, Some(items)) = kind {
                    self.items(items, parent, at, cite);
                }
            }
        }
    }

    fn clauses(&mut self, clauses: &Clauses, parent: usize, at: &str, cite: &str) {
        for clause in &clauses.all {
            if let Some(items) = list_of(clause) {
                self.items(items, parent, at, cite);
            }
        }
    }

    fn items(&mut self, items: &Items, parent: usize, at: &str, cite: &str) {
        for item in &items.all {
            let Some(label) = &item.label else {
                self.clauses(&item.clauses, parent, at, cite);
                continue;
            };
            let mut atom = blank(&format!("{at}({})", label.text), Sort::Item, item.span);
            atom.cite = format!("{cite}({})", label.text);
            atom.parent = Some(parent);
            atom.name = item.name.as_ref().map_or_else(String::new, |n| n.text.to_string());
            atom.marks.clone_from(&item.marks);
            let own = pruned(&item.clauses);
            atom.asks(shortened(line::clauses(&own)));
            atom.refers.extend(references(&own));
            atom.until = dated_in(&item.clauses);
            let (at, cite) = (atom.at.clone(), atom.cite.clone());
            let parent = self.push(atom);
            self.clauses(&item.clauses, parent, &at, &cite);
        }
    }
}

impl Atom {
    fn asks(&mut self, text: String) {
        self.lines.push(Line { text: shortened(text), binds: true });
    }

    fn note(&mut self, text: String) {
        self.lines.push(Line { text, binds: false });
    }

    fn of_thing(&mut self, thing: &Name) {
        self.asks(format!("of {}", thing.text));
    }

    fn dated(&mut self, kind: &StatementKind) {
        if let StatementKind::When(case) | StatementKind::Unless(_, case, _) | StatementKind::Exception(_, case, _) =
            kind
            && self.until.is_none()
        {
            self.until = dated_in(case);
        }
    }

    /// Its lines, the title in front.
    pub fn printed(&self) -> Vec<Line> {
        let title = (!self.title.is_empty()).then(|| Line { text: format!("\"{}\"", self.title), binds: false });
        let reserved = self.reserved.then(|| Line { text: "reserved".to_string(), binds: true });
        title.into_iter().chain(reserved).chain(self.lines.iter().cloned()).collect()
    }
}

fn blank(at: &str, sort: Sort, node: Span) -> Atom {
    Atom {
        at: at.to_string(),
        cite: at.to_string(),
        sort,
        name: String::new(),
        title: String::new(),
        node,
        parent: None,
        lines: Vec::new(),
        marks: Vec::new(),
        refers: Vec::new(),
        reserved: false,
        until: None,
    }
}

/// A copy of items with references to other parts written anew; `to` gives the new number, or none where the old one stays.
pub fn readdressed(items: &[Item], to: &dyn Fn(&str) -> Option<String>) -> Vec<Item> {
    let mut own = items.to_vec();
    super::walk::references(&mut own, &mut |address| {
        if let Some(new) = to(&address.text) {
            address.text = new.as_str().into();
        }
    });
    own
}

/// What an exception says, without its number and name.
fn told_exception(statement: &Statement) -> String {
    let mut bare = statement.clone();
    if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = &mut bare.kind {
        head.number = None;
        head.name = None;
    }
    let text = line::statement(&bare);
    let text = text.strip_prefix("unless ").unwrap_or(&text);
    text.strip_prefix("Ex. ").unwrap_or(text).to_string()
}

/// Lists whose items are told on their own.
fn shortened(text: String) -> String {
    if text.contains("{  }") { text.replace("{  }", "{ … }") } else { text }
}

fn list_of(clause: &Clause) -> Option<&Items> {
    match &clause.kind {
        ClauseKind::AnyOf(items) | ClauseKind::AllOf(items) | ClauseKind::NoneOf(items) => Some(items),
        _ => None,
    }
}

fn has_labels(clauses: &Clauses) -> bool {
    clauses
        .all
        .iter()
        .filter_map(list_of)
        .any(|items| items.all.iter().any(|item| item.label.is_some() || has_labels(&item.clauses)))
}

/// The conditions without labelled items.
fn pruned(clauses: &Clauses) -> Clauses {
    let mut own = clauses.clone();
    if has_labels(clauses) {
        for clause in &mut own.all {
            if let ClauseKind::AnyOf(items) | ClauseKind::AllOf(items) | ClauseKind::NoneOf(items) = &mut clause.kind {
                items.all = items.all.iter().filter(|i| i.label.is_none()).map(pruned_item).collect();
            }
        }
    }
    own
}

fn pruned_item(item: &ListItem) -> ListItem {
    ListItem { clauses: pruned(&item.clauses), ..item.clone() }
}

fn pruned_statement(statement: &Statement) -> Statement {
    let mut own = statement.clone();
    match &mut own.kind {
        StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
            *clauses = pruned(clauses);
            if let Some(items) = triggers {
                items.all = items.all.iter().filter(|i| i.label.is_none()).map(pruned_item).collect();
            }
        }
        StatementKind::When(clauses)
        | StatementKind::AlsoWhen(clauses)
        | StatementKind::PermitsAs { clauses, .. }
        | StatementKind::PermitsOnly(clauses)
        | StatementKind::Permits(clauses, _)
        | StatementKind::IfProvided(_, clauses) => *clauses = pruned(clauses),
        StatementKind::Unless(_, case, alternative) => {
            *case = pruned(case);
            if let Some(Enough::Clauses(clauses)) = alternative {
                *clauses = pruned(clauses);
            }
        }
        StatementKind::Exception(_, case, instead) | StatementKind::Modifies(_, case, instead) => {
            *case = pruned(case);
            *instead = pruned(instead);
        }
        StatementKind::Marks
        | StatementKind::Paragraph { .. }
        | StatementKind::Governs { .. }
        | StatementKind::Different(_)
        | StatementKind::Notes(_)
        | StatementKind::Waives(..)
        | StatementKind::Tally(..) => {}
    }
    own
}

/// The conditions that a statement holds.
fn clauses_of(kind: &StatementKind) -> Vec<&Clauses> {
    match kind {
        StatementKind::When(c)
        | StatementKind::AlsoWhen(c)
        | StatementKind::Requires(c, _)
        | StatementKind::Prohibits(c, _)
        | StatementKind::PermitsAs { clauses: c, .. }
        | StatementKind::PermitsOnly(c)
        | StatementKind::Permits(c, _)
        | StatementKind::IfProvided(_, c)
        | StatementKind::Unless(_, c, None | Some(Enough::Labels(..)))
        | StatementKind::Waives(_, Some(c))
        | StatementKind::Tally(_, _, Some(c)) => vec![c],
        StatementKind::Unless(_, a, Some(Enough::Clauses(b)))
        | StatementKind::Exception(_, a, b)
        | StatementKind::Modifies(_, a, b) => vec![a, b],
        StatementKind::Marks
        | StatementKind::Paragraph { .. }
        | StatementKind::Governs { .. }
        | StatementKind::Different(_)
        | StatementKind::Notes(_)
        | StatementKind::Waives(_, None)
        | StatementKind::Tally(_, _, None) => Vec::new(),
    }
}

fn dated_in(clauses: &Clauses) -> Option<Until> {
    clauses.all.iter().find_map(|clause| match (&clause.kind, clause.negated) {
        (ClauseKind::Dated(side @ (DateSide::Before | DateSide::Through), date, clock), false) => Some(Until {
            date: date.text.to_string(),
            through: *side == DateSide::Through,
            clock: clock.as_ref().map_or_else(String::new, |c| c.text.to_string()),
        }),
        _ => None,
    })
}

fn references(clauses: &Clauses) -> Vec<String> {
    let mut found = Vec::new();
    let mut own = clauses.clone();
    super::walk::in_clauses(&mut own, &mut |address| found.push(address.text.to_string()));
    found
}

fn references_of(statement: &Statement) -> Vec<String> {
    let mut found = Vec::new();
    let mut body = Body { statements: vec![statement.clone()] };
    super::walk::in_body(&mut body, &mut |address| found.push(address.text.to_string()));
    found
}
