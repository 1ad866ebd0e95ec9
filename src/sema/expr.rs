//! Expressions: types, units, look-ups and folds.

use super::lower::{Lower, Side, TableTypes, Ty};
use super::path::Found;
use crate::base::dimension::{self, Dimension};
use crate::base::number::Number;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::program::{Expr, ExprId, Place};
use crate::ir::schema::FieldType;
use crate::syntax::ast::{self, Binary, ExprKind, Fold, Rounding};

/// An expression with its type.
#[derive(Debug, Clone)]
pub(super) struct Typed {
    pub(super) id: ExprId,
    pub(super) ty: Ty,
    /// The field, if it is nothing but a field.
    pub(super) place: Option<Place>,
    /// The number, if it is nothing but a number.
    pub(super) constant: Option<Number>,
}

impl Typed {
    fn plain(id: ExprId, ty: Ty) -> Typed {
        Typed { id, ty, place: None, constant: None }
    }
}

impl<'a> Lower<'a> {
    /// A type in words.
    pub(super) fn ty_name(&self, ty: Ty) -> String {
        match ty {
            Ty::Number(dimension) => dimension.name(),
            Ty::Value(domain) => self.schema().domain(domain).name.clone(),
            Ty::Date => "date".to_string(),
        }
    }

    /// Lowers an expression; `wanted` decides what a literal is read as.
    pub(super) fn expr(&mut self, expr: &'a ast::Expr, wanted: Option<Ty>) -> Option<Typed> {
        self.nest(expr.span, None, |lower| lower.one_expr(expr, wanted))
    }

    fn one_expr(&mut self, expr: &'a ast::Expr, wanted: Option<Ty>) -> Option<Typed> {
        let span = expr.span;
        match &expr.kind {
            ExprKind::Quantity(quantity) => {
                if let Some(second) = &quantity.second {
                    self.say(
                        Diagnostic::error(Code::DualInArithmetic, "a dual limit can only be compared")
                            .at(second.span, "a second system inside an expression")
                            .help("compare with it directly, or keep one system"),
                    );
                }
                self.literal(&quantity.first, wanted)
            }
            ExprKind::Worded(name) => self.worded(name, wanted),
            ExprKind::Date(name) => {
                let days = self.date(name)?;
                Some(self.constant(days, Ty::Date, span))
            }
            ExprKind::Path(path) => self.path_expr(path, wanted),
            ExprKind::Lookup { table, keys, across } => {
                let found = self.lookup(table, keys, *across, span)?;
                if self.second_lookup(&found, span).is_some() {
                    self.say(
                        Diagnostic::error(Code::DualInArithmetic, "a table in two systems can only be compared with")
                            .at(span, "inside an expression")
                            .help("compare with it directly, or give its cells in one system"),
                    );
                }
                Some(found)
            }
            ExprKind::Fold { fold, field, list, filter } => {
                self.fold(*fold, field.as_ref(), list, filter.as_ref(), span)
            }
            ExprKind::Binary(binary, left, right) => self.binary(*binary, left, right, span),
            ExprKind::Beyond(left, right) => {
                let (left, right, dimension) = self.like(left, right, "beyond", span)?;
                let id = self.emit_expr(Expr::Beyond(left.id, right.id), span);
                let ty = dimension::sub(dimension, dimension).unwrap_or(dimension);
                Some(Typed::plain(id, Ty::Number(ty)))
            }
            ExprKind::PerOrFraction(left, right) => {
                let (left, right, _) = self.like(left, right, "per", span)?;
                let quotient = self.emit_expr(Expr::Div(left.id, right.id), span);
                let id = self.emit_expr(Expr::RoundUp(quotient), span);
                Some(Typed::plain(id, Ty::Number(Dimension::COUNT)))
            }
            ExprKind::Rounded(inner, rounding) => {
                let inner = self.expr(inner, wanted)?;
                let dimension = self.number_type(&inner, span)?;
                if !dimension.is_dimensionless() {
                    self.say(
                        Diagnostic::error(
                            Code::WrongType,
                            format!("a {} cannot be rounded to a whole number", dimension.name()),
                        )
                        .at(span, "only a count or a plain number has whole steps")
                        .help("divide by the step first, as in `(x / 1 A rounded up) x 1 A`"),
                    );
                    return None;
                }
                let made = match rounding {
                    Rounding::Up => Expr::RoundUp(inner.id),
                    Rounding::Down => Expr::RoundDown(inner.id),
                    Rounding::UpFrom(number) => {
                        let from = super::literal::number(&number.text)?;
                        Expr::RoundUpFrom(inner.id, from)
                    }
                };
                let id = self.emit_expr(made, span);
                Some(Typed::plain(id, Ty::Number(dimension)))
            }
            ExprKind::Clauses(clauses) => {
                self.say(
                    Diagnostic::error(Code::WrongType, "conditions where a value is expected")
                        .at(clauses.span, "these hold or do not hold")
                        .help("count members with `count of … where …`"),
                );
                None
            }
        }
    }

