//! Which places and appliances each edition binds, row by row of `tests/data/protection-by-edition.tsv`, whose sources stand
//! in its rows. A rule binds where an outlet without protection is not met; where it does not, no verdict may be open.
#![allow(clippy::unwrap_used, clippy::panic)]

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use support::Bench;

/// What an outlet is where a row says nothing else: unprotected, far from water, of no special use.
const SPACE: &str = "in-unit: dwelling-unit, in-basement: no, finished: yes, below-grade: no, food-provisions: no, showers: no, \
                     bed: none, beside: the-dwelling, toilet-and-basin: no, category: category-3";
const OUTLET: &str = "height: 18 in, moisture: dry, appliance: none, appliance-to-sink: none, serves-counter: no, for-servicing: no, \
                      readily-accessible: yes, gfci: none, gfci-place: none, locking: no, tamper-resistant: yes, \
                      weather-resistant: yes, cover: in-use, extra-duty: yes, opens-wide: yes, tub-side: none, \
                      zone-reason: none, plain-reason: none, replaced: no, two-wire-swap: no, \
                      equipment-protection-before: no, equipment-listed: yes, power-loss-hazard: no";
const WAYS: &str = "to-sink: none; to-tub: none; to-open-vessel: none";
const CIRCUIT: &str = "overcurrent: 20 A, volts: 120 V, volts-to-ground: 120 V, phases: single-phase, wiring: kept, afci: none, \
                       afci-reachable: no, alarm-in-metal: no, heating-cable-only: no";

/// Facts written over others by their names; each part is `name: value`.
fn over(usual: &str, said: &str, between: char) -> String {
    let mut all: BTreeMap<&str, &str> = BTreeMap::new();
    for entry in usual.split(between).chain(said.split(between)).map(str::trim).filter(|e| !e.is_empty()) {
        let (name, value) = entry.split_once(": ").unwrap_or_else(|| panic!("`{entry}` states nothing"));
        all.insert(name, value);
    }
    all.iter().map(|(name, value)| format!("    {name}: {value}\n")).collect()
}

fn facts(occupancy: &str, space: &str, outlet: &str, circuit: &str) -> String {
    // Ways to water hold commas themselves and stand behind a semicolon.
    let (outlet, ways) = outlet.split_once(';').unwrap_or((outlet, ""));
    format!(
        "project \"Row\" {{ installation: 2024-06-01, occupancy: {occupancy}, care-for-people: no }}\nspace room {{\n{}}}\n\
         branch-circuit C {{\n    serves: room\n{}    outlets {{ O {{\n    room: room\n{}{} }} }}\n}}\nservice: none\n",
        over(SPACE, space, ','),
        over(CIRCUIT, circuit, ','),
        over(OUTLET, outlet, ','),
        over(WAYS, ways, ';'),
    )
}

#[test]
fn what_each_edition_binds() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/protection-by-edition.tsv");
    let text = fs::read_to_string(file).unwrap();
    let rows = support::rows(&text);
    assert!(rows.len() > 100);
    let mut wrong = Vec::new();
    for (at, year) in ["2014", "2017", "2020", "2023"].iter().enumerate() {
        let bench = Bench::nec(year);
        for row in &rows {
            let [what, occupancy, space, outlet, circuit, section, rest @ ..] = row.as_slice() else {
                panic!("a row is short: {row:?}")
            };
            assert_eq!(rest.len(), 5, "{what} names no source");
            let report = bench.inspect(what, &facts(occupancy, space, outlet, circuit), &[]);
            let own: Vec<_> = report
                .verdicts
                .iter()
                .filter(|v| v.section.strip_prefix(section).is_some_and(|r| r.is_empty() || r.starts_with('(')))
                .collect();
            let bound = own.iter().any(|v| v.verdict == "not met");
            let open = own.iter().any(|v| v.verdict == "undecided" || v.verdict == "for the authority");
            if bound != (rest[at] == "Y") || (open && !bound) {
                let said: Vec<String> =
                    own.iter().map(|v| format!("{} {} {:?}", v.section, v.verdict, v.missing)).collect();
                wrong.push(format!("{section} {year}: {what} should be {}; {}", rest[at], said.join(", ")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
