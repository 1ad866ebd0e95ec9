//! Expressions: exact arithmetic on what is known, intervals on what is not.

use super::condition::{clamped, count_value};
use super::machine::{Machine, Reached};
use super::truth::{Lack, Truth};
use super::value::{Over, Spread, Value, point};
use crate::base::number::Number;
use crate::facts::installation::{Cell, ListCell, MaybeAbsent, ObjectId, Past, Range};
use crate::ir::program::{Expr, ExprId, FirstRow, List, Object, Place, ReadingId};
use crate::ir::schema::FieldType;
use std::borrow::Cow;

/// An operation on one number.
type Unary<'f> = &'f dyn Fn(&Number) -> Number;

impl<'p> Machine<'p> {
    /// The value of an expression.
    pub(super) fn value(&mut self, id: ExprId) -> Value<'p> {
        let program = self.program;
        match program.expr(id) {
            Expr::Number(number) => Value::Exact(Cow::Borrowed(number)),
            Expr::Value(_, set) => {
                if set.count_ones() == 1 {
                    Value::Step(*set)
                } else {
                    Value::Spread(Box::new(Spread {
                        over: Over::Steps(*set),
                        absent: false,
                        gap: false,
                        lack: Lack::NOTHING,
                    }))
                }
            }
            Expr::Read(place) => self.read(place),
            Expr::Add(a, b) => self.binary(*a, *b, Number::add, add_ranges),
            Expr::Sub(a, b) => self.binary(*a, *b, Number::sub, |a, b| add_ranges(a, &negated(b))),
            Expr::Mul(a, b) => self.binary(*a, *b, Number::mul, mul_ranges),
            Expr::Div(a, b) => self.divide(*a, *b),
            Expr::Beyond(a, b) => {
                let difference = self.binary(*a, *b, Number::sub, |a, b| add_ranges(a, &negated(b)));
                monotone(difference, &|n| if n.is_negative() { Number::ZERO } else { n.clone() })
            }
            Expr::RoundUp(a) => monotone(self.value(*a), &Number::ceil),
            Expr::RoundDown(a) => monotone(self.value(*a), &Number::floor),
            Expr::RoundUpFrom(a, from) => monotone(self.value(*a), &|n| n.round_up_from(from)),
            Expr::Count(list) => self.value_at(&list.place.object, |m, object| {
                let tally = m.tally(object, list, None);
                count_value(&tally)
            }),
            Expr::Sum { list, of, never_negative } => {
                self.value_at(&list.place.object, |m, object| m.sum(object, list, *of, *never_negative))
            }
            Expr::Largest(list, of) => {
                self.value_at(&list.place.object, |m, object| m.extreme(object, list, *of, true))
            }
            Expr::Smallest(list, of) => {
                self.value_at(&list.place.object, |m, object| m.extreme(object, list, *of, false))
            }
            Expr::Lookup(table, keys) => {
                let keys: Vec<Value> = keys.iter().map(|key| self.value(*key)).collect();
                match program.tables.get(table.index()) {
                    Some(table) => super::lookup::look_up(table, &keys),
                    None => Value::gap(),
                }
            }
            Expr::Before(of, variables) => self.before(*of, *variables),
            Expr::Provided { case, then, otherwise } => match self.test(*case) {
                Truth::Yes => self.value(*then),
                Truth::No => self.value(*otherwise),
                // Either; what makes the case known picks one of the two.
                Truth::Unknown(lack) => {
                    let then = self.value(*then);
                    then.join(self.value(*otherwise), lack)
                }
            },
            Expr::Larger(a, b) => {
                let one = self.value(*a);
                pick(one, self.value(*b), true)
            }
            Expr::Smaller(a, b) => {
                let one = self.value(*a);
                pick(one, self.value(*b), false)
            }
            Expr::Next(series, way, of) => {
                let of = self.value(*of);
                match program.series.get(series.index()) {
                    Some(series) => super::series::next(series, *way, of),
                    None => Value::gap(),
                }
            }
            Expr::FirstRow(row) => self.first_row(row),
            Expr::Reading(reading, options) => self.disputed(*reading, options),
            Expr::Formula(object, formula) => {
                let Some(formula) = program.formulas.get(formula.index()) else { return Value::gap() };
                self.value_at(object, |m, object| m.within(object, Value::gap(), |m| m.value(formula.expr)))
            }
        }
    }

    /// What an expression was before the work. Whether a thing was there may turn out either way while it is not known, so the
    /// value is then anything, or none.
    fn before(&mut self, of: ExprId, variables: u8) -> Value<'p> {
        let saved = self.vars;
        let mut unknown = false;
        for slot in self.vars.iter_mut().take(usize::from(variables)) {
            match self.facts.before(*slot) {
                Past::Was(then) => *slot = then,
                Past::New => {
                    self.vars = saved;
                    return Value::Absent;
                }
                Past::Unknown => unknown = true,
            }
        }
        if unknown {
            self.vars = saved;
            let over = Over::Numbers(Range::default());
            return Value::Spread(Box::new(Spread { over, absent: true, gap: false, lack: Lack::FACT }));
        }
        let project = std::mem::replace(&mut self.project, self.facts.project_before);
        let value = self.value(of);
        self.project = project;
        self.vars = saved;
        value
    }

    /// A value at each object a path may lead to, joined.
    fn value_at(&mut self, object: &Object, mut read: impl FnMut(&mut Self, ObjectId) -> Value<'p>) -> Value<'p> {
        match self.reach(object) {
            Reached::One(id) => read(self, id),
            Reached::Absent => Value::Absent,
            Reached::Anything(id, absent) => {
                let value = match read(self, id) {
                    Value::Spread(mut spread) => {
                        spread.lack = spread.lack.and(Lack::FACT);
                        Value::Spread(spread)
                    }
                    known => known,
                };
                match absent {
                    MaybeAbsent::Present => value,
                    MaybeAbsent::Perhaps => value.join(Value::Absent, Lack::FACT),
                }
            }
            Reached::Several(ids, absent) => {
                let mut joined = match absent {
                    MaybeAbsent::Present => None,
                    MaybeAbsent::Perhaps => Some(Value::Absent),
                };
                for id in ids {
                    let value = read(self, *id);
                    joined = Some(match joined {
                        None => value,
                        Some(before) => before.join(value, Lack::FACT),
                    });
                }
                joined.unwrap_or(Value::Absent)
            }
        }
    }

    fn read(&mut self, place: &Place) -> Value<'p> {
        self.value_at(&place.object, |m, object| {
            let field = m.field(place);
            let lack = m.lack_of(place);
            let spread = |over: Over, absent: bool| Value::Spread(Box::new(Spread { over, absent, gap: false, lack }));
            match m.cell(object, place) {
                Cell::Number(number) => Value::Exact(Cow::Borrowed(number)),
                Cell::Absent => Value::Absent,
                Cell::Values(set, MaybeAbsent::Present) if set.count_ones() == 1 => Value::Step(*set),
                Cell::Values(set, absent) => spread(Over::Steps(*set), *absent == MaybeAbsent::Perhaps),
                Cell::Range(range, absent) => {
                    spread(Over::Numbers(clamped(range, field)), *absent == MaybeAbsent::Perhaps)
                }
                _ => match field.ty {
                    FieldType::OneOf(domain) => {
                        spread(Over::Steps(m.program.schema.domain(domain).all()), field.may_be_absent)
                    }
                    _ => {
                        let low = field.never_negative.then_some(Number::ZERO);
                        spread(Over::Numbers(Range { low, ..Range::default() }), field.may_be_absent)
                    }
                },
            }
        })
    }

    /// The row a table has for a cell.
    #[inline(never)]
    fn first_row(&mut self, row: &'p FirstRow) -> Value<'p> {
        let keys: Vec<Value> = row.keys.iter().map(|key| self.value(*key)).collect();
        let column = row.column.map(|column| self.value(column));
        let limit = self.value(row.limit);
        match self.program.tables.get(row.table.index()) {
            Some(table) => super::lookup::first_row(table, &keys, column.as_ref(), row.compare, &limit),
            None => Value::gap(),
        }
    }

    /// A disputed value: the option chosen, or all of them joined.
    #[inline(never)]
    fn disputed(&mut self, reading: ReadingId, options: &'p [ExprId]) -> Value<'p> {
        if let Some(chosen) = self.choices.get(reading) {
            return options.get(chosen).map_or_else(Value::gap, |option| self.value(*option));
        }
        let mut joined: Option<Value<'p>> = None;
        for option in options {
            let value = self.value(*option);
            joined = Some(match joined {
                None => value,
                Some(before) => before.join(value, Lack::READING),
            });
        }
        let joined = joined.unwrap_or_else(Value::gap);
        if matches!(joined, Value::Spread(_)) {
            self.mattered.add(reading);
        }
        joined
    }

    fn binary(
        &mut self,
        left: ExprId,
        right: ExprId,
        exact: impl Fn(&Number, &Number) -> Number,
        ranges: impl Fn(&Range, &Range) -> Range,
    ) -> Value<'p> {
        let left = self.value(left);
        let right = self.value(right);
        match (left, right) {
            (Value::Absent, _) | (_, Value::Absent) => Value::Absent,
            (Value::Exact(a), Value::Exact(b)) => Value::number(exact(&a, &b)),
            (a, b) => {
                let (a, b) = (a.into_spread(), b.into_spread());
                let over = match (&a.over, &b.over) {
                    (Over::Numbers(a), Over::Numbers(b)) => Over::Numbers(ranges(a, b)),
                    _ => Over::Nothing,
                };
                combined(over, &a, &b)
            }
        }
    }

    fn divide(&mut self, left: ExprId, right: ExprId) -> Value<'p> {
        let left = self.value(left);
        let right = self.value(right);
        match (left, right) {
            (Value::Absent, _) | (_, Value::Absent) => Value::Absent,
            (Value::Exact(a), Value::Exact(b)) => match a.div(&b) {
                Some(quotient) => Value::number(quotient),
                None => Value::gap(),
            },
            (a, b) => {
                let (a, mut b) = (a.into_spread(), b.into_spread());
                let over = match (&a.over, &b.over) {
                    (Over::Numbers(a), Over::Numbers(range)) => match reciprocal(range) {
                        Some((inverse, may_be_zero)) => {
                            if may_be_zero {
                                b.gap = true;
                                b.lack = b.lack.and(Lack::GAP);
                            }
                            Over::Numbers(mul_ranges(a, &inverse))
                        }
                        None => return Value::gap(),
                    },
                    _ => Over::Nothing,
                };
                combined(over, &a, &b)
            }
        }
    }

    // -------------------------------------------------------------------------------------------- folds

    /// Each member that may be meant: whether it surely is, and its value. If there may be others, what that lacks and the
    /// value of one of which nothing is known.
    fn summands(
        &mut self,
        cell: &'p ListCell,
        list: &List,
        of: ExprId,
        mut each: impl FnMut(Truth, Value<'p>),
    ) -> Option<(Lack, Value<'p>)> {
        for member in &cell.members {
            let meant = self.meant(list, *member);
            if meant != Truth::No {
                let value = self.value(of);
                each(meant, value);
            }
        }
        for member in &cell.perhaps {
            let meant = self.meant(list, *member).and(Truth::Unknown(Lack::FACT));
            if meant != Truth::No {
                let value = self.value(of);
                each(meant, value);
            }
        }
        let more = cell.more?;
        match self.meant(list, more) {
            Truth::No => None,
            meant => Some((meant.lack().and(Lack::FACT), self.value(of))),
        }
    }

    fn sum(&mut self, object: ObjectId, list: &List, of: ExprId, never_negative: bool) -> Value<'p> {
        let Some(cell) = self.list_cell(object, &list.place) else {
            return Value::spread(Range::default(), Lack::FACT);
        };
        let mut exact = Number::ZERO;
        let mut spread: Option<Spread> = None;
        let mut absent = false;
        let more = self.summands(cell, list, of, |meant, value| match (meant, value) {
            (Truth::Yes, Value::Exact(number)) => exact = exact.add(&number),
            (Truth::Yes, Value::Absent) => absent = true,
            (meant, value) => {
                let mut one = value.into_spread();
                if meant != Truth::Yes {
                    one.lack = one.lack.and(meant.lack());
                    one.over = match one.over {
                        Over::Numbers(range) if never_negative => {
                            Over::Numbers(Range { low: Some(Number::ZERO), above_low: false, ..range })
                        }
                        // It adds nothing, or its value is absent or a gap.
                        Over::Nothing => Over::Numbers(point(Number::ZERO)),
                        Over::Numbers(_) | Over::Steps(_) => Over::Numbers(Range::default()),
                    };
                }
                let before = spread.take().unwrap_or_else(|| Value::number(Number::ZERO).into_spread());
                let over = match (&before.over, &one.over) {
                    (Over::Numbers(a), Over::Numbers(b)) => Over::Numbers(add_ranges(a, b)),
                    _ => Over::Nothing,
                };
                spread = Some(combined(over, &before, &one).into_spread());
            }
        });
        if absent {
            return Value::Absent;
        }
        if let Some((lack, other)) = more {
            let other = other.into_spread();
            let before = spread.take().unwrap_or_else(|| Value::number(Number::ZERO).into_spread());
            let open = Range { low: never_negative.then_some(Number::ZERO), ..Range::default() };
            let over = match &before.over {
                Over::Numbers(range) => Over::Numbers(add_ranges(range, &open)),
                _ => Over::Nothing,
            };
            spread = Some(Spread {
                over,
                absent: before.absent || other.absent,
                gap: before.gap || other.gap,
                lack: before.lack.and(lack).and(other.lack),
            });
        }
        match spread {
            None => Value::number(exact),
            Some(spread) => {
                let over = match &spread.over {
                    Over::Numbers(range) => Over::Numbers(add_ranges(range, &point(exact))),
                    other => other.clone(),
                };
                Value::Spread(Box::new(Spread { over, ..spread }))
            }
        }
    }

    fn extreme(&mut self, object: ObjectId, list: &List, of: ExprId, largest: bool) -> Value<'p> {
        let Some(cell) = self.list_cell(object, &list.place) else {
            return Value::spread(Range::default(), Lack::FACT);
        };
        let mut certain: Option<Value<'p>> = None;
        let mut doubtful: Vec<(Lack, Value<'p>)> = Vec::new();
        let mut absent = false;
        let more = self.summands(cell, list, of, |meant, value| match (meant, value) {
            (Truth::Yes, Value::Absent) => absent = true,
            (Truth::Yes, value) => {
                certain = Some(match certain.take() {
                    None => value,
                    Some(before) => pick(before, value, largest),
                });
            }
            (meant, value) => doubtful.push((meant.lack(), value)),
        });
        if absent {
            return Value::Absent;
        }
        // With no certain member, there may be none at all.
        let mut result = certain.unwrap_or_else(Value::gap);
        for (lack, value) in doubtful {
            let with = match &result {
                Value::Spread(s) if matches!(s.over, Over::Nothing) => value,
                _ => pick(result.clone(), value, largest),
            };
            result = result.join(with, lack);
        }
        if let Some((lack, other)) = more {
            result = opened(result, &other.into_spread(), largest, lack);
        }
        result
    }
}

