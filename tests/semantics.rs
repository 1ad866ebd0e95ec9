//! What each statement of the language means: one small rulebook, one small installation, the verdicts.
//!
//! The rules here are invented; only their logic is tested. Checks against published requirements live elsewhere.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::report::{self, Inspection};
use whereas::session::{self, FactsForm, Session};

const TERMS: &str = r#"
terms for demo "Demo"
choice color { red, green, blue  }
choice edge { outer, inner }
choice barrier { door, wall }
scale size { 14 AWG < 12 AWG < 10 AWG < 8 AWG }
thing project { installation: date
    permit: date
}
thing room { wet: yes-no
    boxes: many box
    lamps: many lamp
    area: area, never negative
    lit-by: those circuit whose lights is this
}
thing circuit { lights: room
    rating: current, never negative
}
thing box { color: color, may be absent
    size: size
    depth: length
    listed: yes-no
    approved: yes-no, judgment "the authority, on a written request"
    label: text, may be absent
    cover: color, may be absent
    to-sink: length from edge through barrier, may be absent
}
thing lamp { height: length
    spare: yes-no
}
edition demo 1 "Demo code"
"#;

fn inspect_with(rules: &str, facts: &str, readings: &[&str]) -> Inspection {
    let mut session = Session::empty();
    let mut diagnostics = session.add_rulebook("rules", format!("{TERMS}{rules}").into_bytes());
    let (program, more) = session.open("demo 1");
    diagnostics.extend(more);
    let readings: Vec<String> = readings.iter().map(|r| r.to_string()).collect();
    let (choices, more) = session::choose(&program, &readings);
    diagnostics.extend(more);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    diagnostics.extend(more);
    assert!(diagnostics.is_empty(), "{}", whereas::diag::render(&diagnostics, session.sources(), &Default::default()));
    report::inspection(&program, &installation, &choices)
}

fn inspect(rules: &str, facts: &str) -> Inspection {
    inspect_with(rules, facts, &[])
}

/// Each requirement's verdict: `1.1(A) met`.
fn verdicts(inspection: &Inspection) -> Vec<String> {
    inspection.verdicts.iter().map(|v| format!("{} {}", v.section, v.verdict)).collect()
}

fn one(rules: &str, facts: &str) -> String {
    let all = verdicts(&inspect(rules, facts));
    assert_eq!(all.len(), 1, "{all:?}");
    all[0].clone()
}

const ROOM: &str = "room r { wet: no, boxes { b { BOX } }, lamps: none, area: 9 ft2 }\ncircuit: none\n";

fn room(entries: &str) -> String {
    ROOM.replace("BOX", entries)
}

#[test]
fn scope_and_demand() {
    let rules = "section 1 { governs box  \n when color is green \n requires listed }";
    assert_eq!(one(rules, &room("color: green, listed: yes")), "1 met");
    assert_eq!(one(rules, &room("color: green, listed: no")), "1 not met");
    assert_eq!(one(rules, &room("color: red, listed: no")), "1 not applicable");
    assert_eq!(one(rules, &room("color: none, listed: no")), "1 not applicable");
    assert_eq!(one(rules, &room("color: green")), "1 undecided");
    assert_eq!(one(rules, &room("listed: no")), "1 undecided");
}

#[test]
fn what_is_certain_of_an_open_verdict_is_said() {
    let rules = "section 1 { governs box  \n when color is green \n requires listed }";
    let lean = |facts: &str| inspect(rules, &room(facts)).verdicts[0].lean.clone();
    assert_eq!(lean("listed: yes"), "no violation possible");
    assert_eq!(lean("listed: no"), "violated if it applies");
    assert_eq!(lean("color: green"), "");
}

#[test]
fn silence_is_not_no_and_none_is_not_silence() {
    let rules = "section 1 { governs box \n requires color is none }";
    assert_eq!(one(rules, &room("color: none")), "1 met");
    assert_eq!(one(rules, &room("color: red")), "1 not met");
    assert_eq!(one(rules, &room("")), "1 undecided");
    assert_eq!(one(rules, &room("color: unknown")), "1 undecided");
    // A comparison with an absent value is false, and so is its opposite direction.
    let rules = "section 1 { governs box \n requires not (color is green) }";
    assert_eq!(one(rules, &room("color: none")), "1 met");
}

