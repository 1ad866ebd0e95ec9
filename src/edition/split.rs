//! One part that becomes several: by its items, or by cases.

use super::apply::Work;
use super::reshape::{parent, rebind};
use super::site::{self, Site};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// `split A into B taking (1), (2); C taking (3)`
    pub(super) fn split(&mut self, from: &Address, parts: &[SplitPart], change: &Change) {
        let Some(number) = self.number(from) else { return };
        if !self.claim(&format!("the shape of {number}"), from.span) {
            return;
        }
        let (above, _) = parent(&number);
        let inside = parts.iter().all(|p| parent(&p.at.text).0 == number);
        let beside = parts.iter().all(|p| parent(&p.at.text).0 == above);
        if !inside && !beside {
            self.cannot_split(
                &number,
                from.span,
                "its parts stand in other places",
                "put them side by side, or all inside it",
            );
            return;
        }
        for part in parts {
            if part.at.text != number && site::number_of(&self.book.items, &part.at.text).is_some() {
                self.say(
                    Diagnostic::error(
                        Code::NumberTaken,
                        format!("{} already stands in {}", part.at.text, self.book.name),
                    )
                    .at(part.at.span, "split into this")
                    .help("give the part a free number"),
                );
                return;
            }
        }
        let whole = match site::find(&mut self.book.items, &number) {
            Some(Site::Section(section)) => Some(Splitting::Body(section.body.clone(), section.about.clone())),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                Some(Splitting::Body(body.clone(), Vec::new()))
            }
            Some(Site::Item(item)) => Some(Splitting::Item(item.clone())),
            _ => None,
        };
        let done = match whole {
            Some(Splitting::Body(body, about)) => self.split_body(&number, from, &body, &about, parts, inside, change),
            Some(Splitting::Item(item)) if !inside => self.split_item(&number, from, &item, parts),
            Some(Splitting::Item(_)) | None => {
                self.cannot_split(&number, from.span, "it has no inside", "split it into parts beside it");
                false
            }
        };
        if !done {
            return;
        }
        if !inside {
            let shares: Vec<(String, Vec<String>)> = parts
                .iter()
                .map(|part| {
                    let items = match &part.gets {
                        SplitShare::Items(labels) => labels.iter().map(|l| l.text.to_string()).collect(),
                        SplitShare::Whole | SplitShare::Where(_) => Vec::new(),
                    };
                    (part.at.text.to_string(), items)
                })
                .collect();
            for item in &mut self.book.items {
                if let Item::Section(section) = item {
                    fan_out(&mut section.body, &number, &shares);
                }
            }
        }
        let first = self.book.identity.get(&number).cloned().unwrap_or_else(|| number.clone());
        let names: Vec<&str> = parts.iter().map(|p| p.at.text.as_str()).collect();
        for part in parts {
            if part.at.text != number {
                self.book.identity.insert(part.at.text.to_string(), first.clone());
                self.event(&part.at.text, format!("split from {number}"), change);
            }
        }
        self.event(&number, format!("split into {}", names.join(", ")), change);
    }

    fn cannot_split(&mut self, number: &str, span: Span, why: &str, help: &str) {
        self.say(
            Diagnostic::error(Code::CannotSplit, format!("{number} cannot be split like this"))
                .at(span, why)
                .help(help),
        );
    }

    #[allow(clippy::too_many_arguments)]
    fn split_body(
        &mut self,
        number: &str,
        from: &Address,
        body: &Body,
        about: &[Name],
        parts: &[SplitPart],
        inside: bool,
        change: &Change,
    ) -> bool {
        let labels: Vec<Name> = site::children(body);
        let mut taken: Vec<&Name> = Vec::new();
        for label in parts.iter().filter_map(|p| match &p.gets {
            SplitShare::Items(labels) => Some(labels),
            SplitShare::Whole | SplitShare::Where(_) => None,
        }) {
            for one in label {
                if !labels.iter().any(|own| own.text == one.text) {
                    self.cannot_split(number, one.span, "it has no such item", "take the items it has");
                    return false;
                }
                if taken.iter().any(|own| own.text == one.text) {
                    self.cannot_split(number, one.span, "taken twice", "give each item to one part");
                    return false;
                }
                taken.push(one);
            }
        }
        let left: Vec<String> = labels
            .iter()
            .filter(|own| !taken.iter().any(|one| one.text == own.text))
            .map(|own| format!("({})", own.text))
            .collect();
        let shares = parts.iter().filter(|p| matches!(p.gets, SplitShare::Items(_))).count();
        let wholes = parts.iter().filter(|p| matches!(p.gets, SplitShare::Whole)).count();
        // The one part that takes nothing by name keeps the rest.
        let rest = shares > 0 && wholes == 1;
        if shares > 0 && !rest && !left.is_empty() {
            let why = format!("nobody takes {}", left.join(", "));
            self.cannot_split(number, from.span, &why, "let a part take them, or delete them first");
            return false;
        }
        self.copied = self.copied.saturating_add(statements(body).saturating_mul(parts.len()));
        if self.copied > MOST_COPIED {
            self.cannot_split(number, from.span, "there would be too much text", "split smaller parts");
            return false;
        }
        let lead = |s: &Statement| matches!(s.kind, StatementKind::Governs { .. } | StatementKind::When(_));
        let mut made = Vec::new();
        for (at, part) in parts.iter().enumerate() {
            let mut own = body.clone();
            if inside {
                own.statements.retain(|s| !lead(s));
            }
            let keep: Option<Vec<String>> = match &part.gets {
                SplitShare::Items(labels) => Some(labels.iter().map(|l| l.text.to_string()).collect()),
                SplitShare::Whole if rest => {
                    Some(left.iter().map(|l| l.trim_matches(['(', ')']).to_string()).collect())
                }
                SplitShare::Whole => None,
                SplitShare::Where(clauses) => {
                    let kind = StatementKind::When(clauses.clone());
                    own.statements.insert(0, Statement { kind, marks: Vec::new(), span: clauses.span });
                    None
                }
            };
            match keep {
                Some(keep) => {
                    for label in labels.iter().filter(|l| !keep.iter().any(|k| *k == l.text)) {
                        super::parts::remove_in_body(&mut own, &[label.text.as_str()]);
                        site::loosen(&mut own, &[label.text.as_str()]);
                    }
                }
                // One name means one part.
                None if at > 0 => nameless(&mut own),
                None => {}
            }
            // An exception to everything excepts from each part now; its name stays with the first.
            let named: Vec<String> = made.iter().flat_map(exception_names).collect();
            once(&mut own, &named);
            made.push(own);
        }
        let mut paragraphs = Vec::new();
        for (part, own) in parts.iter().zip(made) {
            if part.at.text == number {
                match site::find(&mut self.book.items, number) {
                    Some(Site::Section(Section { body, title, .. })) => {
                        *body = own;
                        *title = part.title.clone().or(title.take());
                    }
                    Some(Site::Paragraph(Statement {
                        kind: StatementKind::Paragraph { body: Some(body), title, .. },
                        ..
                    })) => {
                        *body = own;
                        *title = part.title.clone().or(title.take());
                    }
                    _ => {}
                }
                continue;
            }
            let (above, label) = parent(&part.at.text);
            if above.is_empty() && label.is_empty() || !part.at.text.contains('(') {
                self.book.items.push(Item::Section(Section {
                    address: part.at.clone(),
                    name: None,
                    title: part.title.clone(),
                    about: about.to_vec(),
                    body: own,
                    span: change.span,
                }));
                continue;
            }
            let kind = StatementKind::Paragraph {
                labels: vec![Name { text: label.as_str().into(), span: part.at.span }],
                name: None,
                title: part.title.clone(),
                body: Some(own),
            };
            let statement = Statement { kind, marks: change.marks.clone(), span: change.span };
            if inside {
                paragraphs.push(statement);
                continue;
            }
            match site::find(&mut self.book.items, &above) {
                Some(Site::Section(section)) => section.body.statements.push(statement),
                Some(Site::Paragraph(Statement {
                    kind: StatementKind::Paragraph { body: Some(body), .. }, ..
                })) => body.statements.push(statement),
                _ => {
                    // A section printed with labels in its number: its parts are sections too.
                    let StatementKind::Paragraph { title, body, .. } = statement.kind else { continue };
                    self.book.items.push(Item::Section(Section {
                        address: part.at.clone(),
                        name: None,
                        title,
                        about: about.to_vec(),
                        body: body.unwrap_or_default(),
                        span: change.span,
                    }));
                }
            }
        }
        if inside {
            match site::find(&mut self.book.items, number) {
                Some(Site::Section(Section { body, .. }))
                | Some(Site::Paragraph(Statement {
                    kind: StatementKind::Paragraph { body: Some(body), .. }, ..
                })) => {
                    body.statements.retain(lead);
                    body.statements.extend(paragraphs);
                }
                _ => {}
            }
        } else if !parts.iter().any(|p| p.at.text == number) {
            self.take_out(number);
        }
        true
    }

    fn split_item(&mut self, number: &str, from: &Address, item: &ListItem, parts: &[SplitPart]) -> bool {
        let (above, _) = parent(number);
        let mut made = Vec::new();
        for (at, part) in parts.iter().enumerate() {
            let mut own = item.clone();
            own.label = Some(Name { text: parent(&part.at.text).1.as_str().into(), span: part.at.span });
            if at > 0 {
                own.name = None;
            }
            match &part.gets {
                SplitShare::Whole => {}
                SplitShare::Where(clauses) => own.clauses.all.extend(clauses.all.iter().cloned()),
                SplitShare::Items(_) => {
                    self.cannot_split(number, part.at.span, "an item has no items to take", "say `when …` instead");
                    return false;
                }
            }
            made.push(own);
        }
        let label = item.label.clone();
        let labels: Vec<Vec<Name>> = made.iter().filter_map(|own| Some(vec![own.label.clone()?])).collect();
        let Some(list) = self.labelled_list(&above) else {
            self.cannot_split(number, from.span, "it stands in no list", "split a paragraph instead");
            return false;
        };
        let at = list.all.iter().position(|own| own.label.as_ref().map(|l| &l.text) == label.as_ref().map(|l| &l.text));
        let Some(at) = at else { return false };
        list.all.splice(at..=at, made);
        // What excepted from the item excepts from each of its parts.
        let home = site::home(&self.book.items, &above).and_then(|at| self.book.items.get_mut(at));
        if let (Some(Item::Section(section)), Some(label)) = (home, label) {
            let depth = site::within(section, &above).map_or(0, |l| l.len());
            rebind(&mut section.body, &label.text, depth, &labels);
        }
        true
    }

    /// Takes a part out without a word: something else stands for it now.
    pub(super) fn take_out(&mut self, number: &str) {
        let Some(at) = site::home(&self.book.items, number) else { return };
        let Some(Item::Section(section)) = self.book.items.get_mut(at) else { return };
        let labels = site::within(section, number).unwrap_or_default();
        if labels.is_empty() {
            self.book.items.remove(at);
        } else {
            super::parts::remove_in_body(&mut section.body, &labels);
        }
    }
}

