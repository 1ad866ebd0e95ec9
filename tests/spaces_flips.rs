//! What flips between editions in placement and spaces, topic by topic, under all five.
//!
//! Sources by the keys that `rulebooks/README.md` explains; `m`: from memory. 2026 is carried unchecked where nothing was
//! seen.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::collections::BTreeMap;
use std::sync::LazyLock;
use support::{Bench, verdict};

const YEARS: [&str; 5] = ["2014", "2017", "2020", "2023", "2026"];
const NONE: &str = "no such verdict";

static BOOKS: LazyLock<BTreeMap<&str, Bench>> =
    LazyLock::new(|| YEARS.iter().map(|year| (*year, Bench::nec(year))).collect());

/// The verdicts of a section under all editions; several numbers where it moved, of which each edition has one.
fn across(facts: &str, sections: &str, subject: &str) -> [String; 5] {
    YEARS.map(|year| {
        let report = BOOKS[year].inspect("flip", facts, &[]);
        let all: Vec<String> = sections.split(", ").map(|section| verdict(&report, section, subject)).collect();
        all.iter().find(|v| *v != NONE).cloned().unwrap_or_else(|| NONE.to_string())
    })
}

fn equipment(entries: &str) -> String {
    format!(
        "project \"F\" {{ occupancy: industrial }}\nequipment E {{ worked-on-live: yes, at-dwelling: no, {entries} }}\n"
    )
}

fn room(entries: &str) -> String {
    format!("project \"F\" {{ occupancy: one-family }}\nhome-room R {{ {entries} }}\n")
}

#[test]
fn ways_past_open_doors() {
    // None to 2017; large equipment in 2020 (CE801); all in 2023 (EC2, CE1413); 2026 at 90 degrees by one forum (F16).
    let narrow = "width-with-doors-open: 20 in, height-with-doors-open: 7 ft, width-with-doors-at-90: 30 in";
    let large = format!("rated-current: 1600 A, own-width: 8 ft, service-disconnects: none, {narrow}");
    let small = format!("rated-current: 400 A, own-width: 2 ft, service-disconnects: none, {narrow}");
    let sections = "110.26, 110.26(C)(2)(c)";
    let open = "undecided by way-past-doors";
    assert_eq!(across(&equipment(&large), sections, "E"), [NONE, NONE, "not met", "not met", open]);
    assert_eq!(across(&equipment(&small), sections, "E"), [NONE, NONE, "not applicable", "not met", open]);
}

#[test]
fn floors_and_access() {
    // The floor: 2023 (BF3, F14), 2026 m. Limited access: 2017 (BO17), later m.
    let floor = equipment("floor-clear-and-flat: no");
    assert_eq!(across(&floor, "110.26(A)(6)", "E"), [NONE, NONE, NONE, "not met", "not met"]);
    let above = |short: &str, long: &str| {
        equipment(&format!("access: above-lay-in-ceiling, opening-short-side: {short}, opening-long-side: {long}"))
    };
    let (yes, no) = ("met", "not met");
    assert_eq!(across(&above("22 in", "22 in"), "110.26(A)(4)(a)", "E"), [NONE, yes, yes, yes, yes]);
    assert_eq!(across(&above("20 in", "22 in"), "110.26(A)(4)(a)", "E"), [NONE, no, no, no, no]);
    let crawl = equipment("access: crawl-space-access, opening-short-side: 22 in, opening-long-side: 28 in");
    assert_eq!(across(&crawl, "110.26(A)(4)(b)", "E"), [NONE, no, no, no, no]);
}

#[test]
fn equipment_that_faces_equipment() {
    // Condition 2 in all; a note of 2026 is read as condition 3 by one forum (F16).
    let facing = |depth: &str| equipment(&format!("volts-to-ground: 277 V, facing: dead-front, depth: {depth}"));
    let open = "undecided by gear-depth";
    assert_eq!(across(&facing("42 in"), "110.26(A)(1)(d)", "E"), [NONE, NONE, NONE, NONE, open]);
    assert_eq!(across(&facing("48 in"), "110.26(A)(1)(d)", "E"), [NONE, NONE, NONE, NONE, "met"]);
    assert_eq!(across(&facing("42 in"), "110.26(A)(1)", "E"), ["met"; 5]);
}

