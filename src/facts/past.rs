//! The installation before the work: a second state of the same things, paired with the first by name.
//!
//! The state before is unknown unless it is written. Both states are read against one vocabulary, and each may be partial.
//! A thing that the state before surely lacks is new; one that it may have had is unknown.

use super::check::state;
use super::installation::{Cell, Installation, ListCell, ObjectId, Past};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::ir::schema::{FieldType, Schema, ThingId};
use crate::syntax::ast::{BeforeState, Block, EntryValue, FactItem, FactRange, FactTerm, FactValue, FactsFile};
use std::collections::BTreeMap;

/// The installation that several files of facts state together, with its state before the work if they state that.
///
/// Mistakes are collected; what is stated without a mistake is kept. A thing stated twice keeps its first statement.
pub fn install(schema: &Schema, files: &[&FactsFile]) -> (Installation, Diagnostics) {
    let items: Vec<&FactItem> = files.iter().flat_map(|file| &file.items).collect();
    let (mut installation, mut found) = state(schema, &items);
    let mut stated: Option<(&BeforeState, Span)> = None;
    for item in &items {
        let FactItem::Before { state, span } = item else { continue };
        match stated {
            None => stated = Some((state, *span)),
            Some((_, first)) => found.push(
                Diagnostic::error(Code::FactFieldTwice, "the state before the work is given twice")
                    .at(*span, "again here")
                    .at(first, "first here")
                    .help("join them into one"),
            ),
        }
    }
    let Some((state_before, _)) = stated else { return (installation, found) };
    let before: Vec<FactItem> = match state_before {
        BeforeState::Unknown => return (installation, found),
        BeforeState::Nothing => {
            installation.before = vec![Past::New; installation.objects.len()];
            // The project is the work itself; its dates are the same.
            if let Some(project) = installation.project
                && let Some(slot) = installation.before.get_mut(project.index())
            {
                *slot = Past::Was(project);
            }
            installation.project_before = installation.project;
            return (installation, found);
        }
        BeforeState::Stated(items) => items.clone(),
        BeforeState::SameExcept(except) => {
            let now: Vec<FactItem> =
                items.iter().filter(|i| !matches!(i, FactItem::Before { .. })).map(|i| (*i).clone()).collect();
            merged(now, except)
        }
    };
    nested(&before, &mut found);
    let all: Vec<&FactItem> = before.iter().collect();
    let (then, more) = state(schema, &all);
    let news: Vec<Diagnostic> = more.into_iter().filter(|d| !found.iter().any(|known| known == d)).collect();
    found.extend(news);
    join(schema, &mut installation, then);
    (installation, found)
}

/// A state before within a state before.
fn nested(items: &[FactItem], found: &mut Diagnostics) {
    for item in items {
        if let FactItem::Before { span, .. } = item {
            found.push(
                Diagnostic::error(Code::OutOfPlace, "a state before the state before")
                    .at(*span, "not here")
                    .help("there are two states: before the work and after it"),
            );
        }
    }
}

// ------------------------------------------------------------------------------------------------ same except

/// What there is now, but for what is stated of the time before.
fn merged(mut now: Vec<FactItem>, except: &[FactItem]) -> Vec<FactItem> {
    for item in except {
        match item {
            FactItem::Project { block, .. } => {
                let known = now.iter_mut().find_map(|own| match own {
                    FactItem::Project { block, .. } => Some(block),
                    _ => None,
                });
                match known {
                    Some(own) => merge_block(own, block),
                    None => now.push(item.clone()),
                }
            }
            FactItem::Instance { thing, name, block, .. } => {
                let known = now.iter_mut().find_map(|own| match own {
                    FactItem::Instance { thing: t, name: n, block, .. }
                        if t.text == thing.text && n.text == name.text =>
                    {
                        Some(block)
                    }
                    _ => None,
                });
                match known {
                    Some(own) => merge_block(own, block),
                    None => now.push(item.clone()),
                }
            }
            FactItem::Absent { thing, .. } => {
                now.retain(|own| !matches!(own, FactItem::Instance { thing: t, .. } if t.text == thing.text));
                now.push(item.clone());
            }
            FactItem::MaybeMore { .. } | FactItem::Before { .. } => now.push(item.clone()),
        }
    }
    now
}

