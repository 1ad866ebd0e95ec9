//! Dimensions: what kind of thing a quantity measures, as exponents over base quantities and a flavour.
//!
//! Electrical quantities are built on current and voltage, not on mass, length and time: a code never turns newtons
//! into amperes, so no such identity is offered. The area in circular mils has an exponent of its own, so that wire
//! areas stay exact. Units, and values in them, live in [`super::unit`].
use super::number::Number;
use std::cmp::Ordering;
use std::fmt;
use std::sync::LazyLock;

/// A base quantity, in the order of [`Dimension::exps`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Base {
    /// Length, in m.
    Length,
    /// Mass, in kg.
    Mass,
    /// Time, in s.
    Time,
    /// Electric current, in A.
    Current,
    /// Electric potential, in V.
    Voltage,
    /// Temperature, in degrees Celsius.
    Temperature,
    /// Plane angle, in degrees.
    Angle,
    /// Area of a circle given by the square of its diameter, in circular mils.
    CircularArea,
}

/// Every base quantity with its name and the symbol of its base unit.
pub(crate) const BASES: [(Base, &str, &str); 8] = [
    (Base::Length, "length", "m"),
    (Base::Mass, "mass", "kg"),
    (Base::Time, "time", "s"),
    (Base::Current, "current", "A"),
    (Base::Voltage, "voltage", "V"),
    (Base::Temperature, "temperature-difference", "delta-degC"),
    (Base::Angle, "angle", "deg"),
    (Base::CircularArea, "circular-area", "cmil"),
];

/// What tells apart quantities with equal exponents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Flavour {
    /// Nothing but the exponents: a length, a bare number, a voltage times a current.
    Plain,
    /// How many.
    Count,
    /// A share, a percentage.
    Ratio,
    /// Power that does work, in watts; also per area.
    RealPower,
    /// Voltage times current whatever the phase, in volt-amperes; also per area.
    ApparentPower,
    /// A reading on a temperature scale.
    PointTemperature,
    /// How far apart two readings are.
    TemperatureDifference,
}

/// The kind of a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    /// Exponents, in the order of [`Base`].
    pub exps: [i8; 8],
    /// What the exponents do not tell.
    pub flavour: Flavour,
}

const fn dimension(parts: &[(Base, i8)], flavour: Flavour) -> Dimension {
    let mut exps = [0i8; 8];
    let mut at = 0;
    while at < parts.len() {
        exps[parts[at].0 as usize] = parts[at].1;
        at += 1;
    }
    Dimension { exps, flavour }
}

const VOLT_AMPERES: [(Base, i8); 2] = [(Base::Voltage, 1), (Base::Current, 1)];
const VOLT_AMPERES_PER_AREA: [(Base, i8); 3] = [(Base::Voltage, 1), (Base::Current, 1), (Base::Length, -2)];

impl Dimension {
    /// A bare number.
    pub const PLAIN: Dimension = dimension(&[], Flavour::Plain);
    /// How many.
    pub const COUNT: Dimension = dimension(&[], Flavour::Count);
    /// A share.
    pub const RATIO: Dimension = dimension(&[], Flavour::Ratio);
    /// Length.
    pub const LENGTH: Dimension = dimension(&[(Base::Length, 1)], Flavour::Plain);
    /// Area in square measure.
    pub const AREA: Dimension = dimension(&[(Base::Length, 2)], Flavour::Plain);
    /// Area in circular measure.
    pub const CIRCULAR_AREA: Dimension = dimension(&[(Base::CircularArea, 1)], Flavour::Plain);
    /// Volume.
    pub const VOLUME: Dimension = dimension(&[(Base::Length, 3)], Flavour::Plain);
    /// Mass.
    pub const MASS: Dimension = dimension(&[(Base::Mass, 1)], Flavour::Plain);
    /// Time.
    pub const TIME: Dimension = dimension(&[(Base::Time, 1)], Flavour::Plain);
    /// Plane angle.
    pub const ANGLE: Dimension = dimension(&[(Base::Angle, 1)], Flavour::Plain);
    /// Electric current.
    pub const CURRENT: Dimension = dimension(&[(Base::Current, 1)], Flavour::Plain);
    /// Electric potential.
    pub const VOLTAGE: Dimension = dimension(&[(Base::Voltage, 1)], Flavour::Plain);
    /// Resistance: voltage by current.
    pub const RESISTANCE: Dimension = dimension(&[(Base::Voltage, 1), (Base::Current, -1)], Flavour::Plain);
    /// Voltage times current, not yet said to be real or apparent power.
    pub const VOLTAGE_TIMES_CURRENT: Dimension = dimension(&VOLT_AMPERES, Flavour::Plain);
    /// Real power.
    pub const POWER: Dimension = dimension(&VOLT_AMPERES, Flavour::RealPower);
    /// Apparent power.
    pub const APPARENT_POWER: Dimension = dimension(&VOLT_AMPERES, Flavour::ApparentPower);
    /// Real power per area.
    pub const POWER_PER_AREA: Dimension = dimension(&VOLT_AMPERES_PER_AREA, Flavour::RealPower);
    /// Apparent power per area.
    pub const APPARENT_POWER_PER_AREA: Dimension = dimension(&VOLT_AMPERES_PER_AREA, Flavour::ApparentPower);
    /// A reading on a temperature scale.
    pub const TEMPERATURE: Dimension = dimension(&[(Base::Temperature, 1)], Flavour::PointTemperature);
    /// The difference of two readings.
    pub const TEMPERATURE_DIFFERENCE: Dimension = dimension(&[(Base::Temperature, 1)], Flavour::TemperatureDifference);

