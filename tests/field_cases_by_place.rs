//! Questions from the trade that turn on which book governs, on a place's own words or on a date, with the answers that experts agreed
//! on. The places are invented; the mechanics and the dates are those of the published sources, named beside each test by their keys
//! (`rulebooks/README.md`) with their marks: S seen, M from memory.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Diagnostics, Look, render};
use whereas::govern::Selection;
use whereas::report::{self, Inspection};
use whereas::session::{self, Asked, FactsForm, Session};

fn session(rules: &str) -> Session {
    let (mut session, mut found) = Session::shipped();
    found.extend(session.add_rulebook("places", rules.as_bytes().to_vec()));
    assert!(found.is_empty(), "{}", drawn(&session, &found));
    session
}

fn drawn(session: &Session, found: &Diagnostics) -> String {
    render(found, session.sources(), &Look::default())
}

fn govern(session: &Session, place: &str, facts: &str) -> (Selection, Session, Vec<session::FactsFile>) {
    let mut session = session.clone();
    let (file, found) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    assert!(found.is_empty(), "{}", drawn(&session, &found));
    let mut files = vec![file];
    let asked = Asked { place: Some(place.to_string()), ..Asked::default() };
    let (selection, found) = session.govern(&asked, &mut files);
    assert!(!found.has_errors(), "{}", drawn(&session, &found));
    (selection.unwrap(), session, files)
}

/// The books that may govern: those of one point joined by `+`, points by `|`.
fn books(session: &Session, place: &str, project: &str) -> String {
    let (selection, ..) = govern(session, place, &format!("project {{ {project} }}\n"));
    let points: Vec<String> = selection
        .possible
        .iter()
        .map(|possible| possible.books.iter().map(|book| book.name()).collect::<Vec<_>>().join(" + "))
        .collect();
    points.join(" | ")
}

fn inspect(session: &Session, book: &str, facts: &str) -> Inspection {
    let mut session = session.clone();
    let (program, found) = session.open(book);
    assert!(!found.has_errors(), "{}", drawn(&session, &found));
    let (file, mut found) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    assert!(!found.has_errors(), "{}", drawn(&session, &found));
    report::inspection(&program, &installation, &session::choose(&program, &[]).0)
}

/// The verdicts under a number and all below it, each once, in the order of the words.
fn verdicts(inspection: &Inspection, section: &str) -> String {
    let mut found: Vec<&str> = inspection
        .verdicts
        .iter()
        .filter(|v| v.section.strip_prefix(section).is_some_and(|rest| rest.is_empty() || rest.starts_with('(')))
        .map(|v| v.verdict.as_str())
        .collect();
    found.sort_unstable();
    found.dedup();
    if found.is_empty() { "no such rule".to_string() } else { found.join(", ") }
}

/// H02 (GOV2, S): commercial work changes edition on 2018-08-01, one- and two-family dwellings on 2020-01-01.
#[test]
fn one_place_two_effective_dates() {
    let place = session(
        "jurisdiction lindal {
            base fixed by permit-application
            nec 2014 from 2014-01-01
            nec 2017 from 2018-08-01
                one-family, two-family stay on nec 2014 before 2020-01-01
        }\n",
    );
    let on = |date: &str, occupancy: &str| {
        books(&place, "lindal", &format!("permit-application: {date}, occupancy: {occupancy}"))
    };
    assert_eq!(on("2018-09-15", "one-family"), "nec 2014");
    assert_eq!(on("2018-09-15", "business"), "nec 2017");
    assert_eq!(on("2020-01-01", "one-family"), "nec 2017");
    assert_eq!(on("2018-07-31", "business"), "nec 2014");
}

/// H03 (GOV4, GOV7, GOV8, S): one place goes by the application for the electrical permit, another by its issue; the other date is of
/// no account.
#[test]
fn which_permit_fixes_the_edition() {
    let place = session(
        "jurisdiction lindal {
            base fixed by permit-application
            nec 2020 from 2020-01-01
            nec 2023 from 2023-03-01
        }
        jurisdiction fairview {
            base fixed by permit-issue
            nec 2014 from 2017-01-01
            nec 2017 from 2020-01-01
        }\n",
    );
    assert_eq!(books(&place, "lindal", "permit-application: 2023-03-10, permit-issue: 2023-01-20"), "nec 2023");
    assert_eq!(books(&place, "fairview", "permit-application: 2020-02-01, permit-issue: 2019-12-20"), "nec 2014");
    assert_eq!(books(&place, "fairview", "permit-application: 2019-11-01, permit-issue: 2020-01-01"), "nec 2017");
}

