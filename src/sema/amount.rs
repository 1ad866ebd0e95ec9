//! Named values: definitions, amounts and disputed values; values that depend on a case; series; tables read backwards.

use super::expr::Typed;
use super::literal::value_span;
use super::lower::{Lower, Side, State, Ty, marks};
use super::vocabulary::twice;
use crate::base::dimension::Dimension;
use crate::base::number::Number;
use crate::base::source::Span;
use crate::base::unit::{self, Unit};
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::program::{self, AmountLine, Expr, FirstRow, Series, SeriesId, TableId};
use crate::ir::schema::ThingId;
use crate::syntax::ast::{self, ExprKind, Extreme};

/// What declares a named value.
#[derive(Clone, Copy)]
pub(super) enum Worked<'a> {
    Define(&'a ast::Define),
    Amount(&'a ast::Amount),
    Reading(&'a ast::Reading),
}

impl<'a> Worked<'a> {
    pub(super) fn name(self) -> &'a ast::Name {
        match self {
            Worked::Define(define) => &define.name,
            Worked::Amount(amount) => &amount.name,
            Worked::Reading(reading) => &reading.name,
        }
    }

    pub(super) fn thing(self) -> &'a ast::Name {
        match self {
            Worked::Define(define) => &define.thing,
            Worked::Amount(amount) => &amount.thing,
            Worked::Reading(reading) => &reading.of,
        }
    }

    /// The section it paraphrases, or nothing.
    pub(super) fn per(self) -> String {
        let per = match self {
            Worked::Define(define) => define.per.as_ref(),
            Worked::Amount(amount) => amount.per.as_ref(),
            Worked::Reading(_) => None,
        };
        per.map_or_else(String::new, |a| a.text.to_string())
    }

    pub(super) fn span(self) -> Span {
        match self {
            Worked::Define(define) => define.expr.span,
            Worked::Amount(amount) => amount.name.span,
            Worked::Reading(reading) => reading.name.span,
        }
    }

    pub(super) fn marks(self) -> &'a [ast::Mark] {
        match self {
            Worked::Define(define) => &define.marks,
            Worked::Amount(amount) => &amount.marks,
            Worked::Reading(reading) => &reading.marks,
        }
    }

    pub(super) fn unit(self) -> Option<&'static Unit> {
        match self {
            Worked::Amount(amount) => amount.unit.as_ref().and_then(|u| unit::lookup(&u.text)),
            Worked::Define(_) | Worked::Reading(_) => None,
        }
    }

    pub(super) fn title(self) -> &'a str {
        match self {
            Worked::Amount(amount) => amount.title.as_deref().unwrap_or(""),
            Worked::Reading(reading) => reading.about.as_deref().unwrap_or(""),
            Worked::Define(_) => "",
        }
    }
}

impl<'a> Lower<'a> {
    /// Registers a named value.
    pub(super) fn declare_worked(&mut self, worked: Worked<'a>, thing: ThingId) {
        let name = worked.name();
        let key = (thing, name.text.to_string());
        if let Some(first) = self.define_names.get(&key).and_then(|at| self.defines.get(*at)) {
            let diagnostic = twice(name, first.0.name().span);
            self.say(diagnostic);
            return;
        }
        self.define_names.insert(key, self.defines.len());
        self.defines.push((worked, thing));
        self.define_state.push(State::Fresh);
    }

    /// The value of a named value, and the lines of an amount.
    pub(super) fn worked(&mut self, worked: Worked<'a>, lines: &mut Vec<AmountLine>) -> Option<Typed> {
        match worked {
            Worked::Define(define) => self.expr(&define.expr, None),
            Worked::Amount(amount) => self.amount(amount, lines),
            Worked::Reading(reading) => self.disputed_value(reading),
        }
    }

    fn disputed_value(&mut self, reading: &'a ast::Reading) -> Option<Typed> {
        let mut options = Vec::new();
        let mut first: Option<(Ty, Span)> = None;
        for option in &reading.options {
            let ast::ReadingSays::Value(expr) = &option.says else {
                self.say(
                    Diagnostic::error(Code::WrongType, "a reading that is a value here and a condition there")
                        .at(option.span, "this is no value"),
                );
                return None;
            };
            let typed = self.expr(expr, first.map(|(ty, _)| ty))?;
            let (ty, span) = *first.get_or_insert((typed.ty, expr.span));
            options.push(self.as_type(typed, ty, expr.span, span)?.id);
        }
        let id = self.reading_ids.get(reading.name.text.as_str()).copied()?;
        let made = self.emit_expr(Expr::Reading(id, options.into()), reading.name.span);
        Some(Typed::plain(made, first?.0))
    }