#[test]
fn partial_facts_decide_where_they_can() {
    let rules = "section 1 { governs box \n requires color is red or green }";
    assert_eq!(one(rules, &room("color: red or green")), "1 met");
    assert_eq!(one(rules, &room("color: not blue")), "1 undecided");
    assert_eq!(one(rules, &room("color: blue")), "1 not met");
    let rules = "section 1 { governs box \n requires depth at least 2 in }";
    assert_eq!(one(rules, &room("depth: at least 3 in")), "1 met");
    assert_eq!(one(rules, &room("depth: less than 2 in")), "1 not met");
    assert_eq!(one(rules, &room("depth: at most 2 in")), "1 undecided");
    let rules = "section 1 { governs box \n requires size at least 12 AWG }";
    assert_eq!(one(rules, &room("size: 12 AWG through 8 AWG")), "1 met");
    assert_eq!(one(rules, &room("size: at most 14 AWG")), "1 not met");
}

#[test]
fn a_permissive_exception_excuses_and_meeting_the_rule_is_always_enough() {
    let rules = "section 1 { governs box \n requires listed \n unless Ex. 1 as plain when color is red }";
    assert_eq!(one(rules, &room("listed: no, color: red")), "1 met");
    assert_eq!(inspect(rules, &room("listed: no, color: red")).verdicts[0].by, "Ex. 1 plain");
    assert_eq!(one(rules, &room("listed: no, color: green")), "1 not met");
    assert_eq!(one(rules, &room("listed: yes")), "1 met");
    assert_eq!(one(rules, &room("listed: no")), "1 undecided");
}

#[test]
fn an_exception_may_offer_an_alternative() {
    let rules = "section 1 { governs box \n requires listed \n
        unless Ex. 1 when color is red then depth at least 2 in is enough }";
    assert_eq!(one(rules, &room("listed: no, color: red, depth: 3 in")), "1 met");
    assert_eq!(one(rules, &room("listed: no, color: red, depth: 1 in")), "1 not met");
    assert_eq!(one(rules, &room("listed: yes, color: red, depth: 1 in")), "1 met");
}

#[test]
fn a_mandatory_exception_replaces_the_rule() {
    let rules = "section 1 { governs box \n requires listed \n
        Ex. 1 when color is red instead requires depth at least 2 in }";
    assert_eq!(one(rules, &room("listed: yes, color: red, depth: 1 in")), "1 not met");
    assert_eq!(one(rules, &room("listed: no, color: red, depth: 3 in")), "1 met");
    assert_eq!(one(rules, &room("listed: no, color: green, depth: 3 in")), "1 not met");
    // An unknown case counts only if both branches agree.
    assert_eq!(one(rules, &room("listed: yes, depth: 3 in")), "1 met");
    assert_eq!(one(rules, &room("listed: no, depth: 1 in")), "1 not met");
    assert_eq!(one(rules, &room("listed: yes, depth: 1 in")), "1 undecided");
}

#[test]
fn two_mandatory_cases_bind_together() {
    let rules = "section 1 { governs box \n requires listed \n
        Ex. 1 when color is red instead requires depth at least 2 in
        Ex. 2 when size at least 10 AWG instead requires label is \"big\" }";
    assert_eq!(one(rules, &room("listed: no, color: red, size: 8 AWG, depth: 3 in, label: \"big\"")), "1 met");
    assert_eq!(one(rules, &room("listed: no, color: red, size: 8 AWG, depth: 3 in, label: \"small\"")), "1 not met");
}

#[test]
fn numbered_triggers_are_duties_of_their_own() {
    let rules = "section 1 { governs box \n requires listed where any of {
        (1) color is red
        (2) as deep: depth more than 2 in }
        unless Ex. to (1) as spared when label is \"spare\" }";
    let facts = room("listed: no, color: red, depth: 3 in, label: \"spare\"");
    assert_eq!(verdicts(&inspect(rules, &facts)), ["1(1) met", "1(2) not met"]);
    let facts = room("listed: no, color: green, depth: 1 in, label: none");
    assert_eq!(verdicts(&inspect(rules, &facts)), ["1(1) not applicable", "1(2) not applicable"]);
}

