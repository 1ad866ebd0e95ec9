//! The law: a definite verdict never changes when an unknown fact becomes known, and what is `for the authority` never
//! goes back to undecided. Checked over drawn rulebooks and drawn worlds, of which more and more is told.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod book;
mod tape;
mod world;

use book::Book;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use tape::Tape;
use whereas::base::dimension::Dimension;
use whereas::diag::{Diagnostics, Severity};
use whereas::eval::{self, Choices, Finding, Lack, Lean, Truth, Verdict};
use whereas::facts::installation::{Cell, Installation, MaybeAbsent, ObjectId, Range, Standing};
use whereas::ir::program::{KindId, Program};
use whereas::ir::schema::{FieldType, NO, Schema, YES};
use whereas::session::{FactsForm, Session};

/// Mistakes in a text, with the words they point at.
fn mistakes(found: &Diagnostics, text: &str) -> Vec<String> {
    let words = |l: &whereas::diag::Label| {
        let place = l.span.start as usize..(l.span.end as usize).min(text.len());
        format!("{}: {:?}", l.text, text.get(place.start..(place.end + 60).min(text.len())).unwrap_or(""))
    };
    found
        .iter()
        .filter(|d| d.severity == Severity::Error)
        .map(|d| format!("{} | {:?} | {:?}", d.title, d.labels.iter().map(words).collect::<Vec<_>>(), d.help))
        .collect()
}

fn open(text: &str) -> Program {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("demo.rulebook", text.as_bytes().to_vec());
    let (program, more) = session.open("demo 1");
    found.extend(more);
    let wrong = mistakes(&found, text);
    assert!(wrong.is_empty(), "MISTAKES\n{}\n{text}", wrong.join("\n"));
    program
}

fn install(program: &Program, text: &str) -> Installation {
    let mut session = Session::empty();
    let (file, mut found) = session.read_facts("demo.facts", text.as_bytes().to_vec(), FactsForm::Native);
    let (installation, more) = session.install(program, &[file]);
    found.extend(more);
    let wrong = mistakes(&found, text);
    assert!(wrong.is_empty(), "MISTAKES\n{}\n{text}", wrong.join("\n"));
    installation
}

/// All that is answered about what is stated, by what is asked and the name of the thing.
#[derive(Default)]
struct Answers {
    duties: BTreeMap<(usize, String), Finding>,
    /// Of things that may exist: by duty and the name of the owner.
    possible: BTreeMap<(usize, String), Finding>,
    kinds: BTreeMap<(usize, String), Truth>,
}

fn owner_name(program: &Program, facts: &Installation, object: ObjectId) -> Option<String> {
    let owner = facts.object(object).owner?;
    let stated = facts.object(owner).standing == Standing::Stated;
    stated.then(|| facts.full_name(&program.schema, owner))
}

fn answers(program: &Program, facts: &Installation, choices: &Choices) -> Answers {
    let mut answers = Answers::default();
    for finding in eval::inspect(program, facts, choices) {
        let duty = finding.duty.index();
        match finding.standing {
            Standing::Stated => {
                answers.duties.insert((duty, facts.full_name(&program.schema, finding.subject)), finding);
            }
            Standing::Possible => {
                if let Some(owner) = owner_name(program, facts, finding.subject) {
                    answers.possible.insert((duty, owner), finding);
                }
            }
        }
    }
    for (at, kind) in program.kinds.iter().enumerate() {
        for object in &facts.stated[usize::from(kind.thing.0)] {
            let truth = eval::qualifies(program, facts, choices, KindId(at as u32), *object);
            answers.kinds.insert((at, facts.full_name(&program.schema, *object)), truth);
        }
    }
    answers
}

fn definite(verdict: Verdict) -> bool {
    matches!(verdict, Verdict::Met | Verdict::NotMet | Verdict::NotApplicable)
}