    /// Every dimension that has a name, with it, in alphabetical order.
    pub const NAMED: [(&'static str, Dimension); 20] = [
        ("angle", Dimension::ANGLE),
        ("apparent-power", Dimension::APPARENT_POWER),
        ("apparent-power-per-area", Dimension::APPARENT_POWER_PER_AREA),
        ("area", Dimension::AREA),
        ("circular-area", Dimension::CIRCULAR_AREA),
        ("count", Dimension::COUNT),
        ("current", Dimension::CURRENT),
        ("length", Dimension::LENGTH),
        ("mass", Dimension::MASS),
        ("number", Dimension::PLAIN),
        ("power", Dimension::POWER),
        ("power-per-area", Dimension::POWER_PER_AREA),
        ("ratio", Dimension::RATIO),
        ("resistance", Dimension::RESISTANCE),
        ("temperature", Dimension::TEMPERATURE),
        ("temperature-difference", Dimension::TEMPERATURE_DIFFERENCE),
        ("time", Dimension::TIME),
        ("voltage", Dimension::VOLTAGE),
        ("voltage-times-current", Dimension::VOLTAGE_TIMES_CURRENT),
        ("volume", Dimension::VOLUME),
    ];

    /// The dimension of that name; hyphens join the words.
    pub fn named(name: &str) -> Option<Dimension> {
        Dimension::NAMED.iter().find(|(known, _)| *known == name).map(|(_, dimension)| *dimension)
    }

    /// Its name, or one composed of base quantities (`length^4`, `current / length^2`).
    pub fn name(self) -> String {
        match Dimension::NAMED.iter().find(|(_, known)| *known == self) {
            Some((name, _)) => (*name).to_owned(),
            None => composed(self.exps, |(_, name, _)| name, (" * ", " / ", "1")),
        }
    }

    /// The symbols of the base units this dimension is measured in (`V*A`, `A/m^2`); empty for bare numbers.
    pub(crate) fn base_symbols(self) -> String {
        if self.is_dimensionless() {
            return String::new();
        }
        composed(self.exps, |(_, _, symbol)| symbol, ("*", "/", "1"))
    }

    /// The exponent of one base quantity.
    pub fn exponent(self, base: Base) -> i8 {
        self.exps[base as usize]
    }

    /// Whether all exponents are nought: a bare number, a count or a ratio.
    pub fn is_dimensionless(self) -> bool {
        self.exps == [0; 8]
    }

    /// Whether it is a reading on a scale with an arbitrary zero.
    pub fn is_point(self) -> bool {
        self.flavour == Flavour::PointTemperature
    }

    /// Voltage and current both to the first power: what a power flavour can sit on.
    fn carries_power(self) -> bool {
        self.exponent(Base::Voltage) == 1 && self.exponent(Base::Current) == 1
    }
}

impl fmt::Display for Dimension {
    /// The same as [`Dimension::name`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.name())
    }
}

/// A product of powers as text: `parts` joined by `times`, those below the line after `over`, `one` if none is above.
fn composed(
    exps: [i8; 8],
    part: impl Fn((Base, &'static str, &'static str)) -> &'static str,
    (times, over, one): (&str, &str, &str),
) -> String {
    let power = |at: usize| match exps[at].unsigned_abs() {
        1 => part(BASES[at]).to_owned(),
        size => format!("{}^{size}", part(BASES[at])),
    };
    let above: Vec<String> = (0..BASES.len()).filter(|at| exps[*at] > 0).map(power).collect();
    let below: Vec<String> = (0..BASES.len()).filter(|at| exps[*at] < 0).map(power).collect();
    let mut text = if above.is_empty() { one.to_owned() } else { above.join(times) };
    for part in below {
        text.push_str(over);
        text.push_str(&part);
    }
    text
}

