//! From conditions to verdicts: does it apply, what does it ask, is it satisfied.

use super::explain::{Explanation, explained, explained_kind};
use super::known::Known;
use super::machine::{Machine, Mattered};
use super::truth::{Lack, Truth};
use crate::facts::installation::{Installation, ObjectId, Standing};
use crate::ir::program::{Duty, DutyId, KindId, Program, ReadingId};
use crate::ir::schema::ThingId;
use std::collections::BTreeSet;

/// The most reading assignments tried for one duty; beyond that readings are joined where they stand.
const MOST_ASSIGNMENTS: usize = 64;

/// A verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Applies, and is satisfied whatever the unknowns turn out to be.
    Met,
    /// Applies, and is violated whatever the unknowns turn out to be.
    NotMet,
    /// The scope is known not to hold.
    NotApplicable,
    /// Unknown facts, a gap in the book, or a reading matter.
    Undecided,
    /// Only judgments not on record stand between the facts and a verdict.
    ForTheAuthority,
}

impl Verdict {
    /// Whether no unknown can change it.
    pub fn is_definite(self) -> bool {
        matches!(self, Verdict::Met | Verdict::NotMet | Verdict::NotApplicable)
    }
}

/// What is certain of a verdict that is not definite.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lean {
    /// Nothing.
    None,
    /// It may not apply, but if it does it is satisfied.
    NoViolationPossible,
    /// It may not apply, but if it does it is violated.
    ViolatedIfItApplies,
}

/// What satisfied a duty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum By {
    /// What it asks.
    Main,
    /// The relief with that position.
    Relief(usize),
    /// Several reliefs together, none of them alone for certain.
    Together,
}

/// The outcome of one duty on one subject.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outcome {
    /// The verdict.
    pub verdict: Verdict,
    /// What is certain of an indefinite one.
    pub lean: Lean,
    /// What an indefinite one lacks.
    pub lack: Lack,
    /// What satisfied it, if it is met.
    pub by: Option<By>,
}

/// Chosen readings.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choices {
    chosen: Vec<Option<usize>>,
}

impl Choices {
    /// None chosen.
    pub fn none(program: &Program) -> Choices {
        Choices { chosen: vec![None; program.readings.len()] }
    }

    /// Chooses an option of a reading, both by position.
    pub fn set(&mut self, reading: usize, option: usize) {
        if let Some(slot) = self.chosen.get_mut(reading) {
            *slot = Some(option);
        }
    }

    /// The chosen option of a reading.
    pub fn get(&self, reading: ReadingId) -> Option<usize> {
        self.chosen.get(reading.index()).copied().flatten()
    }
}

/// A duty judged on a subject.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Finding {
    /// The duty.
    pub duty: DutyId,
    /// The thing judged.
    pub subject: ObjectId,
    /// Whether the facts state it or it only may exist.
    pub standing: Standing,
    /// The outcome.
    pub outcome: Outcome,
}

/// Judges every duty on every subject, stated and possible, in duty order then subject order; not on what is
/// [`not_looked_at`].
pub fn inspect(program: &Program, facts: &Installation, choices: &Choices) -> Vec<Finding> {
    Judge::new(program, facts, choices).inspect()
}

/// Judges every duty on every stated subject, in duty order then subject order.
pub fn inspect_stated(program: &Program, facts: &Installation, choices: &Choices) -> Vec<Finding> {
    let judge = Judge::new(program, facts, choices);
    let mut findings = Vec::new();
    for (at, duty) in program.duties.iter().enumerate() {
        findings.extend(judge.stated(DutyId(u32::try_from(at).unwrap_or(u32::MAX)), duty));
    }
    findings
}

/// The things asked for only where described, of which a duty of the book speaks and the facts describe none.
pub fn not_looked_at(program: &Program, facts: &Installation) -> BTreeSet<ThingId> {
    let subjects: BTreeSet<ThingId> = program.duties.iter().map(|duty| duty.subject).collect();
    let possible = subjects.into_iter().filter_map(|thing| facts.possible.get(usize::from(thing.0)));
    possible.flatten().filter_map(|subject| facts.not_looked_at(&program.schema, *subject)).collect()
}

/// The outcome for a subject that may not exist: nothing definite but that no such subject would be bound.
fn if_it_exists(outcome: Outcome) -> Outcome {
    let lean = match outcome.verdict {
        Verdict::Met => Lean::NoViolationPossible,
        Verdict::NotMet => Lean::ViolatedIfItApplies,
        Verdict::NotApplicable => return outcome,
        Verdict::Undecided | Verdict::ForTheAuthority => outcome.lean,
    };
    open_outcome(lean, outcome.lack.and(Lack::FACT))
}

