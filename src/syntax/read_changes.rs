//! Sets of changes: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::read_clause::{P, bound};
use super::recover::Context;

impl Reader {
    pub(super) fn changes(&mut self, pair: P) -> Option<ChangeSet> {
        let mut inner = pair.into_inner();
        let head = inner.next()?.into_inner().next()?;
        let mut set = self.change_head(head)?;
        for part in inner {
            match part.as_rule() {
                Rule::marks => set.marks.extend(self.marks(part)),
                Rule::bad_chunk => self.bad(part, Context::Changes),
                _ => {
                    let span = self.span(&part);
                    let mut parts = part.into_inner();
                    let Some(what) = parts.next() else { continue };
                    let marks = parts.next().map(|p| self.marks(p)).unwrap_or_default();
                    if let Some(kind) = self.change(what) {
                        set.changes.push(Change { kind, marks, span });
                    }
                }
            }
        }
        Some(set)
    }

    fn edition_name(&self, family: &P, year: &P) -> EditionName {
        EditionName { family: self.name(family), year: self.name(year) }
    }

    fn change_head(&mut self, pair: P) -> Option<ChangeSet> {
        let span = self.span(&pair);
        let kind = match pair.as_rule() {
            Rule::edition_follows => SetKind::Edition,
            Rule::interim => SetKind::Interim,
            Rule::erratum => SetKind::Erratum,
            _ => SetKind::Amendment,
        };
        let mut inner = pair.into_inner();
        let first = inner.next()?;
        let mut set = ChangeSet {
            kind,
            name: self.name(&first),
            edition: None,
            title: None,
            base: None,
            printing: None,
            changes: Vec::new(),
            marks: Vec::new(),
            span,
        };
        if set.kind == SetKind::Edition {
            let year = inner.next()?;
            set.edition = Some(self.edition_name(&first, &year));
            set.name = self.name(&year);
            set.base = Some(self.edition_name(&inner.next()?, &inner.next()?));
        }
        for part in inner {
            match part.as_rule() {
                Rule::text => set.title = self.text(part),
                Rule::to_base => {
                    let mut base = part.into_inner();
                    let family = base.next()?;
                    set.base = base.next().map(|year| self.edition_name(&family, &year));
                }
                _ => set.printing = Some(self.name(&part)),
            }
        }
        Some(set)
    }

