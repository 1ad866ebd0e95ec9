//! Table look-ups. An unknown key ranges over all rows still possible, and over "outside the table" where that is.

use super::truth::{Lack, Truth};
use super::value::{Over, Spread, Value};
use crate::base::number::Number;
use crate::facts::installation::Range;
use crate::ir::program::{CellValue, Compare, RowKey, RowMode, Table, TableRow};
use crate::ir::schema::ValueSet;
use std::borrow::Cow;

/// What keys a row answers to: rows of `next row` modes stretch from their neighbour.
enum Reach<'t> {
    Set(ValueSet),
    One(Span<'t>),
    Ranges(&'t [(Option<Number>, Option<Number>)]),
}

/// A range whose ends stand in the table.
#[derive(Clone, Copy)]
struct Span<'t> {
    low: Option<&'t Number>,
    above_low: bool,
    high: Option<&'t Number>,
    below_high: bool,
}

impl<'t> Span<'t> {
    fn of(range: &'t Range) -> Span<'t> {
        Span {
            low: range.low.as_ref(),
            above_low: range.above_low,
            high: range.high.as_ref(),
            below_high: range.below_high,
        }
    }

    fn closed((low, high): &'t (Option<Number>, Option<Number>)) -> Span<'t> {
        Span { low: low.as_ref(), above_low: false, high: high.as_ref(), below_high: false }
    }
}

impl<'t> Reach<'t> {
    fn any(&self, holds: impl Fn(Span<'t>) -> bool) -> bool {
        match self {
            Reach::Set(_) => false,
            Reach::One(span) => holds(*span),
            Reach::Ranges(ranges) => ranges.iter().any(|range| holds(Span::closed(range))),
        }
    }
}

/// The cell or cells that keys may mean.
pub(super) fn look_up<'p>(table: &'p Table, keys: &[Value<'p>]) -> Value<'p> {
    if keys.iter().any(certainly_absent) {
        return Value::Absent;
    }
    let lack = keys.iter().fold(Lack::NOTHING, |lack, key| match key {
        Value::Spread(spread) => lack.and(spread.lack),
        _ => lack,
    });
    let row_keys = table.keys.len() - usize::from(table.across);
    let mut found: Option<Value<'p>> = None;
    let mut inside = Truth::No;
    let mut add = |value: Value<'p>| {
        found = Some(match found.take() {
            None => value,
            Some(before) => before.join(value, lack),
        });
    };
    for (at, row) in table.rows.iter().enumerate() {
        let mut answer = Truth::Yes;
        for key in 0..row_keys {
            let reach = row_reach(table, at, key);
            answer = answer.and(keys.get(key).map_or(Truth::No, |value| answers(value, &reach)));
            if answer == Truth::No {
                break;
            }
        }
        if answer == Truth::No {
            continue;
        }
        let mut in_row = Truth::No;
        for (column, cell) in row.cells.iter().enumerate() {
            let in_column = if table.across {
                let reach = column_reach(table, column);
                keys.get(row_keys).map_or(Truth::No, |value| answers(value, &reach))
            } else {
                Truth::Yes
            };
            if in_column == Truth::No {
                continue;
            }
            in_row = surely_or(in_row, in_column);
            add(match cell {
                CellValue::NotPermitted => Value::Absent,
                CellValue::Number(number) => Value::Exact(Cow::Borrowed(number)),
                CellValue::Value(set) => Value::Step(*set),
            });
        }
        inside = surely_or(inside, answer.and(in_row));
        if inside == Truth::Yes {
            break;
        }
    }
    // Rows are apart, so one certain row is the only one. Several possible rows cover the key if together they leave
    // nothing out; that is checked by what is left of it.
    let outside = inside != Truth::Yes && !covered(table, keys, row_keys);
    let keyless = keys.iter().any(|key| matches!(key, Value::Spread(s) if s.absent || s.gap));
    if outside {
        add(if table.closed { Value::Absent } else { Value::gap() });
    }
    // No row can be meant where a key is certainly missing: then all that is left is what the keys themselves lack.
    let nothing = || Value::Spread(Box::new(Spread { over: Over::Nothing, absent: false, gap: false, lack }));
    let mut result = found.unwrap_or_else(if keyless { &nothing as &dyn Fn() -> Value<'p> } else { &Value::gap });
    if keyless {
        let mut spread = result.into_spread();
        for key in keys {
            if let Value::Spread(key) = key {
                spread.absent |= key.absent;
                spread.gap |= key.gap;
            }
        }
        spread.lack = spread.lack.and(lack);
        result = Value::Spread(Box::new(spread));
    }
    result
}

/// Whether a key has no value whatever the facts turn out to be: then no row can be meant, and nothing is outside either.
fn certainly_absent(key: &Value) -> bool {
    match key {
        Value::Absent => true,
        Value::Spread(spread) => spread.absent && !spread.gap && matches!(spread.over, Over::Nothing | Over::Steps(0)),
        Value::Exact(_) | Value::Step(_) => false,
    }
}

/// The rows that keys may mean.
pub(super) fn rows<'p>(table: &'p Table, keys: &[Value<'p>]) -> Vec<&'p TableRow> {
    let row_keys = table.keys.len() - usize::from(table.across);
    let may_mean = |at: usize| {
        (0..row_keys)
            .all(|key| keys.get(key).is_some_and(|value| answers(value, &row_reach(table, at, key)) != Truth::No))
    };
    table.rows.iter().enumerate().filter(|(at, _)| may_mean(*at)).map(|(_, row)| row).collect()
}

/// The one row and column that keys mean for certain.
pub(super) fn cell_used(table: &Table, keys: &[Value]) -> Option<(usize, usize)> {
    let row_keys = table.keys.len() - usize::from(table.across);
    let row = (0..table.rows.len()).find(|row| {
        (0..row_keys).all(|key| keys.get(key).is_some_and(|v| answers(v, &row_reach(table, *row, key)) == Truth::Yes))
    })?;
    if !table.across {
        return Some((row, 0));
    }
    let key = keys.get(row_keys)?;
    let column = (0..table.columns.len()).find(|at| answers(key, &column_reach(table, *at)) == Truth::Yes)?;
    Some((row, column))
}

/// The last key of the first row whose cell reaches a limit, `-` reaching none. Each column the column key may mean is
/// searched by itself; a row that may or may not do is kept beside those behind it.
pub(super) fn first_row<'p>(
    table: &'p Table,
    keys: &[Value<'p>],
    column: Option<&Value<'p>>,
    compare: Compare,
    limit: &Value<'p>,
) -> Value<'p> {
    let all = || keys.iter().chain(column).chain([limit]);
    if all().any(certainly_absent) {
        return Value::Absent;
    }
    let (mut lack, mut absent, mut gap, mut nothing) = (Lack::NOTHING, false, false, false);
    for key in all() {
        if let Value::Spread(spread) = key {
            lack = lack.and(spread.lack);
            absent |= spread.absent;
            gap |= spread.gap;
            nothing |= matches!(spread.over, Over::Nothing);
        }
    }
    let mut found: Option<Value<'p>> = None;
    let mut add = |value: Value<'p>| {
        found = Some(match found.take() {
            None => value,
            Some(before) => before.join(value, lack),
        });
    };
    let columns = if table.across { table.columns.len() } else { 1 };
    for at in (0..columns).filter(|_| !nothing) {
        let in_column = column.map_or(Truth::Yes, |value| answers(value, &column_reach(table, at)));
        if in_column == Truth::No {
            continue;
        }
        let mut settled = false;
        for (row, line) in table.rows.iter().enumerate() {
            let mut answer = Truth::Yes;
            for (key, value) in keys.iter().enumerate() {
                answer = answer.and(answers(value, &row_reach(table, row, key)));
            }
            let cell = match line.cells.get(at) {
                Some(CellValue::Number(number)) => {
                    super::value::compare(&Value::Exact(Cow::Borrowed(number)), compare, limit)
                }
                Some(CellValue::NotPermitted | CellValue::Value(_)) | None => Truth::No,
            };
            answer = answer.and(cell);
            if answer == Truth::No {
                continue;
            }
            add(match line.keys.last() {
                Some(RowKey::Set(set)) => Value::Step(*set),
                Some(RowKey::Numbers(ranges)) => match ranges.last() {
                    Some((_, Some(high))) => Value::Exact(Cow::Borrowed(high)),
                    _ => Value::gap(),
                },
                Some(RowKey::Over(_)) | None => Value::gap(),
            });
            settled = answer == Truth::Yes;
            if settled {
                break;
            }
        }
        if !settled {
            add(Value::gap());
        }
    }
    // The column sought may be none of the table's.
    if let Some(Value::Spread(spread)) = column {
        let reaches: Vec<Reach> = (0..columns).map(|at| column_reach(table, at)).collect();
        if !spread_covered(&spread.over, &reaches) {
            add(Value::gap());
        }
    }
    let value = found.unwrap_or_else(Value::gap);
    if !absent && !gap {
        return value;
    }
    let spread = value.into_spread();
    let over = if nothing { Over::Nothing } else { spread.over };
    let lack = spread.lack.and(lack);
    Value::Spread(Box::new(Spread { over, absent: spread.absent || absent, gap: spread.gap || gap, lack }))
}

/// Keeps a certain answer, else notes that one is possible.
fn surely_or(before: Truth, now: Truth) -> Truth {
    match (before, now) {
        (Truth::Yes, _) | (_, Truth::Yes) => Truth::Yes,
        (Truth::No, now) => now,
        (before, _) => before,
    }
}

fn row_key(table: &Table, row: usize, key: usize) -> Option<&RowKey> {
    table.rows.get(row)?.keys.get(key)
}

/// The nearest row before (or after) this one that differs in this key alone.
fn neighbour(table: &Table, row: usize, key: usize, step: isize) -> Option<usize> {
    let mine = &table.rows.get(row)?.keys;
    let mut at = row;
    loop {
        at = at.checked_add_signed(step)?;
        let other = &table.rows.get(at)?.keys;
        let same = mine.iter().zip(other).enumerate().all(|(index, (a, b))| index == key || a == b);
        if same {
            return Some(at);
        }
    }
}

fn row_reach(table: &Table, row: usize, key: usize) -> Reach<'_> {
    let Some(own) = row_key(table, row, key) else { return Reach::Set(0) };
    let mode = table.keys.get(key).map_or(RowMode::Exact, |k| k.mode);
    let other = match mode {
        RowMode::Exact => None,
        RowMode::NextUp => neighbour(table, row, key, -1).and_then(|at| row_key(table, at, key)),
        RowMode::NextDown => neighbour(table, row, key, 1).and_then(|at| row_key(table, at, key)),
    };
    reach(own, other, mode)
}

fn column_reach(table: &Table, column: usize) -> Reach<'_> {
    let Some(own) = table.columns.get(column) else { return Reach::Set(0) };
    let mode = table.keys.last().map_or(RowMode::Exact, |k| k.mode);
    let other = match mode {
        RowMode::Exact => None,
        RowMode::NextUp => column.checked_sub(1).and_then(|at| table.columns.get(at)),
        RowMode::NextDown => table.columns.get(column + 1),
    };
    reach(own, other, mode)
}

fn ends(key: &RowKey) -> (Option<&Number>, Option<&Number>) {
    match key {
        RowKey::Numbers(ranges) => {
            (ranges.first().and_then(|(low, _)| low.as_ref()), ranges.last().and_then(|(_, high)| high.as_ref()))
        }
        RowKey::Over(number) => (Some(number), None),
        RowKey::Set(_) => (None, None),
    }
}

fn reach<'t>(own: &'t RowKey, other: Option<&'t RowKey>, mode: RowMode) -> Reach<'t> {
    match (own, mode) {
        (RowKey::Over(limit), _) => {
            Reach::One(Span { low: Some(limit), above_low: true, high: None, below_high: false })
        }
        (RowKey::Set(set), RowMode::Exact) => Reach::Set(*set),
        (RowKey::Set(set), RowMode::NextUp) => {
            let through = below_or_at(*set);
            let before = match other {
                Some(RowKey::Set(other)) => below_or_at(*other),
                _ => 0,
            };
            Reach::Set(through & !before)
        }
        (RowKey::Set(set), RowMode::NextDown) => {
            let from = !(lowest(*set).wrapping_sub(1));
            let until = match other {
                Some(RowKey::Set(other)) => lowest(*other).wrapping_sub(1),
                _ => ValueSet::MAX,
            };
            Reach::Set(from & until)
        }
        (RowKey::Numbers(ranges), RowMode::Exact) => Reach::Ranges(ranges),
        (key, RowMode::NextUp) => Reach::One(Span {
            low: other.and_then(|o| ends(o).1),
            above_low: other.is_some(),
            high: ends(key).1,
            below_high: false,
        }),
        (key, RowMode::NextDown) => Reach::One(Span {
            low: ends(key).0,
            above_low: false,
            high: other.and_then(|o| ends(o).0),
            below_high: other.is_some(),
        }),
    }
}

fn lowest(set: ValueSet) -> ValueSet {
    set & set.wrapping_neg()
}

/// All values up to the highest of a set.
fn below_or_at(set: ValueSet) -> ValueSet {
    match set.leading_zeros() {
        0 => ValueSet::MAX,
        128 => 0,
        zeros => (1 << (128 - zeros)) - 1,
    }
}

fn answers(value: &Value, reach: &Reach) -> Truth {
    match (value, reach) {
        (Value::Step(set), Reach::Set(row)) => Truth::known(set & row != 0),
        (Value::Exact(number), Reach::One(_) | Reach::Ranges(_)) => {
            Truth::known(reach.any(|span| contains(span, number)))
        }
        (Value::Spread(spread), reach) => {
            let (within, apart) = match (&spread.over, reach) {
                (Over::Steps(set), Reach::Set(row)) => (set & !row == 0, set & row == 0),
                (Over::Numbers(range), Reach::One(_) | Reach::Ranges(_)) => {
                    let range = Span::of(range);
                    (reach.any(|span| inside(range, span)), !reach.any(|span| !apart(range, span)))
                }
                _ => (false, true),
            };
            match (within, apart) {
                (_, true) => Truth::No,
                (true, false) => Truth::Yes,
                (false, false) => Truth::Unknown(spread.lack),
            }
        }
        _ => Truth::No,
    }
}

fn contains(range: Span, number: &Number) -> bool {
    range.low.is_none_or(|low| number > low || (number == low && !range.above_low))
        && range.high.is_none_or(|high| number < high || (number == high && !range.below_high))
}

/// Whether `a` lies wholly in `b`.
fn inside(a: Span, b: Span) -> bool {
    let low = match (a.low, b.low) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(x), Some(y)) => x > y || (x == y && (!b.above_low || a.above_low)),
    };
    let high = match (a.high, b.high) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(x), Some(y)) => x < y || (x == y && (!b.below_high || a.below_high)),
    };
    low && high
}

