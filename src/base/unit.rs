//! Units: their symbols, exact sizes, and showing values in them.
//!
//! Values are kept in base units (m, kg, s, A, V, degC, deg, cmil and products of them). Sizes follow NIST SP 811,
//! App. B.8, and NIST Handbook 44, App. C; every one is exact. Wire gauges and trade sizes are labels in order, not
//! units; the short ton and the ton of refrigeration are left out because trade calls both `ton`. Forms such as
//! `6 ft 6 in` are read by the syntax layer; [`show_feet_inches`] only prints them.
use super::dimension::{Dimension, comparable, conversion};
use super::number::Number;
use num_bigint::BigInt;
use num_traits::Signed;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A unit of measure. A value `n` in it is (`n` - `zero`) * `factor` / `divisor` base units.
#[derive(Debug)]
pub struct Unit {
    /// How it is written: `ft`, `kcmil`, `degC`.
    pub symbol: &'static str,
    /// Other accepted spellings: names in singular and plural, raised digits, signs.
    pub aliases: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// Base units in one of it, before `divisor`.
    pub factor: Number,
    /// Divides `factor`; one for most units.
    pub divisor: Number,
    /// The reading at the zero of the base unit; nought for all but temperature readings.
    pub zero: Number,
}

impl PartialEq for Unit {
    /// Units are one table, so the symbol says all.
    fn eq(&self, other: &Unit) -> bool {
        self.symbol == other.symbol
    }
}

impl Eq for Unit {}

const fn unit(symbol: &'static str, aliases: &'static [&'static str], dimension: Dimension, factor: Number) -> Unit {
    Unit { symbol, aliases, dimension, factor, divisor: Number::ONE, zero: Number::ZERO }
}

/// A unit that is `factor` / `divisor` base units, with its reading at the zero of the base unit.
const fn fraction(
    symbol: &'static str,
    aliases: &'static [&'static str],
    dimension: Dimension,
    factor: Number,
    divisor: Number,
    zero: Number,
) -> Unit {
    Unit { symbol, aliases, dimension, factor, divisor, zero }
}

const fn whole(value: i64) -> Number {
    Number::decimal(value, 0)
}

const fn dec(mantissa: i64, scale: u8) -> Number {
    Number::decimal(mantissa, scale)
}

use Dimension as D;

