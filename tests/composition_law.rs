//! Laws of composition, over generated amendments to an invented book.
//!
//! Amendments that touch different parts compose in any order; an empty one changes nothing; to delete and add makes a new
//! part where to replace keeps the old one; what an amendment does to one part it does to no other.
#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;
use whereas::report;
use whereas::session::{self, FactsForm, Session};

const BASE: &str = r#"
terms for demo "Demo"
choice room { garage, basement, kitchen, bedroom }
choice class { class-a, class-c }
thing receptacle {
    voltage: voltage
    rating: current
    room: room
    listed: yes-no
    guarded: yes-no
    length: length
    class: class, may be absent
}
edition demo 1 "Demo code"
"#;

/// Sections that all look alike, so that any change fits any of them.
fn base(sections: usize) -> String {
    let mut text = BASE.to_string();
    for at in 1..=sections {
        text.push_str(&format!(
            "section {at} as part-{at} \"Part {at}\" about part-{at} {{
    governs receptacle
    when voltage is 125 V, rating is 15 A or 20 A
    requires class is class-a where any of {{
        (1) room is garage
        (2) room is basement
        (3) as near-{at}: length at most {} ft
    }}
    unless Ex. 1 to (1) as safe-{at} when listed
    (B) \"Options\" {{ requires any of {{
        (1) guarded
        (2) length at most 3 ft
        (3) class is class-c
    }} }}
    notes \"note {at}\"
}}\n",
            at + 1
        ));
    }
    text
}

const SECTIONS: usize = 5;

/// A change to one section, whatever its number.
fn change(at: usize) -> impl Strategy<Value = String> {
    let some = [
        "in N: voltage was 125 V, now 125 V through 250 V",
        "in N: strike rating, was 15 A or 20 A",
        "in N: add guarded",
        "in N: add Ex. 2 as small-N when length at most 1 ft",
        "in N: strike Ex. 1 to (1)",
        "delete safe-N",
        "delete N(1)",
        "delete N(1) through N(2)",
        "delete N",
        "reserve N",
        "exclude N",
        "replace N(B) \"Options\" { requires listed }",
        "in N(2): read basement as bedroom",
        "in N: rating is no longer 15 A",
        "in N: rating is also 30 A",
        "in N(B): force was requires, now prohibits",
        "in N(B): force was requires, now notes",
        "in N(B): add requires listed",
        "split N(B) into N(B) when length at most 9 ft; N(C) when length more than 9 ft",
        "split N(2) into N(2) when guarded; N(4) when not guarded",
        "merge N(1), N(2) as N(1)",
        "N(B)(2) becomes Ex. 1 as short-N",
        "waive N when guarded",
        "waive N(2) when listed",
        "release N, if provided: class is not none",
        "insert N(D) \"Further\" { requires listed }",
        "in every rule about part-N: add Ex. 7 as own-N when guarded",
        "kind garage of receptacle for N only { any of {\n room is garage\n room is kitchen\n } }",
        "add as after-N after N \"Own\" { governs receptacle\n requires guarded }",
        "move N(B) to 10N",
        "renumber N as 20N",
    ];
    prop::sample::select(some.to_vec()).prop_map(move |text| text.replace('N', &at.to_string()))
}

fn facts() -> impl Strategy<Value = String> {
    let pick = |values: &'static [&'static str]| prop::sample::select(values.to_vec());
    (
        pick(&["125 V", "240 V", "unknown"]),
        pick(&["15 A", "20 A", "30 A", "unknown"]),
        pick(&["garage", "basement", "kitchen", "bedroom", "garage or kitchen", "unknown"]),
        pick(&["yes", "no", "unknown"]),
        pick(&["yes", "no"]),
        pick(&["1 ft", "3 ft", "6 ft", "12 ft", "at most 4 ft"]),
        pick(&["none", "class-a", "class-c", "unknown"]),
    )
        .prop_map(|(voltage, rating, room, listed, guarded, length, class)| {
            format!(
                "receptacle R {{ voltage: {voltage}, rating: {rating}, room: {room}, listed: {listed}, \
                 guarded: {guarded}, length: {length}, class: {class} }}"
            )
        })
}

fn open(amendments: &[String]) -> Session {
    let mut session = Session::empty();
    let found = session.add_rulebook("base", base(SECTIONS).into_bytes());
    assert!(found.is_empty());
    for (at, text) in amendments.iter().enumerate() {
        let text = format!("amendment a{at} to demo 1 {{\n{text}\n}}");
        let found = session.add_rulebook(&format!("a{at}"), text.clone().into_bytes());
        assert!(found.is_empty(), "{text}: {found:?}");
    }
    session
}