/// Judges one duty on one subject.
pub fn judge(program: &Program, facts: &Installation, choices: &Choices, duty: DutyId, subject: ObjectId) -> Outcome {
    Judge { program, facts, choices, known: Known::default() }.judge(duty, subject)
}

/// Judges duties of one book on one installation, without asking the same twice.
#[derive(Debug)]
pub struct Judge<'p> {
    program: &'p Program,
    facts: &'p Installation,
    choices: &'p Choices,
    known: Known,
}

impl<'p> Judge<'p> {
    /// For these facts under these chosen readings.
    pub fn new(program: &'p Program, facts: &'p Installation, choices: &'p Choices) -> Judge<'p> {
        Judge { program, facts, choices, known: Known::of(program, facts) }
    }

    /// Judges every duty on every subject, stated and possible, in duty order then subject order; not on what is
    /// [`not_looked_at`].
    pub fn inspect(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        for (at, duty) in self.program.duties.iter().enumerate() {
            let id = DutyId(u32::try_from(at).unwrap_or(u32::MAX));
            findings.extend(self.stated(id, duty));
            for subject in self.facts.possible.get(usize::from(duty.subject.0)).into_iter().flatten().copied() {
                if self.facts.not_looked_at(&self.program.schema, subject).is_some() {
                    continue;
                }
                let outcome = if_it_exists(self.judge(id, subject));
                findings.push(Finding { duty: id, subject, standing: Standing::Possible, outcome });
            }
        }
        findings
    }

    /// Explains a finding of its own.
    pub fn explain(&self, finding: &Finding) -> Explanation<'p> {
        explained(self.program, self.facts, self.choices, &self.known, finding)
    }

    /// Explains whether an object is of a kind.
    pub fn explain_kind(&self, kind: KindId, object: ObjectId) -> Explanation<'p> {
        explained_kind(self.program, self.facts, self.choices, &self.known, kind, object)
    }

    fn stated(&self, id: DutyId, duty: &Duty) -> impl Iterator<Item = Finding> {
        let subjects = self.facts.stated.get(usize::from(duty.subject.0)).into_iter().flatten().copied();
        subjects.map(move |subject| {
            let outcome = self.judge(id, subject);
            Finding { duty: id, subject, standing: Standing::Stated, outcome }
        })
    }

    /// Judges one duty on one subject.
    pub fn judge(&self, duty: DutyId, subject: ObjectId) -> Outcome {
        let Some(duty) = self.program.duties.get(duty.index()) else {
            return Outcome { verdict: Verdict::Undecided, lean: Lean::None, lack: Lack::GAP, by: None };
        };
        let (joined, mattered) = self.under(self.choices, duty, subject);
        if mattered == Mattered::default() || settled(&joined) {
            return joined;
        }
        let open: Vec<ReadingId> =
            duty.readings.iter().copied().filter(|reading| mattered.contains(*reading)).collect();
        let mut assignment = self.choices.clone();
        let mut whole: Option<Outcome> = None;
        let mut next = first_assignment(self.program, &open, &mut assignment);
        while next {
            let (outcome, _) = self.under(&assignment, duty, subject);
            whole = Some(match whole {
                None => outcome,
                Some(before) => either(before, outcome),
            });
            next = next_assignment(self.program, &open, &mut assignment);
        }
        match whole {
            Some(whole) if whole.verdict.is_definite() => whole,
            // Readings that agree so far may come apart once more is known, so what lacks where they are joined lacks here.
            Some(whole) => open_outcome(whole.lean, whole.lack.and(joined.lack)),
            None => joined,
        }
    }

    /// The outcome with open readings joined where they stand, and those on which an answer depended.
    fn under(&self, choices: &Choices, duty: &Duty, subject: ObjectId) -> (Outcome, Mattered) {
        let mut machine = Machine::new(self.program, self.facts, choices, &self.known, subject);
        let applies = machine.test(duty.applies);
        let outcome = |verdict, by| Outcome { verdict, lean: Lean::None, lack: Lack::NOTHING, by };
        if applies == Truth::No {
            return (outcome(Verdict::NotApplicable, None), machine.mattered);
        }
        let (satisfied, by) = satisfied(&mut machine, duty);
        let outcome = match (applies, satisfied) {
            (Truth::Yes, Truth::Yes) => outcome(Verdict::Met, by),
            (Truth::Yes, Truth::No) => outcome(Verdict::NotMet, None),
            (Truth::Yes, Truth::Unknown(lack)) => open_outcome(Lean::None, lack),
            (applies, Truth::Yes) => open_outcome(Lean::NoViolationPossible, applies.lack()),
            (applies, Truth::No) => open_outcome(Lean::ViolatedIfItApplies, applies.lack()),
            (applies, satisfied) => open_outcome(Lean::None, applies.lack().and(satisfied.lack())),
        };
        (outcome, machine.mattered)
    }
}

