//! Which book governs: adoptions, choices, windows and layers of places.
//!
//! Places and rules are invented; the mechanics are those of public law, and the published source is named beside each test by
//! its key: MN1 and MN2 (a state's notices of two adoptions), NC1 and NC2 (a state's adopting rules with an occupancy split
//! and a choice), NJ2 and NJ3 (a state's code with a grace period), NY2 (a city's law with an opt-in before its day), GA1 (an
//! amendment with a sunset), TX3 and TIA1 (two starts of one section), WI2, IL2 and CH4 (how layers stand), SC4 (approval
//! needed), IA4 (a city that mirrors its state).
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Code, Diagnostics, Look, render};
use whereas::govern::Selection;
use whereas::report::view::Inspection;
use whereas::session::{Asked, FactsForm, Session};

const BASE: &str = r#"
terms for demo "Demo"
choice occupancy { one-family, two-family, multifamily, shop
    group dwelling = one-family, two-family, multifamily
}
thing project {
    permit-application: date
    permit-issue: date
    installation: date
    occupancy: occupancy
    declares: text, may be absent
    place: text
}
thing run {
    length: length
    gap: length
    mini-split: yes-no
    guarded: yes-no
}
edition demo 2017 "Demo code, 2017"
section 1 "Length" {
    governs run
    requires length at most 12 ft
}
section 2 "Gap" {
    governs run
    requires gap at most 12 ft
}
edition demo 2020 follows demo 2017 "Demo code, 2020" {
    in 1: length was 12 ft, now 11 ft
    add section 3 as guards "Guards" {
        governs run
        requires guarded
    }
}
"#;

fn session(rules: &str) -> Session {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("base", BASE.as_bytes().to_vec());
    found.extend(session.add_rulebook("places", rules.as_bytes().to_vec()));
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    session
}

fn asked(place: &str) -> Asked {
    Asked { place: Some(place.to_string()), ..Asked::default() }
}

/// What governs, with everything that was said.
fn govern(rules: &str, place: &str, facts: &str) -> (Option<Selection>, Diagnostics) {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("base", BASE.as_bytes().to_vec());
    found.extend(session.add_rulebook("places", rules.as_bytes().to_vec()));
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let (selection, more) = session.govern(&asked(place), &mut vec![file]);
    found.extend(more);
    for book in selection.iter().flat_map(|s| &s.possible).flat_map(|p| &p.books) {
        found.extend(session.open_set(book).2);
    }
    (selection, found)
}

/// The names of the books that may govern, each once; `-` for none.
fn books(rules: &str, place: &str, project: &str) -> String {
    let (selection, found) = govern(rules, place, &format!("project {{ {project} }}\n"));
    assert!(!found.has_errors(), "{found:?}");
    let mut names: Vec<String> = Vec::new();
    for possible in selection.unwrap().possible {
        let own: Vec<String> = possible.books.iter().map(|b| b.name()).collect();
        let name = if own.is_empty() { "-".to_string() } else { own.join(" and ") };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(" | ")
}

fn codes(rules: &str, place: &str, project: &str) -> Vec<Code> {
    let (_, found) = govern(rules, place, &format!("project {{ {project} }}\n"));
    found.iter().map(|d| d.code).collect()
}

fn inspect(rules: &str, place: &str, facts: &str) -> Inspection {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("base", BASE.as_bytes().to_vec());
    found.extend(session.add_rulebook("places", rules.as_bytes().to_vec()));
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let mut files = vec![file];
    let (selection, more) = session.govern(&asked(place), &mut files);
    found.extend(more);
    let (inspection, more) = session.inspect_governed(&selection.unwrap(), &files, &[]);
    found.extend(more);
    assert!(!found.has_errors(), "{}", render(&found, session.sources(), &Look::default()));
    inspection.unwrap()
}

fn verdict_of(inspection: &Inspection, section: &str) -> String {
    let found = inspection.verdicts.iter().find(|v| v.section == section);
    found.map_or("no such requirement".to_string(), |v| v.verdict.clone())
}

fn verdict(rules: &str, place: &str, facts: &str, section: &str) -> String {
    verdict_of(&inspect(rules, place, facts), section)
}

const SWITCH: &str = "jurisdiction lindal {
    base fixed by permit-application
    demo 2017 from 2018-07-01
    demo 2020 from 2021-07-01
}
";

