//! One set of changes applied to a composed book.
//!
//! Numbers are read in the book as it stood before the set, at once: changes inside parts come first, then deletions and
//! replacements, then what moves numbers, then what is new. Every change says what it expects to find; where the book says
//! otherwise nothing is changed and both places are shown.

use super::compose::{self, Composed, Event};
use super::site::{self, Site};
use super::walk;
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::format::line;
use crate::syntax::ast::*;
use std::collections::BTreeMap;

struct Work<'w, 'b> {
    book: &'w mut Composed,
    document: String,
    books: &'w [(SourceId, &'b Rulebook)],
    /// What this set already changed, with the place: two operations on one part are an error.
    done: BTreeMap<String, Span>,
    diagnostics: &'w mut Diagnostics,
}

/// Applies a set of changes under the name of its document.
pub(super) fn set(
    book: &mut Composed,
    set: &ChangeSet,
    document: &str,
    books: &[(SourceId, &Rulebook)],
    diagnostics: &mut Diagnostics,
) {
    let mut work = Work { book, document: document.to_string(), books, done: BTreeMap::new(), diagnostics };
    for turn in 0..4 {
        for change in set.changes.iter().filter(|c| turn_of(&c.kind) == turn) {
            work.change(change);
        }
    }
}

/// In which of the four turns a change is applied.
fn turn_of(kind: &ChangeKind) -> u8 {
    match kind {
        ChangeKind::InForce { .. }
        | ChangeKind::In(..)
        | ChangeKind::InTable(..)
        | ChangeKind::Waive(..)
        | ChangeKind::Release(..)
        | ChangeKind::Start(..)
        | ChangeKind::Lapse(..)
        | ChangeKind::Carry(_)
        | ChangeKind::Declare { .. } => 0,
        ChangeKind::Delete(..) | ChangeKind::Reserve(_) | ChangeKind::Replace { .. } | ChangeKind::Use(..) => 1,
        ChangeKind::Insert { .. } | ChangeKind::Renumber(..) => 2,
        ChangeKind::AddAfter { .. } | ChangeKind::Added(_) => 3,
    }
}