#[test]
fn labelled_items_are_duties_to_any_depth() {
    let rules = "section 1 { governs box \n requires all of {
        (1) listed
        (2) all of {
            (a) color is red
            (b) depth at least 1 in } } }";
    let facts = room("listed: yes, color: green, depth: 1 in");
    assert_eq!(verdicts(&inspect(rules, &facts)), ["1(1) met", "1(2)(a) not met", "1(2)(b) met"]);
}

#[test]
fn paragraphs_inherit_what_surrounds_them() {
    let rules = "section 1 { governs box \n when color is red
        (A) \"First\" { requires listed }
        (B) \"Second\" { when depth at least 2 in \n requires label is \"deep\" }
        (C) reserved }";
    let facts = room("color: red, listed: no, depth: 1 in");
    assert_eq!(verdicts(&inspect(rules, &facts)), ["1(A) not met", "1(B) not applicable"]);
}

#[test]
fn prohibitions_waivers_modifications_and_lifts_reach_where_they_say() {
    let rules = "section 1 { governs box \n prohibits any of { (1) color is red \n (2) color is blue } }";
    assert_eq!(verdicts(&inspect(rules, &room("color: red"))), ["1(1) not met", "1(2) met"]);

    let rules = "section 1 { governs box \n (A) { requires listed } \n (B) { requires depth at least 2 in } }
        section 2 { governs box \n waives 1(A) when color is red }";
    assert_eq!(
        verdicts(&inspect(rules, &room("color: red, listed: no, depth: 1 in"))),
        ["1(A) not applicable", "1(B) not met"]
    );
    assert_eq!(verdicts(&inspect(rules, &room("color: blue, listed: no, depth: 3 in"))), ["1(A) not met", "1(B) met"]);
    assert_eq!(verdicts(&inspect(rules, &room("listed: no, depth: 3 in"))), ["1(A) undecided", "1(B) met"]);

    let rules = "section 1 { governs box \n requires listed }
        section 2 { governs box \n when color is red \n permits (depth at least 2 in) notwithstanding 1 }";
    assert_eq!(one(rules, &room("color: red, listed: no, depth: 3 in")), "1 met");
    assert_eq!(inspect(rules, &room("color: red, listed: no, depth: 3 in")).verdicts[0].by, "permitted by 2");
    assert_eq!(one(rules, &room("color: blue, listed: no, depth: 3 in")), "1 not met");

    let rules = "section 1 { governs box \n requires listed }
        section 2 { modifies 1 when color is red instead requires depth at least 2 in }";
    assert_eq!(one(rules, &room("color: red, listed: no, depth: 3 in")), "1 met");
    assert_eq!(one(rules, &room("color: red, listed: yes, depth: 1 in")), "1 not met");
}

#[test]
fn if_provided_it_must_conform() {
    let rules = "section 1 { governs box \n if provided cover, requires cover is green }";
    assert_eq!(one(rules, &room("cover: none")), "1 not applicable");
    assert_eq!(one(rules, &room("cover: green")), "1 met");
    assert_eq!(one(rules, &room("cover: red")), "1 not met");
    assert_eq!(one(rules, &room("")), "1 undecided");
}

#[test]
fn permissions_say_what_qualifies() {
    let rules = "section 1 { permits box as good-box, any of { (1) color is red \n (2) color is green, listed } }";
    let answer = |facts: &str| inspect(rules, &room(facts)).qualifies[0].answer.clone();
    assert_eq!(answer("color: red"), "qualifies");
    assert_eq!(answer("color: green, listed: no"), "does not qualify");
    assert_eq!(answer("color: green"), "undecided");
    assert_eq!(inspect(rules, &room("color: green, listed: no")).qualifies[0].cites, ["1(1)", "1(2)"]);
}

#[test]
fn only_a_judgment_away_is_for_the_authority() {
    let rules = "section 1 { governs box \n requires approved, listed }";
    assert_eq!(one(rules, &room("listed: yes")), "1 for the authority");
    assert_eq!(one(rules, &room("")), "1 undecided");
    assert_eq!(one(rules, &room("listed: no")), "1 not met");
    assert_eq!(one(rules, &room("listed: yes, approved: yes")), "1 met");
}