/// A value to which unlisted members may add: unbounded on the side they can move it, and absent or a gap where one of
/// theirs may be.
fn opened<'v>(value: Value<'v>, other: &Spread, largest: bool, lack: Lack) -> Value<'v> {
    let spread = value.into_spread();
    let over = match spread.over {
        Over::Numbers(range) if largest => Over::Numbers(Range { high: None, below_high: false, ..range }),
        Over::Numbers(range) => Over::Numbers(Range { low: None, above_low: false, ..range }),
        Over::Steps(set) if set != 0 => {
            let low = (1u128 << set.trailing_zeros()) - 1;
            let high_bit = 127 - set.leading_zeros();
            let through = if high_bit == 127 { u128::MAX } else { (1u128 << (high_bit + 1)) - 1 };
            Over::Steps(if largest { !low } else { through })
        }
        other => other,
    };
    Value::Spread(Box::new(Spread {
        over,
        absent: spread.absent || other.absent,
        gap: spread.gap || other.gap,
        lack: spread.lack.and(lack).and(other.lack),
    }))
}

/// The larger (or smaller) of two values.
fn pick<'v>(a: Value<'v>, b: Value<'v>, largest: bool) -> Value<'v> {
    match (a, b) {
        (Value::Exact(a), Value::Exact(b)) => Value::Exact(if (a >= b) == largest { a } else { b }),
        (Value::Step(a), Value::Step(b)) => Value::Step(if (a >= b) == largest { a } else { b }),
        (Value::Absent, _) | (_, Value::Absent) => Value::Absent,
        (a, b) => {
            let (a, b) = (a.into_spread(), b.into_spread());
            let over = match (&a.over, &b.over) {
                (Over::Numbers(x), Over::Numbers(y)) => Over::Numbers(pick_range(x, y, largest)),
                (Over::Steps(x), Over::Steps(y)) => Over::Steps(pick_steps(*x, *y, largest)),
                _ => Over::Nothing,
            };
            combined(over, &a, &b)
        }
    }
}

