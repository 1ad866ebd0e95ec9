//! Facts as text, in the native form.

use super::line;
use crate::syntax::ast::*;
use std::fmt::Write;

/// A whole file of facts. It reads back as the same facts; comments are not in the tree and do not come back.
pub fn file(file: &FactsFile) -> String {
    file.items.iter().map(item).collect::<Vec<_>>().join("\n")
}

/// One item of a file of facts, as whole lines.
pub fn item(item: &FactItem) -> String {
    let mut text = String::new();
    match item {
        FactItem::Project { title, block, .. } => {
            let title = title.as_ref().map_or_else(String::new, |t| format!(" \"{}\"", t.text));
            opened(&format!("project{title}"), block, 0, &mut text);
        }
        FactItem::Instance { thing, name, block, .. } => {
            opened(&format!("{} {}", thing.text, name.text), block, 0, &mut text);
        }
        FactItem::Absent { thing, .. } => {
            let _ = writeln!(text, "{}: none", thing.text);
        }
        FactItem::MaybeMore { thing, .. } => {
            let _ = writeln!(text, "and maybe more {}", thing.text);
        }
        FactItem::Before { state, .. } => match state {
            BeforeState::Unknown => text.push_str("before: unknown\n"),
            BeforeState::Nothing => text.push_str("before: none\n"),
            BeforeState::Stated(items) => inside("before", items, &mut text),
            BeforeState::SameExcept(items) => inside("before: same except", items, &mut text),
        },
    }
    text
}

/// Items between the braces of another.
fn inside(head: &str, items: &[FactItem], text: &mut String) {
    let _ = writeln!(text, "{head} {{");
    for line in items.iter().flat_map(|one| item(one).lines().map(str::to_string).collect::<Vec<_>>()) {
        let _ = writeln!(text, "    {line}");
    }
    text.push_str("}\n");
}

fn opened(head: &str, block: &Block, depth: usize, text: &mut String) {
    let indent = "    ".repeat(depth);
    if block.entries.is_empty() && block.more.is_none() {
        let _ = writeln!(text, "{indent}{head} {{ }}");
        return;
    }
    let _ = writeln!(text, "{indent}{head} {{");
    for entry in &block.entries {
        match &entry.value {
            EntryValue::Block(inner) => opened(&entry.name.text, inner, depth + 1, text),
            EntryValue::Value(value, _) => {
                let _ = writeln!(text, "{indent}    {}: {}", entry.name.text, fact_value(value));
            }
        }
    }
    if block.more.is_some() {
        let _ = writeln!(text, "{indent}    and maybe more");
    }
    let _ = writeln!(text, "{indent}}}");
}

fn joined<T>(all: &[T], between: &str, one: impl Fn(&T) -> String) -> String {
    all.iter().map(one).collect::<Vec<_>>().join(between)
}

/// One stated value.
pub fn fact_value(value: &FactValue) -> String {
    match value {
        FactValue::Unknown => "unknown".to_string(),
        FactValue::OneOf(ranges) => joined(ranges, " or ", range),
        FactValue::List(terms) => joined(terms, ", ", term),
        FactValue::Not(ranges) => format!("not {}", joined(ranges, " or ", range)),
        FactValue::Bounds(bounds) => joined(bounds, " and ", bound),
        FactValue::Keyed(all) => joined(all, ", ", keyed),
    }
}

fn range(range: &FactRange) -> String {
    match &range.through {
        Some(through) => format!("{} through {}", term(&range.from), term(through)),
        None => term(&range.from),
    }
}

fn term(term: &FactTerm) -> String {
    match term {
        FactTerm::None(_) => "none".to_string(),
        FactTerm::Date(name) | FactTerm::Word(name) => name.text.to_string(),
        FactTerm::Text(text) => format!("\"{}\"", text.text),
        FactTerm::Measure(measure) => line::measure(measure),
    }
}

fn bound(bound: &FactBound) -> String {
    let dated = matches!(bound.term, FactTerm::Date(_));
    let word = match (bound.side, dated) {
        (FactSide::AtLeast, _) => "at least",
        (FactSide::AtMost, false) => "at most",
        (FactSide::AtMost, true) => "through",
        (FactSide::MoreThan, false) => "more than",
        (FactSide::MoreThan, true) => "after",
        (FactSide::LessThan, false) => "less than",
        (FactSide::LessThan, true) => "before",
    };
    format!("{word} {}", term(&bound.term))
}

fn keyed(fact: &KeyedFact) -> String {
    let through = match fact.through.as_slice() {
        [] => String::new(),
        names => format!(" through {}", joined(names, " or ", |n| n.text.to_string())),
    };
    format!("{} from {}{through}", fact_value(&fact.value), fact.from.text)
}
