//! Several parts that become one, if they apply alike.

use super::apply::Work;
use super::reshape::{Joined, parent, rebind, says};
use super::site::{self, Site};
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// `merge A, B as C`
    pub(super) fn merge(&mut self, parts: &[Address], to: &Address, change: &Change) {
        let mut numbers = Vec::new();
        for part in parts {
            let Some(number) = self.number(part) else { return };
            if !self.claim(&number, part.span) {
                return;
            }
            numbers.push(number);
        }
        let Some((first, others)) = numbers.split_first() else { return };
        let (above, _) = parent(first);
        if numbers.iter().any(|n| parent(n).0 != above) || parent(&to.text).0 != above {
            self.say(
                Diagnostic::error(Code::MergeDiffers, "what is merged does not stand side by side")
                    .at(to.span, "merged as this")
                    .help("move the parts together first"),
            );
            return;
        }
        let taken = site::number_of(&self.book.items, &to.text).is_some() && !numbers.iter().any(|n| *n == to.text);
        if taken {
            let title = format!("{} already stands in {}", to.text, self.book.name);
            self.say(
                Diagnostic::error(Code::NumberTaken, title)
                    .at(to.span, "merged as this")
                    .help("take the number of one of them, or a free one"),
            );
            return;
        }
        let is_item = matches!(site::find(&mut self.book.items, first), Some(Site::Item(_)));
        let done = if is_item { self.merge_items(&above, &numbers) } else { self.merge_bodies(&numbers, parts) };
        if !done {
            return;
        }
        let history: Vec<(String, Vec<super::compose::Event>)> =
            others.iter().filter_map(|n| Some((n.clone(), self.book.history.get(n)?.clone()))).collect();
        if *first != to.text {
            let from = Address { text: first.as_str().into(), span: to.span };
            self.renumber(&from, to, change);
        }
        for (_, events) in history {
            for event in events {
                self.book.note(&to.text, event);
            }
        }
        self.event(&to.text, format!("merged from {}", numbers.join(", ")), change);
    }

    fn merge_items(&mut self, above: &str, numbers: &[String]) -> bool {
        let Some(how) = self.how_joined(above) else { return false };
        let labels: Vec<String> = numbers.iter().map(|n| parent(n).1).collect();
        let Some(list) = self.labelled_list(above) else { return false };
        let is = |item: &ListItem, label: &str| item.label.as_ref().is_some_and(|own| own.text == label);
        let found: Vec<ListItem> =
            labels.iter().filter_map(|l| list.all.iter().find(|item| is(item, l)).cloned()).collect();
        let Some((first, others)) = found.split_first() else { return false };
        let mut merged = first.clone();
        let span = merged.clauses.span;
        match how {
            Joined::All => merged.clauses.all.extend(others.iter().flat_map(|item| item.clauses.all.iter().cloned())),
            Joined::Any => {
                let lines = found.iter().map(|item| ListItem { label: None, name: None, ..item.clone() }).collect();
                let kind = ClauseKind::AnyOf(Items { all: lines, span });
                merged.clauses = Clauses { all: vec![Clause { negated: false, kind, span }], span };
            }
        }
        let words = line::clauses(&merged.clauses);
        list.all.retain(|item| !labels.iter().skip(1).any(|l| is(item, l)));
        if let Some(place) = list.all.iter_mut().find(|item| labels.first().is_some_and(|l| is(item, l))) {
            let span = place.span;
            *place = merged;
            self.book.reworded.insert(span, words);
        }
        let home = site::home(&self.book.items, above).and_then(|at| self.book.items.get_mut(at));
        if let (Some(Item::Section(section)), Some(label)) = (home, first.label.clone()) {
            let depth = site::within(section, above).map_or(0, |l| l.len());
            for gone in labels.iter().skip(1) {
                rebind(&mut section.body, gone, depth, &[vec![label.clone()]]);
            }
        }
        true
    }

    fn merge_bodies(&mut self, numbers: &[String], parts: &[Address]) -> bool {
        let mut bodies = Vec::new();
        for number in numbers {
            match site::find(&mut self.book.items, number) {
                Some(Site::Section(Section { body, .. }))
                | Some(Site::Paragraph(Statement {
                    kind: StatementKind::Paragraph { body: Some(body), .. }, ..
                })) => bodies.push(body.clone()),
                _ => return false,
            }
        }
        let lead = |s: &Statement| matches!(s.kind, StatementKind::Governs { .. } | StatementKind::When(_));
        let leads = |body: &Body| body.statements.iter().filter(|s| lead(s)).map(says).collect::<Vec<_>>();
        let Some((first, others)) = bodies.split_first() else { return false };
        let mut merged = first.clone();
        for (body, part) in others.iter().zip(parts.iter().skip(1)) {
            if leads(body) != leads(first) {
                let mut diagnostic = Diagnostic::error(
                    Code::MergeDiffers,
                    format!("{} and {} do not apply to the same", numbers.join(", "), part.text),
                )
                .at(part.span, "this one applies elsewhere");
                let odd = body
                    .statements
                    .iter()
                    .chain(&first.statements)
                    .find(|s| lead(s) && !(leads(first).contains(&says(s)) && leads(body).contains(&says(s))));
                if let Some(odd) = odd {
                    diagnostic = diagnostic.at(odd.span, "only one of them says this");
                }
                self.say(diagnostic.help("make `governs` and `when` alike first, or keep them apart"));
                return false;
            }
            let mut own = body.clone();
            own.statements.retain(|s| !lead(s));
            let (mine, theirs) = (site::children(&merged), site::children(&own));
            if let Some(double) = theirs.iter().find(|l| mine.iter().any(|m| m.text == l.text)) {
                self.say(
                    Diagnostic::error(Code::NumberTaken, format!("both have an item ({})", double.text))
                        .at(part.span, "merged with another that has it")
                        .at(double.span, "give it another label first")
                        .help("`renumber` it in the document before"),
                );
                return false;
            }
            bind_all(&mut own, &theirs);
            bind_all(&mut merged, &mine);
            for statement in own.statements {
                let lead_in = trigger_lead(&statement.kind);
                let host = merged.statements.iter_mut().find(|s| lead_in.is_some() && trigger_lead(&s.kind) == lead_in);
                match (host.map(|h| &mut h.kind), statement.kind) {
                    (
                        Some(StatementKind::Requires(_, Some(own)) | StatementKind::Prohibits(_, Some(own))),
                        StatementKind::Requires(_, Some(more)) | StatementKind::Prohibits(_, Some(more)),
                    ) => own.all.extend(more.all),
                    (_, kind) => merged.statements.push(Statement { kind, ..statement }),
                }
            }
        }
        let Some(keep) = numbers.first() else { return false };
        match site::find(&mut self.book.items, keep) {
            Some(Site::Section(Section { body, .. }))
            | Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                *body = merged;
            }
            _ => return false,
        }
        for number in numbers.iter().skip(1) {
            self.take_out(number);
        }
        true
    }

    /// How the list of a part joins its lines.
    pub(super) fn how_joined(&mut self, above: &str) -> Option<Joined> {
        fn of_clauses(clauses: &Clauses) -> Option<Joined> {
            clauses.all.iter().find_map(|clause| match &clause.kind {
                ClauseKind::AnyOf(list) | ClauseKind::NoneOf(list) if list.all.iter().any(|i| i.label.is_some()) => {
                    Some(Joined::Any)
                }
                ClauseKind::AllOf(list) if list.all.iter().any(|i| i.label.is_some()) => Some(Joined::All),
                _ => None,
            })
        }
        fn of_body(body: &Body) -> Option<Joined> {
            body.statements.iter().find_map(|s| match &s.kind {
                StatementKind::Requires(_, Some(_)) | StatementKind::Prohibits(_, Some(_)) => Some(Joined::Any),
                StatementKind::Requires(clauses, None)
                | StatementKind::Prohibits(clauses, None)
                | StatementKind::PermitsOnly(clauses)
                | StatementKind::PermitsAs { clauses, .. } => of_clauses(clauses),
                _ => None,
            })
        }
        match site::find(&mut self.book.items, above)? {
            Site::Section(section) => of_body(&section.body),
            Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }) => of_body(body),
            Site::Item(item) => of_clauses(&item.clauses),
            Site::Kind(kind) if kind.items.all.iter().any(|item| item.label.is_some()) => Some(Joined::All),
            Site::Kind(kind) => kind.items.all.iter().find_map(|item| of_clauses(&item.clauses)),
            Site::Paragraph(_) | Site::Half(_) | Site::Exception(_) => None,
        }
    }
}

fn trigger_lead(kind: &StatementKind) -> Option<String> {
    match kind {
        StatementKind::Requires(clauses, Some(_)) => Some(format!("requires {}", line::clauses(clauses))),
        StatementKind::Prohibits(clauses, Some(_)) => Some(format!("prohibits {}", line::clauses(clauses))),
        _ => None,
    }
}

/// Binds exceptions to everything they reach now, so that they reach no more when others come in.
fn bind_all(body: &mut Body, labels: &[Name]) {
    for statement in &mut body.statements {
        if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = &mut statement.kind
            && head.to.is_empty()
        {
            head.to = labels.iter().map(|l| vec![l.clone()]).collect();
        }
    }
}