#[test]
fn a_hard_switch_turns_on_its_day() {
    // MN1: filed before the day the old edition, on and after it the new one.
    assert_eq!(books(SWITCH, "lindal", "permit-application: 2021-06-30"), "demo 2017");
    assert_eq!(books(SWITCH, "lindal", "permit-application: 2021-07-01"), "demo 2020");
    assert_eq!(books(SWITCH, "lindal", "permit-application: before 2021-07-01 and after 2018-06-30"), "demo 2017");
}

#[test]
fn the_clock_of_the_place_counts_and_no_other() {
    // MN1 and MN2: one state, filing in one adoption, issue in another.
    let issued = SWITCH.replace("fixed by permit-application", "fixed by permit-issue");
    let dates = "permit-application: 2021-06-01, permit-issue: 2021-08-01";
    assert_eq!(books(SWITCH, "lindal", dates), "demo 2017");
    assert_eq!(books(&issued, "lindal", dates), "demo 2020");
}

#[test]
fn an_unknown_date_leaves_every_book_and_says_what_to_state() {
    let (selection, _) = govern(SWITCH, "lindal", "project { occupancy: shop }\n");
    let selection = selection.unwrap();
    assert_eq!(selection.possible.len(), 3, "before the first adoption nothing governs");
    assert!(selection.possible[0].books.is_empty());
    assert_eq!(selection.ask.iter().map(|a| a.field.as_str()).collect::<Vec<_>>(), ["permit-application"]);
    assert_eq!(books(SWITCH, "lindal", "permit-application: after 2020-01-01"), "demo 2017 | demo 2020");
}

#[test]
fn through_includes_its_day_and_before_excludes_it() {
    let with = |end: &str| {
        SWITCH.replace("2018-07-01", &format!("2018-07-01 {end}")).replace("    demo 2020 from 2021-07-01\n", "")
    };
    for (end, last, beyond) in
        [("through 2020-12-31", "2020-12-31", "2021-01-01"), ("before 2020-12-31", "2020-12-30", "2020-12-31")]
    {
        assert_eq!(books(&with(end), "lindal", &format!("permit-application: {last}")), "demo 2017");
        assert_eq!(codes(&with(end), "lindal", &format!("permit-application: {beyond}")), [Code::OutsideAdoptions]);
    }
}

const CHOICE: &str = "jurisdiction lindal {
    base fixed by permit-application
    demo 2017 from 2018-07-01
    demo 2020 from 2021-11-01
        early from 2021-10-01: dwelling for the whole project if declared
        grace through 2022-06-30: demo 2017 for the whole project if declared
        one-family, two-family stay on demo 2017
}
";

#[test]
fn some_occupancies_stay_on_the_older_edition() {
    // NC1: one- and two-family dwellings stay, apartments do not.
    let on = |occupancy: &str| format!("permit-application: 2022-09-01, occupancy: {occupancy}");
    assert_eq!(books(CHOICE, "lindal", &on("two-family")), "demo 2017");
    assert_eq!(books(CHOICE, "lindal", &on("multifamily")), "demo 2020");
    assert_eq!(books(CHOICE, "lindal", &on("one-family or two-family")), "demo 2017");
    assert_eq!(books(CHOICE, "lindal", &on("unknown")), "demo 2017 | demo 2020");
}

#[test]
fn a_grace_period_is_a_choice_that_must_be_declared() {
    // NJ2, NJ3: declared on the permit; silent means the new one. That nothing was declared is a fact to be stated.
    let on = |date: &str, declares: &str| format!("permit-application: {date}, occupancy: shop{declares}");
    assert_eq!(books(CHOICE, "lindal", &on("2022-06-30", ", declares: demo 2017")), "demo 2017");
    assert_eq!(books(CHOICE, "lindal", &on("2022-06-30", ", declares: none")), "demo 2020");
    assert_eq!(books(CHOICE, "lindal", &on("2022-06-30", "")), "demo 2020 | demo 2017");
    assert_eq!(books(CHOICE, "lindal", &on("2022-07-01", "")), "demo 2020");
    // Out of its time a declaration has no effect, and is told.
    assert_eq!(codes(CHOICE, "lindal", &on("2022-07-01", ", declares: demo 2017")), [Code::NotOffered]);
}

