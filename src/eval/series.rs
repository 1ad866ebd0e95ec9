//! Standard values: the nearest one on a side. It never falls where what it is sought from rises, so the ends of a range
//! bound it; beyond the ends of the series the book does not say.

use super::truth::Lack;
use super::value::{Over, Spread, Value};
use crate::base::number::Number;
use crate::facts::installation::Range;
use crate::ir::program::{Series, Way};
use std::borrow::Cow;

/// The nearest value of a series from what is known of a number.
pub(super) fn next<'p>(series: &'p Series, way: Way, of: Value<'p>) -> Value<'p> {
    match of {
        Value::Absent => Value::Absent,
        Value::Step(_) => Value::gap(),
        Value::Exact(number) => match entry(series, way, &number) {
            Some(found) => Value::Exact(Cow::Borrowed(found)),
            None => Value::gap(),
        },
        Value::Spread(spread) => {
            let Over::Numbers(range) = &spread.over else { return Value::Spread(spread) };
            let upward = matches!(way, Way::Above | Way::AtOrAbove);
            let from_low = if range.above_low && way == Way::AtOrAbove { Way::Above } else { way };
            let from_high = if range.below_high && way == Way::AtOrBelow { Way::Below } else { way };
            let low = range.low.as_ref().map(|n| entry(series, from_low, n));
            let high = range.high.as_ref().map(|n| entry(series, from_high, n));
            // Nothing is left where even the nearer end finds no value.
            let nearer = if upward { &low } else { &high };
            if matches!(nearer, Some(None)) {
                let lack = spread.lack.and(Lack::GAP);
                return Value::Spread(Box::new(Spread { over: Over::Nothing, gap: true, lack, ..*spread }));
            }
            let further = if upward { &high } else { &low };
            let gap = spread.gap || !matches!(further, Some(Some(_)));
            let lack = if gap { spread.lack.and(Lack::GAP) } else { spread.lack };
            let low = low.flatten().or(series.values.first());
            let high = high.flatten().or(series.values.last());
            match (low, high) {
                (Some(one), Some(other)) if one == other && !gap && !spread.absent => Value::Exact(Cow::Borrowed(one)),
                _ => {
                    let range = Range { low: low.cloned(), above_low: false, high: high.cloned(), below_high: false };
                    Value::Spread(Box::new(Spread { over: Over::Numbers(range), gap, lack, ..*spread }))
                }
            }
        }
    }
}

/// The nearest value on a side, if there is one.
fn entry<'s>(series: &'s Series, way: Way, from: &Number) -> Option<&'s Number> {
    let values = &series.values;
    let at = match way {
        Way::Above => values.partition_point(|v| v <= from),
        Way::AtOrAbove => values.partition_point(|v| v < from),
        Way::Below => values.partition_point(|v| v < from).checked_sub(1)?,
        Way::AtOrBelow => values.partition_point(|v| v <= from).checked_sub(1)?,
    };
    values.get(at)
}
