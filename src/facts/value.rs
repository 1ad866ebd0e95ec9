//! One stated value against the type of its field.

use crate::base::date::Date;
use crate::base::dimension::{self, Dimension};
use crate::base::number::Number;
use crate::base::source::Span;
use crate::base::unit;
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::facts::installation::{Cell, MaybeAbsent, ObjectId, Range};
use crate::ir::schema::{Domain, DomainId, Field, FieldType, Schema, ThingId, ValueSet};
use crate::syntax::ast::{FactBound, FactRange, FactSide, FactTerm, FactValue, Measure, Name};
use std::fmt::Write;

/// The field a value is stated for.
pub(crate) struct Asked<'a> {
    /// What facts may say.
    pub schema: &'a Schema,
    /// The thing that has the field.
    pub thing: ThingId,
    /// The field.
    pub field: &'a Field,
    /// Where the value stands.
    pub span: Span,
}

/// Finds the object of a name, or says why there is none.
pub(crate) type Resolve<'a> = &'a dyn Fn(ThingId, &str, Span) -> Result<ObjectId, Diagnostic>;

/// How many values a message lists.
const LISTED: usize = 24;

/// The cell that `value` states; nothing if it is a mistake, which is then in `found`.
pub(crate) fn cell(asked: &Asked, value: &FactValue, resolve: Resolve, found: &mut Diagnostics) -> Option<Cell> {
    match read(asked, value, resolve) {
        Ok(cell) => Some(cell),
        Err(mistakes) => {
            found.extend(mistakes);
            None
        }
    }
}

type Read<T> = Result<T, Vec<Diagnostic>>;

fn read(asked: &Asked, value: &FactValue, resolve: Resolve) -> Read<Cell> {
    let stated = match value {
        FactValue::Unknown => return Ok(Cell::Unknown),
        FactValue::List(_) => return Err(vec![asked.one_value_only()]),
        FactValue::Keyed(parts) => {
            let span = parts.first().map_or(asked.span, |part| part.from.span);
            let title = format!("{} is not measured from several places", asked.full_name());
            let help = format!("write {}", expectation(asked.schema, asked.field));
            return Err(vec![Diagnostic::error(Code::FactWrongType, title).at(span, "measured from here").help(help)]);
        }
        FactValue::OneOf(ranges) => Stated::Among(ranges),
        FactValue::Not(ranges) => Stated::Except(ranges),
        FactValue::Bounds(bounds) => Stated::Within(bounds),
    };
    match asked.field.ty {
        FieldType::YesNo => Steps { asked, domain: &yes_no(), kind: "yes-no" }.cell(stated),
        FieldType::OneOf(id) => {
            let domain = asked.schema.domain(id);
            Steps { asked, domain, kind: &domain.name }.cell(stated)
        }
        FieldType::Quantity(dimension) => Line { asked, of: LineOf::Quantity(dimension) }.cell(stated),
        FieldType::Date => Line { asked, of: LineOf::Days }.cell(stated),
        FieldType::Text => text(asked, stated),
        FieldType::Ref(thing) => reference(asked, thing, stated, resolve),
        FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => Err(vec![asked.members_only()]),
    }
}