impl Work<'_, '_> {
    fn say(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Claims a part for this set; a second claim of the same is an error.
    fn claim(&mut self, key: &str, span: Span) -> bool {
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

    fn event(&mut self, at: &str, what: String, change: &Change) {
        let marks = crate::sema::marks(&change.marks);
        let event = Event { document: self.document.clone(), what, marks, span: change.span };
        // What a kind asks belongs to the paragraph that it speaks for.
        let at = self
            .book
            .items
            .iter()
            .find_map(|item| match item {
                Item::Kind(kind) if kind.name.text == at => kind.per.as_ref().map(|per| per.text.to_string()),
                _ => None,
            })
            .unwrap_or_else(|| at.to_string());
        self.book.note(&at, event);
    }

    /// Puts a statement into the section that has a part.
    fn to_section_of(&mut self, number: &str, statement: Statement) {
        let at = site::home(&self.book.items, number);
        if let Some(Item::Section(section)) = at.and_then(|at| self.book.items.get_mut(at)) {
            section.body.statements.push(statement);
        }
    }

    /// The full number of a target, or a diagnostic that it is not there.
    fn number(&mut self, target: &Address) -> Option<String> {
        let found = site::number_of(&self.book.items, &target.text);
        if found.is_none() {
            let known = self.known_numbers();
            let near = nearest(&target.text, known.iter().map(String::as_str)).map(str::to_string);
            let title = format!("there is no {} in {}", target.text, self.book.name);
            let diagnostic = Diagnostic::error(Code::NoSuchTarget, title).at(target.span, "nothing stands there");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean {near}?")),
                None => diagnostic.help("encode that section in the base first"),
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
                _ => Vec::new(),
            })
            .collect()
    }

    fn mismatch(&mut self, span: Span, title: String, wanted: &str, place: Option<(Span, String)>) {
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
                let targets = match target {
                    ChangeTarget::At(address) => vec![address.clone()],
                    ChangeTarget::About(subject) => self.about(subject),
                };
                for target in targets {
                    for edit in edits {
                        self.edit(&target, edit, change);
                    }
                }
            }
            ChangeKind::InTable(address, edits) => {
                for edit in edits {
                    self.table(address, edit, change);
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
                    self.to_section_of(&number, statement);
                    self.event(&number, what, change);
                }
            }
            ChangeKind::Release(addresses, provided) => {
                for address in addresses {
                    let what = format!("not required; if provided ({}), still conforms", line::clauses(provided));
                    self.condition(address, provided.clone(), what, change);
                }
            }
            ChangeKind::Start(address, date, clock) => {
                let clauses = dated(DateSide::Before, date, clock, true);
                let what = format!("starts on {} by {}", date.text, clock.text);
                self.condition(address, clauses, what, change);
            }
            ChangeKind::Lapse(address, date, clock) => {
                let clauses = dated(DateSide::Before, date, clock, false);
                let what = format!("lapses on {} by {}", date.text, clock.text);
                self.condition(address, clauses, what, change);
            }
            ChangeKind::Carry(addresses) => {
                for address in addresses {
                    let Some(number) = self.number(address) else { continue };
                    let mark =
                        Mark::Disputed(format!("carried into {} without being checked", self.document).as_str().into());
                    let statement = Statement { kind: StatementKind::Marks, marks: vec![mark], span: change.span };
                    self.to_section_of(&number, statement);
                    self.event(&number, "carried unchecked".to_string(), change);
                }
            }
            ChangeKind::Declare { thing, field } => self.book.fields.push((thing.clone(), field.clone())),
            ChangeKind::Delete(from, through) => self.delete(from, through.as_ref(), change),
            ChangeKind::Reserve(address) => {
                let Some(number) = self.number(address) else { return };
                if !self.claim(&number, change.span) {
                    return;
                }
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
                self.put(&number, title.as_deref(), content, change.span);
                self.event(&number, "replaced".to_string(), change);
            }
            ChangeKind::Use(address, edition) => self.graft(address, edition, change),
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
                    Item::Choice(_)
                    | Item::Scale(_)
                    | Item::Thing(_)
                    | Item::Terms(_)
                    | Item::Edition(_)
                    | Item::Changes(_) => {
                        let diagnostic = Diagnostic::error(Code::OutOfPlace, "vocabulary inside a set of changes")
                            .at(change.span, "not here")
                            .help(
                                "declare a single field with `fact NAME of THING: TYPE`, or put it under `terms for …`",
                            );
                        self.say(diagnostic);
                        return;
                    }
                };
                if self.taken(&key, span) {
                    return;
                }
                self.book.items.push(item.as_ref().clone());
                self.event(&key, "added".to_string(), change);
            }
        }
    }

    /// Whether a number or name already stands in the book; says so.
    fn taken(&mut self, key: &str, span: Span) -> bool {
        let first = self.book.items.iter().find_map(|item| match item {
            Item::Section(s) if s.address.text == key => Some(s.address.span),
            Item::Table(t) if format!("table {}", t.address.text) == key => Some(t.address.span),
            Item::Define(d) if d.name.text == key => Some(d.name.span),
            Item::Limit(l) if l.name.text == key => Some(l.name.span),
            Item::Reading(r) if r.name.text == key => Some(r.name.span),
            Item::Kind(k) if k.name.text == key => Some(k.name.span),
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
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(subject.span, "no section says so"));
        }
        found
    }

    /// Adds a condition to the scope of a part.
    fn condition(&mut self, address: &Address, clauses: Clauses, what: String, change: &Change) {
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
                        .at(address.span, "a section, paragraph, item or exception is meant"),
                );
                return;
            }
        }
        self.event(&number, what, change);
    }

    // -------------------------------------------------------------------------------------------- edits

    fn edit(&mut self, target: &Address, edit: &Edit, change: &Change) {
        let Some(number) = self.number(target) else { return };
        match edit {
            Edit::Title(old, new, span) => {
                let title = match site::find(&mut self.book.items, &target.text) {
                    Some(Site::Section(s)) => Some((&mut s.title, s.address.span)),
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { title, .. }, span, .. })) => {
                        Some((title, *span))
                    }
                    _ => None,
                };
                match title {
                    Some((title, _)) if title.as_deref() == Some(old.as_str()) => *title = Some(new.clone()),
                    Some((title, place)) => {
                        let says = format!("says \"{}\"", title.as_deref().unwrap_or(""));
                        self.mismatch(
                            *span,
                            format!("the title of {number} is another"),
                            &format!("\"{old}\""),
                            Some((place, says)),
                        );
                        return;
                    }
                    None => return,
                }
                self.event(&number, format!("title was \"{old}\", now \"{new}\""), change);
            }
            Edit::Enough(old, new, span) => {
                if !self.claim(&format!("what is enough under {number}"), *span) {
                    return;
                }
                let found = match site::find(&mut self.book.items, &target.text) {
                    Some(Site::Exception(Statement { kind: StatementKind::Unless(_, _, Some(enough)), .. })) => {
                        Some(enough)
                    }
                    _ => None,
                };
                match found {
                    Some(Enough::Labels(runs, place)) if line::enough(runs) == line::enough(old) => {
                        runs.clone_from(new);
                        let place = *place;
                        self.book.reworded.insert(place, format!("{} is enough", line::enough(new)));
                    }
                    Some(Enough::Labels(runs, place)) => {
                        let (says, place) = (format!("says {}", line::enough(runs)), *place);
                        let title = format!("under {number} something else is enough");
                        self.mismatch(*span, title, &line::enough(old), Some((place, says)));
                        return;
                    }
                    _ => {
                        self.mismatch(*span, format!("{number} does not say what is enough"), &line::enough(old), None);
                        return;
                    }
                }
                let what = format!("enough was {}, now {}", line::enough(old), line::enough(new));
                self.event(&number, what, change);
            }
            Edit::AddException(kind, span) => self.add_exception(&number, target, kind, *span, change),
            Edit::AddItem(item) => {
                let label = item.label.as_ref().map_or("", |l| l.text.as_str());
                let what = format!("added {}", line::item(item));
                match self.labelled_list(&target.text) {
                    Some(list) if list.all.iter().any(|i| i.label.as_ref().is_some_and(|l| l.text == label)) => {
                        let first =
                            list.all.iter().find_map(|i| i.label.as_ref().filter(|l| l.text == label)).map(|l| l.span);
                        let mut diagnostic =
                            Diagnostic::error(Code::NumberTaken, format!("{number} already has an item ({label})"))
                                .at(item.span, "added here");
                        if let Some(first) = first {
                            diagnostic = diagnostic.at(first, "stands here");
                        }
                        self.say(diagnostic);
                        return;
                    }
                    Some(list) => list.all.push(item.clone()),
                    None => {
                        self.say(
                            Diagnostic::error(Code::NoSuchTarget, format!("{number} has no list of labelled items"))
                                .at(item.span, "nothing to add to"),
                        );
                        return;
                    }
                }
                self.event(&format!("{number}({label})"), what, change);
            }
            Edit::AddConditions(clauses) => {
                let what = format!("added {}", line::clauses(clauses));
                match site::find(&mut self.book.items, &target.text) {
                    Some(Site::Half(half)) => match &mut half.clauses {
                        Some(own) => own.all.extend(clauses.all.iter().cloned()),
                        None => half.clauses = Some(clauses.clone()),
                    },
                    Some(Site::Kind(kind)) => kind.items.all.push(ListItem {
                        label: None,
                        name: None,
                        clauses: clauses.clone(),
                        marks: change.marks.clone(),
                        span: clauses.span,
                    }),
                    _ => {
                        self.condition(target, clauses.clone(), what, change);
                        return;
                    }
                }
                self.event(&number, what, change);
            }
            Edit::StrikeException(wanted) => {
                let body = match site::find(&mut self.book.items, &target.text) {
                    Some(Site::Section(s)) => Some(&mut s.body),
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                        body.as_mut()
                    }
                    _ => None,
                };
                let is_it = |s: &Statement| match &s.kind {
                    StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                        head.number.as_ref().is_some_and(|n| n.text == wanted.text)
                    }
                    _ => false,
                };
                match body {
                    Some(body) if body.statements.iter().any(is_it) => body.statements.retain(|s| !is_it(s)),
                    _ => {
                        let title = format!("{number} has no Ex. {}", wanted.text);
                        self.say(Diagnostic::error(Code::NoSuchTarget, title).at(wanted.span, "nothing to strike"));
                        return;
                    }
                }
                self.event(&number, format!("struck Ex. {}", wanted.text), change);
            }
            Edit::StrikeItem(labels) => {
                let mut address = number.clone();
                address.push_str(&line::labels(labels));
                let span = labels.first().map_or(change.span, |l| l.span);
                if self.remove(&address, span) {
                    self.event(&address, "struck".to_string(), change);
                }
            }
            Edit::StrikeCondition(clause, was) => self.strike(&number, target, clause, was.as_ref(), change),
            Edit::WasNow(path, old, new, span) => self.was_now(&number, target, path, old, new, *span, change),
        }
    }

    fn add_exception(&mut self, number: &str, target: &Address, kind: &StatementKind, span: Span, change: &Change) {
        let mut kind = kind.clone();
        let what = match &kind {
            StatementKind::Unless(head, case, _) => format!("added {} when {}", label_of(head), line::clauses(case)),
            StatementKind::Exception(head, case, instead) => {
                format!(
                    "added {} when {} instead requires {}",
                    label_of(head),
                    line::clauses(case),
                    line::clauses(instead)
                )
            }
            _ => return,
        };
        let statement = |kind| Statement { kind, marks: change.marks.clone(), span };
        match site::find(&mut self.book.items, &target.text) {
            Some(Site::Section(section)) => section.body.statements.push(statement(kind)),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                body.statements.push(statement(kind));
            }
            Some(Site::Item(_) | Site::Half(_)) => {
                // An item takes its exception through the section: bound to its labels.
                let (section, labels) = site::split(number);
                if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = &mut kind
                    && head.to.is_empty()
                {
                    head.to = vec![labels.iter().map(|l| Name { text: (*l).into(), span: target.span }).collect()];
                }
                let section = section.to_string();
                if let Some(Site::Section(section)) = site::find(&mut self.book.items, &section) {
                    section.body.statements.push(statement(kind));
                }
            }
            Some(Site::Exception(_) | Site::Kind(_) | Site::Paragraph(_)) | None => {
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} takes no exceptions"))
                        .at(target.span, "a section, paragraph or item is meant"),
                );
                return;
            }
        }
        self.event(number, what, change);
    }

    /// The first list of labelled items a part holds.
    fn labelled_list(&mut self, target: &str) -> Option<&mut Items> {
        fn of_clauses(clauses: &mut Clauses) -> Option<&mut Items> {
            clauses
                .all
                .iter_mut()
                .filter_map(site::list_of_mut)
                .find(|list| list.all.iter().any(|item| item.label.is_some()))
        }
        fn of_body(body: &mut Body) -> Option<&mut Items> {
            body.statements.iter_mut().find_map(|s| match &mut s.kind {
                StatementKind::Requires(_, Some(triggers)) | StatementKind::Prohibits(_, Some(triggers)) => {
                    Some(triggers)
                }
                StatementKind::Requires(clauses, None)
                | StatementKind::Prohibits(clauses, None)
                | StatementKind::PermitsOnly(clauses)
                | StatementKind::PermitsAs { clauses, .. } => of_clauses(clauses),
                _ => None,
            })
        }
        match site::find(&mut self.book.items, target)? {
            Site::Section(section) => of_body(&mut section.body),
            Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }) => of_body(body),
            Site::Item(item) => of_clauses(&mut item.clauses),
            Site::Kind(kind) if kind.items.all.iter().any(|item| item.label.is_some()) => Some(&mut kind.items),
            Site::Kind(kind) => kind.items.all.iter_mut().find_map(|item| of_clauses(&mut item.clauses)),
            Site::Paragraph(_) | Site::Half(_) | Site::Exception(_) => None,
        }
    }

    fn strike(&mut self, number: &str, target: &Address, clause: &Clause, was: Option<&ChangeValue>, change: &Change) {
        let wanted = line::clause(clause);
        let bare = match &clause.kind {
            ClauseKind::Compare(Expr { kind: ExprKind::Path(path), .. }, None) if !clause.negated => {
                Some(line::path(path))
            }
            _ => None,
        };
        if !self.claim(&format!("{wanted} in {number}"), clause.span) {
            return;
        }
        let mut struck = None;
        let mut differs = None;
        for clauses in self.conditions_of(&target.text) {
            let found = clauses.all.iter().position(|own| {
                line::clause(own) == wanted || bare.as_ref().is_some_and(|bare| tested(own).as_ref() == Some(bare))
            });
            let Some(at) = found else { continue };
            let says = clauses.all.get(at).and_then(predicate_of);
            match (was, says) {
                (Some(was), Some(says)) if !agrees(was, says) => {
                    differs = Some((says.span, format!("says {}", line::predicate(says))));
                }
                _ => {
                    struck = Some(line::clause(&clauses.all.remove(at)));
                    let (words, span) = (line::clauses(clauses), clauses.span);
                    self.book.reworded.insert(span, words);
                }
            }
            break;
        }
        match (struck, differs) {
            (Some(words), _) => {
                self.drop_empty(&target.text);
                self.event(number, format!("struck {words}"), change);
            }
            (None, Some(place)) => {
                let expected = was.map_or_else(String::new, value_words);
                self.mismatch(
                    clause.span,
                    format!("{number} says something else of `{wanted}`"),
                    &expected,
                    Some(place),
                );
            }
            (None, None) => {
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} has no condition `{wanted}`"))
                        .at(clause.span, "nothing to strike")
                        .at(target.span, "looked for in this part"),
                );
            }
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn was_now(
        &mut self,
        number: &str,
        target: &Address,
        path: &Path,
        old: &ChangeValue,
        new: &ChangeValue,
        span: Span,
        change: &Change,
    ) {
        let wanted = line::path(path);
        if !self.claim(&format!("{wanted} in {number}"), span) {
            return;
        }
        let mut changed = None;
        let mut differs = None;
        for clauses in self.conditions_of(&target.text) {
            let found = clauses.all.iter_mut().find(|own| tested(own).as_ref() == Some(&wanted));
            let Some(own) = found else { continue };
            let Some(says) = predicate_of_mut(own) else { continue };
            if !agrees(old, says) {
                differs = Some((says.span, format!("says {}", line::predicate(says))));
                continue;
            }
            let before = without_is(line::predicate(says));
            replace_value(says, new);
            let after = without_is(line::predicate(says));
            own.span = span;
            let whole = line::clause(own);
            let (words, place) = (line::clauses(clauses), clauses.span);
            self.book.reworded.insert(span, whole);
            self.book.reworded.insert(place, words);
            changed = Some(format!("{wanted} was {before}, now {after}"));
            break;
        }
        match (changed, differs) {
            (Some(what), _) => self.event(number, what, change),
            (None, Some(place)) => {
                let title = format!("{number} says something else of `{wanted}`");
                self.mismatch(span, title, &value_words(old), Some(place));
            }
            (None, None) => {
                let tests = self.tests_of(&target.text);
                let near = nearest(&wanted, tests.iter().map(String::as_str)).map(str::to_string);
                let diagnostic =
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} has no condition on `{wanted}`"))
                        .at(span, "nothing to change");
                self.say(match near {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help(format!("it tests {}", tests.join(", "))),
                });
            }
        }
    }

    fn tests_of(&mut self, target: &str) -> Vec<String> {
        self.conditions_of(target)
            .into_iter()
            .flat_map(|c| c.all.iter().filter_map(tested).collect::<Vec<_>>())
            .collect()
    }

    /// The conditions that belong to a part itself: not those of paragraphs or labelled items inside it.
    fn conditions_of(&mut self, target: &str) -> Vec<&mut Clauses> {
        fn unlabelled<'a>(clauses: &'a mut Clauses, out: &mut Vec<&'a mut Clauses>) {
            // Lists of unlabelled lines are part of what holds them.
            let nested = clauses.all.iter().any(|c| {
                matches!(&c.kind, ClauseKind::AnyOf(l) | ClauseKind::AllOf(l) | ClauseKind::NoneOf(l)
                    if l.all.iter().any(|i| i.label.is_none()))
            });
            if !nested {
                out.push(clauses);
                return;
            }
            for clause in &mut clauses.all {
                if let Some(list) = site::list_of_mut(clause) {
                    for item in list.all.iter_mut().filter(|i| i.label.is_none()) {
                        unlabelled(&mut item.clauses, out);
                    }
                }
            }
        }
        fn of_body<'a>(body: &'a mut Body, out: &mut Vec<&'a mut Clauses>) {
            for statement in &mut body.statements {
                match &mut statement.kind {
                    StatementKind::When(c)
                    | StatementKind::Requires(c, _)
                    | StatementKind::Prohibits(c, _)
                    | StatementKind::PermitsOnly(c)
                    | StatementKind::Permits(c, _)
                    | StatementKind::PermitsAs { clauses: c, .. }
                    | StatementKind::IfProvided(_, c) => unlabelled(c, out),
                    _ => {}
                }
            }
        }
        let mut out = Vec::new();
        match site::find(&mut self.book.items, target) {
            Some(Site::Section(section)) => of_body(&mut section.body, &mut out),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                of_body(body, &mut out);
            }
            Some(Site::Item(item)) => unlabelled(&mut item.clauses, &mut out),
            Some(Site::Half(half)) => {
                if let Some(clauses) = &mut half.clauses {
                    unlabelled(clauses, &mut out);
                }
            }
            Some(Site::Exception(statement)) => match &mut statement.kind {
                StatementKind::Unless(_, case, alternative) => {
                    unlabelled(case, &mut out);
                    if let Some(Enough::Clauses(clauses)) = alternative {
                        unlabelled(clauses, &mut out);
                    }
                }
                StatementKind::Exception(_, case, instead) => {
                    unlabelled(case, &mut out);
                    unlabelled(instead, &mut out);
                }
                _ => {}
            },
            Some(Site::Kind(kind)) => {
                kind.items.all.iter_mut().for_each(|item| unlabelled(&mut item.clauses, &mut out))
            }
            Some(Site::Paragraph(_)) | None => {}
        }
        out
    }

    /// Statements left without any condition say nothing.
    fn drop_empty(&mut self, target: &str) {
        let empty = |s: &Statement| match &s.kind {
            StatementKind::When(c) | StatementKind::Requires(c, None) | StatementKind::Prohibits(c, None) => {
                c.all.is_empty()
            }
            _ => false,
        };
        match site::find(&mut self.book.items, target) {
            Some(Site::Section(section)) => section.body.statements.retain(|s| !empty(s)),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                body.statements.retain(|s| !empty(s));
            }
            Some(Site::Kind(kind)) => kind.items.all.retain(|item| !item.clauses.all.is_empty()),
            _ => {}
        }
    }

    // -------------------------------------------------------------------------------------------- tables

    fn table(&mut self, address: &Address, edit: &TableEdit, change: &Change) {
        let key = format!("table {}", address.text);
        let at = self.book.items.iter().position(|i| matches!(i, Item::Table(t) if t.address.text == address.text));
        let Some(Item::Table(table)) = at.and_then(|at| self.book.items.get_mut(at)) else {
            let title = format!("there is no {key} in {}", self.book.name);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(address.span, "not there"));
            return;
        };
        let said = |keys: &[CellKey]| keys.iter().map(line::cell_key).collect::<Vec<_>>().join(", ");
        let what = match edit {
            TableEdit::AddRow(row) => {
                let at = table.rows.iter().position(|own| first_number(own) > first_number(row));
                table.rows.insert(at.unwrap_or(table.rows.len()), row.clone());
                format!("added row {}", said(&row.keys))
            }
            TableEdit::StrikeRow(keys, span) => {
                let wanted = said(keys);
                let before = table.rows.len();
                table.rows.retain(|row| said(&row.keys) != wanted);
                if table.rows.len() == before {
                    let title = format!("{key} has no row {wanted}");
                    self.say(Diagnostic::error(Code::NoSuchTarget, title).at(*span, "nothing to strike"));
                    return;
                }
                format!("struck row {wanted}")
            }
            TableEdit::CellWas { keys, old, new, span } => {
                let rows = table.by.len();
                let (row_keys, column_keys) = keys.split_at(rows.min(keys.len()));
                let wanted = said(row_keys);
                let column = match column_keys.first() {
                    Some(column) => {
                        table.columns.iter().position(|(own, _)| line::cell_key(own) == line::cell_key(column))
                    }
                    None => Some(0),
                };
                let row = table.rows.iter_mut().find(|row| said(&row.keys) == wanted);
                let Some((cell, place)) = row.zip(column).and_then(|(row, column)| row.cells.get_mut(column)) else {
                    let title = format!("{key} has no cell at {}", said(keys));
                    self.say(Diagnostic::error(Code::NoSuchTarget, title).at(*span, "not there"));
                    return;
                };
                if line::cell(cell.as_ref()) != line::cell(old.as_ref()) {
                    let place = (*place, format!("says {}", line::cell(cell.as_ref())));
                    let title = format!("{key} says something else at {}", said(keys));
                    self.mismatch(*span, title, &line::cell(old.as_ref()), Some(place));
                    return;
                }
                cell.clone_from(new);
                format!("{} was {}, now {}", said(keys), line::cell(old.as_ref()), line::cell(new.as_ref()))
            }
        };
        self.event(&key, what, change);
    }

    // -------------------------------------------------------------------------------------------- parts

    /// Takes a part out; says where there is none.
    fn remove(&mut self, address: &str, span: Span) -> bool {
        if !self.claim(address, span) {
            return false;
        }
        let named = self.book.items.iter().position(|item| match item {
            Item::Kind(kind) => kind.name.text == address,
            Item::Reading(reading) => reading.name.text == address,
            _ => false,
        });
        if let Some(at) = named {
            self.book.items.remove(at);
            return true;
        }
        let home = site::home(&self.book.items, address);
        let Some((at, Item::Section(section))) = home.and_then(|at| Some((at, self.book.items.get(at)?))) else {
            let title = format!("there is no {address} in {}", self.book.name);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(span, "nothing stands there"));
            return false;
        };
        let labels = site::within(section, address).unwrap_or_default();
        if labels.is_empty() {
            self.book.items.remove(at);
            return true;
        }
        let removed = match self.book.items.get_mut(at) {
            Some(Item::Section(section)) => remove_in_body(&mut section.body, &labels),
            _ => false,
        };
        if !removed {
            let title = format!("there is no {address} in {}", self.book.name);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(span, "nothing stands there"));
        }
        removed
    }

    fn delete(&mut self, from: &Address, through: Option<&Address>, change: &Change) {
        let Some(through) = through else {
            let Some(number) = self.number(from) else { return };
            if self.remove(&number, from.span) {
                self.event(&number, "deleted".to_string(), change);
            }
            return;
        };
        let (low, high) =
            (crate::base::printed::printed_order(&from.text), crate::base::printed::printed_order(&through.text));
        let gone: Vec<String> = self
            .book
            .sections()
            .into_iter()
            .filter(|s| {
                let at = crate::base::printed::printed_order(s);
                low <= at && at <= high
            })
            .map(str::to_string)
            .collect();
        if gone.is_empty() {
            let title = format!("no section lies from {} through {}", from.text, through.text);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(from.span.to(through.span), "an empty range"));
        }
        for number in gone {
            if self.remove(&number, from.span) {
                self.event(&number, "deleted".to_string(), change);
            }
        }
    }

    /// Puts new content in the place of old.
    fn put(&mut self, number: &str, title: Option<&str>, content: &Content, span: Span) {
        let body = |content: &Content| match content {
            Content::Body(body) => body.clone(),
            Content::Items(items) => {
                let clause = Clause { negated: false, kind: ClauseKind::AllOf(items.clone()), span: items.span };
                let clauses = Clauses { all: vec![clause], span: items.span };
                let kind = StatementKind::Requires(clauses, None);
                Body { statements: vec![Statement { kind, marks: Vec::new(), span }] }
            }
        };
        let mut misfit = false;
        match site::find(&mut self.book.items, number) {
            Some(Site::Section(section)) => {
                section.body = body(content);
                if let Some(title) = title {
                    section.title = Some(title.into());
                }
            }
            Some(Site::Paragraph(Statement {
                kind: StatementKind::Paragraph { body: old, title: own, .. }, ..
            })) => {
                *old = Some(body(content));
                if let Some(title) = title {
                    *own = Some(title.into());
                }
            }
            Some(Site::Item(item)) => match content {
                Content::Items(items) => item.clauses = joined(items),
                Content::Body(_) => misfit = true,
            },
            Some(Site::Half(half)) => match content {
                Content::Items(items) => {
                    half.kind = None;
                    half.clauses = Some(joined(items));
                }
                Content::Body(_) => misfit = true,
            },
            Some(Site::Kind(kind)) => match content {
                Content::Items(items) => kind.items = items.clone(),
                Content::Body(_) => misfit = true,
            },
            Some(Site::Exception(_) | Site::Paragraph(_)) | None => misfit = true,
        }
        if misfit {
            self.say(
                Diagnostic::error(Code::NoSuchTarget, format!("{number} cannot hold this"))
                    .at(span, "an item holds conditions, a section or paragraph holds statements"),
            );
        }
    }

    fn graft(&mut self, address: &Address, edition: &EditionName, change: &Change) {
        let Some(number) = self.number(address) else { return };
        if !self.claim(&number, change.span) {
            return;
        }
        let name = format!("{} {}", edition.family.text, edition.year.text);
        let mut chain = Vec::new();
        let mut quiet = Diagnostics::new();
        let mut other = compose::edition(self.books, &edition.family.text, &edition.year.text, &mut chain, &mut quiet);
        if other.items.is_empty() {
            let diagnostic = Diagnostic::error(Code::EditionNotLoaded, format!("`{name}` is not loaded"))
                .at(edition.family.span.to(edition.year.span), "its text is used here");
            self.say(diagnostic);
            return;
        }
        let taken = match site::find(&mut other.items, &address.text) {
            Some(Site::Section(s)) => Some((s.title.clone(), Content::Body(s.body.clone()))),
            Some(Site::Paragraph(Statement {
                kind: StatementKind::Paragraph { title, body: Some(body), .. }, ..
            })) => Some((title.clone(), Content::Body(body.clone()))),
            Some(Site::Item(item)) => {
                let items = Items { all: vec![ListItem { label: None, name: None, ..item.clone() }], span: item.span };
                Some((None, Content::Items(items)))
            }
            _ => None,
        };
        let Some((title, content)) = taken else {
            let title = format!("there is no {} in {name}", address.text);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(address.span, "nothing stands there"));
            return;
        };
        self.put(&number, title.as_deref(), &content, change.span);
        self.book.reworded.extend(other.reworded);
        self.event(&number, format!("the text of {name} is used"), change);
    }

    fn insert(
        &mut self,
        at: &Address,
        name: Option<&Name>,
        title: Option<&str>,
        content: &Content,
        moves: &[(Name, Name)],
        change: &Change,
    ) {
        let (section, labels) = site::split(&at.text);
        let Some((label, above)) = labels.split_last() else {
            if self.taken(section, at.span) {
                return;
            }
            let body = match content {
                Content::Body(body) => body.clone(),
                Content::Items(items) => {
                    let diagnostic = Diagnostic::error(Code::NoSuchTarget, "a section holds statements")
                        .at(items.span, "these are conditions")
                        .help("write `requires …` or `permits …`");
                    self.say(diagnostic);
                    return;
                }
            };
            self.book.items.push(Item::Section(Section {
                address: at.clone(),
                name: name.cloned(),
                title: title.map(Into::into),
                about: Vec::new(),
                body,
                span: change.span,
            }));
            self.event(&at.text, "inserted".to_string(), change);
            return;
        };
        let mut parent = section.to_string();
        for label in above {
            parent.push_str(&format!("({label})"));
        }
        let parent_address = Address { text: parent.as_str().into(), span: at.span };
        if self.number(&parent_address).is_none() || !self.claim(&at.text, at.span) {
            return;
        }
        let label = Name { text: (*label).into(), span: at.span };
        let renamed = |own: &Name| moves.iter().find(|(from, _)| from.text == own.text).map(|(_, to)| to.clone());
        let mut missing: Vec<&Name> = Vec::new();
        let done = match content {
            Content::Items(items) => match self.labelled_list(&parent) {
                Some(list) => {
                    let has =
                        |l: &Name| list.all.iter().any(|i| i.label.as_ref().is_some_and(|own| own.text == l.text));
                    missing.extend(moves.iter().map(|(from, _)| from).filter(|from| !has(from)));
                    let position =
                        list.all.iter().position(|i| i.label.as_ref().is_some_and(|own| own.text == label.text));
                    for item in &mut list.all {
                        if let Some(to) = item.label.as_ref().and_then(renamed) {
                            item.label = Some(to);
                        }
                    }
                    let item = ListItem {
                        label: Some(label.clone()),
                        name: name.cloned(),
                        clauses: joined(items),
                        marks: change.marks.clone(),
                        span: change.span,
                    };
                    self.place(&parent, position, item)
                }
                None => false,
            },
            Content::Body(body) => {
                let paragraph = Statement {
                    kind: StatementKind::Paragraph {
                        labels: vec![label.clone()],
                        name: name.cloned(),
                        title: title.map(Into::into),
                        body: Some(body.clone()),
                    },
                    marks: change.marks.clone(),
                    span: change.span,
                };
                let host = match site::find(&mut self.book.items, &parent) {
                    Some(Site::Section(s)) => Some(&mut s.body),
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                        body.as_mut()
                    }
                    _ => None,
                };
                match host {
                    Some(host) => {
                        for statement in &mut host.statements {
                            if let StatementKind::Paragraph { labels, .. } = &mut statement.kind
                                && let [only] = labels.as_mut_slice()
                                && let Some(to) = renamed(only)
                            {
                                *only = to;
                            }
                        }
                        host.statements.push(paragraph);
                        true
                    }
                    None => false,
                }
            }
        };
        for from in missing {
            let title = format!("{parent} has no item ({}) to move", from.text);
            self.diagnostics.push(Diagnostic::error(Code::NoSuchTarget, title).at(from.span, "not there"));
        }
        if !done {
            let title = format!("{parent} holds nothing of this kind");
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(at.span, "no list or paragraphs to insert into"));
            return;
        }
        // Chains such as (c) to (d), (d) to (e) move at once.
        let old: Vec<(String, String)> = moves
            .iter()
            .map(|(from, to)| (format!("{parent}({})", from.text), format!("{parent}({})", to.text)))
            .collect();
        self.moved(&old, change);
        self.event(&at.text, "inserted".to_string(), change);
    }

    fn place(&mut self, parent: &str, position: Option<usize>, item: ListItem) -> bool {
        match self.labelled_list(parent) {
            Some(list) => {
                list.all.insert(position.unwrap_or(list.all.len()), item);
                true
            }
            None => false,
        }
    }

    /// Carries identity and history of parts whose number changed, all at once.
    fn moved(&mut self, moves: &[(String, String)], change: &Change) {
        let retold = |at: &str| {
            moves.iter().find_map(|(from, to)| {
                let rest = at.strip_prefix(from.as_str())?;
                (rest.is_empty() || rest.starts_with('(') || rest.starts_with(' ')).then(|| format!("{to}{rest}"))
            })
        };
        let history = std::mem::take(&mut self.book.history);
        for (at, events) in history {
            let key = retold(&at).unwrap_or(at);
            self.book.history.entry(key).or_default().extend(events);
        }
        let identity = std::mem::take(&mut self.book.identity);
        for (at, first) in identity {
            let key = retold(&at).unwrap_or(at);
            self.book.identity.insert(key, first);
        }
        for (from, to) in moves {
            let first = self.book.identity.get(to).cloned().unwrap_or_else(|| from.clone());
            self.book.identity.insert(to.clone(), first);
            self.event(to, format!("was {from}"), change);
        }
        walk::references(&mut self.book.items, &mut |address| {
            if let Some(new) = retold(&address.text) {
                address.text = new.as_str().into();
            }
        });
    }

    fn renumber(&mut self, from: &Address, to: &Address, change: &Change) {
        let table = self.book.items.iter_mut().find_map(|i| match i {
            Item::Table(t) if t.address.text == from.text => Some(t),
            _ => None,
        });
        if let Some(table) = table {
            table.address.text = to.text.clone();
            let moves = [(from.text.to_string(), to.text.to_string())];
            self.moved(&moves, change);
            return;
        }
        let Some(number) = self.number(from) else { return };
        if site::number_of(&self.book.items, &to.text).is_some() {
            self.taken(&to.text, to.span);
            let title = format!("{} already stands in {}", to.text, self.book.name);
            self.say(Diagnostic::error(Code::NumberTaken, title).at(to.span, "renumbered to this"));
            return;
        }
        let (old_section, old_labels) = site::split(&number);
        let (new_section, new_labels) = site::split(&to.text);
        let mut fits = old_labels.len() == new_labels.len();
        match site::find(&mut self.book.items, &number) {
            Some(Site::Section(section)) if fits || (old_labels.is_empty() && old_section == new_section) => {
                fits = true;
                section.address.text = to.text.clone();
            }
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { labels, .. }, .. }))
                if fits && old_section == new_section =>
            {
                let own = labels.len();
                let new = &new_labels[new_labels.len() - own..];
                *labels = new.iter().map(|l| Name { text: (*l).into(), span: to.span }).collect();
            }
            Some(Site::Item(item)) if fits && old_section == new_section => {
                item.label = new_labels.last().map(|l| Name { text: (*l).into(), span: to.span });
            }
            Some(Site::Half(half)) if fits && old_section == new_section => {
                if let Some(last) = new_labels.last() {
                    half.label = Name { text: (*last).into(), span: to.span };
                }
            }
            _ => fits = false,
        }
        if !fits {
            let title = format!("{number} cannot become {}", to.text);
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(to.span, "another section or another depth")
                    .help("delete it there and insert it here, or renumber within its section"),
            );
            return;
        }
        self.moved(&[(number, to.text.to_string())], change);
    }
}

