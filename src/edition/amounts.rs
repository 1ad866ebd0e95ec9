//! Changes within amounts, definitions and series.

use super::apply::Work;
use super::site::{self, Site};
use crate::base::number::Number;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

/// The labels behind an amount's name or number; none if the number lies elsewhere.
fn within<'w>(amount: &Amount, wanted: &'w str) -> Option<Vec<&'w str>> {
    if amount.lines.iter().any(|line| line.name.as_ref().is_some_and(|own| own.text == wanted)) {
        return Some(vec![wanted]);
    }
    let behind = |own: &str| {
        let rest = wanted.strip_prefix(own)?;
        (rest.is_empty() || rest.starts_with('(')).then(|| site::split(rest).1)
    };
    let labels = behind(&amount.name.text).or_else(|| amount.per.as_ref().and_then(|per| behind(&per.text)))?;
    match labels.as_slice() {
        [] => Some(labels),
        [label] if position(amount, label).is_some() => Some(labels),
        _ => None,
    }
}

fn position(amount: &Amount, label: &str) -> Option<usize> {
    let is_it = |own: &Option<Name>| own.as_ref().is_some_and(|own| own.text == label);
    amount.lines.iter().position(|line| is_it(&line.label) || is_it(&line.name))
}

/// The full number of an amount, or of its line, that a number or name means.
pub(super) fn number_of(amount: &Amount, wanted: &str) -> Option<String> {
    let labels = within(amount, wanted)?;
    let named = labels.contains(&wanted);
    let labels: String = labels.iter().map(|l| if named { format!(" {l}") } else { format!("({l})") }).collect();
    let own = amount.per.as_ref().map_or(amount.name.text.as_str(), |per| per.text.as_str());
    Some(format!("{own}{labels}"))
}

/// Takes out the line with that number; whether there was one.
pub(super) fn strike_line(items: &mut [Item], address: &str) -> bool {
    let found = items.iter_mut().find_map(|item| match item {
        Item::Amount(amount) => {
            let [label] = within(amount, address)?.try_into().ok()?;
            Some((position(amount, label)?, amount))
        }
        _ => None,
    });
    match found {
        Some((at, amount)) => {
            amount.lines.remove(at);
            true
        }
        None => false,
    }
}

