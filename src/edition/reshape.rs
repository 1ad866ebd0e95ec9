//! What the changes of shape share: where a part stands, what it applies to, what excepts from it.

use crate::format::line;
use crate::syntax::ast::*;

/// How the lines of a list are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Joined {
    Any,
    All,
}

/// The number around a part, and its own last label: `8(A)(2)` is `8(A)` and `2`; a section stands in nothing.
pub(super) fn parent(number: &str) -> (String, String) {
    match number.strip_suffix(')').and_then(|inner| inner.rsplit_once('(')) {
        Some((above, label)) => (above.to_string(), label.to_string()),
        None => (String::new(), number.to_string()),
    }
}

/// A line `governs` or `when` in words, to compare.
pub(super) fn says(statement: &Statement) -> String {
    match &statement.kind {
        StatementKind::Governs { thing, owner } => {
            format!("governs {} {}", thing.text, owner.as_ref().map_or("", |o| o.text.as_str()))
        }
        StatementKind::When(clauses) => format!("when {}", line::clauses(clauses)),
        _ => String::new(),
    }
}

/// Binds exceptions that named one item to others instead. `depth` labels lead to the list.
pub(super) fn rebind(body: &mut Body, label: &str, depth: usize, to: &[Vec<Name>]) {
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => {
                let mut all: Vec<Vec<Name>> = Vec::new();
                for run in &head.to {
                    let own = run.len() <= depth + 1 && run.last().is_some_and(|l| l.text == label);
                    let new = match own {
                        true => {
                            to.iter().map(|last| run[..run.len() - 1].iter().chain(last).cloned().collect()).collect()
                        }
                        false => vec![run.clone()],
                    };
                    all.extend(new);
                }
                all.dedup_by_key(|run| line::labels(run));
                head.to = all;
            }
            StatementKind::Paragraph { body: Some(inner), .. } => rebind(inner, label, depth, to),
            _ => {}
        }
    }
}
