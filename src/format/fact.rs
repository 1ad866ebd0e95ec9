//! Stated values as facts spell them.

use crate::syntax::ast::{FactBound, FactRange, FactSide, FactTerm, FactValue, KeyedFact};

/// A stated value on one line.
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

fn joined<T>(all: &[T], between: &str, one: impl Fn(&T) -> String) -> String {
    all.iter().map(one).collect::<Vec<_>>().join(between)
}

fn range(range: &FactRange) -> String {
    match &range.through {
        Some(through) => format!("{} through {}", term(&range.from), term(through)),
        None => term(&range.from),
    }
}

fn term(one: &FactTerm) -> String {
    match one {
        FactTerm::None(_) => "none".to_string(),
        FactTerm::Date(name) | FactTerm::Word(name) => name.text.to_string(),
        FactTerm::Text(name) => format!("\"{}\"", name.text),
        FactTerm::Measure(measure) => super::line::measure(measure),
    }
}

fn bound(bound: &FactBound) -> String {
    let side = match bound.side {
        FactSide::AtLeast => "at least",
        FactSide::AtMost => "at most",
        FactSide::MoreThan => "more than",
        FactSide::LessThan => "less than",
    };
    format!("{side} {}", term(&bound.term))
}

fn keyed(keyed: &KeyedFact) -> String {
    let through = match keyed.through.as_slice() {
        [] => String::new(),
        names => format!(" through {}", joined(names, " or ", |n| n.text.to_string())),
    };
    format!("{} from {}{through}", fact_value(&keyed.value), keyed.from.text)
}
