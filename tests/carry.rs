//! Carrying amendments, and the comparison of books with amendments on top.
//!
//! The code in `tests/data/carry/` is invented. Its shapes are those of public law, by the stress cases for amendments: T1
//! (exceptions gathered under new numbers), T5 (a number for another subject), T13 (load calculations that moved from
//! Article 220 to 120 with their suffixes, and a number that changed: trade press on 2026), T14 (a range of items deleted, later
//! items stay), T17 (notes, and amendments that the base has absorbed).
#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;
use whereas::carry::{Carried, Fate};
use whereas::compare::{Class, Comparison, Overlay, Side, comparison};
use whereas::diag::{self, Diagnostics};
use whereas::format::block;
use whereas::report;
use whereas::session::{self, FactsForm, RULEBOOKS, Session};
use whereas::syntax::ast::Item;

const DEMO: &str = include_str!("data/carry/demo.rulebook");
const HARBOR: &str = include_str!("data/carry/harbor.rulebook");

fn session(texts: &[&str]) -> Session {
    let mut session = Session::empty();
    for (at, text) in texts.iter().enumerate() {
        let diagnostics = session.add_rulebook(&format!("text-{at}"), text.as_bytes().to_vec());
        assert!(diagnostics.is_empty(), "{}", shown(&diagnostics, &session));
    }
    session
}

fn shown(diagnostics: &Diagnostics, session: &Session) -> String {
    diag::render(diagnostics, session.sources(), &Default::default())
}

fn carried(texts: &[&str], amendment: &str, to: &str) -> Carried {
    let session = session(texts);
    let (carried, diagnostics) = session.carry(amendment, to);
    assert!(!diagnostics.has_errors(), "{}", shown(&diagnostics, &session));
    carried.unwrap()
}

fn refused(texts: &[&str], amendment: &str, to: &str) -> Vec<String> {
    let (carried, diagnostics) = session(texts).carry(amendment, to);
    assert!(carried.is_none());
    diagnostics.iter().map(|d| format!("{} {}", d.code, d.title)).collect()
}

/// An amendment of one line to an edition, carried: its fate, its line in the draft, and its notes.
fn line(base: &str, operation: &str, to: &str) -> (Fate, String, String) {
    let text = format!("amendment local to {base} {{\n{operation}\n}}\n");
    let carried = carried(&[DEMO, &text], "local", to);
    let [only] = carried.operations.as_slice() else { panic!("{:?}", carried.operations) };
    (only.fate, only.now.clone(), only.notes.join("; "))
}

/// The verdicts of facts under a book, with the errors of composing it.
fn verdicts(texts: &[&str], under: &str, facts: &str) -> Result<Vec<String>, Vec<String>> {
    let mut session = session(texts);
    let (program, mut diagnostics) = session.open(under);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    diagnostics.extend(more);
    if diagnostics.has_errors() {
        return Err(diagnostics.iter().map(|d| d.code.to_string()).collect());
    }
    let (installation, _) = session.install(&program, &[file]);
    let (choices, _) = session::choose(&program, &[]);
    let found = report::inspection(&program, &installation, &choices);
    Ok(found.verdicts.iter().map(|v| format!("{} {}", v.section, v.verdict)).collect())
}

fn compared(texts: &[&str], books: &[&str], facts: &str) -> Comparison {
    let mut session = session(texts);
    let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    let composed: Vec<(_, Vec<Overlay>)> =
        books.iter().map(|under| (session.compose(under).0, session.overlays(under))).collect();
    let sides: Vec<Side> = composed.iter().map(|(book, overlays)| Side { book, inspection: None, overlays }).collect();
    comparison(&sides, &session::dates(&[file]))
}

fn classes(comparison: &Comparison) -> Vec<(Class, &str)> {
    comparison.rules.iter().flat_map(|rules| &rules.changes).map(|c| (c.class, c.at.as_str())).collect()
}

// ------------------------------------------------------------------------------------------------ carrying