#[test]
fn what_is_declared_is_told_only_where_it_has_no_effect() {
    let on = |declares: &str| format!("permit-application: 2022-01-01, declares: {declares}");
    assert!(codes(SWITCH, "lindal", &on("demo 2020")).is_empty());
    assert_eq!(codes(SWITCH, "lindal", &on("demo 2017")), [Code::NotOffered]);
    assert_eq!(books(SWITCH, "lindal", &on("demo 2017")), "demo 2020");
    assert_eq!(
        codes("jurisdiction lindal { base fixed by permit-issue }\n", "lindal", &on("none")),
        [Code::OutsideAdoptions]
    );
}

#[test]
fn the_choice_is_for_the_whole_project() {
    // NC2: no mixing. The project declares one edition; two are refused, and so is one of a part.
    let on = "permit-application: 2022-06-30, occupancy: shop";
    let two = codes(CHOICE, "lindal", &format!("{on}, declares: demo 2017, demo 2020"));
    assert!(two.contains(&Code::FactListMismatch) || two.contains(&Code::FactWrongType), "{two:?}");
    let mut session = session(CHOICE);
    let facts = format!("project {{ {on}, declares: none }}\nrun R {{ declares: demo 2017 }}\n");
    let (file, _) = session.read_facts("facts", facts.into_bytes(), FactsForm::Native);
    let mut files = vec![file];
    let selection = session.govern(&asked("lindal"), &mut files).0.unwrap();
    let (inspection, found) = session.inspect_governed(&selection, &files, &[]);
    assert!(inspection.is_none());
    assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::FactUnknownField]);
}

#[test]
fn an_edition_may_be_chosen_before_it_binds_by_one_class_of_projects() {
    // NY2: applications tied to one class of project may opt in before the day.
    let on = |occupancy: &str, declares: &str| {
        format!("permit-application: 2021-10-15, occupancy: {occupancy}, declares: {declares}")
    };
    assert_eq!(books(CHOICE, "lindal", &on("multifamily", "demo 2020")), "demo 2020");
    assert_eq!(books(CHOICE, "lindal", &on("multifamily", "none")), "demo 2017");
    assert_eq!(books(CHOICE, "lindal", &on("shop", "demo 2020")), "demo 2017");
    assert_eq!(codes(CHOICE, "lindal", &on("shop", "demo 2020")), [Code::NotOffered]);
}

#[test]
fn the_older_edition_keeps_the_amendments_it_was_adopted_with() {
    let rules = CHOICE.replace("demo 2017 from", "demo 2017 with old-1 from")
        + "amendment old-1 to demo 2017 { in 1: length was 12 ft, now 9 ft }\n";
    let on = "permit-application: 2022-06-30, occupancy: shop, declares: demo 2017";
    assert_eq!(books(&rules, "lindal", on), "demo 2017 with old-1");
}

// ------------------------------------------------------------------------------------------------ windows

const SUNSET: &str = "jurisdiction lindal {
    base fixed by permit-issue
    demo 2017 with local-1 from 2005-01-01
}
amendment local-1 to demo 2017 {
    in force before 2010-01-01 by permit-issue
    in 1: length was 12 ft, now 20 ft
}
";

#[test]
fn an_expired_amendment_lets_the_base_text_revive() {
    // GA1: a state amendment that ended on 1 January 2010.
    let on = |date: &str| format!("project {{ permit-issue: {date} }}\nrun R {{ length: 15 ft, gap: 1 ft }}\n");
    assert_eq!(verdict(SUNSET, "lindal", &on("2009-12-31"), "1"), "met");
    assert_eq!(verdict(SUNSET, "lindal", &on("2010-01-01"), "1"), "not met");
    assert_eq!(verdict(SUNSET, "lindal", &on("2010-01-02"), "1"), "not met");
    let told = inspect(SUNSET, "lindal", &on("2010-01-02")).governing.selection.unwrap();
    let reasons: Vec<&str> = told.possible[0].because.iter().map(|b| b.words.as_str()).collect();
    assert!(reasons.iter().any(|r| r.starts_with("local-1 has expired")), "{reasons:?}");
}

