//! Things that are asked for only where described, and tables whose cells are stated in two systems of units.
//!
//! The rules are invented; only their logic is tested.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::Diagnostics;
use whereas::report::{self, Inspection, Overall};
use whereas::session::{FactsForm, Session};

const TERMS: &str = "terms for demo \"Demo\"
choice side { bare, walled }
thing room { wet: yes-no }
thing pump where described \"a pump\" { volts: voltage
    side: side
    depth: length
    valves: many valve
}
thing valve { tight: yes-no }
edition demo 1 \"Demo code\"
section 1 { governs room
    requires not wet }
section 2 { governs pump
    requires depth at least table 2 at volts across side }
section 3 { governs each valve of pump
    requires tight }
table 2 by volts: voltage, across side: side, gives length {
              | bare | walled
  up to 150 V | 3 ft (0.9 m) | 3 ft
  up to 600 V | 3.5 ft (1.0 m) | 4 ft (1.2 m)
}
";

fn opened(rules: &str) -> (Session, whereas::ir::program::Program, Diagnostics) {
    let mut session = Session::empty();
    let mut diagnostics = session.add_rulebook("rules", rules.as_bytes().to_vec());
    let (program, more) = session.open("demo 1");
    diagnostics.extend(more);
    (session, program, diagnostics)
}

fn inspect(rules: &str, facts: &str) -> Inspection {
    let (mut session, program, mut diagnostics) = opened(rules);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    diagnostics.extend(more);
    assert!(diagnostics.is_empty(), "{}", whereas::diag::render(&diagnostics, session.sources(), &Default::default()));
    let (choices, _) = whereas::session::choose(&program, &[]);
    report::inspection(&program, &installation, &choices)
}

#[test]
fn what_is_asked_for_only_where_described_leaves_nothing_open() {
    let silent = inspect(TERMS, "room r { wet: no }");
    assert_eq!(silent.outcome, Overall::Met);
    assert!(silent.not_described.is_empty());
    assert_eq!(silent.not_looked_at, ["pump"]);
    // Saying that there may be one is not silence, nor is a pump whose valves are left out.
    let maybe = inspect(TERMS, "room r { wet: no }\nand maybe more pump");
    assert_eq!(maybe.outcome, Overall::Open);
    assert!(maybe.not_looked_at.is_empty() && maybe.not_described.iter().any(|n| n.say == "pump: none"));
    let half = inspect(TERMS, "room r { wet: no }\npump p { volts: 120 V, side: bare, depth: 3 ft }");
    assert_eq!(half.outcome, Overall::Open);
    assert_eq!(half.not_described[0].say, "valves: none");
    let none = inspect(TERMS, "room r { wet: no }\npump: none");
    assert!(none.outcome == Overall::Met && none.not_looked_at.is_empty());
    // What is not so declared stays open, and looking at nothing at all is no success.
    let rooms = inspect(TERMS, "pump: none");
    assert_eq!((rooms.outcome, rooms.not_described.len()), (Overall::Open, 1));
    let nothing = inspect(&TERMS.replace("thing room {", "thing room where described {"), "");
    assert_eq!((nothing.outcome, nothing.not_looked_at.len()), (Overall::Open, 2));
}

fn depth(volts: &str, side: &str, depth: &str) -> String {
    let facts = format!("room: none\npump p {{ volts: {volts}, side: {side}, depth: {depth}, valves: none }}");
    inspect(TERMS, &facts).verdicts[0].verdict.clone()
}

#[test]
fn a_cell_in_two_systems_leans_as_a_limit_does() {
    assert_eq!(depth("277 V", "bare", "1.0 m"), "met");
    assert_eq!(depth("277 V", "bare", "3.5 ft"), "met");
    assert_eq!(depth("277 V", "bare", "0.99 m"), "not met");
    // A cell in one system is that in both.
    assert_eq!(depth("120 V", "walled", "0.9 m"), "not met");
    assert_eq!(depth("120 V", "walled", "3 ft"), "met");
    // Where the key is not known, a depth decides if every row agrees.
    assert_eq!(depth("at most 600 V", "bare", "3.5 ft"), "met");
    assert_eq!(depth("at most 600 V", "bare", "0.95 m"), "undecided");
    assert_eq!(depth("at most 600 V", "bare", "0.8 m"), "not met");
    // In a scope both systems have to say so.
    let scope = TERMS.replace(
        "requires depth at least table 2 at volts across side",
        "when depth at least table 2 at volts across side\nrequires side is walled",
    );
    let ask = |depth: &str| {
        let facts = format!("room: none\npump p {{ volts: 277 V, side: bare, depth: {depth}, valves: none }}");
        inspect(&scope, &facts).verdicts[0].verdict.clone()
    };
    assert_eq!(ask("1.0 m"), "not applicable");
    assert_eq!(ask("3.5 ft"), "not met");
    // Both comparisons are told, each in its own unit.
    let facts = "room: none\npump p { volts: 277 V, side: bare, depth: 0.99 m, valves: none }";
    let told = format!("{:?}", inspect(TERMS, facts).verdicts[0].because);
    assert!(told.contains("against 42 in of table 2") && told.contains("against 1 m of table 2"), "{told}");
}

#[test]
fn two_systems_are_only_compared_with_and_never_a_key() {
    let codes = |rules: &str| -> Vec<String> {
        let (_, _, diagnostics) = opened(rules);
        diagnostics.iter().map(|d| format!("{:?}", d.code)).collect()
    };
    assert!(codes(TERMS).is_empty());
    let doubled = TERMS.replace("at least table 2 at volts across side", "at least 2 x table 2 at volts across side");
    assert_eq!(codes(&doubled), ["DualInArithmetic"]);
    assert_eq!(codes(&TERMS.replace("up to 150 V |", "up to 150 V (150 V) |")), ["DualInArithmetic"]);
    // Half the depth against the table asks for twice the table.
    let halved = TERMS.replace("requires depth at least", "requires depth / 2 at least");
    let facts =
        |depth: &str| format!("room: none\npump p {{ volts: 277 V, side: bare, depth: {depth}, valves: none }}");
    assert_eq!(inspect(&halved, &facts("7 ft")).verdicts[0].verdict, "met");
    assert_eq!(inspect(&halved, &facts("2 m")).verdicts[0].verdict, "met");
    assert_eq!(inspect(&halved, &facts("1.99 m")).verdicts[0].verdict, "not met");
}

#[test]
fn a_struck_line_of_a_list_does_not_hold_always() {
    let rules = format!(
        "{TERMS}kind fit of pump {{ any of {{\n side is walled\n as deep: depth at least 9 ft\n }} }}
        section 4 {{ governs pump\n requires fit }}
        edition demo 2 follows demo 1 \"Second\" {{ in fit: strike depth }}"
    );
    let mut session = Session::empty();
    let mut diagnostics = session.add_rulebook("rules", rules.into_bytes());
    let (program, more) = session.open("demo 2");
    diagnostics.extend(more);
    let facts = "room: none\npump p { volts: 277 V, side: bare, depth: 10 ft, valves: none }";
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    diagnostics.extend(more);
    assert!(diagnostics.is_empty(), "{}", whereas::diag::render(&diagnostics, session.sources(), &Default::default()));
    let (choices, _) = whereas::session::choose(&program, &[]);
    let found = report::inspection(&program, &installation, &choices);
    assert_eq!(found.verdicts.iter().find(|v| v.section == "4").unwrap().verdict, "not met");
}