/// What a value other than `unknown` says.
#[derive(Clone, Copy)]
enum Stated<'v> {
    /// It is one of these.
    Among(&'v [FactRange]),
    /// It is none of these.
    Except(&'v [FactRange]),
    /// It keeps these bounds.
    Within(&'v [FactBound]),
}

impl Asked<'_> {
    fn full_name(&self) -> String {
        format!("`{}` of {}", self.field.name, self.schema.thing(self.thing).name)
    }

    fn wrong(&self, span: Span, what: impl Into<String>) -> Diagnostic {
        let expected = expectation(self.schema, self.field);
        Diagnostic::error(Code::FactWrongType, format!("{} takes {expected}", self.full_name())).at(span, what)
    }

    fn one_value_only(&self) -> Diagnostic {
        Diagnostic::error(Code::FactListMismatch, format!("{} takes one value, not a list", self.full_name()))
            .at(self.span, "several values")
            .help("keep one; join values with `or` if it is not known which of them holds")
    }

    /// Says that a list of members cannot be a value.
    pub(crate) fn members_only(&self) -> Diagnostic {
        let help = match self.field.ty {
            FieldType::ManyRef(_) => format!("write `{}: first-name, second-name`, or `none`", self.field.name),
            FieldType::Inverse(..) => "leave it out: it is computed from the references of others".to_string(),
            _ => format!("write `{} {{ name {{ … }} }}`, or `{}: none`", self.field.name, self.field.name),
        };
        Diagnostic::error(Code::FactListMismatch, format!("{} is a list", self.full_name()))
            .at(self.span, "a single value")
            .help(help)
    }

    fn none(&self, span: Span) -> Result<(), Diagnostic> {
        if self.field.may_be_absent {
            return Ok(());
        }
        Err(Diagnostic::error(Code::NoneNotAllowed, format!("{} is always there", self.full_name()))
            .at(span, "`none` says that it does not exist")
            .help("leave the line out, or write `unknown`, if it is merely not known"))
    }

    fn nothing_left(&self, span: Span, why: impl Into<String>) -> Diagnostic {
        Diagnostic::error(Code::NoValueLeft, format!("this leaves no value for {}", self.full_name())).at(span, why)
    }
}

/// What a field takes, as a person says it: `a length such as 7 1/2 ft`.
pub(crate) fn expectation(schema: &Schema, field: &Field) -> String {
    match field.ty {
        FieldType::YesNo => "yes or no".to_string(),
        FieldType::OneOf(id) => {
            let domain = schema.domain(id);
            let article = if domain.ordered { "a step of" } else { "one of" };
            format!("{article} {}", domain.name)
        }
        FieldType::Quantity(dimension) => {
            format!("{} {} such as {}", article(&dimension.name()), dimension.name(), sample(dimension))
        }
        FieldType::Date => "a date such as 2021-09-15".to_string(),
        FieldType::Text => "a text in quotes".to_string(),
        FieldType::Ref(thing) => format!("the name of {}", a_thing(schema, thing)),
        FieldType::Many(thing) => format!("members in braces, each {}", a_thing(schema, thing)),
        FieldType::ManyRef(thing) => format!("names, each of {}", a_thing(schema, thing)),
        FieldType::Inverse(thing, _) => format!("nothing: it is computed from each {}", schema.thing(thing).name),
    }
}

fn a_thing(schema: &Schema, thing: ThingId) -> String {
    let name = &schema.thing(thing).name;
    format!("{} {name}", article(name))
}

fn article(word: &str) -> &'static str {
    if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// A quantity of that dimension as facts write it.
pub(crate) fn sample(dimension: Dimension) -> String {
    match dimension {
        Dimension::LENGTH => "7 1/2 ft".to_string(),
        Dimension::RATIO => "40 %".to_string(),
        Dimension::VOLTAGE => "120 V".to_string(),
        Dimension::CURRENT => "20 A".to_string(),
        d if d.is_dimensionless() => "3".to_string(),
        d => format!("10 {}", usual_unit(d)),
    }
}

fn usual_unit(dimension: Dimension) -> String {
    match dimension {
        Dimension::LENGTH => "ft".to_string(),
        Dimension::AREA => "ft2".to_string(),
        Dimension::VOLUME => "in3".to_string(),
        Dimension::MASS => "lb".to_string(),
        Dimension::TIME => "min".to_string(),
        d => unit::base_unit(d).map_or_else(|| d.base_symbols(), |unit| unit.symbol.to_string()),
    }
}

// ------------------------------------------------------------------------------------------------ choices and scales

fn yes_no() -> Domain {
    Domain {
        name: "yes-no".to_string(),
        about: String::new(),
        ordered: false,
        values: vec!["no".to_string(), "yes".to_string()],
        value_notes: Vec::new(),
        groups: Vec::new(),
    }
}

/// The values of a choice, a scale or a yes-no.
struct Steps<'a> {
    asked: &'a Asked<'a>,
    domain: &'a Domain,
    kind: &'a str,
}

