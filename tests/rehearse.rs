//! Examples and claims: how they are written, what comes out of them, and which disturbances they notice.
//!
//! The small rulebooks here are inventions; what they require has no source and needs none.

#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Diagnostics, Look, render};
use whereas::rehearse::{Rehearsal, Wish, junit, text};
use whereas::session::{FactsForm, Session};

fn run(rules: &str, wish: Wish) -> (Rehearsal, Diagnostics, Session) {
    let mut session = Session::empty();
    let found = session.add_rulebook("own.rulebook", rules.as_bytes().to_vec());
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let (rehearsal, found) = session.rehearse(&[], &[], wish);
    (rehearsal, found, session)
}

/// What came out otherwise: book, what was asked, expected, got.
fn failures(rules: &str) -> Vec<String> {
    let (rehearsal, found, session) = run(rules, Wish::Run);
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let all = rehearsal.examples.iter().flat_map(|e| &e.failures);
    all.map(|f| format!("{}: {}: {} / {}", f.under, f.asked, f.expected, f.got)).collect()
}

const WORKING_SPACE: &str = r#"
terms for demo "Demo"
choice facing { insulated, grounded, exposed-live }
thing equipment {
    volts-to-ground : voltage
    worked-on-live  : yes-no
    facing          : facing
    depth           : length, never negative
}
edition demo 2017 "Demo code"
section 110.26(A)(1) "Depth of working space" {
    governs equipment
    when worked-on-live
    requires depth at least table 110.26(A)(1)
}
table 110.26(A)(1) by volts-to-ground: voltage, across facing: facing, gives length in ft {
                    | insulated | grounded | exposed-live
    up to 150 V     | 3         | 3        | 3
    up to 600 V     | 3         | 3 1/2    | 4
}
"#;

#[test]
fn a_field_varied_beside_the_rule_it_is_about() {
    let right = format!(
        "{WORKING_SPACE}{}",
        r#"
example "The depth can decide before the wall is known" {
    given equipment G { volts-to-ground: 277 V, worked-on-live: yes, facing: insulated or grounded }
    but depth of G: unknown
    expect depth 42 in: met | 36 in: undecided, needs facing | 30 in: not met
}
"#
    );
    assert_eq!(failures(&right), Vec::<String>::new());
    // Each arm can fail: the verdict, and the facts that are needed.
    let wrong = right.replace("42 in: met", "42 in: not met").replace("needs facing", "needs depth");
    assert_eq!(
        failures(&wrong),
        [
            "demo 2017: 110.26(A)(1) with depth 42 in: not met / met",
            "demo 2017: 110.26(A)(1) with depth 36 in: undecided, needs depth / undecided, needs facing of G",
        ]
    );
}

#[test]
fn verdicts_edition_by_edition_by_name_though_the_number_moves() {
    let rules = r#"
terms for demo "Demo"
choice sink-edge { outside-edge, bowl-edge }
choice barrier { door, wall }
thing receptacle {
    to-sink : length from sink-edge through barrier
    guarded : yes-no
}
edition demo 2014 "Demo code 2014"
section 8.1 "Guarded receptacles" {
    governs receptacle
    requires guarded where any of {
        (7) as near-sink: to-sink from outside-edge at most 6 ft
    }
}
edition demo 2017 follows demo 2014 "Demo code 2017" {
    in near-sink: to-sink from outside-edge was at most 6 ft, now at most 1 ft
}
edition demo 2020 follows demo 2017 "Demo code 2020" {
    in near-sink: to-sink from outside-edge was at most 1 ft, now at most 6 ft
}
edition demo 2023 follows demo 2020 "Demo code 2023" {
    renumber 8.1(7) as 8.1(8)
}
example "A receptacle behind the cabinet door" {
    given receptacle D {
        guarded: no
        to-sink: 2 ft from outside-edge, 2 ft from bowl-edge through door
    }
    expect near-sink: 2014 not met | 2017 not applicable | 2020 through 2023 not met
    expect 8.1(7) of D: 2017 not applicable | not met
}
"#;
    assert_eq!(failures(rules), Vec::<String>::new());
    let wrong = rules.replace("near-sink: 2014 not met", "near-sink: 2014 met");
    assert_eq!(failures(&wrong), ["demo 2014: near-sink: met / not met"]);
}