#[test]
fn labels_and_torque() {
    // 110.16(B): 1200 A of services in 2017 m, 2020; 1000 A, feeders too, in 2023 (EL2, EM2); no floor in 2026 (MY26).
    let label = "data-label: yes, label-date: yes, label-voltage: yes, label-fault-current: yes, label-by-practice: no, \
                 label-boundary: no, label-energy: no";
    let service = equipment(&format!(
        "what: switchboard, service-supplied: yes, feeder-supplied: no, rated-current: 1200 A, {label}"
    ));
    assert_eq!(across(&service, "110.16(B)", "E"), [NONE, "met", "met", "not met", "not met"]);
    let small = equipment(
        "what: switchboard, service-supplied: yes, feeder-supplied: no, rated-current: 800 A, data-label: no",
    );
    assert_eq!(
        across(&small, "110.16(B)", "E"),
        [NONE, "not applicable", "not applicable", "not applicable", "not met"]
    );
    // 110.24: the calculation is kept from 2017 m.
    let marked =
        equipment("service-supplied: yes, fault-current-marked: yes, calculation-kept: no, supervised-industrial: no");
    assert_eq!(across(&marked, "110.24(A)", "E"), ["met", "not met", "not met", "not met", "not met"]);
    // 110.14(D): CE797; later m.
    let by_feel = equipment("torque-stated: yes, tightened-by: by-feel");
    assert_eq!(across(&by_feel, "110.14(D)", "E"), [NONE, "not met", "not met", "not met", "not met"]);
}

#[test]
fn control_of_lights() {
    // TD1, CE70, F10, MG315, F11, CE1864.
    let lit = "lighting-outlet: yes, switched-receptacle: no, control-near-entrance: yes";
    let (yes, no, away) = ("met", "not met", "not applicable");
    let bedroom =
        |control: &str| room(&format!("use: bedroom, {lit}, lights-on-when-battery-fails: yes, control: {control}"));
    assert_eq!(across(&bedroom("wall-switch"), "210.70(A)(1)", "R"), [yes; 5]);
    assert_eq!(across(&bedroom("remote-control"), "210.70(A)(1)", "R"), [no; 5]);
    assert_eq!(across(&bedroom("listed-wall-device"), "210.70(A)(1)", "R"), [no, no, yes, yes, yes]);
    assert_eq!(across(&bedroom("battery-device"), "210.70(A)(1)", "R"), [no, no, no, yes, no]);
    let laundry = room("use: laundry-room, lighting-outlet: no, switched-receptacle: no, control: none");
    assert_eq!(across(&laundry, "210.70(A)(1)", "R"), [away, away, away, no, no]);
    let kitchen = room("use: kitchen, lighting-outlet: no, switched-receptacle: no, control: none");
    assert_eq!(across(&kitchen, "210.70(A)(1)", "R"), ["undecided by lit-room", no, no, no, no]);
    let stair =
        room("use: stair, risers: 6, lighting-outlet: yes, control-at-each-level: yes, dimmer-at-each-level: no");
    assert_eq!(across(&stair, "210.70(A)(2)(c)", "R"), [yes; 5]);
    assert_eq!(across(&stair, "210.70(A)(2)(d)", "R"), [NONE, no, no, no, no]);
}