    fn change(&mut self, pair: P) -> Option<ChangeKind> {
        let rule = pair.as_rule();
        let whole = self.span(&pair);
        let mut inner = pair.into_inner();
        Some(match rule {
            Rule::in_force => {
                let (mut from, mut until, mut clock) = (None, None, None);
                for part in inner.next()?.into_inner() {
                    match part.as_rule() {
                        Rule::since => from = part.into_inner().next().map(|d| self.name(&d)),
                        Rule::until_date => {
                            let mut parts = part.into_inner();
                            let side = match parts.next()?.as_rule() {
                                Rule::before => DateSide::Before,
                                _ => DateSide::Through,
                            };
                            until = Some(WindowEnd { side, date: self.name(&parts.next()?) });
                        }
                        _ => clock = part.into_inner().next().map(|c| self.name(&c)),
                    }
                }
                ChangeKind::InForce { from, until, clock: clock? }
            }
            Rule::in_target => {
                let to = inner.next()?;
                let target = match to.as_rule() {
                    Rule::rules_about => ChangeTarget::About(self.name(&to.into_inner().next()?)),
                    _ => ChangeTarget::At(self.address(&to)),
                };
                ChangeKind::In(target, inner.filter_map(|edit| self.edit(edit)).collect())
            }
            Rule::in_table => {
                let address = self.address(&inner.next()?);
                ChangeKind::InTable(address, inner.filter_map(|edit| self.table_edit(edit)).collect())
            }
            Rule::insert => {
                let at = self.address(&inner.next()?);
                let (mut name, mut title, mut content, mut moves) = (None, None, None, Vec::new());
                for part in inner {
                    match part.as_rule() {
                        Rule::name => name = Some(self.name(&part)),
                        Rule::text => title = self.text(part),
                        Rule::moves => {
                            for one in part.into_inner() {
                                let mut labels = one.into_inner();
                                moves.push((self.label(&labels.next()?), self.label(&labels.next()?)));
                            }
                        }
                        _ => content = Some(self.content(part)),
                    }
                }
                ChangeKind::Insert { at, name, title, content: content?, moves }
            }
            Rule::delete => {
                let from = self.address(&inner.next()?);
                ChangeKind::Delete(from, inner.next().map(|p| self.address(&p)))
            }
            Rule::reserve => ChangeKind::Reserve(self.address(&inner.next()?)),
            Rule::replace => {
                let at = self.address(&inner.next()?);
                let (mut title, mut content) = (None, None);
                for part in inner {
                    match part.as_rule() {
                        Rule::text => title = self.text(part),
                        _ => content = Some(self.content(part)),
                    }
                }
                ChangeKind::Replace { at, title, content: content? }
            }
            Rule::renumber => ChangeKind::Renumber(self.address(&inner.next()?), self.address(&inner.next()?)),
            Rule::use_of | Rule::use_exceptions => self.graft(inner)?,
            Rule::delete_table => ChangeKind::DeleteTable(self.address(&inner.next()?)),
            Rule::use_table => {
                let address = self.address(&inner.next()?);
                ChangeKind::UseTable(address, self.edition_name(&inner.next()?, &inner.next()?))
            }
            Rule::exclude => {
                let range = |reader: &Reader, part: P| {
                    let mut ends = part.into_inner();
                    let from = reader.address(&ends.next()?);
                    Some((from, ends.next().map(|p| reader.address(&p))))
                };
                ChangeKind::Exclude(inner.filter_map(|part| range(self, part)).collect())
            }
            Rule::r#move => ChangeKind::Move(self.address(&inner.next()?), self.address(&inner.next()?)),
            Rule::split => {
                let from = self.address(&inner.next()?);
                ChangeKind::Split(from, inner.filter_map(|part| self.split_part(part)).collect())
            }
            Rule::merge => {
                let mut all: Vec<Address> = inner.map(|p| self.address(&p)).collect();
                let to = all.pop()?;
                ChangeKind::Merge(all, to)
            }
            Rule::becomes => {
                let from = inner.next()?;
                let part = match from.as_rule() {
                    Rule::exception_of => {
                        let mut parts = from.into_inner();
                        let name = self.exception_name(parts.next()?);
                        PartName::Exception(name, self.address(&parts.next()?))
                    }
                    _ => PartName::At(self.address(&from)),
                };
                let to = inner.next()?;
                ChangeKind::Becomes(
                    part,
                    match to.as_rule() {
                        Rule::exception_head => NewPlace::Exception(self.exception_head(to)),
                        _ => NewPlace::Item(self.address(&to)),
                    },
                )
            }
            Rule::read_everywhere => {
                let (old, new) = self.read_as(inner.next()?)?;
                ChangeKind::ReadEverywhere(old, new)
            }
            Rule::settle => ChangeKind::Settle(self.name(&inner.next()?), self.name(&inner.next()?)),
            Rule::notes_fall => ChangeKind::NotesFall,
            Rule::limit_was => {
                let name = self.name(&inner.next()?);
                let old = self.quantity(inner.next()?)?;
                ChangeKind::LimitWas(name, old, self.quantity(inner.next()?)?)
            }
            Rule::delay => ChangeKind::Delay {
                at: self.address(&inner.next()?),
                old: self.name(&inner.next()?),
                new: self.name(&inner.next()?),
                clock: self.name(&inner.next()?.into_inner().next()?),
            },
            Rule::waive => {
                let addresses = self.addresses(inner.next()?);
                let case = match inner.next() {
                    Some(case) => Some(self.clauses(case.into_inner().next()?)?),
                    None => None,
                };
                ChangeKind::Waive(addresses, case)
            }
            Rule::release => {
                let addresses = self.addresses(inner.next()?);
                ChangeKind::Release(addresses, self.clauses(inner.next()?)?)
            }
            Rule::start | Rule::lapse => {
                let address = self.address(&inner.next()?);
                let date = self.name(&inner.next()?);
                let clock = self.name(&inner.next()?.into_inner().next()?);
                let case = match inner.next() {
                    Some(case) => Some(self.clauses(case.into_inner().next()?)?),
                    None => None,
                };
                if rule == Rule::start {
                    ChangeKind::Start(address, date, clock, case)
                } else {
                    ChangeKind::Lapse(address, date, clock, case)
                }
            }
            Rule::carry => ChangeKind::Carry(self.addresses(inner.next()?)),
            Rule::declare => {
                let name = self.name(&inner.next()?);
                let thing = self.name(&inner.next()?);
                let ty = self.field_type(inner.next()?)?;
                let (mut modifiers, mut about) = (Vec::new(), None);
                for part in inner {
                    match part.as_rule() {
                        Rule::modifier => modifiers.extend(self.modifier(part)),
                        _ => about = self.text(part),
                    }
                }
                let field = Field { name, ty, modifiers, about, marks: Vec::new(), span: whole };
                ChangeKind::Declare { thing, field }
            }
            Rule::add_after => {
                let name = self.name(&inner.next()?);
                let after = self.address(&inner.next()?);
                let mut section = Section {
                    address: Address { text: name.text.clone(), span: name.span },
                    name: Some(name.clone()),
                    title: None,
                    about: Vec::new(),
                    body: Body::default(),
                    span: whole,
                };
                for part in inner {
                    match part.as_rule() {
                        Rule::text => section.title = self.text(part),
                        Rule::about => section.about = part.into_inner().map(|p| self.name(&p)).collect(),
                        _ => section.body = self.body(part),
                    }
                }
                ChangeKind::AddAfter { name, after, section }
            }
            _ => ChangeKind::Added(Box::new(self.book_item(inner.next()?)?)),
        })
    }

