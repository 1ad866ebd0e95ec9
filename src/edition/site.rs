//! Finding the part of a book that a number or a name means.

use crate::syntax::ast::*;

/// A part that can be changed.
pub(super) enum Site<'a> {
    Section(&'a mut Section),
    /// A statement of the form [`StatementKind::Paragraph`].
    Paragraph(&'a mut Statement),
    Item(&'a mut ListItem),
    Half(&'a mut Half),
    /// A statement of the form [`StatementKind::Unless`] or [`StatementKind::Exception`].
    Exception(&'a mut Statement),
    Kind(&'a mut Kind),
}

/// A number taken apart: `250.118(5)(c)` is `250.118` and `5`, `c`.
pub(super) fn split(address: &str) -> (&str, Vec<&str>) {
    let head = address.find('(').unwrap_or(address.len());
    let (section, rest) = address.split_at(head);
    (section, rest.split(['(', ')']).filter(|l| !l.is_empty()).collect())
}

/// The labels behind a section's number or name; none if the number lies elsewhere. A section may have labels in its own
/// number: `517.13(B)(1)` is `1` in 517.13(B).
pub(super) fn within<'w>(section: &Section, wanted: &'w str) -> Option<Vec<&'w str>> {
    let behind = |own: &str| {
        let rest = wanted.strip_prefix(own)?;
        (rest.is_empty() || rest.starts_with('(')).then(|| split(rest).1)
    };
    behind(&section.address.text).or_else(|| section.name.as_ref().and_then(|name| behind(&name.text)))
}

/// Where the section stands that has the part with that number: the one that says most of the number.
pub(super) fn home(items: &[Item], wanted: &str) -> Option<usize> {
    items
        .iter()
        .enumerate()
        .filter_map(|(at, item)| match item {
            Item::Section(s) => {
                let labels = within(s, wanted)?;
                (labels.is_empty() || body_has(&s.body, &labels)).then_some((labels.len(), at))
            }
            _ => None,
        })
        .min()
        .map(|(_, at)| at)
}

/// The number of the part with that number or name, in full; none if there is none.
pub(super) fn number_of(items: &[Item], wanted: &str) -> Option<String> {
    if let Some(Item::Section(s)) = home(items, wanted).and_then(|at| items.get(at)) {
        let labels: String = within(s, wanted)?.iter().map(|l| format!("({l})")).collect();
        return Some(format!("{}{labels}", s.address.text));
    }
    items.iter().find_map(|item| match item {
        Item::Section(s) => named_in_body(&s.body, wanted).map(|inner| format!("{}{inner}", s.address.text)),
        Item::Kind(kind) if kind.name.text == wanted || kind_has(kind, wanted) => Some(wanted.to_string()),
        Item::Reading(Reading { name, .. }) | Item::Define(Define { name, .. }) | Item::Limit(Limit { name, .. })
            if name.text == wanted =>
        {
            Some(wanted.to_string())
        }
        Item::Amount(amount) => super::amounts::number_of(amount, wanted),
        _ => None,
    })
}

/// Where a part was first written, by its number, name or `table N`; for an exception, its part's.
pub(super) fn node(items: &mut [Item], at: &str) -> Option<crate::base::source::Span> {
    let own = items.iter().find_map(|item| match item {
        Item::Table(table) if at.strip_prefix("table ") == Some(table.address.text.as_str()) => Some(table.span),
        Item::Reading(reading) if reading.name.text == at => Some(reading.span),
        Item::Define(define) if define.name.text == at => Some(define.span),
        Item::Limit(limit) if limit.name.text == at => Some(limit.span),
        _ => None,
    });
    if own.is_some() {
        return own;
    }
    let (part, exception) = at.split_once(" Ex.").map_or((at, None), |(part, number)| (part, Some(number.trim())));
    let of_exception = |body: Option<&Body>| {
        body?.statements.iter().find_map(|s| match &s.kind {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..)
                if head.number.as_ref().map_or("", |n| n.text.as_str()) == exception.unwrap_or("") =>
            {
                Some(s.span)
            }
            _ => None,
        })
    };
    match find(items, part)? {
        Site::Section(section) if exception.is_some() => of_exception(Some(&section.body)),
        Site::Paragraph(Statement { kind: StatementKind::Paragraph { body, .. }, .. }) if exception.is_some() => {
            of_exception(body.as_ref())
        }
        Site::Section(section) => Some(section.span),
        Site::Paragraph(statement) | Site::Exception(statement) => Some(statement.span),
        Site::Item(item) => Some(item.span),
        Site::Half(half) => Some(half.span),
        Site::Kind(kind) => Some(kind.span),
    }
}

/// The part itself, for a number that [`number_of`] gave or a name.
pub(super) fn find<'a>(items: &'a mut [Item], wanted: &str) -> Option<Site<'a>> {
    if let Some(at) = home(items, wanted) {
        let Some(Item::Section(s)) = items.get_mut(at) else { return None };
        let labels = within(s, wanted)?;
        return if labels.is_empty() { Some(Site::Section(s)) } else { in_body(&mut s.body, &labels) };
    }
    for item in items {
        match item {
            Item::Section(s) if named_in_body(&s.body, wanted).is_some() => return name_in_body(&mut s.body, wanted),
            Item::Kind(kind) if kind.name.text == wanted || kind_has(kind, wanted) => {
                let labels = split(wanted).1;
                return if labels.is_empty() { Some(Site::Kind(kind)) } else { in_items(&mut kind.items, &labels) };
            }
            _ => {}
        }
    }
    None
}

