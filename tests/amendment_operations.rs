//! The operations of amendments that reshape a book: what each does, what it expects, and what it refuses.
//!
//! The rules here are invented; only the logic of changes is tested. What simpler changes do is in `editions.rs`.
#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::{Code, Diagnostics, Look, render};
use whereas::report;
use whereas::session::{self, FactsForm, Session};

const BASE: &str = r#"
terms for demo "Demo"
choice room-kind { garage, basement, kitchen, bedroom }
choice class { class-a, class-c }
choice role { service, meter, other }
thing project { installation: date
    permit: date }
thing receptacle {
    voltage: voltage
    rating: current
    room: room-kind
    finished: yes-no
    gfci: class, may be absent
    listed: yes-no
    alarm-only: yes-no
    washes: yes-no
    length: length
    role: role
}
edition demo 1 "Demo code, first"
section 8 as protection "Protection" about gfci {
    governs receptacle
    when voltage is 125 V, rating is 15 A or 20 A
    requires gfci is class-a where any of {
        (2) room is garage
        (5) room is basement, not finished
        (6) room is kitchen
    }
    unless Ex. 1 to (5) as alarms when alarm-only
}
section 9 "Lengths" {
    governs receptacle
    (A) "Short" { requires length at most 6 ft }
    (B) "Roles" { requires role is service or meter }
    (C) "Listing" { when rating at least 15 A
        requires listed }
    (D) "Either" {
        requires any of {
            (1) listed
            (2) length at most 3 ft
        }
        unless Ex. 1 as washing when washes
    }
}
section 10 "Kitchens" {
    governs receptacle
    when room is kitchen, length at most 20 ft
    requires listed
    notes "Kitchens are damp"
}
limit reach = 6 ft
define half of receptacle = length / 2
table 15 by rating: current next row up, gives length in ft {
    15 A | 3
    20 A | 6
}
section 15 "Table" { governs receptacle
    (A) "Whole" { requires length at most table 15 }
    (B) "Half" { requires half at most 3 ft } }
section 11 "Reach" {
    governs receptacle
    requires all of {
        (1) length at most reach
        (2) as listing: listed
    }
}
section 12 "Exempt" { governs receptacle
    waives 9(A) when alarm-only
    notes "See 9(A)"
}
reading how-long of receptacle "Is it long?", disputed "a, b" {
    short "short" { length at most 3 ft }
    long "long" { length at most 9 ft }
}
section 13 "Disputed" { governs receptacle
    requires how-long }
excerpt of demo 0 "Demo code, before the first"
kind damp of receptacle { any of {
    washes
    room is basement
} }
table 15 by rating: current next row up, gives length in ft {
    20 A | 2
}
section 8 "Protection" {
    governs receptacle
    when voltage is 125 V
    requires gfci is class-a
    unless Ex. 2 as damp-ones when damp
    unless Ex. 3 as short-ones when length at most 1 ft
}
"#;

const PLAIN: &str = "voltage: 125 V, rating: 20 A, room: garage, finished: no, gfci: none, listed: no, alarm-only: no, \
                     washes: no, length: 5 ft, role: service";

fn facts(changed: &str) -> String {
    let mut fields: Vec<(String, String)> =
        PLAIN.split(", ").map(|f| f.split_once(": ").unwrap()).map(|(a, b)| (a.into(), b.into())).collect();
    for one in changed.split(", ").filter(|f| !f.is_empty()) {
        let (name, value) = one.split_once(": ").unwrap();
        fields.iter_mut().find(|(own, _)| own == name).unwrap_or_else(|| panic!("{name}")).1 = value.to_string();
    }
    let fields: Vec<String> = fields.iter().map(|(a, b)| format!("{a}: {b}")).collect();
    format!("receptacle R {{ {} }}\n", fields.join(", "))
}

fn open(changes: &str, under: &str) -> (Session, whereas::ir::program::Program, Diagnostics) {
    let mut session = Session::empty();
    let mut diagnostics = session.add_rulebook("base", BASE.as_bytes().to_vec());
    diagnostics.extend(session.add_rulebook("changes", changes.as_bytes().to_vec()));
    let (program, more) = session.open(under);
    diagnostics.extend(more);
    (session, program, diagnostics)
}

