//! The tables of working space, cover, cord loads and clearances, cell by cell, against copies of the published ones.
//!
//! The copies are in `tests/data/`; their header lines name the source and explain the marks. Every cell is tried at its
//! value and just below (or above, for a load), at both ends of its row.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::fmt::Write;
use support::{Bench, rows, verdict};

const NEC_DEPTH: &str = include_str!("data/nec_110_26_A_1_depth.tsv");
const NEC_COVER: &str = include_str!("data/nec_300_5_min_cover.tsv");
const K1: &str = include_str!("data/osha_table_K1_depth.tsv");
const S1: &str = include_str!("data/osha_table_S1_depth.tsv");
const S4: &str = include_str!("data/osha_table_S4_cord_load.tsv");
const S5: &str = include_str!("data/osha_table_S5_K4_receptacles.tsv");
const S6: &str = include_str!("data/osha_table_S6_overhead_clearance.tsv");
const OTHER: &str = include_str!("data/osha_working_space_other.tsv");

/// Questions put into one file of facts, with what each must answer.
#[derive(Default)]
struct Sheet {
    facts: String,
    asked: Vec<(String, &'static str)>,
}

impl Sheet {
    /// One more thing of a kind; `{}` in the entries is nothing but text.
    fn ask(&mut self, thing: &str, entries: &str, expected: &'static str) {
        let name = format!("x{}", self.asked.len());
        writeln!(self.facts, "{thing} {name} {{\n{entries}\n}}").unwrap();
        self.asked.push((name, expected));
    }

