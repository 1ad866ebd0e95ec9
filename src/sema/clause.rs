//! Conditions: clauses, lists of clauses, comparisons and quantifiers.

use super::expr::Typed;
use super::literal::{bring, measure, value_span};
use super::lower::{Lower, Side, Ty};
use super::path::Found;
use crate::base::dimension::Dimension;
use crate::base::number::Number;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::program::{Compare, Expr, Object, Place, Step, Test, TestId};
use crate::ir::schema::{FieldType, NO, PROJECT, ValueSet, YES};
use crate::syntax::ast::{self, Bound, ClauseKind, DateSide, ExprKind, PredicateKind, Quantifier};

impl<'a> Lower<'a> {
    pub(super) fn clauses(&mut self, clauses: &'a ast::Clauses, side: Side) -> TestId {
        let tests = clauses.all.iter().map(|clause| self.clause(clause, side)).collect();
        self.all(tests, clauses.span)
    }

    /// All lines of a list.
    pub(super) fn all_items(&mut self, items: &'a ast::Items, side: Side) -> TestId {
        let tests = self.each_item(items, side);
        self.all(tests, items.span)
    }

    fn each_item(&mut self, items: &'a ast::Items, side: Side) -> Vec<TestId> {
        let mut labels: Vec<&ast::Name> = Vec::new();
        for item in &items.all {
            if let Some(label) = &item.label {
                self.label_once(&mut labels, label);
            }
        }
        items.all.iter().map(|item| self.item(item, side)).collect()
    }