#[test]
fn t1_an_exception_is_followed_to_its_new_number() {
    let (fate, now, _) = line("demo 2020", "in 8: strike Ex. 2", "demo 2023");
    assert_eq!((fate, now.as_str()), (Fate::Applies, "in 8: strike Ex. 4"));
    let harbor = carried(&[DEMO, HARBOR], "harbor", "demo 2023");
    let moved = &harbor.operations[0].moved;
    assert_eq!((moved[0].from.as_str(), moved[0].to.as_str()), ("8 Ex. 2", "8 Ex. 4"));
    // Struck under 2023: the appliance exception is gone, the one for snow keeps its number.
    let text = "amendment local to demo 2020 {\nin 8: strike Ex. 2\n}\n";
    let draft = carried(&[DEMO, text], "local", "demo 2023").draft;
    let outlet = "outlet O { volts: 125 V, amperes: 20 A, gfci: none, listed: yes, length: 4 ft, ";
    let basement = format!("{outlet} at-place: basement, dedicated: yes, snow-melting: no }}");
    let outdoors = format!("{outlet} at-place: outdoors, dedicated: no, snow-melting: yes }}");
    let under = |book: &str, facts: &str, number: &str| {
        let all = verdicts(&[DEMO, text, &draft], book, facts).unwrap();
        all.into_iter().find(|v| v.starts_with(number)).unwrap()
    };
    assert_eq!(under("demo 2023", &basement, "8(5)"), "8(5) met");
    assert_eq!(under("demo 2023 with local", &basement, "8(5)"), "8(5) not met");
    assert_eq!(under("demo 2023 with local", &outdoors, "8(3)"), "8(3) met");
}

#[test]
fn t1_without_lineage_nothing_is_matched_by_its_number() {
    // The later edition says the section anew: what was Ex. 2 is not known to be its Ex. 2.
    let anew = "edition demo 2029 follows demo 2026 {
        replace 8 \"Protection\" {
            governs outlet
            requires gfci is class-a where any of {
                (3) at-place is outdoors
                (5) at-place is basement or crawl-space
            }
            unless Ex. 1 to (3) when snow-melting
            unless Ex. 2 to (5) when listed
        }
    }";
    for operation in ["in 8: strike Ex. 2", "in 8(5): add not listed"] {
        let text = format!("amendment local to demo 2020 {{\n{operation}\n}}\n");
        let said = refused(&[DEMO, anew, &text], "local", "demo 2029");
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].starts_with("E0730 target moved, no mapping: 8"), "{said:?}");
    }
    // An item that is said in the same words is the same, and a name is followed.
    let text = "amendment local to demo 2020 {\nin 8(3): add not listed\n}\n";
    assert!(carried(&[DEMO, anew, text], "local", "demo 2029").operations[0].now.starts_with("in 8(3)"));
    // What is named alike in both is one part, and what became of it is told.
    let named = anew.replace("Ex. 1 to (3) when", "Ex. 1 to (3) as snow when listed,");
    let text = "amendment local to demo 2020 {\nin snow: add not dedicated\n}\n";
    let found = carried(&[DEMO, &named, text], "local", "demo 2029");
    assert_eq!(found.operations[0].fate, Fate::ChangedUnderneath);
}

#[test]
fn books_without_a_common_base_have_no_lineage() {
    let alone = "edition demo 2050 \"Alone\"\nsection 8 \"Protection\" { governs outlet \n requires listed }\n";
    let said = refused(&[DEMO, HARBOR, alone], "harbor", "demo 2050");
    assert!(said[0].starts_with("E0731"), "{said:?}");
    assert!(refused(&[DEMO, HARBOR], "harbour", "demo 2023")[0].starts_with("E0707"));
    assert!(refused(&[DEMO, HARBOR], "harbor", "demo 2032")[0].starts_with("E0601"));
}

