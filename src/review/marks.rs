//! Paragraphs, kinds and tables that do not say where they come from.
//!
//! A paragraph says so if it has a mark anywhere, stands below a line of marks, was made so by a document whose change has
//! one, or names a kind, definition or table that has one. Kinds are held to it where they state a number. Where nothing in
//! an edition has a mark that is said once, at its head.

use super::Book;
use super::findings::Findings;
use crate::base::source::{Sources, Span};
use crate::diag::{Code, Diagnostic};
use crate::syntax::ast::{Body, ClauseKind, Clauses, Item, Items, Mark, StatementKind};
use std::collections::BTreeSet;

const HELP: &str =
    "end the line with `seen \"key\"`, `memory` or `disputed \"…\"`, or put one on a line of its own for all";

/// Whether nothing at all in a book has a mark: then that is said once.
pub(super) fn none(book: &Book) -> bool {
    let told = book.composed.history.values().flatten().any(|event| !event.marks.is_empty());
    let written = book.composed.items.iter().any(|item| matches!(item, Item::Section(section) if said(&section.body)));
    !told && !written && book.program.origins.iter().all(|origin| origin.marks.is_empty())
}

/// Whether some statement of a body has a mark.
fn said(body: &Body) -> bool {
    body.statements.iter().any(|statement| match &statement.kind {
        StatementKind::Paragraph { body: Some(inner), .. } => said(inner),
        _ => has(&statement.marks),
    })
}

/// Tells that nothing in an edition has a mark.
pub(super) fn missing(edition: &str, head: Span, findings: &mut Findings) {
    let diagnostic = Diagnostic::advice(Code::NoSource, format!("nothing in {edition} says where it comes from"))
        .at(head, "no mark below")
        .help(HELP);
    findings.add(edition, diagnostic);
}

/// Looks at the items of a book, those of its vocabulary among them.
pub(super) fn review(book: &Book, items: &[&Item], sources: &Sources, findings: &mut Findings) {
    let mut marked = Marked::default();
    items.iter().for_each(|item| marked.take(item, book));
    marked.close(items, sources);
    let edition = book.program.edition.as_str();
    let mut say = |title: String, span: Span| {
        findings.add(edition, Diagnostic::advice(Code::NoSource, title).at(span, "no mark").help(HELP));
    };
    for item in items {
        match item {
            Item::Section(section) => {
                let address = section.address.text.as_str();
                paragraph(&section.body, address, section.address.span, &mut |own, address, span| {
                    let told = book.composed.history_of(address).iter().any(|(_, event)| !event.marks.is_empty());
                    let text = own.statements.iter().map(|s| sources.slice(s.span));
                    if !told && !text.into_iter().any(|text| marked.named_in(text)) {
                        say(format!("{address} does not say where it comes from"), span);
                    }
                });
            }
            Item::Kind(kind) if kind.per.is_some() && kind.marks.is_empty() && !some_marked(&kind.items) => {
                let text = sources.slice(kind.items.span);
                let told = book.composed.history_of(&kind.name.text).iter().any(|(_, event)| !event.marks.is_empty());
                let states = text.split(['#', '"']).step_by(2).any(|t| t.contains(|c: char| c.is_ascii_digit()));
                if states && !told && !marked.named_in(text) {
                    say(format!("`{}` states a number and not where it comes from", kind.name.text), kind.name.span);
                }
            }
            Item::Table(table)
                if table.marks.is_empty()
                    && !table.rows.is_empty()
                    && table.rows.iter().all(|r| r.marks.is_empty()) =>
            {
                say(format!("table {} does not say where it comes from", table.address.text), table.address.span);
            }
            _ => {}
        }
    }
}

/// Names that have a mark.
#[derive(Default)]
struct Marked {
    words: BTreeSet<String>,
    tables: Vec<String>,
}

impl Marked {
    /// A kind that names what has a mark says where it comes from as well.
    fn close(&mut self, items: &[&Item], sources: &Sources) {
        loop {
            let before = self.words.len();
            for item in items {
                if let Item::Kind(kind) = item
                    && !self.words.contains(kind.name.text.as_str())
                    && self.named_in(sources.slice(kind.items.span))
                {
                    self.words.insert(kind.name.text.to_string());
                }
            }
            if self.words.len() == before {
                return;
            }
        }
    }

