//! Values of expressions: exact, or spread over what is still possible.

use super::truth::{Lack, Truth};
use crate::base::number::Number;
use crate::facts::installation::Range;
use crate::ir::program::Compare;
use crate::ir::schema::ValueSet;
use std::borrow::Cow;

/// The value of an expression.
#[derive(Debug, Clone)]
pub(super) enum Value<'v> {
    /// Known absence: every comparison with it is false.
    Absent,
    /// A known number.
    Exact(Cow<'v, Number>),
    /// A known step or choice value.
    Step(ValueSet),
    /// Not wholly known.
    Spread(Box<Spread>),
}

/// What is still possible.
#[derive(Debug, Clone)]
pub(super) struct Spread {
    pub(super) over: Over,
    /// It may be absent.
    pub(super) absent: bool,
    /// The book may not say.
    pub(super) gap: bool,
    pub(super) lack: Lack,
}

#[derive(Debug, Clone)]
pub(super) enum Over {
    Nothing,
    Numbers(Range),
    Steps(ValueSet),
}

impl<'v> Value<'v> {
    pub(super) fn number(number: Number) -> Value<'v> {
        Value::Exact(Cow::Owned(number))
    }

    /// The book does not say.
    pub(super) fn gap() -> Value<'v> {
        Value::Spread(Box::new(Spread { over: Over::Nothing, absent: false, gap: true, lack: Lack::GAP }))
    }

    pub(super) fn spread(range: Range, lack: Lack) -> Value<'v> {
        Value::Spread(Box::new(Spread { over: Over::Numbers(range), absent: false, gap: false, lack }))
    }

    /// The value as something spread.
    pub(super) fn into_spread(self) -> Spread {
        match self {
            Value::Absent => Spread { over: Over::Nothing, absent: true, gap: false, lack: Lack::NOTHING },
            Value::Exact(number) => Spread {
                over: Over::Numbers(point(number.into_owned())),
                absent: false,
                gap: false,
                lack: Lack::NOTHING,
            },
            Value::Step(set) => Spread { over: Over::Steps(set), absent: false, gap: false, lack: Lack::NOTHING },
            Value::Spread(spread) => *spread,
        }
    }

    /// Either of two values, decided by what is lacking.
    pub(super) fn join(self, other: Value<'v>, between: Lack) -> Value<'v> {
        if let (Value::Exact(a), Value::Exact(b)) = (&self, &other)
            && a == b
        {
            return self;
        }
        if let (Value::Step(a), Value::Step(b)) = (&self, &other)
            && a == b
        {
            return self;
        }
        if let (Value::Absent, Value::Absent) = (&self, &other) {
            return self;
        }
        let (a, b) = (self.into_spread(), other.into_spread());
        let over = match (a.over, b.over) {
            (Over::Nothing, over) | (over, Over::Nothing) => over,
            (Over::Numbers(a), Over::Numbers(b)) => Over::Numbers(hull(a, b)),
            (Over::Steps(a), Over::Steps(b)) => Over::Steps(a | b),
            (over, _) => over,
        };
        Value::Spread(Box::new(Spread {
            over,
            absent: a.absent || b.absent,
            gap: a.gap || b.gap,
            lack: a.lack.and(b.lack).and(between),
        }))
    }
}

pub(super) fn point(number: Number) -> Range {
    Range { low: Some(number.clone()), above_low: false, high: Some(number), below_high: false }
}

/// The smallest range around two.
fn hull(a: Range, b: Range) -> Range {
    let (low, above_low) = match (a.low, b.low) {
        (Some(x), Some(y)) if x == y => (Some(x), a.above_low && b.above_low),
        (Some(x), Some(y)) => {
            if x < y {
                (Some(x), a.above_low)
            } else {
                (Some(y), b.above_low)
            }
        }
        _ => (None, false),
    };
    let (high, below_high) = match (a.high, b.high) {
        (Some(x), Some(y)) if x == y => (Some(x), a.below_high && b.below_high),
        (Some(x), Some(y)) => {
            if x > y {
                (Some(x), a.below_high)
            } else {
                (Some(y), b.below_high)
            }
        }
        _ => (None, false),
    };
    Range { low, above_low, high, below_high }
}

/// Whether two exact numbers stand in a relation.
#[inline]
pub(super) fn holds(left: &Number, compare: Compare, right: &Number) -> bool {
    match compare {
        Compare::AtLeast => left >= right,
        Compare::AtMost => left <= right,
        Compare::MoreThan => left > right,
        Compare::LessThan => left < right,
        Compare::Equal => left == right,
    }
}

