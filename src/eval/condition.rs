//! Conditions.

use super::machine::Machine;
use super::matching;
use super::truth::{Lack, Truth};
use super::value::{self, Value, holds};
use crate::base::number::Number;
use crate::facts::installation::{Cell, MaybeAbsent, ObjectId, Range};
use crate::ir::program::{Compare, ExprId, KindId, List, Place, ReadingId, Test, TestId};
use crate::ir::schema::{Field, FieldType, NO, ValueSet, YES};

/// How many members of a list satisfy a test: surely, possibly, and whether there may be any number more.
pub(super) struct Tally {
    pub(super) surely: usize,
    pub(super) possibly: usize,
    pub(super) unbounded: bool,
    pub(super) lack: Lack,
}

impl<'p> Machine<'p> {
    /// The answer to a condition.
    pub(super) fn test(&mut self, id: TestId) -> Truth {
        let program = self.program;
        match program.test(id) {
            Test::Always => Truth::Yes,
            Test::Never => Truth::No,
            Test::Not(inner) => self.test(*inner).not(),
            Test::All(inner) => {
                let mut answer = Truth::Yes;
                for test in inner {
                    answer = answer.and(self.test(*test));
                    if answer == Truth::No {
                        break;
                    }
                }
                answer
            }
            Test::Any(inner) => {
                let mut answer = Truth::No;
                for test in inner {
                    answer = answer.or(self.test(*test));
                    if answer == Truth::Yes {
                        break;
                    }
                }
                answer
            }
            Test::Choose { case, then, otherwise } => match self.test(*case) {
                Truth::Yes => self.test(*then),
                Truth::No => self.test(*otherwise),
                Truth::Unknown(lack) => {
                    let then = self.test(*then);
                    then.join(self.test(*otherwise), lack)
                }
            },
            Test::In(place, set) => match self.here(&place.object) {
                Some(object) => self.is_in(object, place, *set),
                None => self.ask(&place.object, &mut |m, object| m.is_in(object, place, *set)),
            },
            Test::TextIs(place, text) => self.text_is(place, text),
            Test::IsNone(place) => self.is_none(place),
            Test::Compare(left, compare, right) | Test::CompareSteps(left, compare, right) => {
                self.compared(*left, *compare, *right)
            }
            Test::CompareConst(place, compare, number) => match self.here(&place.object) {
                Some(object) => self.compare_cell(object, place, *compare, number),
                None => self.ask(&place.object, &mut |m, object| m.compare_cell(object, place, *compare, number)),
            },
            Test::IsKind(object, kind) => match self.here(object) {
                Some(object) => self.is_kind(object, *kind),
                None => self.ask(object, &mut |m, object| m.is_kind(object, *kind)),
            },
            Test::Some(list, test) => match self.here(&list.place.object) {
                Some(object) => self.some(object, list, *test),
                None => self.ask(&list.place.object, &mut |m, object| m.some(object, list, *test)),
            },
            Test::Every(list, test) => match self.here(&list.place.object) {
                Some(object) => self.every(object, list, *test),
                None => self.ask(&list.place.object, &mut |m, object| m.every(object, list, *test)),
            },
            Test::Count(list, test, compare, count) => {
                self.ask(&list.place.object, &mut |m, object| m.counted(object, list, *test, *compare, *count))
            }
            Test::Different(halves) => matching::different(self, halves),
            Test::Reading(reading, options) => self.read_as(*reading, options),
        }
    }

    fn is_kind(&mut self, object: ObjectId, kind: KindId) -> Truth {
        let Some(declared) = self.program.kinds.get(kind.index()) else { return Truth::Unknown(Lack::GAP) };
        let slot = if declared.readings.is_empty() { self.known.slot(kind, object) } else { None };
        if let Some(answer) = slot.and_then(std::cell::Cell::get) {
            return answer;
        }
        let answer = self.within(object, Truth::Unknown(Lack::GAP), |m| m.test(declared.test));
        if let Some(slot) = slot {
            slot.set(Some(answer));
        }
        answer
    }

