//! One installation under the shipped 2017 rulebook: verdicts with their traces, as a whole report in words, verdicts
//! alone, and held against checks by hand.
//!
//! Goals: with traces under 100 us; the duties written by hand at most 6 times the hand's time.

use crate::hand::{self, OF_OUTLET, OF_PATH};
use crate::plain;
use crate::rounds::{Contender, ratio, shown, take_turns};
use std::path::Path;
use whereas::eval::{self, Choices, Explanation, Finding, Verdict};
use whereas::facts::installation::{Installation, ObjectId, Standing};
use whereas::ir::program::{DutyId, Program};
use whereas::report;
use whereas::session::{FactsForm, Session};

const CLINIC: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/clinic");
/// Circuits of the larger building.
const CIRCUITS: usize = 40;

struct Case {
    name: String,
    facts: Installation,
}

fn opened() -> (Session, Program) {
    let (session, diagnostics) = Session::shipped();
    assert!(!diagnostics.has_errors());
    let (program, diagnostics) = session.open("nec 2017");
    assert!(!diagnostics.has_errors());
    (session, program)
}

fn installed(session: &mut Session, program: &Program, name: &str, text: String) -> Case {
    let (file, diagnostics) = session.read_facts(name, text.into_bytes(), FactsForm::Native);
    assert!(!diagnostics.has_errors(), "{name}");
    let (facts, diagnostics) = session.install(program, &[file]);
    assert!(!diagnostics.has_errors(), "{name}");
    Case { name: name.to_string(), facts }
}

