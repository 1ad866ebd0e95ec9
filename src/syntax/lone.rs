//! Single lines, as a trial takes them: entries of facts, lines of an amendment, and what is to be figured.
//!
//! Offsets are those of the text handed in: a caller that wants only part of a line read blanks the rest of it.

use super::letters::{Letters, Rule};
use super::{Reader, ast, guard, recover};
use crate::base::source::SourceId;
use crate::diag::Diagnostics;
use pest::Parser;
use pest::iterators::Pair;

/// Reads entries as they stand between braces in facts: `overcurrent: 20 A, volts: 120 V`. All mistakes are collected.
pub fn parse_entries(source: SourceId, text: &str) -> (Vec<ast::Entry>, Diagnostics) {
    let read = |reader: &mut Reader, pair: Pair<Rule>| {
        pair.into_inner().filter(|p| p.as_rule() == Rule::entry).filter_map(|p| reader.entry(p)).collect()
    };
    lone(source, text, Rule::lone_entries, read)
}

/// Reads lines as they stand in an amendment: `in 210.8(A): volts was 125 V, now 250 V`. All mistakes are collected.
pub fn parse_changes(source: SourceId, text: &str) -> (Vec<ast::Change>, Diagnostics) {
    let read =
        |reader: &mut Reader, pair: Pair<Rule>| pair.into_inner().filter_map(|p| reader.change_line(p)).collect();
    lone(source, text, Rule::lone_changes, read)
}

/// Reads an expression or conditions. All mistakes are collected.
pub fn parse_figure(source: SourceId, text: &str) -> (Option<ast::Figure>, Diagnostics) {
    let read = |reader: &mut Reader, pair: Pair<Rule>| {
        let mut inner = pair.into_inner();
        let clauses = reader.clauses(inner.next()?)?;
        let filter = inner.next().filter(|p| p.as_rule() == Rule::where_part).and_then(|p| reader.where_part(p));
        Some(match (super::read_clause::single(clauses), filter) {
            (Ok(expr), None) => ast::Figure::Value(expr),
            (Ok(expr), Some(filter)) => ast::Figure::Value(reader.narrowed(expr, filter)?),
            (Err(clauses), _) => ast::Figure::Holds(clauses),
        })
    };
    lone(source, text, Rule::lone_figure, read)
}

fn lone<T: Default>(
    source: SourceId,
    text: &str,
    rule: Rule,
    read: impl FnOnce(&mut Reader, Pair<Rule>) -> T,
) -> (T, Diagnostics) {
    let guard::Guarded { clean, mut diagnostics, .. } = guard::scan(source, text);
    let Some(clean) = clean else { return (T::default(), diagnostics) };
    match Letters::parse(rule, &clean) {
        Ok(mut pairs) => {
            let mut reader = Reader { source, shift: 0, diagnostics: Diagnostics::new() };
            let value = pairs.next().map(|pair| read(&mut reader, pair)).unwrap_or_default();
            diagnostics.extend(reader.diagnostics);
            (value, diagnostics)
        }
        Err(error) => {
            let meant = match rule {
                Rule::lone_entries => Rule::entry,
                Rule::lone_figure => Rule::expr,
                other => other,
            };
            diagnostics.push(recover::explain(source, 0, &clean, meant, &error));
            (T::default(), diagnostics)
        }
    }
}
