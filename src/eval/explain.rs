//! Why a verdict is what it is: the deciding branches only, the facts relied on, and the facts that are missing.
//!
//! Made on demand, by asking again along the tree. For an undecided verdict the unknown leaves of undecided branches are
//! the facts without which it stays open whatever the answers; a branch decided by another part of itself adds none.

use super::duty::{By, Choices, Finding, Verdict, first_assignment, judge, open_readings};
use super::known::Known;
use super::machine::{Machine, Reached};
use super::missing::Seeker;
use super::truth::{Lack, Truth};
use super::value::{Over, Value};
use super::words::Words;
use crate::base::number::Number;
use crate::facts::installation::{Cell, Installation, MaybeAbsent, ObjectId};
use crate::ir::program::{
    Duty, DutyId, Expr, ExprId, KindId, List, Mark, Object, Origin, OriginId, Place, Program, ReadingId, Relief, Step,
    TableId, Test, TestId,
};
use crate::ir::schema::{FieldId, ValueSet};
use std::borrow::Cow;

/// The most reasons one explanation holds; a book that needs more is cut, and says so.
const MOST_REASONS: usize = 400;
/// The deepest a reason is unfolded.
const DEEPEST: usize = 24;

/// An answer, without what it lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// It holds.
    Yes,
    /// It does not hold.
    No,
    /// It is not known.
    Unknown,
}

impl From<Truth> for Answer {
    fn from(truth: Truth) -> Answer {
        match truth {
            Truth::Yes => Answer::Yes,
            Truth::No => Answer::No,
            Truth::Unknown(_) => Answer::Unknown,
        }
    }
}

/// What part a reason plays.
#[derive(Debug, Clone, Copy)]
pub enum Role<'b> {
    /// Part of what decides whether the duty applies.
    Scope,
    /// Part of what is asked.
    Asks,
    /// A permissive exception, alternative or permission.
    Relief(&'b Relief),
    /// A mandatory exception or modification, by its label.
    Replacement(&'b str),
    /// A member of a list.
    Candidate(ObjectId),
    /// One reading of a disputed text, and the option's position.
    Reading(ReadingId, usize),
    /// A finer part of the reason above it.
    Part,
}

/// One step of the reasons. It borrows from the book and names things by number: [`super::Words`] puts it into words.
#[derive(Debug, Clone)]
pub struct Reason<'b> {
    /// What part it plays.
    pub role: Role<'b>,
    /// Where it is written: the rulebook's words, and the number to cite, or empty.
    pub origin: &'b Origin,
    /// The answer.
    pub answer: Answer,
    /// What the facts say.
    pub found: Found,
    /// Finer reasons.
    pub parts: Vec<Reason<'b>>,
}

/// What the facts say.
#[derive(Debug, Clone)]
pub enum Found {
    /// Nothing that is not told elsewhere.
    Nothing,
    /// There are more reasons than an explanation holds.
    LeftOut,
    /// A field of a thing; `here` if the thing is one spoken of at this step.
    Fact {
        /// Whose.
        object: ObjectId,
        /// The field.
        field: FieldId,
        /// Whether the thing needs no naming.
        here: bool,
    },
    /// The thing a reference leads to.
    Thing(ObjectId),
    /// A list nobody described.
    NotDescribed(ObjectId, FieldId),
    /// A list without members.
    NoneThere(ObjectId, FieldId),
    /// A list without members of the sort that is meant.
    NoneSuch(ObjectId, FieldId),
    /// One value against another.
    Compared(Box<Compared>),
    /// How many members there are, against how many there must be.
    Counted(Box<Counted>),
    /// Which different members serve.
    Different(Box<Different>),
}

/// One value against another.
#[derive(Debug, Clone)]
pub struct Compared {
    /// The one.
    pub left: Came,
    /// The other.
    pub right: Came,
}

/// How many members there are.
#[derive(Debug, Clone)]
pub struct Counted {
    /// At least so many.
    pub surely: usize,
    /// At most so many, if it is not unbounded.
    pub possibly: usize,
    /// Whether there may be more than are described.
    pub unbounded: bool,
    /// What the number is held against.
    pub wanted: Came,
}

