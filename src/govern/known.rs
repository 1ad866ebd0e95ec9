//! What the facts say of the project, as far as it selects a book.

use super::{DECLARES, PLACE};
use crate::base::number::Number;
use crate::facts::installation::{Cell, Installation, MaybeAbsent};
use crate::ir::schema::{FieldType, PROJECT, Schema};
use crate::syntax::ast::{EntryValue, FactItem, FactTerm, FactValue, FactsFile, Name};
use std::collections::{BTreeMap, BTreeSet};

/// What is known of the project.
#[derive(Debug, Clone, Default)]
pub struct Known {
    pub(super) dates: BTreeMap<String, Reach>,
    /// The values that a choice field may have, where not all of them.
    pub(super) values: BTreeMap<String, Vec<String>>,
    pub(super) declares: Declared,
    /// Dates that may also turn out not to exist.
    pub(super) optional: BTreeSet<String>,
    /// What each field means, in words.
    pub(super) questions: BTreeMap<String, String>,
}

/// Which days a date may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Reach {
    /// The first possible day.
    pub(super) first: Option<i64>,
    /// The last possible day.
    pub(super) last: Option<i64>,
    /// There is no such date.
    pub(super) absent: bool,
}

/// Which edition the project declares where the law leaves a choice.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Declared {
    /// Not known whether anything is declared.
    #[default]
    Unknown,
    /// Known: nothing is declared.
    Nothing,
    /// This edition, such as `nec 2017`.
    Edition(String),
}

impl Known {
    /// What the project of an installation tells. A field that the vocabulary lacks stays unknown.
    pub fn read(schema: &Schema, facts: &Installation) -> Known {
        let mut known = Known::default();
        let Some(project) = facts.project else { return known };
        let object = facts.object(project);
        for (field, cell) in schema.thing(object.thing).fields.iter().zip(&object.cells) {
            known.questions.insert(field.name.clone(), field.about.clone());
            match (&field.ty, cell) {
                (FieldType::Date, cell) => {
                    let sure = matches!(cell, Cell::Number(_) | Cell::Absent | Cell::Range(_, MaybeAbsent::Present));
                    if field.may_be_absent && !sure {
                        known.optional.insert(field.name.clone());
                    }
                    if let Some(reach) = reach(cell) {
                        known.dates.insert(field.name.clone(), reach);
                    }
                }
                (FieldType::OneOf(domain), Cell::Values(set, _)) => {
                    let domain = schema.domain(*domain);
                    let may = domain.values.iter().enumerate().filter(|(at, _)| set & (1 << at) != 0);
                    known.values.insert(field.name.clone(), may.map(|(_, v)| v.clone()).collect());
                }
                (FieldType::Text, Cell::Text(text)) if field.name == DECLARES => {
                    let words: Vec<&str> = text.split_whitespace().collect();
                    known.declares = Declared::Edition(words.join(" "));
                }
                (FieldType::Text, Cell::Absent) if field.name == DECLARES => known.declares = Declared::Nothing,
                _ => {}
            }
        }
        known
    }

    /// Whether nothing is known of a date.
    pub fn lacks_date(&self, clock: &str) -> bool {
        !self.dates.contains_key(clock)
    }

    /// Whether a date may be that day.
    pub fn may_be(&self, clock: &str, day: i64) -> bool {
        self.dates.get(clock).is_none_or(|reach| {
            !reach.absent && reach.first.is_none_or(|first| first <= day) && reach.last.is_none_or(|last| day <= last)
        })
    }
}

/// The days that a cell of a date leaves possible; none if it says nothing.
fn reach(cell: &Cell) -> Option<Reach> {
    let day = |number: &Number| number.to_i64();
    match cell {
        Cell::Number(number) => {
            let day = day(number)?;
            Some(Reach { first: Some(day), last: Some(day), absent: false })
        }
        Cell::Range(range, _) => Some(Reach {
            first: range.low.as_ref().and_then(day).map(|low| low + i64::from(range.above_low)),
            last: range.high.as_ref().and_then(day).map(|high| high - i64::from(range.below_high)),
            absent: false,
        }),
        Cell::Absent => Some(Reach { absent: true, ..Reach::default() }),
        Cell::Unknown | Cell::Values(..) | Cell::Text(_) | Cell::Object(_) | Cell::OneOfObjects(..) | Cell::List(_) => {
            None
        }
    }
}

/// The place that the facts state for the project, with where they do.
pub fn place_stated(files: &[FactsFile]) -> Option<Name> {
    files.iter().flat_map(|file| &file.items).find_map(|item| {
        let FactItem::Project { block, .. } = item else { return None };
        block.entries.iter().filter(|entry| entry.name.text == PLACE).find_map(|entry| match &entry.value {
            EntryValue::Value(FactValue::OneOf(values), _) => match values.as_slice() {
                [only] => match (&only.from, &only.through) {
                    (FactTerm::Word(name) | FactTerm::Text(name), None) => Some(name.clone()),
                    _ => None,
                },
                _ => None,
            },
            _ => None,
        })
    })
}

/// The choice fields of the project: name, and values with groups.
fn choices(schema: &Schema) -> impl Iterator<Item = (&str, &crate::ir::schema::Domain)> {
    let fields = schema.thing_named(PROJECT).map(|project| &schema.thing(project).fields);
    fields.into_iter().flatten().filter_map(|field| match field.ty {
        FieldType::OneOf(domain) => Some((field.name.as_str(), schema.domain(domain))),
        _ => None,
    })
}

/// The values that a word stands for: itself, or those of a group; empty if no choice of the project has it.
pub(super) fn values_of(schema: &Schema, word: &str) -> Vec<String> {
    for (_, domain) in choices(schema) {
        if domain.values.iter().any(|v| v == word) {
            return vec![word.to_string()];
        }
        if let Some((_, set)) = domain.groups.iter().find(|(name, _)| name == word) {
            let of = domain.values.iter().enumerate().filter(|(at, _)| set & (1 << at) != 0);
            return of.map(|(_, value)| value.clone()).collect();
        }
    }
    Vec::new()
}

/// All words that a choice of the project has.
pub(super) fn words(schema: &Schema) -> Vec<String> {
    choices(schema)
        .flat_map(|(_, d)| d.values.iter().cloned().chain(d.groups.iter().map(|(name, _)| name.clone())))
        .collect()
}

/// The choice fields of the project that may have one of these values, each with all its values.
pub(super) fn fields_with(schema: &Schema, values: &[String]) -> Vec<(String, Vec<String>)> {
    choices(schema)
        .filter(|(_, domain)| domain.values.iter().any(|value| values.contains(value)))
        .map(|(field, domain)| (field.to_string(), domain.values.clone()))
        .collect()
}