/// `a` lies wholly above `b`, or touches it from above (`touching`).
fn above(low: Option<&Number>, low_open: bool, high: Option<&Number>, high_open: bool, touching: bool) -> bool {
    match (low, high) {
        (Some(low), Some(high)) => low > high || (low == high && (touching || low_open || high_open)),
        _ => false,
    }
}

/// Compares what is possible of two values.
pub(super) fn compare(left: &Value, relation: Compare, right: &Value) -> Truth {
    match (left, right) {
        (Value::Absent, _) | (_, Value::Absent) => Truth::No,
        (Value::Exact(a), Value::Exact(b)) => Truth::known(holds(a, relation, b)),
        (Value::Step(a), Value::Step(b)) => Truth::known(holds_steps(*a, relation, *b)),
        _ => {
            let (a, b) = (left.clone().into_spread(), right.clone().into_spread());
            let lack = a.lack.and(b.lack);
            let may_be_absent = a.absent || b.absent;
            let gap = a.gap || b.gap;
            let answer = match (&a.over, &b.over) {
                (Over::Numbers(a), Over::Numbers(b)) => ranges(a, relation, b),
                (Over::Steps(a), Over::Steps(b)) => steps(*a, relation, *b),
                // Only absence or a gap is possible on one side.
                (Over::Nothing, _) | (_, Over::Nothing) => return if gap { Truth::Unknown(lack) } else { Truth::No },
                _ => None,
            };
            match answer {
                Some(true) if !may_be_absent && !gap => Truth::Yes,
                Some(false) if !gap => Truth::No,
                _ => Truth::Unknown(lack),
            }
        }
    }
}

/// Two ranges: yes, no, or it depends.
pub(super) fn ranges(a: &Range, relation: Compare, b: &Range) -> Option<bool> {
    let a_over_b = |touching| above(a.low.as_ref(), a.above_low, b.high.as_ref(), b.below_high, touching);
    let b_over_a = |touching| above(b.low.as_ref(), b.above_low, a.high.as_ref(), a.below_high, touching);
    match relation {
        Compare::AtLeast if a_over_b(true) => Some(true),
        Compare::AtLeast if b_over_a(false) => Some(false),
        Compare::MoreThan if a_over_b(false) => Some(true),
        Compare::MoreThan if b_over_a(true) => Some(false),
        Compare::AtMost if b_over_a(true) => Some(true),
        Compare::AtMost if a_over_b(false) => Some(false),
        Compare::LessThan if b_over_a(false) => Some(true),
        Compare::LessThan if a_over_b(true) => Some(false),
        Compare::Equal => {
            if a_over_b(false) || b_over_a(false) {
                Some(false)
            } else if a.low.is_some() && a.low == a.high && b.low == a.low && b.high == a.low {
                Some(true)
            } else {
                None
            }
        }
        Compare::AtLeast | Compare::MoreThan | Compare::AtMost | Compare::LessThan => None,
    }
}

fn holds_steps(a: ValueSet, relation: Compare, b: ValueSet) -> bool {
    let (a, b) = (a.trailing_zeros(), b.trailing_zeros());
    match relation {
        Compare::AtLeast => a >= b,
        Compare::AtMost => a <= b,
        Compare::MoreThan => a > b,
        Compare::LessThan => a < b,
        Compare::Equal => a == b,
    }
}

fn steps(a: ValueSet, relation: Compare, b: ValueSet) -> Option<bool> {
    if a == 0 || b == 0 {
        return None;
    }
    if relation == Compare::Equal {
        return match (a & b == 0, a.count_ones() == 1 && a == b) {
            (true, _) => Some(false),
            (_, true) => Some(true),
            _ => None,
        };
    }
    let (a_low, a_high) = (1u128 << a.trailing_zeros(), 1u128 << (127 - a.leading_zeros()));
    let (b_low, b_high) = (1u128 << b.trailing_zeros(), 1u128 << (127 - b.leading_zeros()));
    let (worst, best) = match relation {
        Compare::AtLeast | Compare::MoreThan => ((a_low, b_high), (a_high, b_low)),
        _ => ((a_high, b_low), (a_low, b_high)),
    };
    if holds_steps(worst.0, relation, worst.1) {
        Some(true)
    } else if !holds_steps(best.0, relation, best.1) {
        Some(false)
    } else {
        None
    }
}
