//! Exact numbers: decimals that fit a machine word, rationals for everything else.
//!
//! Every value has one representation, so equality and hashing are structural. There is no rounding anywhere but in
//! [`Number::rounded`] and [`Number::to_f64`], which say so. Units and dimensions live in their own modules.
use num_bigint::BigInt;
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};
use std::cmp::Ordering;
use std::fmt;

/// Most digits after the point that a small number can hold.
const MAX_SCALE: u8 = 18;

/// Longest decimal literal read, counted in digits and including those an exponent adds.
const MAX_DIGITS: usize = 60;

/// Powers of ten that fit `i64`, by exponent.
const POW10: [i64; 19] = {
    let mut table = [1i64; 19];
    let mut at = 1;
    while at < 19 {
        table[at] = table[at - 1] * 10;
        at += 1;
    }
    table
};

/// An exact rational number.
///
/// Terminating decimals with at most 18 places and a mantissa within `i64` are held in a machine word; all other
/// values are held as a reduced fraction of big integers. The choice is a function of the value alone.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Number(Repr);

/// The one representation of a value: `Small` whenever it fits, without trailing zeros in the fraction.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Repr {
    Small { mantissa: i64, scale: u8 },
    Big(Box<BigRational>),
}

use Repr::{Big, Small};

impl Number {
    /// Nought.
    pub const ZERO: Number = Number(Small { mantissa: 0, scale: 0 });
    /// One.
    pub const ONE: Number = Number(Small { mantissa: 1, scale: 0 });

    /// `mantissa` / 10^`scale`, for tables of constants. A scale above 18 counts as 18.
    pub const fn decimal(mantissa: i64, scale: u8) -> Number {
        let scale = if scale > MAX_SCALE { MAX_SCALE } else { scale };
        Number::trimmed(mantissa, scale)
    }

    /// `numerator` / `denominator`; nothing if the denominator is nought.
    pub fn from_ratio(numerator: i64, denominator: i64) -> Option<Number> {
        Number::from(numerator).div(&Number::from(denominator))
    }

    /// How many: a number of things.
    pub fn count(things: usize) -> Number {
        match i64::try_from(things) {
            Ok(small) => Number::from(small),
            Err(_) => Number::from_rational(BigRational::from_integer(BigInt::from(things))),
        }
    }

    /// Reads digits with an optional leading minus, an optional fraction and an optional exponent (`12.50`, `-3`,
    /// `1e3`). Nothing for any other text, and for literals of more than 60 digits.
    pub fn parse_decimal(text: &str) -> Option<Number> {
        let (negative, unsigned) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (plain, exponent) = match unsigned.split_once(['e', 'E']) {
            Some((plain, exponent)) => (plain, parse_exponent(exponent)?),
            None => (unsigned, 0),
        };
        let (whole, fraction) = match plain.split_once('.') {
            Some((whole, fraction)) if is_digits(fraction) => (whole, fraction),
            Some(_) => return None,
            None => (plain, ""),
        };
        let digits = whole.len() + fraction.len();
        if !is_digits(whole) || digits + exponent.unsigned_abs() as usize > MAX_DIGITS {
            return None;
        }
        let mut mantissa = BigInt::zero();
        for digit in whole.bytes().chain(fraction.bytes()) {
            mantissa = mantissa * 10 + (digit - b'0');
        }
        if negative {
            mantissa = -mantissa;
        }
        let places = i64::try_from(fraction.len()).ok()? - i64::from(exponent);
        let power = big_pow10(u32::try_from(places.unsigned_abs()).ok()?);
        Some(if places >= 0 {
            Number::from_rational(BigRational::new(mantissa, power))
        } else {
            Number::from_rational(BigRational::from_integer(mantissa * power))
        })
    }

    /// The sum.
    #[inline]
    pub fn add(&self, other: &Number) -> Number {
        if let (&Small { mantissa: a, scale: p }, &Small { mantissa: b, scale: q }) = (&self.0, &other.0)
            && let Some((a, b)) = aligned(a, p, b, q)
            && let Some(sum) = a.checked_add(b)
        {
            return Number::trimmed(sum, p.max(q));
        }
        self.add_big(other)
    }