    pub(super) fn constant(&mut self, value: Number, ty: Ty, span: Span) -> Typed {
        let id = self.emit_expr(Expr::Number(value.clone()), span);
        Typed { id, ty, place: None, constant: Some(value) }
    }

    /// A measure: a step of a scale where one is wanted or no unit fits, else a quantity.
    pub(super) fn literal(&mut self, measure: &ast::Measure, wanted: Option<Ty>) -> Option<Typed> {
        let name = super::literal::step_name(measure);
        let step = match wanted {
            Some(Ty::Value(domain)) => {
                let quantity = ast::Quantity { first: measure.clone(), second: None, span: measure.span };
                let set = self.value_set(domain, &ast::Value::Quantity(quantity))?;
                Some((domain, set))
            }
            Some(_) => None,
            None => self.any_domain_with(&name),
        };
        if let Some((domain, set)) = step {
            let id = self.emit_expr(Expr::Value(domain, set), measure.span);
            return Some(Typed::plain(id, Ty::Value(domain)));
        }
        let (value, ty) = self.measure_as(measure, wanted)?;
        Some(self.constant(value, ty, measure.span))
    }

    fn worded(&mut self, name: &ast::Name, wanted: Option<Ty>) -> Option<Typed> {
        let found = match wanted {
            Some(Ty::Value(domain)) => Some((domain, self.value_set(domain, &ast::Value::Worded(name.clone()))?)),
            _ => self.any_domain_with(&name.text),
        };
        match found {
            Some((domain, set)) => {
                let id = self.emit_expr(Expr::Value(domain, set), name.span);
                Some(Typed::plain(id, Ty::Value(domain)))
            }
            None => {
                self.say(
                    Diagnostic::error(Code::UnknownChoiceValue, format!("no scale has a step `{}`", name.text))
                        .at(name.span, "not known")
                        .help("write the step as its scale spells it"),
                );
                None
            }
        }
    }

