//! Which readings each kind and duty depends on, directly or through others.

use crate::ir::program::{Expr, ExprId, FormulaId, KindId, List, Program, ReadingId, Test, TestId};
use std::collections::{BTreeMap, BTreeSet};

struct Walk<'p> {
    program: &'p Program,
    kinds: BTreeMap<KindId, BTreeSet<ReadingId>>,
    formulas: BTreeMap<FormulaId, BTreeSet<ReadingId>>,
}

/// Fills `readings` of all kinds and duties.
pub(super) fn settle(program: &mut Program) {
    let mut walk = Walk { program, kinds: BTreeMap::new(), formulas: BTreeMap::new() };
    let mut kinds = Vec::new();
    for at in 0..program.kinds.len() {
        let id = KindId(u32::try_from(at).unwrap_or(u32::MAX));
        kinds.push(walk.kind(id));
    }
    let mut duties = Vec::new();
    for duty in &program.duties {
        let mut found = BTreeSet::new();
        let reliefs = duty.reliefs.iter().map(|r| r.test);
        for test in [duty.applies, duty.asks].into_iter().chain(reliefs) {
            walk.test(test, &mut found);
        }
        duties.push(found);
    }
    for (kind, found) in program.kinds.iter_mut().zip(kinds) {
        kind.readings = found.into_iter().collect();
    }
    for (duty, found) in program.duties.iter_mut().zip(duties) {
        duty.readings = found.into_iter().collect();
    }
}

impl Walk<'_> {
    fn kind(&mut self, id: KindId) -> BTreeSet<ReadingId> {
        if let Some(known) = self.kinds.get(&id) {
            return known.clone();
        }
        // Kinds are acyclic once lowered without error; with an error nothing runs, so stopping short is harmless.
        self.kinds.insert(id, BTreeSet::new());
        let mut found = BTreeSet::new();
        if let Some(kind) = self.program.kinds.get(id.index()) {
            self.test(kind.test, &mut found);
        }
        self.kinds.insert(id, found.clone());
        found
    }

    fn formula(&mut self, id: FormulaId) -> BTreeSet<ReadingId> {
        if let Some(known) = self.formulas.get(&id) {
            return known.clone();
        }
        self.formulas.insert(id, BTreeSet::new());
        let mut found = BTreeSet::new();
        if let Some(formula) = self.program.formulas.get(id.index()) {
            self.expr(formula.expr, &mut found);
        }
        self.formulas.insert(id, found.clone());
        found
    }

    fn list(&mut self, list: &List, found: &mut BTreeSet<ReadingId>) {
        if let Some(filter) = list.filter {
            self.test(filter, found);
        }
    }

    fn test(&mut self, id: TestId, found: &mut BTreeSet<ReadingId>) {
        let program = self.program;
        match program.test(id) {
            Test::Always | Test::Never | Test::In(..) | Test::TextIs(..) | Test::IsNone(_) | Test::CompareConst(..) => {
            }
            Test::Not(inner) => self.test(*inner, found),
            Test::All(inner) | Test::Any(inner) => inner.iter().for_each(|t| self.test(*t, found)),
            Test::Choose { case, then, otherwise } => {
                [case, then, otherwise].into_iter().for_each(|t| self.test(*t, found));
            }
            Test::Compare(a, _, b) | Test::CompareSteps(a, _, b) => {
                self.expr(*a, found);
                self.expr(*b, found);
            }
            Test::IsKind(_, kind) => found.extend(self.kind(*kind)),
            Test::Some(list, test) | Test::Every(list, test) => {
                self.list(list, found);
                self.test(*test, found);
            }
            Test::Count(list, test, _, count) => {
                self.list(list, found);
                self.test(*test, found);
                self.expr(*count, found);
            }
            Test::Different(halves) => {
                for (list, test) in halves {
                    self.list(list, found);
                    self.test(*test, found);
                }
            }
            Test::Reading(reading, options) => {
                found.insert(*reading);
                options.iter().for_each(|t| self.test(*t, found));
            }
        }
    }

    fn expr(&mut self, id: ExprId, found: &mut BTreeSet<ReadingId>) {
        let program = self.program;
        match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) | Expr::Read(_) => {}
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) | Expr::Beyond(a, b) => {
                self.expr(*a, found);
                self.expr(*b, found);
            }
            Expr::Before(a, _) | Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) => {
                self.expr(*a, found)
            }
            Expr::Count(list) => self.list(list, found),
            Expr::Sum { list, of, .. } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                self.list(list, found);
                self.expr(*of, found);
            }
            Expr::Lookup(_, keys) => keys.iter().for_each(|k| self.expr(*k, found)),
            Expr::Formula(_, formula) => found.extend(self.formula(*formula)),
            Expr::Provided { case, then, otherwise } => {
                self.test(*case, found);
                self.expr(*then, found);
                self.expr(*otherwise, found);
            }
            Expr::Larger(a, b) | Expr::Smaller(a, b) => {
                self.expr(*a, found);
                self.expr(*b, found);
            }
            Expr::Next(_, _, of) => self.expr(*of, found),
            Expr::FirstRow(row) => {
                row.keys.iter().chain(&row.column).for_each(|k| self.expr(*k, found));
                self.expr(row.limit, found);
            }
            Expr::Reading(reading, options) => {
                found.insert(*reading);
                options.iter().for_each(|o| self.expr(*o, found));
            }
        }
    }
}