impl Steps<'_> {
    fn cell(&self, stated: Stated) -> Read<Cell> {
        let (mut values, mut absent) = match stated {
            Stated::Among(ranges) => self.union(ranges)?,
            Stated::Except(ranges) => {
                let (taken, not_none) = self.union_allowing_none(ranges)?;
                (self.domain.all() & !taken, self.asked.field.may_be_absent && !not_none)
            }
            Stated::Within(bounds) => (self.within(bounds)?, false),
        };
        absent &= self.asked.field.may_be_absent;
        values &= self.domain.all();
        match (values, absent) {
            (0, true) => Ok(Cell::Absent),
            (0, false) => Err(vec![self.asked.nothing_left(self.asked.span, "no value is all of this")]),
            (_, true) => Ok(Cell::Values(values, MaybeAbsent::Perhaps)),
            (_, false) => Ok(Cell::Values(values, MaybeAbsent::Present)),
        }
    }

    fn union(&self, ranges: &[FactRange]) -> Read<(ValueSet, bool)> {
        let mistakes: Vec<Diagnostic> = nones(ranges).filter_map(|span| self.asked.none(span).err()).collect();
        if !mistakes.is_empty() {
            return Err(mistakes);
        }
        self.union_allowing_none(ranges)
    }

    fn union_allowing_none(&self, ranges: &[FactRange]) -> Read<(ValueSet, bool)> {
        let (mut values, mut none, mut mistakes) = (0, false, Vec::new());
        for range in ranges {
            match (&range.from, &range.through) {
                (FactTerm::None(_), None) => none = true,
                (from, None) => collect(self.term(from), &mut mistakes, |set| values |= set),
                (from, Some(through)) => collect(self.range(from, through), &mut mistakes, |set| values |= set),
            }
        }
        if mistakes.is_empty() { Ok((values, none)) } else { Err(mistakes) }
    }

    fn range(&self, from: &FactTerm, through: &FactTerm) -> Result<ValueSet, Diagnostic> {
        let (low, high) = (self.step(from)?, self.step(through)?);
        if low > high {
            let span = term_span(from).to(term_span(through));
            return Err(self
                .asked
                .nothing_left(span, "the first is the larger one")
                .help(format!("turn it round: {} goes from smallest to largest", self.kind)));
        }
        Ok(up_from(low) & down_from(high))
    }

    fn within(&self, bounds: &[FactBound]) -> Read<ValueSet> {
        let (mut values, mut mistakes) = (self.domain.all(), Vec::new());
        for bound in bounds {
            collect(self.step(&bound.term), &mut mistakes, |step| {
                values &= match bound.side {
                    FactSide::AtLeast => up_from(step),
                    FactSide::MoreThan => up_from(step) & !(1 << step),
                    FactSide::AtMost => down_from(step),
                    FactSide::LessThan => down_from(step) & !(1 << step),
                }
            });
        }
        if mistakes.is_empty() { Ok(values) } else { Err(mistakes) }
    }

    /// The place of one value on a scale.
    fn step(&self, term: &FactTerm) -> Result<usize, Diagnostic> {
        if !self.domain.ordered {
            let title = format!("the values of {} have no order", self.asked.full_name());
            return Err(Diagnostic::error(Code::FactWrongType, title)
                .at(term_span(term), "a bound needs a scale or a quantity")
                .help("join the possible values with `or`"));
        }
        let written = spelled(term);
        match self.domain.values.iter().position(|value| written.iter().any(|w| w == value)) {
            Some(step) if step < crate::ir::schema::MOST_VALUES => Ok(step),
            _ => Err(self.unknown_value(term)),
        }
    }

    fn term(&self, term: &FactTerm) -> Result<ValueSet, Diagnostic> {
        let written = spelled(term);
        let is = |name: &str| written.iter().any(|w| w == name);
        if let Some(at) = self.domain.values.iter().position(|value| is(value)) {
            return Ok(1 << at.min(crate::ir::schema::MOST_VALUES - 1));
        }
        match self.domain.groups.iter().find(|(name, _)| is(name)) {
            Some((_, set)) => Ok(*set),
            None => Err(self.unknown_value(term)),
        }
    }

    fn unknown_value(&self, term: &FactTerm) -> Diagnostic {
        let span = term_span(term);
        let Some(written) = spelled(term).into_iter().next() else {
            return self.asked.wrong(span, kind_of(term)).help(self.listed());
        };
        let names = || {
            let groups = self.domain.groups.iter().map(|(name, _)| name.as_str());
            self.domain.values.iter().map(String::as_str).chain(groups)
        };
        let help = match nearest(&written, names()) {
            Some(name) => format!("did you mean `{name}`?"),
            None => self.listed(),
        };
        self.asked.wrong(span, format!("`{written}` is no value of {}", self.kind)).help(help)
    }

    fn listed(&self) -> String {
        format!("write one of: {}", listed(&self.domain.values))
    }
}

