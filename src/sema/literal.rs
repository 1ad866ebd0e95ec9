//! Written numbers, quantities and values into exact numbers and sets.

use super::lower::{Lower, Ty};
use crate::base::date::Date;
use crate::base::dimension::{self, Dimension};
use crate::base::number::Number;
use crate::base::unit;
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::schema::{DomainId, ValueSet};
use crate::syntax::ast;

/// The exact number written as `7 1/2`, `7-1/2`, `3/4` or `0.25`; none where a denominator is zero.
pub(crate) fn number(text: &str) -> Option<Number> {
    let ratio = |text: &str| {
        let (top, bottom) = text.split_once('/')?;
        Number::parse_decimal(top.trim())?.div(&Number::parse_decimal(bottom.trim())?)
    };
    if !text.contains('/') {
        return Number::parse_decimal(text);
    }
    match text.rsplit_once([' ', '-']) {
        Some((whole, fraction)) => Some(Number::parse_decimal(whole.trim())?.add(&ratio(fraction)?)),
        None => ratio(text),
    }
}

/// A measure as the name of a scale's step: single spaces, as written.
pub(crate) fn step_name(measure: &ast::Measure) -> String {
    let mut words: Vec<&str> = Vec::new();
    for (number, unit) in &measure.parts {
        words.extend(number.text.split_ascii_whitespace());
        words.extend(unit.iter().map(|u| u.text.as_str()));
    }
    words.join(" ")
}

/// A measure in base units with its dimension. A number without a unit is plain.
pub(crate) fn measure(measure: &ast::Measure) -> Result<(Number, Dimension), Diagnostic> {
    let mut total: Option<(Number, Dimension)> = None;
    for (written, symbol) in &measure.parts {
        let value = number(&written.text).ok_or_else(|| {
            Diagnostic::error(Code::UnexpectedText, format!("`{}` is not a number", written.text))
                .at(written.span, "too long, or divided by zero")
        })?;
        let (value, dimension) = match symbol {
            None => (value, Dimension::PLAIN),
            Some(symbol) => {
                let unit = unit::lookup(&symbol.text).ok_or_else(|| unknown_unit(symbol))?;
                (unit::to_base(&value, unit), unit.dimension)
            }
        };
        total = Some(match total {
            None => (value, dimension),
            Some((sum, first)) if first == dimension && !dimension.is_point() => (sum.add(&value), first),
            Some((_, first)) => {
                return Err(Diagnostic::error(Code::DimensionsDiffer, "the parts of this quantity do not add up")
                    .at(measure.span, format!("{} and {}", first.name(), dimension.name())));
            }
        });
    }
    total.ok_or_else(|| {
        Diagnostic::error(Code::UnexpectedText, "an empty quantity").at(measure.span, "a number was expected")
    })
}

fn unknown_unit(symbol: &ast::Name) -> Diagnostic {
    let diagnostic = Diagnostic::error(Code::UnknownUnit, format!("`{}` is not a unit", symbol.text))
        .at(symbol.span, "not a unit, and no scale has such a step");
    match unit::nearest(&symbol.text) {
        Some(near) => diagnostic.help(format!("did you mean `{}`?", near.symbol)),
        None => diagnostic.help("units stand right behind a number; count with `at least 2 of …`"),
    }
}

/// Brings a number to the wanted dimension, where that is exact or by pi.
pub(crate) fn bring(value: &Number, from: Dimension, to: Dimension) -> Option<Number> {
    if from == to {
        return Some(value.clone());
    }
    if !dimension::comparable(from, to) {
        return None;
    }
    match dimension::conversion(from, to) {
        Some(factor) => Some(value.mul(&factor)),
        None => Some(value.clone()),
    }
}