/// All units. The first of a dimension is the one values without a preferred unit are shown in, and is of size one.
static UNITS: [Unit; 59] = [
    unit("m", &["meter", "meters", "metre", "metres"], D::LENGTH, Number::ONE),
    unit("mm", &["millimeter", "millimeters", "millimetre", "millimetres"], D::LENGTH, dec(1, 3)),
    unit("cm", &["centimeter", "centimeters", "centimetre", "centimetres"], D::LENGTH, dec(1, 2)),
    unit("km", &["kilometer", "kilometers", "kilometre", "kilometres"], D::LENGTH, whole(1000)),
    unit("in", &["inch", "inches"], D::LENGTH, dec(254, 4)),
    unit("ft", &["foot", "feet"], D::LENGTH, dec(3048, 4)),
    unit("yd", &["yard", "yards"], D::LENGTH, dec(9144, 4)),
    unit("mil", &["mils"], D::LENGTH, dec(254, 7)),
    unit("m2", &["m²"], D::AREA, Number::ONE),
    unit("mm2", &["mm²"], D::AREA, dec(1, 6)),
    unit("cm2", &["cm²"], D::AREA, dec(1, 4)),
    unit("in2", &["in²"], D::AREA, dec(64_516, 8)),
    unit("ft2", &["ft²"], D::AREA, dec(9_290_304, 8)),
    unit("yd2", &["yd²"], D::AREA, dec(83_612_736, 8)),
    unit("mil2", &["mil²"], D::AREA, dec(64_516, 14)),
    unit("cmil", &["cmils"], D::CIRCULAR_AREA, Number::ONE),
    unit("kcmil", &["kcmils"], D::CIRCULAR_AREA, whole(1000)),
    unit("m3", &["m³"], D::VOLUME, Number::ONE),
    unit("mm3", &["mm³"], D::VOLUME, dec(1, 9)),
    unit("cm3", &["cm³"], D::VOLUME, dec(1, 6)),
    unit("L", &["liter", "liters", "litre", "litres"], D::VOLUME, dec(1, 3)),
    unit("in3", &["in³"], D::VOLUME, dec(16_387_064, 12)),
    unit("ft3", &["ft³"], D::VOLUME, dec(28_316_846_592, 12)),
    unit("V", &["volt", "volts"], D::VOLTAGE, Number::ONE),
    unit("mV", &["millivolt", "millivolts"], D::VOLTAGE, dec(1, 3)),
    unit("kV", &["kilovolt", "kilovolts"], D::VOLTAGE, whole(1000)),
    unit("A", &["amp", "amps", "ampere", "amperes"], D::CURRENT, Number::ONE),
    unit("mA", &["milliampere", "milliamperes", "milliamp", "milliamps"], D::CURRENT, dec(1, 3)),
    unit("kA", &["kiloampere", "kiloamperes", "kiloamp", "kiloamps"], D::CURRENT, whole(1000)),
    unit("W", &["watt", "watts"], D::POWER, Number::ONE),
    unit("kW", &["kilowatt", "kilowatts"], D::POWER, whole(1000)),
    // The electric horsepower, 746 W by definition; not that of 550 foot-pounds-force per second (745.7 W).
    unit("hp", &["horsepower"], D::POWER, whole(746)),
    unit("VA", &["volt-ampere", "volt-amperes"], D::APPARENT_POWER, Number::ONE),
    unit("kVA", &["kilovolt-ampere", "kilovolt-amperes"], D::APPARENT_POWER, whole(1000)),
    unit("MVA", &["megavolt-ampere", "megavolt-amperes"], D::APPARENT_POWER, whole(1_000_000)),
    unit("W/m2", &["W/m²"], D::POWER_PER_AREA, Number::ONE),
    fraction("W/ft2", &["W/ft²"], D::POWER_PER_AREA, Number::ONE, dec(9_290_304, 8), Number::ZERO),
    unit("VA/m2", &["VA/m²"], D::APPARENT_POWER_PER_AREA, Number::ONE),
    fraction("VA/ft2", &["VA/ft²"], D::APPARENT_POWER_PER_AREA, Number::ONE, dec(9_290_304, 8), Number::ZERO),
    unit("ohm", &["ohms", "\u{3a9}", "\u{2126}"], D::RESISTANCE, Number::ONE),
    unit("degC", &["°C"], D::TEMPERATURE, Number::ONE),
    fraction("degF", &["°F"], D::TEMPERATURE, whole(5), whole(9), whole(32)),
    fraction("K", &["kelvin", "kelvins"], D::TEMPERATURE, Number::ONE, Number::ONE, dec(27_315, 2)),
    unit("delta-degC", &[], D::TEMPERATURE_DIFFERENCE, Number::ONE),
    fraction("delta-degF", &[], D::TEMPERATURE_DIFFERENCE, whole(5), whole(9), Number::ZERO),
    unit("deg", &["°", "degree", "degrees"], D::ANGLE, Number::ONE),
    unit("kg", &["kilogram", "kilograms"], D::MASS, Number::ONE),
    unit("g", &["gram", "grams"], D::MASS, dec(1, 3)),
    unit("lb", &["lbs", "pound", "pounds"], D::MASS, dec(45_359_237, 8)),
    unit("oz", &["ounce", "ounces"], D::MASS, dec(28_349_523_125, 12)),
    unit("s", &["second", "seconds"], D::TIME, Number::ONE),
    unit("ms", &["millisecond", "milliseconds"], D::TIME, dec(1, 3)),
    unit("min", &["minute", "minutes"], D::TIME, whole(60)),
    unit("h", &["hr", "hour", "hours"], D::TIME, whole(3600)),
    unit("day", &["days"], D::TIME, whole(86_400)),
    unit("V*A", &[], D::VOLTAGE_TIMES_CURRENT, Number::ONE),
    unit("ratio", &[], D::RATIO, Number::ONE),
    unit("%", &["percent"], D::RATIO, dec(1, 2)),
    unit("count", &[], D::COUNT, Number::ONE),
];

/// Spellings that are not read but that people write, for [`nearest`].
const FOREIGN: [(&str, &str); 22] = [
    ("'", "ft"),
    ("\"", "in"),
    ("c", "degC"),
    ("celsius", "degC"),
    ("cc", "cm3"),
    ("cuft", "ft3"),
    ("cuin", "in3"),
    ("d", "day"),
    ("f", "degF"),
    ("fahrenheit", "degF"),
    ("ft.", "ft"),
    ("in.", "in"),
    ("kcm", "kcmil"),
    ("mcm", "kcmil"),
    ("pct", "%"),
    ("sec", "s"),
    ("sf", "ft2"),
    ("sqft", "ft2"),
    ("sqin", "in2"),
    ("sqm", "m2"),
    ("sqmm", "mm2"),
    ("v.a", "VA"),
];

