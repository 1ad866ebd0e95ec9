//! Limits stated in two systems whose values differ by more than rounding explains.
//!
//! The second value is taken for a rounding of the first if it is nearest to it in the digits it is given in, or within
//! [`TRADE_PERCENT`] of it: the trade counts an inch as 25 mm, which is 1.6 %, and then rounds to whole steps.

use super::findings::Findings;
use crate::base::number::Number;
use crate::base::source::Sources;
use crate::base::unit::{self, Unit};
use crate::diag::{Code, Diagnostic};
use crate::sema;
use crate::syntax::ast::{
    Body, ClauseKind, Clauses, Enough, Expr, ExprKind, Item, Items, Measure, Predicate, PredicateKind, Quantifier,
    Quantity, ReadingSays, StatementKind, Value, ValueRange,
};

/// By how many parts in a hundred trade rounding may be off.
const TRADE_PERCENT: i64 = 3;
/// However few digits the second value has, it is not off by more parts in a hundred than this.
const MOST_PERCENT: i64 = 10;

/// Looks at all limits of some items.
pub(super) fn review(book: &str, items: &[&Item], sources: &Sources, findings: &mut Findings) {
    let mut see = |quantity: &Quantity| {
        if let Some(diagnostic) = differs(quantity, sources) {
            findings.add(book, diagnostic);
        }
    };
    items.iter().for_each(|item| in_item(item, &mut see));
}

fn differs(quantity: &Quantity, sources: &Sources) -> Option<Diagnostic> {
    let second = quantity.second.as_ref()?;
    let (from, to) = (last_unit(&quantity.first)?, last_unit(second)?);
    if from.dimension != to.dimension {
        return None;
    }
    let (one, two) = (sema::measured(&quantity.first)?, sema::measured(second)?);
    let text = second.parts.last()?.0.text.as_str();
    let step = step(text)?;
    // Readings of temperature have a zero of their own, so a step is a difference.
    let half = unit::to_base(&step, to).sub(&unit::to_base(&Number::ZERO, to)).div(&Number::decimal(2, 0))?;
    let percent = |n: i64| one.abs().mul(&Number::decimal(n, 2));
    let allowed = if to.dimension.is_point() {
        half.clone()
    } else {
        half.clone().min(percent(MOST_PERCENT)).max(percent(TRADE_PERCENT))
    };
    if one.sub(&two).abs() <= allowed {
        return None;
    }
    let exact = unit::from_base(&one, to)?;
    let [first_words, second_words] = [quantity.first.span, second.span].map(|span| sources.slice(span).trim());
    let digits = digits(text);
    let counted = if digits == 1 { "1 digit".to_string() } else { format!("{digits} digits") };
    let [low, high] = [two.sub(&half), two.add(&half)].map(|end| unit::from_base(&end, to));
    let shown = |n: &Number| trimmed(n.rounded(4));
    let symbol = second.parts.last()?.1.as_ref()?.text.as_str();
    Some(
        Diagnostic::warning(
            Code::DualDiffers,
            format!("{first_words} is {} {symbol}, not {second_words}", shown(&exact)),
        )
        .at(
            quantity.span,
            format!("{second_words}, in {counted}, rounds {} to {} {symbol}", shown(&low?), shown(&high?)),
        )
        .help("correct one of the two; where the book prints both like this, say so: `intended F0303 \"…\"`"),
    )
}

fn last_unit(measure: &Measure) -> Option<&'static Unit> {
    unit::lookup(&measure.parts.last()?.1.as_ref()?.text)
}

/// What the last digit that counts stands for: 0.1 for `2.3`, 100 for `900`, an eighth for `3/8`.
fn step(text: &str) -> Option<Number> {
    if let Some((_, bottom)) = text.rsplit_once('/') {
        return Number::ONE.div(&Number::parse_decimal(bottom.trim())?);
    }
    if let Some((_, decimals)) = text.split_once('.') {
        return Some(Number::decimal(1, u8::try_from(decimals.len()).ok()?));
    }
    let zeros = text.len() - text.trim_end_matches('0').len();
    let mut step = Number::ONE;
    for _ in 0..zeros.min(12) {
        step = step.mul(&Number::decimal(10, 0));
    }
    Some(step)
}

/// How many digits of a written number count.
fn digits(text: &str) -> usize {
    let decimal = text.contains('.');
    let plain: String = text.chars().filter(char::is_ascii_digit).collect();
    let plain = plain.trim_start_matches('0');
    if decimal { plain.len() } else { plain.trim_end_matches('0').len() }
}

fn trimmed(shown: String) -> String {
    if !shown.contains('.') {
        return shown;
    }
    shown.trim_end_matches('0').trim_end_matches('.').to_string()
}

// ------------------------------------------------------------------------------------------------ every quantity

type See<'s> = &'s mut dyn FnMut(&Quantity);

fn in_item(item: &Item, see: See) {
    match item {
        Item::Section(section) => in_body(&section.body, see),
        Item::Kind(kind) => in_items(&kind.items, see),
        Item::Define(define) => in_expr(&define.expr, see),
        Item::Limit(limit) => see(&limit.quantity),
        Item::Table(table) => {
            for (value, _) in table.rows.iter().flat_map(|row| &row.cells) {
                value.iter().for_each(|value| in_value(value, see));
            }
        }
        Item::Reading(reading) => {
            for option in &reading.options {
                match &option.says {
                    ReadingSays::Items(items) => in_items(items, see),
                    ReadingSays::Value(expr) => in_expr(expr, see),
                    ReadingSays::Enough(..) => {}
                }
            }
        }
        Item::Amount(amount) => amount.lines.iter().for_each(|line| in_expr(&line.expr, see)),
        Item::Series(series) => series.values.iter().for_each(|value| in_value(value, see)),
        Item::Terms(_)
        | Item::Edition(_)
        | Item::Choice(_)
        | Item::Scale(_)
        | Item::Thing(_)
        | Item::Changes(_)
        | Item::Jurisdiction(_)
        | Item::Beside(_) => {}
    }
}

