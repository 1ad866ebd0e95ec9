//! Exact edges: limits in two systems of units by where they stand, sums of decimals, rows of tables.
//!
//! Sources: the foot is 0.3048 m exactly (NIST SP 811, B.8), so 6 ft is 1.8288 m, 6 1/2 ft is 1.9812 m and 7 1/2 ft is
//! 2.286 m. That compliance with either system of units suffices is NEC 90.9(D). The headroom and the length of flexible
//! conduit are the two cases of published commentary on 90.9; the others follow from the definition.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use whereas::eval::{self, By, Choices, Lack, Verdict};
use whereas::session::{FactsForm, Session};

const TERMS: &str = "terms for demo \"Demo\"\nscale wire { 14 AWG < 12 AWG < 10 AWG < 8 AWG }\nchoice metal { copper, aluminum }\n\
    thing outlet \"an outlet\" {\n height : length\n other : length\n amps : current, never negative\n volts : voltage\n\
    size : wire\n metal : metal\n ok : yes-no\n }\nedition demo 1 \"first\"\n";

/// The verdict of the one duty of a book on the one outlet.
fn outcome(rules: &str, facts: &str) -> eval::Outcome {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("book", format!("{TERMS}{rules}").into_bytes());
    let (program, more) = session.open("demo 1");
    found.extend(more);
    let (file, more) = session.read_facts("facts", format!("outlet O {{ {facts} }}").into_bytes(), FactsForm::Native);
    found.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    assert!(found.is_empty(), "{found:#?}");
    eval::inspect(&program, &installation, &Choices::none(&program))[0].outcome
}

fn verdict(statements: &str, facts: &str) -> Verdict {
    outcome(&format!("section 1.1 \"t\" {{\ngoverns outlet\n{statements}\n}}\n"), facts).verdict
}

fn each(statements: &str, cases: &[(&str, Verdict)]) {
    for (facts, expected) in cases {
        assert_eq!(verdict(statements, facts), *expected, "{statements} with {facts}");
    }
}

use Verdict::{Met, NotApplicable, NotMet, Undecided};

/// P05 of the published cases: 1.82 m is 5.97 ft, 1.985 m is 6.512 ft, 1.97 m is 6.463 ft.
#[test]
fn either_system_suffices_in_a_duty() {
    each(
        "requires height at most 6 ft (1.8 m)",
        &[("height: 1.82 m", Met), ("height: 6 ft", Met), ("height: 1.8288 m", Met), ("height: 1.8289 m", NotMet)],
    );
    each(
        "requires height at least 6 1/2 ft (2 m)",
        &[("height: 1.985 m", Met), ("height: 1.9812 m", Met), ("height: 1.97 m", NotMet), ("height: 6.5 ft", Met)],
    );
    each(
        "requires height more than 7 1/2 ft (2.3 m)",
        &[("height: 7.5 ft", NotMet), ("height: 2.286 m", NotMet), ("height: 2.2861 m", Met), ("height: 2.3 m", Met)],
    );
    each(
        "requires height less than 7 1/2 ft (2.3 m)",
        &[("height: 2.286 m", Met), ("height: 2.2999 m", Met), ("height: 2.3 m", NotMet)],
    );
    each(
        "prohibits height more than 6 ft (1.8 m)",
        &[("height: 1.82 m", Met), ("height: 6 ft", Met), ("height: 1.83 m", NotMet)],
    );
    each("requires not height more than 6 ft (1.8 m)", &[("height: 6 ft", Met), ("height: 1.83 m", NotMet)]);
}

#[test]
fn an_exception_helps_by_either_system() {
    let rule = "requires ok\nunless Ex. 1 when height more than 7 1/2 ft (2.3 m)";
    each(
        rule,
        &[
            ("ok: no, height: 7.5 ft", NotMet),
            ("ok: no, height: 2.29 m", Met),
            ("ok: no, height: 2.3 m", Met),
            ("ok: no, height: 7.4 ft", NotMet),
            ("ok: no", Undecided),
        ],
    );
    let by = outcome(&format!("section 1.1 \"t\" {{\ngoverns outlet\n{rule}\n}}\n"), "ok: no, height: 2.29 m").by;
    assert_eq!(by, Some(By::Relief(0)));
}

#[test]
fn a_scope_binds_only_if_both_systems_say_so() {
    let cases = [
        ("ok: no, height: 7.5 ft", NotApplicable),
        ("ok: no, height: 2.29 m", NotApplicable),
        ("ok: no, height: 2.3 m", NotApplicable),
        ("ok: no, height: 2.3001 m", NotMet),
        ("ok: yes, height: 8 ft", Met),
    ];
    each("when height more than 7 1/2 ft (2.3 m)\nrequires ok", &cases);
    each("requires ok where any of {\n(1) height more than 7 1/2 ft (2.3 m)\n}", &cases);
    each(
        "when height at most 7 1/2 ft (2.3 m)\nrequires ok",
        &[("ok: no, height: 2.286 m", NotMet), ("ok: no, height: 2.29 m", NotApplicable)],
    );
    each("when not height at most 7 1/2 ft (2.3 m)\nrequires ok", &cases);
}