const PIPES: &str = r#"
terms for demo "Demo"
choice metal { iron, lead, brass }
thing pipe {
    metal   : metal
    length  : length, never negative
    joints  : many joint
    tested  : yes-no
    hidden  : yes-no
}
thing joint { tight : yes-no }
edition demo 2017 "Demo code"
section 1.1 "Pipes" {
    governs pipe
    when not hidden
    requires length at most 10 ft
    unless Ex. 1 as long-brass when brass, tested
}
section 1.2 "Joints" {
    governs each joint of pipe
    requires tight
}
section 1.3 "Metal" {
    governs pipe
    requires sound
}
reading sound of pipe "Which metals are sound?", disputed "two makers" {
    loose  "anything but lead" { not lead }
    strict "brass alone"       { brass }
}
kind long of pipe { length more than 10 ft }
fixture plain-pipe {
    pipe P {
        metal: iron, length: 8 ft, tested: no, hidden: no
        joints { J1 { tight: yes }, J2 { tight: yes } }
    }
}
"#;

#[test]
fn installations_are_laid_over_changed_and_thinned() {
    let rules = format!(
        "{PIPES}{}",
        r#"
example "As it stands" {
    given plain-pipe
    expect 1.1 of P: met
    expect 1.2: met
    expect long of P: does not qualify
    expect everything else: met or not applicable as loose
}
example "One loose joint more" {
    given as in "As it stands"
    given pipe P { joints { J3 { tight: no } } }
    expect 1.2 of J3: not met
    expect 1.2 of J1: met
    expect 1.2: not met
}
example "The loose joint taken out again" {
    given as in "One loose joint more"
    without J3
    expect 1.2: met
}
example "Another length" {
    given plain-pipe
    but length of P: 12 ft
    expect 1.1 of P: not met
    expect long of P: qualifies
    expect 1.1 {
        length | metal | tested | hidden | verdict
        10 ft  | -     | -      | -      | met
        12 ft  | brass | yes    | -      | met by Ex. 1
        12 ft  | brass | yes    | -      | met by long-brass
        12 ft  | brass | no     | -      | not met
        12 ft  | -     | -      | yes    | not applicable
        at least 9 ft | - | -   | -      | undecided, needs length
    }
}
example "Disputed" {
    given plain-pipe
    expect 1.3 of P: undecided by sound | met as loose | not met as strict | not met as strict of sound
    expect 1.3 of P with metal lead: not met
}
"#
    );
    assert_eq!(failures(&rules), Vec::<String>::new());
    let wrong = rules
        .replace("met by long-brass", "met by short-brass")
        .replace("undecided by sound", "undecided by echo")
        .replace("everything else: met or not applicable as loose", "everything else: met or not applicable");
    assert_eq!(
        failures(&wrong),
        [
            "demo 2017: everything else: met or not applicable / undecided by sound: 1.3 of P",
            "demo 2017: 1.1 with length 12 ft, metal brass, tested yes: met by short-brass / met by Ex. 1",
            "demo 2017: 1.3 of P: undecided by echo / undecided by sound",
        ]
    );
}

#[test]
fn failures_name_both_places() {
    let rules = format!("{PIPES}example \"Too long\" {{\n    given plain-pipe\n    expect 1.1 of P: not met\n}}\n");
    let (rehearsal, _, _) = run(&rules, Wish::Run);
    let failure = &rehearsal.examples[0].failures[0];
    let line = |needle: &str| rules.lines().position(|l| l.contains(needle)).unwrap() + 1;
    assert_eq!(failure.place, format!("own.rulebook:{}", line("expect 1.1 of P: not met")));
    assert_eq!(failure.rule.as_deref(), Some(&*format!("own.rulebook:{}", line("requires length"))));
    assert!(!rehearsal.as_expected);
    let drawn = text(&rehearsal, &Look::default());
    for said in ["Came out otherwise", "expected  not met", "came out  met", "No example speaks of\n  1.2, 1.3"] {
        assert!(drawn.contains(said), "{said}\n{drawn}");
    }
}

#[test]
fn claims_are_refuted_by_name_and_never_proved() {
    let rules = format!(
        "{PIPES}{}",
        r#"
example "Iron" { 
    given plain-pipe
    expect 1.1 of P: met
}
example "Long iron" {
    given plain-pipe
    but length of P: 11 ft
    expect 1.1 of P: not met
}
claim "Pipes have to be brass" {
    1.1 demands: brass
    expect refuted
}
claim "Pipes have to be short" {
    1.1 demands: length at most 10 ft
    expect supported
}
claim "Untested pipes are forbidden" {
    1.1 demands: tested
    only where length more than 10 ft
    expect not settled
}
claim "Iron is enough" {
    1.1 is content with: iron
}
claim "Hidden pipes are let off" {
    1.1 spares where hidden
    expect supported
}
claim "Iron pipes are bound" {
    1.1 binds where iron
    expect supported
}
"#
    );
    let (rehearsal, found, session) = run(&rules, Wish::Run);
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let told: Vec<(&str, Option<&str>, bool)> = rehearsal
        .claims
        .iter()
        .flat_map(|c| &c.under)
        .map(|w| (w.answer.as_str(), w.witness.as_deref(), w.as_expected))
        .collect();
    assert_eq!(
        told,
        [
            ("refuted", Some("P in \"Iron\""), true),
            ("supported", None, true),
            ("not settled", None, true),
            ("refuted", Some("P in \"Long iron\""), true),
            ("not settled", None, false),
            ("supported", None, true),
        ]
    );
    let drawn = text(&rehearsal, &Look::default()).to_lowercase();
    assert!(!drawn.replace("not thereby proved", "").contains("prove"), "{drawn}");
}

