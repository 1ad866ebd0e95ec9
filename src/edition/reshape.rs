//! Parts that take another shape and keep what they are: moved, split, merged, exceptions that become items and the reverse.

use super::apply::Work;
use super::site::{self, Site};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

/// How the lines of a list are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Joined {
    Any,
    All,
}

impl Work<'_, '_> {
    // -------------------------------------------------------------------------------------------- move

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
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(to.span, "no list or paragraphs to move into"));
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

    // -------------------------------------------------------------------------------------------- split

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
    fn take_out(&mut self, number: &str) {
        let Some(at) = site::home(&self.book.items, number) else { return };
        let Some(Item::Section(section)) = self.book.items.get_mut(at) else { return };
        let labels = site::within(section, number).unwrap_or_default();
        if labels.is_empty() {
            self.book.items.remove(at);
        } else {
            super::parts::remove_in_body(&mut section.body, &labels);
        }
    }

    // -------------------------------------------------------------------------------------------- merge

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
    fn how_joined(&mut self, above: &str) -> Option<Joined> {
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

    // -------------------------------------------------------------------------------------------- becomes

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
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(span, "nothing stands there"));
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
        match site::find(&mut self.book.items, &above) {
            Some(
                Site::Section(Section { body, .. })
                | Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. }),
            ) => body.statements.push(statement),
            _ => {}
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

enum Moving {
    Item(ListItem),
    Body(Statement),
}

enum Splitting {
    Body(Body, Vec<Name>),
    Item(ListItem),
}

/// The number around a part, and its own last label: `8(A)(2)` is `8(A)` and `2`; a section stands in nothing.
fn parent(number: &str) -> (String, String) {
    match number.strip_suffix(')').and_then(|inner| inner.rsplit_once('(')) {
        Some((above, label)) => (above.to_string(), label.to_string()),
        None => (String::new(), number.to_string()),
    }
}

/// A line `governs` or `when` in words, to compare.
fn says(statement: &Statement) -> String {
    match &statement.kind {
        StatementKind::Governs { thing, owner } => {
            format!("governs {} {}", thing.text, owner.as_ref().map_or("", |o| o.text.as_str()))
        }
        StatementKind::When(clauses) => format!("when {}", line::clauses(clauses)),
        _ => String::new(),
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

/// Binds exceptions that named one item to others instead. `depth` labels lead to the list.
fn rebind(body: &mut Body, label: &str, depth: usize, to: &[Vec<Name>]) {
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                let mut all: Vec<Vec<Name>> = Vec::new();
                for run in &head.to {
                    let own = run.len() <= depth + 1 && run.last().is_some_and(|l| l.text == label);
                    let new = match own {
                        true => {
                            to.iter().map(|last| run[..run.len() - 1].iter().chain(last).cloned().collect()).collect()
                        }
                        false => vec![run.clone()],
                    };
                    all.extend(new);
                }
                all.dedup_by_key(|run| line::labels(run));
                head.to = all;
            }
            StatementKind::Paragraph { body: Some(inner), .. } => rebind(inner, label, depth, to),
            _ => {}
        }
    }
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

/// Takes the statement at a place out of a body.
fn without(body: &mut Body, place: Span) {
    body.statements.retain(|s| s.span != place || matches!(s.kind, StatementKind::Paragraph { .. }));
    for statement in &mut body.statements {
        if let StatementKind::Paragraph { body: Some(inner), .. } = &mut statement.kind {
            without(inner, place);
        }
    }
}