    fn take(&mut self, item: &Item, book: &Book) {
        match item {
            Item::Kind(kind) if has(&kind.marks) || some_marked(&kind.items) => {
                self.words.insert(kind.name.text.to_string());
            }
            Item::Define(define) if has(&define.marks) => {
                self.words.insert(define.name.text.to_string());
            }
            Item::Limit(limit) if has(&limit.marks) => {
                self.words.insert(limit.name.text.to_string());
            }
            Item::Amount(amount) if has(&amount.marks) || amount.lines.iter().any(|line| has(&line.marks)) => {
                self.words.insert(amount.name.text.to_string());
            }
            Item::Reading(reading) if has(&reading.marks) || reading.disputed.is_some() => {
                self.words.insert(reading.name.text.to_string());
            }
            Item::Table(table) if has(&table.marks) || table.rows.iter().any(|row| has(&row.marks)) => {
                let first = book.composed.first_number(&table.address.text);
                self.tables.extend([table.address.text.to_string(), first].map(|number| format!("table {number}")));
            }
            _ => {}
        }
    }

    fn named_in(&self, text: &str) -> bool {
        let mut words = text.split(|c: char| !(c.is_alphanumeric() || c == '-' || c == '_'));
        words.any(|word| self.words.contains(word)) || self.tables.iter().any(|table| text.contains(table.as_str()))
    }
}

/// Calls `see` on each paragraph that binds somebody and has no mark, none around it and none within.
fn paragraph(own: &Body, at: &str, span: Span, see: &mut dyn FnMut(&Body, &str, Span)) {
    if own.statements.iter().any(|s| has(&s.marks) && !matches!(s.kind, StatementKind::Paragraph { .. })) {
        // What stands for the whole stands for its paragraphs too; what stands on one line does not.
        if own.statements.iter().any(|s| matches!(s.kind, StatementKind::Marks)) {
            return;
        }
    } else if own.statements.iter().any(|s| binds(&s.kind)) && !own.statements.iter().any(|s| lines_marked(&s.kind)) {
        see(own, at, span);
    }
    for statement in &own.statements {
        if let StatementKind::Paragraph { labels, body: Some(inner), .. } = &statement.kind {
            let text: String = labels.iter().map(|l| format!("({})", l.text)).collect();
            let span = labels.first().map_or(statement.span, |label| label.span);
            paragraph(inner, &format!("{at}{text}"), span, see);
        }
    }
}

fn binds(kind: &StatementKind) -> bool {
    match kind {
        StatementKind::Marks
        | StatementKind::Paragraph { .. }
        | StatementKind::Governs { .. }
        | StatementKind::When(_)
        | StatementKind::AlsoWhen(_)
        | StatementKind::Notes(_)
        | StatementKind::Tally(..) => false,
        StatementKind::Different(_)
        | StatementKind::Requires(..)
        | StatementKind::Prohibits(..)
        | StatementKind::PermitsAs { .. }
        | StatementKind::PermitsOnly(_)
        | StatementKind::Permits(..)
        | StatementKind::IfProvided(..)
        | StatementKind::Unless(..)
        | StatementKind::Exception(..)
        | StatementKind::Modifies(..)
        | StatementKind::Waives(..) => true,
    }
}

/// Whether some line of a statement has a mark.
fn lines_marked(kind: &StatementKind) -> bool {
    match kind {
        StatementKind::Different(halves) => halves.iter().any(|half| has(&half.marks)),
        StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
            triggers.as_ref().is_some_and(some_marked) || lists_marked(clauses)
        }
        StatementKind::When(clauses)
        | StatementKind::AlsoWhen(clauses)
        | StatementKind::PermitsOnly(clauses)
        | StatementKind::PermitsAs { clauses, .. }
        | StatementKind::Permits(clauses, _)
        | StatementKind::IfProvided(_, clauses)
        | StatementKind::Unless(_, clauses, _)
        | StatementKind::Exception(_, clauses, _)
        | StatementKind::Modifies(_, clauses, _) => lists_marked(clauses),
        StatementKind::Waives(_, case) => case.as_ref().is_some_and(lists_marked),
        StatementKind::Marks
        | StatementKind::Paragraph { .. }
        | StatementKind::Governs { .. }
        | StatementKind::Notes(_)
        | StatementKind::Tally(..) => false,
    }
}

fn lists_marked(clauses: &Clauses) -> bool {
    clauses.all.iter().filter_map(|clause| list(&clause.kind)).any(some_marked)
}

fn some_marked(items: &Items) -> bool {
    items.all.iter().any(|item| has(&item.marks) || lists_marked(&item.clauses))
}

fn has(marks: &[Mark]) -> bool {
    !marks.is_empty()
}

fn list(kind: &ClauseKind) -> Option<&Items> {
    match kind {
        ClauseKind::AnyOf(items) | ClauseKind::AllOf(items) | ClauseKind::NoneOf(items) => Some(items),
        _ => None,
    }
}