    /// An operand brought to a type, or a diagnostic.
    fn as_type(&mut self, typed: Typed, ty: Ty, span: Span, other: Span) -> Option<Typed> {
        let fits = match (typed.ty, ty) {
            (Ty::Number(from), Ty::Number(to)) => self.brought(typed.clone(), from, to, span),
            (one, two) if one == two => Some(typed.clone()),
            _ => None,
        };
        if fits.is_none() {
            let (have, want) = (self.ty_name(typed.ty), self.ty_name(ty));
            self.say(
                Diagnostic::error(Code::DimensionsDiffer, format!("a {have} where a {want} is expected"))
                    .at(span, format!("this is a {have}"))
                    .at(other, format!("this is a {want}")),
            );
        }
        fits
    }

    fn amount(&mut self, amount: &'a ast::Amount, lines: &mut Vec<AmountLine>) -> Option<Typed> {
        let ty = self.type_named(&amount.ty)?;
        let Ty::Number(dimension) = ty else {
            self.say(
                Diagnostic::error(Code::WrongType, "an amount of something that does not add up")
                    .at(amount.ty.span, "a dimension is expected"),
            );
            return None;
        };
        if let Some(unit) = &amount.unit
            && unit::lookup(&unit.text).is_none_or(|u| !crate::base::dimension::comparable(u.dimension, dimension))
        {
            let title = format!("{} is told in another unit", dimension.name());
            self.say(Diagnostic::error(Code::UnknownUnit, title).at(unit.span, "no unit of it"));
        }
        let own = self.cite.clone();
        let mut total: Option<program::ExprId> = None;
        let mut labels: Vec<&ast::Name> = Vec::new();
        let mut sound = true;
        for line in &amount.lines {
            if let Some(label) = &line.label {
                self.label_once(&mut labels, label);
            }
            self.cite = match (&line.label, &line.name) {
                (Some(label), _) if !own.is_empty() => format!("{own}({})", label.text),
                (Some(label), _) => format!("{}({})", amount.name.text, label.text),
                (None, _) => own.clone(),
            };
            let Some(typed) = self.line(&line.expr, ty) else {
                sound = false;
                continue;
            };
            let Some(typed) = self.as_type(typed, ty, line.expr.span, amount.ty.span) else {
                sound = false;
                continue;
            };
            let origin = self.origin(line.expr.span, &marks(&line.marks));
            let label = match (&line.label, &line.name) {
                (Some(label), _) => format!("({})", label.text),
                (None, Some(name)) => name.text.to_string(),
                (None, None) => String::new(),
            };
            lines.push(AmountLine { label, cite: self.cite.clone(), expr: typed.id, origin });
            total = Some(match total {
                None => typed.id,
                Some(before) => self.emit_expr(Expr::Add(before, typed.id), amount.name.span),
            });
        }
        self.cite = own;
        let total = match total {
            Some(total) => total,
            None => self.emit_expr(Expr::Number(Number::ZERO), amount.span),
        };
        sound.then(|| Typed::plain(total, ty))
    }

    /// A line of an amount: what its case leaves out counts nothing.
    fn line(&mut self, expr: &'a ast::Expr, ty: Ty) -> Option<Typed> {
        match &expr.kind {
            ExprKind::Provided(inner, case, None) => {
                let then = self.expr(inner, Some(ty))?;
                let then = self.as_type(then, ty, inner.span, expr.span)?;
                let case = self.clauses(case, Side::Bind);
                let otherwise = self.emit_expr(Expr::Number(Number::ZERO), expr.span);
                let id = self.emit_expr(Expr::Provided { case, then: then.id, otherwise }, expr.span);
                Some(Typed::plain(id, ty))
            }
            _ => self.expr(expr, Some(ty)),
        }
    }

    pub(super) fn each(
        &mut self,
        list: &'a ast::ListRef,
        filter: Option<&'a ast::Clauses>,
        of: &'a ast::Expr,
        wanted: Option<Ty>,
        span: Span,
    ) -> Option<Typed> {
        let (list, of) = self.with_list(list, filter, Side::Favour, None, |lower| match wanted {
            Some(ty) => lower.line(of, ty),
            None => lower.expr(of, None),
        })?;
        let of = of?;
        let dimension = self.number_type(&of, span)?;
        let never_negative = self.never_negative(of.id);
        let id = self.emit_expr(Expr::Sum { list, of: of.id, never_negative }, span);
        Some(Typed::plain(id, Ty::Number(dimension)))
    }

