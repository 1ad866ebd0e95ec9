//! Conditions, expressions and values: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::recover::{self, Context};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use compact_str::CompactString;
use pest::iterators::{Pair, Pairs};

/// The most terms or factors of one expression.
const MOST_TERMS: usize = 64;

pub(super) type P<'t> = Pair<'t, Rule>;

impl Reader {
    /// The place of a pair, trailing white space left out.
    pub(super) fn span(&self, pair: &P) -> Span {
        let span = pair.as_span();
        let (start, mut end) = (span.start(), span.end());
        for byte in span.as_str().bytes().rev() {
            if byte != b' ' && byte != b'\n' {
                break;
            }
            end -= 1;
        }
        Span::new(self.source, self.shift + start, self.shift + end)
    }

    pub(super) fn name(&self, pair: &P) -> Name {
        let span = pair.as_span();
        let (start, end) = (span.start(), span.end());
        Name {
            text: CompactString::from(pair.as_str()),
            span: Span::new(self.source, self.shift + start, self.shift + end),
        }
    }

    /// A name whose inner runs of blanks count as one.
    pub(super) fn squeezed(&self, pair: &P) -> Name {
        let mut text = CompactString::default();
        for part in pair.as_str().split_ascii_whitespace() {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(part);
        }
        Name { text, span: self.span(pair) }
    }

    /// The inside of a quoted text.
    pub(super) fn text(&self, pair: P) -> Option<CompactString> {
        pair.into_inner().next().map(|body| CompactString::from(body.as_str()))
    }

    pub(super) fn address(&self, pair: &P) -> Address {
        Address { text: CompactString::from(pair.as_str()), span: self.span(pair) }
    }

    /// A label without its parentheses.
    pub(super) fn label(&self, pair: &P) -> Name {
        let text = pair.as_str().trim_start_matches('(').trim_end_matches(')');
        Name { text: CompactString::from(text), span: self.span(pair) }
    }

    pub(super) fn mark(&self, pair: P) -> Option<Mark> {
        let kind = match pair.as_rule() {
            Rule::mark => pair.into_inner().next()?,
            _ => pair,
        };
        Some(match kind.as_rule() {
            Rule::seen => Mark::Seen(self.text(kind.into_inner().next()?)?),
            Rule::disputed => Mark::Disputed(self.text(kind.into_inner().next()?)?),
            // Not a source: see `read_intended`.
            Rule::intended => return None,
            _ => Mark::Memory,
        })
    }

    pub(super) fn marks(&self, pair: P) -> Vec<Mark> {
        pair.into_inner().filter_map(|p| self.mark(p)).collect()
    }

    pub(super) fn bad(&mut self, pair: P, context: Context) {
        let start = pair.as_span().start();
        self.diagnostics.push(recover::diagnose(self.source, self.shift + start, pair.as_str(), context));
    }

    // -------------------------------------------------------------------------------------------- values

    pub(super) fn number(&self, pair: &P) -> Number {
        Number { text: CompactString::from(pair.as_str()), span: self.span(pair) }
    }

