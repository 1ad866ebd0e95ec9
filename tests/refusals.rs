//! What the composition of books and places refuses: every such mistake is shown with both places and says what to write instead.
//!
//! The rules and places are invented.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Diagnostic, Diagnostics, Look, Severity, render};
use whereas::session::{Asked, FactsForm, Session};

const BASE: &str = r#"
terms for demo "Demo"
thing project {
    permit-application: date
    occupancy: text
    declares: text, may be absent
    place: text
}
thing run { length: length
    guarded: yes-no }
edition demo 2017 "Demo code, 2017"
section 1 "Length" { governs run
    requires length at most 12 ft }
section 2 "Guards" { governs run
    requires guarded
    waives 1 when guarded }
"#;

fn session(rules: &str) -> (Session, Diagnostics) {
    let mut session = Session::empty();
    let found = session.add_rulebook("base", BASE.as_bytes().to_vec());
    assert!(found.is_empty());
    let found = session.add_rulebook("more", rules.as_bytes().to_vec());
    (session, found)
}

/// The only error or warning of a code: with the places it shows, and its help.
fn only(session: &Session, found: &Diagnostics, code: &str) -> Diagnostic {
    let all: Vec<&Diagnostic> = found.iter().filter(|d| d.code.as_str() == code).collect();
    let [one, ..] = all.as_slice() else {
        panic!("no {code}: {}", render(found, session.sources(), &Look::default()));
    };
    (*one).clone()
}

/// Both places are shown, in the order given, and the help says what to write.
fn refused(session: &Session, found: &Diagnostics, code: &str, places: &[&str], help: &str) {
    let one = only(session, found, code);
    let shown = render(found, session.sources(), &Look::default());
    let labels: Vec<&str> = one.labels.iter().map(|label| label.text.as_str()).collect();
    assert!(labels.len() >= places.len(), "{shown}");
    for place in places {
        assert!(labels.iter().any(|label| label.contains(place)), "no label says `{place}`:\n{shown}");
    }
    assert!(one.help.as_deref().is_some_and(|own| own.contains(help)), "the help does not say `{help}`:\n{shown}");
}

fn opened(rules: &str, under: &str) -> (Session, Diagnostics) {
    let (session, mut found) = session(rules);
    found.extend(session.open(under).1);
    (session, found)
}

fn governed(rules: &str, place: &str, facts: &str) -> (Session, Diagnostics) {
    let (mut session, mut found) = session(rules);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let mut files = vec![file];
    let asked = Asked { place: Some(place.to_string()), ..Asked::default() };
    let (selection, more) = session.govern(&asked, &mut files);
    found.extend(more);
    for book in selection.iter().flat_map(|s| &s.possible).flat_map(|p| &p.books) {
        found.extend(session.open_set(book).2);
    }
    (session, found)
}

#[test]
fn a_target_that_is_not_there() {
    let (session, found) = opened("amendment local to demo 2017 { delete 3 }", "demo 2017 with local");
    refused(&session, &found, "E0701", &["nothing stands there"], "");
    let (session, found) = opened("edition demo 2020 follows demo 2017 { delete 1(A) }", "demo 2020");
    refused(&session, &found, "E0701", &["nothing stands there", "1 stands here"], "did you mean 1?");
}

#[test]
fn an_old_value_that_is_another() {
    let (session, found) =
        opened("amendment local to demo 2017 { in 1: length was 11 ft, now 10 ft }", "demo 2017 with local");
    refused(&session, &found, "E0702", &["expects", "12 ft"], "state what the base really says");
}

#[test]
fn editions_that_follow_one_another_in_a_ring() {
    let ring = "edition demo 2020 follows demo 2023 { delete 1 }\nedition demo 2023 follows demo 2020 { delete 2 }";
    let (session, found) = opened(ring, "demo 2023");
    refused(&session, &found, "E0704", &["`demo 2023` follows here", "`demo 2020` follows here"], "must stand alone");
}

#[test]
fn adoptions_that_overlap() {
    let place = "jurisdiction lindal {
        base fixed by permit-application
        demo 2017 from 2018-01-01 through 2021-12-31
        demo 2020 from 2021-06-01
    }
    edition demo 2020 follows demo 2017 { delete 2 }";
    let (session, found) = governed(place, "lindal", "project { permit-application: 2021-07-01 }");
    refused(&session, &found, "E0802", &["stands until", "starts while"], "end the first one before it");
}

#[test]
fn a_date_outside_every_adoption() {
    let place = "jurisdiction lindal {
        base fixed by permit-application
        demo 2017 from 2018-01-01
    }";
    let (session, found) = governed(place, "lindal", "project { permit-application: 2012-07-01 }");
    refused(
        &session,
        &found,
        "E0803",
        &["demo 2017 from 2018-01-01", "stated here"],
        "add the adoption that covers it",
    );
}

#[test]
fn two_layers_in_conflict() {
    let places = "jurisdiction lindal {
        base fixed by permit-application
        demo 2017 with state from 2018-01-01
    }
    jurisdiction city within lindal { adds town from 2018-01-01 }
    amendment state to demo 2017 { in 1: length was 12 ft, now 11 ft }
    amendment town to demo 2017 { in 1: length was 12 ft, now 10 ft }";
    let (session, found) = governed(places, "city", "project { permit-application: 2020-07-01 }");
    refused(&session, &found, "E0807", &["state", "town"], "over lindal");
}

#[test]
fn a_reference_to_a_part_that_was_taken_out() {
    let (session, found) = opened("amendment local to demo 2017 { delete 1 }", "demo 2017 with local");
    let one = only(&session, &found, "E0714");
    assert_eq!(one.severity, Severity::Warning);
    refused(&session, &found, "E0714", &["taken out here", "referred to here"], "amend the reference too");
}