/// Which different members serve.
#[derive(Debug, Clone)]
pub enum Different {
    /// Conditions that no member meets.
    NothingServes(Vec<OriginId>),
    /// Members that are too few, though each condition is met by one.
    TooFew(Vec<ObjectId>),
    /// The members that serve for each condition.
    CanServe(Vec<Vec<ObjectId>>),
}

/// What an expression came to.
#[derive(Debug, Clone)]
pub struct Came {
    /// The expression.
    pub expr: ExprId,
    /// Its value.
    pub worth: Worth,
    /// The row of a table that is certainly meant.
    pub row: Option<OriginId>,
}

/// A value, as far as it is told.
#[derive(Debug, Clone)]
pub enum Worth {
    /// There is none.
    None,
    /// A number, in base units.
    Number(Number),
    /// Values of a choice or scale.
    Steps(ValueSet),
    /// The book does not say.
    NotSaid,
    /// It is not known.
    NotKnown,
}

/// A fact that is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missing {
    /// Whose.
    pub object: ObjectId,
    /// The field; behind the last one of the thing for [`Open::Before`].
    pub field: FieldId,
    /// What of it is open.
    pub open: Open,
}

/// What of a field is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Open {
    /// Its value.
    Value,
    /// Whether the members stated are all.
    Others,
    /// What the thing was before the work; no field stands for it.
    Before,
}

/// A fact that was relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Relied {
    /// Whose.
    pub object: ObjectId,
    /// The field.
    pub field: FieldId,
}

/// What one reading of a disputed text gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingEffect {
    /// Position of the disputed text.
    pub reading: usize,
    /// Position of the option.
    pub option: usize,
    /// The verdict under it.
    pub verdict: Verdict,
    /// Whether the user chose it.
    pub chosen: bool,
}

/// Why a verdict is what it is.
#[derive(Debug, Clone, Default)]
pub struct Explanation<'b> {
    /// The deciding branches.
    pub because: Vec<Reason<'b>>,
    /// The numbers the reasons pass through, in that order; one that lies above another is left out.
    pub cites: Vec<&'b str>,
    /// The facts without which it stays open, scope first.
    pub missing: Vec<Missing>,
    /// The facts the verdict rests on.
    pub relied_on: Vec<Relied>,
    /// What each reading gives, where disputed texts matter.
    pub readings: Vec<ReadingEffect>,
    /// Marks of the lines passed through, each once.
    pub marks: Vec<&'b Mark>,
}

struct Teller<'b, 'p> {
    program: &'b Program,
    machine: Machine<'p>,
    out: Explanation<'b>,
    made: usize,
    deep: usize,
}

/// Explains one duty on one subject.
pub fn explain<'b>(
    program: &'b Program,
    facts: &Installation,
    choices: &Choices,
    duty: DutyId,
    subject: ObjectId,
) -> Explanation<'b> {
    let outcome = judge(program, facts, choices, duty, subject);
    let finding = Finding { duty, subject, standing: facts.object(subject).standing, outcome };
    explained(program, facts, choices, &Known::of(program, facts), &finding)
}

/// Explains a duty judged already.
pub(super) fn explained<'b>(
    program: &'b Program,
    facts: &Installation,
    choices: &Choices,
    known: &Known,
    finding: &Finding,
) -> Explanation<'b> {
    let Finding { duty, subject, outcome, .. } = *finding;
    let Some(declared) = program.duties.get(duty.index()) else { return Explanation::default() };
    let effects = reading_effects(program, facts, choices, declared, finding);
    // A verdict all open readings agree on is told under the first of them.
    let mut told_under = Cow::Borrowed(choices);
    if outcome.verdict.is_definite() {
        let open = open_readings(declared, choices);
        if !open.is_empty() {
            first_assignment(program, &open, told_under.to_mut());
        }
    }
    let mut teller = Teller::new(program, Machine::new(program, facts, &told_under, known, subject));
    teller.cite(&declared.address);
    teller.duty(declared);
    if !outcome.verdict.is_definite() {
        teller.out.missing = Seeker::new(Machine::new(program, facts, &told_under, known, subject)).duty(declared);
    }
    teller.out.readings = effects;
    teller.mark(&program.origin(declared.origin).marks);
    teller.out
}