/// The dimension of a product. Nothing if a factor is a temperature reading (twice 30 degC means nothing) or an
/// exponent leaves -128..=127.
pub fn mul(a: Dimension, b: Dimension) -> Option<Dimension> {
    let exps = combine(a, b, i8::checked_add)?;
    let flavour = match (a.flavour, b.flavour) {
        _ if !(a.is_dimensionless() && b.is_dimensionless()) => flavour_of(exps, a, b),
        (Flavour::Ratio, Flavour::Ratio) => Flavour::Ratio,
        (Flavour::Count, Flavour::Plain) | (Flavour::Plain, Flavour::Count) => Flavour::Count,
        // 80 % of 5 may be a count, 2 times 40 % a share: a bare number serves both.
        _ => Flavour::Plain,
    };
    Some(Dimension { exps, flavour })
}

/// The dimension of a quotient. Nothing in the same cases as for [`mul`].
pub fn div(a: Dimension, b: Dimension) -> Option<Dimension> {
    let exps = combine(a, b, i8::checked_sub)?;
    let flavour = match (a.flavour, b.flavour) {
        _ if !(a.is_dimensionless() && b.is_dimensionless()) => flavour_of(exps, a, b),
        (flavour, Flavour::Plain) => flavour,
        _ => Flavour::Plain,
    };
    Some(Dimension { exps, flavour })
}

fn combine(a: Dimension, b: Dimension, exponent: fn(i8, i8) -> Option<i8>) -> Option<[i8; 8]> {
    if a.is_point() || b.is_point() {
        return None;
    }
    let mut exps = [0i8; 8];
    for (at, slot) in exps.iter_mut().enumerate() {
        *slot = exponent(a.exps[at], b.exps[at])?;
    }
    Some(exps)
}

/// The flavour that a product or quotient with these exponents keeps from its parts: a power scaled by a share, or
/// spread over an area, stays real or apparent; where voltage or current cancel, nothing stays.
fn flavour_of(exps: [i8; 8], a: Dimension, b: Dimension) -> Flavour {
    let result = Dimension { exps, flavour: Flavour::Plain };
    if exps == Dimension::TEMPERATURE_DIFFERENCE.exps {
        return Flavour::TemperatureDifference;
    }
    if !result.carries_power() {
        return Flavour::Plain;
    }
    let electric = |d: Dimension| d.exponent(Base::Voltage) != 0 || d.exponent(Base::Current) != 0;
    match (electric(a), electric(b)) {
        (true, false) => a.flavour,
        (false, true) => b.flavour,
        (true, true) | (false, false) => Flavour::Plain,
    }
}

/// Whether two quantities can be held against one another.
///
/// Real and apparent power cannot (one is the other only at a power factor of 1), nor counts and ratios, nor readings
/// and differences of temperature; a bare number or a bare product of voltage and current goes with either side.
/// Circular and square areas can, after [`conversion`].
pub fn comparable(a: Dimension, b: Dimension) -> bool {
    squared(a) == squared(b) && flavours_agree(a.flavour, b.flavour).is_some()
}

/// Compares two values, given in base units; nothing if the dimensions are not [`comparable`].
pub fn compare(x: &Number, a: Dimension, y: &Number, b: Dimension) -> Option<Ordering> {
    if a.exps == b.exps {
        return comparable(a, b).then(|| x.cmp(y));
    }
    if !comparable(a, b) {
        return None;
    }
    Some(x.mul(&conversion(a, b)?).cmp(y))
}

/// The dimension of a sum. Nothing if there is none: readings of temperature cannot be added, and circular and square
/// areas must be brought to one measure by [`conversion`] first.
pub fn add(a: Dimension, b: Dimension) -> Option<Dimension> {
    match (a.flavour, b.flavour) {
        (Flavour::PointTemperature, Flavour::TemperatureDifference) => Some(a),
        (Flavour::TemperatureDifference, Flavour::PointTemperature) => Some(b),
        (Flavour::PointTemperature, _) | (_, Flavour::PointTemperature) => None,
        (x, y) if a.exps == b.exps => flavours_agree(x, y).map(|flavour| Dimension { exps: a.exps, flavour }),
        _ => None,
    }
}