/// Fields are replaced, members merged; a member that is `none` was not there.
fn merge_block(own: &mut Block, except: &Block) {
    for entry in &except.entries {
        let known = own.entries.iter().position(|e| e.name.text == entry.name.text);
        let gone = is_none(&entry.value);
        match known {
            Some(at) => {
                let Some(held) = own.entries.get_mut(at) else { continue };
                match (&mut held.value, &entry.value) {
                    (EntryValue::Block(own), EntryValue::Block(except)) => merge_block(own, except),
                    (EntryValue::Block(_), _) if gone => {
                        own.entries.remove(at);
                    }
                    (held, new) => *held = new.clone(),
                }
            }
            None if gone => {}
            None => own.entries.push(entry.clone()),
        }
    }
    own.more = except.more.or(own.more);
}

fn is_none(value: &EntryValue) -> bool {
    let EntryValue::Value(FactValue::OneOf(values), _) = value else { return false };
    matches!(values.as_slice(), [FactRange { from: FactTerm::None(_), through: None }])
}

// ------------------------------------------------------------------------------------------------ pairing

/// Puts the objects of the state before behind those of the state after, and pairs them.
fn join(schema: &Schema, now: &mut Installation, then: Installation) {
    let first = u32::try_from(now.objects.len()).unwrap_or(u32::MAX);
    let moved = |id: ObjectId| ObjectId(id.0.saturating_add(first));
    let mut past = vec![Past::Unknown; now.objects.len()];
    // By what it stands in, its thing and its name; two of one name cannot be told apart.
    let mut names: BTreeMap<(Option<ObjectId>, ThingId, &str), Option<ObjectId>> = BTreeMap::new();
    for id in then.stated.iter().flatten() {
        let object = then.object(*id);
        names.entry((object.owner, object.thing, &object.name)).and_modify(|slot| *slot = None).or_insert(Some(*id));
    }
    let mut ids: Vec<ObjectId> = now.stated.iter().flatten().copied().collect();
    // Owners come before what is nested in them.
    ids.sort();
    for id in ids {
        let object = now.object(id);
        let owner = match object.owner {
            None => None,
            Some(owner) if now.anything.contains(&owner) => {
                then.anything.get(now.object(owner).thing.0 as usize).copied()
            }
            Some(owner) => match past.get(owner.index()).copied().unwrap_or(Past::Unknown) {
                Past::Was(was) => Some(was),
                gone => {
                    // What stood in a thing that was not there was not there either.
                    if let Some(slot) = past.get_mut(id.index()) {
                        *slot = gone;
                    }
                    continue;
                }
            },
        };
        let found = match names.get(&(owner, object.thing, &object.name as &str)) {
            Some(Some(was)) => Past::Was(*was),
            Some(None) => Past::Unknown,
            None if may_be_more(schema, &then, (owner, object.thing, &object.name)) => Past::Unknown,
            None => Past::New,
        };
        if let Some(slot) = past.get_mut(id.index()) {
            *slot = found;
        }
    }
    now.before = past
        .into_iter()
        .map(|past| match past {
            Past::Was(id) => Past::Was(moved(id)),
            other => other,
        })
        .collect();
    now.project_before = then.project.map(moved);
    now.objects.extend(then.objects.into_iter().map(|mut object| {
        object.owner = object.owner.map(moved);
        for cell in &mut object.cells {
            match cell {
                Cell::Object(id) => *id = moved(*id),
                Cell::OneOfObjects(ids, _) => ids.iter_mut().for_each(|id| *id = moved(*id)),
                Cell::List(list) => {
                    let ListCell { members, perhaps, more } = list.as_mut();
                    members.iter_mut().chain(perhaps.iter_mut()).for_each(|id| *id = moved(*id));
                    *more = more.map(moved);
                }
                Cell::Unknown | Cell::Absent | Cell::Values(..) | Cell::Number(_) | Cell::Range(..) | Cell::Text(_) => {
                }
            }
        }
        object
    }));
}

/// Whether the state before may have had a thing that it does not state.
fn may_be_more(schema: &Schema, then: &Installation, (owner, thing, name): (Option<ObjectId>, ThingId, &str)) -> bool {
    let possible = || then.possible.get(thing.0 as usize).is_some_and(|p| !p.is_empty());
    // What stands in a field rather than a list has no name to miss it by.
    if name.is_empty() {
        return true;
    }
    let Some(owner) = owner.filter(|owner| !then.anything.contains(owner)) else { return possible() };
    let object = then.object(owner);
    let lists: Vec<&Cell> = schema
        .thing(object.thing)
        .fields
        .iter()
        .zip(&object.cells)
        .filter(|(field, _)| field.ty == FieldType::Many(thing))
        .map(|(_, cell)| cell)
        .collect();
    match lists.is_empty() {
        true => possible(),
        false => lists.iter().any(|cell| match cell {
            Cell::List(list) => list.more.is_some(),
            _ => true,
        }),
    }
}