/// Values joined by commas, cut when there are many.
pub(crate) fn listed(values: &[String]) -> String {
    let mut text = values.iter().take(LISTED).map(String::as_str).collect::<Vec<_>>().join(", ");
    if values.len() > LISTED {
        let _ = write!(text, " and {} more", values.len() - LISTED);
    }
    text
}

fn up_from(step: usize) -> ValueSet {
    ValueSet::MAX << step
}

fn down_from(step: usize) -> ValueSet {
    ValueSet::MAX >> (crate::ir::schema::MOST_VALUES - 1 - step)
}

fn nones(ranges: &[FactRange]) -> impl Iterator<Item = Span> {
    ranges.iter().flat_map(|range| [Some(&range.from), range.through.as_ref()]).flatten().filter_map(
        |term| match term {
            FactTerm::None(span) => Some(*span),
            _ => None,
        },
    )
}

fn collect<T>(one: Result<T, Diagnostic>, mistakes: &mut Vec<Diagnostic>, mut keep: impl FnMut(T)) {
    match one {
        Ok(value) => keep(value),
        Err(mistake) => mistakes.push(mistake),
    }
}

/// The spellings a term may have as a name: `12 AWG`, or `2A` for a name that looks like a measure.
fn spelled(term: &FactTerm) -> Vec<String> {
    match term {
        FactTerm::Word(name) => vec![name.text.to_string()],
        FactTerm::Measure(measure) => {
            let joined = |gap: &str| {
                let parts = measure.parts.iter().map(|(number, unit)| match unit {
                    Some(unit) => format!("{}{gap}{}", number.text, unit.text),
                    None => number.text.to_string(),
                });
                parts.collect::<Vec<_>>().join(" ")
            };
            vec![joined(" "), joined("")]
        }
        FactTerm::None(_) | FactTerm::Date(_) | FactTerm::Text(_) => Vec::new(),
    }
}

/// Where a term stands.
pub(crate) fn term_span(term: &FactTerm) -> Span {
    match term {
        FactTerm::None(span) => *span,
        FactTerm::Date(name) | FactTerm::Text(name) | FactTerm::Word(name) => name.span,
        FactTerm::Measure(measure) => measure.span,
    }
}

fn kind_of(term: &FactTerm) -> String {
    match term {
        FactTerm::None(_) => "this is `none`".to_string(),
        FactTerm::Date(_) => "this is a date".to_string(),
        FactTerm::Text(_) => "this is a text".to_string(),
        FactTerm::Word(name) => format!("`{}` is a word", name.text),
        FactTerm::Measure(measure) => match measure.parts.first() {
            Some((_, Some(name))) => match unit::lookup(&name.text) {
                Some(unit) => format!("this is {} {}", article(&unit.dimension.name()), unit.dimension.name()),
                None => "this is a quantity".to_string(),
            },
            _ => "this is a number".to_string(),
        },
    }
}

// ------------------------------------------------------------------------------------------------ numbers and dates