static BY_SPELLING: LazyLock<BTreeMap<&'static str, &'static Unit>> = LazyLock::new(|| {
    let spellings = |unit: &'static Unit| std::iter::once(unit.symbol).chain(unit.aliases.iter().copied());
    UNITS.iter().flat_map(|unit| spellings(unit).map(move |spelling| (spelling, unit))).collect()
});

/// Every unit, grouped by dimension.
pub fn all() -> impl Iterator<Item = &'static Unit> {
    UNITS.iter()
}

/// The unit of that symbol or accepted spelling. Capitals count.
pub fn lookup(symbol: &str) -> Option<&'static Unit> {
    BY_SPELLING.get(symbol).copied()
}

/// The unit that was probably meant by a spelling that [`lookup`] does not know, for a suggestion.
pub fn nearest(symbol: &str) -> Option<&'static Unit> {
    let folded = symbol.to_lowercase();
    if let Some((_, known)) = FOREIGN.iter().find(|(foreign, _)| *foreign == folded) {
        return lookup(known);
    }
    if let Some(unit) = UNITS.iter().find(|unit| unit.symbol.to_lowercase() == folded) {
        return Some(unit);
    }
    // Symbols are short: one slip in up to four letters, two in longer ones; a single letter is no hint at all.
    let letters = folded.chars().count();
    let slips = match letters {
        0 | 1 => return None,
        2..=4 => 1,
        5..=24 => 2,
        _ => return None,
    };
    let distance = |spelling: &str| strsim::damerau_levenshtein(&folded, &spelling.to_lowercase());
    let best = UNITS.iter().flat_map(|unit| {
        let spellings = std::iter::once(unit.symbol).chain(unit.aliases.iter().copied());
        spellings.filter(|spelling| spelling.chars().count() > 1).map(move |spelling| (distance(spelling), unit))
    });
    best.filter(|(distance, _)| *distance <= slips).min_by_key(|(distance, _)| *distance).map(|(_, unit)| unit)
}

/// The unit that values of a dimension are kept in, if that unit has a symbol of its own.
pub fn base_unit(dimension: Dimension) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.dimension == dimension)
}

/// The value in base units of `value` read in `unit`.
pub fn to_base(value: &Number, unit: &Unit) -> Number {
    let from_zero = if unit.zero.is_zero() { value.clone() } else { value.sub(&unit.zero) };
    if unit.factor == Number::ONE && unit.divisor == Number::ONE {
        return from_zero;
    }
    let scaled = from_zero.mul(&unit.factor);
    if unit.divisor == Number::ONE { scaled } else { scaled.div(&unit.divisor).unwrap_or(scaled) }
}

/// What `base`, a value in base units, reads in `unit`; nothing if the unit has no size, which none here lacks.
pub fn from_base(base: &Number, unit: &Unit) -> Option<Number> {
    Some(base.mul(&unit.divisor).div(&unit.factor)?.add(&unit.zero))
}

/// A value in base units as text: in `preferred` if that unit fits the dimension, else in the base unit.
///
/// The text is exact (`2.286 m`) where the decimal ends in that unit, else it says so: `about 6.562 ft`, to four
/// significant digits. Values that change between circular and square measure are always `about`.
pub fn show(base: &Number, dimension: Dimension, preferred: Option<&Unit>) -> String {
    if let Some(unit) = preferred
        && comparable(dimension, unit.dimension)
        && let Some(factor) = conversion(dimension, unit.dimension)
        && let Some(value) = from_base(&base.mul(&factor), unit)
    {
        return match factor == Number::ONE {
            true => with_symbol(&shown(&value), unit.symbol),
            false => with_symbol(&format!("about {}", significant(&value)), unit.symbol),
        };
    }
    let symbol = match base_unit(dimension) {
        Some(unit) => unit.symbol.to_owned(),
        None => dimension.base_symbols(),
    };
    with_symbol(&shown(base), &symbol)
}

