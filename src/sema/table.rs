//! Tables: keys, rows and cells, checked for shape, order, overlap and gaps.

use super::literal::value_span;
use super::lower::{Lower, TableTypes, Ty, marks};
use super::vocabulary::twice;
use crate::base::dimension::Dimension;
use crate::base::number::Number;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::program::{CellValue, RowKey, RowMode, Table, TableKey, TableRow};
use crate::ir::schema::DomainId;
use crate::syntax::ast::{self, CellKey};

impl<'a> Lower<'a> {
    pub(super) fn table(&mut self, table: &'a ast::Table) {
        if let Some(first) = self.tables.get(table.address.text.as_str()).copied() {
            let first = self.program.origin(self.program.tables[first].origin).span;
            let name = ast::Name { text: table.address.text.clone(), span: table.address.span };
            let diagnostic = twice(&name, first);
            self.say(diagnostic);
            return;
        }
        let Some((lowered, types)) = self.lowered_table(table) else { return };
        let second = self.second_system(table, &lowered, types.gives);
        let at = self.program.tables.len();
        self.tables.insert(table.address.text.to_string(), at);
        self.program.tables.push(lowered);
        self.table_types.push(types.clone());
        if let Some(second) = second {
            self.second_tables.insert(at, self.program.tables.len());
            self.program.tables.push(second);
            self.table_types.push(types);
        }
    }

    /// The same table with the second value of every cell that is stated in two systems; none if no cell is.
    fn second_system(&mut self, table: &'a ast::Table, lowered: &Table, gives: Ty) -> Option<Table> {
        let mut second = None;
        for (at, row) in table.rows.iter().enumerate() {
            for (column, (value, _)) in row.cells.iter().enumerate() {
                let Some(ast::Value::Quantity(quantity)) = value else { continue };
                let Some(measure) = &quantity.second else { continue };
                let Some((number, _)) = self.measure_as(measure, Some(gives)) else { continue };
                let second = second.get_or_insert_with(|| lowered.clone());
                if let Some(cell) = second.rows.get_mut(at).and_then(|row| row.cells.get_mut(column)) {
                    *cell = CellValue::Number(number);
                }
            }
        }
        second
    }

