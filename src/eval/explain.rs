//! Why a verdict is what it is: the deciding branches only, the facts relied on, and the facts that are missing.
//!
//! Made on demand, by asking again along the tree. For an undecided verdict the unknown leaves of undecided branches are
//! the facts without which it stays open whatever the answers; a branch decided by another part of itself adds none.

use super::duty::{By, Choices, Finding, Verdict, first_assignment, judge, open_readings};
use super::known::Known;
use super::machine::{Machine, Reached};
use super::missing::Seeker;
use super::show;
use super::truth::{Lack, Truth};
use super::value::{Over, Value};
use crate::facts::installation::{Cell, Installation, ObjectId};
use crate::ir::program::{
    Duty, DutyId, Expr, ExprId, KindId, List, Mark, Object, OriginId, Place, Program, Step, TableId, Test, TestId,
};
use crate::ir::schema::FieldId;
use std::collections::BTreeMap;
use std::rc::Rc;

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
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Role {
    /// Part of what decides whether the duty applies.
    Scope,
    /// Part of what is asked.
    Asks,
    /// A permissive exception, alternative or permission, by its label and name.
    Relief(String),
    /// A mandatory exception or modification, by its label.
    Replacement(String),
    /// A member of a list, by its name.
    Candidate(String),
    /// One reading of a disputed text: its name and the option's.
    Reading(String, String),
    /// A finer part of the reason above it.
    Part,
}

/// One step of the reasons.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// What part it plays.
    pub role: Role,
    /// The rulebook's words.
    pub words: String,
    /// The number to cite, or empty.
    pub cite: String,
    /// The answer.
    pub answer: Answer,
    /// What the facts say, or empty.
    pub found: String,
    /// Finer reasons.
    pub parts: Vec<Reason>,
}

/// A fact that is missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// Whose.
    pub object: ObjectId,
    /// The field.
    pub field: FieldId,
    /// The owner's name in full.
    pub of: String,
    /// The field's name; for a list that is not the whole story, `other members of …`.
    pub name: String,
    /// What it is, in words.
    pub question: String,
    /// Who may decide it, if only the authority can.
    pub judgment: Option<String>,
}

/// A fact that was relied on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Relied {
    /// Whose.
    pub object: ObjectId,
    /// The field.
    pub field: FieldId,
    /// The owner's name in full.
    pub of: String,
    /// The field's name.
    pub name: String,
    /// Its value in words.
    pub value: String,
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
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Explanation {
    /// The deciding branches.
    pub because: Vec<Reason>,
    /// The numbers the reasons pass through, in that order; one that lies above another is left out.
    pub cites: Vec<String>,
    /// The facts without which it stays open, scope first.
    pub missing: Vec<Missing>,
    /// The facts the verdict rests on.
    pub relied_on: Vec<Relied>,
    /// What each reading gives, where disputed texts matter.
    pub readings: Vec<ReadingEffect>,
    /// Marks of the lines passed through, each once.
    pub marks: Vec<Mark>,
}

/// Facts put into words, and answers given, so far: one inspection tells the same many times.
#[derive(Debug, Default)]
pub struct Shown {
    values: BTreeMap<(ObjectId, FieldId), String>,
    known: Option<Rc<Known>>,
}

impl Shown {
    fn known(&mut self, program: &Program, facts: &Installation) -> Rc<Known> {
        Rc::clone(self.known.get_or_insert_with(|| Rc::new(Known::of(program, facts))))
    }
}

struct Teller<'p> {
    machine: Machine<'p>,
    shown: &'p mut Shown,
    out: Explanation,
    /// What becomes of [`Explanation::cites`] and [`Explanation::marks`], with doublets.
    cites: Vec<&'p str>,
    marks: Vec<&'p Mark>,
    made: usize,
    deep: usize,
}

/// Explains one duty on one subject.
pub fn explain(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    duty: DutyId,
    subject: ObjectId,
) -> Explanation {
    let outcome = judge(program, facts, choices, duty, subject);
    let finding = Finding { duty, subject, standing: facts.object(subject).standing, outcome };
    explain_finding(program, facts, choices, &finding, &mut Shown::default())
}

