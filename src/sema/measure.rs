//! How much a condition asks for once all the names in it are spelt out: how deep, how wide, how many factors.
//!
//! Bounds found here keep evaluation from running deep or long whatever a rulebook says; a named condition or expression
//! over a bound is a mistake. Names are measured once, when they are complete, so nothing here runs deep either.

use crate::ir::program::{Expr, ExprId, List, Program, Test, TestId};

/// The deepest a condition may reach through names.
const MOST_DEEP: u32 = 200;
/// The most conditions and expressions one condition may reach through names.
const MOST_WIDE: u64 = 100_000;
/// The most fields one product may multiply.
const MOST_FACTORS: u64 = 64;

/// The measures of a condition or expression.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Size {
    deep: u32,
    wide: u64,
    /// Fields multiplied together: what the digits of a number grow with.
    factors: u64,
}

impl Size {
    /// What is over its bound, in words.
    pub(super) fn too_much(self) -> Option<String> {
        if self.deep > MOST_DEEP {
            return Some(format!("it reaches deeper than {MOST_DEEP} steps through the names it uses"));
        }
        if self.wide > MOST_WIDE {
            return Some(format!("it asks for more than {MOST_WIDE} conditions through the names it uses"));
        }
        (self.factors > MOST_FACTORS).then(|| format!("it multiplies more than {MOST_FACTORS} numbers together"))
    }

    fn under(mut self) -> Size {
        self.deep = self.deep.saturating_add(1);
        self.wide = self.wide.saturating_add(1);
        self
    }

    fn beside(self, other: Size) -> Size {
        Size {
            deep: self.deep.max(other.deep),
            wide: self.wide.saturating_add(other.wide),
            factors: self.factors.max(other.factors),
        }
    }

    /// Two numbers combined into one: their digits may add up.
    fn with(self, other: Size) -> Size {
        Size { factors: self.factors.saturating_add(other.factors), ..self.beside(other) }
    }
}

/// Measures of the named conditions and expressions that are complete, by their numbers.
#[derive(Debug, Clone, Default)]
pub(super) struct Sizes {
    pub(super) kinds: Vec<Size>,
    pub(super) formulas: Vec<Size>,
}

impl Sizes {
    /// Measures a condition.
    pub(super) fn test(&self, program: &Program, id: TestId) -> Size {
        let all = |tests: &[TestId]| tests.iter().fold(Size::default(), |all, t| all.beside(self.test(program, *t)));
        let size = match program.test(id) {
            Test::Always | Test::Never | Test::In(..) | Test::TextIs(..) | Test::IsNone(_) | Test::CompareConst(..) => {
                Size::default()
            }
            Test::Not(inner) => self.test(program, *inner),
            Test::All(inner) | Test::Any(inner) | Test::Reading(_, inner) => all(inner),
            Test::Choose { case, then, otherwise } => all(&[*case, *then, *otherwise]),
            Test::Compare(a, _, b) | Test::CompareSteps(a, _, b) => {
                self.expr(program, *a).beside(self.expr(program, *b))
            }
            Test::IsKind(_, kind) => self.kinds.get(kind.index()).copied().unwrap_or_default().under(),
            Test::Some(list, test) | Test::Every(list, test) => {
                self.list(program, list).beside(self.test(program, *test))
            }
            Test::Count(list, test, _, count) => {
                self.list(program, list).beside(self.test(program, *test)).beside(self.expr(program, *count))
            }
            Test::Different(halves) => halves.iter().fold(Size::default(), |all, (list, test)| {
                all.beside(self.list(program, list)).beside(self.test(program, *test))
            }),
        };
        size.under()
    }

    fn list(&self, program: &Program, list: &List) -> Size {
        list.filter.map_or(Size::default(), |filter| self.test(program, filter))
    }

    /// Measures an expression.
    pub(super) fn expr(&self, program: &Program, id: ExprId) -> Size {
        let size = match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) | Expr::Read(_) => Size { factors: 1, ..Size::default() },
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) | Expr::Beyond(a, b) => {
                self.expr(program, *a).with(self.expr(program, *b))
            }
            Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) => self.expr(program, *a),
            Expr::Count(list) => Size { factors: 1, ..self.list(program, list) },
            Expr::Sum { list, of, .. } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                let of = self.expr(program, *of);
                Size { factors: of.factors, ..self.list(program, list).beside(of) }
            }
            Expr::Lookup(_, keys) => {
                let keys = keys.iter().fold(Size::default(), |all, key| all.beside(self.expr(program, *key)));
                Size { factors: 1, ..keys }
            }
            Expr::Before(a, _) => self.expr(program, *a),
            Expr::Formula(_, formula) => self.formulas.get(formula.index()).copied().unwrap_or_default().under(),
            Expr::Provided { case, then, otherwise } => {
                let values = self.expr(program, *then).beside(self.expr(program, *otherwise));
                Size { factors: values.factors, ..values.beside(self.test(program, *case)) }
            }
            Expr::Larger(a, b) | Expr::Smaller(a, b) => self.expr(program, *a).beside(self.expr(program, *b)),
            Expr::Next(_, _, of) => Size { factors: 1, ..self.expr(program, *of) },
            Expr::FirstRow(row) => {
                let keys = row.keys.iter().chain(&row.column).chain([&row.limit]);
                let keys = keys.fold(Size::default(), |all, key| all.beside(self.expr(program, *key)));
                Size { factors: 1, ..keys }
            }
            Expr::Reading(_, options) => {
                options.iter().fold(Size::default(), |all, option| all.beside(self.expr(program, *option)))
            }
        };
        size.under()
    }
}