impl Lower<'_> {
    /// The step or value of any domain spelt like this.
    pub(super) fn any_domain_with(&self, name: &str) -> Option<(DomainId, ValueSet)> {
        let at = self.schema().domains.iter().position(|d| d.values.iter().any(|v| v == name))?;
        let id = DomainId(u16::try_from(at).ok()?);
        self.value_of(id, name).map(|set| (id, set))
    }

    /// The value or group of a domain spelt like this.
    pub(super) fn value_of(&self, domain: DomainId, name: &str) -> Option<ValueSet> {
        let domain = self.schema().domain(domain);
        if let Some(at) = domain.values.iter().position(|v| v == name) {
            return Some(1 << at);
        }
        domain.groups.iter().find(|(group, _)| group == name).map(|(_, set)| *set)
    }

    /// A literal measure, wanted as a type; says what is wrong.
    pub(super) fn measure_as(&mut self, written: &ast::Measure, wanted: Option<Ty>) -> Option<(Number, Ty)> {
        match measure(written) {
            Err(diagnostic) => {
                self.say(diagnostic);
                None
            }
            Ok((value, dimension)) => match wanted {
                Some(Ty::Number(to)) => match bring(&value, dimension, to) {
                    Some(value) => Some((value, Ty::Number(to))),
                    None => {
                        let bare = dimension == Dimension::PLAIN;
                        let code = if bare { Code::MissingUnit } else { Code::DimensionsDiffer };
                        let title = if bare {
                            "a quantity without a unit".to_string()
                        } else {
                            format!("{} where {} is meant", dimension.name(), to.name())
                        };
                        let help = match unit::base_unit(to) {
                            Some(base) => {
                                format!("write a {}, such as `{} {}`", to.name(), written_number(written), base.symbol)
                            }
                            None => format!("write a {}", to.name()),
                        };
                        self.say(Diagnostic::error(code, title).at(written.span, "here").help(help));
                        None
                    }
                },
                _ => Some((value, Ty::Number(dimension))),
            },
        }
    }

    /// A date literal as days.
    pub(super) fn date(&mut self, name: &ast::Name) -> Option<Number> {
        match Date::parse_iso(&name.text) {
            Ok(date) => Some(Number::from(date.days_since_epoch())),
            Err(error) => {
                self.say(
                    Diagnostic::error(Code::BadDate, format!("`{}` is not a date", name.text))
                        .at(name.span, error.to_string())
                        .help("write year-month-day, such as 2026-09-01"),
                );
                None
            }
        }
    }

    /// A written value as a set of one domain.
    pub(super) fn value_set(&mut self, domain: DomainId, value: &ast::Value) -> Option<ValueSet> {
        let (text, span) = match value {
            ast::Value::Quantity(quantity) => {
                if let Some(second) = &quantity.second {
                    self.say(
                        Diagnostic::error(Code::DualInArithmetic, "a second system behind a step of a scale")
                            .at(second.span, "steps have one spelling"),
                    );
                }
                (step_name(&quantity.first), quantity.span)
            }
            ast::Value::Worded(name) | ast::Value::Word(name) => (name.text.to_string(), name.span),
            ast::Value::Text(name) | ast::Value::Date(name) => (name.text.to_string(), name.span),
            ast::Value::None(span) => ("none".to_string(), *span),
        };
        let found = self.value_of(domain, &text);
        if found.is_none() {
            let domain = self.schema().domain(domain);
            let known = domain.values.iter().chain(domain.groups.iter().map(|(name, _)| name)).map(String::as_str);
            let near = nearest(&text, known).map(str::to_string);
            let name = domain.name.clone();
            let few = domain.values.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
            let more = if domain.values.len() > 8 { ", …" } else { "" };
            let diagnostic =
                Diagnostic::error(Code::UnknownChoiceValue, format!("`{text}` is not a value of `{name}`"))
                    .at(span, "not one of its values");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help(format!("one of: {few}{more}")),
            });
        }
        found
    }

    /// The values of a range of an ordered domain.
    pub(super) fn range_set(&mut self, domain: DomainId, range: &ast::ValueRange) -> Option<ValueSet> {
        let from = self.value_set(domain, &range.from)?;
        let Some(through) = &range.through else { return Some(from) };
        let to = self.value_set(domain, through)?;
        if !self.schema().domain(domain).ordered {
            let name = self.schema().domain(domain).name.clone();
            self.say(
                Diagnostic::error(Code::UnorderedComparison, format!("`{name}` has no order"))
                    .at(value_span(through), "a range needs one")
                    .help("join values with `or`, or declare a `scale`"),
            );
            return None;
        }
        let (low, high) = (from.trailing_zeros(), to.trailing_zeros());
        let mut set = 0;
        for at in low..=high {
            set |= 1 << at;
        }
        Some(set)
    }
}

fn written_number(measure: &ast::Measure) -> &str {
    measure.parts.first().map_or("1", |(number, _)| number.text.as_str())
}

/// Where a value stands.
pub(super) fn value_span(value: &ast::Value) -> crate::base::source::Span {
    match value {
        ast::Value::Date(name) | ast::Value::Text(name) | ast::Value::Worded(name) | ast::Value::Word(name) => {
            name.span
        }
        ast::Value::Quantity(quantity) => quantity.span,
        ast::Value::None(span) => *span,
    }
}
