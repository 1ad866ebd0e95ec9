//! Duties that an amendment put beside a permission of the book.
//!
//! An amendment that asks for a wire in any case leaves the permission of tubing alone, which stands in another section: whoever
//! reads only one of both is misled. Such pairs are found here by what both read: one choice or yes-no field of one thing, of which
//! the permission allows values that the duty does not take; or by a section that grants several standings, of which the duty takes
//! one. Nothing is decided: the permission stands and the duty binds.

use crate::base::source::{SourceId, Span};
use crate::edition::{Composed, amendments};
use crate::ir::program::{Contested, DutyId, KindId, Program, Test, TestId};
use crate::ir::schema::{FieldId, ThingId, ValueSet};
use crate::syntax::ast::Rulebook;
use std::collections::{BTreeMap, BTreeSet};

/// So deep kinds are followed into one another.
const DEEPEST: u8 = 8;

/// Values by field.
type Values = BTreeMap<FieldId, ValueSet>;

pub(super) fn contested(program: &Program, books: &[(SourceId, &Rulebook)], composed: &Composed) -> Vec<Contested> {
    let own: BTreeSet<&str> = amendments(books).into_iter().map(|set| set.name.text.as_str()).collect();
    let changes: Vec<(&str, Span)> = composed
        .history
        .values()
        .flatten()
        .filter(|event| own.contains(event.document.as_str()))
        .map(|event| (event.document.as_str(), event.span))
        .collect();
    if changes.is_empty() || program.permissions.is_empty() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (duty, id) in program.duties.iter().zip(0u32..) {
        let written = program.origin(duty.origin).span;
        let Some((document, _)) = changes.iter().find(|(_, span)| span.contains(written)) else { continue };
        let mut asked: Vec<(ThingId, u8, TestId)> = vec![(duty.subject, 0, duty.asks)];
        members(program, duty.asks, &mut asked);
        let mut taken: BTreeSet<KindId> = BTreeSet::new();
        uses(program, duty.asks, 0, &mut taken);
        for permission in &program.permissions {
            let Some(kind) = program.kinds.get(permission.kind.index()) else { continue };
            let granted = program.origin(kind.origin).span;
            if changes.iter().any(|(_, span)| span.contains(granted)) {
                continue;
            }
            let other = program.permissions.iter().any(|p| p.address == permission.address && taken.contains(&p.kind));
            if other && !taken.contains(&permission.kind) {
                found.push(Contested {
                    duty: DutyId(id),
                    document: (*document).to_string(),
                    address: permission.address.clone(),
                    standing: kind.name.clone(),
                    values: None,
                });
                continue;
            }
            let allowed =
                Reads { program, var: 0, thing: kind.thing, every: false, besides: permission.kind }.of(kind.test, 0);
            for (thing, var, test) in asked.iter().filter(|(thing, ..)| *thing == kind.thing) {
                let taken =
                    Reads { program, var: *var, thing: *thing, every: true, besides: permission.kind }.of(*test, 0);
                for (field, values) in &taken {
                    let Some(permitted) = allowed.get(field) else { continue };
                    let more = permitted & !values;
                    // What has nothing in common speaks of other members.
                    if more == 0 || permitted & values == 0 {
                        continue;
                    }
                    let one = Contested {
                        duty: DutyId(id),
                        document: (*document).to_string(),
                        address: permission.address.clone(),
                        standing: kind.name.clone(),
                        values: Some((*field, more)),
                    };
                    if !found.contains(&one) {
                        found.push(one);
                    }
                }
            }
        }
    }
    found
}

/// The lists that a duty demands members of, with what it asks of such a member.
fn members(program: &Program, test: TestId, found: &mut Vec<(ThingId, u8, TestId)>) {
    match program.test(test) {
        Test::Some(list, of) | Test::Every(list, of) | Test::Count(list, of, ..) => {
            found.push((list.thing, list.var, *of));
            // `some paths where copper` narrows the list itself.
            found.extend(list.filter.map(|filter| (list.thing, list.var, filter)));
            members(program, *of, found);
        }
        Test::Different(halves) => found.extend(halves.iter().map(|(list, of)| (list.thing, list.var, *of))),
        Test::All(all) | Test::Any(all) => all.iter().for_each(|test| members(program, *test, found)),
        Test::Choose { then, otherwise, .. } => {
            members(program, *then, found);
            members(program, *otherwise, found);
        }
        Test::Always
        | Test::Never
        | Test::Not(_)
        | Test::In(..)
        | Test::TextIs(..)
        | Test::IsNone(_)
        | Test::Compare(..)
        | Test::CompareConst(..)
        | Test::CompareSteps(..)
        | Test::IsKind(..)
        | Test::Reading(..) => {}
    }
}

