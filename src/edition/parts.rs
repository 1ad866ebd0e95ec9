//! Whole parts: deleted, replaced, inserted, renumbered, or taken from another edition.

use super::apply::Work;
use super::compose::Event;
use super::site::{self, Site};
use super::walk;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// Takes a part out; says where there is none.
    pub(super) fn remove(&mut self, address: &str, span: Span) -> bool {
        if !self.claim(address, span) {
            return false;
        }
        let named = self.book.items.iter().position(|item| match item {
            Item::Kind(kind) => kind.name.text == address,
            Item::Reading(reading) => reading.name.text == address,
            Item::Define(define) => define.name.text == address,
            Item::Amount(amount) => amount.name.text == address,
            Item::Limit(limit) => limit.name.text == address,
            _ => false,
        });
        self.touched = site::node(&mut self.book.items, address);
        if let Some(at) = named {
            self.book.items.remove(at);
            return true;
        }
        if super::amounts::strike_line(&mut self.book.items, address) {
            return true;
        }
        if let Some(Site::Exception(statement)) = site::find(&mut self.book.items, address) {
            let place = statement.span;
            for item in &mut self.book.items {
                if let Item::Section(section) = item {
                    without_exception(&mut section.body, place);
                }
            }
            return true;
        }
        if site::in_a_kind(&self.book.items, address) {
            let labels = site::split(address).1;
            let kind = self.book.items.iter_mut().find_map(|item| match item {
                Item::Kind(kind) if kind.name.text == site::split(address).0 => Some(kind),
                _ => None,
            });
            return kind.is_some_and(|kind| remove_in_items(&mut kind.items, &labels));
        }
        let home = site::home(&self.book.items, address);
        let Some((at, Item::Section(section))) = home.and_then(|at| Some((at, self.book.items.get(at)?))) else {
            self.nothing_at(address, span);
            return false;
        };
        let labels = site::within(section, address).unwrap_or_default();
        if labels.is_empty() {
            self.gone.insert(section.address.text.to_string(), span);
            self.book.items.remove(at);
            return true;
        }
        let mut fell = Vec::new();
        let removed = match self.book.items.get_mut(at) {
            Some(Item::Section(section)) => {
                let removed = remove_in_body(&mut section.body, &labels);
                if removed {
                    fell = site::loosen(&mut section.body, &labels);
                }
                removed
            }
            _ => false,
        };
        self.gone.insert(address.to_string(), span);
        for exception in fell {
            let what = format!("{exception} goes with {address}, which it excepted from");
            let event = Event { document: self.document.clone(), what, marks: Vec::new(), span, node: None };
            let around = address.rsplit_once('(').map_or(address, |(around, _)| around);
            self.book.note(around, event);
        }
        if !removed {
            self.nothing_at(address, span);
        }
        removed
    }

    /// Says that a number means nothing, and what stands beside it.
    fn nothing_at(&mut self, address: &str, span: Span) {
        let title = format!("there is no {address} in {}", self.book.name);
        let diagnostic = Diagnostic::error(Code::NoSuchTarget, title).at(span, "nothing stands there");
        let above = address.rsplit_once('(').map_or("", |(above, _)| above);
        let beside: Vec<String> = match site::find(&mut self.book.items, above) {
            Some(Site::Section(Section { body, .. }))
            | Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                site::children(body).iter().map(|label| format!("({})", label.text)).collect()
            }
            _ => Vec::new(),
        };
        self.say(match beside.is_empty() {
            true => diagnostic.help("name a part as the base numbers it, or by its own name"),
            false => diagnostic.help(format!("{above} has {}", beside.join(", "))),
        });
    }

    pub(super) fn delete(&mut self, from: &Address, through: Option<&Address>, change: &Change) {
        let Some(through) = through else {
            let named = matches!(site::find(&mut self.book.items, &from.text), Some(Site::Exception(_)));
            let Some(number) = self.number(from) else { return };
            // An exception is found by its name only: its number may not be its own.
            let key = if named { from.text.to_string() } else { number.clone() };
            if self.remove(&key, from.span) {
                let what = if named { format!("{} deleted", from.text) } else { "deleted".to_string() };
                self.event(&number, what, change);
            }
            return;
        };
        let gone = self.range(from, through);
        if gone.is_empty() {
            let title = format!("nothing lies from {} through {}", from.text, through.text);
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(from.span.to(through.span), "an empty range")
                    .help("`exclude` leaves out what is not encoded as well"),
            );
            return;
        }
        for end in [from, through] {
            if end.text.contains('(') && !gone.iter().any(|number| *number == end.text) {
                self.number(end);
            }
        }
        for number in gone {
            if self.remove(&number, from.span) {
                self.event(&number, "deleted".to_string(), change);
            }
        }
    }

    /// `exclude A through B, C`: not adopted. What is not encoded is left out as well, so nothing need stand there; within
    /// an encoded section it must.
    pub(super) fn exclude(&mut self, from: &Address, through: Option<&Address>, change: &Change) {
        let what = || "not adopted".to_string();
        if let Some(through) = through {
            for number in self.range(from, through) {
                if self.remove(&number, from.span) {
                    self.event(&number, what(), change);
                }
            }
            for end in [from, through] {
                if site::number_of(&self.book.items, &end.text).is_none()
                    && !self.book.history.contains_key(end.text.as_str())
                {
                    self.event(&end.text, what(), change);
                }
            }
            return;
        }
        let encoded = self.book.items.iter().any(|item| match item {
            Item::Section(section) => site::within(section, &from.text).is_some(),
            _ => false,
        });
        match site::number_of(&self.book.items, &from.text) {
            Some(number) => {
                if self.remove(&number, from.span) {
                    self.event(&number, what(), change);
                }
            }
            None if encoded => {
                self.number(from);
            }
            None => self.event(&from.text, what(), change),
        }
    }

    /// The numbers from one to another, both included: of sections, or of the parts of one list or paragraph.
    fn range(&mut self, from: &Address, through: &Address) -> Vec<String> {
        let order = crate::base::printed::printed_order;
        let (low, high) = (order(&from.text), order(&through.text));
        let within = |number: &str| {
            let at = order(number);
            low <= at && at <= high
        };
        let above = from.text.rsplit_once('(').map(|(above, _)| above.to_string());
        let Some(above) = above.filter(|above| through.text.rsplit_once('(').is_some_and(|(other, _)| other == above))
        else {
            return self.book.sections().into_iter().filter(|s| within(s)).map(str::to_string).collect();
        };
        let labels = match site::find(&mut self.book.items, &above) {
            Some(Site::Section(Section { body, .. }))
            | Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                site::children(body)
            }
            Some(Site::Item(item)) => {
                let mut found = Vec::new();
                site::of_clauses(&item.clauses, &mut found);
                found
            }
            _ => Vec::new(),
        };
        // A section may be printed with labels in its own number.
        let sections: Vec<String> = self.book.sections().into_iter().map(str::to_string).collect();
        let mut all: Vec<String> = labels
            .iter()
            .map(|label| format!("{above}({})", label.text))
            .chain(sections.into_iter().filter(|s| s.rsplit_once('(').is_some_and(|(own, _)| own == above)))
            .filter(|number| within(number))
            .collect();
        all.dedup();
        all
    }

    /// Puts new content in the place of old.
    pub(super) fn put(&mut self, number: &str, title: Option<&str>, content: &Content, span: Span) {
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
                Content::Items(items) => {
                    kind.items = items.clone();
                    if let Some(title) = title {
                        kind.about = Some(title.into());
                    }
                }
                Content::Body(_) => misfit = true,
            },
            Some(Site::Exception(Statement {
                kind: StatementKind::Unless(_, case, _) | StatementKind::Exception(_, case, _),
                ..
            })) => match content {
                Content::Items(items) => *case = joined(items),
                Content::Body(_) => misfit = true,
            },
            Some(Site::Exception(_) | Site::Paragraph(_)) | None => misfit = true,
        }
        if misfit {
            self.say(
                Diagnostic::error(Code::NoSuchTarget, format!("{number} cannot hold this"))
                    .at(span, "put in here")
                    .help("an item or exception holds conditions, a section or paragraph holds statements"),
            );
        }
    }

    pub(super) fn insert(
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
            self.anew(&at.text);
            self.event(&at.text, "inserted".to_string(), change);
            return;
        };
        let mut parent = section.to_string();
        for label in above {
            parent.push_str(&format!("({label})"));
        }
        let parent_address = Address { text: parent.as_str().into(), span: at.span };
        if self.number(&parent_address).is_none() || !self.claim(&format!("new {}", at.text), at.span) {
            return;
        }
        let label = Name { text: (*label).into(), span: at.span };
        let renamed = |own: &Name| moves.iter().find(|(from, _)| from.text == own.text).map(|(_, to)| to.clone());
        let mut missing: Vec<&Name> = Vec::new();
        // A label keeps its place, where its new text is read.
        let mut relabelled: Vec<(Span, String)> = Vec::new();
        let done = match content {
            Content::Items(items) => match self.labelled_list(&parent) {
                Some(list) => {
                    let has =
                        |l: &Name| list.all.iter().any(|i| i.label.as_ref().is_some_and(|own| own.text == l.text));
                    missing.extend(moves.iter().map(|(from, _)| from).filter(|from| !has(from)));
                    let position =
                        list.all.iter().position(|i| i.label.as_ref().is_some_and(|own| own.text == label.text));
                    for own in list.all.iter_mut().filter_map(|item| item.label.as_mut()) {
                        if let Some(to) = renamed(own) {
                            relabelled.push((own.span, format!("({})", to.text)));
                            own.text = to.text;
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
        self.book.reworded.extend(relabelled);
        for from in missing {
            let title = format!("{parent} has no item ({}) to move", from.text);
            self.diagnostics.push(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(from.span, "not there")
                    .help("only what stands in that list can move"),
            );
        }
        if !done {
            let title = format!("{parent} holds nothing of this kind");
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(at.span, "no list or paragraphs to insert into")
                    .help("conditions go into a list of labelled items, statements into a section or paragraph"),
            );
            return;
        }
        // Chains such as (c) to (d), (d) to (e) move at once.
        let old: Vec<(String, String)> = moves
            .iter()
            .map(|(from, to)| (format!("{parent}({})", from.text), format!("{parent}({})", to.text)))
            .collect();
        self.moved(&old, change);
        self.anew(&at.text);
        self.event(&at.text, "inserted".to_string(), change);
    }

    /// A new part under a number that was emptied is another part than the old one.
    pub(super) fn anew(&mut self, number: &str) {
        if self.gone.contains_key(number) {
            self.book.identity.insert(number.to_string(), format!("{} / {number}", self.document));
        }
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
    pub(super) fn moved(&mut self, moves: &[(String, String)], change: &Change) {
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
        for item in &mut self.book.items {
            if let Item::Section(section) = item {
                rebind(&mut section.body, &section.address.text, &retold);
            }
        }
    }

    pub(super) fn renumber(&mut self, from: &Address, to: &Address, change: &Change) {
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
            self.say(
                Diagnostic::error(Code::NumberTaken, title)
                    .at(to.span, "renumbered to this")
                    .help("delete what stands there first, or take a free number"),
            );
            return;
        }
        let (old_section, old_labels) = site::split(&number);
        let (new_section, new_labels) = site::split(&to.text);
        let mut fits = old_labels.len() == new_labels.len()
            && old_labels.split_last().map(|(_, above)| above) == new_labels.split_last().map(|(_, above)| above);
        match site::find(&mut self.book.items, &number) {
            // A whole section keeps what it says wherever it goes.
            Some(Site::Section(section)) => {
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
                if let (Some(own), Some(last)) = (&mut item.label, new_labels.last()) {
                    own.text = (*last).into();
                    let place = own.span;
                    self.book.reworded.insert(place, format!("({last})"));
                }
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
                    .at(to.span, "it would stand in another part")
                    .help(format!("write `move {number} to {}`", to.text)),
            );
            return;
        }
        self.moved(&[(number, to.text.to_string())], change);
    }
}

/// Lines of a list as conditions of one item.
pub(super) fn joined(items: &Items) -> Clauses {
    match items.all.as_slice() {
        [only] if only.label.is_none() => only.clauses.clone(),
        _ => Clauses {
            all: vec![Clause { negated: false, kind: ClauseKind::AllOf(items.clone()), span: items.span }],
            span: items.span,
        },
    }
}

/// Takes the item with these labels out of a list; whether it was there.
fn remove_in_items(items: &mut Items, labels: &[&str]) -> bool {
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
        (matches || item.label.is_none()) && !deeper.is_empty() && remove_in_clauses(&mut item.clauses, deeper)
    })
}