/// The dimension of a difference: as [`add`], but two temperature readings have one and a reading cannot be taken
/// from a difference.
pub fn sub(a: Dimension, b: Dimension) -> Option<Dimension> {
    match (a.flavour, b.flavour) {
        (Flavour::PointTemperature, Flavour::PointTemperature) => Some(Dimension::TEMPERATURE_DIFFERENCE),
        (Flavour::TemperatureDifference, Flavour::PointTemperature) => None,
        _ => add(a, b),
    }
}

/// What a value in the base units of `from` is multiplied by to be one in the base units of `to`; one for equal
/// exponents, nothing if neither measure of area leads from one to the other.
///
/// Between circular and square measure this holds pi to 50 places, the only constant that is not exact. No verdict
/// hangs on it: pi is irrational, so a circular and a square area with rational measures are never equal, and the
/// error is far below any difference that literals of a rulebook can make.
pub fn conversion(from: Dimension, to: Dimension) -> Option<Number> {
    if from.exps == to.exps {
        return Some(Number::ONE);
    }
    if squared(from) != squared(to) {
        return None;
    }
    let turned = i16::from(from.exponent(Base::CircularArea)) - i16::from(to.exponent(Base::CircularArea));
    let mut factor = Number::ONE;
    for _ in 0..turned.unsigned_abs() {
        factor = factor.mul(&SQUARE_METRES_PER_CIRCULAR_MIL);
    }
    if turned < 0 { Number::ONE.div(&factor) } else { Some(factor) }
}

/// pi / 4 square mils, in square metres (NIST SP 811, App. B.8 rounds it to 5.067 075 E-10).
static SQUARE_METRES_PER_CIRCULAR_MIL: LazyLock<Number> = LazyLock::new(|| {
    let pi = Number::parse_decimal("3.14159265358979323846264338327950288419716939937510").unwrap_or_default();
    pi.mul(&Number::decimal(25, 2)).mul(&Number::decimal(64516, 14))
});

/// The exponents with circular areas counted as square ones.
fn squared(dimension: Dimension) -> [i16; 8] {
    let mut exps = dimension.exps.map(i16::from);
    exps[Base::Length as usize] += 2 * exps[Base::CircularArea as usize];
    exps[Base::CircularArea as usize] = 0;
    exps
}