/// What of the law is broken between less and more knowledge; none if it holds.
fn broken(program: &Program, facts: &Installation, before: &Answers, after: &Answers) -> Option<String> {
    for ((duty, subject), old) in &before.duties {
        let address = &program.duties[*duty].address;
        let Some(new) = after.duties.get(&(*duty, subject.clone())) else {
            return Some(format!("{address} on {subject} is no longer judged"));
        };
        let (was, is) = (old.outcome, new.outcome);
        let kept = match was.verdict {
            Verdict::ForTheAuthority => is.verdict != Verdict::Undecided,
            Verdict::Undecided => true,
            Verdict::Met | Verdict::NotMet | Verdict::NotApplicable => was.verdict == is.verdict,
        };
        let lean_kept = match was.lean {
            Lean::None => true,
            Lean::NoViolationPossible => {
                is.lean == Lean::NoViolationPossible || matches!(is.verdict, Verdict::Met | Verdict::NotApplicable)
            }
            Lean::ViolatedIfItApplies => {
                is.lean == Lean::ViolatedIfItApplies || matches!(is.verdict, Verdict::NotMet | Verdict::NotApplicable)
            }
        };
        if !kept || !lean_kept {
            return Some(format!("{address} on {subject}: {was:?} became {is:?}"));
        }
    }
    for ((duty, subject), new) in &after.duties {
        if before.duties.contains_key(&(*duty, subject.clone())) {
            continue;
        }
        let owner = owner_name(program, facts, new.subject);
        let Some(old) = owner.and_then(|owner| before.possible.get(&(*duty, owner))) else { continue };
        if definite(old.outcome.verdict) && old.outcome.verdict != new.outcome.verdict {
            let address = &program.duties[*duty].address;
            return Some(format!("{address} on the new {subject}: {:?} became {:?}", old.outcome, new.outcome));
        }
    }
    for ((kind, object), old) in &before.kinds {
        let new = after.kinds.get(&(*kind, object.clone())).copied();
        if old.is_known() && new != Some(*old) {
            return Some(format!("{} of {object}: {old:?} became {new:?}", program.kinds[*kind].name));
        }
    }
    None
}

const SMALL: world::Most = world::Most { rooms: 2, circuits: 2, paths: 3, parts: 2 };

/// Learns a world step by step and compares the answers of each step with those before.
fn check_law(program: &Program, book: &str, bytes: &[u8]) -> Result<(), TestCaseError> {
    let mut tape = Tape::new(bytes);
    let mut world = world::World::draw(&mut tape, SMALL);
    let mut choices = Choices::none(program);
    let mut before: Option<(String, Answers)> = None;
    let steps = 5;
    for step in 0..steps {
        if step + 1 == steps {
            world.learn_all();
        } else {
            world.learn(&mut tape, 2);
        }
        let text = world.text();
        let facts = install(program, &text);
        let now = answers(program, &facts, &choices);
        if let Some((old_text, old)) = &before {
            let wrong = broken(program, &facts, old, &now);
            prop_assert!(wrong.is_none(), "{}\n{book}\nBEFORE\n{old_text}\nAFTER\n{text}", wrong.unwrap_or_default());
        }
        before = Some((text, now));
        // A reading may be chosen on the way.
        for (reading, declared) in program.readings.iter().enumerate() {
            if choices.get(whereas::ir::program::ReadingId(reading as u32)).is_none() && tape.chance(2) {
                choices.set(reading, tape.below(declared.options.len()));
            }
        }
        if step + 1 == steps {
            let (text, old) = before.as_ref().unwrap();
            for finding in old.duties.values() {
                let lack = finding.outcome.lack;
                prop_assert!(
                    !lack.includes(Lack::FACT) && !lack.includes(Lack::JUDGMENT),
                    "all is known, and yet {:?} {}\n{book}\nFACTS\n{text}",
                    finding.outcome,
                    program.duties[finding.duty.index()].address
                );
            }
            let now = answers(program, &facts, &choices);
            let wrong = broken(program, &facts, old, &now);
            prop_assert!(wrong.is_none(), "readings chosen: {}\n{book}\nFACTS\n{text}", wrong.unwrap_or_default());
        }
    }
    Ok(())
}

