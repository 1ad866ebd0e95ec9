//! `intended F0102 "…"`: which findings of a review are as they should be, and what each stands for.
//!
//! It is written where a source mark is written but is none: nothing but a review reads it. So it is gathered by a walk of
//! its own over the pairs of a text that has any, and the tree does not repeat it line by line.

use super::Reader;
use super::ast::{Intention, Name};
use super::letters::Rule;
use super::read_clause::P;
use crate::base::source::Span;
use pest::iterators::Pairs;

impl Reader {
    /// All of a text, in order.
    pub(super) fn intentions(&self, pairs: &Pairs<Rule>) -> Vec<Intention> {
        let mut found = Vec::new();
        if pairs.as_str().contains("intended") {
            pairs.clone().for_each(|pair| self.within(pair, Span::default(), &mut found));
        }
        found
    }

    /// Those within a pair. `around` is what a mark here ends, or stands in.
    fn within(&self, pair: P, around: Span, found: &mut Vec<Intention>) {
        let span = self.span(&pair);
        let around = match pair.as_rule() {
            Rule::intended => {
                let mut inner = pair.into_inner();
                if let (Some(code), Some(text)) = (inner.next(), inner.next()) {
                    let reason = Name { text: text.as_str().trim_matches('"').into(), span: self.span(&text) };
                    found.push(Intention { code: self.name(&code), reason, covers: around, span });
                }
                return;
            }
            Rule::marks | Rule::mark | Rule::passed | Rule::mark_line | Rule::body | Rule::whole_body => around,
            _ => span,
        };
        pair.into_inner().for_each(|inner| self.within(inner, around, found));
    }
}