#[test]
fn garage_circuits_and_bays() {
    // MG126, MG128, MG132, CE1428; multifamily from 2020 m.
    let house = |occupancy: &str, attached: &str, others: &str, height: &str| {
        format!(
            "project \"F\" {{ occupancy: {occupancy} }}
             dwelling D {{ small-appliance-circuits: 2, laundry-circuits: 1, bathroom-circuits: 1, garage-circuits: 1
             garages {{ G {{ attached: {attached}, has-power: yes, receptacle-count: 2, circuit-serves-elsewhere: no
             all-on-garage-circuits: {others}, bay-receptacles-on-garage-circuits: yes
             bays {{ B {{ served: yes, receptacle-in-bay: yes, receptacle-height: {height} }} }} }} }} }}\n"
        )
    };
    let (yes, no, away) = ("met", "not met", "not applicable");
    let twice = |v: &str| format!("{v} and {v}");
    let other_on_15 = house("one-family", "yes", "no", "4 ft");
    let section = "210.11(C)(4)";
    let found = across(&other_on_15, section, "D");
    assert_eq!(found, [NONE.to_string(), format!("{yes} and {no}"), twice(yes), twice(yes), twice(yes)]);
    let high = house("one-family", "yes", "yes", "6 ft");
    assert_eq!(across(&high, "210.52(G)(1)", "G"), [twice(yes), no.into(), no.into(), no.into(), no.into()]);
    let two = house("two-family", "yes", "yes", "6 ft");
    assert_eq!(across(&two, "210.52(G)(1)", "G"), [twice(away), no.into(), no.into(), no.into(), no.into()]);
    let many = house("multifamily", "yes", "yes", "6 ft");
    assert_eq!(across(&many, "210.52(G)(1)", "G"), [twice(away), away.into(), no.into(), no.into(), no.into()]);
    let apart = house("multifamily", "no", "yes", "6 ft");
    assert_eq!(across(&apart, "210.52(G)(1)", "G"), [twice(away), away.into(), yes.into(), yes.into(), yes.into()]);
}

#[test]
fn peninsulas() {
    // From the connecting edge in 2014 (OLD52), from the perpendicular wall in 2017 (GC1), by area in 2020 (MM1, MQ20, F9),
    // with one near the outer end; a provision in 2023 (EC7).
    let top = |from_wall: &str, end: &str| {
        room(&format!(
            "use: kitchen\ncountertops {{ P {{ stands: peninsula, long-side: 20 in, long-side-from-wall: {from_wall}
             short-side: 20 in, area: 6 ft2, future-outlet: no, wired-provision: no, flat-or-accessible: no
             receptacles {{ S {{ position: above-top, above-by: 4 in, from-outer-end: {end}, meant-for-the-top: yes }} }} }} }}"
        ))
    };
    let away = "not applicable";
    let sections = "210.52(C)(3), 210.52(C)(2)";
    let both = |a: &str, b: &str| format!("{a} and {b}");
    let far = across(&top("44 in", "3 ft"), sections, "P");
    assert_eq!(far[..2], [away, "met"]);
    assert_eq!(far[2..4], [both("met", "not met"), both("met", "met")]);
    let short = across(&top("20 in", "1 ft"), sections, "P");
    assert_eq!(short[..2], [away, away]);
    assert_eq!(short[2], both("met", "met"));
}

#[test]
fn receptacles_for_servicing() {
    // 25 ft from heating and cooling equipment m; indoor equipment with dedicated space from 2020 (CE811; its distance m);
    // at service equipment 50 ft, then 25 ft m.
    let (yes, no) = ("met", "not met");
    let unit = |distance: &str| {
        equipment(&format!(
            "what: hvac-unit, service-supplied: no, needs-dedicated-space: yes, service-receptacle: {distance}
             service-receptacle-same-level: yes"
        ))
    };
    assert_eq!(across(&unit("25 ft"), "210.63, 210.63(A)", "E"), [yes; 5]);
    assert_eq!(across(&unit("26 ft"), "210.63, 210.63(A)", "E"), [no; 5]);
    assert_eq!(across(&unit("none"), "210.63(B)(2)", "E"), [NONE, NONE, no, no, no]);
    let service = equipment(
        "what: switchboard, service-supplied: yes, service-receptacle: 40 ft, service-receptacle-same-level: yes",
    );
    assert_eq!(across(&service, "210.64, 210.63(B)(1)", "E"), [yes, no, no, no, no]);
}