fn all(changes: &str, facts: &str) -> Vec<String> {
    let changes = format!("amendment harbor to demo 1 {{\n{changes}\n}}\n");
    let (mut session, program, mut diagnostics) = open(&changes, "demo 1 with harbor");
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    diagnostics.extend(more);
    assert!(!diagnostics.has_errors(), "{}", render(&diagnostics, session.sources(), &Look::default()));
    let (choices, _) = session::choose(&program, &[]);
    let report = report::inspection(&program, &installation, &choices);
    report.verdicts.iter().map(|v| format!("{} {}", v.section, v.verdict)).collect()
}

/// The verdict of one section with the amendment; `absent` if it demands nothing.
fn verdict(changes: &str, changed: &str, section: &str) -> String {
    verdict_on(changes, &facts(changed), section)
}

fn verdict_on(changes: &str, facts: &str, section: &str) -> String {
    let found = all(changes, facts);
    let own: Vec<&str> =
        found.iter().filter_map(|v| v.strip_prefix(section).and_then(|r| r.strip_prefix(' '))).collect();
    // A section may ask several things: one that is not met decides.
    own.iter().find(|v| **v == "not met").or(own.first()).map_or("absent", |v| v).to_string()
}

fn history(changes: &str, address: &str) -> Vec<String> {
    let changes = format!("amendment harbor to demo 1 {{\n{changes}\n}}\n");
    let (session, _, diagnostics) = open(&changes, "demo 1 with harbor");
    assert!(!diagnostics.has_errors(), "{}", render(&diagnostics, session.sources(), &Look::default()));
    let (composed, _) = session.compose("demo 1 with harbor");
    composed.history_of(address).iter().map(|(at, event)| format!("{at}: {}", event.what)).collect()
}

/// Codes of what is refused, each with two places or a suggestion.
fn codes(changes: &str) -> Vec<&'static str> {
    let (_, _, diagnostics) = open(&format!("amendment harbor to demo 1 {{\n{changes}\n}}\n"), "demo 1 with harbor");
    for diagnostic in diagnostics.iter() {
        assert!(diagnostic.labels.len() > 1 || diagnostic.help.is_some(), "{diagnostic:?} leaves one alone");
    }
    diagnostics.iter().map(|d| d.code.as_str()).collect()
}

#[test]
fn values_of_a_condition_come_and_go() {
    assert_eq!(verdict("", "role: meter", "9(B)"), "met");
    assert_eq!(verdict("in 9(B): role is no longer meter", "role: meter", "9(B)"), "not met");
    assert_eq!(verdict("in 9(B): role is also other", "role: other", "9(B)"), "met");
    assert_eq!(history("in 9(B): role is no longer meter", "9(B)"), ["9(B): role is no longer meter"]);
    assert_eq!(codes("in 9(B): role is no longer other"), ["E0702"]);
    assert_eq!(codes("in 9(B): role is also meter"), ["E0702"]);
    assert_eq!(codes("in 9(B): role is no longer service or meter"), ["E0702"]);
    assert_eq!(codes("in 9(B): rating is also 30 A"), ["E0701"]);
}

#[test]
fn a_sentence_is_appended_without_restating() {
    assert_eq!(verdict("in 9(A): add requires listed", "", "9(A)"), "not met");
    assert_eq!(verdict("in 9: add prohibits room is garage", "", "9"), "not met");
    assert_eq!(verdict("in 9(A): add when room is kitchen", "", "9(A)"), "not applicable");
    assert_eq!(history("in 9(A): add notes \"Measured along the cable\"", "9(A)").len(), 1);
    assert_eq!(codes("in 8(2): add requires listed"), ["E0701"]);
}

#[test]
fn force_changes() {
    assert_eq!(verdict("in 9(A): force was requires, now prohibits", "", "9(A)"), "not met");
    assert_eq!(verdict("in 9(A): force was requires, now notes", "length: 9 ft", "9(A)"), "absent");
    assert_eq!(verdict("in 9(A): force was requires, now notes \"Short is better\"", "length: 9 ft", "9(A)"), "absent");
    assert_eq!(verdict("in 12: force was notes, now requires length at most 4 ft", "", "12"), "not met");
    assert_eq!(codes("in 9(A): force was prohibits, now requires"), ["E0702"]);
    assert_eq!(codes("in 12: force was notes, now requires"), ["E0702"]);
    // Nothing but notes is left of 12.
    assert_eq!(history("notes are not adopted", "10"), ["10: its notes are not adopted"]);
}

