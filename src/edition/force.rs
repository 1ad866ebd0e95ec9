//! What force a text has, and what is appended to it: sentences, values of a condition, notes that are not adopted.

use super::apply::Work;
use super::edits::tested;
use super::site::{self, Site};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// `add requires …`, `add notes "…"`: a sentence at the end of a section or paragraph.
    pub(super) fn add_statement(&mut self, number: &str, target: &Address, statement: &Statement, change: &Change) {
        let mut statement = statement.clone();
        if statement.marks.is_empty() {
            statement.marks.clone_from(&change.marks);
        }
        let what = format!("added {}", statement_words(&statement.kind));
        let body = match site::find(&mut self.book.items, &target.text) {
            Some(Site::Section(section)) => Some(&mut section.body),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. })) => {
                Some(body.get_or_insert_with(Body::default))
            }
            _ => None,
        };
        match body {
            Some(body) => body.statements.push(statement),
            None => {
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} holds conditions, not sentences"))
                        .at(statement.span, "a section or paragraph takes this")
                        .help("to an item or exception add its conditions alone: `add …`"),
                );
                return;
            }
        }
        self.event(number, what, change);
    }

    /// `occupancy is also three-family`, `role is no longer meter-disconnect`: a list of values grows or shrinks.
    pub(super) fn values(
        &mut self,
        number: &str,
        target: &Address,
        path: &Path,
        values: &[ValueRange],
        grows: Growth,
        span: Span,
        change: &Change,
    ) {
        let wanted = line::path(path);
        if !self.claim(&format!("{wanted} in {number}"), span) {
            return;
        }
        let mut differs = None;
        let mut done = false;
        for clauses in self.conditions_of(&target.text) {
            let Some(own) = clauses.all.iter_mut().find(|own| tested(own).as_ref() == Some(&wanted)) else { continue };
            let ClauseKind::Compare(_, Some(Predicate { kind: PredicateKind::Is(listed), span: place })) =
                &mut own.kind
            else {
                continue;
            };
            let has = |one: &ValueRange| listed.iter().any(|l| words(l) == words(one));
            let fits = match grows {
                Growth::Grows => !values.iter().any(has),
                Growth::Shrinks => values.iter().all(has) && listed.len() > values.len(),
            };
            if !fits {
                differs = Some((*place, format!("says {}", line::values(listed))));
                continue;
            }
            match grows {
                Growth::Grows => listed.extend(values.iter().cloned()),
                Growth::Shrinks => listed.retain(|l| !values.iter().any(|one| words(l) == words(one))),
            }
            own.span = span;
            let (whole, all, place) = (line::clause(own), line::clauses(clauses), clauses.span);
            self.book.reworded.insert(span, whole);
            self.book.reworded.insert(place, all);
            done = true;
            break;
        }
        let said = line::values(values);
        match (done, differs, grows) {
            (true, _, Growth::Grows) => self.event(number, format!("{wanted} is also {said}"), change),
            (true, _, Growth::Shrinks) => self.event(number, format!("{wanted} is no longer {said}"), change),
            (false, Some(place), Growth::Grows) => {
                let title = format!("{number} already says this of `{wanted}`");
                self.mismatch(span, title, &format!("a list without {said}"), Some(place));
            }
            (false, Some(place), Growth::Shrinks) => {
                let title = format!("{number} says something else of `{wanted}`");
                self.mismatch(span, title, &format!("a longer list with {said}"), Some(place));
            }
            (false, None, _) => {
                let tests = self.tests_of(&target.text);
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, format!("{number} lists no values of `{wanted}`"))
                        .at(span, "nothing to change")
                        .help(format!("it tests {}", tests.join(", "))),
                );
            }
        }
    }

    /// `force was requires, now prohibits`
    pub(super) fn force(
        &mut self,
        number: &str,
        target: &Address,
        (old, new): (StatementForce, StatementForce),
        (clauses, text): (Option<&Clauses>, Option<&str>),
        span: Span,
        change: &Change,
    ) {
        if !self.claim(&format!("the force of {number}"), span) {
            return;
        }
        let body = match site::find(&mut self.book.items, &target.text) {
            Some(Site::Section(section)) => Some(&mut section.body),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                Some(body)
            }
            _ => None,
        };
        let Some(body) = body else {
            self.say(
                Diagnostic::error(Code::NoSuchTarget, format!("{number} has no force of its own"))
                    .at(target.span, "a section or paragraph is meant"),
            );
            return;
        };
        let found = body.statements.iter().position(|s| force_of(&s.kind) == Some(old));
        let Some(at) = found else {
            let first = body.statements.iter().find_map(|s| Some((s.span, force_of(&s.kind)?)));
            let place = first.map(|(place, force)| (place, format!("this {}", force_words(force))));
            let title = format!("{number} does not speak with that force");
            self.mismatch(span, title, force_words(old), place);
            return;
        };
        let Some(statement) = body.statements.get_mut(at) else { return };
        let said = statement_words(&statement.kind);
        let own = match &statement.kind {
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                Some((clauses.clone(), triggers.clone()))
            }
            StatementKind::PermitsOnly(clauses) => Some((clauses.clone(), None)),
            _ => None,
        };
        let asked = clauses.map(|c| (c.clone(), None)).or(own);
        let kind = match (new, asked) {
            (StatementForce::Notes, _) => {
                Some(StatementKind::Notes(text.map_or_else(|| said.as_str().into(), Into::into)))
            }
            (StatementForce::Requires, Some((clauses, triggers))) => Some(StatementKind::Requires(clauses, triggers)),
            (StatementForce::Prohibits, Some((clauses, triggers))) => Some(StatementKind::Prohibits(clauses, triggers)),
            (StatementForce::PermitsOnly, Some((clauses, None))) => Some(StatementKind::PermitsOnly(clauses)),
            (StatementForce::PermitsOnly, Some((_, Some(_)))) | (_, None) => None,
        };
        let Some(kind) = kind else {
            let place = statement.span;
            self.say(
                Diagnostic::error(Code::OldValueDiffers, format!("{number} does not say what would then be asked"))
                    .at(span, "nothing is asked here")
                    .at(place, "the text as it stands")
                    .help("write what is asked: `force was notes, now requires …`"),
            );
            return;
        };
        statement.kind = kind;
        statement.span = span;
        let silent = new == StatementForce::Notes && !demands(body);
        // An exception to what asks nothing any more would except from nothing.
        if silent {
            body.statements.retain(|s| !matches!(s.kind, StatementKind::Unless(..) | StatementKind::Exception(..)));
        }
        if silent {
            self.gone.insert(number.to_string(), span);
        }
        let what = format!("{} was {}, now {}", "force", force_words(old), force_words(new));
        self.event(number, what, change);
    }

    /// `notes are not adopted`
    pub(super) fn notes_fall(&mut self, change: &Change) {
        fn strip(body: &mut Body) -> usize {
            let before = body.statements.len();
            body.statements.retain(|s| !matches!(&s.kind, StatementKind::Notes(text) if text != "reserved"));
            let mut gone = before - body.statements.len();
            for statement in &mut body.statements {
                if let StatementKind::Paragraph { body: Some(inner), .. } = &mut statement.kind {
                    gone += strip(inner);
                }
            }
            gone
        }
        let mut touched = Vec::new();
        for item in &mut self.book.items {
            if let Item::Section(section) = item
                && strip(&mut section.body) > 0
            {
                touched.push(section.address.text.to_string());
            }
        }
        self.book.items.retain(|item| match item {
            Item::Section(section) => {
                let silent = section
                    .body
                    .statements
                    .iter()
                    .all(|s| matches!(s.kind, StatementKind::Marks | StatementKind::Governs { .. }));
                !(silent && touched.iter().any(|at| *at == section.address.text))
            }
            _ => true,
        });
        if touched.is_empty() {
            let title = format!("{} has no notes", self.book.name);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(change.span, "nothing to leave out"));
        }
        for at in touched {
            self.event(&at, "its notes are not adopted".to_string(), change);
        }
    }
}

