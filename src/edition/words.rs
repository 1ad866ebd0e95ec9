//! Every word and quantity that conditions are made of, and clauses told anew where one of them changed.

use super::site::Site;
use crate::base::source::Span;
use crate::format::line;
use crate::syntax::ast::*;
use std::collections::BTreeMap;

/// A word or quantity within a condition.
pub(super) enum Leaf<'a> {
    /// A field, a kind, a definition, an owner, or a bare value.
    Word(&'a mut Name),
    /// A word after `is`, in a table's cell or key.
    Value(&'a mut Name),
    /// A quantity.
    Quantity(&'a mut Quantity),
}

/// Walks through conditions; what it calls says whether it changed something.
pub(super) struct Words<'w> {
    /// Sees each leaf.
    pub(super) leaf: &'w mut dyn FnMut(Leaf<'_>) -> bool,
    /// A value that is read as a kind: the value and the kind's name.
    pub(super) as_kind: Option<(String, String)>,
    /// New wording of clauses, by the place they keep; none: the old words stand.
    pub(super) reworded: Option<&'w mut BTreeMap<Span, String>>,
    /// How many leaves changed.
    pub(super) changed: usize,
}

impl Words<'_> {
    fn see(&mut self, leaf: Leaf<'_>) {
        if (self.leaf)(leaf) {
            self.changed += 1;
        }
    }

    pub(super) fn site(&mut self, site: Site<'_>) {
        match site {
            Site::Section(section) => self.body(&mut section.body),
            Site::Paragraph(statement) | Site::Exception(statement) => self.statement(&mut statement.kind),
            Site::Item(item) => self.clauses(&mut item.clauses),
            Site::Half(half) => self.half(half),
            Site::Kind(kind) => self.items(&mut kind.items),
        }
    }

    pub(super) fn item(&mut self, item: &mut Item) {
        match item {
            Item::Section(section) => self.body(&mut section.body),
            Item::Kind(kind) => self.items(&mut kind.items),
            Item::Define(define) => self.expr(&mut define.expr),
            Item::Reading(reading) => {
                for option in &mut reading.options {
                    if let ReadingSays::Items(items) = &mut option.says {
                        self.items(items);
                    }
                }
            }
            Item::Limit(limit) => self.see(Leaf::Quantity(&mut limit.quantity)),
            Item::Table(table) => {
                for row in &mut table.rows {
                    row.keys.iter_mut().for_each(|key| self.cell_key(key));
                    row.cells.iter_mut().filter_map(|(cell, _)| cell.as_mut()).for_each(|cell| self.value(cell));
                }
                table.columns.iter_mut().for_each(|(key, _)| self.cell_key(key));
            }
            Item::Terms(_)
            | Item::Edition(_)
            | Item::Choice(_)
            | Item::Scale(_)
            | Item::Thing(_)
            | Item::Changes(_) => {}
        }
    }

    fn cell_key(&mut self, key: &mut CellKey) {
        match key {
            CellKey::Values(values) => self.values(values),
            CellKey::UpTo(value) | CellKey::Over(value) => self.value(value),
        }
    }

    pub(super) fn body(&mut self, body: &mut Body) {
        body.statements.iter_mut().for_each(|s| self.statement(&mut s.kind));
    }

    fn half(&mut self, half: &mut Half) {
        if let Some(kind) = &mut half.kind {
            self.see(Leaf::Word(kind));
        }
        if let Some(clauses) = &mut half.clauses {
            self.clauses(clauses);
        }
    }

    pub(super) fn statement(&mut self, kind: &mut StatementKind) {
        match kind {
            StatementKind::Paragraph { body: Some(body), .. } => self.body(body),
            StatementKind::When(clauses) | StatementKind::PermitsOnly(clauses) | StatementKind::Permits(clauses, _) => {
                self.clauses(clauses);
            }
            StatementKind::Different(halves) => halves.iter_mut().for_each(|half| self.half(half)),
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                self.clauses(clauses);
                if let Some(triggers) = triggers {
                    self.items(triggers);
                }
            }
            StatementKind::PermitsAs { clauses, .. } => self.clauses(clauses),
            StatementKind::IfProvided(path, clauses) => {
                self.path(path);
                self.clauses(clauses);
            }
            StatementKind::Unless(_, case, alternative) => {
                self.clauses(case);
                if let Some(Enough::Clauses(clauses)) = alternative {
                    self.clauses(clauses);
                }
            }
            StatementKind::Exception(_, case, instead) | StatementKind::Modifies(_, case, instead) => {
                self.clauses(case);
                self.clauses(instead);
            }
            StatementKind::Waives(_, Some(case)) => self.clauses(case),
            StatementKind::Tally(_, list, filter) => {
                self.list(list);
                if let Some(filter) = filter {
                    self.clauses(filter);
                }
            }
            StatementKind::Marks
            | StatementKind::Paragraph { body: None, .. }
            | StatementKind::Governs { .. }
            | StatementKind::Notes(_)
            | StatementKind::Waives(_, None) => {}
        }
    }

    pub(super) fn items(&mut self, items: &mut Items) {
        items.all.iter_mut().for_each(|item| self.clauses(&mut item.clauses));
    }

    pub(super) fn clauses(&mut self, clauses: &mut Clauses) {
        let before = self.changed;
        clauses.all.iter_mut().for_each(|clause| self.clause(clause));
        if self.changed != before
            && let Some(reworded) = &mut self.reworded
        {
            reworded.insert(clauses.span, line::clauses(clauses));
        }
    }

    fn clause(&mut self, clause: &mut Clause) {
        let before = self.changed;
        self.value_as_kind(clause);
        match &mut clause.kind {
            ClauseKind::AnyOf(list) | ClauseKind::AllOf(list) | ClauseKind::NoneOf(list) => self.items(list),
            ClauseKind::If(case, then) => {
                self.clauses(case);
                self.clauses(then);
            }
            ClauseKind::Quantified { quantifier, list, filter, consequence, predicate } => {
                if let Quantifier::Bound(_, count) = quantifier {
                    self.expr(count);
                }
                self.list(list);
                for inner in [filter, consequence].into_iter().flatten() {
                    self.clauses(inner);
                }
                if let Some(predicate) = predicate {
                    self.predicate(predicate);
                }
            }
            ClauseKind::Dated(..) => {}
            ClauseKind::Compare(expr, predicate) => {
                self.expr(expr);
                if let Some(predicate) = predicate {
                    self.predicate(predicate);
                }
            }
        }
        if self.changed != before
            && let Some(reworded) = &mut self.reworded
        {
            reworded.insert(clause.span, line::clause(clause));
        }
    }

    /// `room is kitchen or laundry` where `kitchen` is now a kind: the kind, or `room is laundry`.
    fn value_as_kind(&mut self, clause: &mut Clause) {
        let Some((value, kind)) = self.as_kind.clone() else { return };
        let ClauseKind::Compare(Expr { kind: ExprKind::Path(path), .. }, Some(predicate)) = &clause.kind else {
            return;
        };
        let (PredicateKind::Is(values) | PredicateKind::IsNot(values)) = &predicate.kind else { return };
        let is_it = |range: &ValueRange| matches!(&range.from, Value::Word(word) if word.text == value);
        if path.words.len() != 1 || path.from.is_some() || !values.iter().any(is_it) {
            return;
        }
        let span = clause.span;
        let rest: Vec<ValueRange> = values.iter().filter(|range| !is_it(range)).cloned().collect();
        let word = Name { text: kind.as_str().into(), span };
        let bare = Path { words: vec![word], from: None, of: path.of.clone(), span };
        let negated = matches!(predicate.kind, PredicateKind::IsNot(_));
        let is_kind = ClauseKind::Compare(Expr { kind: ExprKind::Path(bare), span }, None);
        let kind = if rest.is_empty() {
            is_kind
        } else {
            let subject = Expr { kind: ExprKind::Path(path.clone()), span };
            let left = ClauseKind::Compare(subject, Some(Predicate { kind: PredicateKind::Is(rest), span }));
            let line = |kind| ListItem {
                label: None,
                name: None,
                clauses: Clauses { all: vec![Clause { negated: false, kind, span }], span },
                marks: Vec::new(),
                span,
            };
            ClauseKind::AnyOf(Items { all: vec![line(left), line(is_kind)], span })
        };
        clause.kind = kind;
        clause.negated ^= negated;
        self.changed += 1;
    }

    fn predicate(&mut self, predicate: &mut Predicate) {
        match &mut predicate.kind {
            PredicateKind::Is(values) | PredicateKind::IsNot(values) => self.values(values),
            PredicateKind::Bound(_, expr) => self.expr(expr),
            PredicateKind::Passes(words) | PredicateKind::PassesNot(words) => {
                words.iter_mut().for_each(|word| self.see(Leaf::Value(word)));
            }
            PredicateKind::Dated(..) => {}
        }
    }

    fn values(&mut self, values: &mut [ValueRange]) {
        for range in values {
            self.value(&mut range.from);
            if let Some(through) = &mut range.through {
                self.value(through);
            }
        }
    }

    fn value(&mut self, value: &mut Value) {
        match value {
            Value::Word(name) | Value::Worded(name) => self.see(Leaf::Value(name)),
            Value::Quantity(quantity) => self.see(Leaf::Quantity(quantity)),
            Value::Date(_) | Value::Text(_) | Value::None(_) => {}
        }
    }

    fn path(&mut self, path: &mut Path) {
        let Path { words, from, of, .. } = path;
        words.iter_mut().chain(from.as_mut()).chain(of).for_each(|word| self.see(Leaf::Word(word)));
    }

    fn list(&mut self, list: &mut ListRef) {
        let ListRef { words, of, .. } = list;
        words.iter_mut().chain(of).for_each(|word| self.see(Leaf::Word(word)));
    }

    fn expr(&mut self, expr: &mut Expr) {
        match &mut expr.kind {
            ExprKind::Quantity(quantity) => self.see(Leaf::Quantity(quantity)),
            ExprKind::Worded(name) => self.see(Leaf::Value(name)),
            ExprKind::Date(_) => {}
            ExprKind::Path(path) => self.path(path),
            ExprKind::Lookup { keys, .. } => keys.iter_mut().for_each(|key| self.expr(key)),
            ExprKind::Fold { field, list, filter, .. } => {
                if let Some(field) = field {
                    self.path(field);
                }
                self.list(list);
                if let Some(filter) = filter {
                    self.clauses(filter);
                }
            }
            ExprKind::Binary(_, left, right) | ExprKind::Beyond(left, right) | ExprKind::PerOrFraction(left, right) => {
                self.expr(left);
                self.expr(right);
            }
            ExprKind::Rounded(inner, _) => self.expr(inner),
            ExprKind::Clauses(clauses) => self.clauses(clauses),
        }
    }
}