#[test]
fn words_are_read_as_others_in_a_part_or_everywhere() {
    assert_eq!(verdict("in 8(6): read kitchen as bedroom", "room: bedroom", "8(6)"), "not met");
    assert_eq!(verdict("in 8(6): read kitchen as bedroom", "room: kitchen", "10"), "not met");
    assert_eq!(verdict("read kitchen as bedroom everywhere", "room: kitchen", "10"), "not applicable");
    assert_eq!(verdict("in 9(D)(2): read 3 ft as 6 ft", "", "9(D)"), "met");
    assert_eq!(history("read \"damp\" as \"wet\" everywhere", "10"), ["10: \"damp\" is read as \"wet\""]);
    assert_eq!(codes("in 9(A): read kitchen as bedroom"), ["E0711"]);
    assert_eq!(codes("read \"frost\" as \"heat\" everywhere"), ["E0711"]);
}

#[test]
fn a_term_is_redefined_for_one_part_only() {
    let kitchen = "kind kitchen of receptacle for 10 only { any of {\n room is kitchen\n washes\n } }";
    assert_eq!(verdict(kitchen, "washes: yes", "10"), "not met");
    assert_eq!(verdict(kitchen, "washes: yes", "8(6)"), "not applicable");
    assert_eq!(verdict("", "washes: yes", "10"), "not applicable");
    assert_eq!(history(kitchen, "10"), ["10: `kitchen` here is { any of { room is kitchen; washes } }"]);
    let reach = "limit reach for 11(1) only = 4 ft";
    assert_eq!(verdict("", "", "11(1)"), "met");
    assert_eq!(verdict(reach, "", "11(1)"), "not met");
    assert_eq!(codes("kind kitchen of receptacle for 9(A) only { washes }"), ["E0711"]);
}

#[test]
fn a_limit_is_changed_where_it_stands() {
    assert_eq!(verdict("limit reach was 6 ft, now 4 ft", "", "11(1)"), "not met");
    assert_eq!(codes("limit reach was 5 ft, now 4 ft"), ["E0702"]);
    assert_eq!(codes("limit raech was 6 ft, now 4 ft"), ["E0701"]);
}

#[test]
fn a_disputed_text_is_settled() {
    assert_eq!(verdict("", "", "13"), "undecided");
    assert_eq!(verdict("settle how-long as long", "", "13"), "met");
    assert_eq!(verdict("settle how-long as short", "", "13"), "not met");
    assert_eq!(codes("settle how-long as tall"), ["E0702"]);
}

#[test]
fn ranges_are_deleted_and_leave_holes() {
    let some = "delete 8(5) through 8(6)";
    assert_eq!(verdict(some, "room: kitchen", "8(6)"), "absent");
    assert_eq!(verdict(some, "", "8(2)"), "not met");
    // The exception to (5) excepts from nothing now, and says so.
    assert!(history(some, "8").contains(&"8: Ex. 1 to (5) goes with 8(5), which it excepted from".to_string()));
    assert_eq!(codes("delete 8(5) through 8(7)"), ["E0701"]);
    assert_eq!(codes("delete 8(7) through 8(9)"), ["E0701"]);
    assert_eq!(verdict("delete alarms", "room: basement, alarm-only: yes", "8(5)"), "not met");
    assert_eq!(verdict("in 8: strike Ex. 1 to (5)", "room: basement, alarm-only: yes", "8(5)"), "not met");
    assert_eq!(codes("in 8: strike Ex. to (2)"), ["E0701"]);
}

