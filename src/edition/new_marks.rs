//! The marks that new content brings along, for the record of what was done.

use crate::syntax::ast::*;

/// All marks of what a change puts in.
pub(super) fn of_content(kind: &ChangeKind) -> Vec<Mark> {
    let mut marks = Vec::new();
    match kind {
        ChangeKind::Insert { content, .. } | ChangeKind::Replace { content, .. } => match content {
            Content::Body(body) => in_body(body, &mut marks),
            Content::Items(items) => in_items(items, &mut marks),
        },
        ChangeKind::AddAfter { section, .. } => in_body(&section.body, &mut marks),
        ChangeKind::Added(item) => in_item(item, &mut marks),
        ChangeKind::In(_, edits) => {
            for edit in edits {
                if let Edit::AddItem(item) = edit {
                    in_items(&Items { all: vec![item.clone()], span: item.span }, &mut marks);
                }
            }
        }
        ChangeKind::InTable(_, edits) => {
            for edit in edits {
                if let TableEdit::AddRow(row) = edit {
                    marks.extend(row.marks.iter().cloned());
                }
            }
        }
        _ => {}
    }
    marks.dedup();
    marks
}

fn in_item(item: &Item, marks: &mut Vec<Mark>) {
    match item {
        Item::Section(section) => in_body(&section.body, marks),
        Item::Kind(kind) => {
            marks.extend(kind.marks.iter().cloned());
            in_items(&kind.items, marks);
        }
        Item::Reading(reading) => {
            marks.extend(reading.marks.iter().cloned());
            marks.extend(reading.disputed.iter().map(|how| Mark::Disputed(how.clone())));
        }
        Item::Table(table) => {
            marks.extend(table.marks.iter().cloned());
            marks.extend(table.rows.iter().flat_map(|row| row.marks.iter().cloned()));
        }
        Item::Define(Define { marks: own, .. }) | Item::Limit(Limit { marks: own, .. }) => {
            marks.extend(own.iter().cloned());
        }
        Item::Amount(amount) => {
            marks.extend(amount.marks.iter().cloned());
            marks.extend(amount.lines.iter().flat_map(|line| line.marks.iter().cloned()));
        }
        Item::Series(series) => marks.extend(series.marks.iter().cloned()),
        Item::Choice(_)
        | Item::Scale(_)
        | Item::Thing(_)
        | Item::Terms(_)
        | Item::Edition(_)
        | Item::Jurisdiction(_)
        | Item::Beside(_)
        | Item::Changes(_) => {}
    }
}

fn in_body(body: &Body, marks: &mut Vec<Mark>) {
    for statement in &body.statements {
        marks.extend(statement.marks.iter().cloned());
        match &statement.kind {
            StatementKind::Paragraph { body: Some(body), .. } => in_body(body, marks),
            StatementKind::Different(halves) => marks.extend(halves.iter().flat_map(|h| h.marks.iter().cloned())),
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                in_clauses(clauses, marks);
                if let Some(items) = triggers {
                    in_items(items, marks);
                }
            }
            StatementKind::When(clauses)
            | StatementKind::PermitsAs { clauses, .. }
            | StatementKind::PermitsOnly(clauses)
            | StatementKind::Permits(clauses, _) => in_clauses(clauses, marks),
            _ => {}
        }
    }
}

fn in_clauses(clauses: &Clauses, marks: &mut Vec<Mark>) {
    for clause in &clauses.all {
        if let ClauseKind::AnyOf(items) | ClauseKind::AllOf(items) | ClauseKind::NoneOf(items) = &clause.kind {
            in_items(items, marks);
        }
    }
}

fn in_items(items: &Items, marks: &mut Vec<Mark>) {
    for item in &items.all {
        marks.extend(item.marks.iter().cloned());
        in_clauses(&item.clauses, marks);
    }
}