/// A length, in metres, in feet and inches with a fraction as on a rule: `6 ft 6 1/2 in`. Exact down to 64ths of an
/// inch; other lengths are shown as `about`, to the nearest 16th, half away from nought.
pub fn show_feet_inches(metres: &Number) -> String {
    const PER_INCH: i64 = 64;
    let size = metres.abs();
    let in_64ths = size.mul(&whole(PER_INCH * 10_000)).div(&whole(254)).unwrap_or_default();
    let exact = in_64ths.is_integer();
    let in_64ths = match exact {
        true => in_64ths.to_rational().to_integer(),
        false => (in_64ths.to_rational() / BigInt::from(4)).round().to_integer() * 4,
    };
    let feet = &in_64ths / (12 * PER_INCH);
    let inches = &in_64ths % (12 * PER_INCH) / PER_INCH;
    let rest = &in_64ths % PER_INCH;
    let mut parts = Vec::new();
    if feet.is_positive() {
        parts.push(format!("{feet} ft"));
    }
    let inches = match (inches.is_positive(), rest.is_positive()) {
        (false, false) => None,
        (true, false) => Some(inches.to_string()),
        (false, true) => Some(ruler(&rest, PER_INCH)),
        (true, true) => Some(format!("{inches} {}", ruler(&rest, PER_INCH))),
    };
    parts.extend(inches.map(|inches| format!("{inches} in")));
    if parts.is_empty() {
        parts.push("0 ft".to_owned());
    }
    let about = if exact { "" } else { "about " };
    let sign = if metres.is_negative() && in_64ths.is_positive() { "-" } else { "" };
    format!("{about}{sign}{}", parts.join(" "))
}

/// `part` / `of` in lowest terms.
fn ruler(part: &BigInt, of: i64) -> String {
    let reduced = num_rational::BigRational::new(part.clone(), BigInt::from(of));
    format!("{}/{}", reduced.numer(), reduced.denom())
}

/// The number in full if its decimal ends, else to four significant digits and marked.
fn shown(value: &Number) -> String {
    if value.is_terminating() { value.to_string() } else { format!("about {}", significant(value)) }
}

/// Four significant digits, no fewer than the whole part; twenty places at most.
fn significant(value: &Number) -> String {
    let mut size = value.abs();
    let mut places = 3;
    let ten = whole(10);
    if size < Number::ONE {
        while size < Number::ONE && places < 20 {
            size = size.mul(&ten);
            places += 1;
        }
    } else {
        while size >= ten && places > 0 {
            size = size.mul(&dec(1, 1));
            places -= 1;
        }
    }
    value.rounded(places)
}

