//! Parts that move: the same text under another number, in another paragraph or section.

use super::apply::Work;
use super::reshape::{parent, says};
use super::site::{self, Site};
use crate::diag::{Code, Diagnostic};
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// `move A to B`: the same text under another number, in another paragraph or section.
    pub(super) fn shift(&mut self, from: &Address, to: &Address, change: &Change) {
        let Some(number) = self.number(from) else { return };
        let (old_parent, _) = parent(&number);
        let (new_parent, new_label) = parent(&to.text);
        if old_parent == new_parent || (old_parent.is_empty() && new_parent.is_empty()) {
            self.renumber(from, to, change);
            return;
        }
        if site::number_of(&self.book.items, &to.text).is_some() {
            let title = format!("{} already stands in {}", to.text, self.book.name);
            self.say(Diagnostic::error(Code::NumberTaken, title).at(to.span, "moved to this").help("delete it first"));
            return;
        }
        let context = self.context(&number);
        let part = match site::find(&mut self.book.items, &number) {
            Some(Site::Item(item)) => Moving::Item(item.clone()),
            Some(Site::Paragraph(statement)) => Moving::Body(statement.clone()),
            Some(Site::Section(section)) => {
                let kind = StatementKind::Paragraph {
                    labels: Vec::new(),
                    name: section.name.clone(),
                    title: section.title.clone(),
                    body: Some(section.body.clone()),
                };
                Moving::Body(Statement { kind, marks: Vec::new(), span: section.span })
            }
            _ => {
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} cannot move"))
                        .at(from.span, "a section, paragraph or item is meant")
                        .help("an exception takes another number with `in …: number was Ex. 1, now Ex. 2`"),
                );
                return;
            }
        };
        let here = self.context(&format!("{new_parent}()"));
        if let Moving::Body(_) = part {
            let foreign = here
                .iter()
                .find(|s| matches!(s.kind, StatementKind::When(_)) && !context.iter().any(|own| says(own) == says(s)));
            if let Some(foreign) = foreign {
                let title = format!("{new_parent} applies under conditions that {number} does not have");
                self.say(
                    Diagnostic::error(Code::MergeDiffers, title)
                        .at(to.span, "moved to here")
                        .at(foreign.span, "this would be added to what moves")
                        .help("insert the text there and delete it here, if that is meant"),
                );
                return;
            }
        }
        if !self.claim(&number, from.span) {
            return;
        }
        self.take_out(&number);
        let label = Name { text: new_label.as_str().into(), span: to.span };
        let placed = match part {
            Moving::Item(mut item) => {
                item.label = Some(label);
                match self.labelled_list(&new_parent) {
                    Some(list) => {
                        list.all.push(item);
                        true
                    }
                    None => false,
                }
            }
            Moving::Body(mut statement) => {
                let carried: Vec<Statement> =
                    context.iter().filter(|own| !here.iter().any(|s| says(s) == says(own))).cloned().collect();
                if let StatementKind::Paragraph { labels, body: Some(body), name, title } = &mut statement.kind {
                    body.statements.splice(0..0, carried);
                    *labels = vec![label];
                    if new_parent.is_empty() {
                        let section = Section {
                            address: to.clone(),
                            name: name.clone(),
                            title: title.clone(),
                            about: Vec::new(),
                            body: body.clone(),
                            span: change.span,
                        };
                        self.book.items.push(Item::Section(section));
                        self.moved(&[(number, to.text.to_string())], change);
                        return;
                    }
                }
                match site::find(&mut self.book.items, &new_parent) {
                    Some(Site::Section(section)) => {
                        section.body.statements.push(statement);
                        true
                    }
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                        body.get_or_insert_with(Body::default).statements.push(statement);
                        true
                    }
                    _ => false,
                }
            }
        };
        if !placed {
            let title = format!("{new_parent} holds nothing of this kind");
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(to.span, "no list or paragraphs to move into")
                    .help("an item moves into a list of labelled items, a paragraph into a section or paragraph"),
            );
            return;
        }
        self.moved(&[(number, to.text.to_string())], change);
    }

    /// What a part inherits: the lines `governs` and `when` of everything around it.
    fn context(&self, number: &str) -> Vec<Statement> {
        fn of_body(body: &Body, labels: &[&str], found: &mut Vec<Statement>) {
            if labels.is_empty() {
                return;
            }
            found.extend(
                body.statements
                    .iter()
                    .filter(|s| matches!(s.kind, StatementKind::Governs { .. } | StatementKind::When(_)))
                    .cloned(),
            );
            for statement in &body.statements {
                if let StatementKind::Paragraph { labels: own, body: Some(inner), .. } = &statement.kind
                    && own.len() < labels.len()
                    && own.iter().zip(labels).all(|(a, b)| a.text == *b)
                {
                    of_body(inner, labels.get(own.len()..).unwrap_or_default(), found);
                }
            }
        }
        let mut found = Vec::new();
        let (above, _) = parent(number);
        let at = site::home(&self.book.items, if number.ends_with("()") { &above } else { number });
        if let Some(Item::Section(section)) = at.and_then(|at| self.book.items.get(at)) {
            let mut labels = site::within(section, number).unwrap_or_default();
            if number.ends_with("()") {
                labels.push("");
            }
            of_body(&section.body, &labels, &mut found);
        }
        found
    }
}

enum Moving {
    Item(ListItem),
    Body(Statement),
}