    /// A disputed text: the option chosen, or all of them joined.
    fn read_as(&mut self, reading: ReadingId, options: &[TestId]) -> Truth {
        if let Some(chosen) = self.choices.get(reading) {
            return options.get(chosen).map_or(Truth::Unknown(Lack::READING), |test| self.test(*test));
        }
        let mut joined: Option<Truth> = None;
        for option in options {
            let answer = self.test(*option);
            joined = Some(match joined {
                None => answer,
                Some(before) => before.join(answer, Lack::READING),
            });
        }
        let joined = joined.unwrap_or(Truth::Unknown(Lack::READING));
        if !joined.is_known() {
            self.mattered.add(reading);
        }
        joined
    }

    // Kept apart so that values do not widen the frame of every step of `test`.
    #[inline(never)]
    fn compared(&mut self, left: ExprId, compare: Compare, right: ExprId) -> Truth {
        let left = self.value(left);
        let right = self.value(right);
        value::compare(&left, compare, &right)
    }

    #[inline(never)]
    fn text_is(&mut self, place: &Place, text: &str) -> Truth {
        self.ask(&place.object, &mut |m, object| match m.cell(object, place) {
            Cell::Text(found) => Truth::known(found.as_ref() == text),
            Cell::Absent => Truth::No,
            _ => Truth::Unknown(m.lack_of(place)),
        })
    }

    #[inline]
    fn is_in(&self, object: ObjectId, place: &Place, set: ValueSet) -> Truth {
        match self.cell(object, place) {
            Cell::Values(possible, MaybeAbsent::Present) if possible & !set == 0 => Truth::Yes,
            Cell::Values(possible, _) if possible & set == 0 => Truth::No,
            Cell::Absent => Truth::No,
            Cell::Values(..) => Truth::Unknown(self.lack_of(place)),
            _ => self.may_be_in(place, set),
        }
    }

    /// Whether a field of which nothing is known lies in a set.
    #[inline(never)]
    fn may_be_in(&self, place: &Place, set: ValueSet) -> Truth {
        let field = self.field(place);
        let all = match field.ty {
            FieldType::OneOf(domain) => self.program.schema.domain(domain).all(),
            _ => NO | YES,
        };
        if set & all == 0 {
            Truth::No
        } else if all & !set == 0 && !field.may_be_absent {
            Truth::Yes
        } else {
            Truth::Unknown(self.lack_of(place))
        }
    }

    fn is_none(&mut self, place: &Place) -> Truth {
        // Here, and only here, an absent owner makes its field absent too.
        self.ask_or(&place.object, Truth::Yes, &mut |m, object| {
            let unknown = Truth::Unknown(m.lack_of(place));
            match m.cell(object, place) {
                Cell::Absent => Truth::Yes,
                Cell::Unknown => {
                    if m.field(place).may_be_absent {
                        unknown
                    } else {
                        Truth::No
                    }
                }
                Cell::Values(_, absent) | Cell::Range(_, absent) | Cell::OneOfObjects(_, absent) => match absent {
                    MaybeAbsent::Present => Truth::No,
                    MaybeAbsent::Perhaps => unknown,
                },
                Cell::Number(_) | Cell::Text(_) | Cell::Object(_) | Cell::List(_) => Truth::No,
            }
        })
    }

    #[inline]
    fn compare_cell(&self, object: ObjectId, place: &Place, compare: Compare, number: &Number) -> Truth {
        match self.cell(object, place) {
            Cell::Number(found) => Truth::known(holds(found, compare, number)),
            Cell::Absent => Truth::No,
            cell => self.compare_range(cell, place, compare, number),
        }
    }

    #[inline(never)]
    fn compare_range(&self, cell: &Cell, place: &Place, compare: Compare, number: &Number) -> Truth {
        let field = self.field(place);
        let everything = Range { low: field.never_negative.then_some(Number::ZERO), ..Range::default() };
        let (range, absent) = match cell {
            Cell::Range(range, absent) => (clamped(range, field), *absent == MaybeAbsent::Perhaps),
            _ => (everything, field.may_be_absent),
        };
        match value::ranges(&range, compare, &value::point(number.clone())) {
            Some(true) if !absent => Truth::Yes,
            Some(false) => Truth::No,
            _ => Truth::Unknown(self.lack_of(place)),
        }
    }

    /// Whether a member is meant by the list's filter.
    #[inline]
    pub(super) fn meant(&mut self, list: &List, member: ObjectId) -> Truth {
        self.bind(list.var, member);
        match list.filter {
            Some(filter) => self.test(filter),
            None => Truth::Yes,
        }
    }