/// What a line of numbers holds.
#[derive(Clone, Copy)]
enum LineOf {
    /// Numbers in the base unit.
    Quantity(Dimension),
    /// Whole days.
    Days,
}

struct Line<'a> {
    asked: &'a Asked<'a>,
    of: LineOf,
}

impl Line<'_> {
    fn cell(&self, stated: Stated) -> Read<Cell> {
        match stated {
            Stated::Among(ranges) => self.hull(ranges),
            Stated::Except(ranges) => match ranges {
                [FactRange { from: FactTerm::None(_), through: None }] => {
                    Ok(Cell::Range(Box::default(), MaybeAbsent::Present))
                }
                _ => Err(vec![self.asked.wrong(self.asked.span, "`not` needs a choice or a scale").help(
                    "say it with `at least`, `at most`, `more than` or `less than` (for dates: `before`, `after`, `through`)",
                )]),
            },
            Stated::Within(bounds) => self.within(bounds),
        }
    }

    /// The smallest range over all that is named: a cell holds no gaps.
    fn hull(&self, ranges: &[FactRange]) -> Read<Cell> {
        let (mut hull, mut absent, mut mistakes): (Option<(Number, Number)>, bool, Vec<Diagnostic>) =
            (None, false, Vec::new());
        for range in ranges {
            if let (FactTerm::None(span), None) = (&range.from, &range.through) {
                absent = true;
                collect(self.asked.none(*span), &mut mistakes, |()| {});
                continue;
            }
            collect(self.ends(range), &mut mistakes, |(low, high)| {
                hull = Some(match hull.take() {
                    Some((l, h)) => (l.min(low), h.max(high)),
                    None => (low, high),
                });
            });
        }
        if !mistakes.is_empty() {
            return Err(mistakes);
        }
        let perhaps = if absent { MaybeAbsent::Perhaps } else { MaybeAbsent::Present };
        Ok(match hull {
            None if absent => Cell::Absent,
            None => Cell::Unknown,
            Some((low, high)) if low == high && !absent => Cell::Number(low),
            Some((low, high)) => {
                Cell::Range(Box::new(Range { low: Some(low), high: Some(high), ..Range::default() }), perhaps)
            }
        })
    }

    fn ends(&self, range: &FactRange) -> Result<(Number, Number), Diagnostic> {
        let low = self.number(&range.from)?;
        let Some(through) = &range.through else { return Ok((low.clone(), low)) };
        let high = self.number(through)?;
        if low > high {
            let span = term_span(&range.from).to(term_span(through));
            return Err(self.asked.nothing_left(span, "the first is the larger one").help("turn it round"));
        }
        Ok((low, high))
    }

    fn within(&self, bounds: &[FactBound]) -> Read<Cell> {
        let (mut range, mut mistakes) = (Range::default(), Vec::new());
        for bound in bounds {
            collect(self.number(&bound.term), &mut mistakes, |number| self.narrow(&mut range, bound.side, number));
        }
        if !mistakes.is_empty() {
            return Err(mistakes);
        }
        if self.asked.field.never_negative && range.low.is_none() {
            range.low = Some(Number::ZERO);
        }
        if let (Some(low), Some(high)) = (&range.low, &range.high) {
            let open = range.above_low || range.below_high;
            if low > high || (low == high && open) {
                return Err(vec![self.asked.nothing_left(self.asked.span, "nothing lies within both bounds")]);
            }
            if low == high {
                return Ok(Cell::Number(low.clone()));
            }
        }
        Ok(Cell::Range(Box::new(range), MaybeAbsent::Present))
    }

    fn narrow(&self, range: &mut Range, side: FactSide, number: Number) {
        // Days are whole, so an excluded day is the same as its included neighbour; closed ends decide more.
        let (side, number) = match (self.of, side) {
            (LineOf::Days, FactSide::MoreThan) => (FactSide::AtLeast, number.add(&Number::ONE)),
            (LineOf::Days, FactSide::LessThan) => (FactSide::AtMost, number.sub(&Number::ONE)),
            _ => (side, number),
        };
        let open = matches!(side, FactSide::MoreThan | FactSide::LessThan);
        match side {
            FactSide::AtLeast | FactSide::MoreThan => match &range.low {
                Some(low) if *low > number || (*low == number && range.above_low) => {}
                _ => (range.low, range.above_low) = (Some(number), open),
            },
            FactSide::AtMost | FactSide::LessThan => match &range.high {
                Some(high) if *high < number || (*high == number && range.below_high) => {}
                _ => (range.high, range.below_high) = (Some(number), open),
            },
        }
    }

    fn number(&self, term: &FactTerm) -> Result<Number, Diagnostic> {
        match (self.of, term) {
            (LineOf::Days, FactTerm::Date(name)) => match Date::parse_iso(&name.text) {
                Ok(date) => Ok(Number::from(date.days_since_epoch())),
                Err(error) => Err(Diagnostic::error(Code::BadDate, format!("`{}` is not a date: {error}", name.text))
                    .at(name.span, "this date")
                    .help("write year-month-day, such as 2021-09-15")),
            },
            (LineOf::Quantity(dimension), FactTerm::Measure(measure)) => self.measure(dimension, measure),
            (_, term) => Err(self.asked.wrong(term_span(term), kind_of(term))),
        }
    }

    fn measure(&self, dimension: Dimension, measure: &Measure) -> Result<Number, Diagnostic> {
        let mut total: Option<(Number, bool)> = None;
        for (number, unit_name) in &measure.parts {
            let Some(value) = parse_number(&number.text) else {
                return Err(self.asked.wrong(number.span, format!("`{}` is no number that can be kept", number.text)));
            };
            let value = match unit_name {
                Some(name) => self.in_base(dimension, measure, &value, name)?,
                None if dimension.is_dimensionless() && measure.parts.len() == 1 => value,
                None => return Err(self.missing_unit(dimension, number.span, &number.text)),
            };
            // `-6 ft 6 in` is six feet six below nought.
            total = Some(match total {
                None => (value.clone(), value.is_negative()),
                Some(_) if dimension.is_point() => {
                    return Err(self.asked.wrong(measure.span, "readings of a thermometer do not add up"));
                }
                Some((sum, true)) => (sum.sub(&value), true),
                Some((sum, false)) => (sum.add(&value), false),
            });
        }
        let Some((total, _)) = total else { return Err(self.asked.wrong(measure.span, "nothing is measured here")) };
        if self.asked.field.never_negative && total.is_negative() {
            let title = format!("{} is never negative", self.asked.full_name());
            return Err(Diagnostic::error(Code::NegativeValue, title)
                .at(measure.span, "below nought")
                .help("check the sign, or the direction in which it was measured"));
        }
        Ok(total)
    }

    fn missing_unit(&self, dimension: Dimension, span: Span, text: &str) -> Diagnostic {
        Diagnostic::error(Code::MissingUnit, format!("{} needs a unit", self.asked.full_name()))
            .at(span, "a number without a unit")
            .help(format!("write for example `{text} {}`", usual_unit(dimension)))
    }

    fn in_base(&self, wanted: Dimension, measure: &Measure, value: &Number, name: &Name) -> Result<Number, Diagnostic> {
        let Some(unit) = unit::lookup(&name.text) else {
            let help = match unit::nearest(&name.text) {
                Some(near) => format!("did you mean `{}`?", near.symbol),
                None => format!("a unit of {} is expected, such as {}", wanted.name(), usual_unit(wanted)),
            };
            let title = format!("`{}` is not a known unit", name.text);
            return Err(Diagnostic::error(Code::UnknownUnit, title).at(name.span, "this unit").help(help));
        };
        let factor = if dimension::comparable(unit.dimension, wanted) {
            dimension::conversion(unit.dimension, wanted)
        } else {
            None
        };
        match factor {
            Some(factor) => Ok(unit::to_base(value, unit).mul(&factor)),
            None => {
                let found = unit.dimension.name();
                let what = format!("`{}` is a unit of {found}", unit.symbol);
                Err(self.asked.wrong(measure.span, what).help(format!("write it in {}", usual_unit(wanted))))
            }
        }
    }
}

