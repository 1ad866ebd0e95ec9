//! `also when` becomes part of the scope it stands beside: it holds where the conditions of `when` hold, or any of these.

use crate::syntax::ast::*;

/// Joins the scopes of every section, paragraph by paragraph.
pub(super) fn fold(items: &mut [Item]) {
    for item in items {
        if let Item::Section(section) = item {
            fold_body(&mut section.body);
        }
    }
}

fn fold_body(body: &mut Body) {
    for statement in &mut body.statements {
        if let StatementKind::Paragraph { body: Some(inner), .. } = &mut statement.kind {
            fold_body(inner);
        }
    }
    let also = |s: &Statement| matches!(s.kind, StatementKind::AlsoWhen(_));
    let first = body.statements.iter().position(|s| matches!(s.kind, StatementKind::When(_)));
    let Some(first) = first.filter(|_| body.statements.iter().any(also)) else { return };
    let mut main: Option<Clauses> = None;
    let mut cases = Vec::new();
    let mut marks = Vec::new();
    for statement in &body.statements {
        match &statement.kind {
            StatementKind::When(clauses) => {
                marks.extend(statement.marks.iter().cloned());
                match &mut main {
                    Some(main) => main.all.extend(clauses.all.iter().cloned()),
                    None => main = Some(clauses.clone()),
                }
            }
            StatementKind::AlsoWhen(clauses) => cases.push(line(clauses.clone(), statement.marks.clone())),
            _ => {}
        }
    }
    let Some(main) = main else { return };
    let span = main.span;
    let mut all = vec![line(main, marks.clone())];
    all.extend(cases);
    let any = Clause { negated: false, kind: ClauseKind::AnyOf(Items { all, span }), span };
    if let Some(statement) = body.statements.get_mut(first) {
        statement.kind = StatementKind::When(Clauses { all: vec![any], span });
        statement.marks = marks;
    }
    let mut at = 0;
    body.statements.retain(|statement| {
        at += 1;
        at - 1 == first || !matches!(statement.kind, StatementKind::When(_) | StatementKind::AlsoWhen(_))
    });
}

fn line(clauses: Clauses, marks: Vec<Mark>) -> ListItem {
    let span = clauses.span;
    ListItem { label: None, name: None, clauses, marks, span }
}