/// Verdicts by section, in the order of the book; nothing if the book has a mistake.
fn verdicts(session: &Session, under: &str, facts: &str) -> Vec<String> {
    let mut session = session.clone();
    let (program, mut found) = session.open(under);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    assert!(!found.has_errors(), "{under}: {}", whereas::diag::render(&found, session.sources(), &Default::default()));
    let (choices, _) = session::choose(&program, &[]);
    let mut all: Vec<String> = report::inspection(&program, &installation, &choices)
        .verdicts
        .iter()
        .map(|v| format!("{} {}", v.section, v.verdict))
        .collect();
    all.sort();
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Amendments to different sections may come in any order.
    #[test]
    fn independent_amendments_commute(one in change(1), two in change(2), three in change(3), facts in facts()) {
        let session = open(&[one, two, three]);
        let first = verdicts(&session, "demo 1 with a0, a1, a2", &facts);
        for order in ["a2, a1, a0", "a1, a2, a0", "a0, a2, a1"] {
            prop_assert_eq!(&first, &verdicts(&session, &format!("demo 1 with {order}"), &facts));
        }
    }

    /// One document with several changes does what several documents with one each do.
    #[test]
    fn one_document_does_what_several_do(one in change(1), two in change(2), facts in facts()) {
        let session = open(&[one.clone(), two.clone(), format!("{two}\n{one}")]);
        prop_assert_eq!(verdicts(&session, "demo 1 with a0, a1", &facts), verdicts(&session, "demo 1 with a2", &facts));
    }

    /// An empty amendment is the identity, before and after any other.
    #[test]
    fn an_empty_amendment_changes_nothing(one in change(4), facts in facts()) {
        let session = open(&[one, String::new()]);
        prop_assert_eq!(verdicts(&session, "demo 1", &facts), verdicts(&session, "demo 1 with a1", &facts));
        let alone = verdicts(&session, "demo 1 with a0", &facts);
        prop_assert_eq!(&alone, &verdicts(&session, "demo 1 with a0, a1", &facts));
        prop_assert_eq!(&alone, &verdicts(&session, "demo 1 with a1, a0", &facts));
        let (composed, _) = session.compose("demo 1 with a1");
        prop_assert!(composed.history.is_empty() && composed.identity.is_empty());
    }

    /// What an amendment does to one section it does to no other.
    #[test]
    fn an_amendment_leaves_the_rest_alone(one in change(2), facts in facts()) {
        let session = open(&[one]);
        let others = |all: Vec<String>| -> Vec<String> {
            all.into_iter().filter(|v| ["1", "3", "4", "5"].iter().any(|n| v.starts_with(&format!("{n}(")))).collect()
        };
        prop_assert_eq!(
            others(verdicts(&session, "demo 1", &facts)),
            others(verdicts(&session, "demo 1 with a0", &facts))
        );
    }

    /// Every change leaves a trace in the history of the part that it touches.
    #[test]
    fn every_change_is_told(one in change(3)) {
        let session = open(std::slice::from_ref(&one));
        let (composed, found) = session.compose("demo 1 with a0");
        prop_assert!(!found.has_errors());
        prop_assert!(composed.history.values().flatten().any(|e| e.document == "a0" && !e.what.is_empty()), "{}", one);
    }

    /// To delete and add under one number makes a new part; to replace keeps the old one.
    #[test]
    fn deleted_and_added_is_new_and_replaced_is_not(at in 1..=SECTIONS, facts in facts()) {
        let body = "\"Own\" { governs receptacle\n requires guarded }";
        let session = open(&[
            format!("delete {at}\nadd section {at} {body}"),
            format!("replace {at} {body}"),
        ]);
        let number = at.to_string();
        let identity = |under: &str| session.compose(under).0.identity.get(&number).cloned();
        prop_assert_eq!(identity("demo 1 with a0"), Some(format!("a0 / {at}")));
        prop_assert_eq!(identity("demo 1 with a1"), None);
        prop_assert_eq!(
            verdicts(&session, "demo 1 with a0", &facts),
            verdicts(&session, "demo 1 with a1", &facts)
        );
    }

    /// A split by cases that cover everything asks what the whole asked.
    #[test]
    fn a_split_asks_what_the_whole_asked(feet in 1u32..12, facts in facts()) {
        let session = open(&[
            format!("split 1(B) into 1(B) when length at most {feet} ft; 1(C) when length more than {feet} ft"),
            "split 2 into 2; 22 taking (2)".to_string(),
            "merge 3(1), 3(3) as 3(1)".to_string(),
        ]);
        let failed = |under: &str, numbers: &[&str]| -> bool {
            verdicts(&session, under, &facts).iter().any(|v| {
                v.ends_with(" not met") && numbers.iter().any(|n| v.starts_with(&format!("{n} ")))
            })
        };
        prop_assert_eq!(failed("demo 1", &["1(B)"]), failed("demo 1 with a0", &["1(B)", "1(C)"]));
        prop_assert_eq!(
            failed("demo 1", &["2(1)", "2(2)", "2(3)"]),
            failed("demo 1 with a1", &["2(1)", "2(3)", "22(2)"])
        );
        prop_assert_eq!(failed("demo 1", &["3(2)"]), failed("demo 1 with a2", &["3(2)"]));
        // The exception to one of the merged items reaches both of them now: less may fail, never more.
        prop_assert!(failed("demo 1", &["3(1)", "3(3)"]) || !failed("demo 1 with a2", &["3(1)"]));
    }
}