#[test]
fn where_the_window_is_not_known_a_verdict_stands_only_if_both_agree() {
    let after = "permit-issue: after 2004-12-31";
    let on = |length: &str| format!("project {{ {after} }}\nrun R {{ length: {length}, gap: 1 ft }}\n");
    assert_eq!(verdict(SUNSET, "lindal", &on("10 ft"), "1"), "met");
    assert_eq!(verdict(SUNSET, "lindal", &on("30 ft"), "1"), "not met");
    let open = inspect(SUNSET, "lindal", &on("15 ft"));
    let row = open.verdicts.iter().find(|v| v.section == "1").unwrap();
    assert_eq!(row.verdict, "undecided");
    assert_eq!(row.missing.iter().map(|m| m.field.as_str()).collect::<Vec<_>>(), ["permit-issue"]);
    assert_eq!(row.under.len(), 2);
    assert_eq!(verdict_of(&open, "2"), "met");
}

#[test]
fn windows_count_where_a_book_is_named_too() {
    let mut session = session(SUNSET);
    let facts = "project { permit-issue: 2010-01-02 }\nrun R { length: 15 ft, gap: 1 ft }\n";
    let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let (selection, _) = session.govern_named("demo 2017 with local-1", std::slice::from_ref(&file));
    let (inspection, _) = session.inspect_governed(&selection.unwrap(), &[file], &[]);
    assert_eq!(verdict_of(&inspection.unwrap(), "1"), "not met");
    // Without a window nothing selects.
    assert!(session.govern_named("demo 2020", &[]).0.is_none());
}

#[test]
fn two_clocks_on_one_rule() {
    // TIA1: the rule starts in 2023 for one sort of equipment, by installation. TX3: for everything, by permit.
    let rules = "jurisdiction both {
    base fixed by permit-application
    demo 2020 with tia-1, local-1 from 2021-01-01
}
jurisdiction interim {
    base fixed by permit-application
    demo 2020 with tia-1 from 2021-01-01
}
jurisdiction plain {
    base fixed by permit-application
    demo 2020 from 2021-01-01
}
interim amendment tia-1 to demo 2020 {
    in guards: add Ex. 1 as mini when mini-split, before 2023-01-01 by installation
}
amendment local-1 to demo 2020 { start guards on 2023-01-01 by permit-application }
";
    let facts = |date: &str, mini: &str| {
        format!(
            "project {{ permit-application: {date}, installation: {date} }}\n\
             run R {{ length: 1 ft, gap: 1 ft, mini-split: {mini}, guarded: no }}\n"
        )
    };
    for (place, date, mini, expected) in [
        ("interim", "2022-06-15", "no", "not met"),
        ("both", "2022-06-15", "no", "not applicable"),
        ("interim", "2022-06-15", "yes", "met"),
        ("both", "2022-06-15", "yes", "not applicable"),
        ("both", "2023-02-15", "no", "not met"),
        ("both", "2023-02-15", "yes", "not met"),
        ("plain", "2022-06-15", "yes", "not met"),
    ] {
        assert_eq!(verdict(rules, place, &facts(date, mini), "3"), expected, "{place} {date} {mini}");
    }
}

#[test]
fn an_amendment_to_every_base_may_run_on_a_clock_of_its_own() {
    // MA2: an emergency rule, in force by the day of inspection whatever edition the permit fixed.
    let rules = format!(
        "{}jurisdiction city within lindal {{ adds rule-11 from 2018-07-01 }}
amendment rule-11 to every base {{
    in force from 2023-01-26 through 2023-04-26 by installation
    in 2: gap was 12 ft, now 99 ft
}}
",
        SWITCH
    );
    for (permit, edition) in [("2019-01-01", "demo 2017"), ("2022-01-01", "demo 2020")] {
        for (day, there) in [("2023-01-25", false), ("2023-01-26", true), ("2023-04-26", true), ("2023-04-27", false)] {
            let found = books(&rules, "city", &format!("permit-application: {permit}, installation: {day}"));
            let expected = if there { format!("{edition} with rule-11") } else { edition.to_string() };
            assert_eq!(found, expected, "{permit} {day}");
        }
    }
}

// ------------------------------------------------------------------------------------------------ layers