    fn path_expr(&mut self, path: &'a ast::Path, wanted: Option<Ty>) -> Option<Typed> {
        if path.words.len() > 1 {
            self.say(
                Diagnostic::error(Code::UnexpectedText, "several words where a value is expected")
                    .at(path.span, "one field or definition is meant")
                    .help("reach a field of another thing with `of`: `overcurrent of circuit`"),
            );
            return None;
        }
        // A bare value of the wanted choice.
        if let (Some(Ty::Value(domain)), [word], true) = (wanted, path.words.as_slice(), path.of.is_empty())
            && let Some(set) = self.value_of(domain, &word.text)
        {
            let id = self.emit_expr(Expr::Value(domain, set), path.span);
            return Some(Typed::plain(id, Ty::Value(domain)));
        }
        match self.find(path)? {
            Found::Field(place) => {
                let ty = match self.field_type(&place) {
                    FieldType::Quantity(dimension) => Ty::Number(*dimension),
                    FieldType::OneOf(domain) => Ty::Value(*domain),
                    FieldType::Date => Ty::Date,
                    FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => {
                        self.say(
                            Diagnostic::error(Code::ListMismatch, "a list where a single value is expected")
                                .at(path.span, "this is a list")
                                .help("fold it: `count of …`, `sum of FIELD of …`, `largest FIELD of …`"),
                        );
                        return None;
                    }
                    FieldType::YesNo | FieldType::Text | FieldType::Ref(_) => {
                        self.say(
                            Diagnostic::error(Code::WrongType, "this field is not a quantity")
                                .at(path.span, "cannot be computed with or compared by size"),
                        );
                        return None;
                    }
                };
                let id = self.emit_expr(Expr::Read(place.clone()), path.span);
                Some(Typed { id, ty, place: Some(place), constant: None })
            }
            Found::Formula(object, at) => {
                let (formula, ty) = self.formula(at)?;
                let id = self.emit_expr(Expr::Formula(object, formula), path.span);
                Some(Typed::plain(id, ty))
            }
            Found::Limit(name) => {
                let quantity = &self.limits.get(&name).copied()?.quantity;
                if quantity.second.is_some() {
                    self.say(
                        Diagnostic::error(Code::DualInArithmetic, "a dual limit can only be compared")
                            .at(path.span, "this limit is stated in two systems")
                            .at(quantity.span, "stated here"),
                    );
                }
                self.literal(&quantity.first, wanted)
            }
            Found::Object(_) => {
                self.say(
                    Diagnostic::error(Code::WrongType, "a thing where a value is expected")
                        .at(path.span, "this names a thing")
                        .help("name one of its fields: `FIELD of THING`"),
                );
                None
            }
        }
    }

    fn number_type(&mut self, typed: &Typed, span: Span) -> Option<Dimension> {
        match typed.ty {
            Ty::Number(dimension) => Some(dimension),
            Ty::Value(_) | Ty::Date => {
                let name = self.ty_name(typed.ty);
                self.say(
                    Diagnostic::error(Code::WrongType, format!("a {name} where a number is expected"))
                        .at(span, "cannot be computed with"),
                );
                None
            }
        }
    }

    /// Two operands of one dimension.
    fn like(
        &mut self,
        left: &'a ast::Expr,
        right: &'a ast::Expr,
        what: &str,
        span: Span,
    ) -> Option<(Typed, Typed, Dimension)> {
        let first = self.expr(left, None)?;
        let dimension = self.number_type(&first, left.span)?;
        let second = self.expr(right, Some(first.ty))?;
        let other = self.number_type(&second, right.span)?;
        let second = self.brought(second, other, dimension, right.span);
        if second.is_none() {
            self.differ(dimension, left.span, other, right.span, what, span);
        }
        Some((first, second?, dimension))
    }

    fn differ(&mut self, one: Dimension, one_span: Span, two: Dimension, two_span: Span, what: &str, span: Span) {
        self.say(
            Diagnostic::error(Code::DimensionsDiffer, format!("`{what}` between {} and {}", one.name(), two.name()))
                .at(span, "not of one kind")
                .at(one_span, one.name())
                .at(two_span, two.name()),
        );
    }

    /// An operand brought from one dimension to another, where they are comparable.
    pub(super) fn brought(&mut self, typed: Typed, from: Dimension, to: Dimension, span: Span) -> Option<Typed> {
        if from == to {
            return Some(typed);
        }
        if !dimension::comparable(from, to) {
            return None;
        }
        match dimension::conversion(from, to) {
            Some(factor) if factor != Number::ONE => {
                let factor = self.emit_expr(Expr::Number(factor), span);
                let id = self.emit_expr(Expr::Mul(typed.id, factor), span);
                Some(Typed::plain(id, Ty::Number(to)))
            }
            _ => Some(Typed { ty: Ty::Number(to), ..typed }),
        }
    }

