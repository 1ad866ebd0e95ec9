//! Text of another edition used in this one: a part, where it applies, some exceptions; with its own definitions if wanted.

use super::apply::Work;
use super::atoms::{Atoms, Sort};
use super::compose::{self, Composed};
use super::site::{self, Site};
use super::words::{Leaf, Words};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::format::line;
use crate::syntax::ast::*;
use std::collections::{BTreeMap, BTreeSet};

/// What was taken, before it is put in.
enum Taken {
    Text(Option<String>, Content),
    Exception(StatementKind),
    Scope(Vec<Statement>),
    Exceptions(Vec<Statement>),
}

impl Work<'_, '_> {
    pub(super) fn graft(
        &mut self,
        what: &Used,
        address: &Address,
        edition: &EditionName,
        words: Definitions,
        change: &Change,
    ) {
        let place = edition.family.span.to(edition.year.span);
        let Some((mut other, name)) = self.other_edition(edition) else { return };
        let here = site::number_of(&self.book.items, &address.text);
        let there = self.there(address, &other);
        let Some(mut taken) = self.take(what, &there, &mut other, &name) else { return };
        if !self.settle_words(&mut taken, &other, &name, words, place) {
            return;
        }
        self.book.reworded.extend(other.reworded);
        match taken {
            Taken::Exceptions(statements) => {
                if self.number(address).is_none() {
                    return;
                }
                let number = here.unwrap_or_default();
                for statement in statements {
                    if let Some(what) = self.put_exception(&number, address, &statement.kind, statement.span, change) {
                        self.event(&number, format!("added {what}, from {name}"), change);
                    }
                }
            }
            Taken::Scope(statements) => {
                let Some(number) = self.number(address) else { return };
                if !self.claim(&format!("the scope of {number}"), change.span) {
                    return;
                }
                let body = match site::find(&mut self.book.items, &address.text) {
                    Some(Site::Section(section)) => Some(&mut section.body),
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                        body.as_mut()
                    }
                    _ => None,
                };
                let Some(body) = body else {
                    self.no_scope(&number, address);
                    return;
                };
                let at = body.statements.iter().position(|s| matches!(s.kind, StatementKind::When(_)));
                body.statements.retain(|s| !matches!(s.kind, StatementKind::When(_)));
                let at = at.unwrap_or(0).min(body.statements.len());
                body.statements.splice(at..at, statements);
                self.event(&number, format!("the scope of {name} is used"), change);
            }
            Taken::Exception(kind) => {
                let Some(number) = self.number(address) else { return };
                if !self.claim(&number, change.span) {
                    return;
                }
                if let Some(Site::Exception(own)) = site::find(&mut self.book.items, &address.text) {
                    own.kind = kind;
                }
                self.event(&number, format!("the text of {name} is used"), change);
            }
            Taken::Text(title, content) => match here {
                Some(number) => {
                    if !self.claim(&number, change.span) {
                        return;
                    }
                    self.put(&number, title.as_deref(), &content, change.span);
                    self.event(&number, format!("the text of {name} is used"), change);
                }
                // What this book no longer has comes back under its old number.
                None => {
                    self.insert(address, None, title.as_deref(), &content, &[], change);
                    self.event(&address.text, format!("the text of {name} is used"), change);
                }
            },
        }
    }

    /// Another edition, composed, with its name; a mistake if it is not loaded or is just being made.
    pub(super) fn other_edition(&mut self, edition: &EditionName) -> Option<(Composed, String)> {
        let name = format!("{} {}", edition.family.text, edition.year.text);
        let place = edition.family.span.to(edition.year.span);
        if let Some((_, made)) = self.making.chain.iter().find(|(known, _)| *known == name) {
            self.diagnostics.push(
                Diagnostic::error(Code::FollowsInCircle, format!("the text of {name} is used to make {name}"))
                    .at(place, "used here")
                    .at(*made, format!("`{name}` follows from this"))
                    .help("use the text of an earlier edition"),
            );
            return None;
        }
        let mut quiet = Diagnostics::new();
        let other = compose::edition(self.books, &edition.family.text, &edition.year.text, self.making, &mut quiet);
        if other.items.is_empty() {
            self.say(
                Diagnostic::error(Code::EditionNotLoaded, format!("`{name}` is not loaded"))
                    .at(place, "its text is used here")
                    .help(format!("load it, or give the paragraphs that are used under `excerpt of {name}`")),
            );
            return None;
        }
        Some((other, name))
    }

    fn no_scope(&mut self, number: &str, address: &Address) {
        self.say(
            Diagnostic::error(Code::NoSuchTarget, format!("{number} has no scope of its own"))
                .at(address.span, "it has none")
                .help("a section or paragraph is meant"),
        );
    }

    /// The number that a part has in the other edition: it may have moved since.
    fn there(&mut self, address: &Address, other: &Composed) -> Address {
        let node = site::node(&mut self.book.items, &address.text);
        let same = node.and_then(|node| Atoms::of(other).all.into_iter().find(|atom| atom.node == node));
        match same {
            Some(atom) if atom.sort == Sort::Exception && atom.name.is_empty() => address.clone(),
            Some(atom) if atom.sort == Sort::Exception => {
                Address { text: atom.name.as_str().into(), span: address.span }
            }
            Some(atom) => Address { text: atom.at.as_str().into(), span: address.span },
            None => address.clone(),
        }
    }

    fn take(&mut self, what: &Used, address: &Address, other: &mut Composed, name: &str) -> Option<Taken> {
        let found = site::find(&mut other.items, &address.text);
        let missing = |work: &mut Self| {
            let title = format!("there is no {} in {name}", address.text);
            work.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(address.span, "nothing stands there")
                    .help(format!("give it under `excerpt of {name}`, or correct the number")),
            );
            None
        };
        match what {
            Used::Text => match found {
                Some(Site::Section(s)) => {
                    Some(Taken::Text(s.title.as_deref().map(str::to_string), Content::Body(s.body.clone())))
                }
                Some(Site::Paragraph(Statement {
                    kind: StatementKind::Paragraph { title, body: Some(body), .. },
                    ..
                })) => Some(Taken::Text(title.as_deref().map(str::to_string), Content::Body(body.clone()))),
                Some(Site::Item(item)) => {
                    let item = ListItem { label: None, name: None, ..item.clone() };
                    let span = item.span;
                    Some(Taken::Text(None, Content::Items(Items { all: vec![item], span })))
                }
                Some(Site::Exception(statement)) => Some(Taken::Exception(statement.kind.clone())),
                Some(Site::Kind(kind)) => Some(Taken::Text(None, Content::Items(kind.items.clone()))),
                _ => missing(self),
            },
            Used::Scope => match found {
                Some(
                    Site::Section(Section { body, .. })
                    | Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }),
                ) => Some(Taken::Scope(
                    body.statements.iter().filter(|s| matches!(s.kind, StatementKind::When(_))).cloned().collect(),
                )),
                Some(_) => {
                    self.no_scope(&address.text, address);
                    None
                }
                None => missing(self),
            },
            Used::Exceptions(wanted, toward) => {
                let Some(
                    Site::Section(Section { body, .. })
                    | Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }),
                ) = found
                else {
                    return missing(self);
                };
                let mut taken = Vec::new();
                for one in wanted {
                    let Some(own) = body.statements.iter().find(|s| site::is_exception(&s.kind, one)) else {
                        let known: Vec<String> =
                            body.statements.iter().filter_map(|s| site::exception_words(&s.kind)).collect();
                        let title = format!("{} has no such exception in {name}", address.text);
                        let diagnostic = Diagnostic::error(Code::NoSuchTarget, title).at(one.span, "not there");
                        self.say(match known.is_empty() {
                            true => diagnostic.help("it has no exceptions"),
                            false => diagnostic.help(format!("it has {}", known.join(", "))),
                        });
                        return None;
                    };
                    let mut own = own.clone();
                    if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = &mut own.kind
                        && toward.is_some()
                    {
                        head.uncounted.clone_from(toward);
                    }
                    taken.push(own);
                }
                Some(Taken::Exceptions(taken))
            }
        }
    }

    /// Words of a grafted text that only its own edition defines: brought along for it, or told.
    fn settle_words(
        &mut self,
        taken: &mut Taken,
        other: &Composed,
        name: &str,
        words: Definitions,
        place: Span,
    ) -> bool {
        let theirs: BTreeMap<&str, &Item> =
            other.items.iter().filter_map(|item| Some((defined(item)?, item))).collect();
        let ours: BTreeSet<String> = self.book.items.iter().filter_map(defined).map(str::to_string).collect();
        let values = super::terms::choice_values(self.books);
        let mut used: BTreeSet<String> = BTreeSet::new();
        taken.words(&mut |leaf| {
            if let Leaf::Word(word) | Leaf::Value(word) = leaf
                && theirs.contains_key(word.text.as_str())
            {
                used.insert(word.text.to_string());
            }
            false
        });
        if words == Definitions::Here {
            let missing: Vec<String> =
                used.iter().filter(|word| !ours.contains(*word)).map(|w| format!("`{w}`")).collect();
            if !missing.is_empty() {
                let title = format!("the text of {name} uses words that {} does not define", self.book.name);
                self.say(
                    Diagnostic::error(Code::DefinitionMissing, title)
                        .at(place, format!("it uses {}", missing.join(", ")))
                        .help("bring them along: add `, with its definitions`"),
                );
                return false;
            }
            return true;
        }
        // Definitions use others: all that are reached come along.
        let mut reached: BTreeMap<String, Item> = BTreeMap::new();
        let mut waiting: Vec<String> = used.into_iter().collect();
        while let Some(word) = waiting.pop() {
            let Some(item) = theirs.get(word.as_str()) else { continue };
            if reached.contains_key(&word) {
                continue;
            }
            let mut item = (*item).clone();
            let mut look = |leaf: Leaf<'_>| {
                if let Leaf::Word(word) | Leaf::Value(word) = leaf
                    && theirs.contains_key(word.text.as_str())
                {
                    waiting.push(word.text.to_string());
                }
                false
            };
            Words { leaf: &mut look, as_kind: None, reworded: None, changed: 0 }.item(&mut item);
            reached.insert(word, item);
        }
        let known: BTreeSet<String> = reached.keys().cloned().collect();
        let inner = |word: &str| format!("{word} of {name}");
        let mut rename = |leaf: Leaf<'_>| match leaf {
            Leaf::Word(word) if known.contains(word.text.as_str()) => {
                word.text = inner(&word.text).as_str().into();
                true
            }
            Leaf::Value(word) if known.contains(word.text.as_str()) && !values.contains(word.text.as_str()) => {
                word.text = inner(&word.text).as_str().into();
                true
            }
            _ => false,
        };
        taken.words(&mut rename);
        for (word, mut item) in reached {
            let called = inner(&word);
            if self.book.items.iter().filter_map(defined).any(|own| own == called) {
                continue;
            }
            Words { leaf: &mut rename, as_kind: None, reworded: None, changed: 0 }.item(&mut item);
            match &mut item {
                Item::Kind(kind) => kind.name.text = called.as_str().into(),
                Item::Define(define) => define.name.text = called.as_str().into(),
                Item::Limit(limit) => limit.name.text = called.as_str().into(),
                Item::Reading(reading) => reading.name.text = called.as_str().into(),
                _ => {}
            }
            self.book.items.push(item);
        }
        true
    }
}