/// A state that allows 15 ft in both rules, and a city that asks 10 ft in one and allows 20 ft in the other.
fn stack(policy: &str) -> String {
    format!(
        "jurisdiction lindal {{
    base fixed by permit-application
    demo 2017 with state-1 from 2018-07-01
}}
jurisdiction pier-city within lindal {{
    adds city-1 from 2019-01-01
    {policy}
}}
amendment state-1 to demo 2017 {{
    in 1: length was 12 ft, now 15 ft
    in 2: gap was 12 ft, now 15 ft
}}
amendment city-1 to demo 2017 {{
    in 1: length was 12 ft, now 10 ft
    in 2: gap was 12 ft, now 20 ft
}}
"
    )
}

/// The largest length and gap that are met, in feet.
fn limits(rules: &str, place: &str) -> (u32, u32) {
    let largest = |section: &str| {
        (1..=25)
            .rev()
            .find(|feet| {
                let facts = format!(
                    "project {{ permit-application: 2020-01-01 }}\nrun R {{ length: {feet} ft, gap: {feet} ft }}\n"
                );
                verdict(rules, place, &facts, section) == "met"
            })
            .unwrap()
    };
    (largest("1"), largest("2"))
}

#[test]
fn without_a_policy_two_layers_on_one_part_are_an_error_with_both_places() {
    let (_, found) = govern(&stack(""), "pier-city", "project { permit-application: 2020-01-01 }\n");
    let all: Vec<_> = found.iter().collect();
    assert_eq!(all.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::LayersConflict, Code::LayersConflict]);
    assert!(all.iter().all(|d| d.labels.len() == 2), "{all:?}");
    // Layers that touch different parts need none.
    let apart = stack("")
        .replace("    in 1: length was 12 ft, now 15 ft\n", "")
        .replace("    in 2: gap was 12 ft, now 20 ft\n", "");
    assert_eq!(limits(&apart, "pier-city"), (10, 15));
}

#[test]
fn last_wins_strictest_wins_and_no_deviation() {
    // CH4: the top layer prevails. IL2: the most restrictive. WI2: strict conformity.
    assert_eq!(limits(&stack("over lindal: last wins"), "pier-city"), (10, 20));
    assert_eq!(limits(&stack("over lindal: strictest wins"), "pier-city"), (10, 15));
    assert_eq!(limits(&stack("over lindal: no deviation"), "pier-city"), (15, 15));
    let found = codes(&stack("over lindal: no deviation"), "pier-city", "permit-application: 2020-01-01");
    assert_eq!(found, [Code::Deviation], "the city's amendment is rejected with the reason");
    assert_eq!(limits(&stack("over lindal: no deviation"), "lindal"), (15, 15));
}

#[test]
fn strictest_wins_names_the_book_that_binds() {
    let facts = "project { permit-application: 2020-01-01 }\nrun R { length: 12 ft, gap: 18 ft }\n";
    let report = inspect(&stack("over lindal: strictest wins"), "pier-city", facts);
    let binding = |section: &str| -> Vec<String> {
        let row = report.verdicts.iter().find(|v| v.section == section).unwrap();
        assert_eq!(row.verdict, "not met");
        row.under.iter().filter(|u| u.binds).map(|u| u.book.clone()).collect()
    };
    assert_eq!(binding("1"), ["demo 2017 with state-1, city-1"]);
    assert_eq!(binding("2"), ["demo 2017 with state-1"]);
}

#[test]
fn an_amendment_that_needs_approval_counts_from_its_record() {
    // SC4: a local change is invalid until the state's council approves it.
    let needed = stack("over lindal: approval needed");
    let on = "permit-application: 2020-01-01";
    assert_eq!(books(&needed, "pier-city", on), "demo 2017 with state-1, city-1 | demo 2017 with state-1");
    let (selection, _) = govern(&needed, "pier-city", &format!("project {{ {on} }}\n"));
    assert_eq!(
        selection.unwrap().ask[0].say,
        "approved city-1 on YEAR-MONTH-DAY, as a line of the place in its rulebook"
    );
    let given = needed.replace("    adds", "    approved city-1 on 2019-06-01\n    adds");
    assert_eq!(books(&given, "pier-city", on), "demo 2017 with state-1, city-1");
    assert_eq!(books(&given, "pier-city", "permit-application: 2019-03-01"), "demo 2017 with state-1");
    assert_eq!(limits(&given, "pier-city"), (10, 20));
}

