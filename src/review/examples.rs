//! Paragraphs that no example and no claim names.

use super::findings::Findings;
use super::{Book, headers};
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic};
use crate::syntax::ast::{Beside, Body, Item, Rulebook, StatementKind, Target};
use std::collections::{BTreeMap, BTreeSet};

/// Numbers and names that examples and claims of a family speak of.
fn spoken<'a>(family: &str, trees: &[(SourceId, &'a Rulebook)]) -> Option<BTreeSet<&'a str>> {
    let mut found = BTreeSet::new();
    let mut any = false;
    for (_, tree) in trees {
        let (mut ours, mut section) = (None, None);
        for item in &tree.items {
            match item {
                Item::Terms(header) => ours = Some(header.family.text == family),
                Item::Edition(header) => ours = Some(header.family.text == family),
                Item::Changes(set) => {
                    let base = set.edition.as_ref().or(set.base.as_ref());
                    ours = base.map(|base| base.family.text == family).or(ours);
                }
                Item::Section(own) => section = Some(own.address.text.as_str()),
                Item::Beside(beside) => {
                    let under = match beside.as_ref() {
                        Beside::Example(example) => example.under.as_ref(),
                        Beside::Claim(claim) => claim.under.as_ref(),
                        Beside::Fixture(_) | Beside::Survives(_) => continue,
                    };
                    // Where no family is named before it, it is run under what there is.
                    if !under.map_or(ours.unwrap_or(true), |under| under.family.text == family) {
                        continue;
                    }
                    any = true;
                    match beside.as_ref() {
                        Beside::Example(example) => {
                            for expect in &example.expects {
                                match &expect.target {
                                    Some(Target::At(address, _)) => {
                                        found.insert(address.text.as_str());
                                    }
                                    Some(Target::EverythingElse(_)) => {}
                                    None => found.extend(section),
                                }
                            }
                        }
                        Beside::Claim(claim) => {
                            found.insert(claim.rule.text.as_str());
                        }
                        Beside::Fixture(_) | Beside::Survives(_) => {}
                    }
                }
                _ => {}
            }
        }
    }
    any.then_some(found)
}

/// Looks at all paragraphs of the books of a family.
pub(super) fn review(family: &str, books: &[&Book], trees: &[(SourceId, &Rulebook)], findings: &mut Findings) {
    let Some(spoken) = spoken(family, trees) else {
        for (name, span) in headers(family, trees) {
            if books.iter().any(|book| book.program.edition == name) {
                let diagnostic = Diagnostic::advice(Code::NoExample, format!("no example is loaded for {name}"))
                    .at(span, "nothing shows that its rules say what was meant")
                    .help("write one beside the rules: a small installation with the verdicts it should get");
                findings.add(&name, diagnostic);
            }
        }
        return;
    };
    // A paragraph may be spoken of under the number it has in one edition only.
    let mut silent: BTreeMap<Span, (String, String, String)> = BTreeMap::new();
    let mut heard: BTreeSet<Span> = BTreeSet::new();
    for book in books {
        let mut paragraphs = BTreeMap::new();
        for item in &book.composed.items {
            if let Item::Section(section) = item {
                let address = section.address.text.to_string();
                within(&section.body, &address, &mut paragraphs);
                paragraphs.insert(address, section.address.span);
            }
        }
        for duty in &book.program.duties {
            let Some((paragraph, span)) = nearest(&duty.address, &paragraphs) else { continue };
            let first = book.composed.first_number(paragraph);
            let names = [duty.name.as_str(), duty.address.as_str()];
            let known = spoken.iter().any(|said| {
                names.contains(said)
                    || [paragraph, first.as_str()].iter().any(|own| below(said, own) || below(own, said))
            });
            if known {
                heard.insert(span);
            } else {
                let title = if duty.title.is_empty() { String::new() } else { format!(" ({})", duty.title) };
                silent.entry(span).or_insert_with(|| (paragraph.to_string(), title, book.program.edition.clone()));
            }
        }
    }
    for (span, (paragraph, title, book)) in silent {
        if !heard.contains(&span) {
            let diagnostic = Diagnostic::advice(Code::NoExample, format!("no example speaks of {paragraph}{title}"))
                .at(span, "nothing shows that this says what was meant")
                .help(format!("write one: `example \"…\" {{ given …  expect {paragraph} of NAME: met }}`"));
            findings.add(&book, diagnostic);
        }
    }
}

/// Numbers of all paragraphs of a body, with the places of their labels.
fn within(body: &Body, at: &str, found: &mut BTreeMap<String, Span>) {
    for statement in &body.statements {
        if let StatementKind::Paragraph { labels, body: Some(body), .. } = &statement.kind {
            let inner: String = labels.iter().map(|l| format!("({})", l.text)).collect();
            let inner = format!("{at}{inner}");
            let first = labels.first().map_or(statement.span, |l| l.span);
            found.insert(inner.clone(), labels.last().map_or(first, |l| first.to(l.span)));
            within(body, &inner, found);
        }
    }
}

/// The innermost paragraph a number lies in.
fn nearest<'p>(address: &str, paragraphs: &'p BTreeMap<String, Span>) -> Option<(&'p str, Span)> {
    let mut at = address;
    loop {
        if let Some((known, span)) = paragraphs.get_key_value(at) {
            return Some((known.as_str(), *span));
        }
        at = at.strip_suffix(')')?.rsplit_once('(')?.0;
    }
}

/// Whether a number lies at or below another.
fn below(address: &str, under: &str) -> bool {
    address.strip_prefix(under).is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
}
