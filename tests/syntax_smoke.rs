//! The letters of the language.
use whereas::base::source::SourceId;
use whereas::syntax::{parse_facts, parse_rulebook};

const BOOK: &str = r#"
terms for nec "National Electrical Code"
choice material { copper, aluminum   # a comment
}
choice wiring-method {
    rigid-metal-conduit "RMC", electrical-metallic-tubing
    group metal-raceway = rigid-metal-conduit, electrical-metallic-tubing
}
scale wire-size { 14 AWG < 12 AWG < 1/0 AWG < 250 kcmil }
scale trade-size { trade 1/2 < trade 3/4 < trade 1 1/4 }
thing branch-circuit as circuit "a branch circuit" {
    serves      : space                   "the space the circuit serves"
    overcurrent : current, never negative "rating of the overcurrent device"
    paths       : many path               "every path"
    to-sink     : length from sink-edge through barrier, may be absent
    fed         : those feeder whose feeds is this
}
edition nec 2017 "2017"
section 517.13 "Grounding of receptacles" about grounding {
    governs each outlet of branch-circuit
    when circuit serves patient-care
    requires different {
        (A) path A of kind metal-path
        (B) path B of kind insulated-copper
    }
    unless Ex. 2 as high-luminaire when any of {
        device is luminaire, height more than 7 1/2 ft (2.3 m)
        device is wall-switch, not in-vicinity
    } then (A) is enough
    (B)(1) "Connections" {
        requires all of { (1) wired
            (2) if metal-box: box-wired }
        seen "f1 f2"
    }
    (C) reserved
}
section 250.118 "Types" {
    permits part as grounding-conductor, any of {
        (5) flexible-metal-conduit, listed, all of {
            (b) overcurrent of circuit at most 20 A
            (c) (sum of length of flexible parts of path where listed) at most 6 ft (1.8 m)
            (d) if must-flex: circuit is wire-grounding
        }
        (2) rigid-metal-conduit    memory
    }
}
kind insulated-copper of path, per 517.13(B) { wire, copper, insulated, runs-in is metal-path }
define least-size of branch-circuit = table 250.122 at overcurrent across material
limit reach = 6 ft (1.8 m)
table 250.122 "Sizes" by rating: current next row up, across metal: material, gives wire-size {
         | copper | aluminum
    15 A | 14 AWG | 12 AWG      seen "w1"
    20 A | 12 AWG | -
}
reading either-path of high-luminaire "which path", disputed "f4 f5" {
    literal "either path alone is enough"    { (A) or (B) is enough }
    strict  "(B) lies in (A)" { (A) is enough }
}
section 210.52 {
    governs countertop
    requires at least (1 + (area beyond 9 ft2) per 18 ft2 or fraction) of receptacles where serving
    requires gfci is class-A where any of {
        (2) room is garage
        (7) as near-sink: to-sink from outside-edge at most 6 ft (1.8 m), to-sink from bowl-edge not through door or wall
    }
    unless Ex. 1 to (2), (7) as x1, not counted toward 210.52(G), when alarm-only
    Ex. 2 when wet, before 2026-09-01 by installation instead requires every outlet of circuit is listed
}
"#;

#[test]
fn a_whole_rulebook_reads() {
    let (parsed, diagnostics) = parse_rulebook(SourceId(0), BOOK);
    for d in &diagnostics {
        let span = d.labels[0].span;
        eprintln!(
            "{} {:?} {:?} {:?}",
            d.title,
            &BOOK[span.start as usize..(span.end as usize).min(BOOK.len())],
            d.labels[0].text,
            d.help
        );
    }
    assert!(diagnostics.is_empty());
    assert_eq!(parsed.tree.items.len(), 15);
    assert_eq!(parsed.comments.len(), 1);
}

#[test]
fn several_mistakes_are_told_at_once() {
    let text = "section 1 {\n  govern outlet\n  when wet and dry\n  requires x > 3 ft\n}\nkynd a of b { c }\n";
    let (_, diagnostics) = parse_rulebook(SourceId(0), text);
    for d in &diagnostics {
        eprintln!("{} | {:?} | {:?}", d.title, d.labels, d.help);
    }
    assert_eq!(diagnostics.len(), 4);
}

#[test]
fn facts_read() {
    let text = r#"
project "Alder Street Clinic" { permit-application: 2021-09-15, occupancy: clinic }
branch-circuit ER4-1 {
    serves: exam-room-4
    overcurrent: at least 15 A and at most 20 A
    paths {
        armor { method: metal-clad-cable, listed: yes, bare-bonding-conductor: none }
        green { material: copper or aluminum, size: 12 AWG, trade: trade 1 1/4, wet: not yes }
        and maybe more
    }
    to-sink: 2 ft from outside-edge, 6 ft 6 in from bowl-edge through door or wall
    spaces: a, b
}
feeder: none
and maybe more branch-circuit
"#;
    let (parsed, diagnostics) = parse_facts(SourceId(0), text);
    for d in &diagnostics {
        eprintln!("{} | {:?} | {:?}", d.title, d.labels, d.help);
    }
    assert!(diagnostics.is_empty());
    assert_eq!(parsed.tree.items.len(), 4);
}

#[test]
#[allow(clippy::panic)]
fn across_is_told_by_its_place_and_not_by_the_blanks_around_it() {
    use whereas::syntax::ast::{ExprKind, Item};
    for (head, across) in [
        ("table 1 by size: a,   across\tmetal: b, gives length", true),
        ("table 1 by size: a,\n    across metal: b, gives length", true),
        ("table 1 \"rows, across the floor\" by size: a, metal: b, gives length", false),
    ] {
        let (parsed, found) = parse_rulebook(SourceId(0), &format!("{head} {{\n    1 | 2\n}}\n"));
        assert!(found.is_empty(), "{head}");
        let [Item::Table(table)] = parsed.tree.items.as_slice() else { panic!("{head}") };
        assert_eq!((table.by.len(), table.across.is_some()), if across { (1, true) } else { (2, false) }, "{head}");
    }
    for (value, wanted) in [("table 1 at a  across   b", true), ("table 1 at a and (table 2 at c across d)", false)] {
        let (parsed, found) = parse_rulebook(SourceId(0), &format!("define x of y = {value}\n"));
        assert!(found.is_empty(), "{value}");
        let [Item::Define(define)] = parsed.tree.items.as_slice() else { panic!("{value}") };
        let ExprKind::Lookup { across, .. } = &define.expr.kind else { panic!("{value}") };
        assert_eq!(*across, wanted, "{value}");
    }
}