/// The exact value of `7.5`, `7 1/2`, `7-1/2` or `3/4`; nothing for other text, a zero divisor or too many digits.
pub(crate) fn parse_number(text: &str) -> Option<Number> {
    let Some((left, divisor)) = text.split_once('/') else { return Number::parse_decimal(text) };
    let (whole, numerator) = match left.trim_start_matches('-').rsplit_once([' ', '-']) {
        Some((whole, numerator)) => (whole.trim(), numerator),
        None => ("0", left.trim_start_matches('-')),
    };
    let part = Number::parse_decimal(numerator)?.div(&Number::parse_decimal(divisor)?)?;
    let size = Number::parse_decimal(whole)?.add(&part);
    Some(if left.starts_with('-') { size.neg() } else { size })
}

// ------------------------------------------------------------------------------------------------ texts and references

fn text(asked: &Asked, stated: Stated) -> Read<Cell> {
    let Stated::Among([FactRange { from, through: None }]) = stated else {
        return Err(vec![asked.wrong(asked.span, "a text is one text, or `unknown`")]);
    };
    match from {
        FactTerm::Text(name) | FactTerm::Word(name) => Ok(Cell::Text(name.text.as_str().into())),
        FactTerm::None(span) => match asked.none(*span) {
            Ok(()) => Ok(Cell::Absent),
            Err(mistake) => Err(vec![
                mistake.help("write \"none\" in quotes for the text, or leave the line out if it is not known"),
            ]),
        },
        FactTerm::Date(_) | FactTerm::Measure(_) => Err(vec![asked.wrong(term_span(from), kind_of(from))]),
    }
}

