//! Existing work: two states of one installation judged by one book.
//!
//! The rules here are invented; the mechanics are those of public law, with the published source named by its key: MA5 (a
//! state's rule that the rest need not be brought up, and that work must not increase the magnitude of a violation), F7 and F9
//! (replacement as a trigger of its own, which some sections name and others do not).
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Code, Diagnostics};
use whereas::report::{self, view::Inspection};
use whereas::session::{self, FactsForm, Session};

const RULES: &str = r#"
terms for demo "Demo"
choice work-kind { untouched, extended, replaced, installed }
thing project { installation: date }
thing box {
    room       : count, never negative
    work       : work-kind
    conductors : many conductor
}
thing conductor { needs : count, never negative }
thing receptacle {
    work    : work-kind
    guarded : yes-no
}
define fill of box = sum of needs of conductors
edition demo 2020 "Demo code"
section 314 "Fill" about existing {
    governs box
    requires fill at most room
    unless Ex. 1 as existing-work when work is not replaced, no worse than before by fill beyond room
}
section 406 "Guards" {
    governs receptacle
    when work is installed
    also when work is replaced
    requires guarded
}
"#;

fn run(facts: &str) -> (Option<Inspection>, Diagnostics) {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("rules", RULES.as_bytes().to_vec());
    let (program, more) = session.open("demo 2020");
    found.extend(more);
    let form = FactsForm::guess("", facts.as_bytes());
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), form);
    found.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    if found.has_errors() {
        return (None, found);
    }
    let (choices, _) = session::choose(&program, &[]);
    (Some(report::inspection(&program, &installation, &choices)), found)
}

fn inspect(facts: &str) -> Inspection {
    let (inspection, found) = run(facts);
    assert!(found.is_empty(), "{found:?}");
    inspection.unwrap()
}

fn verdict(facts: &str, section: &str) -> String {
    let inspection = inspect(facts);
    let found: Vec<&str> =
        inspection.verdicts.iter().filter(|v| v.section == section).map(|v| v.verdict.as_str()).collect();
    match found.as_slice() {
        [one] => one.to_string(),
        other => panic!("{section}: {other:?}"),
    }
}

/// A box for seven, with nine in it.
const FULL: &str = "receptacle: none\nbox B { room: 7, work: WORK, conductors { a { needs: 4 }  b { needs: 5 } } }\n";

fn full(work: &str, before: &str) -> String {
    format!("{}{before}\n", FULL.replace("WORK", work).replace("}  b", "}\n b"))
}

#[test]
fn an_existing_violation_is_not_cited_unless_the_work_makes_it_worse() {
    // MA5. Nothing added: nine for seven, before and after.
    assert_eq!(verdict(&full("extended", "before: same"), "314"), "met");
    let by = inspect(&full("extended", "before: same")).verdicts[0].by.clone();
    assert_eq!(by, "Ex. 1 existing-work");
    // One conductor was added: the excess grew from two to three.
    let added = full("extended", "before: same except { box B { conductors { b { needs: 4 } } } }");
    assert_eq!(verdict(&added, "314"), "not met");
    let gone = full("extended", "before: same except { box B { conductors { b: none } } }");
    assert_eq!(verdict(&gone, "314"), "not met");
    // One was taken out: better than before, though still too full.
    let less = full("extended", "before: same except { box B { conductors { b { needs: 7 } } } }");
    assert_eq!(verdict(&less, "314"), "met");
    // A box that is replaced must comply, whatever stood there.
    assert_eq!(verdict(&full("replaced", "before: same"), "314"), "not met");
}

#[test]
fn the_state_before_is_unknown_unless_written() {
    for unwritten in ["", "before: unknown"] {
        let inspection = inspect(&full("extended", unwritten));
        assert_eq!(inspection.verdicts[0].verdict, "undecided");
        let missing: Vec<(&str, &str)> =
            inspection.verdicts[0].missing.iter().map(|m| (m.of.as_str(), m.field.as_str())).collect();
        assert_eq!(missing, [("B", "state before the work")]);
    }
    // Where the main rule is met or no exception could help, nothing need be known of it.
    assert_eq!(verdict(&full("extended", "").replace("room: 7", "room: 9"), "314"), "met");
    assert_eq!(verdict(&full("replaced", ""), "314"), "not met");
}

#[test]
fn what_was_not_there_is_new_and_gets_no_relief() {
    assert_eq!(verdict(&full("extended", "before: none"), "314"), "not met");
    let other = "before {\n    box A { room: 7, conductors: none }\n    receptacle: none\n}";
    assert_eq!(verdict(&full("extended", other), "314"), "not met");
    // The list goes on: it may have been there.
    let open = "before {\n    box A { room: 7, conductors: none }\n    and maybe more box\n}";
    assert_eq!(verdict(&full("extended", open), "314"), "undecided");
}