    /// The difference `self` - `other`.
    #[inline]
    pub fn sub(&self, other: &Number) -> Number {
        if let (&Small { mantissa: a, scale: p }, &Small { mantissa: b, scale: q }) = (&self.0, &other.0)
            && let Some((a, b)) = aligned(a, p, b, q)
            && let Some(difference) = a.checked_sub(b)
        {
            return Number::trimmed(difference, p.max(q));
        }
        self.add_big(&other.neg())
    }

    /// The product.
    #[inline]
    pub fn mul(&self, other: &Number) -> Number {
        if let (&Small { mantissa: a, scale: p }, &Small { mantissa: b, scale: q }) = (&self.0, &other.0)
            && let Some(product) = a.checked_mul(b)
            && p + q <= MAX_SCALE
        {
            return Number::trimmed(product, p + q);
        }
        self.mul_big(other)
    }

    /// The quotient; nothing if `other` is nought.
    pub fn div(&self, other: &Number) -> Option<Number> {
        if other.is_zero() {
            return None;
        }
        if let (&Small { mantissa: a, scale: 0 }, &Small { mantissa: b, scale: 0 }) = (&self.0, &other.0)
            && a.checked_rem(b) == Some(0)
        {
            return a.checked_div(b).map(Number::from);
        }
        if let (&Small { mantissa: a, scale: p }, &Small { mantissa: b, scale: q }) = (&self.0, &other.0)
            && let Some(quotient) = small_quotient(a, p, b, q)
        {
            return Some(quotient);
        }
        Some(Number::from_rational(self.to_rational() / other.to_rational()))
    }

    /// The number with its sign turned.
    pub fn neg(&self) -> Number {
        match &self.0 {
            &Small { mantissa, scale } => match mantissa.checked_neg() {
                Some(mantissa) => Number(Small { mantissa, scale }),
                None => Number::from_rational(-self.to_rational()),
            },
            Big(value) => Number::from_rational(-value.as_ref().clone()),
        }
    }

    /// The distance from nought.
    pub fn abs(&self) -> Number {
        if self.is_negative() { self.neg() } else { self.clone() }
    }

    /// The largest whole number not above this one.
    pub fn floor(&self) -> Number {
        match &self.0 {
            &Small { mantissa, scale } => Number::from(mantissa.div_euclid(pow10(scale))),
            Big(value) => Number::from_rational(value.floor()),
        }
    }

    /// The smallest whole number not below this one.
    pub fn ceil(&self) -> Number {
        let floor = self.floor();
        if floor == *self { floor } else { floor.add(&Number::ONE) }
    }

    /// Rounds up where the fraction is at least `threshold`, down elsewhere: with 0.8, the way of counting
    /// conductors in a raceway (NEC Chapter 9, note 7 to the tables).
    pub fn round_up_from(&self, threshold: &Number) -> Number {
        let floor = self.floor();
        let fraction = self.sub(&floor);
        if fraction.is_zero() || fraction < *threshold { floor } else { floor.add(&Number::ONE) }
    }

    /// Whether there is no fraction.
    pub fn is_integer(&self) -> bool {
        match &self.0 {
            Small { scale, .. } => *scale == 0,
            Big(value) => value.is_integer(),
        }
    }

    /// Whether it is nought.
    #[inline]
    pub fn is_zero(&self) -> bool {
        matches!(self.0, Small { mantissa: 0, .. })
    }

    /// Whether it is below nought.
    #[inline]
    pub fn is_negative(&self) -> bool {
        match &self.0 {
            Small { mantissa, .. } => *mantissa < 0,
            Big(value) => value.is_negative(),
        }
    }

    /// Whether the value has a finite decimal expansion, which [`fmt::Display`] then prints in full.
    pub fn is_terminating(&self) -> bool {
        match &self.0 {
            Small { .. } => true,
            Big(value) => decimal_places(value.denom()).is_some(),
        }
    }