/// A number and its symbol as trade writes them: percent signs close up; bare numbers, counts and ratios show none.
fn with_symbol(number: &str, symbol: &str) -> String {
    match symbol {
        "" | "count" | "ratio" => number.to_owned(),
        "%" => format!("{number}%"),
        _ => format!("{number} {symbol}"),
    }
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;

    fn n(text: &str) -> Number {
        Number::parse_decimal(text).unwrap_or_else(|| panic!("{text} is no decimal"))
    }

    fn u(symbol: &str) -> &'static Unit {
        lookup(symbol).unwrap_or_else(|| panic!("{symbol} is no unit"))
    }

    fn convert(value: &str, from: &str, to: &str) -> String {
        from_base(&to_base(&n(value), u(from)), u(to)).map_or_else(String::new, |value| value.to_string())
    }

    #[test]
    fn sizes_are_exact() {
        // NIST SP 811, App. B.8, entries in bold face (exact).
        assert_eq!(convert("86", "degF", "degC"), "30");
        assert_eq!(convert("-40", "degF", "degC"), "-40");
        assert_eq!(convert("30", "degC", "degF"), "86");
        assert_eq!(convert("18", "delta-degF", "delta-degC"), "10");
        assert_eq!(convert("0", "degC", "K"), "273.15");
        assert_eq!(convert("7.5", "ft", "m"), "2.286");
        assert_eq!(convert("1", "ft", "in"), "12");
        assert_eq!(convert("1", "in3", "cm3"), "16.387064");
        assert_eq!(convert("1", "oz", "g"), "28.349523125");
        assert_eq!(convert("1", "hp", "W"), "746");
        assert_eq!(to_base(&n("2.5"), u("in3")).mul(&n("3")), to_base(&n("7.5"), u("in3")));
        assert_eq!(convert("3", "VA/ft2", "VA/m2"), "1562500/48387");
    }

    #[test]
    fn every_unit_goes_there_and_back() {
        for unit in all() {
            for value in ["0", "1", "-2.5", "123456789.25", "0.000001"] {
                assert_eq!(from_base(&to_base(&n(value), unit), unit), Some(n(value)), "{} {value}", unit.symbol);
            }
        }
    }

    #[test]
    fn spellings_are_unique_and_base_units_come_first() {
        let mut spellings: Vec<&str> = all().flat_map(|u| u.aliases.iter().copied().chain([u.symbol])).collect();
        let before = spellings.len();
        spellings.sort_unstable();
        spellings.dedup();
        assert_eq!(spellings.len(), before);
        for unit in all() {
            let base = base_unit(unit.dimension).map(|base| to_base(&Number::ONE, base));
            assert_eq!(base, Some(Number::ONE), "{}", unit.symbol);
        }
        for (foreign, symbol) in FOREIGN {
            assert!(lookup(symbol).is_some());
            assert!(lookup(foreign).is_none(), "{foreign}");
        }
    }

    #[test]
    fn suggests_what_was_meant() {
        for (written, meant) in [
            ("KVA", "kVA"),
            ("va", "VA"),
            ("sqft", "ft2"),
            ("MCM", "kcmil"),
            ("F", "degF"),
            ("degc", "degC"),
            ("inchs", "in"),
            ("hours.", "h"),
            ("ft^2", "ft2"),
            ("kcmill", "kcmil"),
        ] {
            assert_eq!(nearest(written).map(|unit| unit.symbol), Some(meant), "{written}");
        }
        for written in ["", "q", "furlong", "receptacle", &"f".repeat(10_000)] {
            assert_eq!(nearest(written).map(|unit| unit.symbol), None, "{written}");
        }
        assert!(lookup("FT").is_none());
    }

    #[test]
    fn shows_exactly_or_says_about() {
        let metres = n("2");
        assert_eq!(show(&metres, D::LENGTH, lookup("ft")), "about 6.562 ft");
        assert_eq!(show(&n("2.286"), D::LENGTH, lookup("ft")), "7.5 ft");
        assert_eq!(show(&n("2.286"), D::LENGTH, None), "2.286 m");
        assert_eq!(show(&n("2.286"), D::LENGTH, lookup("kg")), "2.286 m");
        assert_eq!(show(&n("30"), D::TEMPERATURE, lookup("degF")), "86 degF");
        assert_eq!(show(&n("10"), D::TEMPERATURE_DIFFERENCE, lookup("degF")), "10 delta-degC");
        assert_eq!(show(&n("10"), D::TEMPERATURE_DIFFERENCE, lookup("delta-degF")), "18 delta-degF");
        assert_eq!(show(&n("0.8"), D::RATIO, lookup("%")), "80%");
        assert_eq!(show(&n("0.8"), D::RATIO, None), "0.8");
        assert_eq!(show(&n("3"), D::COUNT, None), "3");
        assert_eq!(show(&n("250000"), D::CIRCULAR_AREA, lookup("kcmil")), "250 kcmil");
        assert_eq!(show(&n("250000"), D::CIRCULAR_AREA, lookup("mm2")), "about 126.7 mm2");
        assert_eq!(show(&n("1800"), D::VOLTAGE_TIMES_CURRENT, None), "1800 V*A");
        assert_eq!(show(&n("12"), Dimension { exps: [4, 0, 0, 0, 0, 0, 0, 0], ..D::PLAIN }, None), "12 m^4");
        assert_eq!(show(&n("1000"), D::LENGTH, lookup("mil")), "about 39370079 mil");
        assert_eq!(show(&Number::from_ratio(1, 3000).unwrap_or_default(), D::PLAIN, None), "about 0.0003333");
    }

    #[test]
    fn shows_feet_and_inches() {
        let shown = |inches: &str| show_feet_inches(&to_base(&n(inches), u("in")));
        assert_eq!(shown("78"), "6 ft 6 in");
        assert_eq!(shown("78.5"), "6 ft 6 1/2 in");
        assert_eq!(shown("72"), "6 ft");
        assert_eq!(shown("72.25"), "6 ft 1/4 in");
        assert_eq!(shown("-6"), "-6 in");
        assert_eq!(shown("0"), "0 ft");
        assert_eq!(shown("0.015625"), "1/64 in");
        assert_eq!(shown("11.99"), "about 1 ft");
        assert_eq!(show_feet_inches(&n("2")), "about 6 ft 6 3/4 in");
        assert_eq!(show_feet_inches(&n("-0.00001")), "about 0 ft");
    }
}
