//! What a text says, apart from where it stands: to tell whether two layouts say the same.

use super::letters::{Letters, Rule};
use super::{guard, stack};
use crate::base::source::SourceId;
use pest::iterators::Pair;
use pest::{Parser, Token};

/// The syntax of a text without places, line ends and the number of blanks. Trees are built from nothing else, so those of two
/// texts with the same words and equal outlines differ in their spans only.
#[derive(Debug, PartialEq, Eq)]
pub struct Outline {
    /// What begins and, without a text, what ends; leaves with what they hold.
    steps: Vec<(Rule, Option<String>)>,
}

impl Outline {
    /// The outline of a rulebook; none if it does not read.
    pub fn of_rulebook(text: &str) -> Option<Outline> {
        Outline::of(Rule::rulebook, text)
    }

    /// The outline of native facts; none if they do not read.
    pub fn of_facts(text: &str) -> Option<Outline> {
        Outline::of(Rule::facts, text)
    }

    fn of(rule: Rule, text: &str) -> Option<Outline> {
        let guard::Guarded { clean, depth, diagnostics, .. } = guard::scan(SourceId(0), text);
        let clean = clean.filter(|_| !diagnostics.has_errors())?;
        let steps = stack::enough(depth, || {
            let pairs = Letters::parse(rule, &clean).ok()?;
            Some(pairs.flat_map(|pair| steps(pair, &clean)).collect())
        })??;
        Some(Outline { steps })
    }
}

fn steps(pair: Pair<'_, Rule>, clean: &str) -> Vec<(Rule, Option<String>)> {
    let mut steps = Vec::new();
    let mut open = None;
    for token in pair.tokens() {
        match token {
            Token::Start { rule, pos } => {
                steps.push((rule, Some(String::new())));
                open = Some(pos.pos());
            }
            Token::End { rule, pos } => match (open.take(), steps.last_mut()) {
                (Some(from), Some((_, text))) => *text = Some(leaf(rule, clean.get(from..pos.pos()).unwrap_or(""))),
                _ => steps.push((rule, None)),
            },
        }
    }
    steps
}

/// What a leaf holds: a quoted text as it is, anything else with single blanks.
fn leaf(rule: Rule, text: &str) -> String {
    if rule == Rule::text_body { text.to_string() } else { text.split_ascii_whitespace().collect::<Vec<_>>().join(" ") }
}
