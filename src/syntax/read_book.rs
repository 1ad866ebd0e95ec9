//! Rulebooks: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::read_clause::{P, across_before_last};
use super::recover::Context;
use compact_str::CompactString;
use pest::iterators::Pairs;

impl Reader {
    pub(super) fn rulebook(&mut self, pairs: &mut Pairs<Rule>) -> Rulebook {
        let intentions = self.intentions(pairs);
        let mut items = Vec::new();
        for pair in pairs.next().into_iter().flat_map(P::into_inner) {
            if pair.as_rule() == Rule::EOI {
                continue;
            }
            items.extend(self.book_item(pair));
        }
        Rulebook { items, intentions }
    }

    pub(super) fn book_item(&mut self, pair: P) -> Option<Item> {
        match pair.as_rule() {
            Rule::terms => self.terms(pair).map(Item::Terms),
            Rule::edition | Rule::excerpt => self.edition(pair).map(Item::Edition),
            Rule::choice => self.choice(pair).map(Item::Choice),
            Rule::scale => self.scale(pair).map(Item::Scale),
            Rule::thing => self.thing(pair).map(Item::Thing),
            Rule::section => self.section(pair).map(Item::Section),
            Rule::kind => self.kind(pair).map(Item::Kind),
            Rule::define => self.define(pair).map(Item::Define),
            Rule::limit => self.limit(pair).map(Item::Limit),
            Rule::amount => self.amount(pair).map(Item::Amount),
            Rule::series => self.series(pair).map(Item::Series),
            Rule::table => self.table(pair).map(Item::Table),
            Rule::reading => self.reading(pair).map(Item::Reading),
            Rule::changes => self.changes(pair).map(Item::Changes),
            Rule::jurisdiction => self.jurisdiction(pair).map(Item::Jurisdiction),
            Rule::fixture | Rule::example | Rule::claim | Rule::survives => {
                self.beside(pair).map(|beside| Item::Beside(Box::new(beside)))
            }
            _ => {
                self.bad(pair, Context::Book);
                None
            }
        }
    }

