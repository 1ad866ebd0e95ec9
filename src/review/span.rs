//! What is left of the values of one field or expression while conditions are held against each other.

use crate::base::number::Number;
use crate::ir::program::Compare;
use crate::ir::schema::ValueSet;

/// An end of a range: where, and whether that value itself is out.
#[derive(Debug, Clone, PartialEq, Eq)]
struct End {
    at: Number,
    open: bool,
}

/// What a field or expression can still be. Empty of everything, and not absent: the conditions contradict each other.
#[derive(Debug, Clone)]
pub(super) struct Left {
    what: What,
    /// Nothing may stand there.
    absent: bool,
}

#[derive(Debug, Clone)]
enum What {
    Values(ValueSet),
    Numbers {
        low: Option<End>,
        high: Option<End>,
        /// Single numbers that are out.
        not: Vec<Number>,
        /// Only whole numbers count.
        whole: bool,
    },
    Text {
        is: Option<String>,
        not: Vec<String>,
    },
}

impl Left {
    /// Any of some values of a choice or scale.
    pub(super) fn values(all: ValueSet, absent: bool) -> Left {
        Left { what: What::Values(all), absent }
    }

    /// Any number, or none below zero.
    pub(super) fn numbers(never_negative: bool, absent: bool) -> Left {
        let low = never_negative.then_some(End { at: Number::ZERO, open: false });
        Left { what: What::Numbers { low, high: None, not: Vec::new(), whole: false }, absent }
    }

    /// Any number of members.
    pub(super) fn count() -> Left {
        let low = Some(End { at: Number::ZERO, open: false });
        Left { what: What::Numbers { low, high: None, not: Vec::new(), whole: true }, absent: false }
    }

    /// Any text.
    pub(super) fn text(absent: bool) -> Left {
        Left { what: What::Text { is: None, not: Vec::new() }, absent }
    }

    /// It is there. False if nothing is left.
    pub(super) fn present(&mut self) -> bool {
        self.absent = false;
        self.any_left()
    }

    /// It is not there. False if that cannot be.
    pub(super) fn gone(&mut self) -> bool {
        if !self.absent {
            return false;
        }
        self.what = What::Values(0);
        true
    }

    /// One of these values, or (where `holds` is false) none of them.
    pub(super) fn within(&mut self, set: ValueSet, holds: bool) -> bool {
        if let What::Values(left) = &mut self.what {
            *left &= if holds { set } else { !set };
        }
        if holds { self.present() } else { self.any_left() }
    }

    /// That text, or not that text.
    pub(super) fn says(&mut self, text: &str, holds: bool) -> bool {
        if let What::Text { is, not } = &mut self.what {
            match (holds, is.as_deref()) {
                (true, Some(known)) if known != text => self.what = What::Values(0),
                (true, _) if not.iter().any(|n| n == text) => self.what = What::Values(0),
                (true, _) => *is = Some(text.to_string()),
                (false, Some(known)) if known == text => self.what = What::Values(0),
                (false, _) => not.push(text.to_string()),
            }
        }
        if holds { self.present() } else { self.any_left() }
    }

    /// Compared with a number. A comparison with what is absent is false, so one that does not hold leaves absence open.
    pub(super) fn compared(&mut self, compare: Compare, with: &Number, holds: bool) -> bool {
        if let What::Numbers { low, high, not, whole } = &mut self.what {
            let end = |open| End { at: with.clone(), open };
            match (compare, holds) {
                (Compare::AtLeast, true) | (Compare::LessThan, false) => raise(low, end(false), *whole),
                (Compare::MoreThan, true) | (Compare::AtMost, false) => raise(low, end(true), *whole),
                (Compare::AtMost, true) | (Compare::MoreThan, false) => sink(high, end(false), *whole),
                (Compare::LessThan, true) | (Compare::AtLeast, false) => sink(high, end(true), *whole),
                (Compare::Equal, true) => {
                    raise(low, end(false), *whole);
                    sink(high, end(false), *whole);
                }
                (Compare::Equal, false) => not.push(with.clone()),
            }
        }
        if holds { self.present() } else { self.any_left() }
    }

    fn any_left(&self) -> bool {
        self.absent
            || match &self.what {
                What::Values(set) => *set != 0,
                What::Text { .. } => true,
                What::Numbers { low, high, not, .. } => match (low, high) {
                    (Some(low), Some(high)) if low.at > high.at => false,
                    (Some(low), Some(high)) if low.at == high.at => !low.open && !high.open && !not.contains(&low.at),
                    _ => true,
                },
            }
    }
}

fn raise(low: &mut Option<End>, by: End, whole: bool) {
    let by = match whole {
        true if by.open => End { at: by.at.floor().add(&Number::ONE), open: false },
        true => End { at: by.at.ceil(), open: false },
        false => by,
    };
    if low.as_ref().is_none_or(|known| by.at > known.at || (by.at == known.at && by.open)) {
        *low = Some(by);
    }
}

fn sink(high: &mut Option<End>, by: End, whole: bool) {
    let by = match whole {
        true if by.open => End { at: by.at.ceil().sub(&Number::ONE), open: false },
        true => End { at: by.at.floor(), open: false },
        false => by,
    };
    if high.as_ref().is_none_or(|known| by.at < known.at || (by.at == known.at && by.open)) {
        *high = Some(by);
    }
}

/// In which order two expressions can still stand.
#[derive(Debug, Clone, Copy)]
pub(super) struct Order {
    /// Less, equal, more.
    left: [bool; 3],
    /// One of them may be absent, so that no comparison holds.
    absent: bool,
}

impl Order {
    pub(super) fn any() -> Order {
        Order { left: [true; 3], absent: true }
    }

    /// False if no order is left.
    pub(super) fn compared(&mut self, compare: Compare, holds: bool) -> bool {
        let allowed = match compare {
            Compare::AtLeast => [false, true, true],
            Compare::AtMost => [true, true, false],
            Compare::MoreThan => [false, false, true],
            Compare::LessThan => [true, false, false],
            Compare::Equal => [false, true, false],
        };
        for (left, allowed) in self.left.iter_mut().zip(allowed) {
            *left &= allowed == holds;
        }
        self.absent &= !holds;
        self.absent || self.left.contains(&true)
    }
}

/// The same comparison with its sides changed over.
pub(super) fn turned(compare: Compare) -> Compare {
    match compare {
        Compare::AtLeast => Compare::AtMost,
        Compare::AtMost => Compare::AtLeast,
        Compare::MoreThan => Compare::LessThan,
        Compare::LessThan => Compare::MoreThan,
        Compare::Equal => Compare::Equal,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(n: i64) -> Number {
        Number::decimal(n, 0)
    }

    #[test]
    fn bounds_that_leave_nothing_are_seen() {
        let mut left = Left::numbers(false, false);
        assert!(left.compared(Compare::AtLeast, &number(5), true));
        assert!(left.clone().compared(Compare::AtMost, &number(5), true));
        assert!(!left.clone().compared(Compare::LessThan, &number(5), true));
        assert!(!left.compared(Compare::AtLeast, &number(3), false));
    }

    #[test]
    fn counts_are_whole() {
        let mut left = Left::count();
        assert!(left.compared(Compare::MoreThan, &number(2), true));
        assert!(!left.compared(Compare::LessThan, &number(3), true));
    }

    #[test]
    fn what_may_be_absent_escapes_a_comparison_that_fails() {
        let mut left = Left::values(0b11, true);
        assert!(left.within(0b11, false));
        assert!(!left.within(0b01, true));
    }
}