/// The kinds that a condition reads, through one another.
fn uses(program: &Program, test: TestId, deep: u8, found: &mut BTreeSet<KindId>) {
    if deep > DEEPEST {
        return;
    }
    match program.test(test) {
        Test::IsKind(_, kind) => {
            if found.insert(*kind)
                && let Some(named) = program.kinds.get(kind.index())
            {
                uses(program, named.test, deep + 1, found);
            }
        }
        Test::Not(inner) => uses(program, *inner, deep + 1, found),
        Test::All(all) | Test::Any(all) => all.iter().for_each(|test| uses(program, *test, deep + 1, found)),
        Test::Reading(_, options) => options.iter().for_each(|test| uses(program, *test, deep + 1, found)),
        Test::Choose { case, then, otherwise } => {
            [case, then, otherwise].into_iter().for_each(|test| uses(program, *test, deep + 1, found));
        }
        Test::Some(list, of) | Test::Every(list, of) | Test::Count(list, of, ..) => {
            list.filter.iter().chain([of]).for_each(|test| uses(program, *test, deep + 1, found));
        }
        Test::Different(halves) => {
            for (list, of) in halves.iter() {
                list.filter.iter().chain([of]).for_each(|test| uses(program, *test, deep + 1, found));
            }
        }
        Test::Always
        | Test::Never
        | Test::In(..)
        | Test::TextIs(..)
        | Test::IsNone(_)
        | Test::Compare(..)
        | Test::CompareConst(..)
        | Test::CompareSteps(..) => {}
    }
}

/// Which values of its own fields a condition takes.
struct Reads<'r> {
    program: &'r Program,
    var: u8,
    thing: ThingId,
    /// Only what it takes in every case; else what it takes in some.
    every: bool,
    /// The permission itself: what rests on it does not go beyond it.
    besides: KindId,
}

impl Reads<'_> {
    fn of(&self, test: TestId, deep: u8) -> Values {
        if deep > DEEPEST {
            return Values::new();
        }
        match self.program.test(test) {
            Test::In(place, set) if place.object.var == self.var && place.object.steps.is_empty() => {
                Values::from([(place.field, *set)])
            }
            Test::All(all) => {
                let mut values = Values::new();
                for (field, set) in all.iter().flat_map(|test| self.of(*test, deep + 1)) {
                    values.entry(field).and_modify(|own| *own &= set).or_insert(set);
                }
                values
            }
            Test::Any(any) => self.either(any, deep),
            Test::Choose { then, otherwise, .. } => self.either(&[*then, *otherwise], deep),
            Test::Reading(_, options) => self.either(options, deep),
            Test::IsKind(object, kind)
                if object.var == self.var && object.steps.is_empty() && *kind != self.besides =>
            {
                match self.program.kinds.get(kind.index()) {
                    Some(named) => {
                        let inner = Reads { var: 0, thing: named.thing, ..*self };
                        if named.thing == self.thing { inner.of(named.test, deep + 1) } else { Values::new() }
                    }
                    None => Values::new(),
                }
            }
            Test::In(..)
            | Test::IsKind(..)
            | Test::Always
            | Test::Never
            | Test::Not(_)
            | Test::TextIs(..)
            | Test::IsNone(_)
            | Test::Compare(..)
            | Test::CompareConst(..)
            | Test::CompareSteps(..)
            | Test::Some(..)
            | Test::Every(..)
            | Test::Count(..)
            | Test::Different(_) => Values::new(),
        }
    }

    /// Values of branches of which one holds.
    fn either(&self, branches: &[TestId], deep: u8) -> Values {
        let mut values = Values::new();
        let each: Vec<Values> = branches.iter().map(|test| self.of(*test, deep + 1)).collect();
        for (field, set) in each.iter().flatten() {
            if !self.every || each.iter().all(|branch| branch.contains_key(field)) {
                *values.entry(*field).or_insert(0) |= set;
            }
        }
        values
    }
}