/// The steps that the larger (or smaller) of two can be.
fn pick_steps(a: u128, b: u128, largest: bool) -> u128 {
    if a == 0 || b == 0 {
        return a | b;
    }
    if largest {
        let least = a.trailing_zeros().max(b.trailing_zeros());
        (a | b) & !((1u128 << least) - 1)
    } else {
        let most = (127 - a.leading_zeros()).min(127 - b.leading_zeros());
        let through = if most == 127 { u128::MAX } else { (1u128 << (most + 1)) - 1 };
        (a | b) & through
    }
}

fn pick_range(a: &Range, b: &Range, largest: bool) -> Range {
    if !largest {
        return negated(&pick_range(&negated(a), &negated(b), true));
    }
    let (low, above_low) = match (&a.low, &b.low) {
        (Some(x), Some(y)) if x >= y => (Some(x.clone()), a.above_low && (x > y || b.above_low)),
        (_, Some(y)) => (Some(y.clone()), b.above_low),
        (Some(x), None) => (Some(x.clone()), a.above_low),
        (None, None) => (None, false),
    };
    let (high, below_high) = match (&a.high, &b.high) {
        (Some(x), Some(y)) if x == y => (Some(x.clone()), a.below_high && b.below_high),
        (Some(x), Some(y)) if x > y => (Some(x.clone()), a.below_high),
        (Some(_), Some(y)) => (Some(y.clone()), b.below_high),
        _ => (None, false),
    };
    Range { low, above_low, high, below_high }
}

