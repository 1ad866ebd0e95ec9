//! Gaps in the numbers of list items, paragraphs and exceptions of one parent.

use super::Book;
use super::findings::Findings;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::syntax::ast::{Body, ClauseKind, Clauses, Enough, ExceptionHead, Item, Items, Name, Section, StatementKind};
use std::collections::{BTreeMap, BTreeSet};

/// Looks at the numbers of a composed book.
pub(super) fn review(book: &Book, findings: &mut Findings) {
    let mut labels = Labels::default();
    for item in &book.composed.items {
        match item {
            Item::Section(section) => {
                labels.elsewhere(section);
                labels.body(&section.body, section.address.text.as_str());
            }
            Item::Kind(kind) => labels.items(&kind.items, &format!("kind {}", kind.name.text)),
            _ => {}
        }
    }
    for (parent, own) in &labels.own {
        let other = labels.other.get(parent);
        let there: BTreeSet<&str> = own
            .iter()
            .map(|(label, _)| label.as_str())
            .chain(other.into_iter().flatten().map(String::as_str))
            .collect();
        let Some(counting) = Counting::of(&there) else { continue };
        let missing = counting.missing(&there);
        let Some(first) = missing.first() else { continue };
        let behind = own.iter().find(|(label, _)| counting.place(label).is_some_and(|at| at > *first));
        let Some((_, span)) = behind else { continue };
        let names: Vec<String> = missing.iter().map(|at| format!("({})", counting.label(*at))).collect();
        let verb = if names.len() == 1 { "is" } else { "are" };
        let title = format!("{} of {parent} {verb} neither written nor reserved", together(&names));
        let diagnostic =
            Diagnostic::advice(Code::NumberGap, title).at(*span, "the numbers go on here").help(match names.first() {
                Some(name) => format!(
                    "write it, or `{name} reserved` if the book reserves it, or say here \
                     `intended F0302 \"why it is not written out\"`"
                ),
                None => String::new(),
            });
        findings.add(&book.program.edition, diagnostic);
    }
    for (parent, own) in &labels.exceptions {
        // An exception may be printed at the item it is bound to, or at what the item stands in.
        let near = |at: &str| below(at, parent) || below(parent, at);
        let known = labels.exceptions.iter().filter(|(at, _)| near(at)).flat_map(|(_, all)| all);
        let known: BTreeSet<u32> = known.map(|(number, _)| *number).collect();
        let last = own.iter().map(|(number, _)| *number).max().unwrap_or(0);
        let missing: Vec<u32> = (1..last).filter(|n| !known.contains(n)).take(50).collect();
        let Some(first) = missing.first() else { continue };
        let Some((_, span)) = own.iter().find(|(number, _)| number > first) else { continue };
        let names: Vec<String> = missing.iter().map(|n| format!("Ex. {n}")).collect();
        let verb = if names.len() == 1 { "is" } else { "are" };
        let title = format!("{} of {parent} {verb} not written", together(&names));
        let diagnostic = Diagnostic::advice(Code::NumberGap, title)
            .at(*span, "the numbers go on here")
            .help("write it, or say here `intended F0302 \"why it is not written out\"`");
        findings.add(&book.program.edition, diagnostic);
    }
}

/// Whether a number lies at or below another.
fn below(address: &str, under: &str) -> bool {
    address.strip_prefix(under).is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
}

/// Names in a row, the last behind `and`.
fn together(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first, .., last] if names.len() > 4 => format!("{first} to {last}, {} numbers,", names.len()),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}

/// Labels by the number of what they stand in.
#[derive(Default)]
struct Labels {
    own: BTreeMap<String, Vec<(String, Span)>>,
    /// Those of sections that stand by themselves, such as 517.13(B) beside 517.13.
    other: BTreeMap<String, Vec<String>>,
    /// By what they stand in.
    exceptions: BTreeMap<String, Vec<(u32, Span)>>,
}

impl Labels {
    fn elsewhere(&mut self, section: &Section) {
        let mut address = section.address.text.as_str();
        while let Some((before, label)) = address.strip_suffix(')').and_then(|a| a.rsplit_once('(')) {
            self.other.entry(before.to_string()).or_default().push(label.to_string());
            address = before;
        }
    }

    fn own(&mut self, at: &str, label: &Name) -> String {
        self.own.entry(at.to_string()).or_default().push((label.text.to_string(), label.span));
        format!("{at}({})", label.text)
    }