/// The same kind is lenient where a duty uses it and strict where a scope does.
#[test]
fn a_kind_reads_both_systems_by_its_use() {
    let book = |statements: &str| {
        let kind = "kind high of outlet { height more than 7 1/2 ft (2.3 m) }";
        format!("{kind}\nsection 1.1 \"t\" {{\ngoverns outlet\n{statements}\n}}\n")
    };
    let between = "ok: no, height: 2.29 m";
    assert_eq!(outcome(&book("requires high"), between).verdict, Met);
    assert_eq!(outcome(&book("requires ok\nunless Ex. 1 when high"), between).verdict, Met);
    assert_eq!(outcome(&book("when high\nrequires ok"), between).verdict, NotApplicable);
    assert_eq!(outcome(&book("prohibits high"), between).verdict, Met);
    // By the foot it is high, so the two do not both say that it is not.
    assert_eq!(outcome(&book("when not high\nrequires ok"), between).verdict, NotApplicable);
    assert_eq!(outcome(&book("when not high\nrequires ok"), "ok: no, height: 2.286 m").verdict, NotMet);
}

#[test]
fn arithmetic_is_exact() {
    for relation in ["at most", "at least"] {
        each(&format!("requires (height + other) {relation} 0.3 ft"), &[("height: 0.1 ft, other: 0.2 ft", Met)]);
    }
    each("requires (height + other) more than 0.3 ft", &[("height: 0.1 ft, other: 0.2 ft", NotMet)]);
    each(
        "requires height at least 7.5 ft",
        &[("height: 7 1/2 ft", Met), ("height: 90 in", Met), ("height: 2.286 m", Met)],
    );
    each("requires height at most 1 m", &[("height: 1250/381 ft", Met), ("height: 3.28084 ft", NotMet)]);
    each("requires (height / 3) at least 1 ft", &[("height: 3 ft", Met), ("height: 2.999999999999 ft", NotMet)]);
}

#[test]
fn rows_of_tables_at_their_edges() {
    let table = |mode: &str, closed: &str| {
        format!(
            "table 9.1 \"t\" by rating: current {mode}, across metal: metal{closed}, gives wire {{\n| copper | aluminum\n\
             15 A | 14 AWG | 12 AWG\n20 A | 12 AWG | -\n60 A | 10 AWG | 8 AWG\n}}\n"
        )
    };
    let rule = "section 1.1 \"t\" {\ngoverns outlet\nrequires size at least table 9.1 at amps across metal\n}\n";
    let ask = |mode: &str, closed: &str, facts: &str| outcome(&format!("{}{rule}", table(mode, closed)), facts);
    for (facts, expected) in [
        ("amps: 15 A, metal: copper, size: 14 AWG", Met),
        ("amps: 15.0001 A, metal: copper, size: 14 AWG", NotMet),
        ("amps: 15.0001 A, metal: copper, size: 12 AWG", Met),
        ("amps: 0 A, metal: copper, size: 14 AWG", Met),
        ("amps: 20 A, metal: aluminum, size: 8 AWG", NotMet),
        ("amps: 20.5 A, metal: aluminum, size: 8 AWG", Met),
        ("amps: 60 A, metal: copper, size: 10 AWG", Met),
        ("amps: at least 16 A and at most 20 A, metal: copper, size: 12 AWG", Met),
        ("amps: at least 15 A and at most 20 A, metal: copper, size: 14 AWG", Undecided),
        ("amps: more than 15 A and at most 20 A, metal: copper, size: 14 AWG", NotMet),
        ("amps: at most 60 A, metal: copper, size: 10 AWG", Met),
    ] {
        assert_eq!(ask("next row up", "", facts).verdict, expected, "{facts}");
    }
    let beyond = "amps: 60.001 A, metal: copper, size: 8 AWG";
    let gap = ask("next row up", "", beyond);
    assert_eq!((gap.verdict, gap.lack), (Undecided, Lack::GAP));
    assert_eq!(ask("next row up", ", no other size", beyond).verdict, NotMet);
    for (facts, expected) in [
        ("amps: 15 A, metal: copper, size: 14 AWG", Met),
        ("amps: 19.999 A, metal: copper, size: 14 AWG", Met),
        ("amps: 20 A, metal: copper, size: 14 AWG", NotMet),
        ("amps: 1000 A, metal: copper, size: 10 AWG", Met),
        ("amps: 14.999 A, metal: copper, size: 8 AWG", Undecided),
    ] {
        assert_eq!(ask("next row down", "", facts).verdict, expected, "{facts}");
    }
    for (facts, expected) in
        [("amps: 20 A, metal: copper, size: 12 AWG", Met), ("amps: 19 A, metal: copper, size: 8 AWG", NotMet)]
    {
        assert_eq!(ask("", ", no other size", facts).verdict, expected, "{facts}");
    }
}

#[test]
fn bands_of_tables_at_their_edges() {
    let book = "table 9.2 \"t\" by volts: voltage, gives length in ft {\nup to 150 V | 3\nup to 600 V | 4\nover 600 V | 5\n}\n\
        section 1.1 \"t\" {\ngoverns outlet\nrequires height at least table 9.2 at volts\n}\n";
    for (facts, expected) in [
        ("volts: 150 V, height: 3 ft", Met),
        ("volts: 151 V, height: 3 ft", NotMet),
        ("volts: 600 V, height: 4 ft", Met),
        ("volts: 600.1 V, height: 4 ft", NotMet),
        ("volts: 600.1 V, height: 5 ft", Met),
        // An `up to` row makes each row reach down to the one before it.
        ("volts: 150.5 V, height: 4 ft", Met),
        ("volts: 150.5 V, height: 3.5 ft", NotMet),
        // Whatever the voltage, no row asks for more, and every voltage has a row.
        ("height: 5 ft", Met),
        ("height: 4.9 ft", Undecided),
        ("volts: at least 151 V, height: 5 ft", Met),
    ] {
        assert_eq!(outcome(book, facts).verdict, expected, "{facts}");
    }
}
