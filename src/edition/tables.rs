//! Changes within a table: cells and rows.

use super::apply::Work;
use crate::diag::{Code, Diagnostic, nearest};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    fn table_at(&mut self, address: &Address) -> Option<usize> {
        let at = self.book.items.iter().position(|i| matches!(i, Item::Table(t) if t.address.text == address.text));
        if at.is_none() {
            let title = format!("there is no table {} in {}", address.text, self.book.name);
            let known: Vec<String> = self
                .book
                .items
                .iter()
                .filter_map(|item| match item {
                    Item::Table(table) => Some(table.address.text.to_string()),
                    _ => None,
                })
                .collect();
            let diagnostic = Diagnostic::error(Code::NoSuchTarget, title).at(address.span, "not there");
            self.say(match nearest(&address.text, known.iter().map(String::as_str)) {
                Some(near) => diagnostic.help(format!("did you mean table {near}?")),
                None if known.is_empty() => diagnostic.help("it has no tables"),
                None => diagnostic.help(format!("its tables are {}", known.join(", "))),
            });
        }
        at
    }

    pub(super) fn delete_table(&mut self, address: &Address, change: &Change) {
        let key = format!("table {}", address.text);
        let Some(at) = self.table_at(address) else { return };
        if self.claim(&key, address.span) {
            self.book.items.remove(at);
            self.event(&key, "deleted".to_string(), change);
        }
    }

    pub(super) fn use_table(&mut self, address: &Address, edition: &EditionName, change: &Change) {
        let key = format!("table {}", address.text);
        let Some(at) = self.table_at(address) else { return };
        if !self.claim(&key, address.span) {
            return;
        }
        let Some((other, name)) = self.other_edition(edition) else { return };
        let taken = other.items.iter().find_map(|item| match item {
            Item::Table(table) if table.address.text == address.text => Some(item.clone()),
            _ => None,
        });
        match (taken, self.book.items.get_mut(at)) {
            (Some(table), Some(place)) => {
                *place = table;
                self.event(&key, format!("that of {name} is used"), change);
            }
            _ => {
                let title = format!("there is no {key} in {name}");
                self.say(
                    Diagnostic::error(Code::NoSuchTarget, title)
                        .at(address.span, "nothing stands there")
                        .help("change its cells: `in table …: ROW, COLUMN was …, now …`"),
                );
            }
        }
    }

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
                if with_unit(cell.as_ref(), table.unit.as_ref()) != with_unit(old.as_ref(), table.unit.as_ref()) {
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

/// A cell in words; a bare number has the unit of its table.
fn with_unit(cell: Option<&Value>, unit: Option<&Name>) -> String {
    let words = line::cell(cell);
    let bare = matches!(cell, Some(Value::Quantity(Quantity { first, second: None, .. }))
        if first.parts.iter().all(|(_, unit)| unit.is_none()));
    match unit {
        Some(unit) if bare => format!("{words} {}", unit.text),
        _ => words,
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