/// Whether a number is that of a labelled line of a kind: `insulated-copper(2)`.
fn kind_has(kind: &Kind, wanted: &str) -> bool {
    let (name, labels) = split(wanted);
    kind.name.text == name && !labels.is_empty() && items_have(&kind.items, &labels)
}

pub(super) fn in_a_kind(items: &[Item], wanted: &str) -> bool {
    items.iter().any(|item| matches!(item, Item::Kind(kind) if kind_has(kind, wanted)))
}

fn same(own: &[Name], labels: &[&str]) -> bool {
    own.len() <= labels.len() && !own.is_empty() && own.iter().zip(labels).all(|(a, b)| a.text == *b)
}

pub(super) fn body_has(body: &Body, labels: &[&str]) -> bool {
    body.statements.iter().any(|s| statement_has(s, labels))
}

fn statement_has(statement: &Statement, labels: &[&str]) -> bool {
    match &statement.kind {
        StatementKind::Paragraph { labels: own, body, .. } if same(own, labels) => {
            let rest = &labels[own.len()..];
            rest.is_empty() || body.as_ref().is_some_and(|b| body_has(b, rest))
        }
        StatementKind::Different(halves) => {
            labels.len() == 1 && halves.iter().any(|h| labels.first().is_some_and(|l| h.label.text == *l))
        }
        StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
            clauses_have(clauses, labels) || triggers.as_ref().is_some_and(|t| items_have(t, labels))
        }
        StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => clauses_have(clauses, labels),
        _ => false,
    }
}

fn clauses_have(clauses: &Clauses, labels: &[&str]) -> bool {
    clauses.all.iter().any(|c| list_of(c).is_some_and(|list| items_have(list, labels)))
}

fn items_have(items: &Items, labels: &[&str]) -> bool {
    let Some((first, rest)) = labels.split_first() else { return false };
    items.all.iter().any(|item| match &item.label {
        Some(label) => label.text == *first && (rest.is_empty() || clauses_have(&item.clauses, rest)),
        None => clauses_have(&item.clauses, labels),
    })
}

fn list_of(clause: &Clause) -> Option<&Items> {
    match &clause.kind {
        ClauseKind::AnyOf(list) | ClauseKind::AllOf(list) | ClauseKind::NoneOf(list) => Some(list),
        _ => None,
    }
}

pub(super) fn list_of_mut(clause: &mut Clause) -> Option<&mut Items> {
    match &mut clause.kind {
        ClauseKind::AnyOf(list) | ClauseKind::AllOf(list) | ClauseKind::NoneOf(list) => Some(list),
        _ => None,
    }
}

fn in_body<'a>(body: &'a mut Body, labels: &[&str]) -> Option<Site<'a>> {
    let at = body.statements.iter().position(|s| statement_has(s, labels))?;
    let statement = body.statements.get_mut(at)?;
    if let StatementKind::Paragraph { labels: own, .. } = &statement.kind {
        let rest = labels[own.len()..].to_vec();
        if rest.is_empty() {
            return Some(Site::Paragraph(statement));
        }
        return match &mut statement.kind {
            StatementKind::Paragraph { body: Some(body), .. } => in_body(body, &rest),
            _ => None,
        };
    }
    match &mut statement.kind {
        StatementKind::Different(halves) => {
            halves.iter_mut().find(|h| labels.first().is_some_and(|l| h.label.text == *l)).map(Site::Half)
        }
        StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
            if clauses_have(clauses, labels) {
                return in_clauses(clauses, labels);
            }
            triggers.as_mut().and_then(|t| in_items(t, labels))
        }
        StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => in_clauses(clauses, labels),
        _ => None,
    }
}

