//! Different paths: one member for each half, no member twice.
//!
//! Yes if a matching exists on certain edges, no if none exists with every unknown edge counted, else unknown.

use super::machine::{Machine, Reached};
use super::truth::{Lack, Truth};
use crate::facts::installation::{MaybeAbsent, ObjectId};
use crate::ir::program::{List, Object, TestId};

/// The most halves one demand may have; more than a handful never occurs.
const MOST_HALVES: usize = 8;

pub(super) fn different(machine: &mut Machine, halves: &[(List, TestId)]) -> Truth {
    if halves.len() > MOST_HALVES {
        return Truth::Unknown(Lack::GAP);
    }
    settled(machine, halves, &mut Vec::new())
}

/// Where an owner of a list leads: to an object, or nowhere.
type Settled<'h> = (&'h Object, Option<ObjectId>);

/// Halves may look for their members at an object that is one of several: each is tried, and the answers joined.
fn settled<'h>(machine: &mut Machine, halves: &'h [(List, TestId)], owners: &mut Vec<Settled<'h>>) -> Truth {
    for (list, _) in halves {
        let owner = &list.place.object;
        if owners.iter().any(|(known, _)| *known == owner) {
            continue;
        }
        let candidates: Vec<Option<ObjectId>> = match machine.reach(owner) {
            Reached::One(object) => vec![Some(object)],
            Reached::Absent => vec![None],
            Reached::Anything(object, MaybeAbsent::Present) => vec![Some(object)],
            Reached::Anything(object, MaybeAbsent::Perhaps) => vec![Some(object), None],
            Reached::Several(objects, absent) => {
                let none = (absent == MaybeAbsent::Perhaps).then_some(None);
                objects.iter().copied().map(Some).chain(none).collect()
            }
        };
        let mut joined: Option<Truth> = None;
        for candidate in candidates {
            owners.push((owner, candidate));
            let answer = settled(machine, halves, owners);
            owners.pop();
            joined = Some(match joined {
                None => answer,
                Some(before) => before.join(answer, Lack::FACT),
            });
        }
        return joined.unwrap_or(Truth::No);
    }
    matched(machine, halves, owners)
}

fn matched(machine: &mut Machine, halves: &[(List, TestId)], owners: &[Settled]) -> Truth {
    // Pool of members: stated ones once, and as many unlisted ones of each list as there are halves.
    let mut pool: Vec<(ObjectId, usize)> = Vec::new();
    let mut edges: Vec<Vec<(usize, Truth)>> = Vec::new();
    for (list, test) in halves {
        let mut own = Vec::new();
        let owner = owners.iter().find(|(known, _)| *known == &list.place.object).and_then(|(_, object)| *object);
        let Some(object) = owner else {
            edges.push(own);
            continue;
        };
        let Some(cell) = machine.list_cell(object, &list.place) else { return Truth::Unknown(Lack::FACT) };
        for member in &cell.members {
            let answer = machine.passes(list, *test, *member);
            own.push((place_in(&mut pool, *member, 0), answer));
        }
        for member in &cell.perhaps {
            let answer = machine.passes(list, *test, *member).and(Truth::Unknown(Lack::FACT));
            own.push((place_in(&mut pool, *member, 0), answer));
        }
        if let Some(more) = cell.more {
            let answer = machine.passes(list, *test, more).and(Truth::Unknown(Lack::FACT));
            for copy in 0..halves.len() {
                own.push((place_in(&mut pool, more, copy), answer));
            }
        }
        edges.push(own);
    }
    if matches(&edges, pool.len(), |answer| answer == Truth::Yes) {
        return Truth::Yes;
    }
    if !matches(&edges, pool.len(), |answer| answer != Truth::No) {
        return Truth::No;
    }
    Truth::Unknown(edges.iter().flatten().fold(Lack::NOTHING, |lack, (_, answer)| lack.and(answer.lack())))
}

fn place_in(pool: &mut Vec<(ObjectId, usize)>, member: ObjectId, copy: usize) -> usize {
    match pool.iter().position(|known| *known == (member, copy)) {
        Some(at) => at,
        None => {
            pool.push((member, copy));
            pool.len() - 1
        }
    }
}

/// Whether every half finds a member of its own, by augmenting paths.
fn matches(edges: &[Vec<(usize, Truth)>], members: usize, counts: impl Fn(Truth) -> bool) -> bool {
    let mut taken: Vec<Option<usize>> = vec![None; members];
    (0..edges.len()).all(|half| augment(half, edges, &counts, &mut taken, &mut vec![false; members]))
}

fn augment(
    half: usize,
    edges: &[Vec<(usize, Truth)>],
    counts: &impl Fn(Truth) -> bool,
    taken: &mut Vec<Option<usize>>,
    tried: &mut Vec<bool>,
) -> bool {
    for (member, answer) in &edges[half] {
        if !counts(*answer) || tried[*member] {
            continue;
        }
        tried[*member] = true;
        let free = match taken[*member] {
            None => true,
            Some(other) => augment(other, edges, counts, taken, tried),
        };
        if free {
            taken[*member] = Some(half);
            return true;
        }
    }
    false
}