#[test]
fn a_place_follows_the_place_around_it_where_it_says_nothing() {
    // IA4: a city that takes over whatever its state adopts.
    let rules = format!("{SWITCH}jurisdiction mirror within lindal {{ over lindal: last wins }}\n");
    assert_eq!(books(&rules, "mirror", "permit-application: 2019-01-01"), "demo 2017");
    assert_eq!(books(&rules, "mirror", "permit-application: 2022-01-01"), "demo 2020");
    // What it adds is written for one edition and waits for it.
    let adds = format!(
        "{SWITCH}jurisdiction city within lindal {{ adds city-2 from 2019-01-01 }}\namendment city-2 to demo 2020 {{ in 1: length was 11 ft, now 9 ft }}\n"
    );
    assert_eq!(books(&adds, "city", "permit-application: 2019-06-01"), "demo 2017");
    assert_eq!(books(&adds, "city", "permit-application: 2022-01-01"), "demo 2020 with city-2");
}

#[test]
fn two_places_on_different_editions_need_a_policy() {
    let rules = |policy: &str| {
        format!("{SWITCH}jurisdiction city within lindal {{\n    demo 2017 from 2019-01-01\n    {policy}\n}}\n")
    };
    let on = "permit-application: 2022-01-01";
    assert_eq!(codes(&rules(""), "city", on), [Code::LayersConflict]);
    assert_eq!(books(&rules("over lindal: last wins"), "city", on), "demo 2017");
    assert_eq!(books(&rules("over lindal: strictest wins"), "city", on), "demo 2020 and demo 2017");
    assert_eq!(books(&rules("over lindal: no deviation"), "city", on), "demo 2020");
    let facts = format!("project {{ {on} }}\nrun R {{ length: 11 1/2 ft, gap: 1 ft, guarded: yes }}\n");
    assert_eq!(verdict(&rules("over lindal: strictest wins"), "city", &facts, "1"), "not met");
    assert_eq!(verdict(&rules("over lindal: last wins"), "city", &facts, "1"), "met");
    assert_eq!(verdict(&rules("over lindal: strictest wins"), "city", &facts, "3"), "met", "only one of them has it");
}

#[test]
fn a_stated_old_value_is_held_against_the_base_it_was_written_for() {
    // The city writes 12 ft, the text of the edition, not the 15 ft that the state put there.
    assert!(codes(&stack("over lindal: last wins"), "pier-city", "permit-application: 2020-01-01").is_empty());
    let wrong = stack("over lindal: last wins").replace("length was 12 ft, now 10 ft", "length was 15 ft, now 10 ft");
    assert_eq!(codes(&wrong, "pier-city", "permit-application: 2020-01-01"), [Code::OldValueDiffers]);
}

#[test]
fn a_whole_part_and_a_piece_of_it_are_one_part() {
    let whole = stack("")
        .replace("    in 1: length was 12 ft, now 10 ft\n    in 2: gap was 12 ft, now 20 ft\n", "    delete 1\n");
    assert_eq!(codes(&whole, "pier-city", "permit-application: 2020-01-01"), [Code::LayersConflict]);
    let range = whole.replace("    delete 1\n", "    delete 1 through 2\n");
    let found = codes(&range, "pier-city", "permit-application: 2020-01-01");
    assert_eq!(found, [Code::LayersConflict, Code::LayersConflict]);
    let prevails = whole.replace("    adds", "    over lindal: last wins\n    adds");
    let facts = "project { permit-application: 2020-01-01 }\nrun R { length: 99 ft, gap: 14 ft }\n";
    assert_eq!(verdict(&prevails, "pier-city", facts, "1"), "no such requirement");
    assert_eq!(verdict(&prevails, "pier-city", facts, "2"), "met");
}

// ------------------------------------------------------------------------------------------------ the law