fn in_clauses<'a>(clauses: &'a mut Clauses, labels: &[&str]) -> Option<Site<'a>> {
    let clause = clauses.all.iter_mut().find(|c| list_of(c).is_some_and(|list| items_have(list, labels)))?;
    in_items(list_of_mut(clause)?, labels)
}

fn in_items<'a>(items: &'a mut Items, labels: &[&str]) -> Option<Site<'a>> {
    let (first, rest) = labels.split_first()?;
    let item = items.all.iter_mut().find(|item| match &item.label {
        Some(label) => label.text == *first && (rest.is_empty() || clauses_have(&item.clauses, rest)),
        None => clauses_have(&item.clauses, labels),
    })?;
    match (item.label.is_some(), rest.is_empty()) {
        (true, true) => Some(Site::Item(item)),
        (true, false) => in_clauses(&mut item.clauses, rest),
        (false, _) => in_clauses(&mut item.clauses, labels),
    }
}

// ------------------------------------------------------------------------------------------------ by name

fn text(labels: &[Name]) -> String {
    labels.iter().map(|l| format!("({})", l.text)).collect()
}

/// The labels that lead to a named part, or ` Ex. 2` behind them; none if nothing has that name.
fn named_in_body(body: &Body, name: &str) -> Option<String> {
    body.statements.iter().find_map(|s| match &s.kind {
        StatementKind::Paragraph { labels, name: own, body, .. } => {
            if own.as_ref().is_some_and(|n| n.text == name) {
                return Some(text(labels));
            }
            body.as_ref().and_then(|b| named_in_body(b, name)).map(|inner| format!("{}{inner}", text(labels)))
        }
        StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
            let found = head.name.as_ref().is_some_and(|n| n.text == name);
            found.then(|| match &head.number {
                Some(number) => format!(" Ex. {}", number.text),
                None => " Ex.".to_string(),
            })
        }
        StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
            named_in_clauses(clauses, name).or_else(|| triggers.as_ref().and_then(|t| named_in_items(t, name)))
        }
        StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => {
            named_in_clauses(clauses, name)
        }
        _ => None,
    })
}

fn named_in_clauses(clauses: &Clauses, name: &str) -> Option<String> {
    clauses.all.iter().filter_map(list_of).find_map(|list| named_in_items(list, name))
}

fn named_in_items(items: &Items, name: &str) -> Option<String> {
    items.all.iter().find_map(|item| {
        let label = item.label.as_ref().map_or_else(String::new, |l| format!("({})", l.text));
        if item.name.as_ref().is_some_and(|n| n.text == name) {
            return Some(label);
        }
        named_in_clauses(&item.clauses, name).map(|inner| format!("{label}{inner}"))
    })
}

fn name_in_body<'a>(body: &'a mut Body, name: &str) -> Option<Site<'a>> {
    for statement in &mut body.statements {
        match &statement.kind {
            StatementKind::Paragraph { name: own, .. } if own.as_ref().is_some_and(|n| n.text == name) => {
                return Some(Site::Paragraph(statement));
            }
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..)
                if head.name.as_ref().is_some_and(|n| n.text == name) =>
            {
                return Some(Site::Exception(statement));
            }
            _ => {}
        }
        let found = match &mut statement.kind {
            StatementKind::Paragraph { body: Some(body), .. } => name_in_body(body, name),
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                if named_in_clauses(clauses, name).is_some() {
                    name_in_clauses(clauses, name)
                } else {
                    triggers.as_mut().and_then(|t| name_in_items(t, name))
                }
            }
            StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => {
                name_in_clauses(clauses, name)
            }
            _ => None,
        };
        if found.is_some() {
            return found;
        }
    }
    None
}

fn name_in_clauses<'a>(clauses: &'a mut Clauses, name: &str) -> Option<Site<'a>> {
    clauses.all.iter_mut().filter_map(list_of_mut).find_map(|list| name_in_items(list, name))
}

fn name_in_items<'a>(items: &'a mut Items, name: &str) -> Option<Site<'a>> {
    for item in &mut items.all {
        if item.name.as_ref().is_some_and(|n| n.text == name) {
            return Some(Site::Item(item));
        }
        if let Some(found) = name_in_clauses(&mut item.clauses, name) {
            return Some(found);
        }
    }
    None
}