#[test]
fn quantifiers_and_counts() {
    let lamps =
        |list: &str| format!("room r {{ wet: no, boxes: none, lamps {{ {list} }}, area: 9 ft2 }}\ncircuit: none\n");
    let two = lamps("a { height: 8 ft, spare: no }\n b { height: 6 ft, spare: yes }");
    for (demand, verdict) in [
        ("some lamp where spare", "met"),
        ("every lamp where spare: height at most 6 ft", "met"),
        ("every lamp is spare", "not met"),
        ("no lamp where height more than 9 ft", "met"),
        ("at least 2 of lamps", "met"),
        ("exactly 1 of lamps where spare", "met"),
        ("at most 1 of lamps", "not met"),
        ("count of lamps at least 2", "met"),
        ("(sum of height of lamps where spare) at most 6 ft", "met"),
        ("sum of height of spare lamps at most 5 ft", "not met"),
        ("largest height of lamps exactly 8 ft", "met"),
        ("smallest height of lamps at least 7 ft", "not met"),
    ] {
        let rules = format!("section 1 {{ governs room \n requires {demand} }}");
        assert_eq!(one(&rules, &two), format!("1 {verdict}"), "{demand}");
    }
}

#[test]
fn open_lists_decide_only_what_they_can() {
    let lamps = |list: &str| {
        format!("room r {{ wet: no, boxes: none, lamps {{ {list} \n and maybe more }}, area: 9 ft2 }}\ncircuit: none\n")
    };
    let open = lamps("a { height: 8 ft, spare: no }");
    for (demand, verdict) in [
        ("some lamp where spare", "undecided"),
        ("some lamp where not spare", "met"),
        ("every lamp is spare", "not met"),
        ("every lamp where not spare: height at least 8 ft", "undecided"),
        ("at least 1 of lamps", "met"),
        ("at most 1 of lamps", "undecided"),
        ("at most 0 of lamps", "not met"),
        ("exactly 0 of lamps", "not met"),
        ("exactly 1 of lamps", "undecided"),
        ("largest height of lamps at least 8 ft", "met"),
        ("largest height of lamps at most 9 ft", "undecided"),
        ("sum of height of lamps at least 8 ft", "undecided"),
    ] {
        let rules = format!("section 1 {{ governs room \n requires {demand} }}");
        assert_eq!(verdicts(&inspect(&rules, &open))[0], format!("1 {verdict}"), "{demand}");
    }
}

#[test]
fn halves_need_different_members() {
    let rules = "section 1 { governs room \n requires different {
        (A) box A where color is red or green
        (B) box B where color is green or blue } }";
    let boxes =
        |list: &str| format!("room r {{ wet: no, boxes {{ {list} }}, lamps: none, area: 9 ft2 }}\ncircuit: none\n");
    let all = |list: &str| verdicts(&inspect(rules, &boxes(list)));
    assert_eq!(all("a { color: red }\n b { color: blue }"), ["1(A) met", "1(B) met", "1 met"]);
    assert_eq!(all("a { color: green }\n b { color: green }"), ["1(A) met", "1(B) met", "1 met"]);
    assert_eq!(all("a { color: green }"), ["1(A) met", "1(B) met", "1 not met"]);
    assert_eq!(all("a { color: green }\n b { color: none }"), ["1(A) met", "1(B) met", "1 not met"]);
    assert_eq!(all("a { color: red }"), ["1(A) met", "1(B) not met", "1 not met"]);
    assert_eq!(all("a { color: green }\n b { color: unknown }"), ["1(A) met", "1(B) met", "1 undecided"]);
    // The matching is searched, not read off a choice: a could serve both, c only (A).
    assert_eq!(all("a { color: green }\n c { color: red }"), ["1(A) met", "1(B) met", "1 met"]);
    assert_eq!(all("a { color: green }\n and maybe more"), ["1(A) met", "1(B) met", "1 undecided"]);
    let told = inspect(rules, &boxes("a { color: green }"));
    assert!(told.verdicts[2].because[0].found.contains("a of r would have to serve"), "{:?}", told.verdicts[2]);
}