    fn terms(&mut self, pair: P) -> Option<TermsHeader> {
        let span = self.span(&pair);
        let (mut family, mut title, mut marks) = (None, None, Vec::new());
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::name => family = Some(self.name(&inner)),
                Rule::text => title = self.text(inner),
                _ => marks = self.marks(inner),
            }
        }
        Some(TermsHeader { family: family?, title, marks, span })
    }

    fn edition(&mut self, pair: P) -> Option<EditionHeader> {
        let span = self.span(&pair);
        let extent = if pair.as_rule() == Rule::excerpt { Extent::Excerpt } else { Extent::Edition };
        let (mut family, mut year, mut title, mut marks) = (None, None, None, Vec::new());
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::name => family = Some(self.name(&inner)),
                Rule::edition_year => year = Some(self.name(&inner)),
                Rule::text => title = self.text(inner),
                _ => marks = self.marks(inner),
            }
        }
        Some(EditionHeader { family: family?, year: year?, title, extent, marks, span })
    }

    fn choice(&mut self, pair: P) -> Option<Choice> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let (mut about, mut values, mut groups) = (None, Vec::new(), Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::text => about = self.text(part),
                Rule::choice_values => {
                    for value in part.into_inner() {
                        let mut parts = value.into_inner();
                        if let Some(name) = parts.next() {
                            values.push((self.name(&name), parts.next().and_then(|t| self.text(t))));
                        }
                    }
                }
                Rule::choice_group => {
                    let mut names = part.into_inner().map(|p| self.name(&p));
                    if let Some(group) = names.next() {
                        groups.push((group, names.collect()));
                    }
                }
                Rule::passed => {}
                _ => self.bad(part, Context::Choice),
            }
        }
        Some(Choice { name, about, values, groups, span })
    }

    fn scale(&mut self, pair: P) -> Option<Scale> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let (mut about, mut steps) = (None, Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::text => about = self.text(part),
                Rule::passed => {}
                _ => steps.push(self.squeezed(&part)),
            }
        }
        Some(Scale { name, about, steps, span })
    }

    fn thing(&mut self, pair: P) -> Option<Thing> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let (mut alias, mut about, mut fields) = (None, None, Vec::new());
        let mut where_described = false;
        for part in inner {
            match part.as_rule() {
                Rule::name => alias = Some(self.name(&part)),
                Rule::where_described => where_described = true,
                Rule::text => about = self.text(part),
                Rule::field => fields.extend(self.field(part)),
                Rule::passed => {}
                _ => self.bad(part, Context::Fields),
            }
        }
        Some(Thing { name, alias, where_described, about, fields, span })
    }

    fn field(&mut self, pair: P) -> Option<Field> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let ty = self.field_type(inner.next()?)?;
        let (mut modifiers, mut about, mut marks) = (Vec::new(), None, Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::modifier => modifiers.extend(self.modifier(part)),
                Rule::text => about = self.text(part),
                _ => marks = self.marks(part),
            }
        }
        Some(Field { name, ty, modifiers, about, marks, span })
    }

    pub(super) fn field_type(&mut self, pair: P) -> Option<FieldType> {
        let kind = pair.into_inner().next()?;
        let rule = kind.as_rule();
        let mut inner = kind.into_inner();
        let first = self.name(&inner.next()?);
        Some(match rule {
            Rule::many => FieldType::Many { thing: first, by_name: inner.next().is_some() },
            Rule::inverse => FieldType::Inverse { thing: first, field: self.name(&inner.next()?) },
            Rule::keyed_type => FieldType::Keyed {
                dimension: first,
                key: self.name(&inner.next()?),
                through: inner.next().map(|p| self.name(&p)),
            },
            _ => FieldType::Plain(first),
        })
    }

    pub(super) fn modifier(&mut self, pair: P) -> Option<Modifier> {
        let kind = pair.into_inner().next()?;
        let span = self.span(&kind);
        Some(match kind.as_rule() {
            Rule::may_be_absent => Modifier::MayBeAbsent(span),
            Rule::never_negative => Modifier::NeverNegative(span),
            Rule::at_least_members => Modifier::AtLeast(self.number(&kind.into_inner().nth(1)?)),
            Rule::judgment => Modifier::Judgment(kind.into_inner().next().and_then(|t| self.text(t)), span),
            _ => Modifier::External(kind.into_inner().next().and_then(|t| self.text(t)), span),
        })
    }

    fn section(&mut self, pair: P) -> Option<Section> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let address = self.address(&inner.next()?);
        let (mut name, mut title, mut about, mut body) = (None, None, Vec::new(), Body::default());
        for part in inner {
            match part.as_rule() {
                Rule::name => name = Some(self.name(&part)),
                Rule::text => title = self.text(part),
                Rule::about => about = part.into_inner().map(|p| self.name(&p)).collect(),
                _ => body = self.body(part),
            }
        }
        Some(Section { address, name, title, about, body, span })
    }

    pub(super) fn body(&mut self, pair: P) -> Body {
        let mut statements = Vec::new();
        for part in pair.into_inner() {
            if part.as_rule() == Rule::bad_chunk {
                self.bad(part, Context::Body);
                continue;
            }
            let span = self.span(&part);
            let mut marks = Vec::new();
            if let Some(kind) = self.statement(part, &mut marks) {
                statements.push(Statement { kind, marks, span });
            }
        }
        Body { statements }
    }

    pub(super) fn statement(&mut self, pair: P, marks: &mut Vec<Mark>) -> Option<StatementKind> {
        let rule = pair.as_rule();
        let mut inner = pair.into_inner().peekable();
        Some(match rule {
            Rule::mark_line => {
                marks.extend(inner.filter_map(|p| self.mark(p)));
                if marks.is_empty() {
                    return None;
                }
                StatementKind::Marks
            }
            Rule::paragraph => {
                let (mut labels, mut name, mut title, mut body) = (Vec::new(), None, None, None);
                for part in inner {
                    match part.as_rule() {
                        Rule::label => labels.push(self.label(&part)),
                        Rule::name => name = Some(self.name(&part)),
                        Rule::text => title = self.text(part),
                        Rule::body => body = Some(self.body(part)),
                        _ => {}
                    }
                }
                StatementKind::Paragraph { labels, name, title, body }
            }
            Rule::governs => {
                let mut names = Vec::new();
                for part in inner {
                    match part.as_rule() {
                        Rule::name => names.push(self.name(&part)),
                        _ => *marks = self.marks(part),
                    }
                }
                let mut names = names.into_iter();
                StatementKind::Governs { thing: names.next()?, owner: names.next() }
            }
            Rule::different => {
                let mut halves = Vec::new();
                for part in inner {
                    match part.as_rule() {
                        Rule::half => halves.extend(self.half(part)),
                        Rule::marks => *marks = self.marks(part),
                        _ => self.bad(part, Context::Halves),
                    }
                }
                StatementKind::Different(halves)
            }
            Rule::when => StatementKind::When(self.clauses_and_marks(inner, marks)?),
            Rule::also_when => StatementKind::AlsoWhen(self.clauses_and_marks(inner, marks)?),
            Rule::permits_only => StatementKind::PermitsOnly(self.clauses_and_marks(inner, marks)?),
            Rule::requires | Rule::prohibits => {
                let clauses = self.clauses(inner.next()?)?;
                let mut triggers = None;
                for part in inner {
                    match part.as_rule() {
                        Rule::triggers => triggers = part.into_inner().next().map(|p| self.items(p)),
                        _ => *marks = self.marks(part),
                    }
                }
                match rule {
                    Rule::requires => StatementKind::Requires(clauses, triggers),
                    _ => StatementKind::Prohibits(clauses, triggers),
                }
            }
            Rule::permits_as => {
                let thing = self.name(&inner.next()?);
                let kind = self.name(&inner.next()?);
                StatementKind::PermitsAs { thing, kind, clauses: self.clauses_and_marks(inner, marks)? }
            }
            Rule::permits => {
                let clauses = self.clauses(inner.next()?)?;
                let mut lifts = None;
                for part in inner {
                    match part.as_rule() {
                        Rule::address => lifts = Some(self.address(&part)),
                        _ => *marks = self.marks(part),
                    }
                }
                StatementKind::Permits(clauses, lifts)
            }
            Rule::notes => {
                let text = self.text(inner.next()?)?;
                *marks = inner.next().map(|p| self.marks(p)).unwrap_or_default();
                StatementKind::Notes(text)
            }
            Rule::if_provided => {
                let path = self.path(inner.next()?);
                StatementKind::IfProvided(path, self.clauses_and_marks(inner, marks)?)
            }
            Rule::unless => {
                let head = self.exception_head(inner.next()?);
                let case = self.clauses(inner.next()?.into_inner().next()?)?;
                let mut alternative = None;
                for part in inner {
                    match part.as_rule() {
                        Rule::alternative => alternative = Some(self.enough(part.into_inner().next()?)?),
                        _ => *marks = self.marks(part),
                    }
                }
                StatementKind::Unless(head, case, alternative)
            }
            Rule::exception => {
                let head = self.exception_head(inner.next()?);
                let case = self.clauses(inner.next()?.into_inner().next()?)?;
                let instead = self.clauses(inner.next()?.into_inner().next()?)?;
                *marks = inner.next().map(|p| self.marks(p)).unwrap_or_default();
                StatementKind::Exception(head, case, instead)
            }
            Rule::modifies => {
                let address = self.address(&inner.next()?);
                let case = self.clauses(inner.next()?.into_inner().next()?)?;
                let instead = self.clauses(inner.next()?.into_inner().next()?)?;
                *marks = inner.next().map(|p| self.marks(p)).unwrap_or_default();
                StatementKind::Modifies(address, case, instead)
            }
            Rule::waives => {
                let address = self.address(&inner.next()?);
                let mut case = None;
                for part in inner {
                    match part.as_rule() {
                        Rule::case => case = Some(self.clauses(part.into_inner().next()?)?),
                        _ => *marks = self.marks(part),
                    }
                }
                StatementKind::Waives(address, case)
            }
            Rule::tally => {
                let name = self.name(&inner.next()?);
                let list = self.list(inner.next()?);
                let mut filter = None;
                for part in inner {
                    match part.as_rule() {
                        Rule::where_part => filter = Some(self.where_part(part)?),
                        _ => *marks = self.marks(part),
                    }
                }
                StatementKind::Tally(name, list, filter)
            }
            _ => return None,
        })
    }

    fn clauses_and_marks<'t>(
        &mut self,
        mut inner: impl Iterator<Item = P<'t>>,
        marks: &mut Vec<Mark>,
    ) -> Option<Clauses> {
        let clauses = self.clauses(inner.next()?)?;
        *marks = inner.next().map(|p| self.marks(p)).unwrap_or_default();
        Some(clauses)
    }

    fn half(&mut self, pair: P) -> Option<Half> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let label = self.label(&inner.next()?);
        let thing = self.name(&inner.next()?);
        let slot = self.name(&inner.next()?);
        let (mut kind, mut clauses, mut marks) = (None, None, Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::half_kind => {
                    let mut parts = part.into_inner();
                    kind = parts.next().map(|p| self.name(&p));
                    clauses = parts.next().and_then(|p| self.clauses(p));
                }
                Rule::half_where => clauses = self.where_part(part),
                _ => marks = self.marks(part),
            }
        }
        Some(Half { label, thing, slot, kind, clauses, marks, span })
    }

    pub(super) fn exception_head(&mut self, pair: P) -> ExceptionHead {
        let span = self.span(&pair);
        let mut head = ExceptionHead { number: None, to: Vec::new(), name: None, uncounted: None, span };
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::exception_number => head.number = Some(self.name(&part)),
                Rule::bound_to => head.to = self.label_runs(part),
                Rule::name => head.name = Some(self.name(&part)),
                _ => head.uncounted = part.into_inner().next().map(|p| self.address(&p)),
            }
        }
        head
    }

    /// Runs of labels that stand without a gap: `(3), (5)(a)`.
    pub(super) fn label_runs(&self, pair: P) -> Vec<Vec<Name>> {
        let mut runs: Vec<Vec<Name>> = Vec::new();
        for label in pair.into_inner() {
            let label = self.label(&label);
            match runs.last_mut() {
                Some(run) if run.last().is_some_and(|l| l.span.end == label.span.start) => run.push(label),
                _ => runs.push(vec![label]),
            }
        }
        runs
    }

    pub(super) fn enough(&mut self, pair: P) -> Option<Enough> {
        let span = self.span(&pair);
        Some(match pair.as_rule() {
            Rule::enough_labels => Enough::Labels(self.enough_labels(pair), span),
            _ => Enough::Clauses(self.clauses(pair.into_inner().next()?)?),
        })
    }

    pub(super) fn enough_labels(&self, pair: P) -> Vec<Vec<Name>> {
        pair.into_inner().map(|term| term.into_inner().map(|l| self.label(&l)).collect()).collect()
    }

    fn kind(&mut self, pair: P) -> Option<Kind> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let thing = self.name(&inner.next()?);
        let (mut per, mut about, mut items, mut marks) = (None, None, None, Vec::new());
        let mut only = Vec::new();
        for part in inner {
            match part.as_rule() {
                Rule::only_for => only = self.addresses(part),
                Rule::per => per = part.into_inner().next().map(|p| self.address(&p)),
                Rule::text => about = self.text(part),
                Rule::items => items = Some(self.items(part)),
                _ => marks = self.marks(part),
            }
        }
        Some(Kind { name, thing, only, per, about, items: items?, marks, span })
    }

    fn define(&mut self, pair: P) -> Option<Define> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let thing = self.name(&inner.next()?);
        let (mut per, mut expr, mut marks) = (None, None, Vec::new());
        let mut only = Vec::new();
        for part in inner {
            match part.as_rule() {
                Rule::only_for => only = self.addresses(part),
                Rule::per => per = part.into_inner().next().map(|p| self.address(&p)),
                Rule::valued => expr = self.valued(part),
                _ => marks = self.marks(part),
            }
        }
        Some(Define { name, thing, only, per, expr: expr?, marks, span })
    }

    fn limit(&mut self, pair: P) -> Option<Limit> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let (mut per, mut quantity, mut marks) = (None, None, Vec::new());
        let mut only = Vec::new();
        for part in inner {
            match part.as_rule() {
                Rule::only_for => only = self.addresses(part),
                Rule::per => per = part.into_inner().next().map(|p| self.address(&p)),
                Rule::quantity => quantity = self.quantity(part),
                _ => marks = self.marks(part),
            }
        }
        Some(Limit { name, only, per, quantity: quantity?, marks, span })
    }

    fn table(&mut self, pair: P) -> Option<Table> {
        let span = self.span(&pair);
        let has_across = across_before_last(&pair, Rule::table_key);
        let mut inner = pair.into_inner();
        let address = self.address(&inner.next()?);
        let mut table = Table {
            address,
            title: None,
            by: Vec::new(),
            across: None,
            closed: false,
            gaps: false,
            gives: Name { text: CompactString::default(), span },
            unit: None,
            columns: Vec::new(),
            rows: Vec::new(),
            marks: Vec::new(),
            span,
        };
        for part in inner {
            match part.as_rule() {
                Rule::text => table.title = self.text(part),
                Rule::table_key => table.by.extend(self.table_key(part)),
                Rule::no_other => table.closed = true,
                Rule::gaps => table.gaps = true,
                Rule::name => table.gives = self.name(&part),
                Rule::unit => table.unit = Some(self.name(&part)),
                Rule::header_row => {
                    for cell in part.into_inner() {
                        let span = self.span(&cell);
                        table.columns.extend(self.cell_key(cell).map(|key| (key, span)));
                    }
                }
                Rule::table_row => table.rows.extend(self.table_row(part)),
                Rule::bad_chunk => self.bad(part, Context::Rows),
                _ => table.marks = self.marks(part),
            }
        }
        if has_across {
            table.across = table.by.pop();
        }
        Some(table)
    }

    fn table_key(&mut self, pair: P) -> Option<TableKey> {
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let ty = self.name(&inner.next()?);
        let mode = match inner.next().and_then(|m| m.into_inner().next()).map(|m| m.as_rule()) {
            Some(Rule::row_up) => RowMode::NextUp,
            Some(Rule::row_down) => RowMode::NextDown,
            _ => RowMode::Exact,
        };
        Some(TableKey { name, ty, mode })
    }

    pub(super) fn cell_key(&mut self, pair: P) -> Option<CellKey> {
        let inner = pair.into_inner().next()?;
        Some(match inner.as_rule() {
            Rule::up_to => CellKey::UpTo(self.value(inner.into_inner().next()?)?),
            Rule::over => CellKey::Over(self.value(inner.into_inner().next()?)?),
            _ => CellKey::Values(self.values(inner)),
        })
    }

    pub(super) fn table_row(&mut self, pair: P) -> Option<TableRow> {
        let span = self.span(&pair);
        let (mut keys, mut cells, mut marks) = (Vec::new(), Vec::new(), Vec::new());
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::cell_key => keys.push(self.cell_key(part)?),
                Rule::cell => {
                    let span = self.span(&part);
                    let inner = part.into_inner().next()?;
                    let value = match inner.as_rule() {
                        Rule::not_permitted => None,
                        _ => Some(self.value(inner)?),
                    };
                    cells.push((value, span));
                }
                _ => marks = self.marks(part),
            }
        }
        Some(TableRow { keys, cells, marks, span })
    }

    fn reading(&mut self, pair: P) -> Option<Reading> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let of = self.name(&inner.next()?);
        let (mut about, mut disputed, mut options, mut marks) = (None, None, Vec::new(), Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::text => about = self.text(part),
                Rule::disputed => disputed = part.into_inner().next().and_then(|t| self.text(t)),
                Rule::option => options.extend(self.option(part)),
                Rule::bad_chunk => self.bad(part, Context::Options),
                _ => marks = self.marks(part),
            }
        }
        Some(Reading { name, of, about, disputed, options, marks, span })
    }

    fn option(&mut self, pair: P) -> Option<ReadingOption> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let about = self.text(inner.next()?)?;
        let block = inner.next()?;
        let says = match block.as_rule() {
            Rule::enough_block => {
                let labels = block.into_inner().next()?;
                let span = self.span(&labels);
                ReadingSays::Enough(self.enough_labels(labels), span)
            }
            Rule::option_value => ReadingSays::Value(self.valued(block.into_inner().next()?)?),
            _ => ReadingSays::Items(self.items(block)),
        };
        Some(ReadingOption { name, about, says, span })
    }
}