    pub(super) fn label_once<'n>(&mut self, seen: &mut Vec<&'n ast::Name>, label: &'n ast::Name) {
        if let Some(first) = seen.iter().find(|l| l.text == label.text) {
            let diagnostic = Diagnostic::error(Code::LabelTwice, format!("the label ({}) stands twice", label.text))
                .at(label.span, "again here")
                .at(first.span, "first here");
            self.say(diagnostic);
        }
        seen.push(label);
    }

    fn item(&mut self, item: &'a ast::ListItem, side: Side) -> TestId {
        let before = self.cite.len();
        if let Some(label) = &item.label {
            self.cite.push_str(&format!("({})", label.text));
        }
        let test = self.clauses(&item.clauses, side);
        if !item.marks.is_empty() {
            let at = self.program.test_origins[test.index()].index();
            self.program.origins[at].marks.extend(super::lower::marks(&item.marks));
        }
        self.cite.truncate(before);
        test
    }

    pub(super) fn clause(&mut self, clause: &'a ast::Clause, side: Side) -> TestId {
        let test = self.nest(clause.span, None, |lower| Some(lower.one_clause(clause, side)));
        test.unwrap_or_else(|| self.never(clause.span))
    }

    fn one_clause(&mut self, clause: &'a ast::Clause, side: Side) -> TestId {
        let inner = if clause.negated { side.flipped() } else { side };
        let test = match &clause.kind {
            ClauseKind::AnyOf(items) => {
                let tests = self.each_item(items, inner);
                self.any(tests, clause.span)
            }
            ClauseKind::AllOf(items) => {
                let tests = self.each_item(items, inner);
                self.all(tests, clause.span)
            }
            ClauseKind::NoneOf(items) => {
                let tests = self.each_item(items, inner.flipped());
                let any = self.any(tests, clause.span);
                self.emit(Test::Not(any), clause.span)
            }
            ClauseKind::If(case, then) => {
                let case_test = self.clauses(case, inner.flipped());
                let not = self.emit(Test::Not(case_test), case.span);
                let then = self.clauses(then, inner);
                self.emit(Test::Any(Box::new([not, then])), clause.span)
            }
            ClauseKind::Quantified { quantifier, list, filter, consequence, predicate } => self
                .quantified(
                    quantifier,
                    list,
                    filter.as_ref(),
                    consequence.as_ref(),
                    predicate.as_ref(),
                    inner,
                    clause.span,
                )
                .unwrap_or_else(|| self.never(clause.span)),
            ClauseKind::Dated(date_side, date, clock) => self
                .dated(None, *date_side, date, clock.as_ref(), clause.span)
                .unwrap_or_else(|| self.never(clause.span)),
            ClauseKind::Compare(expr, None) => match &expr.kind {
                ExprKind::Path(path) => self.bare(path, inner),
                _ => {
                    self.say(
                        Diagnostic::error(Code::WrongType, "a value where a condition is expected")
                            .at(expr.span, "compared with nothing")
                            .help("add `is …`, `at least …` or `at most …`"),
                    );
                    self.never(clause.span)
                }
            },
            ClauseKind::Compare(expr, Some(predicate)) => {
                self.compared(expr, predicate, inner, clause.span).unwrap_or_else(|| self.never(clause.span))
            }
        };
        if clause.negated { self.emit(Test::Not(test), clause.span) } else { test }
    }

    // -------------------------------------------------------------------------------------------- quantifiers

    #[allow(clippy::too_many_arguments)]
    fn quantified(
        &mut self,
        quantifier: &'a Quantifier,
        list: &'a ast::ListRef,
        filter: Option<&'a ast::Clauses>,
        consequence: Option<&'a ast::Clauses>,
        predicate: Option<&'a ast::Predicate>,
        side: Side,
        span: Span,
    ) -> Option<TestId> {
        // A filter that lets more members in makes `every` and `no` harder to meet.
        let (filter_side, inner_side) = match quantifier {
            Quantifier::Every => (side.flipped(), side),
            Quantifier::Some => (side, side),
            Quantifier::No => (side.flipped(), side.flipped()),
            Quantifier::Bound(Bound::AtMost | Bound::LessThan, _) => (side.flipped(), side.flipped()),
            Quantifier::Bound(Bound::AtLeast | Bound::MoreThan | Bound::Exactly, _) => (side, side),
        };
        if let (
            Quantifier::Every | Quantifier::No | Quantifier::Bound(Bound::AtMost | Bound::LessThan | Bound::Exactly, _),
            Some(name),
        ) = (quantifier, list.words.last())
            && self.tallies.contains_key(name.text.as_str())
        {
            self.say(
                Diagnostic::error(Code::WrongType, "a tally is read by `some` or `at least` only")
                    .at(list.span, "members may lose their credit"),
            );
        }
        let count = match quantifier {
            Quantifier::Bound(_, count) => {
                let typed = self.expr(count, Some(Ty::Number(Dimension::COUNT)))?;
                if !matches!(typed.ty, Ty::Number(d) if d.is_dimensionless()) {
                    let name = self.ty_name(typed.ty);
                    self.say(
                        Diagnostic::error(Code::WrongType, format!("a {name} is not a number of members"))
                            .at(count.span, "a count is expected"),
                    );
                    return None;
                }
                Some(typed.id)
            }
            _ => None,
        };
        let (list, test) = self.with_list(list, filter, filter_side, None, |lower| {
            let frame = lower.frames.last().cloned();
            match (consequence, predicate, frame) {
                (Some(consequence), _, _) => lower.clauses(consequence, inner_side),
                (None, Some(predicate), Some(frame)) => {
                    let member = lower.object(&frame);
                    lower.object_is(&member, predicate, inner_side, span).unwrap_or_else(|| lower.never(span))
                }
                _ => lower.always(span),
            }
        })?;
        if matches!(quantifier, Quantifier::Every) && consequence.is_none() && predicate.is_none() {
            self.say(
                Diagnostic::error(Code::WrongType, "`every` without a demand")
                    .at(span, "what must every one of them be?")
                    .help("write `every part is KIND` or `every part where …: …`"),
            );
        }
        Some(match quantifier {
            Quantifier::Every => self.emit(Test::Every(list, test), span),
            Quantifier::Some => self.emit(Test::Some(list, test), span),
            Quantifier::No => {
                let some = self.emit(Test::Some(list, test), span);
                self.emit(Test::Not(some), span)
            }
            Quantifier::Bound(bound, _) => self.emit(Test::Count(list, test, comparison(*bound), count?), span),
        })
    }

    /// `is KIND`, said of a thing.
    fn object_is(&mut self, object: &Object, predicate: &'a ast::Predicate, side: Side, span: Span) -> Option<TestId> {
        let (values, negated) = match &predicate.kind {
            PredicateKind::Is(values) => (values, false),
            PredicateKind::IsNot(values) => (values, true),
            PredicateKind::Bound(..)
            | PredicateKind::Dated(..)
            | PredicateKind::Passes(_)
            | PredicateKind::PassesNot(_) => {
                self.say(
                    Diagnostic::error(Code::WrongType, "a thing is not compared by size")
                        .at(predicate.span, "name one of its fields instead")
                        .help("write `where FIELD at least …`"),
                );
                return None;
            }
        };
        let inner = if negated { side.flipped() } else { side };
        let any = self.any_kind(object, values, inner, span)?;
        Some(if negated { self.emit(Test::Not(any), span) } else { any })
    }

    /// A thing of one of several kinds.
    fn any_kind(&mut self, object: &Object, values: &[ast::ValueRange], side: Side, span: Span) -> Option<TestId> {
        let mut tests = Vec::new();
        for value in values {
            match (&value.from, &value.through) {
                (ast::Value::Word(word), None) => tests.push(self.predicate_or_say(object, word, side, word.span)),
                (other, _) => {
                    let span = value_span(other);
                    self.say(
                        Diagnostic::error(Code::WrongType, "a kind is expected here")
                            .at(span, "a thing is of a kind, or has a yes-no field or a choice value"),
                    );
                    return None;
                }
            }
        }
        Some(self.any(tests, span))
    }

    // -------------------------------------------------------------------------------------------- comparisons

    fn compared(
        &mut self,
        expr: &'a ast::Expr,
        predicate: &'a ast::Predicate,
        side: Side,
        span: Span,
    ) -> Option<TestId> {
        match &predicate.kind {
            PredicateKind::Is(values) => self.is(expr, values, side, span),
            PredicateKind::IsNot(values) => {
                let test = self.is(expr, values, side.flipped(), span)?;
                Some(self.emit(Test::Not(test), span))
            }
            PredicateKind::Bound(bound, right) => self.bound(expr, *bound, right, side, span),
            PredicateKind::Dated(date_side, date, clock) => {
                let typed = self.expr(expr, Some(Ty::Date))?;
                if let Some(clock) = clock {
                    self.say(
                        Diagnostic::error(Code::UnexpectedText, "a clock behind a named date")
                            .at(clock.span, "the field before it already says which date is meant"),
                    );
                }
                self.dated(Some(typed), *date_side, date, None, span)
            }
            PredicateKind::Passes(barriers) => self.passes(expr, barriers, span),
            PredicateKind::PassesNot(barriers) => {
                let test = self.passes(expr, barriers, span)?;
                Some(self.emit(Test::Not(test), span))
            }
        }
    }

    /// `to-sink from bowl-edge through door or wall`
    fn passes(&mut self, expr: &'a ast::Expr, barriers: &'a [ast::Name], span: Span) -> Option<TestId> {
        let ExprKind::Path(path) = &expr.kind else {
            self.say(
                Diagnostic::error(Code::WrongType, "only a measurement passes through something").at(expr.span, "here"),
            );
            return None;
        };
        let (Some(word), Some(key)) = (path.words.first(), &path.from) else {
            self.say(
                Diagnostic::error(Code::WrongType, "only a measurement from a key passes through something")
                    .at(path.span, "from where?")
                    .help("write `FIELD from KEY through BARRIER`"),
            );
            return None;
        };
        let mut tests = Vec::new();
        for barrier in barriers {
            let name = format!("{} from {} through {}", word.text, key.text, barrier.text);
            let written = ast::Path {
                words: vec![ast::Name { text: name.as_str().into(), span: barrier.span }],
                from: None,
                of: path.of.clone(),
                span: path.span,
            };
            match self.find(&written)? {
                Found::Field(place) => tests.push(self.emit(Test::In(place, YES), span)),
                Found::Formula(..) | Found::Limit(_) | Found::Object(_) => return None,
            }
        }
        Some(self.any(tests, span))
    }

    fn dated(
        &mut self,
        typed: Option<Typed>,
        side: DateSide,
        date: &ast::Name,
        clock: Option<&ast::Name>,
        span: Span,
    ) -> Option<TestId> {
        let days = self.date(date)?;
        let typed = match (typed, clock) {
            (Some(typed), _) => typed,
            (None, Some(clock)) => self.clock(clock)?,
            (None, None) => {
                self.say(
                    Diagnostic::error(Code::WrongType, "a date without a clock")
                        .at(span, "which date is compared?")
                        .help("write `by installation`, `by permit-application` or another date of the project"),
                );
                return None;
            }
        };
        if typed.ty != Ty::Date {
            let name = self.ty_name(typed.ty);
            self.say(Diagnostic::error(Code::WrongType, format!("a {name} compared with a date")).at(span, "here"));
            return None;
        }
        let compare = match side {
            DateSide::Before => Compare::LessThan,
            DateSide::After => Compare::MoreThan,
            DateSide::Through => Compare::AtMost,
            DateSide::From => Compare::AtLeast,
        };
        Some(self.compare_constant(&typed, compare, days, span))
    }

    /// The project's date that a clock names.
    fn clock(&mut self, name: &ast::Name) -> Option<Typed> {
        let project = self.schema().thing_named(PROJECT);
        let field = project.and_then(|p| self.schema().field_named(p, &name.text));
        let (Some(thing), Some(field)) = (project, field) else {
            let known: Vec<String> = project
                .map(|p| {
                    let fields = &self.schema().thing(p).fields;
                    fields.iter().filter(|f| f.ty == FieldType::Date).map(|f| f.name.clone()).collect()
                })
                .unwrap_or_default();
            let near = nearest(&name.text, known.iter().map(String::as_str)).map(str::to_string);
            let diagnostic = Diagnostic::error(Code::UnknownField, format!("the project has no date `{}`", name.text))
                .at(name.span, "not a clock");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("declare it in `thing project`"),
            });
            return None;
        };
        let place = Place { object: Object { var: 0, steps: Box::new([Step::Project]), thing }, field };
        let ty = match self.field_type(&place) {
            FieldType::Date => Ty::Date,
            _ => Ty::Number(Dimension::PLAIN),
        };
        let id = self.emit_expr(Expr::Read(place.clone()), name.span);
        Some(Typed { id, ty, place: Some(place), constant: None })
    }

    fn compare_constant(&mut self, typed: &Typed, compare: Compare, value: Number, span: Span) -> TestId {
        match &typed.place {
            Some(place) => self.emit(Test::CompareConst(place.clone(), compare, value), span),
            None => {
                let right = self.emit_expr(Expr::Number(value), span);
                self.emit(Test::Compare(typed.id, compare, right), span)
            }
        }
    }

    /// The written quantity on a side of a comparison, a limit's name looked through.
    fn quantity_of(&self, expr: &'a ast::Expr) -> Option<&'a ast::Quantity> {
        match &expr.kind {
            ExprKind::Quantity(quantity) => Some(quantity),
            ExprKind::Path(path) if path.words.len() == 1 && path.of.is_empty() && path.from.is_none() => {
                let name = path.words.first()?;
                let shadowed = self.frames.iter().any(|f| self.schema().field_named(f.thing, &name.text).is_some());
                if shadowed { None } else { self.limits.get(name.text.as_str()).map(|l| &l.quantity) }
            }
            _ => None,
        }
    }

    fn bound(
        &mut self,
        left: &'a ast::Expr,
        bound: Bound,
        right: &'a ast::Expr,
        side: Side,
        span: Span,
    ) -> Option<TestId> {
        if let Some(quantity) = self.quantity_of(right)
            && let Some(second) = &quantity.second
        {
            let typed = self.expr(left, None)?;
            return self.dual(&typed, bound, &quantity.first, second, side, span);
        }
        let literal = |e: &ast::Expr| matches!(e.kind, ExprKind::Quantity(_) | ExprKind::Worded(_));
        if let (ExprKind::Lookup { table, keys, across }, false) = (&right.kind, literal(left)) {
            let one = self.expr(left, None)?;
            let two = self.lookup(table, keys, *across, right.span)?;
            let Some(second) = self.second_lookup(&two, right.span) else {
                return self.compare(one, bound, two, left.span, right.span, span);
            };
            // The cell leans as a limit in two systems does.
            let first = self.compare(one.clone(), bound, two, left.span, right.span, span)?;
            let second = self.compare(one, bound, second, left.span, right.span, span)?;
            return Some(match (bound, side) {
                (Bound::Exactly, _) | (_, Side::Favour) => self.any(vec![first, second], span),
                (_, Side::Bind) => self.all(vec![first, second], span),
            });
        }
        // A literal takes its type from the other side.
        let (one, two) = if literal(left) {
            let two = self.expr(right, None)?;
            (self.expr(left, Some(two.ty))?, two)
        } else {
            let one = self.expr(left, None)?;
            let two = self.expr(right, Some(one.ty))?;
            (one, two)
        };
        self.compare(one, bound, two, left.span, right.span, span)
    }

    fn compare(&mut self, one: Typed, bound: Bound, two: Typed, left: Span, right: Span, span: Span) -> Option<TestId> {
        match (one.ty, two.ty) {
            (Ty::Number(from), Ty::Number(to)) => {
                let brought = self.brought(two.clone(), to, from, right);
                let Some(two) = brought else {
                    self.say(
                        Diagnostic::error(
                            Code::DimensionsDiffer,
                            format!("{} compared with {}", from.name(), to.name()),
                        )
                        .at(span, "not of one kind")
                        .at(left, from.name())
                        .at(right, to.name()),
                    );
                    return None;
                };
                Some(match &two.constant {
                    Some(value) => self.compare_constant(&one, comparison(bound), value.clone(), span),
                    None => self.emit(Test::Compare(one.id, comparison(bound), two.id), span),
                })
            }
            (Ty::Date, Ty::Date) => Some(self.emit(Test::Compare(one.id, comparison(bound), two.id), span)),
            (Ty::Value(a), Ty::Value(b)) if a == b => {
                if !self.schema().domain(a).ordered {
                    if bound == Bound::Exactly {
                        return Some(self.emit(Test::CompareSteps(one.id, Compare::Equal, two.id), span));
                    }
                    self.unordered(a, span);
                    return None;
                }
                if let (Some(place), Expr::Value(_, set)) = (&one.place, self.program.expr(two.id)) {
                    let set = steps_for(*set, bound, self.schema().domain(a).all());
                    return Some(self.emit(Test::In(place.clone(), set), span));
                }
                Some(self.emit(Test::CompareSteps(one.id, comparison(bound), two.id), span))
            }
            (a, b) => {
                let (a, b) = (self.ty_name(a), self.ty_name(b));
                self.say(
                    Diagnostic::error(Code::WrongType, format!("{a} compared with {b}"))
                        .at(span, "not of one kind")
                        .at(left, a)
                        .at(right, b),
                );
                None
            }
        }
    }

    /// A limit in two systems: which of the two counts is decided by where it stands.
    fn dual(
        &mut self,
        typed: &Typed,
        bound: Bound,
        first: &'a ast::Measure,
        second: &'a ast::Measure,
        side: Side,
        span: Span,
    ) -> Option<TestId> {
        let Ty::Number(wanted) = typed.ty else {
            let name = self.ty_name(typed.ty);
            self.say(
                Diagnostic::error(Code::WrongType, format!("{name} compared with a limit in two systems"))
                    .at(span, "only quantities have two systems"),
            );
            return None;
        };
        let one = self.measure_as(first, Some(typed.ty))?.0;
        let two = match measure(second) {
            Ok((value, dimension)) => match bring(&value, dimension, wanted) {
                Some(value) => value,
                None => {
                    self.say(
                        Diagnostic::error(Code::DualKindsDiffer, "the two values of a dual limit differ in kind")
                            .at(second.span, dimension.name())
                            .at(first.span, wanted.name())
                            .help("state the same limit in the other system"),
                    );
                    return None;
                }
            },
            Err(diagnostic) => {
                self.say(diagnostic);
                return None;
            }
        };
        let (low, high) = if one <= two { (one, two) } else { (two, one) };
        let value = match (bound, side) {
            (Bound::AtMost, Side::Favour) | (Bound::LessThan, Side::Favour) => high,
            (Bound::AtMost, Side::Bind) | (Bound::LessThan, Side::Bind) => low,
            (Bound::AtLeast, Side::Favour) | (Bound::MoreThan, Side::Favour) => low,
            (Bound::AtLeast, Side::Bind) | (Bound::MoreThan, Side::Bind) => high,
            (Bound::Exactly, _) => {
                let one = self.compare_constant(typed, Compare::Equal, low, span);
                let two = self.compare_constant(typed, Compare::Equal, high, span);
                return Some(self.any(vec![one, two], span));
            }
        };
        Some(self.compare_constant(typed, comparison(bound), value, span))
    }

    // -------------------------------------------------------------------------------------------- is

    fn is(&mut self, expr: &'a ast::Expr, values: &'a [ast::ValueRange], side: Side, span: Span) -> Option<TestId> {
        if let ExprKind::Path(path) = &expr.kind
            && path.words.len() == 1
        {
            return match self.find(path)? {
                Found::Field(place) => self.field_is(&place, expr, values, side, span),
                Found::Object(object) => self.any_kind(&object, values, side, span),
                Found::Formula(object, at) => {
                    let (formula, ty) = self.formula(at)?;
                    let id = self.emit_expr(Expr::Formula(object, formula), expr.span);
                    self.value_is(&Typed { id, ty, place: None, constant: None }, values, span)
                }
                Found::Limit(_) => {
                    self.say(Diagnostic::error(Code::WrongType, "a limit is compared with nothing").at(span, "here"));
                    None
                }
            };
        }
        let typed = self.expr(expr, None)?;
        self.value_is(&typed, values, span)
    }

    fn field_is(
        &mut self,
        place: &Place,
        expr: &'a ast::Expr,
        values: &'a [ast::ValueRange],
        side: Side,
        span: Span,
    ) -> Option<TestId> {
        let ty = self.field_type(place).clone();
        let mut tests = Vec::new();
        let mut set: ValueSet = 0;
        let mut any_set = false;
        for value in values {
            if let ast::Value::None(none) = &value.from {
                let field = self.schema().field(place.object.thing, place.field);
                let list = matches!(field.ty, FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..));
                if list {
                    self.say(
                        Diagnostic::error(Code::ListMismatch, "a list compared with `none`")
                            .at(*none, "here")
                            .help(format!("write `no {}`", field.name)),
                    );
                    return None;
                }
                if !field.may_be_absent {
                    let name = field.name.clone();
                    self.say(
                        Diagnostic::error(Code::NotMayBeAbsent, format!("`{name}` is never absent"))
                            .at(*none, "tested for none")
                            .help(format!("declare it `{name}: …, may be absent`, or drop the test")),
                    );
                    return None;
                }
                tests.push(self.emit(Test::IsNone(place.clone()), span));
                continue;
            }
            match &ty {
                FieldType::YesNo => {
                    any_set = true;
                    match (&value.from, &value.through) {
                        (ast::Value::Word(word), None) if word.text == "yes" => set |= YES,
                        (ast::Value::Word(word), None) if word.text == "no" => set |= NO,
                        (other, _) => {
                            self.say(
                                Diagnostic::error(Code::WrongType, "a yes-no field is `yes` or `no`")
                                    .at(value_span(other), "neither"),
                            );
                            return None;
                        }
                    }
                }
                FieldType::OneOf(domain) => {
                    any_set = true;
                    set |= self.range_set(*domain, value)?;
                }
                FieldType::Text => match (&value.from, &value.through) {
                    (ast::Value::Text(text), None) => {
                        tests.push(self.emit(Test::TextIs(place.clone(), text.text.as_str().into()), span));
                    }
                    (other, _) => {
                        self.say(
                            Diagnostic::error(Code::WrongType, "a text is compared with a quoted text")
                                .at(value_span(other), "quote it"),
                        );
                        return None;
                    }
                },
                FieldType::Ref(thing) => {
                    let ast::Value::Word(word) = &value.from else {
                        self.say(
                            Diagnostic::error(Code::WrongType, "a reference is of a kind")
                                .at(value_span(&value.from), "a kind is expected"),
                        );
                        return None;
                    };
                    let mut steps = place.object.steps.to_vec();
                    steps.push(Step::Follow(place.field));
                    let object = Object { var: place.object.var, steps: steps.into(), thing: *thing };
                    tests.push(self.predicate_or_say(&object, word, side, span));
                }
                FieldType::Quantity(_) | FieldType::Date => {
                    let typed = self.expr(expr, None)?;
                    tests.push(self.value_is(&typed, std::slice::from_ref(value), span)?);
                }
                FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => {
                    self.say(
                        Diagnostic::error(Code::ListMismatch, "a list where a single value is expected")
                            .at(expr.span, "this is a list")
                            .help("say how many: `every … is …`, `some … is …`"),
                    );
                    return None;
                }
            }
        }
        if any_set {
            tests.insert(0, self.emit(Test::In(place.clone(), set), span));
        }
        Some(self.any(tests, span))
    }

    /// An expression equal to one of the values, or within one of the ranges.
    fn value_is(&mut self, typed: &Typed, values: &'a [ast::ValueRange], span: Span) -> Option<TestId> {
        let mut tests = Vec::new();
        for value in values {
            match typed.ty {
                Ty::Value(domain) => {
                    let set = self.range_set(domain, value)?;
                    let mut any = Vec::new();
                    for at in (0..128).filter(|at| set & (1u128 << at) != 0) {
                        let right = self.emit_expr(Expr::Value(domain, 1 << at), span);
                        any.push(self.emit(Test::CompareSteps(typed.id, Compare::Equal, right), span));
                    }
                    tests.push(self.any(any, span));
                }
                Ty::Number(_) | Ty::Date => {
                    let low = self.number_value(&value.from, typed.ty)?;
                    match &value.through {
                        None if low.len() == 1 => {
                            tests.push(self.compare_constant(typed, Compare::Equal, low.into_iter().next()?, span));
                        }
                        None => {
                            for one in low {
                                tests.push(self.compare_constant(typed, Compare::Equal, one, span));
                            }
                        }
                        Some(through) => {
                            let high = self.number_value(through, typed.ty)?;
                            let low = low.into_iter().min()?;
                            let high = high.into_iter().max()?;
                            let from = self.compare_constant(typed, Compare::AtLeast, low, span);
                            let to = self.compare_constant(typed, Compare::AtMost, high, span);
                            tests.push(self.all(vec![from, to], span));
                        }
                    }
                }
            }
        }
        Some(self.any(tests, span))
    }

    /// The number or numbers (two systems) a written value means.
    fn number_value(&mut self, value: &'a ast::Value, ty: Ty) -> Option<Vec<Number>> {
        match (value, ty) {
            (ast::Value::Quantity(quantity), Ty::Number(_)) => {
                let mut all = vec![self.measure_as(&quantity.first, Some(ty))?.0];
                if let Some(second) = &quantity.second {
                    all.push(self.measure_as(second, Some(ty))?.0);
                }
                Some(all)
            }
            (ast::Value::Date(date), Ty::Date) => Some(vec![self.date(date)?]),
            (ast::Value::Word(word), Ty::Number(_)) if self.limits.contains_key(word.text.as_str()) => {
                let quantity = &self.limits.get(word.text.as_str()).copied()?.quantity;
                Some(vec![self.measure_as(&quantity.first, Some(ty))?.0])
            }
            (other, _) => {
                let name = self.ty_name(ty);
                self.say(
                    Diagnostic::error(Code::WrongType, format!("a {name} is expected here"))
                        .at(value_span(other), "not one"),
                );
                None
            }
        }
    }
}

/// The direction of a bound as a comparison.
fn comparison(bound: Bound) -> Compare {
    match bound {
        Bound::AtLeast => Compare::AtLeast,
        Bound::AtMost => Compare::AtMost,
        Bound::Exactly => Compare::Equal,
        Bound::MoreThan => Compare::MoreThan,
        Bound::LessThan => Compare::LessThan,
    }
}

/// The steps of a scale that stand in a relation to one of its steps.
fn steps_for(step: ValueSet, bound: Bound, all: ValueSet) -> ValueSet {
    let at = step.trailing_zeros();
    let below = if at == 0 { 0 } else { (1u128 << at) - 1 };
    let set = match bound {
        Bound::AtLeast => !below,
        Bound::AtMost => below | step,
        Bound::Exactly => step,
        Bound::MoreThan => !(below | step),
        Bound::LessThan => below,
    };
    set & all
}