#[test]
fn t13_a_number_moves_and_the_value_under_it_changed() {
    let text = "amendment local to demo 2023 {\nin 220.82: unit-load was 3, now 4\n}\n";
    let found = carried(&[DEMO, text], "local", "demo 2026");
    let only = &found.operations[0];
    assert_eq!(only.fate, Fate::ChangedUnderneath);
    assert_eq!((only.moved[0].from.as_str(), only.moved[0].to.as_str()), ("220.82", "120.82"));
    assert!(only.notes[0].contains("3 in demo 2023, 2 in demo 2026"), "{:?}", only.notes);
    // Refused until a person confirms it, then in force under the new number.
    let dwelling = "dwelling D { area: 100 cmil, load: 1, unit-load: 4 }";
    let under = "demo 2026 with local";
    assert_eq!(verdicts(&[DEMO, text, &found.draft], under, dwelling).unwrap_err(), ["E0702"]);
    let confirmed = found.draft.replace("was 3, now 4", "was 2, now 4");
    assert_ne!(confirmed, found.draft);
    assert_eq!(verdicts(&[DEMO, text, &confirmed], under, dwelling).unwrap(), ["120.82 met"]);
}

#[test]
fn t14_a_range_of_items_leaves_later_ones_alone() {
    let text = "amendment local to demo 2020 {\nin 8: strike (5)\n}\n";
    let found = carried(&[DEMO, text], "local", "demo 2023");
    assert_eq!(found.operations[0].fate, Fate::Applies);
    let facts = "outlet O { volts: 125 V, amperes: 20 A, gfci: none, at-place: laundry, dedicated: no, listed: yes, \
                 snow-melting: no, length: 4 ft }";
    let all = verdicts(&[DEMO, text, &found.draft], "demo 2023 with local", facts).unwrap();
    assert!(all.contains(&"8(6) not met".to_string()), "the later item stays in force: {all:?}");
    assert!(!all.iter().any(|v| v.starts_with("8(5)")) && all.iter().any(|v| v.starts_with("8(3)")), "{all:?}");
}

#[test]
fn t17_what_the_base_says_itself_is_to_retire() {
    let (fate, now, note) = line("demo 2017", "in 8: volts was 125 V, now 125 V through 250 V", "demo 2026");
    assert_eq!((fate, now.as_str()), (Fate::Absorbed, "in 8: volts was 125 V, now 125 V through 250 V"));
    assert!(note.starts_with("demo 2020 says it itself"), "{note}");
    let (fate, _, note) = line("demo 2020", "in 8: add (6) as laundries: at-place is laundry", "demo 2026");
    assert!(fate == Fate::Absorbed && note.starts_with("demo 2023"), "{note}");
    let (fate, ..) = line("demo 2020", "delete 9(B)", "demo 2023");
    assert_eq!(fate, Fate::Absorbed);
    let text = "amendment local to demo 2017 {\nin 8: strike amperes, was 15 A or 20 A\n}\n";
    let found = carried(&[DEMO, text], "local", "demo 2020");
    assert_eq!(found.operations[0].fate, Fate::Absorbed);
    // What is absorbed stays in the draft as a comment only: the draft changes nothing.
    let all = verdicts(&[DEMO, &found.draft.replace("local", "draft")], "demo 2020 with draft", "outlet: none");
    assert!(all.is_ok(), "{all:?}");
}