fn label_of(head: &ExceptionHead) -> String {
    match &head.number {
        Some(number) => format!("Ex. {}", number.text),
        None => "Ex.".to_string(),
    }
}

fn when(clauses: Clauses, span: Span) -> Statement {
    Statement { kind: StatementKind::When(clauses), marks: Vec::new(), span }
}

fn dated(side: DateSide, date: &Name, clock: &Name, negated: bool) -> Clauses {
    let span = date.span.to(clock.span);
    let kind = ClauseKind::Dated(side, date.clone(), Some(clock.clone()));
    Clauses { all: vec![Clause { negated, kind, span }], span }
}

fn without_is(predicate: String) -> String {
    predicate.strip_prefix("is ").map(str::to_string).unwrap_or(predicate)
}

/// Lines of a list as conditions of one item.
fn joined(items: &Items) -> Clauses {
    match items.all.as_slice() {
        [only] if only.label.is_none() => only.clauses.clone(),
        _ => Clauses {
            all: vec![Clause { negated: false, kind: ClauseKind::AllOf(items.clone()), span: items.span }],
            span: items.span,
        },
    }
}

/// The field a condition tests, in words.
fn tested(clause: &Clause) -> Option<String> {
    match &clause.kind {
        ClauseKind::Compare(Expr { kind: ExprKind::Path(path), .. }, _) => Some(line::path(path)),
        ClauseKind::Compare(expr, Some(_)) => Some(line::expr(expr)),
        ClauseKind::Quantified { list, .. } => Some(line::list(list)),
        _ => None,
    }
}