    /// Asks all at once of a section's verdict with that position among those of its subject.
    fn check(&self, bench: &Bench, project: &str, section: &str, at: usize, nested: &str) {
        assert!(!self.asked.is_empty());
        let report = bench.inspect(section, &format!("project \"T\" {{ {project} }}\n{}", self.facts), &[]);
        for (name, expected) in &self.asked {
            let subject = if nested.is_empty() { name.clone() } else { format!("{nested} of {name}") };
            let all = verdict(&report, section, &subject);
            let found = all.split(" and ").nth(at).unwrap_or("no such verdict");
            let facts = self.facts.split(&format!("{name} {{")).nth(1).and_then(|f| f.split('}').next());
            assert_eq!(found, *expected, "{section} of {name}: {facts:?}");
        }
    }
}

const NO_RELIEF: &str = "special-permission: no, live-replacement-procedures: no";

#[test]
fn depth_of_working_space() {
    for (year, count) in [("2014", 2), ("2017", 3), ("2020", 3), ("2023", 3), ("2026", 3)] {
        let mut sheet = Sheet::default();
        let mut compared = 0;
        for row in rows(NEC_DEPTH) {
            // The third row is of 2017, from memory.
            if year == "2014" && row[5] == "2017" {
                let entries =
                    format!("volts-to-ground: 601 V, worked-on-live: yes, facing: drywall, depth: 20 ft\n{NO_RELIEF}");
                sheet.ask("equipment", &entries, "undecided");
                continue;
            }
            compared += 1;
            for volts in [row[0], row[1]] {
                for (facing, feet) in [("drywall", row[2]), ("masonry", row[3]), ("exposed-live", row[4])] {
                    let mut ask = |depth: String, expected| {
                        let entries = format!(
                            "volts-to-ground: {volts} V, worked-on-live: yes, facing: {facing}, depth: {depth}\n{NO_RELIEF}"
                        );
                        sheet.ask("equipment", &entries, expected);
                    };
                    let inches = feet.parse::<f64>().unwrap() * 12.0;
                    ask(format!("{feet} ft"), "met");
                    ask(format!("{} in", inches - 0.1), "not met");
                }
            }
        }
        assert_eq!(compared, count);
        sheet.check(&Bench::nec(year), "", "110.26(A)(1)", 0, "");
    }
}

#[test]
fn a_voltage_between_two_rows_takes_the_higher() {
    // No source says so; the rows are printed 0-150 and 151-600 V. The rulebooks state `up to 150 V`, `up to 600 V`.
    let mut sheet = Sheet::default();
    for (volts, facing, depth, expected) in [
        ("150 V", "masonry", "3 ft", "met"),
        ("150.5 V", "masonry", "3 ft", "not met"),
        ("150.5 V", "masonry", "42 in", "met"),
        ("150 V through 151 V", "masonry", "3 ft", "undecided"),
        ("150 V through 151 V", "drywall", "3 ft", "met"),
        ("601 V", "drywall", "3 ft", "met"),
        ("1001 V", "drywall", "20 ft", "undecided"),
    ] {
        let entries =
            format!("volts-to-ground: {volts}, worked-on-live: yes, facing: {facing}, depth: {depth}\n{NO_RELIEF}");
        sheet.ask("equipment", &entries, expected);
    }
    sheet.check(&Bench::nec("2017"), "", "110.26(A)(1)", 0, "");
}

#[test]
fn cover_of_buried_runs() {
    let places = [
        ("not specified below", "yard"),
        ("trench under 2 in. concrete", "trench-under-concrete"),
        ("under a building", "under-building"),
        ("slab_4in", "under-slab"),
        ("streets, highways, roads, alleys, driveways, parking lots", "street"),
        ("1-2 family dwelling driveways and parking", "dwelling-driveway"),
        ("airport runways and adjacent areas", "airport"),
    ];
    let plain = "dwelling-branch: no, irrigation-or-landscape: no";
    let protected =
        "dwelling-branch: yes, volts: 120 V, overcurrent: 20 A, gfci-protected: yes, irrigation-or-landscape: no";
    let control = "dwelling-branch: no, irrigation-or-landscape: yes, volts: 30 V";
    let mut sheet = Sheet::default();
    let copy = rows(NEC_COVER);
    assert_eq!(copy.len(), places.len());
    for (row, (printed, place)) in copy.iter().zip(places) {
        assert_eq!(row[0], printed);
        let mut ask = |laid: &str, circuit: &str, cell: &str| {
            let entries = |cover: &str| {
                format!("place: {place}, laid: {laid}, cover: {cover}, grounding-electrode-conductor: no\n{circuit}")
            };
            match cell.parse::<i64>().unwrap() {
                -1 => sheet.ask("buried-run", &entries("100 in"), "not met"),
                0 => sheet.ask("buried-run", &entries("0 in"), "met"),
                inches => {
                    sheet.ask("buried-run", &entries(&format!("{inches} in")), "met");
                    sheet.ask("buried-run", &entries(&format!("{}.9 in", inches - 1)), "not met");
                }
            }
        };
        ask("direct-burial", plain, row[1]);
        ask("rigid-metal", plain, row[2]);
        ask("nonmetallic-raceway", plain, row[3]);
        for (circuit, cell) in [(protected, row[4]), (control, row[5])] {
            let (buried, raceway) = cell.split_once('/').unwrap_or((cell, if cell == "-1" { "0" } else { cell }));
            ask("direct-burial", circuit, buried);
            // A raceway's own column holds as well: the smaller of the two is enough.
            let own: i64 = row[3].parse().unwrap();
            ask("nonmetallic-raceway", circuit, &own.min(raceway.parse().unwrap()).to_string());
        }
    }
    for year in ["2014", "2017", "2020", "2023", "2026"] {
        sheet.check(&Bench::nec(year), "", "300.5(A)", 0, "");
    }
}

#[test]
fn depth_at_workplaces() {
    let sides = [("nothing-near", 2), ("grounded", 4), ("exposed-live", 6)];
    let mut newer = Sheet::default();
    let mut older = Sheet::default();
    let copy = rows(S1);
    assert_eq!(copy.len(), 2);
    for row in copy {
        for volts in [row[0], row[1]] {
            for (at, (side, column)) in sides.iter().enumerate() {
                let (metres, feet) = (row[*column], row[*column + 1]);
                let entries = |depth: String| {
                    format!("volts-to-ground: {volts} V, worked-on-live: yes, opposite: {side}, depth: {depth}")
                };
                let smaller = |metres: &str| format!("{} m", metres.parse::<f64>().unwrap() - 0.001);
                newer.ask("equipment", &entries(format!("{feet} ft")), "met");
                newer.ask("equipment", &entries(format!("{metres} m")), "met");
                newer.ask("equipment", &entries(smaller(metres)), "not met");
                // `A,B: 0.7/2.5`: the conditions that had less before 1981.
                let (letters, pair) = row[8].split_once(": ").unwrap();
                let letter = ["A", "B", "C"][at];
                let (metres, feet) =
                    if letters.contains(letter) { pair.split_once('/').unwrap() } else { (metres, feet) };
                older.ask("equipment", &entries(format!("{feet} ft")), "met");
                older.ask("equipment", &entries(format!("{metres} m")), "met");
                older.ask("equipment", &entries(smaller(metres)), "not met");
            }
        }
    }
    let bench = Bench::open("osha 1910-s");
    newer.check(&bench, "built: 1981-04-16", "1910.303(g)(1)(i)(A)", 0, "");
    older.check(&bench, "built: 1981-04-15", "1910.303(g)(1)(i)(A)", 0, "");
    // Where the date is not known, what both ages allow is met and what neither allows is not.
    let mut unknown = Sheet::default();
    for (depth, expected) in [("3 ft", "met"), ("32 in", "undecided"), ("27 in", "not met")] {
        let entries = format!("volts-to-ground: 120 V, worked-on-live: yes, opposite: nothing-near, depth: {depth}");
        unknown.ask("equipment", &entries, expected);
    }
    unknown.check(&bench, "", "1910.303(g)(1)(i)(A)", 0, "");
}

#[test]
fn depth_on_construction_sites() {
    let mut sheet = Sheet::default();
    for row in rows(K1) {
        for volts in [row[0], row[1]] {
            for (side, feet) in [("nothing-near", row[2]), ("grounded", row[3]), ("exposed-live", row[4])] {
                let entries = |depth: String| {
                    format!("volts-to-ground: {volts} V, worked-on-live: yes, opposite: {side}, depth: {depth}")
                };
                sheet.ask("equipment", &entries(format!("{feet} ft")), "met");
                sheet.ask("equipment", &entries(format!("{} ft", feet.parse::<f64>().unwrap() - 0.01)), "not met");
            }
        }
    }
    assert_eq!(sheet.asked.len(), 24);
    sheet.check(&Bench::open("osha 1926-k"), "", "1926.403(i)(1)(i)", 0, "");
}

#[test]
fn loads_and_ratings_of_receptacles() {
    let mut loads = Sheet::default();
    for row in rows(S4) {
        for circuit in row[0].split(" or ") {
            for (load, expected) in [(row[2].to_string(), "met"), (format!("{}.1", row[2]), "not met")] {
                let entries = format!(
                    "rating: {circuit} A, individual: no, temporary: no\nreceptacles {{ R {{ rating: {} A, load: {load} A }} }}",
                    row[1]
                );
                loads.ask("circuit", &entries, expected);
            }
        }
    }
    assert_eq!(loads.asked.len(), 8);
    loads.check(&Bench::open("osha 1910-s"), "", "1910.304(b)(4)(ii)(B)", 0, "R");

    let mut ratings = Sheet::default();
    for row in rows(S5) {
        for rating in ["10", "15", "20", "30", "40", "50", "60"] {
            let number: u32 = rating.parse().unwrap();
            let allowed = match row[1].strip_prefix("<=") {
                Some(most) => number <= most.parse().unwrap(),
                None => row[1].split('|').any(|one| one == rating),
            };
            let entries = format!("rating: {} A, individual: no\nreceptacles {{ R {{ rating: {rating} A }} }}", row[0]);
            ratings.ask("circuit", &entries, if allowed { "met" } else { "not met" });
        }
    }
    assert_eq!(ratings.asked.len(), 35);
    ratings.check(&Bench::open("osha 1910-s"), "", "1910.304(b)(4)(ii)(C)", 0, "R");
    ratings.check(&Bench::open("osha 1926-k"), "", "1926.404(b)(2)(ii)", 0, "R");
}

#[test]
fn open_conductors_overhead() {
    let over = [("walkway", "149"), ("residential", "299"), ("residential", "301"), ("traffic", "599")];
    let mut sheet = Sheet::default();
    let copy = rows(S6);
    assert_eq!(copy.len(), over.len());
    for (row, (over, volts)) in copy.iter().zip(over) {
        for (height, expected) in [
            (format!("{} m", row[0]), "met"),
            (format!("{} ft", row[1]), "met"),
            (format!("{} ft", row[1].parse::<f64>().unwrap() - 0.1), "not met"),
        ] {
            sheet.ask("span", &format!("over: {over}, volts-to-ground: {volts} V, height: {height}"), expected);
        }
    }
    let bench = Bench::open("osha 1910-s");
    sheet.check(&bench, "built: 2007-08-13", "1910.304(c)(2)", 0, "");
    let mut older = Sheet::default();
    older.ask("span", "over: walkway, volts-to-ground: 120 V, height: 8 ft", "not applicable");
    older.check(&bench, "built: 2007-08-12", "1910.304(c)(2)", 0, "");
}

#[test]
fn other_limits_at_workplaces() {
    let copy = rows(OTHER);
    let value = |what: &str| copy.iter().find(|r| r[0] == what).unwrap()[1];
    assert_eq!(value("headroom"), "1.91 m / 6.25 ft");
    assert_eq!(value("protrusion_above_below"), "153 mm / 6 in.");
    assert_eq!(value("two_entrances"), ">=1200 A and wider than 1.83 m / 6.0 ft");
    assert_eq!(value("dedicated_space_above"), "1.83 m / 6.0 ft or structural ceiling");
    let bench = Bench::open("osha 1910-s");
    let live = "volts-to-ground: 120 V, worked-on-live: yes";
    let ask = |entries: &str, built: &str, section: &str, at: usize, expected: &'static str| {
        let mut sheet = Sheet::default();
        sheet.ask("equipment", &format!("{live}, {entries}"), expected);
        sheet.check(&bench, &format!("built: {built}"), section, at, "");
    };
    for (projection, expected) in [("none", "met"), ("6 in", "met"), ("153 mm", "met"), ("154 mm", "not met")] {
        ask(&format!("projection: {projection}"), "2010-01-01", "1910.303(g)(1)(i)(C)", 0, expected);
    }
    let large = "rated-current: 1200 A, own-width: 6.1 ft, entrances-at-each-end: no, unobstructed-egress: no, depth: 3 ft\nopposite: grounded";
    ask(large, "2010-01-01", "1910.303(g)(1)(iv)(B)", 1, "not met");
    for other in [large.replace("1200 A", "1199 A"), large.replace("6.1 ft", "6 ft"), large.replace("6.1 ft", "1.83 m")]
    {
        ask(&other, "2010-01-01", "1910.303(g)(1)(iv)(B)", 1, "not applicable");
    }
    for (above, ceiling, expected) in [("6 ft", "9 ft", "met"), ("4 ft", "4 ft", "met"), ("5 ft", "9 ft", "not met")] {
        let entries = format!("indoor-board: yes, space-above: {above}, to-ceiling: {ceiling}");
        ask(&entries, "2010-01-01", "1910.303(g)(1)(vii)", 0, expected);
    }
}