/// Explains whether an object is of a kind.
pub(super) fn explained_kind<'b>(
    program: &'b Program,
    facts: &Installation,
    choices: &Choices,
    known: &Known,
    kind: KindId,
    object: ObjectId,
) -> Explanation<'b> {
    let Some(kind) = program.kinds.get(kind.index()) else { return Explanation::default() };
    let mut teller = Teller::new(program, Machine::new(program, facts, choices, known, object));
    teller.cite(&kind.cite);
    let reason = teller.reason_as(kind.test, Role::Asks);
    teller.out.because.push(reason);
    teller.out.missing = Seeker::new(Machine::new(program, facts, choices, known, object)).condition(kind.test);
    teller.mark(&program.origin(kind.origin).marks);
    teller.out
}

fn reading_effects(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    duty: &Duty,
    finding: &Finding,
) -> Vec<ReadingEffect> {
    let definite = matches!(finding.outcome.verdict, Verdict::Met | Verdict::NotMet | Verdict::NotApplicable);
    if definite && duty.readings.iter().all(|reading| choices.get(*reading).is_none()) {
        // All readings agree, or it would not be definite.
        return Vec::new();
    }
    let mut effects = Vec::new();
    for reading in &duty.readings {
        let options = program.readings.get(reading.index()).map_or(0, |r| r.options.len());
        let mut own = Vec::new();
        for option in 0..options {
            let mut with = choices.clone();
            with.set(reading.index(), option);
            let verdict = judge(program, facts, &with, finding.duty, finding.subject).verdict;
            let chosen = choices.get(*reading) == Some(option);
            own.push(ReadingEffect { reading: reading.index(), option, verdict, chosen });
        }
        let differ = own.windows(2).any(|w| w[0].verdict != w[1].verdict);
        if differ {
            effects.extend(own);
        }
    }
    effects
}

impl<'b, 'p> Teller<'b, 'p> {
    fn new(program: &'b Program, machine: Machine<'p>) -> Teller<'b, 'p> {
        Teller { program, machine, out: Explanation::default(), made: 0, deep: 0 }
    }

    /// Notes a number, unless it is noted or lies above one that is; those that lie above it go.
    fn cite(&mut self, cite: &'b str) {
        let cites = &mut self.out.cites;
        if cite.is_empty() || cites.iter().any(|known| *known == cite || lies_above(cite, known)) {
            return;
        }
        cites.retain(|known| !lies_above(known, cite));
        cites.push(cite);
    }

    /// Notes marks, each once.
    fn mark(&mut self, marks: &'b [Mark]) {
        for mark in marks {
            if !self.out.marks.iter().any(|known| std::ptr::eq(*known, mark) || *known == mark) {
                self.out.marks.push(mark);
            }
        }
    }

    fn duty(&mut self, duty: &'b Duty) {
        let applies = self.machine.test(duty.applies);
        if applies != Truth::Yes {
            let reason = self.reason_as(duty.applies, Role::Scope);
            self.out.because.push(reason);
        }
        if applies == Truth::No {
            return;
        }
        let (satisfied, by) = super::duty::satisfied(&mut self.machine, duty);
        if applies != Truth::Yes && satisfied != Truth::No && satisfied.is_known() {
            // Only whether it applies is open.
            return;
        }
        for replacement in &duty.replacements {
            if self.machine.test(replacement.case) != Truth::No {
                let reason = self.reason_as(replacement.case, Role::Replacement(&replacement.label));
                self.out.because.push(reason);
            }
        }
        if let Some(By::Relief(at)) = by {
            if let Some(relief) = duty.reliefs.get(at) {
                let reason = self.reason_as(relief.test, Role::Relief(relief));
                self.out.because.push(reason);
                self.pass(relief.origin);
            }
            return;
        }
        let reason = self.reason_as(duty.asks, Role::Asks);
        self.out.because.push(reason);
        if by == Some(By::Main) {
            return;
        }
        for relief in &duty.reliefs {
            let held = self.machine.test(relief.test);
            if held == Truth::No && !satisfied.is_known() {
                continue;
            }
            // Why an exception does not help: its case first, the alternative only if the case holds.
            let asked = if self.machine.test(relief.case) == Truth::No { relief.case } else { relief.test };
            let reason = self.reason_as(asked, Role::Relief(relief));
            self.out.because.push(reason);
        }
    }