    /// The value as a machine integer; nothing if it has a fraction or does not fit.
    pub fn to_i64(&self) -> Option<i64> {
        match self.0 {
            Small { mantissa, scale: 0 } => Some(mantissa),
            Small { .. } | Big(_) => None,
        }
    }

    /// An approximation, for drawing only: no verdict may depend on it.
    pub fn to_f64(&self) -> f64 {
        match &self.0 {
            // Every decimal text has a nearest float; going through it rounds once only.
            Small { .. } => self.to_string().parse().unwrap_or(f64::NAN),
            Big(value) => value.to_f64().unwrap_or(f64::NAN),
        }
    }

    /// The value with exactly `decimals` places (at most 60), half away from nought. An approximation, for showing.
    pub fn rounded(&self, decimals: u32) -> String {
        let decimals = decimals.min(60);
        let scaled = self.to_rational() * BigRational::from_integer(big_pow10(decimals));
        decimal_text(&scaled.round().to_integer(), decimals as usize)
    }

    /// The value as a reduced fraction of big integers.
    pub fn to_rational(&self) -> BigRational {
        match &self.0 {
            &Small { mantissa, scale: 0 } => BigRational::from_integer(BigInt::from(mantissa)),
            &Small { mantissa, scale } => BigRational::new(BigInt::from(mantissa), BigInt::from(pow10(scale))),
            Big(value) => value.as_ref().clone(),
        }
    }

    /// The number for a fraction of big integers.
    pub fn from_rational(value: BigRational) -> Number {
        match small_form(&value) {
            Some((mantissa, scale)) => Number(Small { mantissa, scale }),
            None => Number(Big(Box::new(value))),
        }
    }

    /// The word form of a decimal: (mantissa, places), no trailing zeros; nothing if it does not fit.
    pub fn as_small(&self) -> Option<(i64, u8)> {
        match self.0 {
            Small { mantissa, scale } => Some((mantissa, scale)),
            Big(_) => None,
        }
    }

    /// Takes the zeros at the end of the fraction away.
    #[inline]
    const fn trimmed(mut mantissa: i64, mut scale: u8) -> Number {
        while scale > 0 && mantissa % 10 == 0 {
            mantissa /= 10;
            scale -= 1;
        }
        Number(Small { mantissa, scale })
    }

    #[cold]
    fn add_big(&self, other: &Number) -> Number {
        Number::from_rational(self.to_rational() + other.to_rational())
    }

    #[cold]
    fn mul_big(&self, other: &Number) -> Number {
        Number::from_rational(self.to_rational() * other.to_rational())
    }
}

/// Both mantissas at the larger of two scales, if they fit.
#[inline]
fn aligned(a: i64, p: u8, b: i64, q: u8) -> Option<(i64, i64)> {
    match p.cmp(&q) {
        Ordering::Equal => Some((a, b)),
        Ordering::Less => Some((a.checked_mul(pow10(q - p))?, b)),
        Ordering::Greater => Some((a, b.checked_mul(pow10(p - q))?)),
    }
}

/// `a` / 10^`p` divided by `b` / 10^`q`, if the quotient is a decimal that fits.
fn small_quotient(a: i64, p: u8, b: i64, q: u8) -> Option<Number> {
    let divisor = i128::from(a).gcd(&i128::from(b));
    let (mut numerator, mut rest) = (i128::from(a) / divisor, i128::from(b) / divisor);
    if rest < 0 {
        (numerator, rest) = (-numerator, -rest);
    }
    // A denominator of twos and fives alone: each is filled up to a ten.
    let mut places = i32::from(p) - i32::from(q);
    while rest > 1 {
        let fill = match (rest % 2, rest % 5) {
            (0, 0) => 10,
            (0, _) => 2,
            (_, 0) => 5,
            (_, _) => return None,
        };
        rest /= fill;
        numerator = numerator.checked_mul(10 / fill)?;
        places += 1;
    }
    while places < 0 {
        numerator = numerator.checked_mul(10)?;
        places += 1;
    }
    while places > 0 && numerator % 10 == 0 {
        numerator /= 10;
        places -= 1;
    }
    let scale = u8::try_from(places).ok().filter(|scale| *scale <= MAX_SCALE)?;
    Some(Number(Small { mantissa: i64::try_from(numerator).ok()?, scale }))
}