    pub(super) fn provided(
        &mut self,
        inner: &'a ast::Expr,
        case: &'a ast::Clauses,
        otherwise: Option<&'a ast::Expr>,
        wanted: Option<Ty>,
        span: Span,
    ) -> Option<Typed> {
        let Some(other) = otherwise else {
            self.say(
                Diagnostic::error(Code::NoOtherCase, "a value for one case only")
                    .at(case.span, "and if this does not hold?")
                    .help("add `, otherwise …`"),
            );
            return None;
        };
        // A bare value of a choice is known by the type of the other case.
        let (then, otherwise) = if self.is_bare_value(inner) && wanted.is_none() {
            let otherwise = self.expr(other, None)?;
            (self.expr(inner, Some(otherwise.ty))?, otherwise)
        } else {
            let then = self.expr(inner, wanted)?;
            let otherwise = self.expr(other, Some(then.ty))?;
            (then, otherwise)
        };
        let case = self.clauses(case, Side::Bind);
        let otherwise = self.as_type(otherwise, then.ty, other.span, inner.span)?;
        let made = Expr::Provided { case, then: then.id, otherwise: otherwise.id };
        let id = self.emit_expr(made, span);
        Some(Typed::plain(id, then.ty))
    }

    /// Whether an expression is one word that names no field, definition or limit here.
    fn is_bare_value(&self, expr: &ast::Expr) -> bool {
        match &expr.kind {
            ExprKind::Path(path) if path.words.len() == 1 && path.of.is_empty() && path.from.is_none() => {
                let word = path.words.first().map_or("", |w| w.text.as_str());
                self.on_frames(word).is_none() && !self.limits.contains_key(word)
            }
            _ => false,
        }
    }

    pub(super) fn either(
        &mut self,
        which: Extreme,
        one: &'a ast::Expr,
        two: &'a ast::Expr,
        wanted: Option<Ty>,
        span: Span,
    ) -> Option<Typed> {
        let first = self.expr(one, wanted)?;
        let second = self.expr(two, Some(first.ty))?;
        let second = self.as_type(second, first.ty, two.span, one.span)?;
        if let Ty::Value(domain) = first.ty
            && !self.schema().domain(domain).ordered
        {
            self.unordered(domain, span);
            return None;
        }
        let made = match which {
            Extreme::Larger => Expr::Larger(first.id, second.id),
            Extreme::Smaller => Expr::Smaller(first.id, second.id),
        };
        let id = self.emit_expr(made, span);
        Some(Typed::plain(id, first.ty))
    }

    // -------------------------------------------------------------------------------------------- series

    pub(super) fn series(&mut self, series: &'a ast::Series) {
        let address = series.address.text.to_string();
        if let Some(first) = self.series.get(&address) {
            let first = self.program.origin(self.program.series[first.index()].origin).span;
            let name = ast::Name { text: series.address.text.clone(), span: series.address.span };
            let diagnostic = twice(&name, first);
            self.say(diagnostic);
            return;
        }
        let Some(Ty::Number(dimension)) = self.type_named(&series.ty) else {
            self.say(
                Diagnostic::error(Code::WrongType, "a series of values that are no quantities")
                    .at(series.ty.span, "a dimension is expected"),
            );
            return;
        };
        self.cite = address.clone();
        let mut values: Vec<Number> = Vec::new();
        for value in &series.values {
            let ast::Value::Quantity(quantity) = value else {
                self.say(
                    Diagnostic::error(Code::WrongType, format!("a {} is expected here", dimension.name()))
                        .at(value_span(value), "not one"),
                );
                continue;
            };
            let Some((number, _)) = self.measure_as(&quantity.first, Some(Ty::Number(dimension))) else { continue };
            if values.last().is_some_and(|last| *last >= number) {
                self.say(
                    Diagnostic::error(Code::SeriesDoesNotRise, "values of a series that do not rise")
                        .at(quantity.span, "not larger than the one before it")
                        .help("write each value once, smallest first"),
                );
                continue;
            }
            values.push(number);
        }
        let origin = self.origin(series.address.span, &marks(&series.marks));
        let Ok(number) = u32::try_from(self.program.series.len()) else { return };
        self.series.insert(address.clone(), SeriesId(number));
        let title = series.title.as_deref().unwrap_or("").to_string();
        self.program.series.push(Series { address, title, dimension, values, origin });
    }

