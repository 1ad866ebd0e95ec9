//! Findings that are said to be intended at their place, and intentions that stand for nothing.

use super::findings::Found;
use super::{Finding, Intended, Review};
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, nearest};
use crate::syntax::ast::Rulebook;
use std::collections::BTreeSet;

/// Takes out what is intended. `whole` if all books were looked at, so that what stands for nothing can be told.
pub(super) fn settle(found: Vec<Found>, trees: &[(SourceId, &Rulebook)], whole: bool) -> Review {
    let intentions: Vec<_> = trees.iter().flat_map(|(_, tree)| &tree.intentions).collect();
    let mut needed: BTreeSet<usize> = BTreeSet::new();
    let mut review = Review::default();
    for Found { diagnostic, books } in found {
        let finding = Finding { diagnostic, books };
        let place = finding.diagnostic.place();
        let stands = intentions.iter().enumerate().find(|(_, intention)| {
            intention.code.text == finding.diagnostic.code.as_str()
                && place.is_some_and(|p| within(p, intention.covers))
        });
        match stands {
            Some((at, intention)) => {
                needed.insert(at);
                review.intended.push(Intended {
                    finding,
                    reason: intention.reason.text.to_string(),
                    span: intention.span,
                });
            }
            None => review.findings.push(finding),
        }
    }
    for (at, intention) in intentions.iter().enumerate() {
        let code = intention.code.text.as_str();
        let known = Code::parse(code).filter(|code| code.is_finding() && *code != Code::IntendedIdle);
        let (title, help) = match known {
            None => {
                let all = Code::all().iter().filter(|code| code.is_finding()).map(|code| code.as_str());
                let near = nearest(code, all).map(|near| format!("did you mean {near}? "));
                (format!("there is no finding {code}"), near.unwrap_or_default() + "`whereas why` lists all codes")
            }
            Some(_) if whole && !needed.contains(&at) => {
                (format!("nothing is found here that {code} stands for"), "drop it".to_string())
            }
            Some(_) if intention.reason.text.trim().is_empty() => {
                (format!("no reason is given why {code} is intended"), "say why, in a few words".to_string())
            }
            Some(_) => continue,
        };
        let diagnostic = Diagnostic::advice(Code::IntendedIdle, title).at(intention.span, "here").help(help);
        review.findings.push(Finding { diagnostic, books: Vec::new() });
    }
    review
}

fn within(place: Span, covers: Span) -> bool {
    place.source == covers.source && place.start >= covers.start && place.start < covers.end
}