/// The most statements that the splits of one document may copy.
const MOST_COPIED: usize = 5_000;

/// How many statements a body holds, paragraphs and all.
fn statements(body: &Body) -> usize {
    let inside = |s: &Statement| match &s.kind {
        StatementKind::Paragraph { body: Some(inner), .. } => statements(inner),
        _ => 0,
    };
    body.statements.iter().map(|s| 1 + inside(s)).sum()
}

enum Splitting {
    Body(Body, Vec<Name>),
    Item(ListItem),
}

/// What reached a part reaches each of the parts it was split into.
fn fan_out(body: &mut Body, number: &str, shares: &[(String, Vec<String>)]) {
    let old = std::mem::take(&mut body.statements);
    for mut statement in old {
        if let StatementKind::Paragraph { body: Some(inner), .. } = &mut statement.kind {
            fan_out(inner, number, shares);
        }
        let rest = match &statement.kind {
            StatementKind::Waives(to, _) | StatementKind::Modifies(to, ..) | StatementKind::Permits(_, Some(to)) => {
                to.text.strip_prefix(number).filter(|rest| rest.is_empty() || rest.starts_with('(')).map(str::to_string)
            }
            _ => None,
        };
        let Some(rest) = rest else {
            body.statements.push(statement);
            continue;
        };
        let item = site::split(&rest).1.first().map(|l| l.to_string());
        for (part, items) in shares {
            if items.is_empty() || item.as_ref().is_none_or(|item| items.contains(item)) {
                let mut copy = statement.clone();
                if let StatementKind::Waives(to, _)
                | StatementKind::Modifies(to, ..)
                | StatementKind::Permits(_, Some(to)) = &mut copy.kind
                {
                    to.text = format!("{part}{rest}").as_str().into();
                }
                body.statements.push(copy);
            }
        }
    }
}