#[test]
fn in_the_ground_in_framing_and_in_ceilings() {
    // HC17; IA6, EM8; F19, F20.
    let electrode = "buried-run R { place: yard, laid: direct-burial, cover: 0 in, grounding-electrode-conductor: yes
        dwelling-branch: no, irrigation-or-landscape: no }\n";
    let (yes, no) = ("met", "not met");
    assert_eq!(across(electrode, "300.5(A)", "R"), [no, yes, yes, yes, yes]);
    let hole = |edge: &str, plate: &str| {
        format!(
            "framing-run R {{ passes: bored-hole, method: nonmetallic-sheathed-cable, to-edge: {edge}, plate: {plate}, thin-plate-listed: no }}\n"
        )
    };
    let bored = "300.4(A)(1), 300.6(A)(1)";
    assert_eq!(across(&hole("1 1/4 in", "none"), bored, "R"), [yes; 5]);
    assert_eq!(across(&hole("1 in", "none"), bored, "R"), [no; 5]);
    assert_eq!(across(&hole("1 in", "1/16 in"), bored, "R"), [yes; 5]);
    let conduit =
        "framing-run R { passes: below-roof-deck, method: rigid-metal-conduit, to-edge: 1 in, metal-deck: yes }\n";
    let decks = "300.4(E), 300.6(E)";
    assert_eq!(across(conduit, decks, "R"), [yes, yes, yes, yes, "undecided by deck-spares"]);
    let fan = |spare: &str, framing: &str| {
        format!(
            "lighting-box B {{ in-home: yes, habitable: yes, fan-spot: yes, spare-conductors: {spare}, fan-listed: no
             framing-reachable: {framing} }}\n"
        )
    };
    let away = "not applicable";
    assert_eq!(across(&fan("no", "yes"), "314.27(C)(2)", "B"), [away, away, yes, yes, yes]);
    assert_eq!(across(&fan("yes", "no"), "314.27(C)(2)", "B"), [no; 5]);
    assert_eq!(across(&fan("yes", "yes"), "314.27(C)(2)", "B"), [no, no, yes, yes, yes]);
    let heavy = |marked: &str| {
        format!(
            "lighting-box B {{ fan-weight: 40 lb, supports: 70 lb, fan-listed: yes, weight-marked: {marked}, independent-support: no }}\n"
        )
    };
    assert_eq!(across(&heavy("yes"), "314.27(C)(1)", "B"), [yes; 5]);
    assert_eq!(across(&heavy("no"), "314.27(C)(1)", "B"), [no; 5]);
}

#[test]
fn where_sheathed_cable_may_be() {
    // 334.10: BF5, ET1; EX7 for 2023. Barred places: z1, m.
    let cable = |occupancy: &str, construction: &str, more: &str| {
        format!(
            "project \"F\" {{ occupancy: {occupancy}, construction: {construction} }}
             branch-circuit C {{ paths {{ cable {{ parts {{ run {{ method: nonmetallic-sheathed-cable, {more} }} }} }} }} }}\n"
        )
    };
    let plain =
        "behind-thermal-barrier: no, in-detached-garage: no, in-raceway: no, in-cable-tray: no, barred-place: none";
    let ask = |facts: &str, section: &str| across(facts, section, "run of cable");
    let (yes, no) = ("met", "not met");
    assert_eq!(ask(&cable("business", "type-V", plain), "334.10"), [no; 5]);
    assert_eq!(ask(&cable("business", "type-V", &plain.replace("tray: no", "tray: yes")), "334.10"), [yes; 5]);
    assert_eq!(ask(&cable("business", "type-II", &plain.replace("raceway: no", "raceway: yes")), "334.10"), [yes; 5]);
    assert_eq!(ask(&cable("multifamily", "type-II", plain), "334.10"), [no; 5]);
    let hoistway = plain.replace("barred-place: none", "barred-place: hoistway");
    assert_eq!(ask(&cable("one-family", "type-V", &hoistway), "334.12(A)(3)"), [no; 5]);
    assert_eq!(ask(&cable("one-family", "type-V", plain), "334.12(A)(3)"), [yes; 5]);
}

#[test]
fn wet_procedure_locations() {
    // f22; a loss of power that can be tolerated is for the governing body to say.
    let place = |entries: &str| format!("wet-procedure-location W {{ {entries} }}\n");
    assert_eq!(across(&place("protection: isolated-power, listed: yes"), "517.20(A)", "W"), ["met"; 5]);
    assert_eq!(across(&place("protection: interrupting"), "517.20(A)", "W"), ["for the authority"; 5]);
    assert_eq!(across(&place("protection: interrupting, loss-tolerable: yes"), "517.20(A)", "W"), ["met"; 5]);
    assert_eq!(across(&place("protection: none"), "517.20(A)", "W"), ["not met"; 5]);
    assert_eq!(across(&place("protection: isolated-power, listed: no"), "517.20(B)", "W"), ["not met"; 5]);
}