/// 10^`exponent`; exponents are scales, so never above 18.
#[inline]
fn pow10(exponent: u8) -> i64 {
    POW10[usize::from(exponent.min(MAX_SCALE))]
}

fn big_pow10(exponent: u32) -> BigInt {
    num_traits::pow(BigInt::from(10), exponent as usize)
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// The exponent of a literal: digits with an optional sign, two digits at most.
fn parse_exponent(text: &str) -> Option<i32> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    if !is_digits(digits) || digits.len() > 2 {
        return None;
    }
    let size: i32 = digits.parse().ok()?;
    Some(if text.starts_with('-') { -size } else { size })
}

/// The word form of a reduced fraction, if there is one. Any denominator that qualifies divides 10^18.
fn small_form(value: &BigRational) -> Option<(i64, u8)> {
    let denominator = value.denom().to_i64()?;
    if POW10[usize::from(MAX_SCALE)] % denominator != 0 {
        return None;
    }
    let scale = (0..=MAX_SCALE).find(|scale| pow10(*scale) % denominator == 0)?;
    let mantissa = value.numer().to_i128()?.checked_mul(i128::from(pow10(scale) / denominator))?;
    Some((i64::try_from(mantissa).ok()?, scale))
}

/// How many places a fraction with this denominator needs; nothing if its expansion does not end.
fn decimal_places(denominator: &BigInt) -> Option<u32> {
    let twos = u32::try_from(denominator.trailing_zeros().unwrap_or(0)).ok()?;
    let mut rest: BigInt = denominator >> twos;
    let five = BigInt::from(5);
    let mut fives = 0;
    loop {
        let (quotient, remainder) = rest.div_rem(&five);
        if !remainder.is_zero() {
            break;
        }
        rest = quotient;
        fives += 1;
    }
    rest.is_one().then_some(twos.max(fives))
}

/// `mantissa` / 10^`places` with all its places.
fn decimal_text(mantissa: &BigInt, places: usize) -> String {
    let sign = if mantissa.is_negative() { "-" } else { "" };
    let digits = format!("{:0>width$}", mantissa.magnitude().to_string(), width = places + 1);
    let (whole, fraction) = digits.split_at(digits.len() - places);
    if fraction.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{fraction}") }
}

impl From<i64> for Number {
    #[inline]
    fn from(value: i64) -> Number {
        Number(Small { mantissa: value, scale: 0 })
    }
}

impl Default for Number {
    fn default() -> Number {
        Number::ZERO
    }
}

impl Ord for Number {
    #[inline]
    fn cmp(&self, other: &Number) -> Ordering {
        match (&self.0, &other.0) {
            (&Small { mantissa: a, scale: p }, &Small { mantissa: b, scale: q }) if p == q => a.cmp(&b),
            (&Small { mantissa: a, scale: p }, &Small { mantissa: b, scale: q }) => {
                // 2^63 * 10^18 is below 2^127, so this cannot overflow.
                let a = i128::from(a) * i128::from(pow10(q.saturating_sub(p)));
                let b = i128::from(b) * i128::from(pow10(p.saturating_sub(q)));
                a.cmp(&b)
            }
            (Small { .. } | Big(_), Small { .. } | Big(_)) => self.to_rational().cmp(&other.to_rational()),
        }
    }
}

impl PartialOrd for Number {
    #[inline]
    fn partial_cmp(&self, other: &Number) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Number {
    /// Terminating decimals in full (`2.286`), other values as a reduced fraction (`1/3`).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match &self.0 {
            &Small { mantissa, scale: 0 } => mantissa.to_string(),
            &Small { mantissa, scale } => decimal_text(&BigInt::from(mantissa), usize::from(scale)),
            Big(value) => match decimal_places(value.denom()) {
                Some(places) => {
                    let mantissa = value.numer() * (big_pow10(places) / value.denom());
                    decimal_text(&mantissa, places as usize)
                }
                None => format!("{}/{}", value.numer(), value.denom()),
            },
        };
        f.pad(&text)
    }
}