#[test]
fn readings_are_all_run_until_one_is_chosen() {
    let rules = "section 1 { governs box \n requires listed \n unless Ex. 1 as odd when color is red }
        reading deep-enough of odd \"how deep\", disputed \"two sources\" {
            lax    \"any depth\" { depth at least 1 in }
            strict \"two inches\" { depth at least 2 in } }";
    let verdict = |facts: &str, chosen: &[&str]| inspect_with(rules, &room(facts), chosen).verdicts[0].verdict.clone();
    assert_eq!(verdict("listed: no, color: red, depth: 3 in", &[]), "met");
    assert_eq!(verdict("listed: no, color: red, depth: 1 in", &[]), "undecided");
    assert_eq!(verdict("listed: no, color: red, depth: 1 in", &["lax"]), "met");
    assert_eq!(verdict("listed: no, color: red, depth: 1 in", &["deep-enough=strict"]), "not met");
    assert_eq!(verdict("listed: no, color: red, depth: 0 in", &[]), "not met");
    let told = inspect_with(rules, &room("listed: no, color: red, depth: 1 in"), &[]);
    assert_eq!(told.verdicts[0].readings.len(), 2);
    assert!(told.verdicts[0].missing.is_empty());
}

#[test]
fn a_reading_used_twice_is_read_one_way() {
    // Under each reading the two demands disagree, so one of them always fails: not met, not undecided.
    let rules = "section 1 { governs box \n requires tall-box, not tall-box }
        reading tall-box of box \"tall\", disputed \"x\" { a \"a\" { depth at least 1 in } \n b \"b\" { depth at least 2 in } }";
    assert_eq!(one(rules, &room("depth: 1 in")), "1 not met");
}

#[test]
fn credit_is_lost_through_an_exception_that_says_so() {
    let rules = "section 1 { governs lamp \n requires height at most 7 ft
            unless Ex. 1 as high, not counted toward 2, when spare }
        section 2 { governs room
            tally required-lamps = lamps
            requires at least 2 of required-lamps }";
    let lamps =
        |list: &str| format!("room r {{ wet: no, boxes: none, lamps {{ {list} }}, area: 9 ft2 }}\ncircuit: none\n");
    let second =
        |list: &str| verdicts(&inspect(rules, &lamps(list))).into_iter().find(|v| v.starts_with("2 ")).unwrap();
    assert_eq!(second("a { height: 6 ft, spare: no }\n b { height: 6 ft, spare: no }"), "2 met");
    assert_eq!(second("a { height: 6 ft, spare: no }\n b { height: 8 ft, spare: yes }"), "2 not met");
    assert_eq!(second("a { height: 6 ft, spare: no }\n b { height: 6 ft, spare: yes }"), "2 met");
    assert_eq!(second("a { height: 6 ft, spare: no }\n b { spare: yes }"), "2 undecided");
}

#[test]
fn dual_limits_lean_by_where_they_stand() {
    // 7 1/2 ft is 2.286 m. In a duty either system suffices; a scope binds only if both say so.
    let duty = "section 1 { governs box \n requires depth at most 7 1/2 ft (2.3 m) }";
    assert_eq!(one(duty, &room("depth: 2.3 m")), "1 met");
    assert_eq!(one(duty, &room("depth: 2.31 m")), "1 not met");
    let duty = "section 1 { governs box \n requires depth at least 7 1/2 ft (2.3 m) }";
    assert_eq!(one(duty, &room("depth: 7 1/2 ft")), "1 met");
    assert_eq!(one(duty, &room("depth: 7.49 ft")), "1 not met");
    let scope = "section 1 { governs box \n when depth more than 7 1/2 ft (2.3 m) \n requires listed }";
    assert_eq!(one(scope, &room("depth: 2.29 m, listed: no")), "1 not applicable");
    assert_eq!(one(scope, &room("depth: 2.31 m, listed: no")), "1 not met");
    let scope = "section 1 { governs box \n when depth at most 6 ft (1.8 m) \n requires listed }";
    assert_eq!(one(scope, &room("depth: 1.82 m, listed: no")), "1 not applicable");
    let exception =
        "section 1 { governs box \n requires listed \n unless Ex. 1 when depth more than 7 1/2 ft (2.3 m) }";
    assert_eq!(one(exception, &room("depth: 2.29 m, listed: no")), "1 met");
    assert_eq!(one(exception, &room("depth: 7 1/2 ft, listed: no")), "1 not met");
    // A negation turns the side round, so it stays the exact opposite of the direct statement.
    let opposite = "section 1 { governs box \n requires not (depth at most 7 1/2 ft (2.3 m)) }";
    assert_eq!(one(opposite, &room("depth: 2.29 m")), "1 met");
}

