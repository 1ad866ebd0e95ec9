//! Composition: what each change does, and what it refuses.
//!
//! The rules here are invented; only the logic of changes is tested.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::Diagnostics;
use whereas::report;
use whereas::session::{self, FactsForm, Session};

const BASE: &str = r#"
terms for demo "Demo"
choice room-kind { garage, basement, kitchen, bedroom }
choice class { class-a, class-c }
scale size { 14 AWG < 12 AWG < 10 AWG < 8 AWG }
thing project { installation: date }
thing receptacle {
    voltage: voltage
    rating: current
    room: room-kind
    finished: yes-no
    gfci: class, may be absent
    listed: yes-no
    alarm-only: yes-no
    length: length
    size: size
}
edition demo 1 "Demo code, first"
section 8 as protection "Protection" about gfci {
    governs receptacle
    when voltage is 125 V, rating is 15 A or 20 A
    requires gfci is class-a where any of {
        (2) room is garage
        (5) room is basement, not finished
    }
    unless Ex. to (5) as alarms when alarm-only
}
section 9 "Lengths" {
    governs receptacle
    (A) "Short" { requires length at most 6 ft }
    (B) "Sized" { requires size at least table 122 at rating }
}
table 122 by rating: current next row up, gives size {
    15 A | 14 AWG
    20 A | 12 AWG
    30 A | 10 AWG
}
section 18 "Kinds" {
    permits receptacle as good, any of {
        (1) listed
        (5) room is kitchen, all of {
            (a) length at most 3 ft
            (b) rating at most 20 A
        }
    }
}
"#;

const FACTS: &str = "receptacle R { voltage: V, rating: A, room: ROOM, finished: FIN, gfci: GFCI, listed: no, \
                     alarm-only: no, length: 5 ft, size: 12 AWG }\n";

struct Facts<'a> {
    voltage: &'a str,
    rating: &'a str,
    room: &'a str,
    finished: &'a str,
    gfci: &'a str,
}

const PLAIN: Facts = Facts { voltage: "125 V", rating: "20 A", room: "garage", finished: "no", gfci: "none" };

fn facts(f: &Facts) -> String {
    FACTS
        .replace("voltage: V", &format!("voltage: {}", f.voltage))
        .replace("rating: A", &format!("rating: {}", f.rating))
        .replace("ROOM", f.room)
        .replace("FIN", f.finished)
        .replace("GFCI", f.gfci)
}

fn open(changes: &str, under: &str) -> (Session, whereas::ir::program::Program, Diagnostics) {
    let mut session = Session::empty();
    let mut diagnostics = session.add_rulebook("base", BASE.as_bytes().to_vec());
    diagnostics.extend(session.add_rulebook("changes", changes.as_bytes().to_vec()));
    let (program, more) = session.open(under);
    diagnostics.extend(more);
    (session, program, diagnostics)
}

fn inspect_under(changes: &str, under: &str, facts: &str) -> Vec<String> {
    let (mut session, program, mut diagnostics) = open(changes, under);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    diagnostics.extend(more);
    assert!(diagnostics.is_empty(), "{}", whereas::diag::render(&diagnostics, session.sources(), &Default::default()));
    let (choices, _) = session::choose(&program, &[]);
    let report = report::inspection(&program, &installation, &choices);
    report.verdicts.iter().map(|v| format!("{} {}", v.section, v.verdict)).collect()
}

/// The verdict of one section under the second edition.
fn verdict(changes: &str, f: &Facts, section: &str) -> String {
    let changes = format!("edition demo 2 follows demo 1 \"Second\" {{\n{changes}\n}}\n");
    let all = inspect_under(&changes, "demo 2", &facts(f));
    all.iter()
        .find_map(|v| v.strip_prefix(section).and_then(|r| r.strip_prefix(' ')))
        .unwrap_or_else(|| panic!("no {section} in {all:?}"))
        .to_string()
}

fn codes(changes: &str) -> Vec<String> {
    let (_, _, diagnostics) = open(&format!("edition demo 2 follows demo 1 {{\n{changes}\n}}\n"), "demo 2");
    diagnostics.iter().map(|d| d.code.to_string()).collect()
}

#[test]
fn an_empty_set_of_changes_is_the_identity() {
    let f = facts(&PLAIN);
    let one = inspect_under("", "demo 1", &f);
    assert_eq!(inspect_under("edition demo 2 follows demo 1 { }", "demo 2", &f), one);
    assert_eq!(inspect_under("amendment nothing to demo 1 { }", "demo 1 with nothing", &f), one);
}