/// H05 (FA59, GOV12, S for the deletions of a state; its base of 2008 is not encoded, 2014 stands for it): a section deleted without
/// substitution asks for nothing, where the base would be violated.
#[test]
fn a_section_deleted_without_substitution() {
    let place = session(
        "amendment lindal-deletions to nec 2014 {\n    delete 210.12(A) through 210.12(C)\n    delete 406.12\n}\n",
    );
    let bedroom = "project { occupancy: one-family, care-for-people: no }
        space bedroom { use: bedroom, in-unit: dwelling-unit }
        branch-circuit B { serves: bedroom, overcurrent: 20 A, volts: 120 V, volts-to-ground: 120 V, phases: single-phase
            wiring: new-wiring, afci: none, alarm-in-metal: no, heating-cable-only: no
            outlets { R { device: receptacle, room: bedroom, rated-voltage: 125 V, rated-current: 20 A, locking: no, height: 18 in, appliance: none, tamper-resistant: no, plain-reason: none } } }\n";
    let base = inspect(&place, "nec 2014", bedroom);
    assert!(verdicts(&base, "210.12(A)").contains("not met"), "{}", verdicts(&base, "210.12"));
    assert!(verdicts(&base, "406.12").contains("not met"), "{}", verdicts(&base, "406.12"));
    let local = inspect(&place, "nec 2014 with lindal-deletions", bedroom);
    assert_eq!(verdicts(&local, "210.12"), "no such rule");
    assert_eq!(verdicts(&local, "406.12"), "no such rule");
}

/// H07 (GOV6, S for the deletion; the exception's content M): headroom of 74 in before an existing panelboard of 200 A in a dwelling
/// is excepted by the base text and not by a city that deleted the exception.
#[test]
fn an_exception_deleted_by_a_place() {
    let place = session("amendment lindal-headroom to nec 2017 {\n    in space-height: strike Ex. 1\n}\n");
    let panel = "equipment P { what: panelboard, at-dwelling: yes, existing-dwelling: yes, volts-to-ground: 120 V, worked-on-live: yes
        rated-current: 200 A, headroom: 74 in, own-height: 3 ft, other-projection: none, special-permission: no, live-replacement-procedures: no }\n";
    assert_eq!(verdicts(&inspect(&place, "nec 2017", panel), "110.26(A)(3)"), "met");
    assert_eq!(verdicts(&inspect(&place, "nec 2017 with lindal-headroom", panel), "110.26(A)(3)"), "met, not met");
    let larger = panel.replace("200 A", "201 A");
    assert_eq!(verdicts(&inspect(&place, "nec 2017", &larger), "110.26(A)(3)"), "met, not met");
    let new = panel.replace("existing-dwelling: yes", "existing-dwelling: no");
    assert_eq!(verdicts(&inspect(&place, "nec 2023", &new), "110.26(A)(3)"), "met, not met");
}

/// H10 (GOV13, S for the federal adoption, M for the edition that it cites, of which 2014 stands in for 2011): two codes at once. Both
/// are in force, and a verdict stands only where both give it.
#[test]
fn two_codes_at_once() {
    let place = session(
        "jurisdiction union {
            base fixed by permit-application
            nec 2014 from 2016-07-05
        }
        jurisdiction lindal within union {
            base fixed by permit-application
            over union: strictest wins
            nec 2020 from 2020-01-01
        }\n",
    );
    let facts = "project { permit-application: 2021-06-01, occupancy: one-family, care-for-people: no }
        space room { use: kitchen, in-unit: dwelling-unit, in-basement: no }
        branch-circuit C1 { serves: room, overcurrent: 50 A, volts: 240 V, volts-to-ground: 120 V, phases: single-phase
            outlets { R1 { device: receptacle, room: room, rated-voltage: 250 V, rated-current: 50 A, serves-counter: yes, appliance: none, gfci: none } } }\n";
    let (selection, session, files) = govern(&place, "lindal", facts);
    let both: Vec<String> = selection.possible.iter().flat_map(|p| p.books.iter().map(|b| b.name())).collect();
    assert_eq!(both.len(), 2, "{both:?}");
    assert!(both.contains(&"nec 2020".to_string()) && both.contains(&"nec 2014".to_string()), "{both:?}");
    let (inspection, found) = session.inspect_governed(&selection, &files, &[]);
    assert!(!found.has_errors());
    // The receptacle of 250 V is bound by the later book alone, and that binds.
    let inspection = inspection.unwrap();
    let said = verdicts(&inspection, "210.8(A)(6)");
    assert!(said.contains("not met"), "{said}: {:?}", inspection.verdicts.iter().find(|v| v.section == "210.8(A)(6)"));
}

/// C10 (FA41, IA2, TP28, CE11, S): a rule that begins on a day of its own inside one edition. The edition was 2011; the same rule of
/// 2014 is made to begin that day by an amendment.
#[test]
fn a_rule_that_begins_on_its_own_day() {
    let place =
        session("amendment lindal-start to nec 2014 {\n    start 406.4(D)(4) on 2014-01-01 by installation\n}\n");
    let on = |date: &str| {
        let facts = format!(
            "project {{ installation: {date}, occupancy: one-family, care-for-people: no }}
            space bedroom {{ use: bedroom, in-unit: dwelling-unit }}
            branch-circuit B {{ serves: bedroom, overcurrent: 20 A, volts: 120 V, volts-to-ground: 120 V, phases: single-phase, afci: none
                wiring: kept, alarm-in-metal: no, heating-cable-only: no
                outlets {{ R {{ device: receptacle, room: bedroom, replaced: yes, two-wire-swap: no, rated-voltage: 125 V, rated-current: 20 A }} }} }}\n"
        );
        verdicts(&inspect(&place, "nec 2014 with lindal-start", &facts), "406.4(D)(4)")
    };
    assert_eq!(on("2013-06-01"), "not applicable");
    assert_eq!(on("2014-06-01"), "not met");
}