/// All example clinics in order of their names.
fn clinics() -> Vec<(String, String)> {
    let mut paths: Vec<_> = std::fs::read_dir(CLINIC).expect("examples").map(|e| e.expect("entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "facts"));
    paths.sort();
    let stem = |path: &Path| path.file_stem().map_or(String::new(), |s| s.to_string_lossy().into_owned());
    paths.into_iter().map(|path| (stem(&path), std::fs::read_to_string(&path).expect("text"))).collect()
}

/// One building with the circuits of a clinic many times over, each with a space of its own.
fn larger(text: &str) -> String {
    let at = text.find("\nspace ").expect("a space behind the project");
    let (project, rest) = text.split_at(at);
    let mut all = project.to_string();
    for copy in 0..CIRCUITS {
        all.push_str(&rest.replace("exam-4", &format!("exam-4-{copy}")).replace("EX4-1", &format!("EX4-1-{copy}")));
    }
    all
}

/// The duties written by hand on every stated subject, in the hand's order.
fn duties_by_hand(program: &Program, facts: &Installation) -> Vec<(DutyId, ObjectId)> {
    let of = |thing: &str, addresses: &[&str]| {
        let thing = program.schema.thing_named(thing).expect("a thing of the vocabulary");
        let duties: Vec<DutyId> = addresses
            .iter()
            .map(|address| {
                let at = program.duties.iter().position(|d| d.address == *address && d.subject == thing);
                DutyId(u32::try_from(at.unwrap_or_else(|| panic!("no duty {address}"))).expect("a duty's number"))
            })
            .collect();
        facts.stated[usize::from(thing.0)]
            .iter()
            .flat_map(|subject| duties.iter().map(|duty| (*duty, *subject)).collect::<Vec<_>>())
            .collect::<Vec<_>>()
    };
    let mut pairs = of("outlet", &OF_OUTLET);
    pairs.extend(of("path", &OF_PATH));
    pairs
}

/// Every verdict, and the trace of each one on a stated subject.
fn traced<'p>(
    program: &'p Program,
    facts: &'p Installation,
    choices: &'p Choices,
) -> (Vec<Finding>, Vec<Explanation<'p>>) {
    let judge = eval::Judge::new(program, facts, choices);
    let findings = judge.inspect();
    let stated = findings.iter().filter(|finding| finding.standing == Standing::Stated);
    let traces = stated.map(|finding| judge.explain(finding)).collect();
    (findings, traces)
}

fn judged(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    pairs: &[(DutyId, ObjectId)],
    out: &mut Vec<Verdict>,
) {
    out.clear();
    let judge = eval::Judge::new(program, facts, choices);
    for (duty, subject) in pairs {
        out.push(judge.judge(*duty, *subject).verdict);
    }
}

/// Where the hand and the evaluator disagree.
fn disagreements(program: &Program, choices: &Choices, case: &Case) -> Vec<String> {
    let pairs = duties_by_hand(program, &case.facts);
    let (mut ours, mut hands) = (Vec::new(), Vec::new());
    judged(program, &case.facts, choices, &pairs, &mut ours);
    hand::verdicts(&plain::read(program, &case.facts), &mut hands);
    assert_eq!(ours.len(), hands.len());
    let mut found = Vec::new();
    for ((ours, hands), (duty, subject)) in ours.iter().zip(&hands).zip(&pairs) {
        if ours != hands {
            let address = &program.duties[duty.index()].address;
            let subject = case.facts.full_name(&program.schema, *subject);
            found.push(format!("{}: {address} on {subject}: {ours:?}, by hand {hands:?}", case.name));
        }
    }
    found
}

pub fn measure() {
    let (mut session, program) = opened();
    let choices = Choices::none(&program);
    let texts = clinics();
    let cases: Vec<Case> =
        texts.iter().map(|(name, text)| installed(&mut session, &program, name, text.clone())).collect();
    let mut found: Vec<String> = cases.iter().flat_map(|case| disagreements(&program, &choices, case)).collect();
    let whole = larger(&texts[2].1);
    let whole = installed(&mut session, &program, &format!("{CIRCUITS} of {}", texts[2].0), whole);
    found.extend(disagreements(&program, &choices, &whole));
    println!("inspection, {} duties; the hand agrees on {} installations", program.duties.len(), cases.len() + 1);
    if !found.is_empty() {
        println!("  NOT COMPARABLE: the hand disagrees\n    {}", found.join("\n    "));
        return;
    }
    for case in [&cases[2], &cases[9], &whole] {
        one(&program, &choices, case);
    }
}

fn one(program: &Program, choices: &Choices, case: &Case) {
    let facts = &case.facts;
    let pairs = duties_by_hand(program, facts);
    let plain = plain::read(program, facts);
    let (mut ours, mut hands) = (Vec::new(), Vec::new());
    let mut contenders = [
        Contender::new("with traces", || traced(program, facts, choices)),
        Contender::new("as a report", || report::inspection(program, facts, choices)),
        Contender::new("verdicts alone", || eval::inspect(program, facts, choices).len()),
        Contender::new("duties by hand", || {
            hand::verdicts(std::hint::black_box(&plain), &mut hands);
            hands.len()
        }),
        Contender::new("the same, judged", || {
            judged(program, std::hint::black_box(facts), choices, &pairs, &mut ours);
            ours.len()
        }),
    ];
    take_turns(&mut contenders, 31);
    let judgements = eval::inspect(program, facts, choices).len();
    println!("  {} ({judgements} judgements, {} of them by hand too)", case.name, pairs.len());
    let hand = contenders[3].median();
    for contender in &contenders {
        let median = contender.median();
        let against = match contender.name {
            "the same, judged" => format!("  {:>5.2} x by hand", ratio(median, hand)),
            _ => String::new(),
        };
        println!("    {:<18} {:>10}{against}", contender.name, shown(median));
    }
}

/// One run of each for the counting of instructions.
pub fn count() {
    let (mut session, program) = counted_opening();
    let choices = Choices::none(&program);
    let (name, text) = clinics().swap_remove(2);
    let case = installed(&mut session, &program, &name, text);
    let pairs = duties_by_hand(&program, &case.facts);
    let plain = plain::read(&program, &case.facts);
    counted_explanations(&program, &case.facts, &choices);
    counted_traces(&program, &case.facts, &choices);
    counted_stated(&program, &case.facts, &choices);
    counted_verdicts(&program, &case.facts, &choices);
    counted_hand(&plain);
    counted_judged(&program, &case.facts, &choices, &pairs);
}

#[inline(never)]
fn counted_opening() -> (Session, Program) {
    opened()
}

#[inline(never)]
fn counted_explanations(program: &Program, facts: &Installation, choices: &Choices) {
    std::hint::black_box(report::inspection(program, facts, choices));
}

#[inline(never)]
fn counted_traces(program: &Program, facts: &Installation, choices: &Choices) {
    std::hint::black_box(traced(program, facts, choices));
}

#[inline(never)]
fn counted_stated(program: &Program, facts: &Installation, choices: &Choices) {
    std::hint::black_box(eval::inspect_stated(program, facts, choices));
}

#[inline(never)]
fn counted_verdicts(program: &Program, facts: &Installation, choices: &Choices) {
    std::hint::black_box(eval::inspect(program, facts, choices));
}

#[inline(never)]
fn counted_hand(plain: &plain::Plain) {
    let mut out = Vec::new();
    hand::verdicts(plain, &mut out);
    std::hint::black_box(out);
}

#[inline(never)]
fn counted_judged(program: &Program, facts: &Installation, choices: &Choices, pairs: &[(DutyId, ObjectId)]) {
    let mut out = Vec::new();
    judged(program, facts, choices, pairs, &mut out);
    std::hint::black_box(out);
}
