//! The facts that are missing: all that undecided branches leave open, so that knowing them decides, whatever they are.
//!
//! A branch decided by another part of itself adds nothing. What lies behind an unknown reference cannot be named before the
//! reference is known; then the reference alone is missing, and it may lead on. Apart from reasons, which may be cut short.

use super::explain::{Missing, Open};
use super::machine::{Machine, Reached};
use super::truth::Truth;
use super::value::Value;
use crate::facts::installation::{Cell, MaybeAbsent, ObjectId, Past};
use crate::ir::program::{Duty, Expr, ExprId, List, Object, Place, Step, Test, TestId};
use crate::ir::schema::{FieldId, FieldType};
use std::collections::BTreeSet;

/// What is asked of a member.
#[derive(Clone, Copy)]
enum Asked {
    /// To be meant and to pass the test; one that fails does not matter.
    Passing(TestId),
    /// To pass the test if it is meant; one that does, or is not meant, does not matter.
    Holding(TestId),
    /// To be meant.
    Meant,
}

pub(super) struct Seeker<'p> {
    machine: Machine<'p>,
    seen: BTreeSet<(ObjectId, FieldId)>,
    found: Vec<Missing>,
}

impl<'p> Seeker<'p> {
    pub(super) fn new(machine: Machine<'p>) -> Seeker<'p> {
        Seeker { machine, seen: BTreeSet::new(), found: Vec::new() }
    }

    /// What keeps a duty undecided: whether it applies first, then what satisfies it.
    pub(super) fn duty(mut self, duty: &Duty) -> Vec<Missing> {
        let applies = self.machine.test(duty.applies);
        if applies == Truth::No {
            return self.found;
        }
        self.test(duty.applies);
        let (satisfied, _) = super::duty::satisfied(&mut self.machine, duty);
        if !satisfied.is_known() {
            self.test(duty.asks);
            for relief in &duty.reliefs {
                self.test(relief.test);
            }
        }
        self.found
    }

    /// What keeps a condition undecided.
    pub(super) fn condition(mut self, test: TestId) -> Vec<Missing> {
        self.test(test);
        self.found
    }

    /// What keeps a value open.
    pub(super) fn expression(mut self, id: ExprId) -> Vec<Missing> {
        self.value(id);
        self.found
    }

    fn test(&mut self, id: TestId) {
        if self.machine.test(id).is_known() {
            return;
        }
        let program = self.machine.program;
        match program.test(id) {
            Test::Always | Test::Never => {}
            Test::Not(inner) => self.test(*inner),
            Test::All(inner) | Test::Any(inner) | Test::Reading(_, inner) => {
                let chosen = match program.test(id) {
                    Test::Reading(reading, _) => self.machine.choices.get(*reading),
                    _ => None,
                };
                for (at, test) in inner.iter().enumerate() {
                    if chosen.is_none_or(|chosen| chosen == at) {
                        self.test(*test);
                    }
                }
            }
            Test::Choose { case, then, otherwise } => match self.machine.test(*case) {
                Truth::Yes => self.test(*then),
                Truth::No => self.test(*otherwise),
                Truth::Unknown(_) => {
                    self.test(*case);
                    self.test(*then);
                    self.test(*otherwise);
                }
            },
            Test::In(place, _) | Test::TextIs(place, _) | Test::IsNone(place) | Test::CompareConst(place, ..) => {
                self.place(place);
            }
            Test::Compare(left, _, right) | Test::CompareSteps(left, _, right) => {
                self.value(*left);
                self.value(*right);
            }
            Test::IsKind(object, kind) => {
                if let Some(kind) = program.kinds.get(kind.index()) {
                    self.each(object, |s, id| s.within(id, |s| s.test(kind.test)));
                }
            }
            Test::Some(list, test) => {
                self.each(&list.place.object, |s, owner| s.members(owner, list, Asked::Passing(*test)));
            }
            Test::Every(list, test) => {
                self.each(&list.place.object, |s, owner| s.members(owner, list, Asked::Holding(*test)));
            }
            Test::Count(list, test, _, count) => {
                self.value(*count);
                self.each(&list.place.object, |s, owner| s.members(owner, list, Asked::Passing(*test)));
            }
            Test::Different(halves) => {
                for (list, test) in halves {
                    self.each(&list.place.object, |s, owner| s.members(owner, list, Asked::Passing(*test)));
                }
            }
        }
    }

    fn within(&mut self, object: ObjectId, inside: impl FnOnce(&mut Self)) {
        let (vars, depth) = (self.machine.vars, self.machine.depth);
        self.machine.bind(0, object);
        self.machine.depth += 1;
        inside(self);
        self.machine.vars = vars;
        self.machine.depth = depth;
    }

    /// Each nameable object a path may lead to; first the references on the way that are not known.
    fn each(&mut self, object: &Object, mut look: impl FnMut(&mut Self, ObjectId)) {
        match self.machine.reach(object) {
            Reached::One(id) => look(self, id),
            Reached::Absent => {}
            Reached::Anything(..) => self.reference(object),
            Reached::Several(ids, _) => {
                self.reference(object);
                for id in ids {
                    look(self, *id);
                }
            }
        }
    }

    /// The first reference on a path that is not known.
    fn reference(&mut self, object: &Object) {
        let facts = self.machine.facts;
        let mut at = self.machine.vars.get(usize::from(object.var)).copied().unwrap_or(ObjectId(0));
        for step in &object.steps {
            let next = match step {
                Step::Owner => facts.object(at).owner,
                Step::Project => self.machine.project,
                Step::Follow(field) => match facts.object(at).cells.get(usize::from(field.0)) {
                    Some(Cell::Object(next)) => Some(*next),
                    _ => {
                        self.field(at, *field);
                        None
                    }
                },
            };
            match next {
                Some(next) => at = next,
                None => return,
            }
        }
    }

    fn place(&mut self, place: &Place) {
        self.each(&place.object, |s, id| s.field(id, place.field));
    }

    /// The members that keep what is asked of them open; and the list, if others may matter.
    fn members(&mut self, owner: ObjectId, list: &List, asked: Asked) {
        let Some(cell) = self.machine.list_cell(owner, &list.place) else { return };
        let saved = self.machine.vars;
        for (at, member) in cell.members.iter().chain(&cell.perhaps).enumerate() {
            let (own, matters) = self.asked(list, *member, asked);
            if matters && at >= cell.members.len() {
                self.membership(owner, list, *member);
            }
            if !own.is_known() {
                if let Some(filter) = list.filter {
                    self.test(filter);
                }
                if let Asked::Passing(test) | Asked::Holding(test) = asked {
                    self.test(test);
                }
            }
        }
        if let Some(more) = cell.more {
            let (_, matters) = self.asked(list, more, asked);
            self.machine.vars = saved;
            if matters {
                self.others(owner, list);
            }
        }
        self.machine.vars = saved;
    }

    /// The answer of one member, and whether it matters that it is a member.
    fn asked(&mut self, list: &List, member: ObjectId, asked: Asked) -> (Truth, bool) {
        let meant = self.machine.meant(list, member);
        let (own, idle) = match (asked, meant) {
            (Asked::Passing(_) | Asked::Meant, Truth::No) => (Truth::No, Truth::No),
            (Asked::Passing(test), meant) => (meant.and(self.machine.test(test)), Truth::No),
            (Asked::Meant, meant) => (meant, Truth::No),
            (Asked::Holding(_), Truth::No) => (Truth::Yes, Truth::Yes),
            (Asked::Holding(test), meant) => (meant.not().or(self.machine.test(test)), Truth::Yes),
        };
        (own, own != idle)
    }

    /// The fact that makes something a member of a computed list.
    fn membership(&mut self, owner: ObjectId, list: &List, member: ObjectId) {
        match self.machine.field(&list.place).ty {
            FieldType::Inverse(_, by) => self.field(member, by),
            _ => self.others(owner, list),
        }
    }

    /// The members and summands of a fold.
    fn fold(&mut self, owner: ObjectId, list: &List, of: Option<ExprId>) {
        self.members(owner, list, Asked::Meant);
        let Some(of) = of else { return };
        let Some(cell) = self.machine.list_cell(owner, &list.place) else { return };
        let saved = self.machine.vars;
        for member in cell.members.iter().chain(&cell.perhaps) {
            if self.machine.meant(list, *member) != Truth::No {
                self.value(of);
            }
        }
        self.machine.vars = saved;
    }

    fn value(&mut self, id: ExprId) {
        let Value::Spread(_) = self.machine.value(id) else { return };
        let program = self.machine.program;
        match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) => {}
            Expr::Read(place) => self.place(place),
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) | Expr::Beyond(a, b) => {
                self.value(*a);
                self.value(*b);
            }
            Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) => self.value(*a),
            Expr::Before(of, variables) => self.before(*of, *variables),
            Expr::Count(list) => self.each(&list.place.object, |s, owner| s.fold(owner, list, None)),
            Expr::Sum { list, of, .. } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                self.each(&list.place.object, |s, owner| s.fold(owner, list, Some(*of)));
            }
            Expr::Lookup(_, keys) => keys.iter().for_each(|key| self.value(*key)),
            Expr::Provided { case, then, otherwise } => {
                let answer = self.machine.test(*case);
                if !answer.is_known() {
                    self.test(*case);
                }
                if answer != Truth::No {
                    self.value(*then);
                }
                if answer != Truth::Yes {
                    self.value(*otherwise);
                }
            }
            Expr::Larger(a, b) | Expr::Smaller(a, b) => {
                self.value(*a);
                self.value(*b);
            }
            Expr::Next(_, _, of) => self.value(*of),
            Expr::FirstRow(row) => {
                row.keys.iter().chain(&row.column).chain([&row.limit]).for_each(|key| self.value(*key));
            }
            Expr::Reading(reading, options) => match self.machine.choices.get(*reading) {
                Some(chosen) => options.get(chosen).into_iter().for_each(|option| self.value(*option)),
                None => options.iter().for_each(|option| self.value(*option)),
            },
            Expr::Formula(object, formula) => {
                if let Some(formula) = program.formulas.get(formula.index()) {
                    self.each(object, |s, id| s.within(id, |s| s.value(formula.expr)));
                }
            }
        }
    }

    /// How things were before the work, or whether they were there.
    fn before(&mut self, of: ExprId, variables: u8) {
        let facts = self.machine.facts;
        let saved = self.machine.vars;
        let mut known = true;
        for var in 0..usize::from(variables) {
            let Some(object) = saved.get(var).copied() else { continue };
            match facts.before(object) {
                Past::Was(then) => self.machine.vars[var] = then,
                Past::New => {}
                Past::Unknown => {
                    known = false;
                    self.unknown_before(object);
                }
            }
        }
        if known {
            let project = std::mem::replace(&mut self.machine.project, facts.project_before);
            self.value(of);
            self.machine.project = project;
        }
        self.machine.vars = saved;
    }

    fn unknown_before(&mut self, object: ObjectId) {
        // No field of the schema stands for it: the number behind the last one does.
        let field = FieldId(u16::MAX);
        if !self.seen.insert((object, field)) {
            return;
        }
        self.found.push(Missing { object, field, open: Open::Before });
    }

    /// A field, if it is not known and belongs to something stated.
    fn field(&mut self, object: ObjectId, field: FieldId) {
        let facts = self.machine.facts;
        let stated = facts.object(object);
        let known = match stated.cells.get(usize::from(field.0)) {
            Some(Cell::Values(set, absent)) => set.count_ones() == 1 && *absent == MaybeAbsent::Present,
            Some(Cell::Unknown | Cell::Range(..) | Cell::OneOfObjects(..)) => false,
            Some(Cell::Absent | Cell::Number(_) | Cell::Text(_) | Cell::Object(_) | Cell::List(_)) | None => true,
        };
        if known || !self.seen.insert((object, field)) {
            return;
        }
        self.found.push(Missing { object, field, open: Open::Value });
    }

    /// A list that is not the whole story.
    fn others(&mut self, owner: ObjectId, list: &List) {
        if !self.seen.insert((owner, list.place.field)) {
            return;
        }
        self.found.push(Missing { object: owner, field: list.place.field, open: Open::Others });
    }
}