impl fmt::Debug for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Number({self})")
    }
}

impl serde::Serialize for Number {
    /// The text that [`fmt::Display`] prints, so that nothing is lost on the way.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::hash::{DefaultHasher, Hash, Hasher};

    fn n(text: &str) -> Number {
        Number::parse_decimal(text).unwrap_or_else(|| panic!("{text} is no decimal"))
    }

    fn hash(number: &Number) -> u64 {
        let mut hasher = DefaultHasher::new();
        number.hash(&mut hasher);
        hasher.finish()
    }

    #[test]
    fn decimals_are_exact() {
        assert_eq!(n("0.1").add(&n("0.2")), n("0.3"));
        assert_eq!(n("2.5").mul(&n("3")), n("7.5"));
        assert_eq!(n("7.5").mul(&n("0.3048")), n("2.286"));
        assert_eq!(n("12.50").to_string(), "12.5");
        assert_eq!(n("1000").as_small(), Some((1000, 0)));
        assert_eq!(n("1.000").as_small(), Some((1, 0)));
    }

    #[test]
    fn reads_decimals_and_nothing_else() {
        for (text, shown) in [
            ("-3", "-3"),
            ("-0", "0"),
            ("007.10", "7.1"),
            ("1e3", "1000"),
            ("1.5E-2", "0.015"),
            ("2e+1", "20"),
            ("-0.5e1", "-5"),
            ("123456789012345678901234567890.5", "123456789012345678901234567890.5"),
        ] {
            assert_eq!(n(text).to_string(), shown, "{text}");
        }
        for text in
            ["", "-", ".5", "5.", "+5", " 5", "1,000", "1_0", "1e", "1e999999999", "0x1", "--1", "1.2.3", "٣", "NaN"]
        {
            assert_eq!(Number::parse_decimal(text), None, "{text}");
        }
        assert!(Number::parse_decimal(&"9".repeat(60)).is_some());
        assert_eq!(Number::parse_decimal(&"9".repeat(61)), None);
        assert_eq!(Number::parse_decimal("1e60"), None);
    }

    #[test]
    fn shows_fractions_where_decimals_do_not_end() {
        assert_eq!(Number::from_ratio(1, 3).map(|x| x.to_string()), Some("1/3".to_owned()));
        assert_eq!(Number::from_ratio(-4, 6).map(|x| x.to_string()), Some("-2/3".to_owned()));
        assert_eq!(Number::from_ratio(1, 8).map(|x| x.to_string()), Some("0.125".to_owned()));
        assert_eq!(Number::from_ratio(1, 0), None);
        let long = n("1e-18").mul(&n("1e-18"));
        assert_eq!(long.to_string(), format!("0.{}1", "0".repeat(35)));
        assert!(long.is_terminating());
    }

    #[test]
    fn rounds_both_ways() {
        assert_eq!(n("2.1").ceil(), n("3"));
        assert_eq!(n("-2.1").ceil(), n("-2"));
        assert_eq!(n("-2.1").floor(), n("-3"));
        assert_eq!(n("2").ceil(), n("2"));
        // NEC Chapter 9, note 7 to the tables: 0.8 and above counts as one more.
        assert_eq!(n("3.8").round_up_from(&n("0.8")), n("4"));
        assert_eq!(n("3.79").round_up_from(&n("0.8")), n("3"));
        assert_eq!(n("3").round_up_from(&Number::ZERO), n("3"));
        assert_eq!(Number::from_ratio(8, 3).map(|x| x.floor()), Some(n("2")));
    }

    #[test]
    fn shows_approximations_half_away_from_nought() {
        assert_eq!(n("2.5").rounded(0), "3");
        assert_eq!(n("-2.5").rounded(0), "-3");
        assert_eq!(n("0.0004").neg().rounded(3), "0.000");
        assert_eq!(Number::from_ratio(2, 3).map(|x| x.rounded(3)), Some("0.667".to_owned()));
        assert_eq!(n("5").rounded(2), "5.00");
    }