/// Makes every fact named as missing known, and says whether one of them leads on: a reference or a list.
fn make_known(
    world: &mut world::World,
    schema: &Schema,
    facts: &Installation,
    missing: &[eval::Missing],
) -> Result<LeadsOn, String> {
    let mut leads_on = LeadsOn::No;
    for one in missing {
        let object = facts.object(one.object);
        let at = world.named(&object.name);
        let Some(at) = at.filter(|_| object.standing == Standing::Stated) else {
            return Err(format!("`{}` of something nobody stated is asked for", one.name(schema, facts)));
        };
        let name = one.name(schema, facts);
        let name = name.strip_prefix("other ").unwrap_or(&name);
        match world::THINGS[world.things[at].thing].fields.iter().position(|f| f.name == name) {
            Some(field) => {
                let holds = world::THINGS[world.things[at].thing].fields[field].holds;
                if !matches!(holds, world::Holds::YesNo | world::Holds::OneOf(_) | world::Holds::Quantity(..)) {
                    leads_on = LeadsOn::Yes;
                }
                world.learn_fact(at, field);
            }
            // A computed list: which others there are.
            None => {
                world.close_top(world::CIRCUIT);
                leads_on = LeadsOn::Yes;
            }
        }
    }
    Ok(leads_on)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum LeadsOn {
    No,
    Yes,
}

/// Picks duties that only facts keep undecided, makes what is missing known, and expects a verdict.
fn check_missing(program: &Program, book: &str, bytes: &[u8]) -> Result<(), TestCaseError> {
    let mut tape = Tape::new(bytes);
    let mut world = world::World::draw(&mut tape, SMALL);
    for much in [2, 3, 3] {
        world.learn(&mut tape, much);
        let text = world.text();
        let facts = install(program, &text);
        let mut choices = Choices::none(program);
        for (reading, declared) in program.readings.iter().enumerate() {
            choices.set(reading, tape.below(declared.options.len()));
        }
        let only_facts = |f: &Finding| f.standing == Standing::Stated && f.outcome.lack == Lack::FACT;
        let open: Vec<Finding> = eval::inspect(program, &facts, &choices).into_iter().filter(only_facts).collect();
        for _ in 0..open.len().min(2) {
            let finding = open[tape.below(open.len())];
            let subject = facts.full_name(&program.schema, finding.subject);
            let (mut told, mut told_text, mut now, mut at) =
                (world.clone(), text.clone(), facts.clone(), finding.subject);
            let mut asked = Vec::new();
            for round in 0..20 {
                let missing = eval::explain(program, &now, &choices, finding.duty, at).missing;
                let names: Vec<String> = missing.iter().map(|m| m.words(&program.schema, &now)).collect();
                asked.push(names.join(", "));
                let case = |why: &str| {
                    let address = &program.duties[finding.duty.index()].address;
                    format!("{why}: {address} on {subject}, asked {asked:?}\n{book}\nFACTS\n{text}\nTHEN\n{told_text}")
                };
                prop_assert!(!missing.is_empty(), "{}", case("undecided, and nothing is asked for"));
                let leads_on = make_known(&mut told, &program.schema, &now, &missing);
                prop_assert!(leads_on.is_ok(), "{}", case(&leads_on.err().unwrap_or_default()));
                let next = told.text();
                prop_assert!(next != told_text, "{}", case("what is asked for is known already"));
                let case = case("all that was asked for is known, and yet it is undecided");
                told_text = next;
                now = install(program, &told_text);
                at = now.stated[usize::from(program.duties[finding.duty.index()].subject.0)]
                    .iter()
                    .copied()
                    .find(|o| now.full_name(&program.schema, *o) == subject)
                    .unwrap();
                let outcome = eval::judge(program, &now, &choices, finding.duty, at);
                if definite(outcome.verdict) || outcome.lack != Lack::FACT {
                    break;
                }
                prop_assert!(leads_on == Ok(LeadsOn::Yes) && round < 19, "{case}\nNOW\n{told_text}\n{outcome:?}");
            }
        }
    }
    Ok(())
}

/// The values a cell may still have: for numbers, those between all constants of the drawn rulebooks.
fn completions(program: &Program, facts: &Installation, object: ObjectId, field: usize) -> Vec<Cell> {
    let object = facts.object(object);
    let declared = &program.schema.thing(object.thing).fields[field];
    let domain = match declared.ty {
        FieldType::OneOf(domain) => program.schema.domain(domain).all(),
        _ => NO | YES,
    };
    let none = |perhaps: bool| perhaps.then_some(Cell::Absent);
    let set = |set: u128, perhaps: bool| {
        let values = (0..128).map(|at| 1u128 << at).filter(move |bit| set & bit != 0);
        values.map(|bit| Cell::Values(bit, MaybeAbsent::Present)).chain(none(perhaps)).collect()
    };
    match (&declared.ty, &object.cells[field]) {
        (FieldType::YesNo | FieldType::OneOf(_), Cell::Unknown) => set(domain, declared.may_be_absent),
        (_, Cell::Values(possible, absent)) => set(*possible, *absent == MaybeAbsent::Perhaps),
        (FieldType::Quantity(dimension), Cell::Unknown | Cell::Range(..)) => {
            let (range, perhaps) = match &object.cells[field] {
                Cell::Range(range, absent) => (range.as_ref().clone(), *absent == MaybeAbsent::Perhaps),
                _ => (Range::default(), declared.may_be_absent),
            };
            let foot = whereas::base::number::Number::from_ratio(381, 1250).unwrap();
            let unit = match *dimension {
                Dimension::LENGTH => foot,
                Dimension::AREA => foot.mul(&foot),
                _ => 1.into(),
            };
            let lowest = if declared.never_negative { 0 } else { -3 };
            let all = (lowest..=8).map(|n| whereas::base::number::Number::from_ratio(n, 2).unwrap().mul(&unit));
            let fits = |n: &whereas::base::number::Number| {
                range.low.as_ref().is_none_or(|low| n > low || (n == low && !range.above_low))
                    && range.high.as_ref().is_none_or(|high| n < high || (n == high && !range.below_high))
            };
            all.filter(fits).map(Cell::Number).chain(none(perhaps)).collect()
        }
        (FieldType::Ref(thing), Cell::Unknown) => {
            let all = facts.stated[usize::from(thing.0)].iter().map(|to| Cell::Object(*to));
            all.chain(none(declared.may_be_absent)).collect()
        }
        (_, Cell::OneOfObjects(all, absent)) => {
            all.iter().map(|to| Cell::Object(*to)).chain(none(*absent == MaybeAbsent::Perhaps)).collect()
        }
        _ => Vec::new(),
    }
}

/// How often a verdict was undecided, and how often all completions tried agreed nevertheless.
static UNDECIDED: AtomicUsize = AtomicUsize::new(0);
static AVOIDABLE: AtomicUsize = AtomicUsize::new(0);
static DEFINITE: AtomicUsize = AtomicUsize::new(0);

/// The most completions of one body of facts.
const MOST_COMPLETIONS: usize = 400;

/// Tries every completion of almost complete facts and compares what is definite with what each of them gives.
fn check_completions(program: &Program, book: &str, bytes: &[u8]) -> Result<(), TestCaseError> {
    let mut tape = Tape::new(bytes);
    let mut world = world::World::draw(&mut tape, world::Most { rooms: 2, circuits: 1, paths: 2, parts: 1 });
    world.learn_all();
    for _ in 0..1 + tape.below(4) {
        world.forget(&mut tape);
    }
    let text = world.text();
    let facts = install(program, &text);
    let choices = Choices::none(program);
    let partial = answers(program, &facts, &choices);
    let mut open: Vec<(ObjectId, usize, Vec<Cell>)> = Vec::new();
    for object in facts.stated.iter().flatten() {
        for field in 0..facts.object(*object).cells.len() {
            let values = completions(program, &facts, *object, field);
            if values.len() > 1 {
                open.push((*object, field, values));
            }
        }
    }
    let count: usize = open.iter().map(|(_, _, values)| values.len()).product();
    if count > MOST_COMPLETIONS {
        return Ok(());
    }
    let mut agreed: BTreeMap<(usize, String), Option<Verdict>> = BTreeMap::new();
    for number in 0..count {
        let mut whole = facts.clone();
        let mut rest = number;
        for (object, field, values) in &open {
            whole.objects[object.index()].cells[*field] = values[rest % values.len()].clone();
            rest /= values.len();
        }
        let now = answers(program, &whole, &choices);
        let wrong = broken(program, &whole, &partial, &now);
        prop_assert!(
            wrong.is_none(),
            "completion {number} of {open:?}: {}\n{book}\nFACTS\n{text}",
            wrong.unwrap_or_default()
        );
        for (key, finding) in now.duties {
            let verdict = Some(finding.outcome.verdict);
            agreed.entry(key).and_modify(|v| *v = if *v == verdict { verdict } else { None }).or_insert(verdict);
        }
    }
    for (key, finding) in &partial.duties {
        if definite(finding.outcome.verdict) {
            DEFINITE.fetch_add(1, Ordering::Relaxed);
        } else {
            UNDECIDED.fetch_add(1, Ordering::Relaxed);
            if agreed.get(key).is_some_and(|v| v.is_some_and(definite)) {
                AVOIDABLE.fetch_add(1, Ordering::Relaxed);
            }
        }
    }
    Ok(())
}

fn bytes(most: usize) -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(any::<u8>(), most / 3..most)
}