#[test]
fn a_line_of_a_kind_is_struck_and_changed_by_its_label() {
    let kind = "add kind good of receptacle, per 14 { any of {\n (a) listed\n (b) length at most 3 ft\n } }\n\
                add section 14 \"Good\" { governs receptacle\n requires good }";
    let with = |more: &str| {
        let changes = format!("amendment first to demo 1 {{\n{kind}\n}}\namendment second to demo 1 {{\n{more}\n}}");
        let (session, _, diagnostics) = open(&changes, "demo 1 with first, second");
        assert!(diagnostics.is_empty(), "{}", render(&diagnostics, session.sources(), &Look::default()));
        let (composed, _) = session.compose("demo 1 with first, second");
        composed.history_of("14").into_iter().map(|(at, e)| format!("{at}: {}", e.what)).collect::<Vec<_>>()
    };
    assert!(with("in good: strike (b)").contains(&"14(b): good: struck".to_string()));
    assert!(
        with("in good(b): length was 3 ft, now 4 ft")
            .contains(&"14(b): good: length was at most 3 ft, now at most 4 ft".to_string())
    );
}

#[test]
fn what_is_excluded_need_not_be_encoded() {
    let some = "exclude 5.1 through 8, 10, 77.3";
    assert_eq!(verdict(some, "room: kitchen", "10"), "absent");
    assert_eq!(verdict(some, "", "8(2)"), "absent");
    assert_eq!(verdict(some, "", "9(A)"), "met");
    assert_eq!(history(some, "77.3"), ["77.3: not adopted"]);
    assert_eq!(codes("exclude 8(99)"), ["E0701"]);
    assert_eq!(codes("exclude 9(D)(99), 9(D)(2)"), ["E0701"]);
}

#[test]
fn what_referred_to_a_deleted_part_reaches_nothing_and_says_so() {
    assert_eq!(codes("delete 9(A)"), ["E0714"]);
    assert_eq!(codes("delete 9(A)\ninsert 9(A) \"Other\" { requires listed }"), ["E0714"]);
    assert_eq!(verdict("delete 9(A)", "", "9(A)"), "absent");
}

#[test]
fn text_of_an_edition_that_is_only_excerpted_is_used() {
    assert_eq!(verdict("use the scope of 8 of demo 0", "rating: 30 A", "8(2)"), "not met");
    assert_eq!(verdict("", "rating: 30 A", "8(2)"), "not applicable");
    assert_eq!(codes("use Ex. 2 of 8 of demo 0"), ["E0713"]);
    let grafted = "use Ex. 2, Ex. 3 of 8 of demo 0, with its definitions";
    assert_eq!(verdict(grafted, "washes: yes", "8(2)"), "met");
    assert_eq!(verdict(grafted, "", "8(2)"), "not met");
    assert_eq!(
        history(grafted, "8"),
        ["8: added Ex. 2 when damp of demo 0, from demo 0", "8: added Ex. 3 when length at most 1 ft, from demo 0"]
    );
    assert_eq!(codes("use Ex. 5 of 8 of demo 0"), ["E0701"]);
    assert_eq!(codes("use 8 of demo 9"), ["E0408"]);
    assert_eq!(open("", "demo 0").2.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::OnlyAnExcerpt]);
}

#[test]
fn text_is_not_used_in_a_circle_and_splits_do_not_grow_without_end() {
    let circle =
        "edition demo 2 follows demo 1 { use 9(A) of demo 3 }\nedition demo 3 follows demo 2 { use 9(B) of demo 1 }";
    assert!(open(circle, "demo 3").2.iter().any(|d| d.code == Code::FollowsInCircle));
    let itself = "edition demo 2 follows demo 1 { use 9(A) of demo 2 }";
    assert!(open(itself, "demo 2").2.iter().any(|d| d.code == Code::FollowsInCircle));
    // Each edition uses the one before twice and splits a section into two of its size.
    let mut chain = String::new();
    for at in 2..30 {
        let (a, b) = (2 * at, 2 * at + 1);
        chain.push_str(&format!(
            "edition demo {at} follows demo {} {{ use 9(A) of demo {}\nuse 9(B) of demo {}\n\
             split 10 into 10(A{a}) when length at most 1 ft; 10(B{b}) when length more than 1 ft }}\n",
            at - 1,
            at - 1,
            at - 1
        ));
    }
    let found = open(&chain, "demo 29").2;
    assert!(
        found.iter().any(|d| d.code == Code::CannotSplit),
        "{:?}",
        found.iter().map(|d| d.code).collect::<Vec<_>>()
    );
}