    pub(super) fn measure(&self, pair: P) -> Measure {
        let span = self.span(&pair);
        let mut parts: Vec<(Number, Option<Name>)> = Vec::with_capacity(1);
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::number => parts.push((self.number(&inner), None)),
                _ => {
                    if let Some(last) = parts.last_mut() {
                        last.1 = Some(self.name(&inner));
                    }
                }
            }
        }
        Measure { parts, span }
    }

    pub(super) fn quantity(&self, pair: P) -> Option<Quantity> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let first = self.measure(inner.next()?);
        let second = inner.next().map(|p| self.measure(p));
        Some(Quantity { first, second, span })
    }

    pub(super) fn value(&self, pair: P) -> Option<Value> {
        let inner = pair.into_inner().next()?;
        Some(match inner.as_rule() {
            Rule::date => Value::Date(self.name(&inner)),
            Rule::text => {
                let span = self.span(&inner);
                Value::Text(Name { text: self.text(inner)?, span })
            }
            Rule::quantity => Value::Quantity(self.quantity(inner)?),
            Rule::none => Value::None(self.span(&inner)),
            _ if inner.as_str().contains(' ') && inner.clone().into_inner().nth(1).is_some() => {
                Value::Worded(self.squeezed(&inner))
            }
            _ => Value::Word(self.name(&inner.into_inner().next()?)),
        })
    }

    pub(super) fn values(&self, pair: P) -> Vec<ValueRange> {
        pair.into_inner()
            .filter_map(|range| {
                let mut inner = range.into_inner();
                let from = self.value(inner.next()?)?;
                let through = inner.next().and_then(|p| self.value(p));
                Some(ValueRange { from, through })
            })
            .collect()
    }

    // -------------------------------------------------------------------------------------------- expressions

    fn path_head(&self, pair: P, path: &mut Path) {
        let mut inner = pair.into_inner();
        if let Some(first) = inner.next() {
            path.words.push(self.name(&first));
        }
        path.from = inner.next().map(|p| self.name(&p));
    }

    pub(super) fn path(&self, pair: P) -> Path {
        let mut path = Path { words: Vec::with_capacity(1), from: None, of: Vec::new(), span: self.span(&pair) };
        if pair.as_rule() == Rule::path_head {
            self.path_head(pair, &mut path);
            return path;
        }
        let text = pair.as_str();
        let base = pair.as_span().start();
        for inner in pair.into_inner() {
            if inner.as_rule() == Rule::path_head {
                self.path_head(inner, &mut path);
            } else if self.behind_of(text, base, &inner) {
                path.of.push(self.name(&inner));
            } else {
                path.words.push(self.name(&inner));
            }
        }
        path
    }

    /// Whether the word stands right behind an `of`.
    fn behind_of(&self, text: &str, base: usize, word: &P) -> bool {
        let before = text.get(..word.as_span().start() - base).unwrap_or("").trim_end();
        before.ends_with("of") && before.len() > 2 && before.as_bytes()[before.len() - 3].is_ascii_whitespace()
    }

    pub(super) fn list(&self, pair: P) -> ListRef {
        let mut list = ListRef { words: Vec::with_capacity(1), of: Vec::new(), span: self.span(&pair) };
        let text = pair.as_str();
        let base = pair.as_span().start();
        for inner in pair.into_inner() {
            if self.behind_of(text, base, &inner) {
                list.of.push(self.name(&inner));
            } else {
                list.words.push(self.name(&inner));
            }
        }
        list
    }

    pub(super) fn expr(&mut self, pair: P) -> Option<Expr> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let first = self.factor(inner.next()?)?;
        // Two levels of precedence over a flat list: products are folded into `last` before sums join `sum`.
        let mut sum: Option<(Expr, Binary)> = None;
        let mut last = first;
        let mut rounding = None;
        let mut terms = 1;
        while let Some(pair) = inner.next() {
            terms += 1;
            if terms > MOST_TERMS {
                self.too_many_terms(span);
                break;
            }
            if pair.as_rule() == Rule::rounding {
                rounding = self.rounding(pair);
                continue;
            }
            let binary = match pair.into_inner().next()?.as_rule() {
                Rule::add => Binary::Add,
                Rule::sub => Binary::Sub,
                Rule::mul => Binary::Mul,
                _ => Binary::Div,
            };
            let right = self.factor(inner.next()?)?;
            match binary {
                Binary::Mul | Binary::Div => last = join(last, binary, right),
                Binary::Add | Binary::Sub => {
                    let left = match sum.take() {
                        Some((left, before)) => join(left, before, last),
                        None => last,
                    };
                    sum = Some((left, binary));
                    last = right;
                }
            }
        }
        let whole = match sum {
            Some((left, before)) => join(left, before, last),
            None => last,
        };
        Some(match rounding {
            Some(rounding) => Expr { kind: ExprKind::Rounded(Box::new(whole), rounding), span },
            None => whole,
        })
    }

    fn rounding(&self, pair: P) -> Option<Rounding> {
        let way = pair.into_inner().next()?;
        Some(match way.as_rule() {
            Rule::round_down => Rounding::Down,
            _ => match way.into_inner().next() {
                Some(number) => Rounding::UpFrom(self.number(&number)),
                None => Rounding::Up,
            },
        })
    }

    fn too_many_terms(&mut self, span: Span) {
        self.diagnostics.push(
            Diagnostic::error(Code::TooDeep, format!("an expression of more than {MOST_TERMS} terms"))
                .at(span, "too long to follow")
                .help("name parts of it with `define`"),
        );
    }

    fn factor(&mut self, pair: P) -> Option<Expr> {
        let start = self.span(&pair);
        let mut inner = pair.into_inner();
        let mut expr = self.atom(inner.next()?)?;
        for (terms, part) in inner.enumerate() {
            if terms >= MOST_TERMS {
                self.too_many_terms(start);
                break;
            }
            let span = start.to(self.span(&part));
            let rule = part.as_rule();
            let right = Box::new(self.atom(part.into_inner().next()?)?);
            let left = Box::new(expr);
            let kind = match rule {
                Rule::beyond => ExprKind::Beyond(left, right),
                _ => ExprKind::PerOrFraction(left, right),
            };
            expr = Expr { kind, span };
        }
        Some(expr)
    }

    pub(super) fn atom(&mut self, pair: P) -> Option<Expr> {
        let span = self.span(&pair);
        let kind = match pair.as_rule() {
            Rule::quantity => ExprKind::Quantity(self.quantity(pair)?),
            Rule::date => ExprKind::Date(self.name(&pair)),
            Rule::noun if pair.clone().into_inner().nth(1).is_some_and(|p| p.as_rule() == Rule::number) => {
                ExprKind::Worded(self.squeezed(&pair))
            }
            Rule::noun => ExprKind::Path(self.path(pair)),
            Rule::lookup => self.lookup(pair)?,
            Rule::fold => self.fold(pair, None)?,
            Rule::either_of | Rule::next_of | Rule::first_row => self.chosen(pair)?,
            Rule::group => {
                let mut inner = pair.into_inner();
                let clauses = self.clauses(inner.next()?)?;
                match inner.next() {
                    Some(filter) => {
                        let filter = self.where_part(filter)?;
                        let expr = match single(clauses) {
                            Ok(expr) => expr,
                            Err(clauses) => Expr { span, kind: ExprKind::Clauses(clauses) },
                        };
                        return self.narrowed(expr, filter);
                    }
                    None => match single(clauses) {
                        Ok(expr) => return Some(Expr { span, ..expr }),
                        Err(clauses) => ExprKind::Clauses(clauses),
                    },
                }
            }
            _ => return None,
        };
        Some(Expr { kind, span })
    }

    /// `sum of length of parts where …`: the filter belongs to the fold.
    pub(super) fn narrowed(&mut self, expr: Expr, filter: Clauses) -> Option<Expr> {
        let span = expr.span;
        match expr.kind {
            ExprKind::Fold { fold, field, list, filter: None } => {
                Some(Expr { kind: ExprKind::Fold { fold, field, list, filter: Some(filter) }, span })
            }
            _ => {
                self.diagnostics.push(
                    Diagnostic::error(Code::UnexpectedText, "`where` behind something that is not a list")
                        .at(filter.span, "this narrows nothing")
                        .at(span, "only `count of`, `sum of`, `largest` and `smallest` take it here"),
                );
                None
            }
        }
    }

    fn lookup(&mut self, pair: P) -> Option<ExprKind> {
        let across = across_before_last(&pair, Rule::key);
        let mut inner = pair.into_inner();
        let table = self.address(&inner.next()?);
        let mut keys = Vec::new();
        for key in inner {
            let key = key.into_inner().next()?;
            keys.push(self.atom(key)?);
        }
        Some(ExprKind::Lookup { table, keys, across })
    }

    fn fold(&mut self, pair: P, filter: Option<Clauses>) -> Option<ExprKind> {
        let which = pair.into_inner().next()?;
        let fold = match which.as_rule() {
            Rule::count_of => Fold::Count,
            Rule::sum_of => Fold::Sum,
            Rule::largest => Fold::Largest,
            _ => Fold::Smallest,
        };
        let mut inner = which.into_inner();
        let field = if fold == Fold::Count { None } else { Some(self.path(inner.next()?)) };
        let list = self.list(inner.next()?);
        Some(ExprKind::Fold { fold, field, list, filter })
    }

    // -------------------------------------------------------------------------------------------- conditions

    pub(super) fn where_part(&mut self, pair: P) -> Option<Clauses> {
        self.clauses(pair.into_inner().next()?)
    }

    pub(super) fn clauses(&mut self, pair: P) -> Option<Clauses> {
        let span = self.span(&pair);
        let mut all = Vec::with_capacity(1);
        for inner in pair.into_inner() {
            all.push(self.clause(inner)?);
        }
        Some(Clauses { all, span })
    }

    pub(super) fn clause(&mut self, pair: P) -> Option<Clause> {
        let span = self.span(&pair);
        let mut negated = false;
        for inner in pair.into_inner() {
            let kind = match inner.as_rule() {
                Rule::negation => {
                    negated = !negated;
                    continue;
                }
                Rule::any_of => ClauseKind::AnyOf(self.items(inner.into_inner().next()?)),
                Rule::all_of => ClauseKind::AllOf(self.items(inner.into_inner().next()?)),
                Rule::none_of => ClauseKind::NoneOf(self.items(inner.into_inner().next()?)),
                Rule::implied => {
                    let mut parts = inner.into_inner();
                    let case = self.clauses(parts.next()?)?;
                    ClauseKind::If(case, self.clauses(parts.next()?)?)
                }
                Rule::no_worse => ClauseKind::NoWorse(Box::new(self.expr(inner.into_inner().next()?)?)),
                Rule::quantified => self.quantified(inner.into_inner())?,
                Rule::dated => {
                    let (side, date, clock) = self.dated(inner)?;
                    ClauseKind::Dated(side, date, clock)
                }
                _ => {
                    let mut parts = inner.into_inner();
                    let expr = self.expr(parts.next()?)?;
                    match parts.next() {
                        Some(predicate) => ClauseKind::Compare(expr, Some(self.predicate(predicate)?)),
                        None => match expr.kind {
                            ExprKind::Clauses(clauses) => ClauseKind::AllOf(listed(clauses)),
                            _ => ClauseKind::Compare(expr, None),
                        },
                    }
                }
            };
            return Some(Clause { negated, kind, span });
        }
        None
    }

    fn quantified(&mut self, mut parts: Pairs<Rule>) -> Option<ClauseKind> {
        let which = parts.next()?.into_inner().next()?;
        let quantifier = match which.as_rule() {
            Rule::every => Quantifier::Every,
            Rule::some => Quantifier::Some,
            Rule::no => Quantifier::No,
            _ => {
                let mut inner = which.into_inner();
                let bound = bound(&inner.next()?.into_inner().next()?);
                let count = inner.next()?;
                let span = self.span(&count);
                let number = count.into_inner().next()?;
                let expr = match number.as_rule() {
                    Rule::number => {
                        let number = self.number(&number);
                        let measure = Measure { parts: vec![(number, None)], span };
                        Expr { kind: ExprKind::Quantity(Quantity { first: measure, second: None, span }), span }
                    }
                    Rule::lookup => Expr { kind: self.lookup(number)?, span },
                    _ => self.expr(number)?,
                };
                Quantifier::Bound(bound, Box::new(expr))
            }
        };
        let list = self.list(parts.next()?);
        let (mut filter, mut consequence, mut predicate) = (None, None, None);
        for part in parts {
            match part.as_rule() {
                Rule::where_part => filter = Some(self.where_part(part)?),
                Rule::consequence => consequence = Some(self.clauses(part.into_inner().next()?)?),
                _ => predicate = Some(self.predicate(part)?),
            }
        }
        Some(ClauseKind::Quantified { quantifier, list, filter, consequence, predicate })
    }

    fn predicate(&mut self, pair: P) -> Option<Predicate> {
        let span = self.span(&pair);
        let inner = pair.into_inner().next()?;
        let kind = match inner.as_rule() {
            Rule::is => PredicateKind::Is(self.values(inner.into_inner().next()?)),
            Rule::is_not => PredicateKind::IsNot(self.values(inner.into_inner().next()?)),
            Rule::compare => {
                let mut parts = inner.into_inner();
                let bound = bound(&parts.next()?.into_inner().next()?);
                PredicateKind::Bound(bound, Box::new(self.expr(parts.next()?)?))
            }
            Rule::dated => {
                let (side, date, clock) = self.dated(inner)?;
                PredicateKind::Dated(side, date, clock)
            }
            Rule::passes => PredicateKind::Passes(inner.into_inner().map(|p| self.name(&p)).collect()),
            _ => PredicateKind::PassesNot(inner.into_inner().map(|p| self.name(&p)).collect()),
        };
        Some(Predicate { kind, span })
    }

    fn dated(&self, pair: P) -> Option<(DateSide, Name, Option<Name>)> {
        let mut parts = pair.into_inner();
        let side = match parts.next()?.as_rule() {
            Rule::before => DateSide::Before,
            Rule::after => DateSide::After,
            Rule::since_day => DateSide::From,
            _ => DateSide::Through,
        };
        let date = self.name(&parts.next()?);
        let clock = parts.next().and_then(|c| c.into_inner().next()).map(|c| self.name(&c));
        Some((side, date, clock))
    }

    pub(super) fn items(&mut self, pair: P) -> Items {
        let span = self.span(&pair);
        let mut all = Vec::new();
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::item => all.extend(self.item(inner)),
                _ => self.bad(inner, Context::Items),
            }
        }
        Items { all, span }
    }

    fn item(&mut self, pair: P) -> Option<ListItem> {
        let span = self.span(&pair);
        let (mut label, mut name, mut clauses, mut marks) = (None, None, None, Vec::new());
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::label => label = Some(self.label(&inner)),
                Rule::naming => name = inner.into_inner().next().map(|p| self.name(&p)),
                Rule::clauses => clauses = self.clauses(inner),
                _ => marks = self.marks(inner),
            }
        }
        Some(ListItem { label, name, clauses: clauses?, marks, span })
    }
}