#[test]
fn a_condition_is_changed_by_the_fact_it_tests() {
    let change = "in 8: voltage was 125 V, now 125 V through 250 V";
    let f = Facts { voltage: "240 V", ..PLAIN };
    assert_eq!(verdict("", &f, "8(2)"), "not applicable");
    assert_eq!(verdict(change, &f, "8(2)"), "not met");
    assert_eq!(verdict("in 8: strike rating, was 15 A or 20 A", &Facts { rating: "30 A", ..PLAIN }, "8(2)"), "not met");
    assert_eq!(verdict("in protection: add length at most 4 ft", &PLAIN, "8(2)"), "not applicable");
    let finished = Facts { room: "basement", finished: "yes", ..PLAIN };
    assert_eq!(verdict("", &finished, "8(5)"), "not applicable");
    assert_eq!(verdict("in 8(5): strike not finished", &finished, "8(5)"), "not met");
    assert_eq!(verdict("in 9(A): length was at most 6 ft, now at most 4 ft", &PLAIN, "9(A)"), "not met");
    assert_eq!(verdict("in 9(A): length was 6 ft, now 4 ft", &PLAIN, "9(A)"), "not met");
}

#[test]
fn items_and_exceptions_come_and_go() {
    let kitchen = Facts { room: "kitchen", ..PLAIN };
    assert_eq!(verdict("in 8: add (6) as kitchens: room is kitchen", &kitchen, "8(6)"), "not met");
    assert_eq!(verdict("in 8: add Ex. 1 as short when length at most 5 ft", &PLAIN, "8(2)"), "met");
    assert_eq!(verdict("in 8(2): add Ex. 1 as short when length at most 5 ft", &PLAIN, "8(2)"), "met");
    let changes = "in 8: add Ex. 1 as weak when length at most 5 ft then gfci is class-c is enough";
    assert_eq!(verdict(changes, &Facts { gfci: "class-c", ..PLAIN }, "8(2)"), "met");
    let struck = "edition demo 2 follows demo 1 {\n in 8: strike (2)\n}";
    assert!(!inspect_under(struck, "demo 2", &facts(&PLAIN)).iter().any(|v| v.starts_with("8(2)")));
    assert_eq!(verdict("delete 8(2)", &Facts { room: "basement", ..PLAIN }, "8(5)"), "not met");
}

#[test]
fn a_condition_on_an_exception_is_changed_by_its_name() {
    let f = "receptacle R { voltage: 125 V, rating: 20 A, room: basement, finished: no, gfci: none, listed: no, \
             alarm-only: yes, length: 5 ft, size: 12 AWG }";
    let under = |change: &str| {
        inspect_under(&format!("edition demo 2 follows demo 1 {{\n{change}\n}}"), "demo 2", f)
            .into_iter()
            .find(|v| v.starts_with("8(5)"))
            .unwrap()
    };
    assert_eq!(under(""), "8(5) met");
    assert_eq!(under("in alarms: add listed"), "8(5) not met");
}

#[test]
fn an_exception_takes_another_number() {
    let numbered = BASE.replace("unless Ex. to (5) as alarms", "unless Ex. 1 to (5) as alarms");
    let composed = |changes: &str| {
        let mut session = Session::empty();
        let changes = format!("edition demo 2 follows demo 1 {{\n{changes}\n}}");
        let mut diagnostics = session.add_rulebook("base", numbered.as_bytes().to_vec());
        diagnostics.extend(session.add_rulebook("changes", changes.into_bytes()));
        let (composed, more) = session.compose("demo 2");
        diagnostics.extend(more);
        (composed, diagnostics.iter().map(|d| d.code.to_string()).collect::<Vec<_>>())
    };
    let (book, wrong) = composed("in alarms: number was Ex. 1, now Ex. 2");
    assert!(wrong.is_empty());
    assert_eq!(book.history_of("8")[0].1.what, "number was Ex. 1, now Ex. 2");
    assert_eq!(composed("in alarms: number was Ex. 3, now Ex. 2").1, ["E0702"]);
    assert_eq!(composed("in 8: number was Ex. 1, now Ex. 2").1, ["E0701"]);
}

