//! Vague words where nobody is named to judge.
//!
//! Words such as `adequate` leave a decision to somebody. Where the field they describe, or every field a rule of that name
//! rests on, has neither `judgment` nor `external`, whoever states the facts has decided without being told so.

use super::Book;
use super::findings::Findings;
use super::reads::Judged;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::ir::program::KindId;
use crate::syntax::ast::{Body, Item, Modifier, StatementKind};
use std::collections::BTreeMap;

/// Words that ask for an opinion. Defined terms of the trade (accessible, identified, listed, effective path) are not among them.
const VAGUE: &[&str] = &[
    "adequate",
    "adequately",
    "sufficient",
    "sufficiently",
    "suitable",
    "suitably",
    "appropriate",
    "appropriately",
    "reasonable",
    "reasonably",
    "practicable",
    "impracticable",
    "feasible",
    "infeasible",
    "satisfactory",
    "satisfactorily",
    "proper",
    "properly",
    "acceptable",
    "acceptably",
    "approved",
    "substantial",
    "substantially",
    "excessive",
    "excessively",
    "unduly",
    "convenient",
    "conveniently",
];

/// The vague word of a text, if it has one.
fn vague(text: &str) -> Option<&'static str> {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty());
    words.find_map(|word| VAGUE.iter().find(|vague| **vague == word).copied())
}

const HELP: &str = "name who decides, and on what: `judgment \"the authority, on …\"`; or say what can be measured";

/// Looks at the words of a book. `items` are its own and those of its vocabulary.
pub(super) fn review(book: &Book, items: &[&Item], findings: &mut Findings) {
    let program = &book.program;
    let mut judged = Judged::new(program);
    let mut kinds: BTreeMap<Span, bool> = BTreeMap::new();
    for (at, kind) in program.kinds.iter().enumerate() {
        if let Ok(id) = u32::try_from(at) {
            kinds.insert(program.origin(kind.origin).span, judged.kind(KindId(id)));
        }
    }
    let mut paragraphs: BTreeMap<&str, bool> = BTreeMap::new();
    for duty in &program.duties {
        let rests = [duty.applies, duty.asks].into_iter().chain(duty.reliefs.iter().map(|r| r.test));
        let any = rests.into_iter().any(|test| judged.test(test, duty.subject));
        *paragraphs.entry(duty.address.as_str()).or_default() |= any;
    }
    let decided = |address: &str| {
        let within = |at: &str| at.strip_prefix(address).is_some_and(|rest| rest.is_empty() || rest.starts_with('('));
        let own: Vec<bool> = paragraphs.iter().filter(|(at, _)| within(at)).map(|(_, any)| *any).collect();
        // Where nothing is demanded nothing is to be decided.
        own.is_empty() || own.contains(&true)
    };
    for item in items {
        match item {
            Item::Thing(thing) => {
                for field in &thing.fields {
                    let named = |m: &Modifier| matches!(m, Modifier::Judgment(..) | Modifier::External(..));
                    let text = format!("{} {}", field.name.text, field.about.as_deref().unwrap_or(""));
                    if let Some(word) = vague(&text).filter(|_| !field.modifiers.iter().any(named)) {
                        let title = format!("`{word}` in `{}` of {}: who decides?", field.name.text, thing.name.text);
                        let diagnostic = Diagnostic::advice(Code::VagueWord, title)
                            .at(field.name.span, "asked as a plain fact")
                            .help(HELP);
                        findings.add("", diagnostic);
                    }
                }
            }
            Item::Kind(kind) => {
                let text = format!("{} {}", kind.name.text, kind.about.as_deref().unwrap_or(""));
                let decided = kinds.get(&kind.name.span).copied().unwrap_or(true);
                if let Some(word) = vague(&text).filter(|_| !decided) {
                    let title = format!("`{word}` in `{}`: who decides?", kind.name.text);
                    let diagnostic = Diagnostic::advice(Code::VagueWord, title)
                        .at(kind.name.span, "rests on plain facts only")
                        .help(HELP);
                    findings.add(&program.edition, diagnostic);
                }
            }
            Item::Section(section) => {
                let address = section.address.text.as_str();
                let title = section.title.as_deref().unwrap_or("");
                heading(title, address, section.address.span, &decided, &program.edition, findings);
                headings(&section.body, address, &decided, &program.edition, findings);
            }
            _ => {}
        }
    }
}

fn headings(body: &Body, at: &str, decided: &dyn Fn(&str) -> bool, book: &str, findings: &mut Findings) {
    for statement in &body.statements {
        if let StatementKind::Paragraph { labels, title, body: Some(body), .. } = &statement.kind {
            let inner: String = labels.iter().map(|l| format!("({})", l.text)).collect();
            let inner = format!("{at}{inner}");
            let span = labels.first().map_or(statement.span, |label| label.span);
            heading(title.as_deref().unwrap_or(""), &inner, span, decided, book, findings);
            headings(body, &inner, decided, book, findings);
        }
    }
}

fn heading(
    title: &str,
    address: &str,
    span: Span,
    decided: &dyn Fn(&str) -> bool,
    book: &str,
    findings: &mut Findings,
) {
    if let Some(word) = vague(title).filter(|_| !decided(address)) {
        let diagnostic =
            Diagnostic::advice(Code::VagueWord, format!("`{word}` in the title of {address}: who decides?"))
                .at(span, "rests on plain facts only")
                .help(HELP);
        findings.add(book, diagnostic);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_words_only() {
        assert_eq!(vague("an Adequate path"), Some("adequate"));
        assert_eq!(vague("suitable-for-wet"), Some("suitable"));
        assert_eq!(vague("inadequate properties"), None);
    }
}