    #[test]
    fn crosses_the_word_border_and_comes_back() {
        let top = Number::from(i64::MAX);
        let above = top.add(&Number::ONE);
        assert_eq!(above.to_string(), "9223372036854775808");
        assert_eq!(above.as_small(), None);
        assert_eq!(above.to_i64(), None);
        assert_eq!(above.sub(&Number::ONE), top);
        assert_eq!(Number::from(i64::MIN).neg(), above);
        assert_eq!(above.neg().to_i64(), Some(i64::MIN));
        assert_eq!(Number::from(i64::MIN).div(&Number::from(-1)), Some(above.clone()));
        assert_eq!(Number::from(i64::MIN).abs(), above);
    }

    #[test]
    fn approximates_only_on_request() {
        assert_eq!(n("0.1").to_f64(), 0.1);
        assert!((Number::from_ratio(1, 3).map_or(0.0, |x| x.to_f64()) - 1.0 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn serialises_as_its_text() {
        assert_eq!(serde_json::to_string(&n("2.286")).ok(), Some("\"2.286\"".to_owned()));
    }

    #[test]
    fn fits_two_words() {
        assert!(size_of::<Number>() <= 16);
    }

    /// Numbers on both sides of the border between words and big fractions.
    fn numbers() -> impl Strategy<Value = Number> {
        let near = prop_oneof![
            Just(i64::MAX),
            Just(i64::MIN),
            Just(0),
            any::<i64>(),
            -1000i64..1000,
            Just(1_000_000_000_000_000_000)
        ];
        (near, 1u8..=22, prop_oneof![Just(1i64), 1i64..60, Just(1i64 << 40)]).prop_map(|(mantissa, places, divisor)| {
            let power = BigInt::from(10).pow(u32::from(places - 1));
            Number::from_rational(BigRational::new(BigInt::from(mantissa), power * divisor))
        })
    }

    proptest! {
        #[test]
        fn agrees_with_big_fractions(a in numbers(), b in numbers()) {
            let (x, y) = (a.to_rational(), b.to_rational());
            prop_assert_eq!(a.add(&b).to_rational(), &x + &y);
            prop_assert_eq!(a.sub(&b).to_rational(), &x - &y);
            prop_assert_eq!(a.mul(&b).to_rational(), &x * &y);
            prop_assert_eq!(a.div(&b).map(|q| q.to_rational()), (!y.is_zero()).then(|| &x / &y));
            prop_assert_eq!(a.cmp(&b), x.cmp(&y));
            prop_assert_eq!(a == b, x == y);
            prop_assert_eq!(a.floor().to_rational(), x.floor());
            prop_assert_eq!(a.ceil().to_rational(), x.ceil());
            prop_assert_eq!(a.is_integer(), x.is_integer());
        }

        #[test]
        fn keeps_the_laws_of_a_ring(a in numbers(), b in numbers(), c in numbers()) {
            prop_assert_eq!(a.add(&b), b.add(&a));
            prop_assert_eq!(a.mul(&b), b.mul(&a));
            prop_assert_eq!(a.add(&b).add(&c), a.add(&b.add(&c)));
            prop_assert_eq!(a.mul(&b).mul(&c), a.mul(&b.mul(&c)));
            prop_assert_eq!(a.mul(&b.add(&c)), a.mul(&b).add(&a.mul(&c)));
            prop_assert_eq!(a.add(&b).sub(&b), a.clone());
            prop_assert_eq!(hash(&a.add(&b).sub(&b)), hash(&a));
            prop_assert_eq!(a.neg().neg(), a);
        }

        #[test]
        fn shown_decimals_read_back(a in numbers()) {
            if a.is_terminating() && a.to_string().len() < 58 {
                prop_assert_eq!(Number::parse_decimal(&a.to_string()), Some(a));
            }
        }
    }
}