#[test]
fn kinds_and_readings_are_deleted_and_kinds_take_items() {
    let base = "terms for demo \"Demo\"
        thing receptacle { listed: yes-no
            guarded: yes-no
            spare: yes-no
        }
        edition demo 1 \"First\"
        section 8 \"First\" { governs receptacle \n (C) { requires safe } }
        section 8(B) \"Second\" { governs receptacle \n requires quiet \n requires listed }
        kind safe of receptacle, per 8(B) { any of { \n (1) listed \n (2) guarded \n } }
        reading quiet of receptacle \"Which?\", disputed \"a, b\" { a \"a\" { listed } \n b \"b\" { guarded } }
        edition demo 2 follows demo 1 \"Second\" {
            in safe: add (3) as spare-one: spare
            delete quiet
            add kind quiet of receptacle { spare }
        }
        edition demo 3 follows demo 1 \"Third\" { in 8(B): strike quiet \n delete quiet \n renumber 8 as 8(A) }";
    let inspect = |under: &str| {
        let mut session = Session::empty();
        let mut diagnostics = session.add_rulebook("base", base.as_bytes().to_vec());
        let (program, more) = session.open(under);
        diagnostics.extend(more);
        let facts = "receptacle R { listed: no, guarded: no, spare: yes }";
        let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
        let (installation, more) = session.install(&program, &[file]);
        diagnostics.extend(more);
        let (choices, _) = session::choose(&program, &[]);
        let found = report::inspection(&program, &installation, &choices);
        let codes: Vec<String> = diagnostics.iter().map(|d| d.code.to_string()).collect();
        (found.verdicts.iter().map(|v| format!("{} {}", v.section, v.verdict)).collect::<Vec<_>>(), codes)
    };
    let said = |under: &str| inspect(under).0.join(", ");
    assert_eq!(said("demo 1"), "8(C) not met, 8(B) not met, 8(B) not met");
    assert_eq!(said("demo 2"), "8(C) met, 8(B) met, 8(B) not met");
    assert_eq!(said("demo 3"), "8(A)(C) not met, 8(B) not met");
    assert!(["demo 1", "demo 2", "demo 3"].iter().all(|under| inspect(under).1.is_empty()));
}

#[test]
fn sections_are_added_replaced_reserved_and_renumbered() {
    assert_eq!(verdict("add section 10 \"New\" { governs receptacle \n requires listed }", &PLAIN, "10"), "not met");
    assert_eq!(verdict("add as always after 9 { governs receptacle \n requires listed }", &PLAIN, "always"), "not met");
    assert_eq!(verdict("replace 9(A) \"Short\" { requires length at most 1 ft }", &PLAIN, "9(A)"), "not met");
    assert_eq!(verdict("insert 9(C) \"Third\" { requires listed }", &PLAIN, "9(C)"), "not met");
    assert_eq!(verdict("renumber 9 as 19", &PLAIN, "19(A)"), "met");
    assert_eq!(verdict("renumber table 122 as 16", &PLAIN, "9(B)"), "met");
    let gone = inspect_under("edition demo 2 follows demo 1 {\n reserve 9(A)\n}", "demo 2", &facts(&PLAIN));
    assert!(!gone.iter().any(|v| v.starts_with("9(A)")) && gone.iter().any(|v| v.starts_with("9(B)")));
    let range = inspect_under("edition demo 2 follows demo 1 {\n delete 8 through 9\n}", "demo 2", &facts(&PLAIN));
    assert!(range.is_empty(), "{range:?}");
}

#[test]
fn an_inserted_item_moves_its_neighbours() {
    let changes = "edition demo 2 follows demo 1 {\n
        insert 18(5)(b) \"Size\" { size at least 10 AWG }; (b) moves to (c)\n}";
    let (session, program, diagnostics) = open(changes, "demo 2");
    assert!(diagnostics.is_empty());
    let (composed, _) = session.compose("demo 2");
    assert_eq!(composed.identity.get("18(5)(c)").map(String::as_str), Some("18(5)(b)"));
    let cites: Vec<&str> = program.origins.iter().map(|o| o.cite.as_str()).collect();
    assert!(cites.contains(&"18(5)(b)") && cites.contains(&"18(5)(c)"));
    assert_eq!(composed.history_of("18(5)(c)").len(), 1);
}