    fn binary(&mut self, binary: Binary, left: &'a ast::Expr, right: &'a ast::Expr, span: Span) -> Option<Typed> {
        let first = self.expr(left, None)?;
        let one = self.number_type(&first, left.span)?;
        let second = self.expr(right, None)?;
        let two = self.number_type(&second, right.span)?;
        let (dimension, made) = match binary {
            Binary::Add => (dimension::add(one, two), Expr::Add(first.id, second.id)),
            Binary::Sub => (dimension::sub(one, two), Expr::Sub(first.id, second.id)),
            Binary::Mul => (dimension::mul(one, two), Expr::Mul(first.id, second.id)),
            Binary::Div => (dimension::div(one, two), Expr::Div(first.id, second.id)),
        };
        let Some(dimension) = dimension else {
            let sign = match binary {
                Binary::Add => "+",
                Binary::Sub => "-",
                Binary::Mul => "x",
                Binary::Div => "/",
            };
            self.differ(one, left.span, two, right.span, sign, span);
            return None;
        };
        let id = self.emit_expr(made, span);
        Some(Typed::plain(id, Ty::Number(dimension)))
    }

    fn fold(
        &mut self,
        fold: Fold,
        field: Option<&'a ast::Path>,
        list: &'a ast::ListRef,
        filter: Option<&'a ast::Clauses>,
        span: Span,
    ) -> Option<Typed> {
        let (list, of) =
            self.with_list(list, filter, Side::Favour, None, |lower| field.map(|path| lower.path_expr(path, None)))?;
        let Some(of) = of else {
            let id = self.emit_expr(Expr::Count(list), span);
            return Some(Typed::plain(id, Ty::Number(Dimension::COUNT)));
        };
        let of = of?;
        let made = match fold {
            Fold::Count => return None,
            Fold::Sum => {
                let dimension = self.number_type(&of, span)?;
                if dimension.is_point() {
                    self.say(
                        Diagnostic::error(Code::WrongType, "temperatures do not add up")
                            .at(span, "a sum of points on a scale"),
                    );
                    return None;
                }
                Expr::Sum { list, of: of.id, never_negative: self.never_negative(of.id) }
            }
            Fold::Largest => Expr::Largest(list, of.id),
            Fold::Smallest => Expr::Smallest(list, of.id),
        };
        if let Ty::Value(domain) = of.ty
            && !self.schema().domain(domain).ordered
        {
            self.unordered(domain, span);
            return None;
        }
        let id = self.emit_expr(made, span);
        Some(Typed::plain(id, of.ty))
    }

    pub(super) fn unordered(&mut self, domain: crate::ir::schema::DomainId, span: Span) {
        let name = self.schema().domain(domain).name.clone();
        self.say(
            Diagnostic::error(Code::UnorderedComparison, format!("`{name}` has no order"))
                .at(span, "compared by size")
                .help("declare it as a `scale`, smallest first"),
        );
    }

