//! Conversions between units against `golden/units.tsv`, written by an independent implementation
//! (`golden/make_units.py`); the authority is NIST SP 811, App. B.8.
#![allow(clippy::panic)]
use std::collections::BTreeSet;
use whereas::base::dimension::{Dimension, conversion};
use whereas::base::number::Number;
use whereas::base::unit::{self, Unit};

const GOLDEN: &str = include_str!("golden/units.tsv");

/// Largest relative error allowed where the golden value is a float.
const TOLERANCE: f64 = 1e-9;

fn known(symbol: &str) -> &'static Unit {
    unit::lookup(symbol).unwrap_or_else(|| panic!("no unit {symbol}"))
}

fn converted(value: &Number, from: &Unit, to: &Unit) -> Number {
    let factor = conversion(from.dimension, to.dimension).unwrap_or_else(|| panic!("{from:?} to {to:?}"));
    let base = unit::to_base(value, from).mul(&factor);
    unit::from_base(&base, to).unwrap_or_else(|| panic!("{to:?} has no size"))
}

fn rows() -> impl Iterator<Item = [&'static str; 5]> {
    GOLDEN.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| {
        let cells: Vec<&str> = line.split('\t').collect();
        cells.try_into().unwrap_or_else(|cells| panic!("{cells:?} is no row of five"))
    })
}

#[test]
fn conversions_agree_with_the_golden_table() {
    let mut wrong = Vec::new();
    for [value, from, to, result, kind] in rows() {
        let number = Number::parse_decimal(value).unwrap_or_else(|| panic!("{value}"));
        let ours = converted(&number, known(from), known(to));
        let agrees = match kind {
            "exact" => Number::parse_decimal(result) == Some(ours.clone()),
            "float" => {
                let theirs: f64 = result.parse().unwrap_or_else(|_| panic!("{result}"));
                (ours.to_f64() - theirs).abs() <= TOLERANCE * theirs.abs()
            }
            other => panic!("unknown kind {other}"),
        };
        if !agrees {
            wrong.push(format!("{value} {from} = {ours} {to}, golden {result} ({kind})"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_unit_is_in_the_golden_table() {
    let tested: BTreeSet<&str> = rows().flat_map(|[_, from, to, _, _]| [from, to]).collect();
    let missing: Vec<&str> = unit::all()
        .filter(|unit| ![Dimension::COUNT, Dimension::VOLTAGE_TIMES_CURRENT].contains(&unit.dimension))
        .map(|unit| unit.symbol)
        .filter(|symbol| !tested.contains(symbol))
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
    assert!(rows().count() >= 120);
}

#[test]
fn every_conversion_comes_back() {
    for [value, from, to, _, _] in rows() {
        let number = Number::parse_decimal(value).unwrap_or_else(|| panic!("{value}"));
        let there = converted(&number, known(from), known(to));
        assert_eq!(converted(&there, known(to), known(from)), number, "{value} {from} to {to}");
    }
}

/// Conversions as public sources print them, `data/units_conversion.tsv`: exact ones exactly, others to the digits printed.
#[test]
fn conversions_agree_with_what_is_printed() {
    // Not units of the language: another horsepower, powers by a power factor, resistance by length, torque.
    let left_out = ["hp (550 ft*lbf/s)", "hp (metric)", "ohm/kft", "lbf*in"];
    let copy = include_str!("data/units_conversion.tsv");
    let mut compared = 0;
    for line in copy.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let [from, to, value, exact, ..] = line.split('\t').collect::<Vec<_>>()[..] else { panic!("{line}") };
        if left_out.contains(&from) || (from, to) == ("VA", "W") {
            continue;
        }
        compared += 1;
        let one = |from: &str, to: &str, number: &str| {
            converted(&Number::parse_decimal(number).unwrap_or_else(|| panic!("{number}")), known(from), known(to))
        };
        match (from, to) {
            ("degF", "degC") => {
                assert_eq!(value, "(F-32)*5/9");
                assert_eq!(one("degF", "degC", "212"), one("degC", "degC", "100"));
                assert_eq!(one("degF", "degC", "86"), one("degC", "degC", "30"));
            }
            ("degC", "degF") => {
                assert_eq!(value, "C*9/5+32");
                assert_eq!(one("degC", "degF", "-40"), one("degF", "degF", "-40"));
                assert_eq!(one("degC", "degF", "30"), one("degF", "degF", "86"));
            }
            ("delta degF", "delta degC") => {
                assert_eq!(one("delta-degF", "delta-degC", "9"), one("delta-degC", "delta-degC", "5"));
            }
            _ => {
                let from = if from == "hp (electric)" { "hp" } else { from };
                let ours = one(from, to, "1");
                let printed = value.trim_start_matches("pi/4 = ");
                if exact.starts_with("yes") && !printed.contains("10.76") {
                    assert_eq!(Some(&ours), Number::parse_decimal(printed).as_ref(), "{from} to {to}");
                } else {
                    let theirs: f64 = printed.parse().unwrap_or_else(|_| panic!("{printed}"));
                    assert!(
                        (ours.to_f64() - theirs).abs() <= TOLERANCE * theirs,
                        "{from} to {to}: {ours}, printed {printed}"
                    );
                }
            }
        }
    }
    assert_eq!(compared, 20);
}