fn reference(asked: &Asked, thing: ThingId, stated: Stated, resolve: Resolve) -> Read<Cell> {
    let Stated::Among(ranges) = stated else {
        let help = "join the names it may be with `or`";
        return Err(vec![asked.wrong(asked.span, "a reference has neither bounds nor `not`").help(help)]);
    };
    let (mut objects, mut absent, mut mistakes) = (Vec::new(), false, Vec::new());
    for range in ranges {
        match (&range.from, &range.through) {
            (FactTerm::None(span), None) => {
                absent = true;
                collect(asked.none(*span), &mut mistakes, |()| {});
            }
            (term, None) => collect(named(asked, thing, term, resolve), &mut mistakes, |id| objects.push(id)),
            (term, Some(_)) => mistakes.push(asked.wrong(term_span(term), "names have no order")),
        }
    }
    if !mistakes.is_empty() {
        return Err(mistakes);
    }
    objects.sort_unstable();
    objects.dedup();
    let perhaps = if absent { MaybeAbsent::Perhaps } else { MaybeAbsent::Present };
    Ok(match (objects.as_slice(), absent) {
        ([], true) => Cell::Absent,
        ([], false) => Cell::Unknown,
        ([one], false) => Cell::Object(*one),
        _ => Cell::OneOfObjects(objects.into_boxed_slice(), perhaps),
    })
}

/// The object that a term names.
pub(crate) fn named(asked: &Asked, thing: ThingId, term: &FactTerm, resolve: Resolve) -> Result<ObjectId, Diagnostic> {
    let span = term_span(term);
    let spellings = match term {
        FactTerm::Text(name) => vec![name.text.to_string()],
        term => spelled(term),
    };
    let mut first = None;
    for spelling in spellings {
        match resolve(thing, &spelling, span) {
            Ok(id) => return Ok(id),
            Err(mistake) => first = first.or(Some(mistake)),
        }
    }
    Err(first.unwrap_or_else(|| asked.wrong(span, kind_of(term))))
}

/// The domain of a field, if it takes one value of a choice or scale.
pub(crate) fn domain_of(field: &Field) -> Option<DomainId> {
    match field.ty {
        FieldType::OneOf(id) => Some(id),
        _ => None,
    }
}
