//! What flips between editions: the cases of the chain whose answer depends on the edition, each under all five.
//!
//! The facts are those of `tests/cases/` and the sources are given there and beside each row, by the keys that
//! `rulebooks/README.md` explains. `m` beside a cell: its edition is from memory. A cell that sources dispute is expected
//! undecided, by the reading that holds both sides.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::fs;
use std::path::Path;
use support::Bench;

const YEARS: [&str; 5] = ["2014", "2017", "2020", "2023", "2026"];

/// One row: what is asked of a case under each edition. `""` where the question has another number then.
struct Row<'r> {
    case: &'r str,
    /// A change to the facts as stated: old and new.
    instead: Option<(&'r str, &'r str)>,
    reading: Option<&'r str>,
    section: &'r str,
    subject: &'r str,
    expected: [&'r str; 5],
}

fn facts(case: &str, instead: Option<(&str, &str)>) -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/cases/{case}.facts"));
    let text = fs::read_to_string(file).unwrap();
    match instead {
        Some((old, new)) => {
            assert!(text.contains(old), "{case}: `{old}` does not stand in the facts");
            text.replace(old, new)
        }
        None => text,
    }
}

fn check(rows: &[Row]) {
    let mut wrong = Vec::new();
    for (at, year) in YEARS.iter().enumerate() {
        let bench = Bench::nec(year);
        for row in rows.iter().filter(|row| !row.expected[at].is_empty()) {
            let readings: Vec<String> = row.reading.iter().map(|r| r.to_string()).collect();
            let report = bench.inspect(row.case, &facts(row.case, row.instead), &readings);
            let came_out = match row.section.split_once(' ') {
                Some((section, standing)) => support::standing(&report, section, standing, row.subject),
                None => support::verdict(&report, row.section, row.subject),
            };
            if came_out != row.expected[at] {
                wrong.push(format!(
                    "{} {} of {} under {year}{}: expected {}, came out {came_out}",
                    row.case,
                    row.section,
                    row.subject,
                    row.reading.map(|r| format!(" with {r}")).unwrap_or_default(),
                    row.expected[at],
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

const PLAIN: Row = Row { case: "", instead: None, reading: None, section: "", subject: "R1", expected: [""; 5] };

#[test]
fn high_luminaires_on_ordinary_cable() {
    // A08: (A) alone through 2014 (f4, f7, f8); (A) or (B) from 2017 (f4, f5), 2020 and 2023 (c1), 2026 m; read in two ways.
    let row = Row { case: "A08", section: "517.13", subject: "L1", ..PLAIN };
    let open = "undecided by either-path";
    check(&[
        Row { expected: ["not met", open, open, open, open], ..row },
        Row { reading: Some("either-path=strict"), expected: ["", "not met", "not met", "not met", "not met"], ..row },
        Row { reading: Some("either-path=literal"), expected: ["", "met", "met", "met", "met"], ..row },
        Row { subject: "S1", expected: ["not met", open, open, open, open], ..row },
    ]);
}

#[test]
fn a_box_that_the_insulated_wire_does_not_reach() {
    // A14: a violation since 2011 (f1, f12; TP6, FA16). The box of a luminaire within reach: only boxes with receptacles
    // through 2014 (f1, f12), metal boxes of all outlets from 2017 m, 2023 (c3).
    let row = Row { case: "A14", section: "517.13(B)(1)(2)", ..PLAIN };
    let fixed = Some(("device: receptacle, height: 18 in", "device: fixed-equipment, height: 18 in"));
    check(&[
        Row { expected: ["not met"; 5], ..row },
        Row { instead: fixed, expected: ["not applicable", "not met", "not met", "not met", "not met"], ..row },
    ]);
}

#[test]
fn isolated_ground_receptacles() {
    // A15: banned within the vicinity in all (m1, f47; m2, c4; 2020 on m). Beyond it: disputed in 2014 (m1 against f47),
    // allowed with its own conductors from 2017 (m2, c4, n1), 2020 on m.
    let row = Row { case: "A15", ..PLAIN };
    let beyond = Some(("in-vicinity: yes", "in-vicinity: no"));
    check(&[
        Row { section: "517.16(A)", expected: ["not met"; 5], ..row },
        Row {
            section: "517.16(B)",
            instead: beyond,
            expected: [
                "undecided by ban-ends-at-vicinity",
                "no such verdict",
                "no such verdict",
                "no such verdict",
                "no such verdict",
            ],
            ..row
        },
        Row { section: "517.16(B)(1)", instead: beyond, expected: ["met"; 5], ..row },
        Row { section: "517.16(B)(2)", instead: beyond, expected: ["met"; 5], ..row },
    ]);
}

#[test]
fn a_room_for_talk_only() {
    // A21: before 2020 it is for the authority whether patients are treated there; from 2020 the room is excluded
    // (FA21, TP8; the edition m).
    let row = Row { case: "A21", section: "517.13", instead: Some(("use: other-use", "use: talk-only")), ..PLAIN };
    check(&[Row {
        expected: ["for the authority", "for the authority", "not applicable", "not applicable", "not applicable"],
        ..row
    }]);
}

#[test]
fn a_plastic_box_on_a_metal_path() {
    // A24: the text names no boxes before 2026, the intent was metal (CE2, d1); 2026 names them (c2).
    let open = "undecided by boxes-carry-on";
    check(&[Row { case: "A24", section: "517.13", expected: [open, open, open, open, "not met"], ..PLAIN }]);
}

#[test]
fn flexible_conduit_of_trade_size_one_and_a_half() {
    // B03: no size limit in 2014, 1 1/4 from 2017 (c7, c8), 2023 and 2026 m. The list is 250.118(A) from 2023 (r3, c9).
    let row = Row { case: "B03", subject: "whip of raceway", ..PLAIN };
    let (no, yes) = ("does not qualify", "qualifies");
    check(&[
        Row { section: "250.118 grounding-conductor", expected: [yes, no, no, "", ""], ..row },
        Row { section: "250.118(A) grounding-conductor", expected: ["", "", "", no, no], ..row },
    ]);
}

#[test]
fn a_wire_next_to_enlarged_conductors() {
    // B09: sizes forced by adjustment factors are no increase from 2014 on (f36, f37, f38; f39 for 2020). For voltage drop
    // they are; from 2020 a qualified person may size the wire otherwise (b3), which remains that person's to say.
    let row = Row { case: "B09", section: "250.122(B)", subject: "green", ..PLAIN };
    let drop = Some(("minimum-size: 6 AWG", "minimum-size: 8 AWG"));
    check(&[
        Row { expected: ["not applicable"; 5], ..row },
        Row {
            instead: drop,
            expected: ["not met", "not met", "for the authority", "for the authority", "for the authority"],
            ..row
        },
    ]);
}

#[test]
fn a_loop_of_sheathed_cable_before_the_first_staple() {
    // D06: 12 inches, straight or along the cable, before 2020 (FA48, z3); 18 inches along the cable too from 2020
    // (FA48, the edition m).
    let row = Row { case: "D06", section: "334.30", subject: "run of cable", ..PLAIN };
    let open = "met and undecided by near-its-box";
    let eighteen = Some(("sheath-to-fastening: 20 in\n", "sheath-to-fastening: 18 in\n"));
    check(&[
        Row { expected: [open, open, "met and not met", "met and not met", "met and not met"], ..row },
        Row { instead: eighteen, expected: [open, open, "met and met", "met and met", "met and met"], ..row },
    ]);
}

#[test]
fn the_largest_aluminum_wires() {
    // Table 250.122: aluminum at 6000 A left 1200 kcmil in 2020 (c10; w1 for the value since); copper stayed at 800 kcmil.
    let row = Row { case: "B09", section: "250.122(A)", subject: "green", ..PLAIN };
    let with = |material: &str, size: &str| {
        facts("B09", None)
            .replace("overcurrent: 50 A", "overcurrent: 6000 A")
            .replace(
                "ungrounded-size: 6 AWG, minimum-size: 6 AWG",
                "ungrounded-size: 2000 kcmil, minimum-size: 2000 kcmil",
            )
            .replace("material: copper", &format!("material: {material}"))
            .replace("size: 10 AWG", &format!("size: {size}"))
    };
    for (material, size, expected) in [
        ("aluminum", "1200 kcmil", ["met", "met", "not met", "not met", "not met"]),
        ("aluminum", "1250 kcmil", ["met"; 5]),
        ("copper", "800 kcmil", ["met"; 5]),
        ("copper", "750 kcmil", ["not met"; 5]),
    ] {
        let came_out = YEARS.map(|year| {
            let report = Bench::nec(year).inspect("B09", &with(material, size), &[]);
            support::verdict(&report, row.section, row.subject)
        });
        assert_eq!(came_out, expected, "{material} {size}");
    }
}

#[test]
fn armored_cable_through_framing() {
    // 320.30: framing members support a horizontal run in 2017 and, from 2020, also secure it (c16; 2014, 2023, 2026 m).
    let text = facts("D06", None).replace("nonmetallic-sheathed-cable", "armored-cable").replace(
        "secured-every: 4 ft, secured-within: 12 in",
        "through-framing: yes, secured-every: 20 ft, supported-every: 16 in, secured-within: 12 in",
    );
    let came_out = YEARS.map(|year| {
        let report = Bench::nec(year).inspect("D06", &text, &[]);
        support::verdict(&report, "320.30(B)", "run of cable")
    });
    let older = "met and not met";
    assert_eq!(came_out, [older, older, "met and met", "met and met", "met and met"]);
}

#[test]
fn what_2023_and_2026_say_of_flexible_raceways() {
    // Flexible metallic tubing has a limit of voltage in 2026 whose value was not seen (c9). Stainless flexible conduit
    // without a wire: the condition is quoted without its edition (f28, c8).
    let row = Row { case: "B03", subject: "whip of raceway", ..PLAIN };
    let tubing = Some((
        "method: flexible-metal-conduit\n                    trade-size: trade 1 1/2",
        "method: flexible-metallic-tubing\n                    trade-size: trade 3/4",
    ));
    let stainless = Some(("trade-size: trade 1 1/2", "stainless: yes, trade-size: trade 1"));
    let plain = Some(("trade-size: trade 1 1/2", "stainless: no, trade-size: trade 1"));
    let (yes, no, old, new) =
        ("qualifies", "does not qualify", "250.118 grounding-conductor", "250.118(A) grounding-conductor");
    check(&[
        Row { section: old, instead: tubing, expected: [yes, yes, yes, "", ""], ..row },
        Row { section: new, instead: tubing, expected: ["", "", "", yes, "undecided"], ..row },
        Row { section: old, instead: stainless, expected: [yes, yes, yes, "", ""], ..row },
        Row { section: new, instead: stainless, expected: ["", "", "", "undecided", "undecided"], ..row },
        Row {
            section: new,
            instead: stainless,
            reading: Some("stainless-has-wire=asked"),
            expected: ["", "", "", no, no],
            ..row
        },
        Row { section: new, instead: plain, expected: ["", "", "", yes, yes], ..row },
    ]);
}

/// What stands in a number's place under other editions is asked in a row of its own.
fn at(year: &str, verdict: &'static str) -> [&'static str; 5] {
    YEARS.map(|own| if own == year { verdict } else { "" })
}

#[test]
fn a_refrigerator_seven_feet_from_the_sink() {
    // C01: the kitchen item reads countertops to 2020, all receptacles from 2023 (FA34, FA64; SV1, NA23), 2026 m.
    let (no, free) = ("not met", "not applicable");
    check(&[Row { case: "C01", section: "210.8(A)(6)", expected: [free, free, free, no, no], ..PLAIN }]);
}

#[test]
fn a_dishwasher_without_a_plug() {
    // C02: 210.8(D) in 2014 and 2017 (FA35, FB3), 422.5(A)(7) in 2020 (CE810), 210.8(D)(7) from 2023 (MR23b, MG308; the
    // number m), 2026 m.
    let row = Row { case: "C02", subject: "H1", ..PLAIN };
    check(&[
        Row { section: "210.8(D)", expected: ["not met", "not met", "", "", ""], ..row },
        Row { section: "422.5(A)(7)", expected: at("2020", "not met"), ..row },
        Row { section: "210.8(D)(7)", expected: ["", "", "", "not met", "not met"], ..row },
    ]);
}

#[test]
fn a_dryer_of_240_volts() {
    // C03: 125 V receptacles only to 2017, to 250 V from 2020 (DX1, FA38b; EM1, SV1), 2026 m. The item is (11) from 2023.
    let row = Row { case: "C03", ..PLAIN };
    check(&[
        Row { section: "210.8(A)(10)", expected: ["not applicable", "not applicable", "not met", "", ""], ..row },
        Row { section: "210.8(A)(11)", expected: ["", "", "", "not met", "not met"], ..row },
    ]);
}

#[test]
fn a_receptacle_behind_the_door_of_the_sink_cabinet() {
    // C05: in from 2014, out in 2017, in again from 2020 (FA36, MF3, CE13, FAQ1; IA1, CE807), 2026 m. (8) from 2023.
    let row = Row { case: "C05", ..PLAIN };
    check(&[
        Row { section: "210.8(A)(7)", expected: ["not met", "not applicable", "not met", "", ""], ..row },
        Row { section: "210.8(A)(8)", expected: ["", "", "", "not met", "not met"], ..row },
    ]);
}

#[test]
fn a_condenser_behind_a_house() {
    // C07: no rule to 2017; 50 A from 2020, with time for listed HVAC equipment to 2026-08-31 from 2023, 60 A in 2026 (FA38,
    // CE6, IA3; CE812, F1, F2, CE1852, GF1). Excused is met.
    let row = Row { case: "C07", section: "210.8(F)", subject: "H1", ..PLAIN };
    let (none, no, free) = ("no such verdict", "not met", "not applicable");
    let late = Some(("installation: 2024-06-01", "installation: 2026-10-01"));
    let large = Some(("overcurrent: 40 A", "overcurrent: 60 A"));
    check(&[
        Row { expected: [none, none, no, "met", "met"], ..row },
        Row { instead: late, expected: [none, none, no, no, no], ..row },
        Row { instead: large, expected: [none, none, free, free, "met"], ..row },
    ]);
}

#[test]
fn a_sleeping_room_of_a_nursing_home() {
    // C11: no dwelling and no dormitory to 2017, a patient sleeping room from 2020 (FA42, CE14, MF4; RU20, MG133), 2026 m.
    let row = Row { case: "C11", subject: "C1", ..PLAIN };
    check(&[
        Row { section: "210.12(A)", expected: ["not applicable", "not applicable", "", "", ""], ..row },
        Row { section: "210.12(C)", expected: ["not applicable", "not applicable", "not met", "", ""], ..row },
        Row { section: "210.12(D)", expected: ["", "", "", "not met", "not met"], ..row },
    ]);
}

#[test]
fn working_space_at_the_disconnect_of_an_air_conditioner() {
    // F05: a poll split before 2023 (FA56, FC5); 440.14 sends it to 110.26(A) in 2023 (CE9), 2026 m.
    let open = "undecided by disconnect-counts";
    let row = Row { case: "F05", section: "110.26(A)(1)", subject: "AC-1", ..PLAIN };
    check(&[
        Row { expected: [open, open, open, "not met", "not met"], ..row },
        Row {
            section: "110.26(A)(6)",
            expected: ["no such verdict", "no such verdict", "no such verdict", "undecided", "undecided"],
            ..row
        },
    ]);
}