fn predicate_of(clause: &Clause) -> Option<&Predicate> {
    match &clause.kind {
        ClauseKind::Compare(_, predicate) | ClauseKind::Quantified { predicate, .. } => predicate.as_ref(),
        _ => None,
    }
}

fn predicate_of_mut(clause: &mut Clause) -> Option<&mut Predicate> {
    match &mut clause.kind {
        ClauseKind::Compare(_, predicate) | ClauseKind::Quantified { predicate, .. } => predicate.as_mut(),
        _ => None,
    }
}

fn value_words(value: &ChangeValue) -> String {
    match value {
        ChangeValue::Bound(bound, expr, _) => format!("{} {}", line::bound_words(*bound), line::expr(expr)),
        ChangeValue::Values(values, _) => line::values(values),
    }
}

/// Whether a stated old value is what the predicate says: in full, or the bare limit of a bound.
fn agrees(old: &ChangeValue, says: &Predicate) -> bool {
    match (old, &says.kind) {
        (ChangeValue::Values(values, _), PredicateKind::Is(own) | PredicateKind::IsNot(own)) => {
            line::values(values) == line::values(own)
        }
        (ChangeValue::Values(values, _), PredicateKind::Bound(_, own)) => line::values(values) == line::expr(own),
        (ChangeValue::Bound(bound, expr, _), PredicateKind::Bound(own_bound, own)) => {
            bound == own_bound && line::expr(expr) == line::expr(own)
        }
        _ => false,
    }
}

