//! The state of one evaluation: the book, the facts, the readings, and the objects the variables are bound to.

use super::duty::Choices;
use super::known::Known;
use super::truth::{Lack, Truth};
use crate::facts::installation::{Cell, Installation, ListCell, MaybeAbsent, ObjectId};
use crate::ir::program::{KindId, Object, Place, Program, ReadingId, Step};
use crate::ir::schema::{Field, FieldType, ThingId};

/// The most variables that can be bound at once.
const VARIABLES: usize = 16;
/// The deepest chain of kinds and formulas. Checked books have none that deep: they are acyclic.
const DEEPEST: u32 = 200;

pub(super) struct Machine<'p> {
    pub(super) program: &'p Program,
    pub(super) facts: &'p Installation,
    pub(super) choices: &'p Choices,
    pub(super) known: &'p Known,
    pub(super) vars: [ObjectId; VARIABLES],
    pub(super) depth: u32,
    /// Readings that nobody chose and on which some answer so far depended.
    pub(super) mattered: Mattered,
}

/// A set of readings, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Mattered(u128);

impl Mattered {
    pub(super) fn add(&mut self, reading: ReadingId) {
        self.0 |= Self::bit(reading);
    }

    pub(super) fn contains(self, reading: ReadingId) -> bool {
        self.0 & Self::bit(reading) != 0
    }

    /// The last bit stands for all readings beyond it.
    fn bit(reading: ReadingId) -> u128 {
        1 << reading.0.min(127)
    }
}

/// Where a path of references leads.
pub(super) enum Reached<'p> {
    /// To one object, perhaps absent.
    One(ObjectId),
    /// Nowhere.
    Absent,
    /// To an object of which nothing is known.
    Anything(ObjectId, MaybeAbsent),
    /// To one of several.
    Several(&'p [ObjectId], MaybeAbsent),
}

impl<'p> Machine<'p> {
    pub(super) fn new(
        program: &'p Program,
        facts: &'p Installation,
        choices: &'p Choices,
        known: &'p Known,
        subject: ObjectId,
    ) -> Self {
        let mut vars = [ObjectId(0); VARIABLES];
        vars[0] = subject;
        Machine { program, facts, choices, known, vars, depth: 0, mattered: Mattered::default() }
    }