// ------------------------------------------------------------------------------------------------ exceptions

/// Whether a statement is the exception that a change names: its number, and what it is bound to where that is said.
pub(super) fn is_exception(kind: &StatementKind, wanted: &ExceptionName) -> bool {
    let (StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..)) = kind else { return false };
    let same =
        |a: &[Vec<Name>], b: &[Vec<Name>]| a.len() == b.len() && a.iter().zip(b).all(|(a, b)| text(a) == text(b));
    head.number.as_ref().map(|n| &n.text) == wanted.number.as_ref().map(|n| &n.text)
        && (wanted.to.is_empty() || same(&head.to, &wanted.to))
}

/// An exception as a change would name it: `Ex. 2 to (5)`.
pub(super) fn exception_words(kind: &StatementKind) -> Option<String> {
    let (StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..)) = kind else { return None };
    let number = head.number.as_ref().map_or_else(|| "Ex.".to_string(), |n| format!("Ex. {}", n.text));
    Some(match head.to.as_slice() {
        [] => number,
        runs => format!("{number} to {}", runs.iter().map(|run| text(run)).collect::<Vec<_>>().join(", ")),
    })
}

// ------------------------------------------------------------------------------------------------ below a part

/// The labels directly below a part: of its paragraphs and of its lists.
pub(super) fn children(body: &Body) -> Vec<Name> {
    let mut found = Vec::new();
    for statement in &body.statements {
        match &statement.kind {
            StatementKind::Paragraph { labels, .. } => found.extend(labels.first().cloned()),
            StatementKind::Different(halves) => found.extend(halves.iter().map(|half| half.label.clone())),
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                of_clauses(clauses, &mut found);
                if let Some(triggers) = triggers {
                    of_items(triggers, &mut found);
                }
            }
            StatementKind::PermitsAs { clauses, .. } | StatementKind::PermitsOnly(clauses) => {
                of_clauses(clauses, &mut found);
            }
            _ => {}
        }
    }
    found
}

pub(super) fn of_clauses(clauses: &Clauses, found: &mut Vec<Name>) {
    clauses.all.iter().filter_map(list_of).for_each(|list| of_items(list, found));
}

fn of_items(items: &Items, found: &mut Vec<Name>) {
    for item in &items.all {
        match &item.label {
            Some(label) => found.push(label.clone()),
            None => of_clauses(&item.clauses, found),
        }
    }
}

/// Whether the item with these labels is a duty of its own, so that a condition added to it would be demanded.
pub(super) fn is_duty(body: &Body, labels: &[&str]) -> bool {
    body.statements.iter().any(|s| match &s.kind {
        StatementKind::Paragraph { labels: own, body: Some(inner), .. } if same(own, labels) => {
            is_duty(inner, &labels[own.len()..])
        }
        StatementKind::Requires(clauses, None) => match clauses.all.as_slice() {
            [Clause { negated: false, kind: ClauseKind::AllOf(list), .. }] => items_have(list, labels),
            _ => false,
        },
        StatementKind::Prohibits(clauses, None) => match clauses.all.as_slice() {
            [Clause { negated: false, kind: ClauseKind::AnyOf(list), .. }] => items_have(list, labels),
            _ => false,
        },
        _ => false,
    })
}

/// Exceptions no longer bound to a part that is gone; those bound to nothing else go with it and are told.
pub(super) fn loosen(body: &mut Body, labels: &[&str]) -> Vec<String> {
    let mut gone = Vec::new();
    body.statements.retain_mut(|statement| {
        let told = exception_words(&statement.kind);
        if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = &mut statement.kind {
            let before = head.to.len();
            head.to.retain(|run| !(run.len() >= labels.len() && run.iter().zip(labels).all(|(a, b)| a.text == *b)));
            if before > 0 && head.to.is_empty() {
                gone.extend(told);
                return false;
            }
        }
        true
    });
    for statement in &mut body.statements {
        if let StatementKind::Paragraph { labels: own, body: Some(inner), .. } = &mut statement.kind
            && own.len() < labels.len()
            && own.iter().zip(labels).all(|(a, b)| a.text == *b)
        {
            let rest = labels.get(own.len()..).unwrap_or_default().to_vec();
            gone.extend(loosen(inner, &rest));
        }
    }
    gone
}
