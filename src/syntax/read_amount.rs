//! Amounts, series and the values that depend on a case: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::read_clause::{P, bound};
use super::recover::Context;
use compact_str::CompactString;

impl Reader {
    /// `E`, `E where …`, `E if …, otherwise …`.
    pub(super) fn valued(&mut self, pair: P) -> Option<Expr> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let mut expr = self.expr(inner.next()?)?;
        for part in inner {
            match part.as_rule() {
                Rule::where_part => {
                    let filter = self.where_part(part)?;
                    expr = self.narrowed(expr, filter)?;
                }
                _ => {
                    let mut parts = part.into_inner();
                    let case = self.clauses(parts.next()?)?;
                    let otherwise = match parts.next() {
                        Some(other) => Some(Box::new(self.valued(other)?)),
                        None => None,
                    };
                    expr = Expr { kind: ExprKind::Provided(Box::new(expr), case, otherwise), span };
                }
            }
        }
        Some(expr)
    }

    /// `larger of …`, `next of series …`, `first row of table …`.
    pub(super) fn chosen(&mut self, pair: P) -> Option<ExprKind> {
        let rule = pair.as_rule();
        let mut inner = pair.into_inner();
        match rule {
            Rule::either_of => {
                let which = match inner.next()?.as_rule() {
                    Rule::larger_of => Extreme::Larger,
                    _ => Extreme::Smaller,
                };
                let one = self.key(inner.next()?)?;
                let two = self.key(inner.next()?)?;
                Some(ExprKind::Either(which, Box::new(one), Box::new(two)))
            }
            Rule::next_of => {
                let series = self.address(&inner.next()?);
                let way = match inner.next()?.as_rule() {
                    Rule::at_or_above => Way::AtOrAbove,
                    Rule::at_or_below => Way::AtOrBelow,
                    Rule::above => Way::Above,
                    _ => Way::Below,
                };
                let of = Box::new(self.key(inner.next()?)?);
                Some(ExprKind::Next { series, way, of })
            }
            _ => {
                let table = self.address(&inner.next()?);
                let (mut keys, mut across, mut limit) = (Vec::new(), None, None);
                let mut direction = Bound::AtLeast;
                for part in inner {
                    match part.as_rule() {
                        Rule::row_across => across = Some(Box::new(self.key(part.into_inner().next()?)?)),
                        Rule::key => keys.push(self.key(part)?),
                        _ => direction = bound(&part),
                    }
                }
                if let Some(last) = keys.pop() {
                    limit = Some(Box::new(last));
                }
                Some(ExprKind::FirstRow { table, keys, across, bound: direction, limit: limit? })
            }
        }
    }

    fn key(&mut self, pair: P) -> Option<Expr> {
        self.atom(pair.into_inner().next()?)
    }

    pub(super) fn amount(&mut self, pair: P) -> Option<Amount> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let thing = self.name(&inner.next()?);
        let ty = self.name(&inner.next()?);
        let mut amount =
            Amount { name, thing, ty, unit: None, per: None, title: None, lines: Vec::new(), marks: Vec::new(), span };
        for part in inner {
            match part.as_rule() {
                Rule::unit => amount.unit = Some(self.name(&part)),
                Rule::per => amount.per = part.into_inner().next().map(|p| self.address(&p)),
                Rule::text => amount.title = self.text(part),
                Rule::amount_line => amount.lines.extend(self.amount_line(part)),
                Rule::bad_chunk => self.bad(part, Context::Lines),
                _ => amount.marks = self.marks(part),
            }
        }
        Some(amount)
    }

    pub(super) fn amount_line(&mut self, pair: P) -> Option<AmountLine> {
        let span = self.span(&pair);
        let (mut label, mut name, mut expr, mut marks) = (None, None, None, Vec::new());
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::label => label = Some(self.label(&part)),
                Rule::naming => name = part.into_inner().next().map(|p| self.name(&p)),
                Rule::valued => expr = self.valued(part),
                Rule::each_line => expr = self.each_line(part),
                _ => marks = self.marks(part),
            }
        }
        Some(AmountLine { label, name, expr: expr?, marks, span })
    }

    fn each_line(&mut self, pair: P) -> Option<Expr> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let list = self.list(inner.next()?);
        let (mut filter, mut of) = (None, None);
        for part in inner {
            match part.as_rule() {
                Rule::where_part => filter = Some(self.where_part(part)?),
                _ => of = Some(Box::new(self.valued(part)?)),
            }
        }
        Some(Expr { kind: ExprKind::Each { list, filter, of: of? }, span })
    }

    pub(super) fn series(&mut self, pair: P) -> Option<Series> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let address = self.address(&inner.next()?);
        let mut series = Series {
            address,
            title: None,
            ty: Name { text: CompactString::default(), span },
            values: Vec::new(),
            marks: Vec::new(),
            span,
        };
        for part in inner {
            match part.as_rule() {
                Rule::text => series.title = self.text(part),
                Rule::name => series.ty = self.name(&part),
                Rule::value => series.values.push(self.value(part)?),
                _ => series.marks = self.marks(part),
            }
        }
        Some(series)
    }
}