#[test]
fn tables_definitions_and_exceptions_are_replaced() {
    assert_eq!(verdict("", "", "15(A)"), "met");
    assert_eq!(verdict("use table 15 of demo 0", "", "15(A)"), "not met");
    assert_eq!(history("use table 15 of demo 0", "table 15"), ["table 15: that of demo 0 is used"]);
    assert_eq!(codes("use table 16 of demo 0"), ["E0701"]);
    assert_eq!(codes("delete table 15"), ["E0204"]);
    let thirds = "delete half\nadd define half of receptacle = length x 2";
    assert_eq!(verdict("", "", "15(B)"), "met");
    assert_eq!(verdict(thirds, "", "15(B)"), "not met");
    let basement = "room: basement, alarm-only: yes";
    assert_eq!(verdict("replace alarms { washes }", basement, "8(5)"), "not met");
    assert_eq!(verdict("replace alarms { washes }", "room: basement, washes: yes", "8(5)"), "met");
    assert_eq!(history("replace alarms { washes }", "8"), ["8: alarms replaced"]);
}

#[test]
fn references_are_read_as_others() {
    let long = "length: 9 ft, alarm-only: yes, role: other";
    assert_eq!(verdict("", long, "9(A)"), "not applicable");
    assert_eq!(verdict("read 9(A) as 9(B) everywhere", long, "9(A)"), "not met");
    assert_eq!(verdict("read 9(A) as 9(B) everywhere", long, "9(B)"), "not applicable");
    assert_eq!(verdict("in 12: read 9(A) as section 10", "room: kitchen, alarm-only: yes", "10"), "not applicable");
    assert_eq!(codes("read section 77 as 9(B) everywhere"), ["E0711"]);
}

#[test]
fn a_group_is_redefined_for_one_part_only() {
    let own = "kind basement of receptacle for 8(5) only { any of {\n room is basement\n room is bedroom\n } }";
    assert_eq!(verdict("", "room: bedroom", "8(5)"), "not applicable");
    assert_eq!(verdict(own, "room: bedroom", "8(5)"), "not met");
    assert_eq!(verdict(own, "room: basement", "8(5)"), "not met");
    assert_eq!(verdict(own, "room: garage", "8(5)"), "not applicable");
}

#[test]
fn dates_start_end_and_are_delayed() {
    let on = |date: &str, change: &str, section: &str| {
        verdict_on(
            change,
            &format!("project {{ installation: {date}, permit: 2020-01-01 }}\n{}", facts("length: 9 ft")),
            section,
        )
    };
    let start = "start 8 on 2023-01-01 by installation when alarm-only";
    assert_eq!(on("2022-12-31", start, "8(2)"), "not met");
    assert_eq!(on("2022-12-31", "start 8 on 2023-01-01 by installation when not alarm-only", "8(2)"), "not applicable");
    // An item that is a duty of its own.
    assert_eq!(on("2022-12-31", "start 11(1) on 2023-01-01 by installation", "11(1)"), "not applicable");
    assert_eq!(on("2023-01-01", "start 11(1) on 2023-01-01 by installation", "11(1)"), "not met");
    assert_eq!(on("2023-01-01", "lapse 11(1) on 2023-01-01 by installation", "11(1)"), "not applicable");
    let window =
        "in 8: add Ex. 9 as short-while when from 2023-01-26 by installation, through 2023-04-26 by installation";
    assert_eq!(on("2023-01-25", window, "8(2)"), "not met");
    assert_eq!(on("2023-01-26", window, "8(2)"), "met");
    assert_eq!(on("2023-04-26", window, "8(2)"), "met");
    assert_eq!(on("2023-04-27", window, "8(2)"), "not met");
    let later = |from: &str| {
        format!(
            "amendment first to demo 1 {{ start 8 on 2022-01-01 by installation }}\n\
             amendment second to demo 1 {{ delay 8 from {from} to 2023-01-01 by installation }}"
        )
    };
    let under = |from: &str| open(&later(from), "demo 1 with first, second").2;
    assert!(under("2022-01-01").is_empty());
    assert_eq!(under("2021-01-01").iter().map(|d| d.code.as_str()).collect::<Vec<_>>(), ["E0702"]);
    assert_eq!(codes("delay 9 from 2021-01-01 to 2023-01-01 by installation"), ["E0702"]);
}