impl Taken {
    fn words(&mut self, leaf: &mut dyn FnMut(Leaf<'_>) -> bool) {
        let mut words = Words { leaf, as_kind: None, reworded: None, changed: 0 };
        match self {
            Taken::Text(_, Content::Body(body)) => words.body(body),
            Taken::Text(_, Content::Items(items)) => words.items(items),
            Taken::Exception(kind) => words.statement(kind),
            Taken::Scope(statements) | Taken::Exceptions(statements) => {
                statements.iter_mut().for_each(|s| words.statement(&mut s.kind));
            }
        }
    }
}

/// The name of a kind, definition, limit or reading.
fn defined(item: &Item) -> Option<&str> {
    match item {
        Item::Kind(kind) => Some(&kind.name.text),
        Item::Define(define) => Some(&define.name.text),
        Item::Limit(limit) => Some(&limit.name.text),
        Item::Reading(reading) => Some(&reading.name.text),
        Item::Amount(amount) => Some(&amount.name.text),
        Item::Series(_)
        | Item::Terms(_)
        | Item::Edition(_)
        | Item::Choice(_)
        | Item::Scale(_)
        | Item::Thing(_)
        | Item::Section(_)
        | Item::Table(_)
        | Item::Beside(_)
        | Item::Changes(_)
        | Item::Jurisdiction(_) => None,
    }
}

/// The labels of an exception's head, in a line.
pub(super) fn bound_words(to: &[Vec<Name>]) -> String {
    to.iter().map(|run| line::labels(run)).collect::<Vec<_>>().join(", ")
}