#[test]
fn tables_change_cell_by_cell() {
    assert_eq!(verdict("", &PLAIN, "9(B)"), "met");
    assert_eq!(verdict("in table 122: 20 A was 12 AWG, now 10 AWG", &PLAIN, "9(B)"), "not met");
    assert_eq!(verdict("in table 122: add row 18 A | 8 AWG", &Facts { rating: "16 A", ..PLAIN }, "9(B)"), "not met");
    assert_eq!(verdict("in table 122: strike row 20 A", &PLAIN, "9(B)"), "not met");
}

#[test]
fn dates_waivers_and_releases() {
    let on = |date: &str, change: &str| {
        let changes = format!("edition demo 2 follows demo 1 {{\n{change}\n}}");
        let f = format!("project {{ installation: {date} }}\n{}", facts(&PLAIN));
        inspect_under(&changes, "demo 2", &f).into_iter().find(|v| v.starts_with("8(2)")).unwrap()
    };
    assert_eq!(on("2022-12-31", "start 8 on 2023-01-01 by installation"), "8(2) not applicable");
    assert_eq!(on("2023-01-01", "start 8 on 2023-01-01 by installation"), "8(2) not met");
    assert_eq!(on("2022-12-31", "lapse 8 on 2023-01-01 by installation"), "8(2) not met");
    assert_eq!(on("2023-01-01", "lapse 8 on 2023-01-01 by installation"), "8(2) not applicable");
    assert_eq!(verdict("waive 8(2) when length at most 5 ft", &PLAIN, "8(2)"), "not applicable");
    assert_eq!(verdict("waive 8", &PLAIN, "8(2)"), "not applicable");
    assert_eq!(verdict("release 8, if provided: gfci is class-a or class-c", &PLAIN, "8(2)"), "not applicable");
    let poor = Facts { gfci: "class-c", ..PLAIN };
    assert_eq!(verdict("release 8, if provided: gfci is class-a or class-c", &poor, "8(2)"), "not met");
}

#[test]
fn the_text_of_another_edition_can_be_used() {
    let changes = "edition demo 2 follows demo 1 {\n in 9(A): length was 6 ft, now 4 ft \n}
        amendment older to demo 2 { \n use 9(A) of demo 1 \n }";
    let f = facts(&PLAIN);
    assert!(inspect_under(changes, "demo 2", &f).contains(&"9(A) not met".to_string()));
    assert!(inspect_under(changes, "demo 2 with older", &f).contains(&"9(A) met".to_string()));
}

#[test]
fn an_amendment_may_declare_its_own_facts_and_reach_every_rule_about_a_subject() {
    let changes = "amendment emergency to every base {
        fact incompatible of receptacle: yes-no, judgment \"a qualified person, documented\"
        in every rule about gfci: add Ex. 9 as incompatible-equipment when listed, incompatible
    }";
    let f = "receptacle R { voltage: 125 V, rating: 20 A, room: garage, finished: no, gfci: none, listed: yes, \
             alarm-only: no, length: 5 ft, size: 12 AWG }";
    let all = inspect_under(changes, "demo 1 with emergency", f);
    assert!(all.contains(&"8(2) for the authority".to_string()), "{all:?}");
}

#[test]
fn independent_amendments_compose_in_any_order() {
    let changes = "amendment one to demo 1 { \n in 8: voltage was 125 V, now 125 V through 250 V \n }
        amendment two to demo 1 { \n in 9(A): length was 6 ft, now 4 ft \n }";
    let f = facts(&Facts { voltage: "240 V", ..PLAIN });
    let a = inspect_under(changes, "demo 1 with one, two", &f);
    assert_eq!(a, inspect_under(changes, "demo 1 with two, one", &f));
    assert!(a.contains(&"8(2) not met".to_string()) && a.contains(&"9(A) not met".to_string()));
}

#[test]
fn changed_lines_are_told_in_their_new_words_with_their_history() {
    let changes =
        "edition demo 2 follows demo 1 {\n in 8: voltage was 125 V, now 125 V through 250 V    seen \"c1\"\n}";
    let (session, program, _) = open(changes, "demo 2");
    assert!(program.origins.iter().any(|o| o.words == "voltage is 125 V through 250 V"));
    let (composed, _) = session.compose("demo 2");
    let history = composed.history_of("8(2)");
    assert_eq!(history.len(), 1);
    assert_eq!(history[0].1.document, "demo 2");
    assert_eq!(history[0].1.what, "voltage was 125 V, now 125 V through 250 V");
}