#[test]
fn a_part_moves_and_stays_the_same() {
    assert_eq!(verdict("move 9(A) to 14", "length: 9 ft", "14"), "not met");
    assert_eq!(verdict("move 9(A) to 14", "length: 9 ft", "9(A)"), "absent");
    assert!(history("move 9(A) to 14", "14").contains(&"14: was 9(A)".to_string()));
    assert_eq!(verdict("move 9(D)(2) to 8(9)", "length: 2 ft", "8(9)"), "not met");
    assert_eq!(verdict("move 12 to 9(E)", "length: 9 ft, alarm-only: yes", "9(A)"), "not applicable");
    assert_eq!(codes("move 9(A) to 10(A)"), ["E0709"]);
    assert_eq!(codes("move 9(A) to 9(B)"), ["E0706"]);
    assert_eq!(codes("renumber 9(A) as 12(A)"), ["E0701"]);
}

#[test]
fn a_part_is_split_and_both_parts_know_their_origin() {
    let by_items = "split 8 into 8 \"Rooms\" taking (2), (5); 8.1 \"Kitchens\"";
    assert_eq!(verdict(by_items, "room: kitchen", "8.1(6)"), "not met");
    assert_eq!(verdict(by_items, "room: kitchen", "8(6)"), "absent");
    assert_eq!(verdict(by_items, "room: basement, alarm-only: yes", "8(5)"), "met");
    // An exception to everything excepts from both parts.
    let unbound = "in 8: add Ex. 2 as listed-ones when listed";
    let changes = format!("amendment first to demo 1 {{ {unbound} }}\namendment second to demo 1 {{ {by_items} }}");
    let (_, program, found) = open(&changes, "demo 1 with first, second");
    assert!(found.is_empty(), "{found:?}");
    let excused = |address: &str| program.duties.iter().find(|d| d.address == address).unwrap().reliefs.len();
    assert_eq!([excused("8(2)"), excused("8(5)"), excused("8.1(6)")], [1, 2, 1]);
    let by_case = "split 9(A) into 9(F) when rating at most 15 A; 9(G) when rating more than 15 A";
    assert_eq!(verdict(by_case, "length: 9 ft", "9(F)"), "not applicable");
    assert_eq!(verdict(by_case, "length: 9 ft", "9(G)"), "not met");
    assert_eq!(verdict(by_case, "length: 9 ft", "9(A)"), "absent");
    let inside = "split 10 into 10(A) when rating at most 15 A; 10(B) when rating more than 15 A";
    assert_eq!(verdict(inside, "room: kitchen", "10(B)"), "not met");
    let item = "split 8(5) into 8(5) when rating is 15 A; 8(7) when rating is 20 A";
    assert_eq!(verdict(item, "room: basement", "8(7)"), "not met");
    assert_eq!(verdict(item, "room: basement, alarm-only: yes", "8(7)"), "met");
    assert_eq!(verdict(item, "room: basement", "8(5)"), "not applicable");
    let composed = open(&format!("amendment harbor to demo 1 {{\n{item}\n}}"), "demo 1 with harbor").0;
    let (composed, _) = composed.compose("demo 1 with harbor");
    assert_eq!(composed.identity.get("8(7)").map(String::as_str), Some("8(5)"));
    assert_eq!(codes("split 8 into 8 taking (2); 8.1 taking (5)"), ["E0708"]);
    assert_eq!(codes("split 8 into 8 taking (2), (5), (6); 8.1 taking (5)"), ["E0708"]);
    assert_eq!(codes("split 8 into 8(A); 9(H)"), ["E0708"]);
    assert_eq!(codes("split 8 into 8 taking (2), (5); 9"), ["E0706"]);
}

