//! Conditions that always or never hold, list items that others cover, exceptions that excuse nothing.
//!
//! Found by contradiction ([`super::possible`]), so each is true of every installation. What the contradiction rests on is
//! what stands around a condition; a demand that cannot be met where it applies is a prohibition and not a finding.

use super::findings::{Findings, short};
use super::possible::{Reason, Scene, Wanted};
use crate::base::source::{Sources, Span};
use crate::diag::{Code, Diagnostic};
use crate::ir::program::{Duty, Program, Test, TestId};
use crate::ir::schema::ThingId;
use std::collections::{BTreeMap, BTreeSet};

/// Looks at all conditions of a book.
pub(super) fn review(program: &Program, sources: &Sources, findings: &mut Findings) {
    let mut walk = Walk {
        program,
        sources,
        findings,
        reason: Reason::new(program),
        walked: BTreeSet::new(),
        told: BTreeSet::new(),
        excuses: BTreeMap::new(),
    };
    for kind in &program.kinds {
        // Names with blanks are no words of a rulebook.
        if !kind.name.contains(' ') {
            let scene = walk.reason.scene(kind.thing);
            walk.once(kind.test, &scene);
        }
    }
    let mut sharing: BTreeMap<Span, Vec<usize>> = BTreeMap::new();
    for (at, duty) in program.duties.iter().enumerate() {
        sharing.entry(walk.main_span(duty)).or_default().push(at);
    }
    for duty in &program.duties {
        let alone = sharing.get(&walk.main_span(duty)).is_none_or(|all| all.len() < 2);
        walk.duty(duty, alone);
    }
    for group in sharing.values().filter(|group| group.len() > 1) {
        walk.triggers(group);
    }
    walk.excused();
}

/// How a part stands in its surroundings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stands {
    /// As a condition: it should be able to hold here.
    Asked,
    /// As a demand: not to be met here is to be violated.
    Demanded,
}

/// What several conditions that all must hold are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beside {
    /// Clauses of one line, or lines of one list.
    Clauses,
    /// Lines that add up, at several depths: each narrows those before it.
    Lines,
}

/// What an exception does, over all duties it is bound to.
struct Excuse {
    label: String,
    at: Span,
    /// It applies somewhere.
    applies: bool,
    /// It excuses something that is not met anyway.
    excuses: bool,
    /// Exceptions that hold wherever it does and is needed, in every duty so far.
    covered_by: Option<BTreeSet<Span>>,
}

struct Walk<'w, 'p> {
    program: &'p Program,
    sources: &'p Sources,
    findings: &'w mut Findings,
    reason: Reason<'p>,
    /// Conditions looked at, by the places of their parts: scopes are lowered once for each duty in them.
    walked: BTreeSet<Vec<Span>>,
    /// Those of which something was found.
    told: BTreeSet<Vec<Span>>,
    excuses: BTreeMap<Span, Excuse>,
}