    pub(super) fn next(
        &mut self,
        series: &ast::Address,
        way: ast::Way,
        of: &'a ast::Expr,
        span: Span,
    ) -> Option<Typed> {
        let Some(id) = self.series.get(series.text.as_str()).copied() else {
            let near = nearest(&series.text, self.series.keys().map(String::as_str)).map(str::to_string);
            let diagnostic = Diagnostic::error(Code::UnknownSeries, format!("there is no series {}", series.text))
                .at(series.span, "not loaded");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean {near}?")),
                None => diagnostic.help("declare it with `series ADDRESS : current { 15 A, 20 A }`"),
            });
            return None;
        };
        let dimension = self.program.series[id.index()].dimension;
        let ty = Ty::Number(dimension);
        let typed = self.expr(of, Some(ty))?;
        let typed = self.as_type(typed, ty, of.span, series.span)?;
        let way = match way {
            ast::Way::Above => program::Way::Above,
            ast::Way::AtOrAbove => program::Way::AtOrAbove,
            ast::Way::Below => program::Way::Below,
            ast::Way::AtOrBelow => program::Way::AtOrBelow,
        };
        let made = self.emit_expr(Expr::Next(id, way, typed.id), span);
        Some(Typed::plain(made, ty))
    }

    // -------------------------------------------------------------------------------------------- backwards

    pub(super) fn first_row(
        &mut self,
        address: &ast::Address,
        keys: &'a [ast::Expr],
        across: Option<&'a ast::Expr>,
        bound: ast::Bound,
        limit: &'a ast::Expr,
        span: Span,
    ) -> Option<Typed> {
        let at = self.table_at(address)?;
        let types = self.table_types.get(at)?.clone();
        let has_across = self.program.tables.get(at)?.across;
        let row_keys = types.keys.len() - usize::from(has_across);
        let (sought, given) = types.keys.get(..row_keys)?.split_last()?;
        if keys.len() != given.len() || across.is_some() != has_across {
            let mut form = format!("first row of table {}", address.text);
            for (place, (name, _)) in given.iter().enumerate() {
                form.push_str(&format!(" {} {name}", if place == 0 { "at" } else { "and" }));
            }
            if has_across && let Some((name, _)) = types.keys.last() {
                form.push_str(&format!(" across {name}"));
            }
            self.say(
                Diagnostic::error(Code::LookupWithoutKeys, format!("table {} has other keys", address.text))
                    .at(span, "every key but the last is given: that one is sought")
                    .help(format!("write `{form} where at least …`")),
            );
            return None;
        }
        let mut found = Vec::new();
        for (key, (name, ty)) in keys.iter().zip(given) {
            let typed = self.expr(key, Some(*ty))?;
            found.push(self.key(typed, *ty, name, key.span)?);
        }
        let column = match (across, types.keys.last()) {
            (Some(key), Some((name, ty))) => {
                let typed = self.expr(key, Some(*ty))?;
                Some(self.key(typed, *ty, name, key.span)?)
            }
            _ => None,
        };
        let Ty::Number(_) = types.gives else {
            self.say(
                Diagnostic::error(Code::WrongType, format!("table {} does not give quantities", address.text))
                    .at(address.span, "no cell of it can be large enough"),
            );
            return None;
        };
        let limited = self.expr(limit, Some(types.gives))?;
        let limited = self.as_type(limited, types.gives, limit.span, address.span)?;
        let compare = match bound {
            ast::Bound::MoreThan => program::Compare::MoreThan,
            ast::Bound::AtLeast | ast::Bound::AtMost | ast::Bound::Exactly | ast::Bound::LessThan => {
                program::Compare::AtLeast
            }
        };
        let table = TableId(u32::try_from(at).ok()?);
        let made = FirstRow { table, keys: found.into(), column, compare, limit: limited.id };
        let id = self.emit_expr(Expr::FirstRow(Box::new(made)), span);
        Some(Typed::plain(id, sought.1))
    }
}

/// Whether a dimension counts whole things, so that nothing lies between 3 and 4.
pub(super) fn whole(dimension: Dimension) -> bool {
    dimension == Dimension::COUNT
}