fn replace_value(says: &mut Predicate, new: &ChangeValue) {
    match (new, &mut says.kind) {
        (ChangeValue::Values(values, span), PredicateKind::Bound(_, own)) => {
            if let [ValueRange { from: Value::Quantity(quantity), through: None }] = values.as_slice() {
                **own = Expr { kind: ExprKind::Quantity(quantity.clone()), span: *span };
            } else {
                says.kind = PredicateKind::Is(values.clone());
            }
        }
        (ChangeValue::Values(values, _), PredicateKind::IsNot(own)) => own.clone_from(values),
        (ChangeValue::Values(values, _), kind) => *kind = PredicateKind::Is(values.clone()),
        (ChangeValue::Bound(bound, expr, _), kind) => *kind = PredicateKind::Bound(*bound, expr.clone()),
    }
}

fn first_number(row: &TableRow) -> Option<crate::base::number::Number> {
    match row.keys.first()? {
        CellKey::Values(values) => match &values.first()?.from {
            Value::Quantity(quantity) => crate::sema::measured(&quantity.first),
            _ => None,
        },
        CellKey::UpTo(Value::Quantity(quantity)) | CellKey::Over(Value::Quantity(quantity)) => {
            crate::sema::measured(&quantity.first)
        }
        _ => None,
    }
}