#[test]
fn the_state_before_may_be_partly_known() {
    let before = |needs: &str| {
        full("extended", &format!("before: same except {{ box B {{ conductors {{ b {{ needs: {needs} }} }} }} }}"))
    };
    assert_eq!(verdict(&before("unknown"), "314"), "undecided");
    assert_eq!(verdict(&before("at least 5"), "314"), "met");
    assert_eq!(verdict(&before("at most 4"), "314"), "not met");
    assert_eq!(verdict(&before("4 or 5"), "314"), "undecided");
    let missing = inspect(&before("4 or 5")).verdicts[0].missing.clone();
    assert_eq!((missing[0].of.as_str(), missing[0].field.as_str()), ("b of B before the work", "needs"));
}

#[test]
fn a_definite_verdict_stands_whatever_becomes_known_of_the_state_before() {
    let stated = |needs: &str| format!("before: same except {{ box B {{ conductors {{ b {{ needs: {needs} }} }} }} }}");
    let wide = ["unknown", "at least 4", "at most 5", "4 or 5", "5 or 6", "4", "5", "6", "7"];
    let within = |wide: &str, one: u32| match wide {
        "unknown" => true,
        "at least 4" => one >= 4,
        "at most 5" => one <= 5,
        "4 or 5" => one == 4 || one == 5,
        "5 or 6" => one == 5 || one == 6,
        same => same == one.to_string(),
    };
    let mut definite = 0;
    for work in ["unknown", "extended", "extended or replaced", "replaced"] {
        for wide in wide {
            let open = verdict(&full(work, &stated(wide)), "314");
            let unwritten = verdict(&full(work, ""), "314");
            for one in 3..=8 {
                for known in ["extended", "replaced"].into_iter().filter(|k| work == "unknown" || work.contains(k)) {
                    let settled = verdict(&full(known, &stated(&one.to_string())), "314");
                    if within(wide, one) && open != "undecided" {
                        assert_eq!(open, settled, "{work}, {wide}: {known}, {one}");
                        definite += 1;
                    }
                    if unwritten != "undecided" {
                        assert_eq!(unwritten, settled, "{work}, not written: {known}, {one}");
                    }
                }
            }
        }
    }
    assert!(definite > 30, "{definite}");
}

#[test]
fn both_states_may_stand_in_braces() {
    let facts = "before {\n    receptacle: none\n    box B { room: 7, conductors { a { needs: 9 } } }\n}\n\
                 after {\n    receptacle: none\n    box B { room: 7, work: extended, conductors { a { needs: 8 } } }\n}\n";
    assert_eq!(verdict(facts, "314"), "met");
    // Only the state after is judged: one verdict for the box.
    assert_eq!(inspect(facts).verdicts.len(), 1);
}

#[test]
fn replacement_is_a_trigger_only_where_the_section_says_so() {
    // F7, F9
    let on = |work: &str| format!("box: none\nreceptacle R {{ work: {work}, guarded: no }}\n");
    assert_eq!(verdict(&on("installed"), "406"), "not met");
    assert_eq!(verdict(&on("replaced"), "406"), "not met");
    assert_eq!(verdict(&on("untouched"), "406"), "not applicable");
    assert_eq!(verdict(&on("untouched or replaced"), "406"), "undecided");
}

#[test]
fn json_states_both_too() {
    let facts = r#"{ "receptacle": "none",
        "box": { "B": { "room": 7, "work": "extended", "conductors": { "a": { "needs": 4 }, "b": { "needs": 5 } } } },
        "before": BEFORE }"#;
    let with = |before: &str| verdict(&facts.replace("BEFORE", before), "314");
    assert_eq!(with("\"same\""), "met");
    assert_eq!(with("\"none\""), "not met");
    assert_eq!(with("null"), "undecided");
    assert_eq!(with(r#"{ "same-except": { "box": { "B": { "conductors": { "b": { "needs": 4 } } } } } }"#), "not met");
    assert_eq!(
        with(r#"{ "receptacle": "none", "box": { "B": { "room": 7, "conductors": { "a": { "needs": 9 } } } } }"#),
        "met"
    );
}

#[test]
fn mistakes_are_told() {
    let codes = |facts: &str| -> Vec<Code> { run(facts).1.iter().map(|d| d.code).collect() };
    assert_eq!(codes(&full("extended", "before: same\nbefore: none")), [Code::FactFieldTwice]);
    assert_eq!(codes(&full("extended", "before {\n    before: none\n    box: none\n}")), [Code::OutOfPlace]);
    assert_eq!(codes(&full("extended", "before {\n    box B { rooms: 7 }\n}")), [Code::FactUnknownField]);
    assert_eq!(codes(&full("extended", "before: same except {\n    box B { room: 7 ft }\n}")), [Code::FactWrongType]);
    assert_eq!(codes(&full("extended", "befor: same")), [Code::UnexpectedText]);
}

#[test]
fn a_quantity_that_grows_is_asked_for() {
    let wrong = |rules: &str| -> Vec<Code> {
        let mut session = Session::empty();
        let mut found = session.add_rulebook("rules", rules.as_bytes().to_vec());
        found.extend(session.open("demo 2020").1);
        found.iter().map(|d| d.code).collect()
    };
    assert_eq!(wrong(&RULES.replace("by fill beyond room", "by work")), [Code::WrongType]);
    assert_eq!(wrong(&RULES.replace("    when work is installed\n", "")), [Code::OutOfPlace]);
}