#[test]
fn facts_handed_in_speak_to_claims_and_examples() {
    let rules = format!(
        "{PIPES}{}",
        r#"
example "From a file" {
    given as in "cellar"
    expect 1.1 of C: not met
}
claim "Lead is enough" {
    1.1 is content with: lead
    expect refuted
}
"#
    );
    let mut session = Session::empty();
    assert!(session.add_rulebook("own.rulebook", rules.into_bytes()).is_empty());
    let cellar = "pipe C { metal: lead, length: 20 ft, tested: no, hidden: no, joints: none }";
    let (file, found) = session.read_facts("cellar.facts", cellar.as_bytes().to_vec(), FactsForm::Native);
    assert!(found.is_empty());
    let (rehearsal, found) = session.rehearse(&[("cellar".to_string(), file)], &[], Wish::Run);
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    assert!(rehearsal.as_expected);
}

/// The unnoticed disturbances of a rule, each as `words: what was done`.
fn unnoticed(rules: &str) -> Vec<String> {
    let (rehearsal, found, session) = run(rules, Wish::Disturb);
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let all = rehearsal.disturbances.unwrap();
    let mut told: Vec<String> = all.unnoticed.iter().map(|u| format!("{}: {}", u.words, u.done)).collect();
    told.sort();
    assert_eq!(all.noticed + all.unnoticed.len(), all.tried);
    told
}

const SHELF: &str = r#"
terms for demo "Demo"
thing shelf {
    height : length, never negative
    fixed  : yes-no
}
edition demo 2017 "Demo code"
section 1.1 "Shelves" {
    governs shelf
    when fixed
    requires height at most 10 ft
}
"#;

#[test]
fn disturbances_that_nobody_notices_are_told() {
    let nothing_near = format!(
        "{SHELF}{}",
        r#"
example "Far off" {
    given shelf S { height: 2 ft, fixed: yes }
    expect 1.1 of S: met
}
"#
    );
    assert_eq!(
        unnoticed(&nothing_near),
        [
            "fixed: struck",
            "height at most 10 ft: a step less",
            "height at most 10 ft: a step more",
            "height at most 10 ft: equality left out",
            "requires height at most 10 ft: 1.1 asks nothing",
        ]
    );
    // One expectation after the other takes one disturbance away.
    let whole = nothing_near.replace(
        "expect 1.1 of S: met\n",
        "expect 1.1 of S with height 10 ft: met | 10 1/2 ft: not met\n    expect 1.1 of S with fixed no: not applicable\n",
    );
    assert_eq!(unnoticed(&whole), Vec::<String>::new());
}

#[test]
fn what_survives_can_be_waived_with_a_reason() {
    let rules = format!(
        "{SHELF}{}",
        r#"
example "At the limit" {
    given shelf S { height: 10 ft, fixed: yes }
    expect 1.1 of S with height 10 ft: met | 12 ft: not met
    expect 1.1 of S with fixed no: not applicable
}
survives "the next larger shelf sold is 12 ft" {
    1.1: "a step more"
    1.1: "any for all"
}
"#
    );
    let (rehearsal, _, _) = run(&rules, Wish::Disturb);
    let all = rehearsal.disturbances.unwrap();
    assert!(all.unnoticed.is_empty());
    assert_eq!(all.waived.len(), 1);
    assert_eq!(all.waived[0].reason, "the next larger shelf sold is 12 ft");
    assert_eq!(all.waived[0].disturbance.done, "a step more");
    assert_eq!(all.idle_waivers.len(), 1);
}

#[test]
fn gaps_are_what_could_be_struck() {
    let rules = format!(
        "{PIPES}example \"As it stands\" {{\n    given plain-pipe\n    expect 1.1 of P: met\n    expect 1.2 of J1: met\n}}\n"
    );
    let (rehearsal, _, _) = run(&rules, Wish::Gaps);
    let told: Vec<String> =
        rehearsal.gaps.unwrap().iter().map(|g| format!("{} {} {}", g.at, g.part, g.words)).collect();
    assert!(told.iter().any(|g| g.starts_with("1.1 Ex. 1 exception")), "{told:?}");
    assert!(rehearsal.disturbances.is_none());
}