/// The names of the exceptions of a body.
fn exception_names(body: &Body) -> Vec<String> {
    let mut found = Vec::new();
    for statement in &body.statements {
        match &statement.kind {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                found.extend(head.name.as_ref().map(|name| name.text.to_string()));
            }
            StatementKind::Paragraph { body: Some(inner), .. } => found.extend(exception_names(inner)),
            _ => {}
        }
    }
    found
}

/// Takes off the names of exceptions that have them already.
fn once(body: &mut Body, named: &[String]) {
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                let known = head.name.as_ref().is_some_and(|name| named.iter().any(|own| *own == name.text));
                if known {
                    head.name = None;
                }
            }
            StatementKind::Paragraph { body: Some(inner), .. } => once(inner, named),
            _ => {}
        }
    }
}

/// Takes names off a copy: one name means one part.
fn nameless(body: &mut Body) {
    fn in_clauses(clauses: &mut Clauses) {
        clauses.all.iter_mut().filter_map(site::list_of_mut).for_each(in_items);
    }
    fn in_items(items: &mut Items) {
        for item in &mut items.all {
            item.name = None;
            in_clauses(&mut item.clauses);
        }
    }
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Paragraph { name, body, .. } => {
                *name = None;
                if let Some(body) = body {
                    nameless(body);
                }
            }
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => head.name = None,
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                in_clauses(clauses);
                if let Some(triggers) = triggers {
                    in_items(triggers);
                }
            }
            StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => in_clauses(clauses),
            _ => {}
        }
    }
}