fn remove_in_clauses(clauses: &mut Clauses, labels: &[&str]) -> bool {
    clauses.all.iter_mut().filter_map(site::list_of_mut).any(|list| remove_in_items(list, labels))
}

/// Takes the part with these labels out of a body; whether it was there.
pub(super) fn remove_in_body(body: &mut Body, labels: &[&str]) -> bool {
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
            remove_in_clauses(clauses, labels) || triggers.as_mut().is_some_and(|t| remove_in_items(t, labels))
        }
        StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => {
            remove_in_clauses(clauses, labels)
        }
        _ => false,
    })
}

/// Takes the exception at a place out of a body.
fn without_exception(body: &mut Body, place: Span) {
    body.statements
        .retain(|s| s.span != place || !matches!(s.kind, StatementKind::Unless(..) | StatementKind::Exception(..)));
    for statement in &mut body.statements {
        if let StatementKind::Paragraph { body: Some(inner), .. } = &mut statement.kind {
            without_exception(inner, place);
        }
    }
}

/// Exceptions stay with the items they are bound to when these move: `home` is the number that their labels continue.
fn rebind(body: &mut Body, home: &str, retold: &dyn Fn(&str) -> Option<String>) {
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                for run in &mut head.to {
                    let Some(new) = retold(&format!("{home}{}", line::labels(run))) else { continue };
                    let Some(labels) = new.strip_prefix(home) else { continue };
                    let span = run.first().map_or(head.span, |label| label.span);
                    *run = site::split(labels).1.into_iter().map(|l| Name { text: l.into(), span }).collect();
                }
            }
            StatementKind::Paragraph { labels, body: Some(body), .. } => {
                rebind(body, &format!("{home}{}", line::labels(labels)), retold);
            }
            _ => {}
        }
    }
}