/// The flavour two quantities have in common, exponents apart.
fn flavours_agree(a: Flavour, b: Flavour) -> Option<Flavour> {
    use Flavour::{ApparentPower, Count, Plain, PointTemperature, Ratio, RealPower, TemperatureDifference};
    match (a, b) {
        _ if a == b => Some(a),
        (Plain, Count | Ratio | RealPower | ApparentPower) => Some(b),
        (Count | Ratio | RealPower | ApparentPower, Plain) => Some(a),
        (
            Plain | Count | Ratio | RealPower | ApparentPower | PointTemperature | TemperatureDifference,
            Plain | Count | Ratio | RealPower | ApparentPower | PointTemperature | TemperatureDifference,
        ) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_lead_back() {
        for (name, dimension) in Dimension::NAMED {
            assert_eq!(Dimension::named(name), Some(dimension));
            assert_eq!(dimension.name(), name);
        }
        assert!(Dimension::NAMED.is_sorted_by_key(|(name, _)| name));
        assert_eq!(Dimension::named("furlong"), None);
        let density = div(Dimension::CURRENT, Dimension::AREA);
        assert_eq!(density.map(Dimension::name), Some("current / length^2".to_owned()));
        let density = density.unwrap_or(Dimension::PLAIN);
        assert_eq!(density.base_symbols(), "A/m^2");
        assert_eq!(div(Dimension::PLAIN, Dimension::TIME).map(Dimension::name), Some("1 / time".to_owned()));
    }

    #[test]
    fn real_and_apparent_power_keep_apart() {
        let product = mul(Dimension::VOLTAGE, Dimension::CURRENT);
        assert_eq!(product, Some(Dimension::VOLTAGE_TIMES_CURRENT));
        assert!(!comparable(Dimension::POWER, Dimension::APPARENT_POWER));
        assert!(comparable(Dimension::VOLTAGE_TIMES_CURRENT, Dimension::POWER));
        assert!(comparable(Dimension::APPARENT_POWER, Dimension::VOLTAGE_TIMES_CURRENT));
        assert_eq!(add(Dimension::POWER, Dimension::APPARENT_POWER), None);
        assert_eq!(add(Dimension::VOLTAGE_TIMES_CURRENT, Dimension::APPARENT_POWER), Some(Dimension::APPARENT_POWER));
        // The load of a dwelling from its area, and the current it draws (NEC 220, unit loads in VA per area).
        assert_eq!(mul(Dimension::APPARENT_POWER_PER_AREA, Dimension::AREA), Some(Dimension::APPARENT_POWER));
        assert_eq!(div(Dimension::APPARENT_POWER, Dimension::VOLTAGE), Some(Dimension::CURRENT));
        assert_eq!(div(Dimension::POWER, Dimension::CURRENT), Some(Dimension::VOLTAGE));
        assert_eq!(mul(Dimension::RATIO, Dimension::POWER), Some(Dimension::POWER));
        assert_eq!(div(Dimension::POWER, Dimension::AREA), Some(Dimension::POWER_PER_AREA));
        assert_eq!(div(Dimension::POWER, Dimension::APPARENT_POWER), Some(Dimension::PLAIN));
        assert_eq!(div(Dimension::VOLTAGE, Dimension::CURRENT), Some(Dimension::RESISTANCE));
    }

    #[test]
    fn temperatures_are_readings_or_differences() {
        let (point, gap) = (Dimension::TEMPERATURE, Dimension::TEMPERATURE_DIFFERENCE);
        assert_eq!(sub(point, point), Some(gap));
        assert_eq!(add(point, gap), Some(point));
        assert_eq!(add(gap, point), Some(point));
        assert_eq!(sub(point, gap), Some(point));
        assert_eq!(add(gap, gap), Some(gap));
        assert_eq!(add(point, point), None);
        assert_eq!(sub(gap, point), None);
        assert_eq!(add(point, Dimension::PLAIN), None);
        assert_eq!(mul(point, Dimension::PLAIN), None);
        assert_eq!(mul(Dimension::PLAIN, gap), Some(gap));
        assert!(!comparable(point, gap));
    }

    #[test]
    fn counts_and_shares_are_told_apart_and_bare_numbers_fit_both() {
        assert!(!comparable(Dimension::COUNT, Dimension::RATIO));
        assert!(comparable(Dimension::PLAIN, Dimension::COUNT));
        assert!(comparable(Dimension::RATIO, Dimension::PLAIN));
        assert_eq!(add(Dimension::PLAIN, Dimension::COUNT), Some(Dimension::COUNT));
        assert_eq!(div(Dimension::AREA, Dimension::AREA), Some(Dimension::PLAIN));
        assert_eq!(mul(Dimension::RATIO, Dimension::PLAIN), Some(Dimension::PLAIN));
        assert_eq!(mul(Dimension::COUNT, Dimension::PLAIN), Some(Dimension::COUNT));
        assert_eq!(div(Dimension::COUNT, Dimension::COUNT), Some(Dimension::PLAIN));
        assert_eq!(div(Dimension::PLAIN, Dimension::COUNT), Some(Dimension::PLAIN));
        assert!(!comparable(Dimension::LENGTH, Dimension::AREA));
    }

    #[test]
    fn circular_areas_compare_with_square_ones() {
        assert!(comparable(Dimension::CIRCULAR_AREA, Dimension::AREA));
        assert_eq!(add(Dimension::CIRCULAR_AREA, Dimension::AREA), None);
        let factor = conversion(Dimension::CIRCULAR_AREA, Dimension::AREA).unwrap_or_default();
        // NIST SP 811, App. B.8: circular mil, 5.067 075 E-10 m2.
        assert_eq!(factor.mul(&Number::from(10_000_000_000)).rounded(6), "5.067075");
        let back = conversion(Dimension::AREA, Dimension::CIRCULAR_AREA).unwrap_or_default();
        assert_eq!(factor.mul(&back), Number::ONE);
        assert_eq!(conversion(Dimension::AREA, Dimension::LENGTH), None);
        let order = |mils: i64, square: Number| {
            compare(&Number::from(mils), Dimension::CIRCULAR_AREA, &square, Dimension::AREA)
        };
        // 250 kcmil is 126.677 mm2.
        assert_eq!(order(250_000, Number::decimal(126_676, 9)), Some(Ordering::Greater));
        assert_eq!(order(250_000, Number::decimal(126_678, 9)), Some(Ordering::Less));
    }

    #[test]
    fn exponents_do_not_overflow() {
        let mut dimension = Dimension::LENGTH;
        for _ in 0..126 {
            dimension = mul(dimension, Dimension::LENGTH).unwrap_or(Dimension::PLAIN);
        }
        assert_eq!(dimension.exponent(Base::Length), 127);
        assert_eq!(mul(dimension, Dimension::LENGTH), None);
    }
}