#[test]
fn what_does_not_fit_is_refused_with_its_place() {
    assert_eq!(codes("in 77: add listed"), ["E0701"]);
    assert_eq!(codes("in 8: amperage was 3 A, now 4 A"), ["E0701"]);
    assert_eq!(codes("in 8: voltage was 250 V, now 480 V"), ["E0702"]);
    assert_eq!(codes("in 8: strike rating, was 30 A"), ["E0702"]);
    assert_eq!(codes("in table 122: 20 A was 8 AWG, now 10 AWG"), ["E0702"]);
    assert_eq!(codes("in 8: voltage was 125 V, now 250 V\nin 8: voltage was 125 V, now 480 V"), ["E0703"]);
    assert_eq!(codes("add section 9 \"Again\" { governs receptacle \n requires listed }"), ["E0706"]);
    assert_eq!(codes("renumber 9 as 8"), ["E0706", "E0706"]);
    let circle = "edition demo 2 follows demo 3 { }\nedition demo 3 follows demo 2 { }";
    assert!(open(circle, "demo 3").2.iter().any(|d| d.code.as_str() == "E0704"));
    assert!(open("amendment a to demo 2 { }", "demo 1 with a").2.iter().any(|d| d.code.as_str() == "E0705"));
    assert!(open("amendment harbor to demo 1 { }", "demo 1 with harbour").2.iter().any(|d| d.code.as_str() == "E0707"));
    assert!(open("edition demo 2 follows demo 0 { }", "demo 2").2.iter().any(|d| d.code.as_str() == "E0408"));
}

#[test]
fn exceptions_stay_with_items_that_move() {
    // The exception for alarms is bound to (5); what comes to stand under (5) is bound without it.
    let f = "receptacle R { voltage: 125 V, rating: 20 A, room: ROOM, finished: no, gfci: none, listed: no, \
             alarm-only: yes, length: 5 ft, size: 12 AWG }";
    let changes = "edition demo 2 follows demo 1 {\n insert 8(5) as kitchens { room is kitchen }; (5) moves to (6)\n}";
    let under = |room: &str| inspect_under(changes, "demo 2", &f.replace("ROOM", room));
    assert!(under("basement").contains(&"8(6) met".to_string()), "{:?}", under("basement"));
    assert!(under("kitchen").contains(&"8(5) not met".to_string()), "{:?}", under("kitchen"));
}

#[test]
fn an_exception_goes_by_its_name() {
    let f = Facts { room: "basement", ..PLAIN };
    let f = facts(&f).replace("alarm-only: no", "alarm-only: yes");
    let under = |changes: &str| {
        inspect_under(&format!("edition demo 2 follows demo 1 {{\n{changes}\n}}"), "demo 2", &f)
            .into_iter()
            .find(|v| v.starts_with("8(5)"))
            .unwrap()
    };
    assert_eq!(under(""), "8(5) met");
    assert_eq!(under("delete alarms"), "8(5) not met");
    assert_eq!(codes("delete alarms\n delete alarms"), ["E0701"]);
}

#[test]
fn what_is_enough_may_be_a_bare_word_before_a_mark() {
    let changes = "in 8: add Ex. 1 as weak when length at most 5 ft then listed is enough    seen \"a\"";
    assert_eq!(verdict(changes, &PLAIN, "8(2)"), "not met");
    let listed = facts(&PLAIN).replace("listed: no", "listed: yes");
    let all = inspect_under(&format!("edition demo 2 follows demo 1 {{\n{changes}\n}}"), "demo 2", &listed);
    assert!(all.contains(&"8(2) met".to_string()), "{all:?}");
}

#[test]
fn the_words_of_an_item_follow_what_changes_within_it() {
    let changes = "edition demo 2 follows demo 1 {\n in 8(5): strike not finished\n}";
    let (_, program, diagnostics) = open(changes, "demo 2");
    assert!(diagnostics.is_empty());
    let words: Vec<&str> = program.origins.iter().map(|o| o.words.as_str()).collect();
    assert!(words.contains(&"(5) room is basement"), "{words:?}");
    let changes = "edition demo 2 follows demo 1 {\n renumber 8(5) as 8(6)\n}
        edition demo 3 follows demo 2 {\n insert 8(6) as kitchens { room is kitchen }; (6) moves to (7)\n}";
    let (_, program, diagnostics) = open(changes, "demo 3");
    assert!(diagnostics.is_empty());
    let words: Vec<&str> = program.origins.iter().map(|o| o.words.as_str()).collect();
    assert!(words.contains(&"(7) room is basement, not finished"), "{words:?}");
}