    /// Whether no value of the expression can be below zero.
    fn never_negative(&self, id: ExprId) -> bool {
        match self.program.expr(id) {
            Expr::Number(number) => !number.is_negative(),
            Expr::Read(place) => self.schema().field(place.object.thing, place.field).never_negative,
            Expr::Add(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) => self.never_negative(*a) && self.never_negative(*b),
            Expr::Beyond(..) | Expr::Count(_) => true,
            Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) => self.never_negative(*a),
            Expr::Sum { never_negative, .. } => *never_negative,
            Expr::Largest(_, a) | Expr::Smallest(_, a) => self.never_negative(*a),
            Expr::Lookup(table, _) => self.program.tables[table.index()]
                .rows
                .iter()
                .flat_map(|r| &r.cells)
                .all(|cell| !matches!(cell, crate::ir::program::CellValue::Number(n) if n.is_negative())),
            Expr::Formula(_, formula) => self.never_negative(self.program.formulas[formula.index()].expr),
            Expr::Sub(..) | Expr::Value(..) => false,
        }
    }

    /// The same look-up in the second system of its table; none if the table is stated in one.
    pub(super) fn second_lookup(&mut self, first: &Typed, span: Span) -> Option<Typed> {
        let Expr::Lookup(table, keys) = self.program.expr(first.id) else { return None };
        let (second, keys) = (*self.second_tables.get(&table.index())?, keys.clone());
        let table = crate::ir::program::TableId(u32::try_from(second).ok()?);
        let id = self.emit_expr(Expr::Lookup(table, keys), span);
        Some(Typed::plain(id, first.ty))
    }

    pub(super) fn lookup(
        &mut self,
        address: &ast::Address,
        keys: &'a [ast::Expr],
        across: bool,
        span: Span,
    ) -> Option<Typed> {
        let Some(at) = self.tables.get(address.text.as_str()).copied() else {
            let near = nearest(&address.text, self.tables.keys().map(String::as_str)).map(str::to_string);
            let diagnostic = Diagnostic::error(Code::UnknownSection, format!("there is no table {}", address.text))
                .at(address.span, "not loaded");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean {near}?")),
                None => diagnostic.help("declare it with `table … by … gives …`"),
            });
            return None;
        };
        let types = self.table_types.get(at)?.clone();
        let table = crate::ir::program::TableId(u32::try_from(at).ok()?);
        let has_across = self.program.tables.get(at).is_some_and(|t| t.across);
        let mut found = Vec::new();
        if keys.is_empty() {
            for (name, ty) in &types.keys {
                let Some(read) = self.on_frames(name) else {
                    self.say(
                        Diagnostic::error(
                            Code::LookupWithoutKeys,
                            format!("nothing here is called `{name}`, the key of table {}", address.text),
                        )
                        .at(address.span, "looked up by the names of its keys")
                        .help(format!(
                            "write `table {} {}`",
                            address.text,
                            keys_form(&types, usize::from(has_across))
                        )),
                    );
                    return None;
                };
                match read {
                    Found::Field(place) => {
                        let id = self.emit_expr(Expr::Read(place.clone()), span);
                        let field_ty = match self.field_type(&place) {
                            FieldType::Quantity(dimension) => Ty::Number(*dimension),
                            FieldType::OneOf(domain) => Ty::Value(*domain),
                            _ => Ty::Date,
                        };
                        found.push(self.key(Typed::plain(id, field_ty), *ty, name, address.span)?);
                    }
                    Found::Formula(object, formula) => {
                        let (formula, formula_ty) = self.formula(formula)?;
                        let id = self.emit_expr(Expr::Formula(object, formula), span);
                        found.push(self.key(Typed::plain(id, formula_ty), *ty, name, address.span)?);
                    }
                    Found::Limit(_) | Found::Object(_) => return None,
                }
            }
        } else if keys.len() != types.keys.len() || across != has_across {
            let form = keys_form(&types, usize::from(has_across));
            self.say(
                Diagnostic::error(Code::LookupWithoutKeys, format!("table {} has other keys", address.text))
                    .at(span, format!("{} given", keys.len()))
                    .help(format!("write `table {} {form}`", address.text)),
            );
            return None;
        } else {
            for (key, (name, ty)) in keys.iter().zip(&types.keys) {
                let typed = self.expr(key, Some(*ty))?;
                found.push(self.key(typed, *ty, name, key.span)?);
            }
        }
        let id = self.emit_expr(Expr::Lookup(table, found.into()), span);
        Some(Typed::plain(id, types.gives))
    }

    fn key(&mut self, typed: Typed, wanted: Ty, name: &str, span: Span) -> Option<ExprId> {
        let fits = match (typed.ty, wanted) {
            (Ty::Number(from), Ty::Number(to)) => self.brought(typed.clone(), from, to, span).map(|t| t.id),
            (one, two) if one == two => Some(typed.id),
            _ => None,
        };
        if fits.is_none() {
            let (have, want) = (self.ty_name(typed.ty), self.ty_name(wanted));
            self.say(
                Diagnostic::error(Code::DimensionsDiffer, format!("the key `{name}` is a {want}"))
                    .at(span, format!("this is a {have}")),
            );
        }
        fits
    }
}

/// The keys of a table as a look-up states them.
fn keys_form(types: &TableTypes, columns: usize) -> String {
    let names: Vec<&str> = types.keys.iter().map(|(name, _)| name.as_str()).collect();
    let (rows, column) = names.split_at(names.len().saturating_sub(columns));
    let form = format!("at {}", rows.join(" and "));
    match column {
        [column] => format!("{form} across {column}"),
        _ => form,
    }
}