    fn body(&mut self, body: &Body, at: &str) {
        for statement in &body.statements {
            match &statement.kind {
                StatementKind::Paragraph { labels, body, .. } => {
                    let mut inner = at.to_string();
                    for label in labels {
                        inner = self.own(&inner, label);
                    }
                    if let Some(body) = body {
                        self.body(body, &inner);
                    }
                }
                StatementKind::Different(halves) => {
                    for half in halves {
                        self.own(at, &half.label);
                    }
                }
                StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                    self.clauses(clauses, at);
                    if let Some(items) = triggers {
                        self.items(items, at);
                    }
                }
                StatementKind::When(clauses)
                | StatementKind::AlsoWhen(clauses)
                | StatementKind::PermitsOnly(clauses)
                | StatementKind::PermitsAs { clauses, .. }
                | StatementKind::Permits(clauses, _)
                | StatementKind::IfProvided(_, clauses) => self.clauses(clauses, at),
                StatementKind::Unless(head, case, enough) => {
                    self.exception(head, at);
                    self.clauses(case, &named(at, head));
                    if let Some(Enough::Clauses(clauses)) = enough {
                        self.clauses(clauses, &named(at, head));
                    }
                }
                StatementKind::Exception(head, case, instead) => {
                    self.exception(head, at);
                    self.clauses(case, &named(at, head));
                    self.clauses(instead, &named(at, head));
                }
                StatementKind::Marks
                | StatementKind::Governs { .. }
                | StatementKind::Notes(_)
                | StatementKind::Modifies(..)
                | StatementKind::Waives(..)
                | StatementKind::Tally(..) => {}
            }
        }
    }

    fn exception(&mut self, head: &ExceptionHead, at: &str) {
        let Some(number) = head.number.as_ref().and_then(|n| n.text.parse::<u32>().ok()) else { return };
        self.exceptions.entry(at.to_string()).or_default().push((number, head.span));
    }

    fn items(&mut self, items: &Items, at: &str) {
        for item in &items.all {
            let inner = match &item.label {
                Some(label) => self.own(at, label),
                None => at.to_string(),
            };
            self.clauses(&item.clauses, &inner);
        }
    }

    fn clauses(&mut self, clauses: &Clauses, at: &str) {
        for clause in &clauses.all {
            match &clause.kind {
                ClauseKind::AnyOf(items) | ClauseKind::AllOf(items) | ClauseKind::NoneOf(items) => {
                    self.items(items, at);
                }
                ClauseKind::If(case, then) => {
                    self.clauses(case, at);
                    self.clauses(then, at);
                }
                ClauseKind::Quantified { filter, consequence, .. } => {
                    filter.iter().chain(consequence).for_each(|inner| self.clauses(inner, at));
                }
                ClauseKind::NoWorse(_) | ClauseKind::Dated(..) | ClauseKind::Compare(..) => {}
            }
        }
    }
}

fn named(at: &str, head: &ExceptionHead) -> String {
    match &head.number {
        Some(number) => format!("{at} Ex. {}", number.text),
        None => format!("{at} Ex."),
    }
}

/// How labels count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Counting {
    Numbers,
    Capitals,
    Letters,
    Roman,
}

impl Counting {
    /// How these labels count, if all count alike.
    fn of(labels: &BTreeSet<&str>) -> Option<Counting> {
        let all = |one: fn(&str) -> bool| labels.iter().all(|label| one(label));
        let single = |label: &str| label.len() == 1;
        if all(|l| l.len() < 4 && l.bytes().all(|b| b.is_ascii_digit())) {
            Some(Counting::Numbers)
        } else if all(|l| l.len() == 1 && l.bytes().all(|b| b.is_ascii_uppercase())) {
            Some(Counting::Capitals)
        } else if all(|l| from_roman(l).is_some()) && (labels.contains("i") || !labels.iter().all(|l| single(l))) {
            Some(Counting::Roman)
        } else if all(|l| l.len() == 1 && l.bytes().all(|b| b.is_ascii_lowercase())) {
            Some(Counting::Letters)
        } else {
            None
        }
    }

    /// The place of a label, counted from one.
    fn place(self, label: &str) -> Option<u32> {
        let letter = |first: u8| label.bytes().next().map(|b| u32::from(b.saturating_sub(first)) + 1);
        match self {
            Counting::Numbers => label.parse().ok(),
            Counting::Capitals => letter(b'A'),
            Counting::Letters => letter(b'a'),
            Counting::Roman => from_roman(label),
        }
    }

    fn label(self, place: u32) -> String {
        let letter = |first: u8| {
            let at = u8::try_from(place.saturating_sub(1)).unwrap_or(0);
            char::from(first.saturating_add(at)).to_string()
        };
        match self {
            Counting::Numbers => place.to_string(),
            Counting::Capitals => letter(b'A'),
            Counting::Letters => letter(b'a'),
            Counting::Roman => roman(place),
        }
    }

    /// Places up to the last that no label has.
    fn missing(self, labels: &BTreeSet<&str>) -> Vec<u32> {
        let there: BTreeSet<u32> = labels.iter().filter_map(|label| self.place(label)).collect();
        (1..there.last().copied().unwrap_or(0)).filter(|at| !there.contains(at)).take(200).collect()
    }
}

const ROMAN: [(&str, u32); 9] =
    [("c", 100), ("xc", 90), ("l", 50), ("xl", 40), ("x", 10), ("ix", 9), ("v", 5), ("iv", 4), ("i", 1)];

fn roman(mut number: u32) -> String {
    let mut out = String::new();
    for (letters, value) in ROMAN {
        while number >= value {
            out.push_str(letters);
            number -= value;
        }
    }
    out
}

fn from_roman(label: &str) -> Option<u32> {
    let (mut rest, mut number) = (label, 0);
    for (letters, value) in ROMAN {
        while let Some(shorter) = rest.strip_prefix(letters) {
            number += value;
            rest = shorter;
        }
    }
    (rest.is_empty() && number > 0 && roman(number) == label).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_count_in_four_ways() {
        let of = |labels: &[&str]| {
            let set: BTreeSet<&str> = labels.iter().copied().collect();
            Counting::of(&set)
                .map(|counting| counting.missing(&set).into_iter().map(|at| counting.label(at)).collect::<Vec<_>>())
        };
        assert_eq!(of(&["1", "2", "5"]), Some(vec!["3".to_string(), "4".to_string()]));
        assert_eq!(of(&["A", "C"]), Some(vec!["B".to_string()]));
        assert_eq!(of(&["a", "b", "c"]), Some(vec![]));
        assert_eq!(of(&["i", "ii", "iv"]), Some(vec!["iii".to_string()]));
        assert_eq!(of(&["1", "A"]), None);
        assert_eq!(of(&["c"]), Some(vec!["a".to_string(), "b".to_string()]));
    }
}