fn apart(a: Span, b: Span) -> bool {
    let before = |x: Span, y: Span| match (x.high, y.low) {
        (Some(high), Some(low)) => high < low || (high == low && (x.below_high || y.above_low)),
        _ => false,
    };
    before(a, b) || before(b, a)
}

/// Whether every value the keys may have lies in some row and column: sure for one unknown key over touching rows.
fn covered(table: &Table, keys: &[Value], row_keys: usize) -> bool {
    let unknown: Vec<usize> = (0..keys.len()).filter(|at| matches!(keys[*at], Value::Spread(_))).collect();
    unknown.iter().all(|key| {
        let reaches: Vec<Reach> = if *key < row_keys {
            (0..table.rows.len())
                .filter(|row| {
                    (0..row_keys).all(|other| {
                        other == *key
                            || keys.get(other).is_some_and(|v| answers(v, &row_reach(table, *row, other)) != Truth::No)
                    })
                })
                .map(|row| row_reach(table, row, *key))
                .collect()
        } else {
            (0..table.columns.len()).map(|column| column_reach(table, column)).collect()
        };
        match keys.get(*key) {
            Some(Value::Spread(spread)) => spread_covered(&spread.over, &reaches),
            _ => true,
        }
    }) && !unknown.is_empty()
        && unknown.len() <= 1
        && (0..keys.len()).filter(|at| !unknown.contains(at)).all(|at| {
            let any_row = at < row_keys
                && (0..table.rows.len()).any(|row| answers(&keys[at], &row_reach(table, row, at)) == Truth::Yes);
            let any_column = at >= row_keys
                && (0..table.columns.len()).any(|c| answers(&keys[at], &column_reach(table, c)) == Truth::Yes);
            any_row || any_column
        })
}

