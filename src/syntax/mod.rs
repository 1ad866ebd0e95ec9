//! Text to syntax tree. The only place that knows pest.
//!
//! [`guard`] scans the text once, the grammar in `grammar/rulebook.pest` cuts it into pairs, and `read_*` build the tree.
//! What the grammar cannot place becomes a `bad_chunk`; each is parsed once more with the rule that was meant, so one run
//! reports every mistake. Nothing is resolved here.

pub mod ast;
pub mod beside;
pub mod guard;
mod jurisdiction;
mod letters;
mod lone;
mod outline;
mod read_amount;
mod read_book;
mod read_changes;
mod read_clause;
mod read_examples;
mod read_facts;
mod read_intended;
mod read_jurisdiction;
mod recover;
mod stack;

pub use guard::{Comment, decode};
pub use lone::{parse_changes, parse_entries, parse_figure};
pub use outline::Outline;

use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use letters::{Letters, Rule};
use pest::Parser;
use pest::iterators::Pairs;

/// A tree and the comments that stood beside it.
#[derive(Debug, Clone, Default)]
pub struct Parsed<T> {
    /// The tree; parts that could not be read are missing from it.
    pub tree: T,
    /// Comments in order.
    pub comments: Vec<Comment>,
}

/// Reads a rulebook. All mistakes are collected.
pub fn parse_rulebook(source: SourceId, text: &str) -> (Parsed<ast::Rulebook>, Diagnostics) {
    whole(source, text, Rule::rulebook, Reader::rulebook)
}

/// Reads native facts. All mistakes are collected.
pub fn parse_facts(source: SourceId, text: &str) -> (Parsed<ast::FactsFile>, Diagnostics) {
    whole(source, text, Rule::facts, Reader::facts)
}

/// Scans a text, cuts it by a rule and builds its tree.
fn whole<T: Default + Send>(
    source: SourceId,
    text: &str,
    rule: Rule,
    build: fn(&mut Reader, &mut Pairs<Rule>) -> T,
) -> (Parsed<T>, Diagnostics) {
    let guard::Guarded { clean, comments, depth, mut diagnostics } = guard::scan(source, text);
    let Some(clean) = clean else { return (Parsed { tree: T::default(), comments }, diagnostics) };
    let read = stack::enough(depth, || match Letters::parse(rule, &clean) {
        Ok(mut pairs) => {
            let mut reader = Reader { source, shift: 0, diagnostics: Diagnostics::new() };
            let tree = build(&mut reader, &mut pairs);
            (tree, reader.diagnostics)
        }
        Err(error) => {
            let mut diagnostics = Diagnostics::new();
            diagnostics.push(recover::explain(source, 0, &clean, rule, &error));
            (T::default(), diagnostics)
        }
    });
    let Some((tree, more)) = read else {
        diagnostics.push(no_room(Span::new(source, 0, 0)));
        return (Parsed { tree: T::default(), comments }, diagnostics);
    };
    diagnostics.extend(more);
    (Parsed { tree, comments }, diagnostics)
}

fn no_room(span: Span) -> Diagnostic {
    Diagnostic::error(Code::TooDeep, "no memory to read a text that nests so deep")
        .at(span, "in this text")
        .help("name inner parts with `kind` or `define` and use the names")
}

/// Reads one value as facts spell it, standing at `offset` of its source.
pub fn parse_fact_value(source: SourceId, offset: usize, text: &str) -> Result<ast::FactValue, Diagnostic> {
    let guard::Guarded { clean, depth, diagnostics, .. } = guard::scan(source, text);
    let whole = Span::new(source, offset, offset + text.len());
    if let Some(mut first) = diagnostics.into_iter().next() {
        first.labels.truncate(1);
        for label in &mut first.labels {
            label.span = whole;
        }
        return Err(first);
    }
    let unread =
        || Diagnostic::error(Code::UnexpectedText, format!("`{text}` is not a value")).at(whole, "in this text");
    let clean = clean.ok_or_else(unread)?;
    let value = stack::enough(depth, || {
        let mut pairs = Letters::parse(Rule::lone_value, &clean)
            .map_err(|error| recover::explain(source, offset, &clean, Rule::fact_value, &error))?;
        let mut reader = Reader { source, shift: offset, diagnostics: Diagnostics::new() };
        Ok(pairs.next().and_then(|p| p.into_inner().next()).and_then(|p| reader.fact_value(p)))
    });
    let value = value.unwrap_or_else(|| Err(no_room(whole)))?;
    value.ok_or_else(unread)
}

/// The stages of [`parse_rulebook`] one by one, for measuring only.
#[doc(hidden)]
pub mod stages {
    use super::{Letters, Parser, Rule, guard};
    use crate::base::source::SourceId;

    /// The linear scan alone: the text for the grammar, or nothing if it must not be parsed.
    pub fn scan(text: &str) -> Option<String> {
        guard::scan(SourceId(0), text).clean
    }

    /// The grammar alone, over a scanned text: how many bytes it placed, or nothing if it failed.
    pub fn cut(clean: &str) -> Option<usize> {
        Letters::parse(Rule::rulebook, clean).ok().map(|pairs| pairs.as_str().len())
    }
}

/// Builds trees from pairs. Offsets of pairs are shifted by `shift`.
struct Reader {
    source: SourceId,
    shift: usize,
    diagnostics: Diagnostics,
}
