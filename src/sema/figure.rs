//! What a person wants figured beside a book: one expression or some conditions, read as they would be read there.

use super::lower::{Frame, Lower, Side, Ty};
use super::{gather, readings, vocabulary};
use crate::base::source::{SourceId, Sources};
use crate::diag::Diagnostics;
use crate::edition::Composed;
use crate::ir::program::{ExprId, Kind, KindId, Program};
use crate::ir::schema::{FieldType, ThingId};
use crate::syntax::ast::{ExprKind, Figure, Rulebook};

/// What was lowered, in the program that came with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Figured {
    /// An expression and the type of its value.
    Value(ExprId, FieldType),
    /// Conditions, as a kind without a name.
    Holds(KindId),
}

/// Lowers a composed book and beside it what is to be figured of a thing. Nothing is figured where an error was found.
pub fn figure(
    sources: &Sources,
    books: &[(SourceId, &Rulebook)],
    composed: &Composed,
    (family, year): (&str, &str),
    thing: ThingId,
    figure: &Figure,
) -> (Program, Option<Figured>, Diagnostics) {
    let mut diagnostics = Diagnostics::new();
    let gathered = gather::gather(books, composed, family, year, &mut diagnostics);
    let schema = vocabulary::build(&gathered, &mut diagnostics);
    let mut lower = Lower::new(sources, schema, diagnostics);
    lower.program.edition.clone_from(&composed.name);
    lower.reworded = Some(&composed.reworded);
    lower.declare(&gathered);
    lower.lower_all(&gathered);
    lower.frames.push(Frame { var: 0, thing, slot: None });
    let found = match figure {
        Figure::Value(expr) => value(&mut lower, expr, thing),
        Figure::Holds(clauses) => {
            let test = lower.clauses(clauses, Side::Favour);
            Some(holds(&mut lower, test, thing, clauses.span))
        }
    };
    readings::settle(&mut lower.program);
    let found = if lower.diagnostics.has_errors() { None } else { found };
    (lower.program, found, lower.diagnostics)
}

/// A value; a bare word that is none may still be a condition.
fn value<'a>(lower: &mut Lower<'a>, expr: &'a crate::syntax::ast::Expr, thing: ThingId) -> Option<Figured> {
    let before = lower.afresh();
    if let Some(typed) = lower.expr(expr, None) {
        let ty = match typed.ty {
            Ty::Number(dimension) => FieldType::Quantity(dimension),
            Ty::Value(domain) => FieldType::OneOf(domain),
            Ty::Date => FieldType::Date,
        };
        let as_value = lower.afresh();
        lower.diagnostics = before;
        lower.diagnostics.extend(as_value);
        return Some(Figured::Value(typed.id, ty));
    }
    let as_value = lower.afresh();
    let ExprKind::Path(path) = &expr.kind else {
        lower.diagnostics = before;
        lower.diagnostics.extend(as_value);
        return None;
    };
    let test = lower.bare(path, Side::Favour);
    let as_condition = lower.afresh();
    lower.diagnostics = before;
    if as_condition.is_empty() {
        return Some(holds(lower, test, thing, expr.span));
    }
    lower.diagnostics.extend(if path.words.len() == 1 { as_value } else { as_condition });
    None
}

fn holds(
    lower: &mut Lower,
    test: crate::ir::program::TestId,
    thing: ThingId,
    span: crate::base::source::Span,
) -> Figured {
    let origin = lower.origin(span, &[]);
    let id = KindId(u32::try_from(lower.program.kinds.len()).unwrap_or(u32::MAX));
    let name = "what is asked".to_string();
    lower.program.kinds.push(Kind { name, thing, cite: String::new(), test, origin, readings: Box::default() });
    Figured::Holds(id)
}