/// Whether rows or columns leave nothing out of what is possible.
fn spread_covered(over: &Over, reaches: &[Reach]) -> bool {
    match over {
        Over::Steps(set) => {
            let all = reaches.iter().fold(0, |all, r| match r {
                Reach::Set(row) => all | row,
                Reach::One(_) | Reach::Ranges(_) => all,
            });
            set & !all == 0
        }
        Over::Numbers(range) => covers(range, reaches),
        Over::Nothing => true,
    }
}

/// Whether touching ranges leave nothing of a range out.
fn covers(range: &Range, reaches: &[Reach]) -> bool {
    let mut pieces: Vec<Span> = Vec::new();
    for reach in reaches {
        match reach {
            Reach::Set(_) => {}
            Reach::One(span) => pieces.push(*span),
            Reach::Ranges(ranges) => pieces.extend(ranges.iter().map(Span::closed)),
        }
    }
    pieces.sort_by(|a, b| a.low.cmp(&b.low).then(a.above_low.cmp(&b.above_low)));
    // What is still uncovered begins here.
    let mut rest = Span::of(range);
    for piece in pieces {
        let starts_in_time = match (piece.low, rest.low) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(low), Some(start)) => low < start || (low == start && (!piece.above_low || rest.above_low)),
        };
        if !starts_in_time {
            return false;
        }
        match (piece.high, rest.high) {
            (None, _) => return true,
            (Some(high), Some(end)) if high > end || (high == end && (!piece.below_high || rest.below_high)) => {
                return true;
            }
            (Some(high), _) => {
                if rest.low.is_none_or(|low| high >= low) {
                    rest.low = Some(high);
                    rest.above_low = !piece.below_high;
                }
            }
        }
    }
    false
}