    fn pass(&mut self, origin: OriginId) {
        let origin = self.program.origin(origin);
        self.cite(&origin.cite);
        self.mark(&origin.marks);
    }

    /// The reason of a condition, in a role.
    fn reason_as(&mut self, test: TestId, role: Role<'b>) -> Reason<'b> {
        let mut reason = self.reason(test);
        if matches!(reason.role, Role::Part) {
            reason.role = role;
        }
        reason
    }

    fn reason(&mut self, id: TestId) -> Reason<'b> {
        let answer = self.machine.test(id);
        self.reason_for(id, answer)
    }

    /// The reason of a condition whose answer is known already.
    fn reason_for(&mut self, id: TestId, answer: Truth) -> Reason<'b> {
        let program = self.program;
        let origin = program.test_origin(id);
        self.cite(&origin.cite);
        self.mark(&origin.marks);
        let mut reason =
            Reason { role: Role::Part, origin, answer: answer.into(), found: Found::Nothing, parts: Vec::new() };
        self.made += 1;
        if self.made > MOST_REASONS || self.deep > DEEPEST {
            reason.found = Found::LeftOut;
            return reason;
        }
        self.deep += 1;
        match program.test(id) {
            Test::Always | Test::Never => {}
            Test::Not(inner) => {
                let twice = matches!(program.test(*inner), Test::Not(_));
                let inner = self.reason_for(*inner, answer.not());
                // The case of an `if` is turned round without a word of it: its own answer is told. `not through` is a word of it.
                let worded = || !twice && inner.words().contains(" not ") && !inner.words().contains('{');
                if inner.same_words(&reason) && !worded() {
                    reason.answer = inner.answer;
                }
                reason.found = inner.found;
                reason.parts = inner.parts;
            }
            Test::All(inner) => {
                reason.parts = self.deciding(inner, answer, Truth::No);
            }
            Test::Any(inner) => {
                reason.parts = self.deciding(inner, answer, Truth::Yes);
            }
            Test::Choose { case, then, otherwise } => {
                let held = self.machine.test(*case);
                match held {
                    Truth::Yes => reason.parts.push(self.reason(*then)),
                    Truth::No => reason.parts.push(self.reason(*otherwise)),
                    Truth::Unknown(_) => {
                        for branch in [*case, *then, *otherwise] {
                            if !self.machine.test(branch).is_known() || branch == *case {
                                reason.parts.push(self.reason(branch));
                            }
                        }
                    }
                }
            }
            Test::In(place, _) | Test::TextIs(place, _) | Test::IsNone(place) | Test::CompareConst(place, ..) => {
                reason.found = self.leaf(place);
            }
            Test::Compare(left, _, right) | Test::CompareSteps(left, _, right) => {
                let compared = Compared { left: self.came(*left), right: self.came(*right) };
                if [left, right].iter().any(|side| !matches!(program.expr(**side), Expr::Number(_) | Expr::Value(..))) {
                    reason.found = Found::Compared(Box::new(compared));
                }
            }
            Test::IsKind(object, kind) => {
                self.kind(object, *kind, answer, &mut reason);
            }
            Test::Some(list, test) => self.members(list, *test, answer, Truth::Yes, &mut reason),
            Test::Every(list, test) => self.members(list, *test, answer, Truth::No, &mut reason),
            Test::Count(list, test, _, count) => self.counted(list, *test, *count, answer, &mut reason),
            Test::Different(halves) => self.different(halves, answer, &mut reason),
            Test::Reading(reading, options) => {
                let chosen = self.machine.choices.get(*reading);
                for (at, option) in options.iter().enumerate() {
                    if chosen.is_some_and(|c| c != at) {
                        continue;
                    }
                    let mut part = self.reason(*option);
                    part.role = Role::Reading(*reading, at);
                    reason.parts.push(part);
                }
            }
        }
        self.deep -= 1;
        // Alternatives that say one thing of one fact, such as the values of a range, are one.
        if let [first, rest @ ..] = reason.parts.as_slice()
            && !rest.is_empty()
            && matches!(reason.found, Found::Nothing)
            && reason.parts.iter().all(|part| part.parts.is_empty() && part.same_words(&reason))
            && rest.iter().all(|part| self.says_the_same(&part.found, &first.found))
            && let Some(first) = reason.parts.drain(..).next()
        {
            reason.found = first.found;
        }
        // A step that only hands on to one finer step is that step.
        if matches!(reason.found, Found::Nothing)
            && matches!(program.test(id), Test::All(_) | Test::Any(_) | Test::Choose { .. })
            && let [part] = reason.parts.as_slice()
            && matches!(part.role, Role::Part)
            && Answer::from(answer) == part.answer
            && let Some(part) = reason.parts.pop()
        {
            return part;
        }
        reason
    }

    /// Whether two findings are the same in words.
    fn says_the_same(&self, one: &Found, other: &Found) -> bool {
        match (one, other) {
            (Found::Nothing, Found::Nothing) => true,
            (
                Found::Fact { object, field, here },
                Found::Fact { object: other_object, field: other_field, here: other_here },
            ) if (object, field, here) == (other_object, other_field, other_here) => true,
            _ => {
                let mut words = Words::new(self.program, self.machine.facts);
                words.found(one) == words.found(other)
            }
        }
    }

    /// The parts that decide a conjunction (`absorbing` No) or disjunction (Yes).
    fn deciding(&mut self, inner: &[TestId], answer: Truth, absorbing: Truth) -> Vec<Reason<'b>> {
        let mut parts = Vec::new();
        for test in inner {
            let own = self.machine.test(*test);
            let tells = match answer {
                Truth::Unknown(_) => !own.is_known(),
                definite => own == definite,
            };
            if tells {
                parts.push(self.reason_for(*test, own));
                if answer == absorbing && absorbing == Truth::Yes {
                    break;
                }
            }
        }
        parts
    }

    fn kind(&mut self, object: &Object, kind: KindId, answer: Truth, reason: &mut Reason<'b>) {
        let Some(declared) = self.program.kinds.get(kind.index()) else { return };
        match self.machine.reach(object) {
            Reached::One(id) => {
                let saved = self.machine.vars;
                self.machine.bind(0, id);
                self.pass(declared.origin);
                let part = self.reason_for(declared.test, answer);
                self.machine.vars = saved;
                if !object.steps.is_empty() {
                    reason.found = Found::Thing(id);
                }
                reason.parts.push(part);
            }
            Reached::Absent => reason.found = self.broken(object),
            Reached::Anything(..) | Reached::Several(..) => {
                reason.found = self.broken(object);
            }
        }
    }

    /// Where a path of references stops being known; that reference is relied on or missing.
    fn broken(&mut self, object: &Object) -> Found {
        let mut at = self.machine.vars.get(usize::from(object.var)).copied().unwrap_or(ObjectId(0));
        let facts = self.machine.facts;
        for step in &object.steps {
            match step {
                Step::Owner => match facts.object(at).owner {
                    Some(owner) => at = owner,
                    None => return Found::Nothing,
                },
                Step::Project => match facts.project {
                    Some(project) => at = project,
                    None => return Found::Nothing,
                },
                Step::Follow(field) => match &facts.object(at).cells[field.0 as usize] {
                    Cell::Object(next) => at = *next,
                    _ => return self.fact(at, *field),
                },
            }
        }
        Found::Nothing
    }

    /// A field as found; noted as relied on or missing.
    fn leaf(&mut self, place: &Place) -> Found {
        match self.machine.reach(&place.object) {
            Reached::One(id) => self.fact(id, place.field),
            _ => self.broken(&place.object),
        }
    }

    fn fact(&mut self, object: ObjectId, field: FieldId) -> Found {
        let tells = match self.machine.facts.object(object).cells.get(usize::from(field.0)) {
            Some(Cell::Unknown) | None => false,
            Some(Cell::Range(range, absent)) => {
                range.low.is_some() || range.high.is_some() || *absent == MaybeAbsent::Perhaps
            }
            Some(
                Cell::OneOfObjects(..)
                | Cell::Values(..)
                | Cell::Absent
                | Cell::Number(_)
                | Cell::Text(_)
                | Cell::Object(_)
                | Cell::List(_),
            ) => true,
        };
        let relied = Relied { object, field };
        if tells && !self.out.relied_on.contains(&relied) {
            self.out.relied_on.push(relied);
        }
        Found::Fact { object, field, here: self.machine.vars.contains(&object) }
    }

    /// The members that decide a quantifier: `deciding` Yes for some, No for every.
    fn members(&mut self, list: &List, test: TestId, answer: Truth, deciding: Truth, reason: &mut Reason<'b>) {
        let Reached::One(object) = self.machine.reach(&list.place.object) else {
            reason.found = self.broken(&list.place.object);
            return;
        };
        let Some(cell) = self.machine.list_cell(object, &list.place) else { return };
        let saved = self.machine.vars;
        let mut any = false;
        for member in &cell.members {
            let meant = self.machine.meant(list, *member);
            if meant == Truth::No && (deciding == Truth::No || answer != Truth::No) {
                continue;
            }
            let own = match (meant, deciding) {
                (Truth::No, _) => Truth::No,
                (meant, Truth::No) => meant.not().or(self.machine.test(test)),
                (meant, _) => meant.and(self.machine.test(test)),
            };
            any = true;
            let tells = match answer {
                Truth::Unknown(_) => !own.is_known(),
                definite => own == definite,
            };
            if !tells {
                continue;
            }
            let asked = if meant == Truth::Yes || list.filter.is_none() { test } else { list.filter.unwrap_or(test) };
            let mut part = self.reason(asked);
            part.role = Role::Candidate(*member);
            reason.parts.push(part);
            if answer == deciding && deciding == Truth::Yes {
                break;
            }
        }
        self.machine.vars = saved;
        if !any {
            let field = list.place.field;
            reason.found = match (cell.more, list.filter) {
                (Some(_), _) => Found::NotDescribed(object, field),
                (None, Some(_)) => Found::NoneSuch(object, field),
                (None, None) => Found::NoneThere(object, field),
            };
            if answer.is_known() {
                self.fact(object, list.place.field);
            }
        }
    }

    fn counted(&mut self, list: &List, test: TestId, count: ExprId, answer: Truth, reason: &mut Reason<'b>) {
        let Reached::One(object) = self.machine.reach(&list.place.object) else {
            reason.found = self.broken(&list.place.object);
            return;
        };
        let saved = self.machine.vars;
        let tally = self.machine.tally(object, list, Some(test));
        self.machine.vars = saved;
        reason.found = Found::Counted(Box::new(Counted {
            surely: tally.surely,
            possibly: tally.possibly,
            unbounded: tally.unbounded,
            wanted: self.came(count),
        }));
        let Some(cell) = self.machine.list_cell(object, &list.place) else { return };
        for member in &cell.members {
            let own = self.machine.passes(list, test, *member);
            let tells = match answer {
                Truth::Unknown(_) => !own.is_known(),
                _ => false,
            };
            if tells {
                let meant = self.machine.meant(list, *member);
                let asked = match list.filter {
                    Some(filter) if !meant.is_known() => filter,
                    _ => test,
                };
                let mut part = self.reason(asked);
                part.role = Role::Candidate(*member);
                reason.parts.push(part);
            } else if own == Truth::Yes {
                self.machine.bind(list.var, *member);
                let _ = self.reason(test);
            }
        }
        self.machine.vars = saved;
    }

    fn different(&mut self, halves: &[(List, TestId)], answer: Truth, reason: &mut Reason<'b>) {
        let saved = self.machine.vars;
        let mut lone = Vec::new();
        let mut may: Vec<Vec<ObjectId>> = Vec::new();
        for (list, test) in halves {
            let Reached::One(object) = self.machine.reach(&list.place.object) else { continue };
            let Some(cell) = self.machine.list_cell(object, &list.place) else { continue };
            let mut able = Vec::new();
            for member in &cell.members {
                let own = self.machine.passes(list, *test, *member);
                if own != Truth::No {
                    able.push(*member);
                    if !own.is_known() && !answer.is_known() {
                        let mut part = self.reason(*test);
                        part.role = Role::Candidate(*member);
                        reason.parts.push(part);
                    }
                }
            }
            let open = cell.more.is_some_and(|more| self.machine.passes(list, *test, more) != Truth::No);
            self.machine.vars = saved;
            if able.is_empty() && !open {
                lone.push(self.program.test_origins[test.index()]);
            }
            may.push(able);
        }
        self.machine.vars = saved;
        let different = match answer {
            Truth::No if !lone.is_empty() => Different::NothingServes(lone),
            Truth::No => {
                let mut members: Vec<ObjectId> = may.into_iter().flatten().collect();
                members.sort_unstable();
                members.dedup();
                Different::TooFew(members)
            }
            Truth::Yes => Different::CanServe(may),
            Truth::Unknown(_) => return,
        };
        reason.found = Found::Different(Box::new(different));
    }

    // -------------------------------------------------------------------------------------------- expressions

    /// What an expression came to; its fields are noted.
    fn came(&mut self, id: ExprId) -> Came {
        self.reads(id);
        let saved = self.machine.vars;
        let value = self.machine.value(id);
        self.machine.vars = saved;
        let worth = match value {
            Value::Absent => Worth::None,
            Value::Exact(number) => Worth::Number(number.into_owned()),
            Value::Step(set) => Worth::Steps(set),
            Value::Spread(spread) => match spread.over {
                Over::Steps(set) if set != 0 => Worth::Steps(set),
                Over::Nothing if spread.gap => Worth::NotSaid,
                Over::Nothing | Over::Numbers(_) | Over::Steps(_) => Worth::NotKnown,
            },
        };
        let row = match (self.program.expr(id), &worth) {
            (Expr::Lookup(..), Worth::NotSaid | Worth::NotKnown) => None,
            (Expr::Lookup(table, keys), _) => self.row(*table, keys),
            _ => None,
        };
        Came { expr: id, worth, row }
    }

    /// The row that is certainly meant. The marks of a verdict cannot tell what it is known by, since they must not change
    /// when a key becomes known.
    fn row(&mut self, table: TableId, keys: &[ExprId]) -> Option<OriginId> {
        let table = self.program.tables.get(table.index())?;
        let saved = self.machine.vars;
        let values: Vec<Value> = keys.iter().map(|key| self.machine.value(*key)).collect();
        self.machine.vars = saved;
        match super::lookup::rows(table, &values)[..] {
            [row] => Some(row.origin),
            _ => None,
        }
    }

    fn reads(&mut self, id: ExprId) {
        let program = self.program;
        match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) => {}
            Expr::Provided { case, then, otherwise } => {
                let saved = self.machine.vars;
                let answer = self.machine.test(*case);
                self.machine.vars = saved;
                if !answer.is_known() {
                    let _ = self.reason(*case);
                    self.machine.vars = saved;
                }
                if answer != Truth::No {
                    self.reads(*then);
                }
                if answer != Truth::Yes {
                    self.reads(*otherwise);
                }
            }
            Expr::Larger(a, b) | Expr::Smaller(a, b) => {
                self.reads(*a);
                self.reads(*b);
            }
            Expr::Next(series, _, of) => {
                if let Some(series) = program.series.get(series.index()) {
                    self.cite(&series.address);
                    self.mark(&program.origin(series.origin).marks);
                }
                self.reads(*of);
            }
            Expr::FirstRow(row) => {
                if let Some(table) = program.tables.get(row.table.index()) {
                    self.cite(&table.address);
                    self.mark(&program.origin(table.origin).marks);
                }
                row.keys.iter().chain(&row.column).chain([&row.limit]).for_each(|key| self.reads(*key));
            }
            Expr::Reading(reading, options) => match self.machine.choices.get(*reading) {
                Some(chosen) => options.get(chosen).into_iter().for_each(|option| self.reads(*option)),
                None => options.iter().for_each(|option| self.reads(*option)),
            },
            Expr::Read(place) => {
                self.leaf(place);
            }
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) | Expr::Beyond(a, b) => {
                self.reads(*a);
                self.reads(*b);
            }
            Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) => self.reads(*a),
            // What it reads now is told; what it was then is told with its value.
            Expr::Before(..) => {}
            Expr::Count(list) => self.reads_list(list, None),
            Expr::Sum { list, of, .. } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                self.reads_list(list, Some(*of));
            }
            Expr::Lookup(table, keys) => {
                if let Some(table) = program.tables.get(table.index()) {
                    self.cite(&table.address);
                    let origin = table.origin;
                    self.mark(&program.origin(origin).marks);
                }
                keys.iter().for_each(|key| self.reads(*key));
            }
            Expr::Formula(object, formula) => {
                if let (Reached::One(id), Some(formula)) =
                    (self.machine.reach(object), program.formulas.get(formula.index()))
                {
                    self.cite(&formula.cite);
                    let saved = self.machine.vars;
                    self.machine.bind(0, id);
                    self.reads(formula.expr);
                    self.machine.vars = saved;
                }
            }
        }
    }

    fn reads_list(&mut self, list: &List, of: Option<ExprId>) {
        let Reached::One(object) = self.machine.reach(&list.place.object) else {
            self.broken(&list.place.object);
            return;
        };
        let Some(cell) = self.machine.list_cell(object, &list.place) else { return };
        let saved = self.machine.vars;
        for member in &cell.members {
            let meant = self.machine.meant(list, *member);
            if let Some(filter) = list.filter
                && !meant.is_known()
            {
                let _ = self.reason(filter);
                self.machine.bind(list.var, *member);
            }
            if meant != Truth::No
                && let Some(of) = of
            {
                self.reads(of);
            }
        }
        self.machine.vars = saved;
    }
}

/// Whether one number lies above another: `250.118` above `250.118(5)`.
fn lies_above(one: &str, other: &str) -> bool {
    other.as_bytes().get(one.len()) == Some(&b'(') && other.starts_with(one)
}

impl<'b> Reason<'b> {
    /// The rulebook's words.
    pub fn words(&self) -> &'b str {
        &self.origin.words
    }

    /// The number to cite, or empty.
    pub fn cite(&self) -> &'b str {
        &self.origin.cite
    }

    fn same_words(&self, other: &Reason) -> bool {
        std::ptr::eq(self.origin, other.origin) || self.origin.words == other.origin.words
    }
}

impl Lack {
    /// In words, for a report.
    pub fn words(self) -> Vec<&'static str> {
        let mut words = Vec::new();
        for (bit, word) in [
            (Lack::FACT, "facts"),
            (Lack::JUDGMENT, "a judgment of the authority"),
            (Lack::GAP, "the book does not say"),
            (Lack::READING, "a reading of a disputed text"),
        ] {
            if self.includes(bit) {
                words.push(word);
            }
        }
        words
    }
}