    pub(super) fn field(&self, place: &Place) -> &'p Field {
        self.program.schema.field(place.object.thing, place.field)
    }

    /// Binds a variable.
    #[inline]
    pub(super) fn bind(&mut self, var: u8, object: ObjectId) {
        if let Some(slot) = self.vars.get_mut(usize::from(var)) {
            *slot = object;
        }
    }

    /// Where an object path leads from the variables now bound.
    #[inline]
    pub(super) fn reach(&self, object: &Object) -> Reached<'p> {
        let start = self.vars.get(usize::from(object.var)).copied().unwrap_or(ObjectId(0));
        if object.steps.is_empty() {
            return Reached::One(start);
        }
        self.walk(start, &object.steps)
    }

    /// The object itself, where a path is no more than a variable: by far the commonest.
    #[inline]
    pub(super) fn here(&self, object: &Object) -> Option<ObjectId> {
        match object.steps.is_empty() {
            true => self.vars.get(usize::from(object.var)).copied(),
            false => None,
        }
    }

    fn walk(&self, start: ObjectId, steps: &[Step]) -> Reached<'p> {
        let mut at = start;
        let mut unsure: Option<MaybeAbsent> = None;
        let facts = self.facts;
        for (index, step) in steps.iter().enumerate() {
            match step {
                Step::Project => match facts.project {
                    Some(project) => at = project,
                    None => return Reached::Absent,
                },
                Step::Owner => match facts.object(at).owner {
                    Some(owner) => at = owner,
                    None => return Reached::Absent,
                },
                Step::Follow(field) => {
                    let object = facts.object(at);
                    match &object.cells[field.0 as usize] {
                        Cell::Object(target) => at = *target,
                        Cell::Absent => match unsure {
                            None => return Reached::Absent,
                            Some(_) => return Reached::Absent,
                        },
                        Cell::OneOfObjects(targets, absent) => {
                            if index + 1 == steps.len() && unsure.is_none() {
                                return Reached::Several(targets, *absent);
                            }
                            // Several roads that go on: what lies at their end is not known.
                            return self.anything_behind(steps, index, object.thing, MaybeAbsent::Perhaps);
                        }
                        _ => {
                            let declared = self.program.schema.field(object.thing, *field);
                            let FieldType::Ref(thing) = declared.ty else { return Reached::Absent };
                            at = self.anything(thing);
                            if declared.may_be_absent {
                                unsure = Some(MaybeAbsent::Perhaps);
                            } else if unsure.is_none() {
                                unsure = Some(MaybeAbsent::Present);
                            }
                        }
                    }
                }
            }
        }
        match unsure {
            None => Reached::One(at),
            Some(absent) => Reached::Anything(at, absent),
        }
    }

    fn anything_behind(&self, steps: &[Step], from: usize, thing: ThingId, absent: MaybeAbsent) -> Reached<'p> {
        let mut thing = thing;
        for step in &steps[from..] {
            let next = match step {
                Step::Project => self.facts.project.map(|p| self.facts.object(p).thing),
                Step::Owner => self.facts.object(self.anything(thing)).owner.map(|o| self.facts.object(o).thing),
                Step::Follow(field) => match self.program.schema.field(thing, *field).ty {
                    FieldType::Ref(next) => Some(next),
                    _ => None,
                },
            };
            match next {
                Some(next) => thing = next,
                None => return Reached::Absent,
            }
        }
        Reached::Anything(self.anything(thing), absent)
    }

    pub(super) fn anything(&self, thing: ThingId) -> ObjectId {
        self.facts.anything.get(thing.0 as usize).copied().unwrap_or(ObjectId(0))
    }

    /// Asks each object a path may lead to, and joins the answers. Absence answers no.
    pub(super) fn ask(&mut self, object: &Object, ask: &mut dyn FnMut(&mut Self, ObjectId) -> Truth) -> Truth {
        self.ask_or(object, Truth::No, ask)
    }

    /// Asks each object a path may lead to, and joins the answers with that of absence where that is possible.
    #[inline(never)]
    pub(super) fn ask_or(
        &mut self,
        object: &Object,
        absence: Truth,
        ask: &mut dyn FnMut(&mut Self, ObjectId) -> Truth,
    ) -> Truth {
        match self.reach(object) {
            Reached::One(id) => ask(self, id),
            Reached::Absent => absence,
            Reached::Anything(id, absent) => {
                // Which object it is lacks too: learning more of this one is out of the question.
                let answer = match ask(self, id) {
                    Truth::Unknown(lack) => Truth::Unknown(lack.and(Lack::FACT)),
                    known => known,
                };
                match absent {
                    MaybeAbsent::Present => answer,
                    MaybeAbsent::Perhaps => answer.join(absence, Lack::FACT),
                }
            }
            Reached::Several(ids, absent) => {
                let mut joined: Option<Truth> = match absent {
                    MaybeAbsent::Present => None,
                    MaybeAbsent::Perhaps => Some(absence),
                };
                for id in ids {
                    let answer = ask(self, *id);
                    joined = Some(match joined {
                        None => answer,
                        Some(before) => before.join(answer, Lack::FACT),
                    });
                }
                joined.unwrap_or(absence)
            }
        }
    }

    /// The cell of a field of an object.
    #[inline]
    pub(super) fn cell(&self, object: ObjectId, place: &Place) -> &'p Cell {
        static UNKNOWN: Cell = Cell::Unknown;
        self.facts.object(object).cells.get(place.field.0 as usize).unwrap_or(&UNKNOWN)
    }

    /// The list of an object.
    #[inline]
    pub(super) fn list_cell(&self, object: ObjectId, place: &Place) -> Option<&'p ListCell> {
        match self.cell(object, place) {
            Cell::List(list) => Some(list),
            _ => None,
        }
    }

    /// What an unknown field lacks.
    #[inline(never)]
    pub(super) fn lack_of(&self, place: &Place) -> Lack {
        if self.field(place).judgment.is_some() { Lack::JUDGMENT } else { Lack::FACT }
    }

    /// Evaluates with variable 0 bound to an object and all others free, as kinds and formulas are.
    pub(super) fn within<T>(&mut self, object: ObjectId, otherwise: T, inside: impl FnOnce(&mut Self) -> T) -> T {
        if self.depth >= DEEPEST {
            return otherwise;
        }
        let saved = self.vars;
        self.vars[0] = object;
        self.depth += 1;
        let result = inside(self);
        self.depth -= 1;
        self.vars = saved;
        result
    }
}

/// Whether an object is of a kind.
pub fn qualifies(program: &Program, facts: &Installation, choices: &Choices, kind: KindId, object: ObjectId) -> Truth {
    match program.kinds.get(kind.index()) {
        Some(kind) => Machine::new(program, facts, choices, &Known::default(), object).test(kind.test),
        None => Truth::Unknown(Lack::GAP),
    }
}
