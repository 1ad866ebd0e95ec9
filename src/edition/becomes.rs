//! Exceptions that become options of a rule, and the reverse: both add a way to satisfy it.

use super::apply::Work;
use super::reshape::{Joined, parent};
use super::site::{self, Site};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// `alarm-only becomes 8(3)`, `8(3) becomes Ex. 1 as alarm-only`
    pub(super) fn becomes(&mut self, part: &PartName, place: &NewPlace, change: &Change) {
        match (part, place) {
            (PartName::At(address), NewPlace::Exception(head)) => self.item_to_exception(address, head, change),
            (part, NewPlace::Item(to)) => self.exception_to_item(part, to, change),
            (PartName::Exception(name, _), NewPlace::Exception(_)) => {
                self.cannot_become(
                    name.span,
                    "it is an exception already",
                    "its number changes with `number was Ex. 1, now Ex. 2`",
                );
            }
        }
    }

    fn cannot_become(&mut self, span: Span, why: &str, help: &str) {
        self.say(
            Diagnostic::error(Code::CannotBecome, "the change of form would change the meaning")
                .at(span, why)
                .help(help),
        );
    }

    fn exception_to_item(&mut self, part: &PartName, to: &Address, change: &Change) {
        let (above, label) = parent(&to.text);
        let (span, at) = match part {
            PartName::At(address) => (address.span, address.text.to_string()),
            PartName::Exception(name, of) => (name.span, of.text.to_string()),
        };
        let body = match part {
            PartName::At(address) => match site::find(&mut self.book.items, &address.text) {
                Some(Site::Exception(statement)) => Some(statement.clone()),
                _ => None,
            },
            PartName::Exception(name, of) => match site::find(&mut self.book.items, &of.text) {
                Some(
                    Site::Section(Section { body, .. })
                    | Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }),
                ) => body.statements.iter().find(|s| site::is_exception(&s.kind, name)).cloned(),
                _ => None,
            },
        };
        let Some(statement) = body else {
            let title = format!("there is no exception {at} in {}", self.book.name);
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(span, "nothing stands there")
                    .help("name it as the rule did with `as`, or by its number: `Ex. 2 of 210.8(A)`"),
            );
            return;
        };
        let StatementKind::Unless(head, case, alternative) = &statement.kind else {
            self.cannot_become(
                span,
                "it replaces the rule, it does not add a way to satisfy it",
                "write the item and strike the exception",
            );
            return;
        };
        let options = self.how_joined(&above) == Some(Joined::Any) && self.is_demand(&above);
        if !options {
            self.cannot_become(
                to.span,
                "only an option of `requires any of { }` or `permits only any of { }` satisfies like an exception",
                "add the item and strike the exception, if that is meant",
            );
            return;
        }
        let mut clauses = case.clone();
        match alternative {
            None => {}
            Some(Enough::Clauses(more)) => clauses.all.extend(more.all.iter().cloned()),
            Some(Enough::Labels(..)) => {
                self.cannot_become(span, "it says which items are enough", "write the item and strike the exception");
                return;
            }
        }
        let item = ListItem {
            label: Some(Name { text: label.as_str().into(), span: to.span }),
            name: head.name.clone(),
            clauses,
            marks: statement.marks.clone(),
            span: statement.span,
        };
        let words = line::clauses(&item.clauses);
        match self.labelled_list(&above) {
            Some(list) if !list.all.iter().any(|own| own.label.as_ref().is_some_and(|l| l.text == label)) => {
                list.all.push(item);
            }
            _ => {
                self.say(
                    Diagnostic::error(Code::NumberTaken, format!("{} already stands there", to.text))
                        .at(to.span, "taken")
                        .help("give the item a free label"),
                );
                return;
            }
        }
        self.book.reworded.insert(statement.span, words);
        let place = statement.span;
        let home = site::home(&self.book.items, &above).and_then(|at| self.book.items.get_mut(at));
        if let Some(Item::Section(section)) = home {
            without(&mut section.body, place);
        }
        let label = site::exception_words(&statement.kind).unwrap_or_default();
        self.book.identity.insert(to.text.to_string(), format!("{above} {label}"));
        self.event(&to.text, format!("was {label}"), change);
    }

    fn item_to_exception(&mut self, address: &Address, head: &ExceptionHead, change: &Change) {
        let Some(number) = self.number(address) else { return };
        let (above, label) = parent(&number);
        if self.how_joined(&above) != Some(Joined::Any) || !self.is_demand(&above) {
            self.cannot_become(
                address.span,
                "only an option of `requires any of { }` or `permits only any of { }` satisfies like an exception",
                "add the exception and strike the item, if that is meant",
            );
            return;
        }
        let Some(list) = self.labelled_list(&above) else { return };
        let Some(at) = list.all.iter().position(|own| own.label.as_ref().is_some_and(|l| l.text == label)) else {
            return;
        };
        if list.all.len() < 2 {
            self.cannot_become(address.span, "it is the only option", "replace the paragraph instead");
            return;
        }
        let item = list.all.remove(at);
        let mut head = head.clone();
        head.name = head.name.or(item.name);
        let kind = StatementKind::Unless(head, item.clauses, None);
        let words = site::exception_words(&kind).unwrap_or_default();
        let statement = Statement { kind, marks: item.marks, span: item.span };
        if let Some(
            Site::Section(Section { body, .. })
            | Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }),
        ) = site::find(&mut self.book.items, &above)
        {
            body.statements.push(statement);
        }
        self.book.identity.insert(format!("{above} {words}"), number.clone());
        self.event(&above, format!("{number} is now {words}"), change);
    }

    /// Whether the list of a part says what is demanded, rather than when.
    fn is_demand(&mut self, above: &str) -> bool {
        let body = match site::find(&mut self.book.items, above) {
            Some(
                Site::Section(Section { body, .. })
                | Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }),
            ) => body,
            _ => return false,
        };
        body.statements.iter().any(|s| match &s.kind {
            StatementKind::Requires(clauses, None) | StatementKind::PermitsOnly(clauses) => {
                let mut labels = Vec::new();
                site::of_clauses(clauses, &mut labels);
                !labels.is_empty() && clauses.all.len() == 1
            }
            _ => false,
        })
    }
}

/// Takes the statement at a place out of a body.
fn without(body: &mut Body, place: Span) {
    body.statements.retain(|s| s.span != place || matches!(s.kind, StatementKind::Paragraph { .. }));
    for statement in &mut body.statements {
        if let StatementKind::Paragraph { body: Some(inner), .. } = &mut statement.kind {
            without(inner, place);
        }
    }
}