impl<'p> Walk<'_, 'p> {
    fn span(&self, test: TestId) -> Span {
        self.program.test_origin(test).span
    }

    fn words(&self, test: TestId) -> String {
        short(&self.program.test_origin(test).words)
    }

    fn say(&mut self, diagnostic: Diagnostic) {
        self.findings.add(&self.program.edition, diagnostic);
    }

    /// Where what a duty asks was written; duties of one list of triggers share it.
    fn main_span(&self, duty: &Duty) -> Span {
        match self.program.test(duty.asks) {
            Test::Choose { otherwise, .. } if !duty.replacements.is_empty() => self.span(*otherwise),
            _ => self.span(duty.asks),
        }
    }

    // -------------------------------------------------------------------------------------------- duties

    fn duty(&mut self, duty: &Duty, alone: bool) {
        let scene = self.reason.scene(duty.subject);
        let scope = self.scope(duty);
        let applies: Vec<Wanted> = scope.iter().map(|test| self.reason.holds(&scene, *test)).collect();
        if self.walked.insert(scope.iter().map(|test| self.span(*test)).collect()) {
            match scope.as_slice() {
                [only] => self.part(*only, &scene, &[], Stands::Asked),
                lines => self.conjunction(lines, &scene, &[], Stands::Asked, Beside::Lines),
            }
        }
        if !self.reason.possible(&applies) {
            return;
        }
        let fails: Vec<Wanted> = applies.iter().cloned().chain([self.reason.fails(&scene, duty.asks)]).collect();
        let violable = self.reason.possible(&fails);
        let around = if alone { applies.as_slice() } else { &[] };
        let asked = vec![self.span(duty.asks), self.main_span(duty)];
        let before = self.findings.len();
        if self.walked.insert(asked.clone()) {
            self.part(duty.asks, &scene, around, Stands::Demanded);
            if self.findings.len() > before {
                self.told.insert(asked.clone());
            }
        }
        // What is told of a part is the reason, and is not told again of the whole.
        if !violable && !self.told.contains(&asked) {
            let origin = self.program.origin(duty.origin);
            let diagnostic = Diagnostic::warning(Code::AlwaysHolds, format!("nothing can violate {}", duty.address))
                .at(origin.span, "holds wherever it applies")
                .help("compare what it asks with the `when` around it: one of them says more than was meant, or less");
            self.say(diagnostic);
        }
        self.exceptions(duty, &scene, &applies, violable.then_some(fails.as_slice()));
    }

    /// What a duty applies to, its waivers left out.
    fn scope(&self, duty: &Duty) -> Vec<TestId> {
        let waived: Vec<TestId> = duty.waivers.iter().map(|w| w.case).collect();
        let mut scope = Vec::new();
        let mut todo = vec![duty.applies];
        while let Some(test) = todo.pop() {
            match self.program.test(test) {
                // A line of its own keeps together: it is narrowed by the lines below it, and repeats none of them.
                Test::All(inner)
                    if self.span(test) == self.program.origin(duty.origin).span || self.waives(inner, &waived) =>
                {
                    todo.extend(inner.iter().rev());
                }
                Test::Not(inner) if waived.contains(inner) => {}
                Test::Always => {}
                _ => scope.push(test),
            }
        }
        scope
    }

    fn waives(&self, inner: &[TestId], waived: &[TestId]) -> bool {
        inner.iter().any(|test| matches!(self.program.test(*test), Test::Not(case) if waived.contains(case)))
    }

    fn exceptions(&mut self, duty: &Duty, scene: &Scene, applies: &[Wanted], fails: Option<&[Wanted]>) {
        let with = |base: &[Wanted], more: &[Wanted]| -> Vec<Wanted> { base.iter().chain(more).cloned().collect() };
        for relief in &duty.reliefs {
            let at = self.program.origin(relief.origin).span;
            let own = self.reason.holds(scene, relief.test);
            let possible = self.reason.possible(&with(applies, std::slice::from_ref(&own)));
            let excuses = match fails {
                Some(fails) => possible && self.reason.possible(&with(fails, std::slice::from_ref(&own))),
                // Where nothing can be violated that is the finding.
                None => possible,
            };
            let mut covered: BTreeSet<Span> = BTreeSet::new();
            for other in duty.reliefs.iter().filter(|_| excuses && relief.label.starts_with("Ex.")) {
                let there = self.program.origin(other.origin).span;
                if there != at && other.label.starts_with("Ex.") {
                    let more = [own.clone(), self.reason.fails(scene, other.test)];
                    if !self.reason.possible(&with(fails.unwrap_or(applies), &more)) {
                        covered.insert(there);
                    }
                }
            }
            // What never holds by itself is told of where it is looked at.
            let told = !possible && !self.reason.possible(&[self.reason.holds(scene, relief.case)]);
            self.excuse(at, &relief.label, possible || told, excuses || told, covered);
            if self.walked.insert(vec![self.span(relief.case)]) {
                self.part(relief.case, scene, &[], Stands::Asked);
            }
        }
        let cases = duty.replacements.iter().map(|r| (r.case, &r.label, r.origin));
        for (case, label, origin) in cases.chain(duty.waivers.iter().map(|w| (w.case, &w.label, w.origin))) {
            let at = self.program.origin(origin).span;
            let possible = self.reason.possible(&with(applies, &[self.reason.holds(scene, case)]));
            let told = !possible && !self.reason.possible(&[self.reason.holds(scene, case)]);
            self.excuse(at, label, possible || told, true, BTreeSet::new());
            if self.walked.insert(vec![self.span(case)]) {
                self.part(case, scene, &[], Stands::Asked);
            }
        }
    }

    fn excuse(&mut self, at: Span, label: &str, applies: bool, excuses: bool, covered: BTreeSet<Span>) {
        let known = self.excuses.entry(at).or_insert_with(|| Excuse {
            label: label.to_string(),
            at,
            applies: false,
            excuses: false,
            covered_by: None,
        });
        known.applies |= applies;
        known.excuses |= excuses;
        if applies && excuses {
            known.covered_by = Some(match &known.covered_by {
                Some(before) => before.intersection(&covered).copied().collect(),
                None => covered,
            });
        }
    }

    /// Tells of exceptions once all duties they are bound to were looked at.
    fn excused(&mut self) {
        let all = std::mem::take(&mut self.excuses);
        for excuse in all.values() {
            let label = &excuse.label;
            if !excuse.applies {
                let diagnostic = Diagnostic::warning(Code::ExceptionNever, format!("`{label}` never applies"))
                    .at(excuse.at, "contradicts what it is an exception to")
                    .help("compare its `when` with the `when` of what it is bound to");
                self.say(diagnostic);
            } else if !excuse.excuses {
                let diagnostic = Diagnostic::warning(Code::ExceptionNever, format!("`{label}` excuses nothing"))
                    .at(excuse.at, "where this holds, what it is an exception to is met anyway")
                    .help("compare its `when` with what is required: one of them says more than was meant");
                self.say(diagnostic);
            }
            let covering = excuse.covered_by.iter().flatten().find_map(|at| all.get(at));
            if let Some(other) = covering {
                // Of two that say the same the later is told of.
                let mutual = other.covered_by.iter().flatten().any(|at| *at == excuse.at);
                if !mutual || other.at < excuse.at {
                    let title = format!("`{label}` excuses nothing that `{}` does not", other.label);
                    let diagnostic = Diagnostic::warning(Code::ItemCovered, title)
                        .at(excuse.at, "holds only where the other one does")
                        .at(other.at, "the other one")
                        .help("narrow the wider one, or drop this one");
                    self.say(diagnostic);
                }
            }
        }
    }

    /// Duties that ask the same, each where its own line of a list says.
    fn triggers(&mut self, group: &[usize]) {
        let program = self.program;
        let duties: Vec<&Duty> = group.iter().filter_map(|at| program.duties.get(*at)).collect();
        let lines: Vec<(TestId, ThingId, Span, String)> =
            duties.iter().map(|d| (d.applies, d.subject, program.origin(d.origin).span, d.address.clone())).collect();
        self.covered(&lines, &[], None);
    }

    // -------------------------------------------------------------------------------------------- lists

    /// Lines of which one holds wherever another does. Each with the thing it is about, its place and what it is called.
    fn covered(&mut self, lines: &[(TestId, ThingId, Span, String)], around: &[Wanted], scene: Option<&Scene>) {
        let mut told: BTreeSet<usize> = BTreeSet::new();
        for (at, (test, thing, span, name)) in lines.iter().enumerate() {
            let scene = scene.cloned().unwrap_or_else(|| self.reason.scene(*thing));
            let holds: Vec<Wanted> = around.iter().cloned().chain([self.reason.holds(&scene, *test)]).collect();
            if !self.reason.possible(&holds) {
                continue;
            }
            // The later line of two that say the same is told of.
            for (other_at, (other, other_thing, other_span, other_name)) in lines.iter().enumerate().rev() {
                let apart =
                    span.source != other_span.source || span.end <= other_span.start || other_span.end <= span.start;
                if other_at == at || other_thing != thing || !apart || told.contains(&other_at) {
                    continue;
                }
                let beyond: Vec<Wanted> = holds.iter().cloned().chain([self.reason.fails(&scene, *other)]).collect();
                if self.reason.possible(&beyond) {
                    continue;
                }
                if other_at > at {
                    let back = [self.reason.holds(&scene, *other), self.reason.fails(&scene, *test)];
                    let back: Vec<Wanted> = around.iter().cloned().chain(back).collect();
                    if !self.reason.possible(&back) {
                        continue;
                    }
                }
                told.insert(at);
                let diagnostic =
                    Diagnostic::warning(Code::ItemCovered, format!("`{name}` is covered by `{other_name}`"))
                        .at(*span, "holds only where the other one does")
                        .at(*other_span, "the other one")
                        .help("narrow the wider one, or drop this one");
                self.say(diagnostic);
                break;
            }
        }
    }

    // -------------------------------------------------------------------------------------------- parts

    /// A condition with nothing around it, if it was not looked at before.
    fn once(&mut self, test: TestId, scene: &Scene) {
        if self.walked.insert(vec![self.span(test)]) {
            self.part(test, scene, &[], Stands::Asked);
        }
    }

    /// Looks at a part of a condition. `around` holds wherever the part matters.
    fn part(&mut self, test: TestId, scene: &Scene, around: &[Wanted], stands: Stands) {
        let program = self.program;
        match program.test(test) {
            Test::All(inner) => self.conjunction(inner, scene, around, stands, Beside::Clauses),
            Test::Any(inner) => self.alternatives(test, inner, scene, around),
            Test::Not(inner) => self.part(*inner, scene, around, Stands::Demanded),
            Test::Choose { case, then, otherwise } => {
                let with = |one: Wanted| -> Vec<Wanted> { around.iter().cloned().chain([one]).collect() };
                let holds = with(self.reason.holds(scene, *case));
                let fails = with(self.reason.fails(scene, *case));
                self.within(*then, scene, &holds, stands);
                self.within(*otherwise, scene, &fails, stands);
            }
            Test::Some(list, inner) | Test::Every(list, inner) | Test::Count(list, inner, ..) => {
                let within = self.reason.member(scene, list);
                let mut known = around.to_vec();
                let some = matches!(program.test(test), Test::Some(..));
                if let Some(filter) = list.filter {
                    self.part(filter, &within, around, Stands::Asked);
                    known.push(self.reason.holds(&within, filter));
                }
                let stands = if some { Stands::Asked } else { Stands::Demanded };
                if some {
                    let both: Vec<Wanted> = known.iter().cloned().chain([self.reason.holds(&within, *inner)]).collect();
                    if self.reason.possible(&known) && !self.reason.possible(&both) && list.filter.is_some() {
                        self.never(*inner, &[], "of none of those that are meant");
                        return;
                    }
                }
                self.within(*inner, &within, &known, stands);
            }
            Test::Different(halves) => {
                for (list, inner) in halves {
                    let within = self.reason.member(scene, list);
                    self.part(*inner, &within, &[], Stands::Asked);
                }
            }
            Test::Reading(_, options) => {
                options.iter().for_each(|option| self.part(*option, scene, around, Stands::Demanded));
            }
            Test::In(..)
            | Test::TextIs(..)
            | Test::IsNone(_)
            | Test::Compare(..)
            | Test::CompareConst(..)
            | Test::CompareSteps(..) => self.leaf(test, scene),
            Test::IsKind(..) | Test::Always | Test::Never => {}
        }
    }

    /// Looks at a part within surroundings, unless nothing can be in them.
    fn within(&mut self, test: TestId, scene: &Scene, around: &[Wanted], stands: Stands) {
        if self.reason.possible(around) {
            self.part(test, scene, around, stands);
        }
    }

    /// A comparison by itself, given the types.
    fn leaf(&mut self, test: TestId, scene: &Scene) {
        let (holds, fails) = (self.reason.holds(scene, test), self.reason.fails(scene, test));
        if !self.reason.possible(&[holds]) {
            self.never(test, &[], "no value is like this");
        } else if !self.reason.possible(&[fails]) {
            self.always(test, "every value is like this");
        }
    }

    fn never(&mut self, test: TestId, others: &[TestId], why: &str) {
        let mut diagnostic = Diagnostic::warning(Code::NeverHolds, format!("`{}` never holds here", self.words(test)))
            .at(self.span(test), why);
        for other in others {
            diagnostic = diagnostic.at(self.span(*other), "because of this");
        }
        self.say(diagnostic.help("correct the value or the word that was meant, or drop the line"));
    }

    fn always(&mut self, test: TestId, why: &str) {
        let diagnostic = Diagnostic::warning(Code::AlwaysHolds, format!("`{}` always holds here", self.words(test)))
            .at(self.span(test), why)
            .help("correct the value or the word that was meant, or drop the line");
        self.say(diagnostic);
    }

    fn conjunction(&mut self, inner: &[TestId], scene: &Scene, around: &[Wanted], stands: Stands, beside: Beside) {
        let holds: Vec<Wanted> = inner.iter().map(|test| self.reason.holds(scene, *test)).collect();
        if !self.reason.possible(&holds) {
            self.clash(inner, &holds);
            return;
        }
        let all: Vec<Wanted> = around.iter().cloned().chain(holds.iter().cloned()).collect();
        let fits = self.reason.possible(&all);
        if !fits && stands == Stands::Asked {
            let clashing = inner.iter().zip(&holds).find(|(_, one)| {
                let with: Vec<Wanted> = around.iter().cloned().chain([(*one).clone()]).collect();
                !self.reason.possible(&with)
            });
            if let Some(test) = clashing.map(|(test, _)| *test).or(inner.last().copied()) {
                self.never(test, &[], "contradicts what stands around it");
            }
            return;
        }
        for (at, test) in inner.iter().enumerate() {
            if beside == Beside::Clauses && self.adds_nothing(inner, at, scene) {
                self.always(*test, "adds nothing to the line beside it");
            }
            let mut known: Vec<Wanted> = if fits { around.to_vec() } else { Vec::new() };
            // A line stands for all that is below it, so only what stands before it is around it.
            let around_it = |other: usize| if beside == Beside::Lines { other < at } else { other != at };
            known.extend(holds.iter().enumerate().filter(|(other, _)| around_it(*other)).map(|(_, one)| one.clone()));
            self.part(*test, scene, &known, stands);
        }
    }

    /// Tells which of several conditions cannot hold together.
    fn clash(&mut self, inner: &[TestId], holds: &[Wanted]) {
        for (at, test) in inner.iter().enumerate() {
            if !self.reason.possible(holds.get(at..=at).unwrap_or(&[])) {
                // It is told of where it is looked at by itself, if it can be taken apart.
                return match self.program.test(*test) {
                    Test::IsKind(..) => self.never(*test, &[], "nothing is of this kind"),
                    _ => self.alone(*test, holds.get(at)),
                };
            }
        }
        for (at, test) in inner.iter().enumerate() {
            if self.reason.possible(holds.get(..=at).unwrap_or(&[])) {
                continue;
            }
            let other = (0..at).find(|other| {
                let pair: Vec<Wanted> = [holds.get(*other), holds.get(at)].into_iter().flatten().cloned().collect();
                !self.reason.possible(&pair)
            });
            let others: Vec<TestId> = other.and_then(|other| inner.get(other)).copied().into_iter().collect();
            self.never(*test, &others, "contradicts what stands with it");
            return;
        }
    }

    /// A condition that can never hold, looked into for the part that is to blame.
    fn alone(&mut self, test: TestId, wanted: Option<&Wanted>) {
        let Some(scene) = wanted.map(Wanted::scene) else { return };
        match self.program.test(test) {
            Test::All(inner) => {
                let holds: Vec<Wanted> = inner.iter().map(|test| self.reason.holds(&scene, *test)).collect();
                self.clash(inner, &holds);
            }
            _ => self.never(test, &[], "nothing is like this"),
        }
    }

    /// Whether a comparison follows from another one of the same field beside it.
    fn adds_nothing(&mut self, inner: &[TestId], at: usize, scene: &Scene) -> bool {
        let program = self.program;
        let (Some(own), Some(test)) = (inner.get(at).and_then(|t| compared(program, *t)), inner.get(at)) else {
            return false;
        };
        let span = self.span(*test);
        for (other_at, other) in inner.iter().enumerate() {
            let there = self.span(*other);
            if other_at == at || there == span || compared(program, *other) != Some(own) {
                continue;
            }
            let follows = [self.reason.holds(scene, *other), self.reason.fails(scene, *test)];
            let back = [self.reason.holds(scene, *test), self.reason.fails(scene, *other)];
            // Of two that say the same the later is told of.
            if !self.reason.possible(&follows) && (self.reason.possible(&back) || there < span) {
                return true;
            }
        }
        false
    }

    fn alternatives(&mut self, test: TestId, inner: &[TestId], scene: &Scene, around: &[Wanted]) {
        let written = self.sources.slice(self.span(test)).trim_start();
        let written = written.strip_prefix("not ").unwrap_or(written).trim_start();
        if written.starts_with("if ") {
            if let [case, then] = inner
                && let Test::Not(case) = self.program.test(*case)
            {
                let known: Vec<Wanted> = around.iter().cloned().chain([self.reason.holds(scene, *case)]).collect();
                if self.reason.possible(around) && !self.reason.possible(&known) {
                    self.never(*case, &[], "contradicts what stands around it");
                    return;
                }
                self.part(*case, scene, around, Stands::Asked);
                self.within(*then, scene, &known, Stands::Demanded);
            }
            return;
        }
        let listed = written.starts_with("any of") || written.starts_with("none of");
        if !listed {
            inner.iter().for_each(|one| self.part(*one, scene, &[], Stands::Asked));
            return;
        }
        let around = if self.reason.possible(around) { around } else { &[] };
        let mut lines = Vec::new();
        for one in inner {
            let holds = self.reason.holds(scene, *one);
            let with: Vec<Wanted> = around.iter().cloned().chain([holds.clone()]).collect();
            if self.reason.possible(&with) {
                self.part(*one, scene, around, Stands::Asked);
                let thing = scene.first().map_or(ThingId(0), |s| s.thing());
                lines.push((*one, thing, self.span(*one), self.words(*one)));
            } else if self.reason.possible(&[holds.clone()]) {
                self.never(*one, &[], "contradicts what stands around it");
            } else {
                match self.program.test(*one) {
                    Test::IsKind(..) => self.never(*one, &[], "nothing is of this kind"),
                    _ => self.alone(*one, Some(&holds)),
                }
            }
        }
        self.covered(&lines, around, Some(scene));
        let none: Vec<Wanted> = inner.iter().map(|one| self.reason.fails(scene, *one)).collect();
        if inner.len() > 1 && !self.reason.possible(&none) {
            self.always(test, "one of these always holds");
        }
    }
}

/// The field that a comparison with a constant reads.
fn compared(program: &Program, test: TestId) -> Option<&crate::ir::program::Place> {
    match program.test(test) {
        Test::In(place, _) | Test::CompareConst(place, ..) | Test::TextIs(place, _) => Some(place),
        _ => None,
    }
}