/// So many cases, or as many as the usual variable of proptest asks for.
fn config(cases: u32) -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(cases);
    ProptestConfig { cases, failure_persistence: None, max_shrink_iters: 400, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config(500))]

    /// 500 rulebooks, four worlds each, each learnt in five steps: 10,000 bodies of facts.
    #[test]
    fn definite_verdicts_stay(book in bytes(400), worlds in prop::collection::vec(bytes(500), 4)) {
        let text = Book::draw(&mut Tape::new(&book));
        let program = open(&text);
        for world in &worlds {
            check_law(&program, &text, world)?;
        }
    }
}

proptest! {
    #![proptest_config(config(120))]

    /// What is named as missing settles the matter, whatever the answers.
    #[test]
    fn missing_facts_settle(book in bytes(400), worlds in prop::collection::vec(bytes(500), 4)) {
        let text = Book::draw(&mut Tape::new(&book));
        let program = open(&text);
        for world in &worlds {
            check_missing(&program, &text, world)?;
        }
    }
}

proptest! {
    #![proptest_config(config(40))]

    /// What is definite holds in every completion. The rest is measured, not asserted: a small share is undecided though
    /// all completions agree, because conditions are judged apart.
    #[test]
    fn definite_verdicts_hold_in_every_completion(book in bytes(400), worlds in prop::collection::vec(bytes(300), 6)) {
        let text = Book::draw(&mut Tape::new(&book));
        let program = open(&text);
        for world in &worlds {
            check_completions(&program, &text, world)?;
        }
        let of = |count: &AtomicUsize| count.load(Ordering::Relaxed);
        println!("definite {}, undecided {}, of these avoidable {}", of(&DEFINITE), of(&UNDECIDED), of(&AVOIDABLE));
    }
}