fn in_body(body: &Body, see: See) {
    for statement in &body.statements {
        match &statement.kind {
            StatementKind::Paragraph { body: Some(body), .. } => in_body(body, see),
            StatementKind::When(clauses)
            | StatementKind::AlsoWhen(clauses)
            | StatementKind::PermitsOnly(clauses)
            | StatementKind::PermitsAs { clauses, .. }
            | StatementKind::Permits(clauses, _)
            | StatementKind::IfProvided(_, clauses) => in_clauses(clauses, see),
            StatementKind::Different(halves) => {
                halves.iter().filter_map(|h| h.clauses.as_ref()).for_each(|clauses| in_clauses(clauses, see));
            }
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                in_clauses(clauses, see);
                triggers.iter().for_each(|items| in_items(items, see));
            }
            StatementKind::Unless(_, case, enough) => {
                in_clauses(case, see);
                if let Some(Enough::Clauses(clauses)) = enough {
                    in_clauses(clauses, see);
                }
            }
            StatementKind::Exception(_, case, instead) | StatementKind::Modifies(_, case, instead) => {
                in_clauses(case, see);
                in_clauses(instead, see);
            }
            StatementKind::Waives(_, case) | StatementKind::Tally(_, _, case) => {
                case.iter().for_each(|clauses| in_clauses(clauses, see));
            }
            StatementKind::Marks
            | StatementKind::Paragraph { body: None, .. }
            | StatementKind::Governs { .. }
            | StatementKind::Notes(_) => {}
        }
    }
}

fn in_items(items: &Items, see: See) {
    items.all.iter().for_each(|item| in_clauses(&item.clauses, see));
}

fn in_clauses(clauses: &Clauses, see: See) {
    for clause in &clauses.all {
        match &clause.kind {
            ClauseKind::AnyOf(items) | ClauseKind::AllOf(items) | ClauseKind::NoneOf(items) => in_items(items, see),
            ClauseKind::If(case, then) => {
                in_clauses(case, see);
                in_clauses(then, see);
            }
            ClauseKind::Quantified { quantifier, filter, consequence, predicate, .. } => {
                if let Quantifier::Bound(_, count) = quantifier {
                    in_expr(count, see);
                }
                filter.iter().chain(consequence).for_each(|inner| in_clauses(inner, see));
                predicate.iter().for_each(|predicate| in_predicate(predicate, see));
            }
            ClauseKind::NoWorse(expr) => in_expr(expr, see),
            ClauseKind::Dated(..) => {}
            ClauseKind::Compare(expr, predicate) => {
                in_expr(expr, see);
                predicate.iter().for_each(|predicate| in_predicate(predicate, see));
            }
        }
    }
}

fn in_predicate(predicate: &Predicate, see: See) {
    match &predicate.kind {
        PredicateKind::Bound(_, expr) => in_expr(expr, see),
        PredicateKind::Is(values) | PredicateKind::IsNot(values) => values.iter().for_each(|v| in_range(v, see)),
        PredicateKind::Dated(..) | PredicateKind::Passes(_) | PredicateKind::PassesNot(_) => {}
    }
}

fn in_range(range: &ValueRange, see: See) {
    in_value(&range.from, see);
    range.through.iter().for_each(|value| in_value(value, see));
}

fn in_value(value: &Value, see: See) {
    if let Value::Quantity(quantity) = value {
        see(quantity);
    }
}

fn in_expr(expr: &Expr, see: See) {
    match &expr.kind {
        ExprKind::Quantity(quantity) => see(quantity),
        ExprKind::Lookup { keys, .. } => keys.iter().for_each(|key| in_expr(key, see)),
        ExprKind::Fold { filter, .. } => filter.iter().for_each(|filter| in_clauses(filter, see)),
        ExprKind::Clauses(clauses) => in_clauses(clauses, see),
        ExprKind::Binary(_, one, two)
        | ExprKind::Beyond(one, two)
        | ExprKind::PerOrFraction(one, two)
        | ExprKind::Either(_, one, two) => {
            in_expr(one, see);
            in_expr(two, see);
        }
        ExprKind::Rounded(inner, _) | ExprKind::Next { of: inner, .. } => in_expr(inner, see),
        ExprKind::FirstRow { keys, across, limit, .. } => {
            keys.iter().for_each(|key| in_expr(key, see));
            across.iter().for_each(|column| in_expr(column, see));
            in_expr(limit, see);
        }
        ExprKind::Provided(inner, case, otherwise) => {
            in_expr(inner, see);
            in_clauses(case, see);
            otherwise.iter().for_each(|other| in_expr(other, see));
        }
        ExprKind::Each { filter, of, .. } => {
            filter.iter().for_each(|filter| in_clauses(filter, see));
            in_expr(of, see);
        }
        ExprKind::Worded(_) | ExprKind::Date(_) | ExprKind::Path(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_digit_that_counts() {
        assert_eq!(step("2.3"), Some(Number::decimal(1, 1)));
        assert_eq!(step("900"), Some(Number::decimal(100, 0)));
        assert_eq!(step("3/8"), Number::from_ratio(1, 8));
        assert_eq!((digits("900"), digits("0.70"), digits("762")), (1, 2, 3));
    }
}
