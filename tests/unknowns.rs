//! What an unknown leaves open, one small case each: found by drawing rulebooks, kept as examples.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use whereas::eval::{self, Choices, Lack, Outcome, Verdict};
use whereas::session::{FactsForm, Session};

const TERMS: &str = "terms for demo \"Demo\"\nthing circuit \"c\" {\n feeds : circuit, may be absent\n drop : length, may be absent\n\
    ok : yes-no\n fine : yes-no, judgment \"the inspector\"\n clean : yes-no, judgment \"the inspector\"\n paths : many path\n }\n\
    thing path \"p\" {\n good : yes-no\n slack : length, never negative, may be absent\n len : length\n }\nedition demo 1 \"first\"\n";

fn outcome(rules: &str, facts: &str) -> Outcome {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("book", format!("{TERMS}{rules}").into_bytes());
    let (program, more) = session.open("demo 1");
    found.extend(more);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    assert!(found.is_empty(), "{found:#?}");
    eval::inspect(&program, &installation, &Choices::none(&program))[0].outcome
}

fn circuit(statements: &str, facts: &str) -> Outcome {
    outcome(&format!("section 1.1 \"t\" {{\ngoverns circuit\n{statements}\n}}\n"), facts)
}

#[test]
fn another_member_may_leave_a_sum_without_a_value() {
    for fold in ["sum of slack of paths", "largest slack of paths"] {
        let rule = format!("requires ({fold}) at least 1 ft");
        let open = "circuit C { paths { P { slack: 2 ft }\n and maybe more } }";
        assert_eq!(circuit(&rule, open).verdict, Verdict::Undecided, "{fold}");
        let whole = "circuit C { paths { P { slack: 2 ft }\n Q { slack: none } } }";
        assert_eq!(circuit(&rule, whole).verdict, Verdict::NotMet, "{fold}");
    }
}

#[test]
fn a_doubtful_member_without_a_value_decides_no_sum() {
    let rule = "requires (sum of slack of good paths) at least 1 ft";
    let facts = |good: &str| {
        format!("circuit C {{ paths {{ P {{ good: yes, slack: 2 ft }}\n Q {{ good: {good}, slack: none }} }} }}")
    };
    assert_eq!(circuit(rule, &facts("unknown")).verdict, Verdict::Undecided);
    assert_eq!(circuit(rule, &facts("no")).verdict, Verdict::Met);
    assert_eq!(circuit(rule, &facts("yes")).verdict, Verdict::NotMet);
}

#[test]
fn what_an_unknown_reference_may_lack_is_not_there_for_certain() {
    let rule = "requires drop of feeds is none";
    let second = "circuit D { drop: 1 ft, feeds: none }";
    for (feeds, expected) in [
        ("none", Verdict::Met),
        ("D", Verdict::NotMet),
        ("unknown", Verdict::Undecided),
        ("D or none", Verdict::Undecided),
    ] {
        let facts = format!("circuit C {{ feeds: {feeds} }}\n{second}");
        assert_eq!(circuit(rule, &facts).verdict, expected, "{feeds}");
    }
}

#[test]
fn a_judgment_behind_an_unknown_reference_lacks_the_reference_too() {
    let found = circuit("requires fine of feeds", "circuit C { feeds: unknown }");
    assert_eq!((found.verdict, found.lack), (Verdict::Undecided, Lack::FACT.and(Lack::JUDGMENT)));
    let found = circuit("requires fine of feeds", "circuit C { feeds: D }\ncircuit D { }");
    assert_eq!((found.verdict, found.lack), (Verdict::ForTheAuthority, Lack::JUDGMENT));
}

#[test]
fn readings_that_judgments_may_part_are_not_for_the_authority_alone() {
    let rule = "reading tidy of circuit \"which\", disputed \"x\" {\n a \"one\" { fine }\n b \"two\" { clean }\n}\n\
        section 1.1 \"t\" {\ngoverns circuit\nrequires tidy\n}\n";
    let lack = |facts: &str| (outcome(rule, facts).verdict, outcome(rule, facts).lack);
    assert_eq!(lack("circuit C { }"), (Verdict::Undecided, Lack::JUDGMENT.and(Lack::READING)));
    assert_eq!(lack("circuit C { fine: yes }"), (Verdict::Undecided, Lack::JUDGMENT.and(Lack::READING)));
    assert_eq!(outcome(rule, "circuit C { fine: yes, clean: yes }").verdict, Verdict::Met);
}

#[test]
fn a_condition_can_be_enough() {
    let rule = "requires fine\nunless Ex. 1 when not fine then ok is enough";
    assert_eq!(circuit(rule, "circuit C { fine: no, ok: yes }").verdict, Verdict::Met);
    assert_eq!(circuit(rule, "circuit C { fine: no, ok: no }").verdict, Verdict::NotMet);
}