    fn graft(&mut self, inner: pest::iterators::Pairs<Rule>) -> Option<ChangeKind> {
        let (mut what, mut exceptions, mut uncounted) = (Used::Text, Vec::new(), None);
        let (mut at, mut words, mut names) = (None, Definitions::Here, Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::scope_of => what = Used::Scope,
                Rule::used_exception => exceptions.push(self.exception_name(part)),
                Rule::address => at = Some(self.address(&part)),
                Rule::uncounted => uncounted = part.into_inner().next().map(|p| self.address(&p)),
                Rule::brought => words = Definitions::Brought,
                _ => names.push(self.name(&part)),
            }
        }
        if !exceptions.is_empty() {
            what = Used::Exceptions(exceptions, uncounted);
        }
        let mut names = names.into_iter();
        let edition = EditionName { family: names.next()?, year: names.next()? };
        Some(ChangeKind::Use { what, at: at?, edition, words })
    }

    fn exception_name(&self, pair: P) -> ExceptionName {
        let mut name = ExceptionName { number: None, to: Vec::new(), span: self.span(&pair) };
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::exception_number => name.number = Some(self.name(&part)),
                _ => name.to = self.label_runs(part),
            }
        }
        name
    }

    fn split_part(&mut self, pair: P) -> Option<SplitPart> {
        let mut inner = pair.into_inner();
        let mut part = SplitPart { at: self.address(&inner.next()?), title: None, gets: SplitShare::Whole };
        for piece in inner {
            match piece.as_rule() {
                Rule::text => part.title = self.text(piece),
                Rule::taking => part.gets = SplitShare::Items(piece.into_inner().map(|l| self.label(&l)).collect()),
                _ => part.gets = SplitShare::Where(self.clauses(piece.into_inner().next()?)?),
            }
        }
        Some(part)
    }

    fn read_as(&mut self, pair: P) -> Option<(ReadTerm, ReadTerm)> {
        let mut terms = pair.into_inner();
        Some((self.read_term(terms.next()?)?, self.read_term(terms.next()?)?))
    }

    fn read_term(&mut self, pair: P) -> Option<ReadTerm> {
        let inner = pair.into_inner().next()?;
        let span = self.span(&inner);
        Some(match inner.as_rule() {
            Rule::text => ReadTerm::Text(self.text(inner)?, span),
            Rule::section_number => ReadTerm::Number(self.address(&inner.into_inner().next()?)),
            Rule::quantity => ReadTerm::Quantity(self.quantity(inner)?),
            Rule::worded => ReadTerm::Word(self.squeezed(&inner)),
            _ => ReadTerm::Word(self.name(&inner)),
        })
    }

    fn force(pair: P) -> Option<StatementForce> {
        Some(match pair.into_inner().next()?.as_rule() {
            Rule::force_requires => StatementForce::Requires,
            Rule::force_prohibits => StatementForce::Prohibits,
            Rule::force_only => StatementForce::PermitsOnly,
            _ => StatementForce::Notes,
        })
    }

    pub(super) fn addresses(&self, pair: P) -> Vec<Address> {
        pair.into_inner().map(|p| self.address(&p)).collect()
    }

    fn content(&mut self, pair: P) -> Content {
        match pair.as_rule() {
            Rule::items => Content::Items(self.items(pair)),
            _ => Content::Body(self.body(pair)),
        }
    }

    fn edit(&mut self, pair: P) -> Option<Edit> {
        let rule = pair.as_rule();
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        Some(match rule {
            Rule::title_was => Edit::Title(self.text(inner.next()?)?, self.text(inner.next()?)?, span),
            Rule::enough_was => {
                let old = self.enough_labels(inner.next()?);
                Edit::Enough(old, self.enough_labels(inner.next()?), span)
            }
            Rule::add_exception => {
                let head = self.exception_head(inner.next()?);
                let case = self.clauses(inner.next()?.into_inner().next()?)?;
                let kind = match inner.next() {
                    None => StatementKind::Unless(head, case, None),
                    Some(part) if part.as_rule() == Rule::instead => {
                        StatementKind::Exception(head, case, self.clauses(part.into_inner().next()?)?)
                    }
                    Some(part) => StatementKind::Unless(head, case, self.enough(part.into_inner().next()?)),
                };
                Edit::AddException(Box::new(kind), span)
            }
            Rule::add_item => {
                let label = Some(self.label(&inner.next()?));
                let (mut name, mut clauses) = (None, None);
                for part in inner {
                    match part.as_rule() {
                        Rule::naming => name = part.into_inner().next().map(|p| self.name(&p)),
                        _ => clauses = self.clauses(part),
                    }
                }
                Edit::AddItem(ListItem { label, name, clauses: clauses?, marks: Vec::new(), span })
            }
            Rule::add_conditions => Edit::AddConditions(self.clauses(inner.next()?)?),
            Rule::number_was => {
                let mut numbers: Vec<Name> = inner.map(|p| self.name(&p)).collect();
                let new = numbers.pop()?;
                Edit::Number(numbers.pop(), new)
            }
            Rule::strike_exception => {
                let mut name = ExceptionName { number: None, to: Vec::new(), span };
                for part in inner {
                    match part.as_rule() {
                        Rule::exception_number => name.number = Some(self.name(&part)),
                        _ => name.to = self.label_runs(part),
                    }
                }
                Edit::StrikeException(name)
            }
            Rule::add_statement => {
                let mut marks = Vec::new();
                let statement = inner.next()?;
                let span = self.span(&statement);
                let kind = self.statement(statement, &mut marks)?;
                Edit::AddStatement(Box::new(Statement { kind, marks, span }))
            }
            Rule::force_was => {
                let old = Reader::force(inner.next()?)?;
                let new = Reader::force(inner.next()?)?;
                let (mut clauses, mut text) = (None, None);
                for part in inner {
                    match part.as_rule() {
                        Rule::text => text = self.text(part),
                        _ => clauses = self.clauses(part),
                    }
                }
                Edit::Force { old, new, clauses, text, span }
            }
            Rule::read_as => Edit::Read(self.read_term(inner.next()?)?, self.read_term(inner.next()?)?),
            Rule::also => Edit::Also(self.path(inner.next()?), self.values(inner.next()?), span),
            Rule::no_longer => Edit::NoLonger(self.path(inner.next()?), self.values(inner.next()?), span),
            Rule::strike_item => Edit::StrikeItem(inner.map(|l| self.label(&l)).collect()),
            Rule::strike_condition => {
                let clause = self.clause(inner.next()?)?;
                let was = match inner.next() {
                    Some(value) => Some(self.change_value(value)?),
                    None => None,
                };
                Edit::StrikeCondition(clause, was)
            }
            _ => {
                let path = self.path(inner.next()?);
                let old = self.change_value(inner.next()?)?;
                Edit::WasNow(path, old, self.change_value(inner.next()?)?, span)
            }
        })
    }

    fn change_value(&mut self, pair: P) -> Option<ChangeValue> {
        let span = self.span(&pair);
        let inner = pair.into_inner().next()?;
        Some(match inner.as_rule() {
            Rule::compare => {
                let mut parts = inner.into_inner();
                let direction = bound(&parts.next()?.into_inner().next()?);
                ChangeValue::Bound(direction, Box::new(self.expr(parts.next()?)?), span)
            }
            _ => ChangeValue::Values(self.values(inner), span),
        })
    }

    fn table_edit(&mut self, pair: P) -> Option<TableEdit> {
        let rule = pair.as_rule();
        let span = self.span(&pair);
        let inner = pair.into_inner();
        let mut keys = Vec::new();
        let mut cells: Vec<Option<Value>> = Vec::new();
        for part in inner {
            match part.as_rule() {
                Rule::table_row => return Some(TableEdit::AddRow(self.table_row(part)?)),
                Rule::cell_key => keys.push(self.cell_key(part)?),
                _ => {
                    let cell = part.into_inner().next()?;
                    cells.push(match cell.as_rule() {
                        Rule::not_permitted => None,
                        _ => Some(self.value(cell)?),
                    });
                }
            }
        }
        Some(if rule == Rule::strike_row {
            TableEdit::StrikeRow(keys, span)
        } else {
            let mut cells = cells.into_iter();
            TableEdit::CellWas { keys, old: cells.next()?, new: cells.next()?, span }
        })
    }
}