#[test]
fn each_way_an_operation_can_go() {
    let fate = |base: &str, operation: &str, to: &str| line(base, operation, to).0;
    // Not touched at all.
    assert_eq!(fate("demo 2020", "waive 10(F) when dedicated", "demo 2026"), Fate::Applies);
    // The whole section moved; new parts go where their section went.
    assert_eq!(
        line("demo 2020", "insert 9(C) \"New\" { requires listed }", "demo 2023").1,
        "insert 19(C) \"New\" {\n    requires listed\n}"
    );
    // It rests on a part whose words changed.
    let (changed, _, note) = line("demo 2017", "replace 9(A) \"Cords\" { requires length at most 5 ft }", "demo 2023");
    assert_eq!(changed, Fate::ChangedUnderneath);
    assert!(note.contains("demo 2023 changed what it is applied to"), "{note}");
    // What it changes is gone.
    assert_eq!(fate("demo 2020", "in 9(B): add dedicated", "demo 2023"), Fate::TargetGone);
    assert_eq!(fate("demo 2017", "in 8: amperes was 15 A or 20 A, now 15 A", "demo 2020"), Fate::TargetGone);
    // Its number was given to something else.
    let (taken, _, note) = line("demo 2020", "in 8: add (6) as sheds: at-place is boathouse", "demo 2023");
    assert!(taken == Fate::ChangedUnderneath && note.contains("choose another number"), "{note}");
    let (taken, _, note) = line("demo 2020", "in 8: add Ex. 4 as sheds when at-place is boathouse", "demo 2023");
    assert!(taken == Fate::ChangedUnderneath && note.contains("has its own Ex. 4"), "{note}");
    // A line that leans on another of the same amendment.
    let text = "amendment local to demo 2020 {
        in 9(A): add Ex. 1 as sheds when at-place is boathouse
        in sheds: add listed
    }";
    let found = carried(&[DEMO, text], "local", "demo 2026");
    assert!(found.operations.iter().all(|o| o.fate != Fate::TargetGone), "{:?}", found.operations);
}

#[test]
fn text_of_another_edition_is_used_wherever_its_part_is_now() {
    let text = "amendment older to demo 2020 {\nuse 9(A) of demo 2017\n}\n";
    let found = carried(&[DEMO, text], "older", "demo 2023");
    assert_eq!(found.operations[0].now, "use 19(A) of demo 2017");
    let facts = "outlet O { volts: 125 V, amperes: 20 A, gfci: class-a, at-place: attic, length: 5 ft, listed: yes, dedicated: no }";
    let all = |under: &str| verdicts(&[DEMO, text, &found.draft], under, facts).unwrap();
    assert!(all("demo 2023").contains(&"19(A) not met".to_string()));
    assert!(all("demo 2023 with older").contains(&"19(A) met".to_string()));
}

#[test]
fn an_amendment_to_every_base_stays_as_it_is() {
    let text = "amendment everywhere to every base {\nwaive 10(F) when dedicated\n}\n";
    let found = carried(&[DEMO, text], "everywhere", "demo 2026");
    assert!(found.settled() && found.draft.starts_with("amendment everywhere to every base {"), "{}", found.draft);
}

/// Operations that fit demo 2020, each on a part of its own.
const POOL: [&str; 14] = [
    "in force 2021-07-01 through 2024-06-30 by permit-application",
    "in 8: volts was 125 V through 250 V, now 125 V; add listed    seen \"a b\"",
    "in 8(3): add at-place is not garage    memory",
    "in 8: strike Ex. 2",
    "in 8: add Ex. 3 to (5) as sheds when at-place is boathouse, any of {\n listed\n dedicated, snow-melting\n } then gfci is class-c is enough",
    "in 9(A): length was at most 6 ft, now at most 5 ft (1.5 m)    disputed \"one says 1.6 m\"",
    "in 9(B): title was \"Listing\", now \"Listed outlets\"",
    "waive 10(F), 10(G) when at-place is boathouse",
    "replace 10(G) \"Elsewhere\" {\n when at-place is attic\n requires all of {\n (1) listed    seen \"k\"\n (2) as short: length at most 3 ft\n }\n notes \"a note\"\n}",
    "insert 9(C) as third \"Third\" {\n requires listed\n prohibits length more than 9 ft where any of {\n (a) dedicated\n (b) snow-melting\n }\n}",
    "add kind small of outlet, per 9(A) \"a short one\" { length at most 1 ft, listed }    seen \"s\"",
    "add section 30 as tables \"Tables\" about size {\n governs dwelling\n requires unit-load at least table 31 at load\n}",
    "add table 31 \"Loads\" by load: count next row up, gives count {\n 1 | 2    seen \"t\"\n 4 | 3\n}",
    "fact shed-nearby of outlet: yes-no, judgment \"the inspector\" \"a shed within reach\"",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn carrying_to_the_same_edition_is_the_identity(mask in 0u16..(1 << POOL.len())) {
        let chosen: Vec<&str> = POOL.iter().enumerate().filter(|(at, _)| mask >> at & 1 == 1).map(|(_, o)| *o).collect();
        let text = format!("amendment local \"Local\" to demo 2020 {{\n{}\n}}\n", chosen.join("\n"));
        let found = carried(&[DEMO, &text], "local", "demo 2020");
        prop_assert!(found.settled(), "{:?}", found.operations);
        prop_assert!(found.operations.iter().all(|o| o.moved.is_empty() && o.was == o.now));
        // The draft says what the amendment says.
        prop_assert_eq!(printed(&text), found.draft.clone());
        prop_assert_eq!(printed(&found.draft), found.draft);
    }
}

