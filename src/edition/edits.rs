//! Changes within one part: titles, conditions, items and exceptions.

use super::apply::Work;
use super::force::Growth;
use super::graft::bound_words;
use super::site::{self, Site};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    pub(super) fn edit(&mut self, target: &Address, edit: &Edit, change: &Change) {
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
                    None => {
                        self.say(
                            Diagnostic::error(Code::NoSuchTarget, format!("{number} has no title"))
                                .at(*span, "nothing to change")
                                .help("sections and paragraphs have titles"),
                        );
                        return;
                    }
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
                                .at(item.span, "nothing to add to")
                                .help("add a paragraph instead: `insert NUMBER { … }`"),
                        );
                        return;
                    }
                }
                self.touched = Some(item.span);
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
            Edit::Number(old, new) => {
                let mut node = None;
                let found = match site::find(&mut self.book.items, &target.text) {
                    Some(Site::Exception(Statement {
                        kind: StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..),
                        span,
                        ..
                    })) => {
                        node = Some(*span);
                        Some(head)
                    }
                    _ => None,
                };
                match found {
                    Some(head) if head.number.as_ref().map(|own| &own.text) == old.as_ref().map(|old| &old.text) => {
                        head.number = Some(new.clone());
                        self.touched = node;
                    }
                    Some(head) => {
                        let place = (head.span, format!("says {}", label_of(head)));
                        let title = format!("the number of {} is another", target.text);
                        let span = old.as_ref().map_or(new.span, |old| old.span);
                        self.mismatch(span, title, &numbered(old.as_ref()), Some(place));
                        return;
                    }
                    None => {
                        let title = format!("{number} is no exception");
                        self.say(
                            Diagnostic::error(Code::NoSuchTarget, title)
                                .at(target.span, "it has no such number")
                                .help("sections and items take other numbers with `renumber`"),
                        );
                        return;
                    }
                }
                self.event(&number, format!("number was {}, now Ex. {}", numbered(old.as_ref()), new.text), change);
            }
            Edit::AddStatement(statement) => self.add_statement(&number, target, statement, change),
            Edit::Force { old, new, clauses, text, span } => {
                self.force(&number, target, (*old, *new), (clauses.as_ref(), text.as_deref()), *span, change);
            }
            Edit::Read(old, new) => self.read(&number, target, old, new, change),
            Edit::Also(path, values, span) => {
                self.values(&number, target, path, values, Growth::Grows, *span, change);
            }
            Edit::NoLonger(path, values, span) => {
                self.values(&number, target, path, values, Growth::Shrinks, *span, change);
            }
            Edit::StrikeException(wanted) => {
                let body = match site::find(&mut self.book.items, &target.text) {
                    Some(Site::Section(s)) => Some(&mut s.body),
                    Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                        body.as_mut()
                    }
                    _ => None,
                };
                let is_it = |s: &Statement| site::is_exception(&s.kind, wanted);
                let said = match (&wanted.number, wanted.to.as_slice()) {
                    (Some(number), []) => format!("Ex. {}", number.text),
                    (Some(number), runs) => format!("Ex. {} to {}", number.text, bound_words(runs)),
                    (None, []) => "Ex.".to_string(),
                    (None, runs) => format!("Ex. to {}", bound_words(runs)),
                };
                let known: Vec<String> = body.as_ref().map_or_else(Vec::new, |body| {
                    body.statements.iter().filter_map(|s| site::exception_words(&s.kind)).collect()
                });
                match body {
                    Some(body) if body.statements.iter().any(is_it) => {
                        self.touched = body.statements.iter().find(|s| is_it(s)).map(|s| s.span);
                        body.statements.retain(|s| !is_it(s));
                    }
                    _ => {
                        let title = format!("{number} has no {said}");
                        let diagnostic =
                            Diagnostic::error(Code::NoSuchTarget, title).at(wanted.span, "nothing to strike");
                        self.say(match known.is_empty() {
                            true => diagnostic.help("it has no exceptions"),
                            false => diagnostic.help(format!("it has {}", known.join(", "))),
                        });
                        return;
                    }
                }
                self.event(&number, format!("struck {said}"), change);
            }
            Edit::StrikeItem(labels) => {
                let mut address = number.clone();
                address.push_str(&line::labels(labels));
                let span = labels.first().map_or(change.span, |l| l.span);
                if self.remove(&address, span) {
                    self.event(&address, "struck".to_string(), change);
                }
            }
            Edit::Value(old, new, span) => self.value_was(&number, target, old, new, *span, change),
            Edit::AddLine(line) => self.add_line(&number, target, line, change),
            Edit::StrikeCondition(clause, was) => self.strike(&number, target, clause, was.as_ref(), change),
            Edit::WasNow(path, old, new, span) => self.was_now(&number, target, path, old, new, *span, change),
        }
    }

    fn add_exception(&mut self, number: &str, target: &Address, kind: &StatementKind, span: Span, change: &Change) {
        if let Some(what) = self.put_exception(number, target, kind, span, change) {
            self.event(number, format!("added {what}"), change);
        }
    }

    /// Puts an exception into a part, and says in a line what it is; none if the part takes none.
    pub(super) fn put_exception(
        &mut self,
        number: &str,
        target: &Address,
        kind: &StatementKind,
        span: Span,
        change: &Change,
    ) -> Option<String> {
        let mut kind = kind.clone();
        let label = site::exception_words(&kind)?;
        let toward = |head: &ExceptionHead| {
            head.uncounted.as_ref().map_or_else(String::new, |to| format!(", not counted toward {}", to.text))
        };
        let what = match &kind {
            StatementKind::Unless(head, case, _) => {
                format!("{label} when {}{}", line::clauses(case), toward(head))
            }
            StatementKind::Exception(head, case, instead) => {
                let (case, instead) = (line::clauses(case), line::clauses(instead));
                format!("{label} when {case} instead requires {instead}{}", toward(head))
            }
            _ => return None,
        };
        self.number_collides(target, &kind, span);
        let statement = |kind| Statement { kind, marks: change.marks.clone(), span };
        match site::find(&mut self.book.items, &target.text) {
            Some(Site::Section(section)) => section.body.statements.push(statement(kind)),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                body.statements.push(statement(kind));
            }
            Some(Site::Item(_) | Site::Half(_)) => {
                // An item takes its exception through the section: bound to its labels.
                let home = site::home(&self.book.items, number).and_then(|at| self.book.items.get_mut(at));
                let Some(Item::Section(section)) = home else { return None };
                let labels = site::within(section, number).unwrap_or_default();
                if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = &mut kind
                    && head.to.is_empty()
                {
                    head.to = vec![labels.iter().map(|l| Name { text: (*l).into(), span: target.span }).collect()];
                }
                section.body.statements.push(statement(kind));
            }
            Some(Site::Exception(_) | Site::Kind(_) | Site::Paragraph(_)) | None => {
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} takes no exceptions"))
                        .at(target.span, "it is none")
                        .help("a section, paragraph or item is meant"),
                );
                return None;
            }
        }
        Some(what)
    }

    /// Two exceptions with one printed number to the same part: both hold, but whoever cites one may mean the other.
    fn number_collides(&mut self, target: &Address, kind: &StatementKind, span: Span) {
        let (StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..)) = kind else { return };
        let Some(number) = head.number.clone() else { return };
        let body = match site::find(&mut self.book.items, &target.text) {
            Some(Site::Section(Section { body, .. }))
            | Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => body,
            _ => return,
        };
        let overlap = |own: &ExceptionHead| {
            own.to.is_empty()
                || head.to.is_empty()
                || own.to.iter().any(|a| head.to.iter().any(|b| line::labels(a) == line::labels(b)))
        };
        let first = body.statements.iter().find_map(|s| match &s.kind {
            StatementKind::Unless(own, ..) | StatementKind::Exception(own, ..)
                if own.number.as_ref().is_some_and(|n| n.text == number.text) && overlap(own) =>
            {
                Some(own.span)
            }
            _ => None,
        });
        if let Some(first) = first {
            self.say(
                Diagnostic::warning(Code::ExceptionNumberTwice, format!("there is an Ex. {} already", number.text))
                    .at(span, "added here")
                    .at(first, "stands here")
                    .help("both hold; give the new one a number of its own, so that citing it is clear"),
            );
        }
    }

    /// The first list of labelled items a part holds.
    pub(super) fn labelled_list(&mut self, target: &str) -> Option<&mut Items> {
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

    pub(super) fn tests_of(&mut self, target: &str) -> Vec<String> {
        self.conditions_of(target)
            .into_iter()
            .flat_map(|c| c.all.iter().filter_map(tested).collect::<Vec<_>>())
            .collect()
    }

    /// The conditions that belong to a part itself: not those of paragraphs or labelled items inside it.
    pub(super) fn conditions_of(&mut self, target: &str) -> Vec<&mut Clauses> {
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
                    | StatementKind::AlsoWhen(c)
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
            StatementKind::When(c)
            | StatementKind::AlsoWhen(c)
            | StatementKind::Requires(c, None)
            | StatementKind::Prohibits(c, None) => c.all.is_empty(),
            _ => false,
        };
        let pruned = |statements: &mut Vec<Statement>| {
            for statement in statements.iter_mut() {
                match &mut statement.kind {
                    StatementKind::When(c)
                    | StatementKind::Requires(c, _)
                    | StatementKind::Prohibits(c, _)
                    | StatementKind::PermitsOnly(c)
                    | StatementKind::Permits(c, _)
                    | StatementKind::PermitsAs { clauses: c, .. }
                    | StatementKind::IfProvided(_, c) => prune(c),
                    _ => {}
                }
            }
            statements.retain(|s| !empty(s));
        };
        match site::find(&mut self.book.items, target) {
            Some(Site::Section(section)) => pruned(&mut section.body.statements),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                pruned(&mut body.statements);
            }
            Some(Site::Item(item)) => prune(&mut item.clauses),
            Some(Site::Kind(kind)) => {
                kind.items.all.iter_mut().for_each(|item| prune(&mut item.clauses));
                kind.items.all.retain(|item| !item.clauses.all.is_empty());
            }
            _ => {}
        }
    }
}

/// Takes lines without a condition out of the lists of a condition: an empty line would hold always.
fn prune(clauses: &mut Clauses) {
    for list in clauses.all.iter_mut().filter_map(site::list_of_mut) {
        list.all.iter_mut().for_each(|item| prune(&mut item.clauses));
        list.all.retain(|item| !item.clauses.all.is_empty());
    }
}

fn label_of(head: &ExceptionHead) -> String {
    numbered(head.number.as_ref())
}

fn numbered(number: Option<&Name>) -> String {
    number.map_or_else(|| "Ex.".to_string(), |number| format!("Ex. {}", number.text))
}

fn without_is(predicate: String) -> String {
    predicate.strip_prefix("is ").map(str::to_string).unwrap_or(predicate)
}

/// The field a condition tests, in words.
pub(super) fn tested(clause: &Clause) -> Option<String> {
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
