//! Changes within a table: cells and rows.

use super::apply::Work;
use crate::diag::{Code, Diagnostic};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    pub(super) fn table(&mut self, address: &Address, edit: &TableEdit, change: &Change) {
        let key = format!("table {}", address.text);
        let at = self.book.items.iter().position(|i| matches!(i, Item::Table(t) if t.address.text == address.text));
        let Some(Item::Table(table)) = at.and_then(|at| self.book.items.get_mut(at)) else {
            let title = format!("there is no {key} in {}", self.book.name);
            self.say(Diagnostic::error(Code::NoSuchTarget, title).at(address.span, "not there"));
            return;
        };
        let said = |keys: &[CellKey]| keys.iter().map(line::cell_key).collect::<Vec<_>>().join(", ");
        let what = match edit {
            TableEdit::AddRow(row) => {
                let at = table.rows.iter().position(|own| first_number(own) > first_number(row));
                table.rows.insert(at.unwrap_or(table.rows.len()), row.clone());
                format!("added row {}", said(&row.keys))
            }
            TableEdit::StrikeRow(keys, span) => {
                let wanted = said(keys);
                let before = table.rows.len();
                table.rows.retain(|row| said(&row.keys) != wanted);
                if table.rows.len() == before {
                    let title = format!("{key} has no row {wanted}");
                    self.say(Diagnostic::error(Code::NoSuchTarget, title).at(*span, "nothing to strike"));
                    return;
                }
                format!("struck row {wanted}")
            }
            TableEdit::CellWas { keys, old, new, span } => {
                let rows = table.by.len();
                let (row_keys, column_keys) = keys.split_at(rows.min(keys.len()));
                let wanted = said(row_keys);
                let column = match column_keys.first() {
                    Some(column) => {
                        table.columns.iter().position(|(own, _)| line::cell_key(own) == line::cell_key(column))
                    }
                    None => Some(0),
                };
                let row = table.rows.iter_mut().find(|row| said(&row.keys) == wanted);
                let Some((cell, place)) = row.zip(column).and_then(|(row, column)| row.cells.get_mut(column)) else {
                    let title = format!("{key} has no cell at {}", said(keys));
                    self.say(Diagnostic::error(Code::NoSuchTarget, title).at(*span, "not there"));
                    return;
                };
                if line::cell(cell.as_ref()) != line::cell(old.as_ref()) {
                    let place = (*place, format!("says {}", line::cell(cell.as_ref())));
                    let title = format!("{key} says something else at {}", said(keys));
                    self.mismatch(*span, title, &line::cell(old.as_ref()), Some(place));
                    return;
                }
                cell.clone_from(new);
                format!("{} was {}, now {}", said(keys), line::cell(old.as_ref()), line::cell(new.as_ref()))
            }
        };
        self.event(&key, what, change);
    }
}

fn first_number(row: &TableRow) -> Option<crate::base::number::Number> {
    match row.keys.first()? {
        CellKey::Values(values) => match &values.first()?.from {
            Value::Quantity(quantity) => crate::sema::measured(&quantity.first),
            _ => None,
        },
        CellKey::UpTo(Value::Quantity(quantity)) | CellKey::Over(Value::Quantity(quantity)) => {
            crate::sema::measured(&quantity.first)
        }
        _ => None,
    }
}