/// The sets of changes of a text, printed.
fn printed(text: &str) -> String {
    let (parsed, diagnostics) = whereas::syntax::parse_rulebook(whereas::base::source::SourceId(0), text);
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:?}");
    let sets = parsed.tree.items.iter().filter_map(|item| match item {
        Item::Changes(set) => Some(block::change_set(set, &|_| Vec::new())),
        _ => None,
    });
    sets.collect()
}

#[test]
fn printed_changes_read_back_as_they_were() {
    let shipped = RULEBOOKS.iter().map(|(_, text)| *text);
    let others = [DEMO, HARBOR];
    let mut sets = 0;
    for text in shipped.chain(others) {
        let once = printed(text);
        assert_eq!(once, printed(&once));
        sets += usize::from(!once.is_empty());
    }
    assert!(sets >= 6, "{sets}");
}

#[test]
fn a_printed_edition_composes_to_the_same_book() {
    let whole = Session::shipped().0;
    let mut again = Session::empty();
    for (name, text) in RULEBOOKS {
        // Files of changes only; what else a file holds is not printed here.
        let (parsed, _) = whereas::syntax::parse_rulebook(whereas::base::source::SourceId(0), text);
        let only = parsed.tree.items.iter().all(|item| matches!(item, Item::Changes(_)));
        let text = if only { printed(text) } else { (*text).to_string() };
        assert!(again.add_rulebook(name, text.into_bytes()).is_empty(), "{name}");
    }
    for edition in whole.editions() {
        let name = format!("{} {}", edition.family, edition.year);
        let (a, b) = (whole.compose(&name).0, again.compose(&name).0);
        let lines = |book| -> Vec<String> {
            let atoms = whereas::edition::Atoms::of(book);
            atoms.all.iter().map(|a| format!("{} {:?} {:?}", a.at, a.printed(), a.marks)).collect()
        };
        for (a, b) in lines(&a).iter().zip(lines(&b)) {
            assert_eq!(*a, b, "{name}");
        }
        assert_eq!(lines(&a).len(), lines(&b).len(), "{name}");
    }
}

// ------------------------------------------------------------------------------------------------ comparing

#[test]
fn t5_a_number_for_another_subject() {
    let text = "amendment local to demo 2020 {
        delete 10(F)
        add section 10(F) \"Shop outlets\" {
            governs outlet
            requires listed
        }
    }";
    let found = compared(&[DEMO, text], &["demo 2020", "demo 2020 with local"], "");
    let all = classes(&found);
    assert!(all.contains(&(Class::NumberReused, "10(F)")), "{all:?}");
    assert!(all.contains(&(Class::TargetSubjectChanged, "10(G)")), "{all:?}");
    let gone = "amendment local to demo 2020 {\ndelete 10(F)\n}";
    let found = compared(&[DEMO, gone], &["demo 2020", "demo 2020 with local"], "");
    let all = classes(&found);
    assert!(all.contains(&(Class::Removed, "10(F)")) && all.contains(&(Class::DanglingReference, "10")), "{all:?}");
}

