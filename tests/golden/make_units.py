#!/usr/bin/env python3
"""Writes units.tsv: unit conversions by an independent implementation.

The PyPI package `pint` with its default registry converts; the authority both follow is NIST SP 811, App. B.8.
The package is not a dependency of the project: install it in a scratch environment and run

    python make_units.py > units.tsv

`exact` rows are computed by pint on fractions and end as decimals; `float` rows are good to about 1e-12.
"""
import fractions
import pint

FLOAT = pint.UnitRegistry(cache_folder=None)
EXACT = pint.UnitRegistry(non_int_type=fractions.Fraction, cache_folder=None)

# Our symbols, in the words of pint.
NAMES = {
    "m": "meter", "mm": "millimeter", "cm": "centimeter", "km": "kilometer",
    "in": "inch", "ft": "foot", "yd": "yard", "mil": "thou",
    "m2": "meter**2", "mm2": "millimeter**2", "cm2": "centimeter**2", "in2": "inch**2", "ft2": "foot**2",
    "yd2": "yard**2", "mil2": "thou**2", "cmil": "circular_mil", "kcmil": "kilocircular_mil",
    "m3": "meter**3", "mm3": "millimeter**3", "cm3": "centimeter**3", "L": "liter", "in3": "inch**3", "ft3": "foot**3",
    "V": "volt", "mV": "millivolt", "kV": "kilovolt", "A": "ampere", "mA": "milliampere", "kA": "kiloampere",
    "W": "watt", "kW": "kilowatt", "hp": "electrical_horsepower",
    "VA": "volt_ampere", "kVA": "kilovolt_ampere", "MVA": "megavolt_ampere",
    "W/m2": "watt/meter**2", "W/ft2": "watt/foot**2", "VA/m2": "volt_ampere/meter**2",
    "VA/ft2": "volt_ampere/foot**2", "ohm": "ohm",
    "degC": "degC", "degF": "degF", "K": "kelvin", "delta-degC": "delta_degC", "delta-degF": "delta_degF",
    "deg": "degree", "kg": "kilogram", "g": "gram", "lb": "pound", "oz": "ounce",
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "day": "day", "ratio": "dimensionless",
    "%": "percent",
}

ROWS = [line.split() for line in """
1 in mm | 1 in cm | 1 in m | 1 ft in | 1 ft m | 1 ft mm | 1 yd m | 1 yd ft | 1 mil in | 1 mil mm | 6.5 ft in
7.5 ft m | 5.5 ft m | 20 in mm | 24 in m | 18 in cm | 50 ft m | 0.25 in mm | 2 m ft | 900 mm ft | 1.8 m ft | 1 m in
1 km ft | 3 ft yd | 0.001 mil m | 450 mm in
1 in2 mm2 | 1 ft2 m2 | 1 ft2 in2 | 1 yd2 ft2 | 1 mil2 mm2 | 1 cm2 mm2 | 9 ft2 m2 | 18 ft2 m2 | 10 m2 ft2 | 0.0133 in2 mm2
1 mm2 in2 | 93 m2 ft2 | 1 in2 mil2
1 cmil mil2 | 1 cmil mm2 | 1 cmil in2 | 1 cmil m2 | 1 kcmil mm2 | 250 kcmil mm2 | 250 kcmil in2 | 4110 cmil mm2
6530 cmil mm2 | 10380 cmil in2 | 211600 cmil mm2 | 1 kcmil cmil | 1000 cmil kcmil | 1 in2 cmil | 1 mm2 cmil | 107 mm2 kcmil
1200 kcmil mm2 | 1 mil2 cmil
1 in3 cm3 | 1 in3 mm3 | 18 in3 cm3 | 2.25 in3 cm3 | 100 in3 L | 1 ft3 in3 | 1 ft3 m3 | 1 ft3 L | 1 m3 ft3 | 1 L in3
100 cm3 in3 | 1 L cm3
1 kV V | 480 V kV | 1 mV V | 1 kA A | 6 mA A | 22000 A kA | 13.8 kV V
1 hp W | 5 hp kW | 0.5 hp W | 1 kW hp | 1 kW W | 8.75 kW W | 1500 W kW
1 kVA VA | 1 MVA kVA | 9600 VA kVA | 37.5 kVA VA | 1500 kVA MVA
1 W/ft2 W/m2 | 3 VA/ft2 VA/m2 | 33 VA/m2 VA/ft2 | 1 W/m2 W/ft2 | 1 ohm ohm
86 degF degC | 32 degF degC | 212 degF degC | -40 degF degC | 0 degF degC | 104 degF degC | 140 degF degC | 167 degF degC
194 degF degC | 100 degF degC | 30 degC degF | 60 degC degF | 75 degC degF | 90 degC degF | -18 degC degF | 0 degC K
25 degC K | 300 K degC | 0 K degF | 68 degF K | 36.6 degC degF
1 delta-degF delta-degC | 18 delta-degF delta-degC | 10 delta-degC delta-degF | 9 delta-degF delta-degC
30 delta-degC delta-degF | 45 delta-degF delta-degC
1 lb kg | 1 oz g | 50 lb kg | 35 lb kg | 1 lb oz | 1 kg lb | 6 lb kg | 100 kg lb | 1 g oz
1 min s | 1 h min | 1 day h | 3 h s | 90 min h | 500 ms s | 1 day s | 1000 s h
125 % ratio | 0.8 ratio % | 53 % ratio | 1 deg deg
""".replace("\n", "|").split("|") if line.strip()]


def ends(value):
    """Whether the fraction has a finite decimal expansion."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return rest == 1


def decimal(value):
    """A fraction that ends, in full."""
    places = 0
    while (value * 10**places).denominator != 1:
        places += 1
    digits = str(abs(value.numerator * 10**places // value.denominator)).rjust(places + 1, "0")
    text = digits[: len(digits) - places] + ("." + digits[len(digits) - places:] if places else "")
    return ("-" if value < 0 else "") + text


def converted(value, source, target):
    """The golden text and how good it is."""
    circular = ("cmil" in source) != ("cmil" in target)
    if not circular:
        try:
            exact = EXACT.Quantity(fractions.Fraction(value), NAMES[source]).to(NAMES[target]).magnitude
            if isinstance(exact, (int, fractions.Fraction)) and ends(fractions.Fraction(exact)):
                return decimal(fractions.Fraction(exact)), "exact"
        except (TypeError, ArithmeticError):
            pass  # this pint cannot keep fractions here: fall through to floats
    number = FLOAT.Quantity(float(value), NAMES[source]).to(NAMES[target]).magnitude
    return repr(float(number)), "float"


def main():
    """Prints the table with its origin."""
    FLOAT.define("kilocircular_mil = 1000 * circular_mil")
    EXACT.define("kilocircular_mil = 1000 * circular_mil")
    print(f"# Written by tests/golden/make_units.py with the PyPI package pint {pint.__version__}, default registry.")
    print("# Authority: NIST SP 811, App. B.8. Do not edit by hand.")
    print("# exact: computed on fractions, compare for equality; float: compare within 1e-9 relative.")
    print("value\tfrom\tto\tresult\tkind")
    for value, source, target in ROWS:
        result, kind = converted(value, source, target)
        print(value, source, target, result, kind, sep="\t")


if __name__ == "__main__":
    main()