#[test]
fn parts_are_merged_if_they_apply_alike() {
    let items = "merge 8(2), 8(5) as 8(2)";
    assert_eq!(verdict(items, "room: basement", "8(2)"), "not met");
    assert_eq!(verdict(items, "room: garage", "8(2)"), "not met");
    assert_eq!(verdict(items, "room: bedroom", "8(2)"), "not applicable");
    assert_eq!(verdict(items, "room: basement", "8(5)"), "absent");
    let bodies = "merge 9(A), 9(B) as 9(A)";
    assert_eq!(verdict(bodies, "role: other", "9(A)"), "not met");
    assert_eq!(verdict(bodies, "role: other", "9(B)"), "absent");
    assert_eq!(all(bodies, &facts("role: other")).iter().filter(|v| *v == "9(A) not met").count(), 1);
    assert!(history(bodies, "9(A)").contains(&"9(A): merged from 9(A), 9(B)".to_string()));
    assert_eq!(codes("merge 9(A), 9(C) as 9(A)"), ["E0709"]);
    assert_eq!(codes("merge 8(2), 9(A) as 8(2)"), ["E0709"]);
    assert_eq!(codes("merge 9(A), 9(B) as 9(D)"), ["E0706"]);
}

#[test]
fn an_exception_becomes_an_option_and_the_reverse() {
    let before = |changed| verdict("", changed, "9(D)");
    let item = |changed| verdict("washing becomes 9(D)(3)", changed, "9(D)");
    let back = |changed| verdict("9(D)(2) becomes Ex. 2 as short", changed, "9(D)");
    for changed in ["", "washes: yes", "length: 2 ft", "listed: yes"] {
        assert_eq!(before(changed), item(changed), "{changed}");
        assert_eq!(before(changed), back(changed), "{changed}");
    }
    assert_eq!(verdict("Ex. 1 of 9(D) becomes 9(D)(3)", "washes: yes", "9(D)"), "met");
    assert_eq!(history("washing becomes 9(D)(3)", "9(D)(3)"), ["9(D)(3): was Ex. 1"]);
    assert_eq!(codes("alarms becomes 8(9)"), ["E0710"]);
    assert_eq!(codes("8(2) becomes Ex. 4 as garages"), ["E0710"]);
    assert_eq!(codes("washing becomes 9(D)(2)"), ["E0706"]);
}

#[test]
fn a_second_exception_with_one_number_holds_and_is_told() {
    assert_eq!(codes("in 8: add Ex. 1 to (5) as dry when finished"), ["E0715"]);
    assert_eq!(codes("in 8: add Ex. 1 to (2) as dry when finished"), [""; 0]);
    let both = "in 8: add Ex. 1 to (5) as small when length at most 5 ft";
    assert_eq!(verdict(both, "room: basement", "8(5)"), "met");
    assert_eq!(verdict(both, "room: basement, alarm-only: yes, length: 9 ft", "8(5)"), "met");
}

#[test]
fn a_case_is_added_to_a_scope() {
    // Kitchens of 20 ft or less are meant; now basements too.
    let change = "in 10: add also when room is basement";
    assert_eq!(verdict("in 10: title was \"Kitchens\", now \"Kitchen\"", "room: basement", "10"), "not applicable");
    assert_eq!(verdict(change, "room: basement", "10"), "not met");
    assert_eq!(verdict(change, "room: basement, length: 30 ft", "10"), "not met");
    assert_eq!(verdict(change, "room: kitchen, length: 30 ft", "10"), "not applicable");
    assert_eq!(verdict(change, "room: kitchen", "10"), "not met");
    assert_eq!(history(change, "10").last().unwrap(), "10: added also when room is basement");
}

#[test]
fn an_exception_without_credit_may_bring_its_definitions() {
    let base = "excerpt of demo 0 \"Demo code, an excerpt\"
        kind unseen of receptacle { not listed }
        section 8 \"Protection\" { governs receptacle
            requires gfci is class-a
            unless Ex. 3 as unseen-ones when unseen
        }";
    let changes = format!(
        "{base}\namendment harbor to demo 1 {{ use Ex. 3 of 8 of demo 0, not counted toward 10, with its definitions }}"
    );
    let (session, _, found) = open(&changes, "demo 1");
    assert!(
        !found.iter().any(|d| d.code == Code::UnexpectedText),
        "{}",
        render(&found, session.sources(), &Look::default())
    );
}