#[test]
fn t17_notes_only_redundant_and_over() {
    let texts = "amendment notes to demo 2020 {\nin 9(B): title was \"Listing\", now \"Listed outlets\"\n}
        amendment nothing to demo 2020 {\nin 9(A): length was 6 ft, now 6 ft\n}
        amendment short to demo 2020 {
            in force 2021-01-01 through 2022-12-31 by permit
            in 9(A): length was 6 ft, now 5 ft
        }";
    let facts = "project { permit: 2023-05-01 }";
    let found = compared(&[DEMO, texts], &["demo 2020", "demo 2020 with notes, nothing"], facts);
    let said: Vec<(&str, Class)> = found.amendments.iter().map(|a| (a.name.as_str(), a.class)).collect();
    assert_eq!(said, [("notes", Class::AmendmentNoteOnly), ("nothing", Class::Redundant)]);
    assert_eq!(classes(&found), [(Class::NoteOnly, "9(B)")]);
    let found = compared(&[DEMO, texts], &["demo 2020", "demo 2020 with short"], facts);
    assert_eq!(found.amendments[0].class, Class::Expired);
    assert!(found.amendments[0].note.contains("through 2022-12-31"), "{:?}", found.amendments);
    let early = compared(&[DEMO, texts], &["demo 2020", "demo 2020 with short"], "project { permit: 2022-12-31 }");
    assert!(early.amendments.is_empty(), "the last day is inside");
}

#[test]
fn an_exception_that_ran_out_is_told_as_expired() {
    let text = "interim amendment tia-1 to demo 2023 {
        in 8: add Ex. 5 as hvac when listed, before 2026-09-01 by installation
    }";
    let over = |day: &str| {
        let facts = format!("project {{ installation: {day} }}");
        let found = compared(&[DEMO, text], &["demo 2023", "demo 2023 with tia-1"], &facts);
        classes(&found).contains(&(Class::Expired, "8 Ex. 5"))
    };
    assert!(!over("2026-08-31") && over("2026-09-01"));
}

#[test]
fn what_moved_as_a_whole_is_told_once() {
    let found = compared(&[DEMO], &["demo 2020", "demo 2023"], "");
    let all = classes(&found);
    let expected = [
        (Class::Moved, "8 Ex. 4"),
        (Class::Added, "8(6)"),
        (Class::Removed, "9(B)"),
        (Class::Moved, "19"),
        (Class::Changed, "19(A)"),
    ];
    assert_eq!(all, expected);
    let counts = &found.rules[0].counts;
    assert_eq!(counts.values().sum::<usize>(), counts["unchanged"] + expected.len());
}

// ------------------------------------------------------------------------------------------------ every class

/// Each class of a part, with an amendment that brings it about.
#[test]
fn every_class_comes_about() {
    let of = |changes: &str, class: Class| -> Vec<String> {
        let text = format!("amendment local to demo 2020 {{\n{changes}\n}}\n");
        let found = compared(&[DEMO, &text], &["demo 2020", "demo 2020 with local"], "project { permit: 2030-01-01 }");
        let all = classes(&found);
        assert!(all.iter().any(|(own, _)| *own == class), "{changes}: {all:?}");
        all.into_iter().filter(|(own, _)| *own == class).map(|(_, at)| at.to_string()).collect()
    };
    assert_eq!(of("in 9(A): length was 6 ft, now 5 ft", Class::Changed), ["9(A)"]);
    assert_eq!(of("renumber 9 as 19", Class::Moved), ["19"]);
    assert_eq!(of("renumber 9(A) as 9(D)\nin 9(A): length was 6 ft, now 5 ft", Class::MovedAndChanged), ["9(D)"]);
    assert_eq!(of("add section 30 \"New\" { governs outlet\n requires listed }", Class::Added), ["30"]);
    assert_eq!(of("delete 9(B)", Class::Removed), ["9(B)"]);
    assert_eq!(of("reserve 9(B)", Class::Reserved), ["9(B)"]);
    assert_eq!(of("delete 9(B)\ninsert 9(B) \"Other\" { requires dedicated }", Class::NumberReused), ["9(B)"]);
    assert_eq!(of("in 9(B): add notes \"a note\"", Class::NoteOnly), ["9(B)"]);
    assert_eq!(of("delete 10(F)", Class::DanglingReference), ["10"]);
    let other = "delete 10(F)\nadd section 10(F) \"Shops\" { governs outlet\n requires listed }";
    assert_eq!(of(other, Class::TargetSubjectChanged), ["10(G)"]);
    assert_eq!(of("carry 9(A) unchecked", Class::CarriedUnchecked), ["9(A)"]);
    let over = "in 9(A): add Ex. 1 as once when listed, before 2025-01-01 by permit";
    assert_eq!(of(over, Class::Expired), ["9(A) Ex. 1"]);
    // Nothing listed is unchanged; it is counted.
    let same = compared(&[DEMO], &["demo 2020", "demo 2020"], "");
    assert!(same.rules[0].changes.is_empty() && same.rules[0].counts["unchanged"] > 10);
}