    /// Whether a member is meant and satisfies the test.
    #[inline]
    pub(super) fn passes(&mut self, list: &List, test: TestId, member: ObjectId) -> Truth {
        match self.meant(list, member) {
            Truth::No => Truth::No,
            meant => meant.and(self.test(test)),
        }
    }

    fn some(&mut self, object: ObjectId, list: &List, test: TestId) -> Truth {
        let Some(cell) = self.list_cell(object, &list.place) else { return Truth::Unknown(Lack::FACT) };
        let mut answer = Truth::No;
        for member in &cell.members {
            answer = answer.or(self.passes(list, test, *member));
            if answer == Truth::Yes {
                return answer;
            }
        }
        for member in cell.perhaps.iter().chain(&cell.more) {
            answer = answer.or(self.passes(list, test, *member).and(Truth::Unknown(Lack::FACT)));
        }
        answer
    }

    fn every(&mut self, object: ObjectId, list: &List, test: TestId) -> Truth {
        let Some(cell) = self.list_cell(object, &list.place) else { return Truth::Unknown(Lack::FACT) };
        let mut answer = Truth::Yes;
        for member in &cell.members {
            let meant = self.meant(list, *member);
            if meant != Truth::No {
                answer = answer.and(meant.not().or(self.test(test)));
            }
            if answer == Truth::No {
                return answer;
            }
        }
        for member in cell.perhaps.iter().chain(&cell.more) {
            let meant = self.meant(list, *member);
            if meant != Truth::No {
                answer = answer.and(meant.not().or(self.test(test)).or(Truth::Unknown(Lack::FACT)));
            }
        }
        answer
    }

    /// Counts the members of a list that satisfy a test.
    pub(super) fn tally(&mut self, object: ObjectId, list: &List, test: Option<TestId>) -> Tally {
        let mut tally = Tally { surely: 0, possibly: 0, unbounded: false, lack: Lack::NOTHING };
        let Some(cell) = self.list_cell(object, &list.place) else {
            return Tally { unbounded: true, lack: Lack::FACT, ..tally };
        };
        let asked = |m: &mut Self, member: ObjectId| match test {
            Some(test) => m.passes(list, test, member),
            None => m.meant(list, member),
        };
        for member in &cell.members {
            match asked(self, *member) {
                Truth::Yes => {
                    tally.surely += 1;
                    tally.possibly += 1;
                }
                Truth::No => {}
                Truth::Unknown(lack) => {
                    tally.possibly += 1;
                    tally.lack = tally.lack.and(lack);
                }
            }
        }
        for member in &cell.perhaps {
            let answer = asked(self, *member);
            if answer != Truth::No {
                tally.possibly += 1;
                tally.lack = tally.lack.and(answer.lack()).and(Lack::FACT);
            }
        }
        if let Some(more) = cell.more {
            let answer = asked(self, more);
            if answer != Truth::No {
                tally.unbounded = true;
                tally.lack = tally.lack.and(answer.lack()).and(Lack::FACT);
            }
        }
        tally
    }

    #[inline(never)]
    fn counted(&mut self, object: ObjectId, list: &List, test: TestId, compare: Compare, count: ExprId) -> Truth {
        let tally = self.tally(object, list, Some(test));
        let right = self.value(count);
        value::compare(&count_value(&tally), compare, &right)
    }
}

/// A stated range, held at zero or above where the field is never negative.
pub(super) fn clamped(range: &Range, field: &Field) -> Range {
    let mut range = range.clone();
    if field.never_negative && range.low.as_ref().is_none_or(Number::is_negative) {
        range.low = Some(Number::ZERO);
        range.above_low = false;
    }
    range
}

/// A tally as a value.
pub(super) fn count_value<'v>(tally: &Tally) -> Value<'v> {
    if tally.surely == tally.possibly && !tally.unbounded {
        return Value::number(Number::count(tally.surely));
    }
    let range = Range {
        low: Some(Number::count(tally.surely)),
        above_low: false,
        high: (!tally.unbounded).then(|| Number::count(tally.possibly)),
        below_high: false,
    };
    Value::spread(range, tally.lack)
}