#[test]
fn an_exception_to_every_rule_about_a_subject_is_one_exception() {
    let change = "add section 8.5 \"More protection\" about gfci { governs receptacle
            requires gfci is class-a }
        add section 8.6 \"A note\" about gfci { governs receptacle
            waives 8.5 when washes }";
    let base = format!(
        "amendment first to demo 1 {{ {change} }}\namendment second to demo 1 {{ in every rule about gfci: add Ex. 9 as fairs when listed }}"
    );
    let (session, _, found) = open(&base, "demo 1 with first, second");
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let (composed, _) = session.compose("demo 1 with first, second");
    let atoms = whereas::edition::Atoms::of(&composed);
    let named: Vec<&str> = atoms.all.iter().filter(|a| a.name == "fairs").map(|a| a.at.as_str()).collect();
    assert_eq!(named, ["8 Ex. 9", "8.5 Ex. 9"]);
}

#[test]
fn a_printing_holds_what_was_issued_before_it() {
    let changes = "erratum first-one to demo 1, in the first printing { in 9(A): length was 6 ft, now 5 ft }
        interim amendment second-one to demo 1, in the second printing { in 9(B): role is no longer meter }
        interim amendment unprinted to demo 1 { delete 9(C) }
        jurisdiction lindal { base fixed by permit
            demo 1 in the first printing from 2020-01-01 through 2020-12-31
            demo 1 in the second printing with unprinted from 2021-01-01
            demo 1 in the second printing with second-one from 2022-01-01
        }";
    let (mut session, _, found) = open(changes, "demo 1");
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let name = |under: &str| session.compose(under).0.name;
    assert_eq!(name("demo 1"), "demo 1");
    assert_eq!(name("demo 1 in the first printing"), "demo 1 with first-one");
    assert_eq!(name("demo 1, in the second printing"), "demo 1 with first-one, second-one");
    assert_eq!(name("demo 1 in the third printing with unprinted"), "demo 1 with first-one, second-one, unprinted");
    let mut governs = |date: &str| {
        let asked = session::Asked {
            place: Some("lindal".to_string()),
            date: Some(date.to_string()),
            ..session::Asked::default()
        };
        let (selection, found) = session.govern(&asked, &mut Vec::new());
        assert!(!found.has_errors(), "{found:?}");
        selection.unwrap().possible[0].books[0].name()
    };
    assert_eq!(governs("2020-06-01"), "demo 1 with first-one");
    assert_eq!(governs("2021-06-01"), "demo 1 with first-one, second-one, unprinted");
    assert_eq!(governs("2022-06-01"), "demo 1 with first-one, second-one", "each once");
}

#[test]
fn the_history_of_every_sort_of_part_is_told() {
    let changes = "amendment harbor to demo 1 {
        in 8(2): add not finished
        in alarms: add listed
        limit reach was 6 ft, now 5 ft
        in table 15: 15 A was 3 ft, now 4 ft
        in half: was length / 2, now length / 3
        in 9: title was \"Lengths\", now \"All lengths\"
        delete 9(D)
    }";
    let (session, _, found) = open(changes, "demo 1 with harbor");
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let past = |wanted: &str| session.past("demo 1 with harbor", wanted).0;
    let what = |wanted: &str| -> Vec<String> { past(wanted).events.into_iter().map(|e| e.what).collect() };
    // With it what was done to the exceptions of its section.
    assert_eq!(what("8(2)"), ["added not finished", "added listed"]);
    assert_eq!(what("alarms"), ["added listed"]);
    assert_eq!(what("8 Ex. 1"), ["added listed"]);
    assert_eq!(what("reach"), ["limit reach was 6 ft, now 5 ft"]);
    assert_eq!(what("table 15, 15 A"), ["15 A was 3 ft, now 4 ft"]);
    assert!(what("table 15, 20 A").is_empty());
    assert_eq!(what("half").len(), 1);
    assert_eq!(what("9").len(), 2);
    assert_eq!(past("reach").parts[0].head, "limit reach");
    assert_eq!(past("8(2)").parts[0].lines, ["room is garage, not finished"]);
    assert!(past("8(2)").events[0].place.starts_with("changes:2"), "{:?}", past("8(2)").events);
    // What was taken out has a history and no text.
    assert!(past("9(D)").parts.is_empty() && what("9(D)") == ["deleted"]);
    let none = past("88");
    assert!(none.parts.is_empty() && none.events.is_empty());
    assert!(past("reech").near.is_some_and(|near| near == "reach"));
}