#[test]
fn numbers_are_exact() {
    let rules = "section 1 { governs box \n requires depth exactly 0.1 in + 0.2 in }";
    assert_eq!(one(rules, &room("depth: 0.3 in")), "1 met");
    let rules = "section 1 { governs room \n requires area beyond 9 ft2 at most 0 ft2 }";
    assert_eq!(one(rules, "room r { wet: no, boxes: none, lamps: none, area: 9 ft2 }\ncircuit: none\n"), "1 met");
    let rules = "section 1 { governs room \n requires 1 + (area beyond 9 ft2) per 18 ft2 or fraction exactly 3 }";
    let facts = "room r { wet: no, boxes: none, lamps: none, area: 28 ft2 }\ncircuit: none\n";
    assert_eq!(one(rules, facts), "1 met");
    let rules = "section 1 { governs room \n requires (area / 2 ft2) rounded up from 0.8 exactly 4 }";
    assert_eq!(one(rules, "room r { wet: no, boxes: none, lamps: none, area: 9 ft2 }\ncircuit: none\n"), "1 met");
    assert_eq!(one(rules, "room r { wet: no, boxes: none, lamps: none, area: 9.6 ft2 }\ncircuit: none\n"), "1 not met");
}

#[test]
fn what_the_book_does_not_say_is_a_gap_with_no_fact_to_ask_for() {
    let table = "table 9 by depth: length, gives length in ft { up to 2 in | 1 \n up to 4 in | 2 }
        section 1 { governs box \n requires depth at most table 9 }";
    assert_eq!(one(table, &room("depth: 3 in")), "1 met");
    let outside = inspect(table, &room("depth: 5 in"));
    assert_eq!(outside.verdicts[0].verdict, "undecided");
    assert!(outside.verdicts[0].missing.is_empty());
    let closed = table.replace("length, gives", "length, no other size, gives");
    assert_eq!(one(&closed, &room("depth: 5 in")), "1 not met");
    let division = "section 1 { governs room \n requires area / (count of boxes x 1 ft2) at least 1 }";
    assert_eq!(
        one(division, "room r { wet: no, boxes: none, lamps: none, area: 9 ft2 }\ncircuit: none\n"),
        "1 undecided"
    );
    let nothing = "section 1 { governs room \n requires largest height of lamps at least 1 ft }";
    assert_eq!(
        one(nothing, "room r { wet: no, boxes: none, lamps: none, area: 9 ft2 }\ncircuit: none\n"),
        "1 undecided"
    );
}

#[test]
fn an_unknown_key_ranges_over_the_rows_still_possible() {
    let table = "table 9 by depth: length, across color: color, gives length in ft {
                  | red or green | blue
        up to 2 in | 1 | 1
        up to 4 in | 1 | 3 }
        section 1 { governs box \n requires to-sink from outer at least table 9 }";
    let at = |depth: &str, color: &str, measured: &str| {
        one(table, &room(&format!("depth: {depth}, color: {color}, to-sink: {measured} from outer through nothing")))
    };
    assert_eq!(at("1 in", "not red", "1 ft"), "1 undecided", "color may be none");
    assert_eq!(at("1 in", "green or blue", "1 ft"), "1 met", "both columns say the same");
    assert_eq!(at("3 in", "green or blue", "1 ft"), "1 undecided");
    assert_eq!(at("3 in", "green or blue", "4 ft"), "1 met");
    assert_eq!(at("at most 4 in", "red", "1 ft"), "1 met");
    assert_eq!(at("at most 5 in", "red", "1 ft"), "1 undecided", "perhaps outside the table");
}