/// Whether an outcome reached with open readings joined where they stand is the outcome under each of them: what is
/// definite while a reading is open stays so once it is chosen. A relief is not final, for under some reading what is
/// asked may hold by itself. (Where no open reading mattered on the way, every choice of them takes the same way.)
fn settled(joined: &Outcome) -> bool {
    match joined.verdict {
        Verdict::NotMet | Verdict::NotApplicable => true,
        Verdict::Met => joined.by == Some(By::Main),
        Verdict::Undecided | Verdict::ForTheAuthority => false,
    }
}

/// How many options a reading has.
fn options(program: &Program, reading: ReadingId) -> usize {
    program.readings.get(reading.index()).map_or(0, |r| r.options.len())
}

/// Chooses the first option of every open reading; false if there are too many ways to choose.
pub(super) fn first_assignment(program: &Program, open: &[ReadingId], assignment: &mut Choices) -> bool {
    let ways = open.iter().try_fold(1usize, |ways, reading| ways.checked_mul(options(program, *reading)));
    if !ways.is_some_and(|ways| (1..=MOST_ASSIGNMENTS).contains(&ways)) {
        return false;
    }
    for reading in open {
        assignment.set(reading.index(), 0);
    }
    true
}

/// Goes on to the next way to choose, the last reading first; false behind the last one.
fn next_assignment(program: &Program, open: &[ReadingId], assignment: &mut Choices) -> bool {
    for reading in open.iter().rev() {
        let next = assignment.get(*reading).map_or(0, |option| option + 1);
        if next < options(program, *reading) {
            assignment.set(reading.index(), next);
            return true;
        }
        assignment.set(reading.index(), 0);
    }
    false
}

/// The readings a duty depends on that nobody chose.
pub(super) fn open_readings(duty: &Duty, choices: &Choices) -> Vec<ReadingId> {
    duty.readings.iter().copied().filter(|r| choices.get(*r).is_none()).collect()
}

/// The outcome that holds under both of two readings.
fn either(a: Outcome, b: Outcome) -> Outcome {
    let by = if a.by == b.by { a.by } else { None };
    if a.verdict == b.verdict && a.verdict.is_definite() {
        return Outcome { by, ..a };
    }
    let lack = a.lack.and(b.lack);
    let harmless =
        |o: &Outcome| matches!(o.verdict, Verdict::Met | Verdict::NotApplicable) || o.lean == Lean::NoViolationPossible;
    let harmful = |o: &Outcome| {
        matches!(o.verdict, Verdict::NotMet | Verdict::NotApplicable) || o.lean == Lean::ViolatedIfItApplies
    };
    let lean = if harmless(&a) && harmless(&b) {
        Lean::NoViolationPossible
    } else if harmful(&a) && harmful(&b) {
        Lean::ViolatedIfItApplies
    } else {
        Lean::None
    };
    if a.verdict == b.verdict {
        return open_outcome(lean, lack);
    }
    Outcome { verdict: Verdict::Undecided, lean, lack: lack.and(Lack::READING), by: None }
}

fn open_outcome(lean: Lean, lack: Lack) -> Outcome {
    let verdict = if lack == Lack::JUDGMENT { Verdict::ForTheAuthority } else { Verdict::Undecided };
    Outcome { verdict, lean, lack, by: None }
}

/// Whether what is asked, or a relief, holds; and which.
pub(super) fn satisfied(machine: &mut Machine, duty: &Duty) -> (Truth, Option<By>) {
    let main = machine.test(duty.asks);
    if main == Truth::Yes {
        return (Truth::Yes, Some(By::Main));
    }
    let mut answer = main;
    for (at, relief) in duty.reliefs.iter().enumerate() {
        let held = machine.test(relief.test);
        if held == Truth::Yes {
            return (Truth::Yes, Some(By::Relief(at)));
        }
        answer = answer.or(held);
    }
    (answer, (answer == Truth::Yes).then_some(By::Together))
}