impl Work<'_, '_> {
    /// The value of an amount's line or of a definition is another.
    pub(super) fn value_was(
        &mut self,
        number: &str,
        target: &Address,
        old: &Expr,
        new: &Expr,
        span: Span,
        change: &Change,
    ) {
        if !self.claim(&format!("the value of {number}"), span) {
            return;
        }
        let found = self.book.items.iter_mut().find_map(|item| match item {
            Item::Define(define) if define.name.text == target.text => Some((&mut define.expr, &mut define.marks)),
            Item::Amount(amount) => {
                let [label] = within(amount, &target.text)?.try_into().ok()?;
                let at = position(amount, label)?;
                amount.lines.get_mut(at).map(|line| (&mut line.expr, &mut line.marks))
            }
            _ => None,
        });
        let Some((expr, marks)) = found else {
            let title = format!("{number} is not worked out");
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(target.span, "neither a line of an amount nor a definition")
                    .help("name what changes: `FIELD was …, now …`"),
            );
            return;
        };
        let says = line::expr(expr);
        if says != line::expr(old) {
            let place = (expr.span, format!("says {says}"));
            let title = format!("{number} is worked out otherwise");
            self.mismatch(span, title, &line::expr(old), Some(place));
            return;
        }
        expr.clone_from(new);
        marks.clone_from(&change.marks);
        let now = line::expr(new);
        self.book.reworded.insert(new.span, now.clone());
        self.event(number, format!("was worked out as {says}, now as {now}"), change);
    }

    /// Puts a mark on a numbered part, for all that stands in it.
    fn mark_inside(&mut self, number: &str, mark: Mark, change: &Change) {
        let own = |body: &mut Body| {
            let marks = vec![mark.clone()];
            body.statements.push(Statement { kind: StatementKind::Marks, marks, span: change.span });
        };
        match site::find(&mut self.book.items, number) {
            Some(Site::Section(section)) => own(&mut section.body),
            Some(Site::Paragraph(Statement { kind: StatementKind::Paragraph { body: Some(body), .. }, .. })) => {
                own(body)
            }
            Some(Site::Paragraph(statement) | Site::Exception(statement)) => statement.marks.push(mark),
            Some(Site::Item(item)) => item.marks.push(mark),
            Some(Site::Half(half)) => half.marks.push(mark),
            Some(Site::Kind(kind)) => kind.marks.push(mark),
            None => {}
        }
    }

    /// Marks something as carried without being checked.
    pub(super) fn carry(&mut self, carried: &Carried, change: &Change) {
        let mark = Mark::Unchecked(self.document.as_str().into());
        let (key, address, marks) = match carried {
            Carried::Table(address) => {
                let marks = self.book.items.iter_mut().find_map(|item| match item {
                    Item::Table(table) if table.address.text == address.text => Some(&mut table.marks),
                    _ => None,
                });
                (format!("table {}", address.text), address, marks)
            }
            Carried::Series(address) => {
                let marks = self.book.items.iter_mut().find_map(|item| match item {
                    Item::Series(series) if series.address.text == address.text => Some(&mut series.marks),
                    _ => None,
                });
                (format!("series {}", address.text), address, marks)
            }
            Carried::Part(address) => {
                let marks = self.book.items.iter_mut().find_map(|item| match item {
                    Item::Define(define) if define.name.text == address.text => Some(&mut define.marks),
                    Item::Amount(amount) if amount.name.text == address.text => Some(&mut amount.marks),
                    _ => None,
                });
                if marks.is_none() {
                    let Some(number) = self.number(address) else { return };
                    self.mark_inside(&number, mark, change);
                    self.event(&number, "carried unchecked".to_string(), change);
                    return;
                }
                (address.text.to_string(), address, marks)
            }
        };
        match marks {
            Some(marks) => {
                marks.push(mark);
                self.event(&key, "carried unchecked".to_string(), change);
            }
            None => {
                let title = format!("there is no {key} in {}", self.book.name);
                self.say(Diagnostic::error(Code::NoSuchTarget, title).at(address.span, "not there"));
            }
        }
    }

    /// One more line of an amount.
    pub(super) fn add_line(&mut self, number: &str, target: &Address, line: &AmountLine, change: &Change) {
        let label = line.label.as_ref().map_or("", |l| l.text.as_str());
        let taken = self.book.items.iter().find_map(|item| match item {
            Item::Amount(amount) if within(amount, &target.text).is_some() => {
                let first = position(amount, label).and_then(|at| amount.lines.get(at));
                Some(first.filter(|_| !label.is_empty()).map(|line| line.span))
            }
            _ => None,
        });
        match taken {
            None => {
                let title = format!("{number} is not an amount");
                self.say(Diagnostic::error(Code::NoSuchTarget, title).at(target.span, "it has no lines"));
                return;
            }
            Some(Some(first)) => {
                let title = format!("{number} already has a line ({label})");
                self.say(
                    Diagnostic::error(Code::NumberTaken, title).at(line.span, "added here").at(first, "stands here"),
                );
                return;
            }
            Some(None) => {}
        }
        let amount = self.book.items.iter_mut().find_map(|item| match item {
            Item::Amount(amount) if within(amount, &target.text).is_some() => Some(amount),
            _ => None,
        });
        if let Some(amount) = amount {
            amount.lines.push(AmountLine { marks: change.marks.clone(), ..line.clone() });
        }
        self.event(&format!("{number}({label})"), format!("added {}", line::expr(&line.expr)), change);
    }

    /// A value of a series comes or goes.
    pub(super) fn series(&mut self, address: &Address, edit: &SeriesEdit, change: &Change) {
        let key = format!("series {}", address.text);
        let found = self.book.items.iter_mut().find_map(|item| match item {
            Item::Series(series) if series.address.text == address.text => Some(series),
            _ => None,
        });
        let Some(series) = found else {
            let title = format!("there is no {key} in {}", self.book.name);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(address.span, "not there"));
            return;
        };
        let (SeriesEdit::Add(value) | SeriesEdit::Strike(value)) = edit;
        let words = line::value(value);
        let at = series.values.iter().position(|own| line::value(own) == words);
        let what = match (edit, at) {
            (SeriesEdit::Add(value), None) => {
                let place = series.values.iter().position(|own| measured(own) > measured(value));
                series.values.insert(place.unwrap_or(series.values.len()), value.clone());
                format!("added {words}")
            }
            (SeriesEdit::Strike(_), Some(at)) => {
                series.values.remove(at);
                format!("struck {words}")
            }
            (SeriesEdit::Add(_), Some(_)) => {
                let title = format!("{key} already has {words}");
                self.say(Diagnostic::error(Code::NumberTaken, title).at(change.span, "added again"));
                return;
            }
            (SeriesEdit::Strike(_), None) => {
                let title = format!("{key} has no {words}");
                self.say(Diagnostic::error(Code::NoSuchTarget, title).at(change.span, "nothing to strike"));
                return;
            }
        };
        self.event(&key, what, change);
    }
}

fn measured(value: &Value) -> Option<Number> {
    match value {
        Value::Quantity(quantity) => crate::sema::measured(&quantity.first),
        Value::Date(_) | Value::Text(_) | Value::None(_) | Value::Worded(_) | Value::Word(_) => None,
    }
}