#[test]
fn keyed_measurements_say_from_where_and_through_what() {
    let rules =
        "section 1 { governs box \n when to-sink from inner at most 6 ft, to-sink from inner not through door or wall
        requires listed }";
    assert_eq!(one(rules, &room("listed: no, to-sink: 2 ft from inner through nothing")), "1 not met");
    assert_eq!(one(rules, &room("listed: no, to-sink: 2 ft from inner through door")), "1 not applicable");
    assert_eq!(one(rules, &room("listed: no, to-sink: 2 ft from inner")), "1 undecided");
    assert_eq!(one(rules, &room("listed: no, to-sink: 2 ft from outer through nothing")), "1 undecided");
    assert_eq!(one(rules, &room("listed: no, to-sink: 9 ft from inner")), "1 not applicable");
}

#[test]
fn dates_name_their_clock_and_their_ends() {
    let rules = "section 1 { governs box \n when after 2020-01-01 by installation \n requires listed
        unless Ex. 1 when before 2026-09-01 by installation }";
    let at = |date: &str| one(rules, &format!("project {{ installation: {date} }}\n{}", room("listed: no")));
    assert_eq!(at("2020-01-01"), "1 not applicable");
    assert_eq!(at("2020-01-02"), "1 met");
    assert_eq!(at("2026-08-31"), "1 met");
    assert_eq!(at("2026-09-01"), "1 not met");
    assert_eq!(at("before 2019-01-01"), "1 not applicable");
    assert_eq!(one(rules, &room("listed: no")), "1 undecided");
}

#[test]
fn inverse_lists_and_references() {
    let rules = "section 1 { governs room \n requires some lit-by where rating at least 20 A }";
    let facts = |circuits: &str| format!("room r {{ wet: no, boxes: none, lamps: none, area: 9 ft2 }}\n{circuits}");
    assert_eq!(one(rules, &facts("circuit c { lights: r, rating: 20 A }")), "1 met");
    assert_eq!(one(rules, &facts("circuit c { lights: r, rating: 15 A }")), "1 not met");
    assert_eq!(one(rules, &facts("circuit c { rating: 20 A }")), "1 undecided", "perhaps it lights another room");
    assert_eq!(one(rules, &facts("circuit c { rating: 15 A }")), "1 not met");
    assert_eq!(one(rules, &facts("circuit: none")), "1 not met");
    assert_eq!(one(rules, &facts("circuit c { lights: r, rating: 15 A }\nand maybe more circuit")), "1 undecided");
    let rules = "kind wet-room of room { wet } \n section 1 { governs circuit \n when lights is wet-room \n requires rating at most 15 A }";
    let all = verdicts(&inspect(rules, "room r { wet: yes }\ncircuit c { lights: r, rating: 20 A }"));
    assert_eq!(all, ["1 not met"]);
}

#[test]
fn what_was_never_mentioned_may_exist() {
    let rules = "section 1 { governs circuit \n requires rating at most 20 A }";
    let silent = inspect(rules, "room r { wet: no }");
    assert!(silent.verdicts.is_empty());
    assert_eq!(silent.not_described.len(), 1);
    assert_eq!(silent.not_described[0].say, "circuit: none");
    assert_eq!(silent.outcome, report::Overall::Open);
    let none = inspect(rules, "room r { wet: no }\ncircuit: none");
    assert!(none.not_described.is_empty());
    assert_eq!(none.outcome, report::Overall::Met);
}

#[test]
fn definitions_and_limits_are_read_by_name() {
    let rules = "limit reach = 6 ft (1.8 m)
        define spare-count of room = count of lamps where spare
        define double-depth of box = 2 x depth
        section 1 { governs box \n requires double-depth at most reach }
        section 2 { governs room \n requires spare-count at least 1 }";
    let facts =
        "room r { wet: no, boxes { b { depth: 3 ft } }, lamps { l { spare: yes } }, area: 1 ft2 }\ncircuit: none\n";
    assert_eq!(verdicts(&inspect(rules, facts)), ["1 met", "2 met"]);
}