fn combined<'v>(over: Over, a: &Spread, b: &Spread) -> Value<'v> {
    Value::Spread(Box::new(Spread {
        over,
        absent: a.absent || b.absent,
        gap: a.gap || b.gap,
        lack: a.lack.and(b.lack),
    }))
}

/// A function that never falls, applied to what is possible.
fn monotone<'v>(value: Value<'v>, of: Unary) -> Value<'v> {
    match value {
        Value::Exact(number) => Value::number(of(&number)),
        Value::Spread(spread) => {
            let over = match &spread.over {
                // Rounding may reach the image of an excluded end, so ends are taken in.
                Over::Numbers(range) => Over::Numbers(Range {
                    low: range.low.as_ref().map(of),
                    above_low: false,
                    high: range.high.as_ref().map(of),
                    below_high: false,
                }),
                other => other.clone(),
            };
            Value::Spread(Box::new(Spread { over, ..*spread }))
        }
        other => other,
    }
}

fn negated(range: &Range) -> Range {
    Range {
        low: range.high.as_ref().map(Number::neg),
        above_low: range.below_high,
        high: range.low.as_ref().map(Number::neg),
        below_high: range.above_low,
    }
}

fn add_ranges(a: &Range, b: &Range) -> Range {
    let sum = |x: &Option<Number>, y: &Option<Number>| Some(x.as_ref()?.add(y.as_ref()?));
    Range {
        low: sum(&a.low, &b.low),
        above_low: a.above_low || b.above_low,
        high: sum(&a.high, &b.high),
        below_high: a.below_high || b.below_high,
    }
}