#[test]
fn a_definite_verdict_never_changes_when_the_selecting_facts_become_known() {
    let rules = CHOICE.replace("demo 2020 from", "demo 2020 with local-2 from")
        + "amendment local-2 to demo 2020 {
    in force from 2022-01-01 through 2022-03-31 by installation
    in 2: gap was 12 ft, now 3 ft
}
jurisdiction pier-city within lindal {
    adds city-2 from 2022-02-01
    over lindal: strictest wins
}
amendment city-2 to demo 2020 { in 1: length was 11 ft, now 8 ft }
";
    let dates = ["2018-07-01", "2021-10-15", "2021-11-01", "2022-02-15", "2022-06-30", "2022-07-01"];
    let mut partial =
        vec!["unknown".to_string(), "after 2021-01-01".to_string(), "2021-12-01 through 2022-03-01".to_string()];
    partial.extend(dates.map(str::to_string));
    let occupancies = ["unknown", "one-family or shop", "shop", "one-family", "multifamily"];
    let elections = ["unknown", "none", "demo 2017", "demo 2020"];
    let within = |wide: &str, narrow: &str| match wide {
        "unknown" => true,
        "after 2021-01-01" => narrow > "2021-01-01",
        "2021-12-01 through 2022-03-01" => ("2021-12-01".."2022-03-02").contains(&narrow),
        "one-family or shop" => narrow == "one-family" || narrow == "shop",
        same => same == narrow,
    };
    let mut session = session(&rules);
    let mut run = |date: &str, install: &str, occupancy: &str, declares: &str| -> Vec<(String, String)> {
        let facts = format!(
            "project {{ permit-application: {date}, installation: {install}, occupancy: {occupancy}, declares: {declares} }}\n\
             run R {{ length: 9 ft, gap: 5 ft, guarded: no }}\n"
        );
        let (file, _) = session.read_facts("facts", facts.into_bytes(), FactsForm::Native);
        let mut files = vec![file];
        let (selection, found) = session.govern(&asked("pier-city"), &mut files);
        assert!(!found.has_errors(), "{found:?}");
        let (inspection, found) = session.inspect_governed(&selection.unwrap(), &files, &[]);
        assert!(!found.has_errors());
        inspection.unwrap().verdicts.iter().map(|v| (v.section.clone(), v.verdict.clone())).collect()
    };
    let mut definite = 0;
    let mut whole = std::collections::BTreeMap::new();
    for date in dates {
        for install in ["2021-12-31", "2022-02-15"] {
            for occupancy in ["shop", "one-family", "multifamily"] {
                for declares in ["none", "demo 2017", "demo 2020"] {
                    whole.insert((date, install, occupancy, declares), run(date, install, occupancy, declares));
                }
            }
        }
    }
    for date in &partial {
        for install in ["unknown", "2022-02-15"] {
            for occupancy in occupancies {
                for declares in elections {
                    let open = run(date, install, occupancy, declares);
                    for ((d, i, o, e), known) in &whole {
                        if !(within(date, d) && within(install, i) && within(occupancy, o) && within(declares, e)) {
                            continue;
                        }
                        for (section, verdict) in open.iter().filter(|(_, v)| v != "undecided") {
                            let now = known.iter().find(|(s, _)| s == section);
                            let same = now.map_or("not applicable", |(_, v)| v.as_str());
                            assert_eq!(
                                verdict, same,
                                "{section} with {date} {install} {occupancy} {declares}: {d} {i} {o} {e}"
                            );
                            definite += 1;
                        }
                    }
                }
            }
        }
    }
    assert!(definite > 500, "{definite}");
}

// ------------------------------------------------------------------------------------------------ asking

#[test]
fn the_place_may_be_a_fact_and_the_date_an_argument() {
    let mut session = session(SWITCH);
    let facts = "project { place: lindal }\nrun R { length: 1 ft }\n";
    let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let mut files = vec![file];
    let dated = Asked { date: Some("2022-01-01".to_string()), ..Asked::default() };
    let (selection, found) = session.govern(&dated, &mut files);
    assert!(found.is_empty(), "{found:?}");
    assert_eq!(selection.unwrap().possible[0].books[0].name(), "demo 2020");
    // The date joins the facts, so that rules with that clock see it.
    assert_eq!(files.len(), 2);
}

#[test]
fn a_date_must_be_one_that_the_facts_leave_possible() {
    let mut session = session(SWITCH);
    for (stated, agrees) in
        [("2021-01-01", false), ("2022-01-01", true), ("after 2021-06-30", true), ("before 2021-06-30", false)]
    {
        let facts = format!("project {{ place: lindal, permit-application: {stated} }}\n");
        let (file, _) = session.read_facts("facts", facts.into_bytes(), FactsForm::Native);
        let dated = Asked { date: Some("2022-01-01".to_string()), ..Asked::default() };
        let (selection, found) = session.govern(&dated, &mut vec![file]);
        assert_eq!(selection.is_some(), agrees, "{stated}: {found:?}");
        if !agrees {
            assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::DatesDisagree]);
        }
    }
}