/// Which way a list of values changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Growth {
    Grows,
    Shrinks,
}

fn words(range: &ValueRange) -> String {
    line::values(std::slice::from_ref(range))
}

/// Whether anything in a body asks something.
pub(super) fn demands(body: &Body) -> bool {
    body.statements.iter().any(|s| match &s.kind {
        StatementKind::Paragraph { body, .. } => body.as_ref().is_some_and(demands),
        StatementKind::Different(_) | StatementKind::IfProvided(..) => true,
        other => force_of(other).is_some_and(|force| force != StatementForce::Notes),
    })
}

fn force_of(kind: &StatementKind) -> Option<StatementForce> {
    match kind {
        StatementKind::Requires(..) => Some(StatementForce::Requires),
        StatementKind::Prohibits(..) => Some(StatementForce::Prohibits),
        StatementKind::PermitsOnly(_) => Some(StatementForce::PermitsOnly),
        StatementKind::Notes(_) => Some(StatementForce::Notes),
        _ => None,
    }
}

fn force_words(force: StatementForce) -> &'static str {
    match force {
        StatementForce::Requires => "requires",
        StatementForce::Prohibits => "prohibits",
        StatementForce::PermitsOnly => "permits only",
        StatementForce::Notes => "notes",
    }
}

/// A statement in a line, for the history.
fn statement_words(kind: &StatementKind) -> String {
    match kind {
        StatementKind::When(clauses) => format!("when {}", line::clauses(clauses)),
        StatementKind::Requires(clauses, _) => format!("requires {}", line::clauses(clauses)),
        StatementKind::Prohibits(clauses, _) => format!("prohibits {}", line::clauses(clauses)),
        StatementKind::PermitsOnly(clauses) => format!("permits only {}", line::clauses(clauses)),
        StatementKind::Permits(clauses, None) => format!("permits {}", line::clauses(clauses)),
        StatementKind::Permits(clauses, Some(lifts)) => {
            format!("permits {} notwithstanding {}", line::clauses(clauses), lifts.text)
        }
        StatementKind::PermitsAs { thing, kind, clauses } => {
            format!("permits {} as {}, {}", thing.text, kind.text, line::clauses(clauses))
        }
        StatementKind::Notes(text) => format!("notes \"{text}\""),
        StatementKind::IfProvided(path, clauses) => {
            format!("if provided {}, requires {}", line::path(path), line::clauses(clauses))
        }
        StatementKind::Modifies(to, case, _) => format!("modifies {} when {}", to.text, line::clauses(case)),
        StatementKind::Waives(to, Some(case)) => format!("waives {} when {}", to.text, line::clauses(case)),
        StatementKind::Waives(to, None) => format!("waives {}", to.text),
        StatementKind::Tally(name, list, _) => format!("tally {} = {}", name.text, line::list(list)),
        StatementKind::Different(_) => "requires different paths".to_string(),
        StatementKind::Marks
        | StatementKind::Paragraph { .. }
        | StatementKind::Governs { .. }
        | StatementKind::Unless(..)
        | StatementKind::Exception(..) => "a statement".to_string(),
    }
}