fn remove_in_body(body: &mut Body, labels: &[&str]) -> bool {
    fn from_items(items: &mut Items, labels: &[&str]) -> bool {
        let Some((first, rest)) = labels.split_first() else { return false };
        if rest.is_empty() {
            let before = items.all.len();
            items.all.retain(|item| item.label.as_ref().is_none_or(|l| l.text != *first));
            if items.all.len() != before {
                return true;
            }
        }
        items.all.iter_mut().any(|item| {
            let matches = item.label.as_ref().is_some_and(|l| l.text == *first);
            let deeper = if matches { rest } else { labels };
            (matches || item.label.is_none()) && !deeper.is_empty() && from_clauses(&mut item.clauses, deeper)
        })
    }
    fn from_clauses(clauses: &mut Clauses, labels: &[&str]) -> bool {
        clauses.all.iter_mut().filter_map(site::list_of_mut).any(|list| from_items(list, labels))
    }
    let whole = |s: &Statement| match &s.kind {
        StatementKind::Paragraph { labels: own, .. } => {
            own.len() == labels.len() && own.iter().zip(labels).all(|(a, b)| a.text == **b)
        }
        _ => false,
    };
    if body.statements.iter().any(whole) {
        body.statements.retain(|s| !whole(s));
        return true;
    }
    body.statements.iter_mut().any(|s| match &mut s.kind {
        StatementKind::Paragraph { labels: own, body: Some(body), .. }
            if own.len() < labels.len() && own.iter().zip(labels).all(|(a, b)| a.text == **b) =>
        {
            let rest = labels[own.len()..].to_vec();
            remove_in_body(body, &rest)
        }
        StatementKind::Different(halves) if labels.len() == 1 => {
            let before = halves.len();
            halves.retain(|h| labels.first().is_none_or(|l| h.label.text != *l));
            halves.len() != before
        }
        StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
            from_clauses(clauses, labels) || triggers.as_mut().is_some_and(|t| from_items(t, labels))
        }
        StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => from_clauses(clauses, labels),
        _ => false,
    })
}