    fn lowered_table(&mut self, table: &'a ast::Table) -> Option<(Table, TableTypes)> {
        self.cite = table.address.text.to_string();
        let origin = self.origin(table.span, &marks(&table.marks));
        let gives = self.type_named(&table.gives)?;
        let unit = match (&table.unit, gives) {
            (Some(unit), Ty::Number(_)) => Some(unit),
            (Some(unit), _) => {
                self.say(
                    Diagnostic::error(Code::WrongType, "a unit for cells that are not quantities")
                        .at(unit.span, "here"),
                );
                None
            }
            (None, _) => None,
        };
        let mut keys = Vec::new();
        let mut types = Vec::new();
        for key in table.by.iter().chain(&table.across) {
            let ty = self.type_named(&key.ty)?;
            let domain = match ty {
                Ty::Value(domain) => Some(domain),
                Ty::Number(_) | Ty::Date => None,
            };
            let mode = match key.mode {
                ast::RowMode::Exact => RowMode::Exact,
                ast::RowMode::NextUp => RowMode::NextUp,
                ast::RowMode::NextDown => RowMode::NextDown,
            };
            if mode != RowMode::Exact
                && let Some(domain) = domain
                && !self.schema().domain(domain).ordered
            {
                self.unordered(domain, key.ty.span);
            }
            keys.push(TableKey { name: key.name.text.to_string(), domain, mode });
            types.push((key.name.text.to_string(), ty));
        }
        let row_keys = table.by.len();
        let columns = match &table.across {
            Some(_) => {
                let ty = types.last()?.1;
                let mut columns = Vec::new();
                for (key, span) in &table.columns {
                    let mut up_to = false;
                    columns.push((self.row_key(key, ty, &mut up_to, *span)?, *span));
                    if up_to && let Some(key) = keys.last_mut() {
                        key.mode = RowMode::NextUp;
                    }
                }
                let mode = keys.last()?.mode;
                self.ordered_keys(&columns, mode);
                columns
            }
            None => {
                if let Some((_, span)) = table.columns.first() {
                    self.say(
                        Diagnostic::error(Code::BadTableRow, "a heading row without an `across` key")
                            .at(*span, "what do these columns mean?")
                            .help("add `, across NAME: TYPE` to the table's first line"),
                    );
                }
                vec![(RowKey::Set(0), table.span)]
            }
        };
        let mut rows = Vec::new();
        let mut spans = Vec::new();
        for row in &table.rows {
            if row.keys.len() != row_keys || row.cells.len() != columns.len() {
                self.say(
                    Diagnostic::error(Code::BadTableRow, "a row of another shape than its table")
                        .at(row.span, format!("{} keys and {} cells", row.keys.len(), row.cells.len()))
                        .help(format!("this table has {row_keys} keys and {} cells a row", columns.len())),
                );
                continue;
            }
            let mut made = Vec::new();
            for (at, key) in row.keys.iter().enumerate() {
                let mut up_to = false;
                made.push(self.row_key(key, types[at].1, &mut up_to, row.span)?);
                if up_to {
                    keys[at].mode = RowMode::NextUp;
                }
            }
            let mut cells = Vec::new();
            for (value, span) in &row.cells {
                cells.push(self.cell(value.as_ref(), gives, unit, *span)?);
            }
            let origin = self.origin(row.span, &marks(&row.marks));
            rows.push(TableRow { keys: made, cells, origin });
            spans.push(row.span);
        }
        for (at, key) in keys.iter().enumerate().take(row_keys) {
            let whole = matches!(types.get(at), Some((_, Ty::Number(d))) if super::amount::whole(*d));
            for run in runs(&rows, &spans, at) {
                self.ordered_keys(&run, key.mode);
                self.touching(&run, key.mode, whole, table.closed || table.gaps);
                let scale = key.domain.is_some_and(|domain| self.schema().domain(domain).ordered);
                if scale && key.mode == RowMode::Exact && !table.closed && !table.gaps {
                    self.missing_steps(&run);
                }
            }
        }
        let lowered = Table {
            address: table.address.text.to_string(),
            title: table.title.as_deref().unwrap_or("").to_string(),
            keys,
            across: table.across.is_some(),
            columns: columns.into_iter().map(|(key, _)| key).collect(),
            rows,
            closed: table.closed,
            gives: match gives {
                Ty::Value(domain) => Some(domain),
                Ty::Number(_) | Ty::Date => None,
            },
            dimension: match gives {
                Ty::Number(dimension) => Some(dimension),
                Ty::Value(_) | Ty::Date => None,
            },
            unit: unit.and_then(|u| crate::base::unit::lookup(&u.text)),
            origin,
        };
        Some((lowered, TableTypes { keys: types, gives }))
    }

