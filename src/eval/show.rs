//! Values in a person's words.

use crate::base::date::Date;
use crate::base::dimension::Dimension;
use crate::base::number::Number;
use crate::base::unit;
use crate::facts::installation::{Cell, Installation, MaybeAbsent, Range};
use crate::ir::schema::{Domain, Field, FieldType, Schema, ValueSet, YES};

/// What is known of a field, in words.
pub(super) fn cell(schema: &Schema, facts: &Installation, field: &Field, cell: &Cell) -> String {
    let or_none = |text: String, absent: &MaybeAbsent| match absent {
        MaybeAbsent::Present => text,
        MaybeAbsent::Perhaps => format!("{text} or none"),
    };
    match cell {
        Cell::Unknown => "unknown".to_string(),
        Cell::Absent => "none".to_string(),
        Cell::Values(set, absent) => or_none(values(schema, &field.ty, *set), absent),
        Cell::Number(value) => number(&field.ty, value),
        Cell::Range(bounds, absent) => or_none(range(&field.ty, bounds), absent),
        Cell::Text(text) => format!("\"{text}\""),
        Cell::Object(object) => facts.full_name(schema, *object),
        Cell::OneOfObjects(objects, absent) => {
            let names: Vec<String> = objects.iter().map(|o| facts.full_name(schema, *o)).collect();
            or_none(names.join(" or "), absent)
        }
        Cell::List(list) => {
            let names: Vec<&str> = list.members.iter().map(|m| &*facts.object(*m).name).collect();
            let more = if list.more.is_some() { " and maybe more" } else { "" };
            if names.is_empty() && more.is_empty() { "none".to_string() } else { format!("{}{more}", names.join(", ")) }
        }
    }
}

/// Values of a choice, scale or yes-no field.
pub(crate) fn values(schema: &Schema, ty: &FieldType, set: ValueSet) -> String {
    match ty {
        FieldType::OneOf(domain) => steps(schema.domain(*domain), set),
        _ if set == YES => "yes".to_string(),
        _ if set & YES == 0 => "no".to_string(),
        _ => "yes or no".to_string(),
    }
}

/// Values of a choice or scale.
pub(super) fn steps(domain: &Domain, set: ValueSet) -> String {
    let names: Vec<&str> =
        domain.values.iter().enumerate().filter(|(at, _)| set & (1 << at) != 0).map(|(_, v)| v.as_str()).collect();
    match names.as_slice() {
        [first, .., last] if domain.ordered && names.len() > 3 => format!("{first} through {last}"),
        _ => names.join(" or "),
    }
}

/// A number of a field.
pub(super) fn number(ty: &FieldType, value: &Number) -> String {
    match ty {
        FieldType::Quantity(dimension) => quantity(*dimension, value),
        FieldType::Date => match value.to_i64().and_then(Date::from_days_since_epoch) {
            Some(date) => date.to_string(),
            None => value.to_string(),
        },
        _ => value.to_string(),
    }
}

/// A quantity in the unit that says it shortest without rounding.
pub(super) fn quantity(dimension: Dimension, value: &Number) -> String {
    let candidates = unit::all()
        .filter(|u| u.dimension == dimension && COMMON.contains(&u.symbol))
        .filter(|u| unit::from_base(value, u).is_some_and(|number| number.is_terminating()))
        .map(|u| unit::show(value, dimension, Some(u)));
    candidates.min_by_key(String::len).unwrap_or_else(|| unit::show(value, dimension, None))
}

/// Units a person in the trade would say.
const COMMON: &[&str] = &[
    "in", "ft", "m", "mm", "in2", "ft2", "mm2", "cmil", "in3", "cm3", "V", "kV", "A", "kA", "W", "kW", "VA", "kVA",
    "degC", "degF", "deg", "lb", "kg", "s", "min", "h", "day", "%",
];

/// Whether a person in the trade would say a unit.
pub(super) fn is_common(symbol: &str) -> bool {
    COMMON.contains(&symbol)
}

fn range(ty: &FieldType, range: &Range) -> String {
    let low = range.low.as_ref().map(|n| {
        let word = if range.above_low { "more than" } else { "at least" };
        format!("{word} {}", number(ty, n))
    });
    let high = range.high.as_ref().map(|n| {
        let word = if range.below_high { "less than" } else { "at most" };
        format!("{word} {}", number(ty, n))
    });
    match (low, high) {
        (Some(low), Some(high)) => format!("{low} and {high}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => "unknown".to_string(),
    }
}
