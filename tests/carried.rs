//! What an edition carries unchecked is said of every verdict that rests on it, however fine the line.
//!
//! The rules are invented; only their logic is tested.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::report::{self, Depth, Inspection};
use whereas::session::{FactsForm, Session};

const RULES: &str = "terms for demo \"Demo\"
thing room { wet: yes-no
    height: length }
edition demo 1 \"Demo code\"
section 1 {
    governs room
    requires not wet    memory
    (A) { requires all of {
        (1) height at least 7 ft    seen \"a\"
        (2) height at most 20 ft    memory
    } }
}
section 2 { governs room
    requires height at least 6 ft    memory }
edition demo 2 follows demo 1 { carry 1 unchecked }
edition demo 3 follows demo 2 { carry 1(A) unchecked }
";

fn inspect(book: &str) -> Inspection {
    let mut session = Session::empty();
    let mut diagnostics = session.add_rulebook("rules", RULES.as_bytes().to_vec());
    let (program, more) = session.open(book);
    diagnostics.extend(more);
    let facts = "room hall { wet: no, height: 8 ft }\n";
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    diagnostics.extend(more);
    assert!(diagnostics.is_empty(), "{}", whereas::diag::render(&diagnostics, session.sources(), &Default::default()));
    let (choices, _) = whereas::session::choose(&program, &[]);
    report::inspection(&program, &installation, &choices)
}

fn unchecked(book: &str) -> Vec<(String, String)> {
    inspect(book).verdicts.into_iter().map(|v| (v.section, v.unchecked)).collect()
}

#[test]
fn every_line_inside_says_it_beside_its_own_marks() {
    let wanted = |documents: [&str; 4]| -> Vec<(String, String)> {
        ["1", "1(A)(1)", "1(A)(2)", "2"].into_iter().zip(documents).map(|(a, b)| (a.into(), b.into())).collect()
    };
    assert_eq!(unchecked("demo 1"), wanted(["", "", "", ""]));
    assert_eq!(unchecked("demo 2"), wanted(["demo 2", "demo 2", "demo 2", ""]));
    // A part by itself; what holds it is as it was.
    assert_eq!(unchecked("demo 3"), wanted(["demo 2", "demo 3", "demo 3", ""]));
    let first = &inspect("demo 2").verdicts[1];
    assert_eq!(first.marks, ["seen a", "carried into demo 2 unchecked"]);
}

#[test]
fn the_head_of_a_report_counts_them() {
    let said = |book: &str| report::text(&inspect(book), Depth::Brief, &Default::default());
    assert!(!said("demo 1").contains("unchecked"));
    assert!(said("demo 2").contains("3 of these rest on words carried into demo 2 unchecked"), "{}", said("demo 2"));
}