fn never_negative(range: &Range) -> bool {
    range.low.as_ref().is_some_and(|low| !low.is_negative())
}

/// Ends are taken in: a wider range is sound.
fn mul_ranges(a: &Range, b: &Range) -> Range {
    let closed = |low, high| Range { low, above_low: false, high, below_high: false };
    if let (Some(al), Some(ah), Some(bl), Some(bh)) = (&a.low, &a.high, &b.low, &b.high) {
        let mut products = [al.mul(bl), al.mul(bh), ah.mul(bl), ah.mul(bh)];
        products.sort();
        let [low, .., high] = products;
        return closed(Some(low), Some(high));
    }
    if never_negative(a) && never_negative(b) {
        let low = a.low.as_ref().zip(b.low.as_ref()).map(|(x, y)| x.mul(y));
        return closed(low, None);
    }
    Range::default()
}

/// The range of 1/x, and whether x may be zero; none if it can only be zero.
fn reciprocal(range: &Range) -> Option<(Range, bool)> {
    let zero = Number::ZERO;
    let one_over = |n: &Option<Number>| n.as_ref().and_then(|n| Number::ONE.div(n));
    match (&range.low, &range.high) {
        (Some(low), Some(high)) if low.is_zero() && high.is_zero() => None,
        (Some(low), high) if *low > zero => {
            let low_end = one_over(high).unwrap_or(Number::ZERO);
            let high_end = one_over(&Some(low.clone()));
            Some((Range { low: Some(low_end), above_low: false, high: high_end, below_high: false }, false))
        }
        (Some(low), high) if low.is_zero() => {
            let low_end = one_over(high).unwrap_or(Number::ZERO);
            Some((Range { low: Some(low_end), ..Range::default() }, !range.above_low))
        }
        (_, Some(high)) if high.is_negative() => {
            let (inverse, may_be_zero) = reciprocal(&negated(range))?;
            Some((negated(&inverse), may_be_zero))
        }
        _ => Some((Range::default(), true)),
    }
}
