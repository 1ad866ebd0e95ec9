//! Facts: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::read_clause::P;
use super::recover::Context;
use pest::iterators::Pairs;

impl Reader {
    pub(super) fn facts(&mut self, pairs: &mut Pairs<Rule>) -> FactsFile {
        FactsFile { items: pairs.next().map(|pair| self.fact_items(pair)).unwrap_or_default() }
    }

    fn fact_items(&mut self, pair: P) -> Vec<FactItem> {
        let mut items = Vec::new();
        for pair in pair.into_inner() {
            match pair.as_rule() {
                Rule::EOI => {}
                Rule::after_state => {
                    items.extend(pair.into_inner().next().map(|state| self.fact_items(state)).unwrap_or_default());
                }
                _ => items.extend(self.fact_item(pair)),
            }
        }
        items
    }

    fn before_state(&mut self, pair: P) -> BeforeState {
        match pair.as_rule() {
            Rule::unknown => BeforeState::Unknown,
            Rule::none => BeforeState::Nothing,
            Rule::same => {
                let except = pair.into_inner().next().map(|state| self.fact_items(state));
                BeforeState::SameExcept(except.unwrap_or_default())
            }
            _ => BeforeState::Stated(self.fact_items(pair)),
        }
    }

    pub(super) fn fact_item(&mut self, pair: P) -> Option<FactItem> {
        let span = self.span(&pair);
        match pair.as_rule() {
            Rule::project => {
                let (mut title, mut block) = (None, None);
                for inner in pair.into_inner() {
                    let span = self.span(&inner);
                    match inner.as_rule() {
                        Rule::text => title = self.text(inner).map(|text| Name { text, span }),
                        _ => block = Some(self.block(inner)),
                    }
                }
                block.map(|block| FactItem::Project { title, block, span })
            }
            Rule::instance => self.instance(pair),
            Rule::before_state => {
                pair.into_inner().next().map(|how| FactItem::Before { state: self.before_state(how), span })
            }
            Rule::absent_kind => pair.into_inner().next().map(|p| FactItem::Absent { thing: self.name(&p), span }),
            Rule::maybe_more_of => pair.into_inner().next().map(|p| FactItem::MaybeMore { thing: self.name(&p), span }),
            _ => {
                self.bad(pair, Context::Facts);
                None
            }
        }
    }

    fn instance(&mut self, pair: P) -> Option<FactItem> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let thing = self.name(&inner.next()?);
        let name = self.name(&inner.next()?);
        let block = self.block(inner.next()?);
        Some(FactItem::Instance { thing, name, block, span })
    }

    fn block(&mut self, pair: P) -> Block {
        let mut block = Block { span: self.span(&pair), ..Block::default() };
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::maybe_more => block.more = Some(self.span(&inner)),
                Rule::entry => block.entries.extend(self.entry(inner)),
                _ => self.bad(inner, Context::Block),
            }
        }
        block
    }

    pub(super) fn entry(&mut self, pair: P) -> Option<Entry> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let value = inner.next()?;
        let value = match value.as_rule() {
            Rule::block => EntryValue::Block(self.block(value)),
            _ => {
                let span = self.span(&value);
                EntryValue::Value(self.fact_value(value)?, span)
            }
        };
        Some(Entry { name, value, span })
    }

    pub(super) fn fact_value(&mut self, pair: P) -> Option<FactValue> {
        let inner = pair.into_inner().next()?;
        Some(match inner.as_rule() {
            Rule::unknown => FactValue::Unknown,
            Rule::keyed_facts => FactValue::Keyed(inner.into_inner().filter_map(|p| self.keyed(p)).collect()),
            Rule::not_values => FactValue::Not(inner.into_inner().filter_map(|p| self.fact_range(p)).collect()),
            Rule::bounds => self.bounds(inner),
            _ => {
                let commas = inner.as_str().contains(',') && !inner.as_str().contains('"');
                let ranges: Vec<FactRange> = inner.into_inner().filter_map(|p| self.fact_range(p)).collect();
                if commas && ranges.iter().all(|r| r.through.is_none()) {
                    FactValue::List(ranges.into_iter().map(|r| r.from).collect())
                } else {
                    FactValue::OneOf(ranges)
                }
            }
        })
    }

    fn bounds(&self, pair: P) -> FactValue {
        FactValue::Bounds(
            pair.into_inner()
                .filter_map(|bound| {
                    let mut parts = bound.into_inner();
                    let side = match parts.next()?.as_rule() {
                        Rule::at_least => FactSide::AtLeast,
                        Rule::at_most | Rule::until => FactSide::AtMost,
                        Rule::more_than | Rule::after => FactSide::MoreThan,
                        _ => FactSide::LessThan,
                    };
                    Some(FactBound { side, term: self.fact_term(parts.next()?)? })
                })
                .collect(),
        )
    }

    fn fact_range(&self, pair: P) -> Option<FactRange> {
        let mut inner = pair.into_inner();
        let from = self.fact_term(inner.next()?)?;
        let through = inner.next().and_then(|p| self.fact_term(p));
        Some(FactRange { from, through })
    }

    fn fact_term(&self, pair: P) -> Option<FactTerm> {
        let inner = pair.into_inner().next()?;
        Some(match inner.as_rule() {
            Rule::none => FactTerm::None(self.span(&inner)),
            Rule::date => FactTerm::Date(self.name(&inner)),
            Rule::text => {
                let span = self.span(&inner);
                FactTerm::Text(Name { text: self.text(inner)?, span })
            }
            Rule::measure => FactTerm::Measure(self.measure(inner)),
            Rule::worded_fact => FactTerm::Word(self.squeezed(&inner)),
            _ => FactTerm::Word(self.name(&inner)),
        })
    }

    fn keyed(&mut self, pair: P) -> Option<KeyedFact> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let first = inner.next()?;
        let value = match first.as_rule() {
            Rule::bounds => self.bounds(first),
            _ => FactValue::OneOf(vec![FactRange { from: FactTerm::Measure(self.measure(first)), through: None }]),
        };
        let from = self.name(&inner.next()?);
        let through = inner.next().map(|p| p.into_inner().map(|n| self.name(&n)).collect()).unwrap_or_default();
        Some(KeyedFact { value: Box::new(value), from, through, span })
    }
}
