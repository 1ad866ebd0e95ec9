//! Table rows that no look-up can arrive at.
//!
//! A look-up whose key is a fixed value arrives at the rows of that value only, and one whose key cannot be below zero at none
//! below. Every other key may be anything its type allows.

use super::Book;
use super::findings::Findings;
use super::reads::Reader;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::ir::program::{Expr, ExprId, Program, RowKey, RowMode, Table, TableId};
use std::collections::{BTreeMap, BTreeSet};

/// Looks at all tables of a family.
pub(super) fn review(books: &[&Book], findings: &mut Findings) {
    let mut reached: BTreeSet<Span> = BTreeSet::new();
    let mut out: BTreeMap<Span, (String, String)> = BTreeMap::new();
    for book in books {
        let program = &book.program;
        let reads = Reader::book(program);
        for (at, table) in program.tables.iter().enumerate() {
            let Ok(id) = u32::try_from(at).map(TableId) else { continue };
            let sites: Vec<&Vec<ExprId>> =
                reads.lookups.iter().filter(|(t, _)| *t == id).map(|(_, keys)| keys).collect();
            if sites.is_empty() || reads.backwards.contains(&id) {
                reached.extend(table.rows.iter().map(|row| program.origin(row.origin).span));
                continue;
            }
            for row in &table.rows {
                let span = program.origin(row.origin).span;
                let arrives = |keys: &Vec<ExprId>| {
                    let pairs = table.keys.iter().zip(&row.keys).zip(keys);
                    pairs.into_iter().all(|((key, own), given)| may_meet(program, key.mode, own, *given))
                };
                if sites.iter().any(|keys| arrives(keys)) {
                    reached.insert(span);
                } else {
                    out.entry(span).or_insert_with(|| (program.edition.clone(), name(table)));
                }
            }
        }
    }
    for (span, (book, table)) in out {
        if !reached.contains(&span) {
            let diagnostic =
                Diagnostic::warning(Code::RowOutOfReach, format!("nothing can arrive at this row of {table}"))
                    .at(span, "every look-up is for other values")
                    .help("look the table up by the key that was meant, or drop the row");
            findings.add(&book, diagnostic);
        }
    }
}

fn name(table: &Table) -> String {
    format!("table {}", table.address)
}

/// Whether a key can be one of a row's.
fn may_meet(program: &Program, mode: RowMode, row: &RowKey, given: ExprId) -> bool {
    match (program.expr(given), row) {
        (Expr::Value(_, set), RowKey::Set(own)) if mode == RowMode::Exact => set & own != 0,
        (Expr::Number(number), RowKey::Numbers(ranges)) if mode == RowMode::Exact => {
            ranges.iter().any(|(low, high)| {
                low.as_ref().is_none_or(|low| low <= number) && high.as_ref().is_none_or(|high| number <= high)
            })
        }
        (Expr::Number(number), RowKey::Over(low)) if mode == RowMode::Exact => number > low,
        (Expr::Read(place), RowKey::Numbers(ranges)) => {
            let thing = program.schema.things.get(usize::from(place.object.thing.0));
            let field = thing.and_then(|t| t.fields.get(usize::from(place.field.0)));
            let never_negative = field.is_some_and(|f| f.never_negative);
            !never_negative
                || ranges.is_empty()
                || ranges.iter().any(|(_, high)| high.as_ref().is_none_or(|high| !high.is_negative()))
        }
        _ => true,
    }
}