    /// A dimension, choice or scale by name.
    pub(super) fn type_named(&mut self, name: &ast::Name) -> Option<Ty> {
        if let Some(at) = self.schema().domains.iter().position(|d| d.name == name.text) {
            return Some(Ty::Value(DomainId(u16::try_from(at).ok()?)));
        }
        if name.text == "date" {
            return Some(Ty::Date);
        }
        if let Some(dimension) = Dimension::named(&name.text) {
            return Some(Ty::Number(dimension));
        }
        let known =
            self.schema().domains.iter().map(|d| d.name.as_str()).chain(Dimension::NAMED.iter().map(|(name, _)| *name));
        let near = nearest(&name.text, known).map(str::to_string);
        let diagnostic = Diagnostic::error(Code::UnknownName, format!("there is no type `{}`", name.text))
            .at(name.span, "not known");
        self.say(match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None => diagnostic.help("a key or cell is a dimension, a choice or a scale"),
        });
        None
    }

    fn key_number(&mut self, value: &'a ast::Value, ty: Ty) -> Option<Number> {
        match (value, ty) {
            (ast::Value::Quantity(quantity), Ty::Number(_)) => {
                if let Some(second) = &quantity.second {
                    self.say(
                        Diagnostic::error(Code::DualInArithmetic, "a row's key in two systems")
                            .at(second.span, "a second system")
                            .help("state the key in one system; a cell may have two"),
                    );
                }
                Some(self.measure_as(&quantity.first, Some(ty))?.0)
            }
            (ast::Value::Date(date), Ty::Date) => self.date(date),
            (other, _) => {
                let name = self.ty_name(ty);
                self.say(
                    Diagnostic::error(Code::WrongType, format!("a {name} is expected here"))
                        .at(value_span(other), "not one"),
                );
                None
            }
        }
    }

    fn row_key(&mut self, key: &'a CellKey, ty: Ty, up_to: &mut bool, span: Span) -> Option<RowKey> {
        match (key, ty) {
            (CellKey::Values(values), Ty::Value(domain)) => {
                let mut set = 0;
                for value in values {
                    set |= self.range_set(domain, value)?;
                }
                Some(RowKey::Set(set))
            }
            (CellKey::Values(values), _) => {
                let mut ranges = Vec::new();
                for value in values {
                    let low = self.key_number(&value.from, ty)?;
                    let high = match &value.through {
                        Some(through) => self.key_number(through, ty)?,
                        None => low.clone(),
                    };
                    if high < low {
                        self.say(
                            Diagnostic::error(Code::RowsOutOfOrder, "a range that ends below its start")
                                .at(span, "here"),
                        );
                    }
                    ranges.push((Some(low), Some(high)));
                }
                Some(RowKey::Numbers(ranges))
            }
            (CellKey::UpTo(value), Ty::Value(domain)) => {
                *up_to = true;
                Some(RowKey::Set(self.value_set(domain, value)?))
            }
            (CellKey::UpTo(value), _) => {
                *up_to = true;
                let end = self.key_number(value, ty)?;
                Some(RowKey::Numbers(vec![(Some(end.clone()), Some(end))]))
            }
            (CellKey::Over(value), Ty::Value(domain)) => {
                let set = self.value_set(domain, value)?;
                let at = set.trailing_zeros();
                let all = self.schema().domain(domain).all();
                Some(RowKey::Set(all & !((1u128 << at) | ((1u128 << at) - 1))))
            }
            (CellKey::Over(value), _) => Some(RowKey::Over(self.key_number(value, ty)?)),
        }
    }

    fn cell(
        &mut self,
        value: Option<&'a ast::Value>,
        gives: Ty,
        unit: Option<&ast::Name>,
        span: Span,
    ) -> Option<CellValue> {
        let Some(value) = value else { return Some(CellValue::NotPermitted) };
        match (value, gives) {
            (_, Ty::Value(domain)) => Some(CellValue::Value(self.value_set(domain, value)?)),
            (ast::Value::Quantity(quantity), Ty::Number(_)) => {
                let mut measure = quantity.first.clone();
                if let (Some(unit), [(_, none @ None)]) = (unit, measure.parts.as_mut_slice()) {
                    *none = Some(unit.clone());
                }
                Some(CellValue::Number(self.measure_as(&measure, Some(gives))?.0))
            }
            (ast::Value::Date(date), Ty::Date) => Some(CellValue::Number(self.date(date)?)),
            _ => {
                let name = self.ty_name(gives);
                self.say(
                    Diagnostic::error(Code::WrongType, format!("a {name} is expected in this cell"))
                        .at(span, "not one")
                        .help("write `-` where the table permits nothing"),
                );
                None
            }
        }
    }

    /// Ranges that leave nothing out between them, and rows that state one end where the other is the row before.
    fn touching(&mut self, keys: &[(RowKey, Span)], mode: RowMode, whole: bool, intended: bool) {
        let is_range = |key: &RowKey| match key {
            RowKey::Numbers(ranges) => ranges.iter().any(|(low, high)| low != high),
            RowKey::Over(_) | RowKey::Set(_) => false,
        };
        for (at, (key, span)) in keys.iter().enumerate() {
            if mode != RowMode::Exact {
                if is_range(key) {
                    let (reach, write) = match mode {
                        RowMode::NextDown => ("reaches up to the row behind it", "its start alone"),
                        RowMode::NextUp | RowMode::Exact => ("reaches down to the row before it", "`up to` its end"),
                    };
                    self.say(
                        Diagnostic::error(Code::StatedLowerEnd, "a row says where it begins and where it ends")
                            .at(*span, format!("in this table a row {reach}"))
                            .help(format!("write {write}")),
                    );
                }
                continue;
            }
            let Some((before, first)) = at.checked_sub(1).and_then(|n| keys.get(n)) else { continue };
            if intended || !(is_range(key) || is_range(before)) {
                continue;
            }
            let end = match before {
                RowKey::Numbers(ranges) => ranges.last().and_then(|(_, high)| high.clone()),
                RowKey::Over(_) | RowKey::Set(_) => None,
            };
            let (next, above) = match key {
                RowKey::Numbers(ranges) => (ranges.first().and_then(|(low, _)| low.clone()), false),
                RowKey::Over(limit) => (Some(limit.clone()), true),
                RowKey::Set(_) => (None, false),
            };
            let (Some(end), Some(next)) = (end, next) else { continue };
            let step = if whole && !above { Number::ONE } else { Number::ZERO };
            if next.sub(&end) > step {
                self.say(
                    Diagnostic::error(Code::RowsWithGap, "values between two rows lie in neither")
                        .at(*span, "begins above")
                        .at(*first, "the end of this row")
                        .help("write `up to` the end of each row, or add `, gaps intended` where the code means it"),
                );
            }
        }
    }

    /// Ranges of a scale that leave a step out between them. Single steps may: a table need not hold every size.
    fn missing_steps(&mut self, keys: &[(RowKey, Span)]) {
        let is_range = |set: u128| {
            let steps = set.checked_shr(set.trailing_zeros()).unwrap_or(0);
            set.count_ones() > 1 && steps & steps.wrapping_add(1) == 0
        };
        for pair in keys.windows(2) {
            let [(RowKey::Set(before), first), (RowKey::Set(key), span)] = pair else { continue };
            let end = u128::BITS - before.leading_zeros();
            if (is_range(*before) || is_range(*key)) && key.trailing_zeros() > end {
                self.say(
                    Diagnostic::error(Code::RowsWithGap, "a step of the scale between two rows lies in neither")
                        .at(*span, "begins above")
                        .at(*first, "the end of this row")
                        .help("let one of them reach it, or add `, gaps intended` where the code means it"),
                );
            }
        }
    }

    fn overlap(&mut self, first: Span, second: Span) {
        self.say(
            Diagnostic::error(Code::RowsOverlap, "two rows answer to one key")
                .at(second, "this row")
                .at(first, "and this one")
                .help("a key may lie in one row only"),
        );
    }

    /// Keys that must not overlap and, where the next row counts, must rise.
    fn ordered_keys(&mut self, keys: &[(RowKey, Span)], mode: RowMode) {
        for (at, (key, span)) in keys.iter().enumerate() {
            for (other, first) in &keys[..at] {
                if overlaps(other, key) {
                    self.overlap(*first, *span);
                }
            }
            if mode != RowMode::Exact
                && let Some((before, first)) = at.checked_sub(1).and_then(|n| keys.get(n))
                && start(key) < start(before)
            {
                self.say(
                    Diagnostic::error(Code::RowsOutOfOrder, "rows do not rise")
                        .at(*span, "this row stands below")
                        .at(*first, "a larger one")
                        .help("order the rows, smallest first"),
                );
            }
        }
    }
}