/// A table beside the same as somebody else printed it.
#[test]
fn tables_are_held_against_published_ones() {
    let published = |rows: &str| {
        format!(
            "{WORKING_SPACE}
example \"Depths as published\" {{
    expect table 110.26(A)(1) {{
                    | insulated | grounded | exposed-live
{rows}
    }}
}}
"
        )
    };
    let same = "        up to 150 V | 3 | 3 | 3\n        up to 600 V | 3 | 3 1/2 | 4 ft";
    assert_eq!(failures(&published(same)), Vec::<String>::new());
    let other = "        up to 150 V | 3 | 3 | 3\n        up to 1000 V | 3 | 3 1/2 | 4";
    let told = failures(&published(other));
    let strays = " / no row `up to 1000 V | 3 | 3 1/2 | 4`; `up to 600 V | 3 | 3 1/2 | 4` is not published";
    assert!(told.len() == 1 && told[0].ends_with(strays), "{told:?}");
    // Columns may stand in another order; a cell that is not the same is told by its row.
    let turned = published("        up to 150 V | 3 | 3 | 3\n        up to 600 V | 3 1/2 | 3 | 4");
    let (book, example) = turned.split_once("example ").unwrap();
    let turned = format!("{book}example {}", example.replace("| insulated | grounded |", "| grounded | insulated |"));
    assert_eq!(failures(&turned), Vec::<String>::new());
    let wrong = published("        up to 150 V | 3 | 3 | 3\n        up to 600 V | 3 | 3 3/4 | 4");
    assert!(failures(&wrong)[0].ends_with(" / `up to 600 V | 3 | 3 1/2 | 4`"), "{:?}", failures(&wrong));
    // A table that no duty reads is disturbed too, once somebody watches it, and every bend of it is noticed.
    let told = unnoticed(&published(same));
    assert!(told.iter().all(|t| !t.contains(" | ")), "{told:?}");
    let nobody = "example \"None\" {\n    given equipment G { worked-on-live: no }\n    expect 110.26(A)(1): not applicable\n}\n";
    assert!(unnoticed(&format!("{WORKING_SPACE}{nobody}")).iter().any(|t| t.contains(" | ")));
    // A table that the book does not have.
    let (_, found, _) =
        run(&published(same).replace("expect table 110.26(A)(1)", "expect table 110.26(A)(2)"), Wish::Run);
    let codes: Vec<&str> = found.iter().map(|d| d.code.as_str()).collect();
    assert_eq!(codes, ["E0906"]);
}

// ------------------------------------------------------------------------------------------------ as shipped

fn shipped(wish: Wish) -> Rehearsal {
    let (mut session, mut found) = Session::shipped();
    found.extend(session.add_shipped_examples());
    let (rehearsal, more) = session.rehearse(&[], &[], wish);
    found.extend(more);
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    rehearsal
}

/// Files whose rules lack examples still. One that reaches nine in ten is taken out of this list.
const OWED: [&str; 2] = ["rulebooks/nec/2014-runs.rulebook", "rulebooks/nec/2026-runs.rulebook"];

/// Every file of rules by itself: nine in ten disturbances are noticed, and each that is not has its reason.
#[test]
fn shipped_examples_come_out_as_written_and_notice_disturbances() {
    let rehearsal = shipped(Wish::Disturb);
    let look = Look::default();
    assert!(rehearsal.as_expected, "{}", text(&rehearsal, &look));
    let all = rehearsal.disturbances.as_ref().unwrap();
    for (file, tried, noticed) in &all.files {
        let well = noticed * 10 >= tried * 9;
        assert_eq!(well, !OWED.contains(&file.as_str()), "{file}: {noticed} of {tried}");
    }
    let owed = |place: &str| OWED.iter().any(|file| place.strip_prefix(file).is_some_and(|rest| rest.starts_with(':')));
    let left: Vec<_> = all.unnoticed.iter().filter(|u| !owed(&u.place)).collect();
    assert!(left.is_empty(), "{left:#?}");
    assert!(all.idle_waivers.is_empty(), "{:?}", all.idle_waivers);
}

#[test]
fn junit_holds_every_example_and_claim_of_every_book() {
    let rehearsal = shipped(Wish::Run);
    let xml = junit(&rehearsal).unwrap();
    let cases: usize = rehearsal.examples.iter().map(|e| e.under.len()).sum::<usize>()
        + rehearsal.claims.iter().map(|c| c.under.len()).sum::<usize>();
    assert_eq!(xml.matches("<testcase ").count(), cases);
    assert_eq!(xml.matches("<testsuite ").count(), rehearsal.books.len());
    assert_eq!(xml.matches("<failure").count(), 0);
    // The same twice: nothing hangs on order, time or place.
    assert_eq!(xml, junit(&shipped(Wish::Run)).unwrap());
}