/// Explains a duty already judged, as [`judge`] did it. `shown` may be of the same book and installation only.
pub fn explain_finding(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    finding: &Finding,
    shown: &mut Shown,
) -> Explanation {
    let Finding { duty, subject, outcome, .. } = *finding;
    let Some(declared) = program.duties.get(duty.index()) else { return Explanation::default() };
    let effects = reading_effects(program, facts, choices, declared, finding);
    // A verdict all open readings agree on is told under the first of them.
    let mut told_under = choices.clone();
    if matches!(outcome.verdict, Verdict::Met | Verdict::NotMet | Verdict::NotApplicable) {
        first_assignment(program, &open_readings(declared, choices), &mut told_under);
    }
    let known = shown.known(program, facts);
    let machine = Machine::new(program, facts, &told_under, &known, subject);
    let mut teller = Teller::new(machine, shown);
    teller.duty(declared);
    if matches!(outcome.verdict, Verdict::Undecided | Verdict::ForTheAuthority) {
        teller.out.missing = Seeker::new(Machine::new(program, facts, &told_under, &known, subject)).duty(declared);
    }
    teller.out.readings = effects;
    teller.marks.extend(&program.origin(declared.origin).marks);
    teller.finish(&declared.address)
}

/// Explains whether an object is of a kind. `shown` may be of the same book and installation only.
pub fn explain_kind(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    kind: KindId,
    object: ObjectId,
    shown: &mut Shown,
) -> Explanation {
    let Some(kind) = program.kinds.get(kind.index()) else { return Explanation::default() };
    let known = shown.known(program, facts);
    let machine = Machine::new(program, facts, choices, &known, object);
    let mut teller = Teller::new(machine, shown);
    let reason = teller.reason_as(kind.test, Role::Asks);
    teller.out.because.push(reason);
    teller.out.missing = Seeker::new(Machine::new(program, facts, choices, &known, object)).condition(kind.test);
    teller.marks.extend(&program.origin(kind.origin).marks);
    teller.finish(&kind.cite)
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

impl<'p> Teller<'p> {
    fn new(machine: Machine<'p>, shown: &'p mut Shown) -> Teller<'p> {
        Teller { machine, shown, out: Explanation::default(), cites: Vec::new(), marks: Vec::new(), made: 0, deep: 0 }
    }

    /// Leaves out doublets, and numbers that lie above others.
    fn finish(mut self, address: &'p str) -> Explanation {
        let mut cites: Vec<&str> = Vec::with_capacity(8);
        for cite in std::iter::once(address).chain(self.cites) {
            if !cite.is_empty() && !cites.contains(&cite) {
                cites.push(cite);
            }
        }
        let lies_above =
            |cite: &str| cites.iter().any(|other| other.strip_prefix(cite).is_some_and(|rest| rest.starts_with('(')));
        self.out.cites = cites.iter().filter(|cite| !lies_above(cite)).map(|cite| (*cite).to_string()).collect();
        let mut marks: Vec<&Mark> = Vec::with_capacity(8);
        for mark in self.marks {
            if !marks.contains(&mark) {
                marks.push(mark);
            }
        }
        self.out.marks = marks.into_iter().cloned().collect();
        self.out
    }

    fn duty(&mut self, duty: &'p Duty) {
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
                let mut role = replacement.label.clone();
                role.push_str(" governs");
                let reason = self.reason_as(replacement.case, Role::Replacement(role));
                self.out.because.push(reason);
            }
        }
        if let Some(By::Relief(at)) = by {
            if let Some(relief) = duty.reliefs.get(at) {
                let label = relief_label(relief);
                let reason = self.reason_as(relief.test, Role::Relief(label));
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
            let label = relief_label(relief);
            // Why an exception does not help: its case first, the alternative only if the case holds.
            let asked = if self.machine.test(relief.case) == Truth::No { relief.case } else { relief.test };
            let reason = self.reason_as(asked, Role::Relief(label));
            self.out.because.push(reason);
        }
    }

    fn pass(&mut self, origin: OriginId) {
        let origin = self.machine.program.origin(origin);
        self.cites.push(&origin.cite);
        self.marks.extend(&origin.marks);
    }

    /// The reason of a condition, in a role.
    fn reason_as(&mut self, test: TestId, role: Role) -> Reason {
        let mut reason = self.reason(test);
        if reason.role == Role::Part {
            reason.role = role;
        }
        reason
    }

    fn reason(&mut self, id: TestId) -> Reason {
        let answer = self.machine.test(id);
        self.reason_for(id, answer)
    }

    /// The reason of a condition whose answer is known already.
    fn reason_for(&mut self, id: TestId, answer: Truth) -> Reason {
        let program = self.machine.program;
        let origin = program.test_origin(id);
        self.pass(program.test_origins[id.index()]);
        let mut reason = Reason {
            role: Role::Part,
            words: origin.words.clone(),
            cite: origin.cite.clone(),
            answer: answer.into(),
            found: String::new(),
            parts: Vec::new(),
        };
        self.made += 1;
        if self.made > MOST_REASONS || self.deep > DEEPEST {
            reason.found = "further reasons left out".to_string();
            return reason;
        }
        self.deep += 1;
        match program.test(id) {
            Test::Always | Test::Never => {}
            Test::Not(inner) => {
                let twice = matches!(program.test(*inner), Test::Not(_));
                let inner = self.reason_for(*inner, answer.not());
                // The case of an `if` is turned round without a word of it: its own answer is told. `not through` is a word of it.
                let worded = !twice && inner.words.contains(" not ") && !inner.words.contains('{');
                if inner.words == reason.words && !worded {
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
                let then = matches!(program.expr(*right), Expr::Before(..));
                // What is compared is of one kind, so either side tells the other's unit.
                let ty = self.dimension(*left).or_else(|| self.dimension(*right));
                let left = self.expression_as(*left, ty.as_ref());
                let right = self.expression_as(*right, ty.as_ref());
                reason.found = match (left.is_empty(), right.is_empty()) {
                    (false, false) if then => format!("{left}, {right}"),
                    (false, false) => format!("{left}, against {right}"),
                    (false, true) => left,
                    _ => right,
                };
            }
            Test::IsKind(object, kind) => {
                self.kind(object, *kind, answer, &mut reason);
            }
            Test::Some(list, test) => self.members(list, *test, answer, Truth::Yes, &mut reason),
            Test::Every(list, test) => self.members(list, *test, answer, Truth::No, &mut reason),
            Test::Count(list, test, _, count) => self.counted(list, *test, *count, answer, &mut reason),
            Test::Different(halves) => self.different(halves, answer, &mut reason),
            Test::Reading(reading, options) => {
                let declared = program.readings.get(reading.index());
                let name = declared.map_or("", |r| r.name.as_str());
                let chosen = self.machine.choices.get(*reading);
                for (at, option) in options.iter().enumerate() {
                    if chosen.is_some_and(|c| c != at) {
                        continue;
                    }
                    let option_name = declared.and_then(|r| r.options.get(at)).map_or("", |(n, _)| n.as_str());
                    let mut part = self.reason(*option);
                    part.role = Role::Reading(name.to_string(), option_name.to_string());
                    reason.parts.push(part);
                }
            }
        }
        self.deep -= 1;
        // Alternatives that say one thing of one fact, such as the values of a range, are one.
        if let [first, rest @ ..] = reason.parts.as_slice()
            && !rest.is_empty()
            && reason.found.is_empty()
            && reason.parts.iter().all(|part| part.parts.is_empty() && part.words == reason.words)
            && rest.iter().all(|part| part.found == first.found)
        {
            reason.found.clone_from(&first.found);
            reason.parts.clear();
        }
        // A step that only hands on to one finer step is that step.
        if reason.found.is_empty()
            && matches!(program.test(id), Test::All(_) | Test::Any(_) | Test::Choose { .. })
            && let [part] = reason.parts.as_mut_slice()
            && part.role == Role::Part
            && Answer::from(answer) == part.answer
        {
            return std::mem::replace(
                part,
                Reason {
                    role: Role::Part,
                    words: String::new(),
                    cite: String::new(),
                    answer: Answer::Unknown,
                    found: String::new(),
                    parts: Vec::new(),
                },
            );
        }
        reason
    }

    /// The parts that decide a conjunction (`absorbing` No) or disjunction (Yes).
    fn deciding(&mut self, inner: &[TestId], answer: Truth, absorbing: Truth) -> Vec<Reason> {
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

    fn kind(&mut self, object: &Object, kind: KindId, answer: Truth, reason: &mut Reason) {
        let Some(declared) = self.machine.program.kinds.get(kind.index()) else { return };
        match self.machine.reach(object) {
            Reached::One(id) => {
                let saved = self.machine.vars;
                self.machine.bind(0, id);
                self.pass(declared.origin);
                let part = self.reason_for(declared.test, answer);
                self.machine.vars = saved;
                reason.found = if object.steps.is_empty() { String::new() } else { self.name(id) };
                reason.parts.push(part);
            }
            Reached::Absent => reason.found = self.broken(object),
            Reached::Anything(..) | Reached::Several(..) => {
                reason.found = self.broken(object);
            }
        }
    }

    /// Where a path of references stops being known; that reference is relied on or missing.
    fn broken(&mut self, object: &Object) -> String {
        let mut at = self.machine.vars.get(usize::from(object.var)).copied().unwrap_or(ObjectId(0));
        let facts = self.machine.facts;
        for step in &object.steps {
            match step {
                Step::Owner => match facts.object(at).owner {
                    Some(owner) => at = owner,
                    None => return String::new(),
                },
                Step::Project => match facts.project {
                    Some(project) => at = project,
                    None => return String::new(),
                },
                Step::Follow(field) => match &facts.object(at).cells[field.0 as usize] {
                    Cell::Object(next) => at = *next,
                    _ => return self.fact(at, *field),
                },
            }
        }
        String::new()
    }

    /// A field as found; noted as relied on or missing.
    fn leaf(&mut self, place: &Place) -> String {
        match self.machine.reach(&place.object) {
            Reached::One(id) => self.fact(id, place.field),
            _ => self.broken(&place.object),
        }
    }

    fn name(&self, object: ObjectId) -> String {
        self.machine.facts.full_name(&self.machine.program.schema, object)
    }

    fn fact(&mut self, object: ObjectId, field: FieldId) -> String {
        let schema = &self.machine.program.schema;
        let facts = self.machine.facts;
        let stated = facts.object(object);
        let declared = schema.field(stated.thing, field);
        let cell = &stated.cells[field.0 as usize];
        let of = self.name(object);
        let value = match self.shown.values.get(&(object, field)) {
            Some(value) => value.clone(),
            None => {
                let value = show::cell(schema, facts, declared, cell);
                self.shown.values.insert((object, field), value.clone());
                value
            }
        };
        let known = match cell {
            Cell::Unknown | Cell::Range(..) | Cell::OneOfObjects(..) => false,
            Cell::Values(set, _) => set.count_ones() == 1,
            Cell::Absent | Cell::Number(_) | Cell::Text(_) | Cell::Object(_) | Cell::List(_) => true,
        };
        let told = self.out.relied_on.iter().any(|r| r.object == object && r.field == field);
        if (known || value != "unknown") && !told {
            let (of, name, value) = (of.clone(), declared.name.clone(), value.clone());
            self.out.relied_on.push(Relied { object, field, of, name, value });
        }
        let mine = self.machine.vars.contains(&object);
        if mine { format!("{} is {value}", declared.name) } else { format!("{} of {of} is {value}", declared.name) }
    }

    /// The members that decide a quantifier: `deciding` Yes for some, No for every.
    fn members(&mut self, list: &List, test: TestId, answer: Truth, deciding: Truth, reason: &mut Reason) {
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
            part.role = Role::Candidate(self.name(*member));
            reason.parts.push(part);
            if answer == deciding && deciding == Truth::Yes {
                break;
            }
        }
        self.machine.vars = saved;
        if !any {
            let declared = self.machine.field(&list.place);
            let what = if list.filter.is_some() { "such " } else { "" };
            reason.found = if cell.more.is_some() {
                format!("{} not described", declared.name)
            } else {
                format!("no {what}{} of {}", declared.name, self.name(object))
            };
            if answer.is_known() {
                self.fact(object, list.place.field);
            }
        }
    }

    fn counted(&mut self, list: &List, test: TestId, count: ExprId, answer: Truth, reason: &mut Reason) {
        let Reached::One(object) = self.machine.reach(&list.place.object) else {
            reason.found = self.broken(&list.place.object);
            return;
        };
        let saved = self.machine.vars;
        let tally = self.machine.tally(object, list, Some(test));
        self.machine.vars = saved;
        let wanted = self.expression(count);
        let found = match (tally.surely == tally.possibly, tally.unbounded) {
            (true, false) => format!("{}", tally.surely),
            (_, false) => format!("{} to {}", tally.surely, tally.possibly),
            (_, true) => format!("{} or more", tally.surely),
        };
        reason.found = if wanted.is_empty() { found } else { format!("{found}, against {wanted}") };
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
                part.role = Role::Candidate(self.name(*member));
                reason.parts.push(part);
            } else if own == Truth::Yes {
                self.machine.bind(list.var, *member);
                let _ = self.reason(test);
            }
        }
        self.machine.vars = saved;
    }

    fn different(&mut self, halves: &[(List, TestId)], answer: Truth, reason: &mut Reason) {
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
                        part.role = Role::Candidate(self.name(*member));
                        reason.parts.push(part);
                    }
                }
            }
            let open = cell.more.is_some_and(|more| self.machine.passes(list, *test, more) != Truth::No);
            self.machine.vars = saved;
            if able.is_empty() && !open {
                lone.push(self.machine.program.test_origin(*test).cite.clone());
            }
            may.push(able);
        }
        self.machine.vars = saved;
        reason.found = match answer {
            Truth::No if !lone.is_empty() => format!("follows from {}: nothing serves there", lone.join(" and ")),
            Truth::No => {
                let mut members: Vec<ObjectId> = may.into_iter().flatten().collect();
                members.sort_unstable();
                members.dedup();
                let names: Vec<String> = members.into_iter().map(|m| self.name(m)).collect();
                match names.as_slice() {
                    [only] => format!("the only obstacle: {only} would have to serve for all of them at once"),
                    _ => format!("the only obstacle: too few different ones among {}", names.join(", ")),
                }
            }
            Truth::Yes => {
                let names: Vec<String> =
                    may.iter().map(|m| m.iter().map(|o| self.name(*o)).collect::<Vec<_>>().join(" or ")).collect();
                format!("different ones can serve: {}", names.join("; "))
            }
            Truth::Unknown(_) => String::new(),
        };
    }

    // -------------------------------------------------------------------------------------------- expressions

    /// The value of an expression in words; its fields are noted.
    fn expression(&mut self, id: ExprId) -> String {
        let ty = self.dimension(id);
        self.expression_as(id, ty.as_ref())
    }

    fn expression_as(&mut self, id: ExprId, ty: Option<&crate::ir::schema::FieldType>) -> String {
        let program = self.machine.program;
        self.reads(id);
        let saved = self.machine.vars;
        let value = self.machine.value(id);
        self.machine.vars = saved;
        let words = &program.expr_origin(id).words;
        let shown = match value {
            Value::Absent => "none".to_string(),
            Value::Exact(number) => match ty {
                Some(ty) => show::number(ty, &number),
                None => number.to_string(),
            },
            Value::Step(set) => self.step(id, set),
            Value::Spread(spread) => match &spread.over {
                Over::Steps(set) if *set != 0 => self.step(id, *set),
                Over::Nothing if spread.gap => "the book does not say".to_string(),
                _ => "not known".to_string(),
            },
        };
        match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) => String::new(),
            Expr::Before(..) if shown == "none" => "not there before the work".to_string(),
            Expr::Before(..) => format!("before the work it was {shown}"),
            Expr::Lookup(..) if matches!(shown.as_str(), "not known" | "the book does not say") => {
                format!("{words}: {shown}")
            }
            Expr::Lookup(table, keys) => format!("{shown} of {words}{}", self.row_marks(*table, keys)),
            _ => format!("{words} is {shown}"),
        }
    }

    /// What a row that is certainly meant is known by, where that is not a source: ` (from memory)`. The marks of a
    /// verdict cannot tell it, since they must not change when a key becomes known.
    fn row_marks(&mut self, table: TableId, keys: &[ExprId]) -> String {
        let program = self.machine.program;
        let Some(table) = program.tables.get(table.index()) else { return String::new() };
        let saved = self.machine.vars;
        let values: Vec<Value> = keys.iter().map(|key| self.machine.value(*key)).collect();
        self.machine.vars = saved;
        let [row] = super::lookup::rows(table, &values)[..] else { return String::new() };
        let marks = &program.origin(row.origin).marks;
        let told: Vec<String> = marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Seen(_) => None,
                Mark::Memory => Some("from memory".to_string()),
                Mark::Disputed(what) => Some(format!("disputed: {what}")),
            })
            .collect();
        if told.is_empty() { String::new() } else { format!(" ({})", told.join("; ")) }
    }

    fn step(&self, id: ExprId, set: u128) -> String {
        match self.domain(id) {
            Some(domain) => show::steps(domain, set),
            None => "a value".to_string(),
        }
    }

    fn domain(&self, id: ExprId) -> Option<&'p crate::ir::schema::Domain> {
        let program = self.machine.program;
        let domain = match program.expr(id) {
            Expr::Value(domain, _) => *domain,
            Expr::Read(place) => match self.machine.field(place).ty {
                crate::ir::schema::FieldType::OneOf(domain) => domain,
                _ => return None,
            },
            Expr::Lookup(table, _) => program.tables.get(table.index())?.gives?,
            Expr::Formula(_, formula) => return self.domain(program.formulas.get(formula.index())?.expr),
            Expr::Largest(_, of) | Expr::Smallest(_, of) => return self.domain(*of),
            _ => match program.gives(id) {
                crate::ir::program::Gives::Value(domain) => domain,
                _ => return None,
            },
        };
        Some(program.schema.domain(domain))
    }

    /// The type of a number, as far as a field below it tells.
    fn dimension(&self, id: ExprId) -> Option<crate::ir::schema::FieldType> {
        let program = self.machine.program;
        match program.expr(id) {
            Expr::Read(place) => Some(self.machine.field(place).ty.clone()),
            Expr::Sum { of, .. } | Expr::Largest(_, of) | Expr::Smallest(_, of) => self.dimension(*of),
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Beyond(a, b) => self.dimension(*a).or_else(|| self.dimension(*b)),
            Expr::Before(of, _) => self.dimension(*of),
            Expr::Formula(_, formula) => self.dimension(program.formulas.get(formula.index())?.expr),
            _ => match program.gives(id) {
                crate::ir::program::Gives::Number(dimension) => Some(crate::ir::schema::FieldType::Quantity(dimension)),
                _ => None,
            },
        }
    }

    fn reads(&mut self, id: ExprId) {
        let program = self.machine.program;
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
                    self.cites.push(&series.address);
                    self.marks.extend(&program.origin(series.origin).marks);
                }
                self.reads(*of);
            }
            Expr::FirstRow(row) => {
                if let Some(table) = program.tables.get(row.table.index()) {
                    self.cites.push(&table.address);
                    self.marks.extend(&program.origin(table.origin).marks);
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
                    self.cites.push(&table.address);
                    let origin = table.origin;
                    self.marks.extend(&program.origin(origin).marks);
                }
                keys.iter().for_each(|key| self.reads(*key));
            }
            Expr::Formula(object, formula) => {
                if let (Reached::One(id), Some(formula)) =
                    (self.machine.reach(object), program.formulas.get(formula.index()))
                {
                    self.cites.push(&formula.cite);
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

fn relief_label(relief: &crate::ir::program::Relief) -> String {
    if relief.name.is_empty() { relief.label.clone() } else { format!("{} {}", relief.label, relief.name) }
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