/// The direction a bound names.
pub(super) fn bound(pair: &P) -> Bound {
    match pair.as_rule() {
        Rule::at_least => Bound::AtLeast,
        Rule::at_most => Bound::AtMost,
        Rule::exactly => Bound::Exactly,
        Rule::more_than => Bound::MoreThan,
        _ => Bound::LessThan,
    }
}

fn join(left: Expr, binary: Binary, right: Expr) -> Expr {
    let span = left.span.to(right.span);
    Expr { kind: ExprKind::Binary(binary, Box::new(left), Box::new(right)), span }
}

/// The expression in parentheses that hold nothing else.
pub(super) fn single(mut clauses: Clauses) -> Result<Expr, Clauses> {
    if clauses.all.len() == 1
        && let Some(Clause { negated: false, kind: ClauseKind::Compare(_, None), .. }) = clauses.all.first()
        && let Some(Clause { kind: ClauseKind::Compare(expr, None), .. }) = clauses.all.pop()
    {
        return Ok(expr);
    }
    Err(clauses)
}

/// Parenthesised clauses as a list of one line.
fn listed(clauses: Clauses) -> Items {
    let span = clauses.span;
    Items { all: vec![ListItem { label: None, name: None, clauses, marks: Vec::new(), span }], span }
}

/// Whether `across` stands between the last two keys; between two pairs only the text can tell.
pub(super) fn across_before_last(pair: &P, wanted: Rule) -> bool {
    let keys: Vec<_> =
        pair.clone().into_inner().filter(|part| part.as_rule() == wanted).map(|part| part.as_span()).collect();
    let [.., before, last] = keys.as_slice() else { return false };
    let start = pair.as_span().start();
    pair.as_str().get(before.end() - start..last.start() - start).is_some_and(|between| between.contains("across"))
}