/// Values of one key, row by row, each with its place.
type Run = Vec<(RowKey, Span)>;

/// Rows that differ in one key alone, as runs of that key, in the order of the table.
fn runs(rows: &[TableRow], spans: &[Span], key: usize) -> Vec<Run> {
    let mut runs: Vec<(Vec<&RowKey>, Run)> = Vec::new();
    for (row, span) in rows.iter().zip(spans) {
        let others: Vec<&RowKey> =
            row.keys.iter().enumerate().filter(|(at, _)| *at != key).map(|(_, own)| own).collect();
        let Some(own) = row.keys.get(key) else { continue };
        match runs.iter_mut().find(|(known, _)| *known == others) {
            Some((_, run)) => run.push((own.clone(), *span)),
            None => runs.push((others, vec![(own.clone(), *span)])),
        }
    }
    runs.into_iter().map(|(_, run)| run).collect()
}

/// What a key is ordered by.
fn start(key: &RowKey) -> (u32, Option<Number>) {
    match key {
        RowKey::Set(set) => (set.trailing_zeros(), None),
        RowKey::Numbers(ranges) => (0, ranges.first().and_then(|(low, _)| low.clone())),
        RowKey::Over(number) => (1, Some(number.clone())),
    }
}

fn overlaps(one: &RowKey, two: &RowKey) -> bool {
    match (one, two) {
        (RowKey::Set(a), RowKey::Set(b)) => a & b != 0,
        (RowKey::Numbers(a), RowKey::Numbers(b)) => a.iter().any(|(low, high)| {
            b.iter().any(|(other_low, other_high)| {
                let starts_before = match (low, other_high) {
                    (Some(low), Some(high)) => low <= high,
                    _ => true,
                };
                let ends_after = match (high, other_low) {
                    (Some(high), Some(low)) => high >= low,
                    _ => true,
                };
                starts_before && ends_after
            })
        }),
        (RowKey::Over(limit), RowKey::Numbers(ranges)) | (RowKey::Numbers(ranges), RowKey::Over(limit)) => {
            ranges.iter().any(|(_, high)| high.as_ref().is_none_or(|high| high > limit))
        }
        (RowKey::Over(_), RowKey::Over(_)) => true,
        _ => false,
    }
}