/// What a comparison is narrowed to, is counted anew and decides the whole.
#[test]
fn a_comparison_is_narrowed_to_sections() {
    let session = session(&[DEMO]);
    let books = ["demo 2020", "demo 2023"].map(|under| session.compose(under).0);
    let books = [&books[0], &books[1]];
    let whole = || compared(&[DEMO], &["demo 2020", "demo 2023"], "");
    let only = |sections: &[&str]| whereas::report::Only {
        sections: sections.iter().map(|s| (*s).to_string()).collect(),
        ..Default::default()
    };
    let found = whole().narrowed(&only(&["8"]), &books);
    assert_eq!(classes(&found), [(Class::Moved, "8 Ex. 4"), (Class::Added, "8(6)")]);
    assert_eq!(found.only, ["8"]);
    // By the number in either book; a number is not taken for a longer one.
    let found = whole().narrowed(&only(&["9(A)"]), &books);
    assert_eq!(classes(&found), [(Class::Changed, "19(A)")]);
    assert!(classes(&whole().narrowed(&only(&["1"]), &books)).is_empty());
    assert_eq!(whole().narrowed(&only(&[]), &books).rules, whole().rules);
    let about =
        whereas::report::Only { subjects: vec![("gfci".to_string(), vec!["8".to_string()])], ..Default::default() };
    assert_eq!(whole().narrowed(&about, &books).only, ["about gfci"]);
    assert_eq!(classes(&whole().narrowed(&about, &books)).len(), 2);
    // What a section uses by name goes with it, though it stands under no number.
    let named = "amendment first to demo 2020 {
            add kind dry of outlet { at-place is attic, listed }
            add kind apart of outlet { dry }
            in 9(A): add requires apart
        }
        amendment second to demo 2020 {
            add kind dry of outlet { at-place is attic }
            add kind apart of outlet { dry }
            in 9(A): add requires apart
        }";
    let sides = ["demo 2020 with first", "demo 2020 with second"];
    let session = self::session(&[DEMO, named]);
    let (a, b) = (session.compose(sides[0]).0, session.compose(sides[1]).0);
    let all = compared(&[DEMO, named], &sides, "").narrowed(&only(&["9"]), &[&a, &b]);
    assert!(classes(&all).iter().any(|(_, at)| *at == "dry"), "{:?}", classes(&all));
}

/// The mark-up of one change in its three forms.
#[test]
fn markup_is_plain_coloured_and_markdown() {
    let found = compared(&[DEMO], &["demo 2017", "demo 2020"], "");
    let plain = whereas::compare::text(&found, &Default::default());
    assert!(plain.contains("volts is 125 V[[, amperes is 15 A or 20 A]] __through 250 V__"), "{plain}");
    let look = diag::Look { colour: diag::Colour::On, ..Default::default() };
    let coloured = whereas::compare::text(&found, &look);
    assert!(coloured.contains("\u{1b}[") && !coloured.contains("__"), "{coloured}");
    let markdown = whereas::compare::markdown(&found);
    assert!(markdown.contains("~~") && markdown.contains("**through 250 V**"), "{markdown}");
    let json = serde_json::to_value(&found).unwrap();
    assert_eq!(json["rules"][0]["changes"][0]["class"], "changed");
}
