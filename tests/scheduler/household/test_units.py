"""Reading and showing of quantities."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import BadSetting
from scheduler.household import quantity, units

KNOT_MS = 0.5144444
KMH_MS = 0.2777778
GALLON_L = 3.785412
"""NIST Special Publication 811 (2008), appendix B.8, as printed: seven figures."""

CUBIC_INCHES_IN_A_GALLON = 231
"""United States gallon of liquid, by definition."""


@pytest.mark.parametrize(
    ("f", "c"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (90.0, 32.2222222222), (28.0, -2.2222222222)]
)
def test_fahrenheit_and_celsius_meet_at_their_fixed_points(f, c):
    assert units.celsius_from_fahrenheit(f) == pytest.approx(c, abs=1e-9)
    assert units.fahrenheit_from_celsius(c) == pytest.approx(f, abs=1e-9)


def test_factors_agree_with_the_printed_ones():
    half_of_the_last_figure = 5e-8
    assert units.parse_speed_ms("1 kn") == pytest.approx(KNOT_MS, abs=half_of_the_last_figure)
    assert units.parse_speed_ms("1 km/h") == pytest.approx(KMH_MS, abs=half_of_the_last_figure)
    assert units.parse_volume_l("1 gal") == pytest.approx(GALLON_L, abs=5e-7)


def test_gallon_is_231_cubic_inches():
    cubic_inch_l = (quantity.INCH_MM / 100) ** 3
    assert units.parse_volume_l("1 gal") == pytest.approx(CUBIC_INCHES_IN_A_GALLON * cubic_inch_l, rel=1e-14)


def test_mile_is_5280_feet():
    assert units.parse_length_m("5280 ft") == pytest.approx(quantity.MILE_M, rel=1e-15)


@pytest.mark.parametrize(
    ("parse", "text", "si"),
    [
        (units.parse_temperature_c, "60 F", 28 / 1.8),
        (units.parse_temperature_c, "60F", 28 / 1.8),
        (units.parse_temperature_c, "60 °f", 28 / 1.8),
        (units.parse_temperature_c, "15.5 C", 15.5),
        (units.parse_temperature_c, "15.5 °C", 15.5),
        (units.parse_temperature_c, "15.5 ° C", 15.5),
        (units.parse_temperature_c, "15,5 C", 15.5),
        (units.parse_temperature_c, "-2.2 C", -2.2),
        (units.parse_temperature_c, "\u22122.2 ℃", -2.2),
        (units.parse_temperature_c, "0 C", 0.0),
        (units.parse_temperature_c, "-273.15 C", -273.15),
        (units.parse_weight_g, "1.3 kg", 1300.0),
        (units.parse_weight_g, "1,3 kg", 1300.0),
        (units.parse_weight_g, "0,125 kg", 125.0),
        (units.parse_weight_g, ".5 kg", 500.0),
        (units.parse_weight_g, "3 lb", 3 * 453.59237),
        (units.parse_weight_g, "450 g", 450.0),
        (units.parse_weight_g, "1 lb 4 oz", 1.25 * 453.59237),
        (units.parse_weight_g, "12 oz", 0.75 * 453.59237),
        (units.parse_weight_g, "0 g", 0.0),
        (units.parse_duration_h, "12 h", 12.0),
        (units.parse_duration_h, "12h", 12.0),
        (units.parse_duration_h, "90 min", 1.5),
        (units.parse_duration_h, "2 d", 48.0),
        (units.parse_duration_h, "1 h 30 min", 1.5),
        (units.parse_duration_h, "1h30min", 1.5),
        (units.parse_duration_h, "1 d 2 h 3 min", 26.05),
        (units.parse_length_m, "213 m", 213.0),
        (units.parse_length_m, "700 ft", 213.36),
        (units.parse_length_m, "-400 m", -400.0),
        (units.parse_speed_ms, "8 m/s", 8.0),
        (units.parse_speed_ms, "36 km/h", 10.0),
        (units.parse_speed_ms, "20 mph", 8.9408),
        (units.parse_speed_ms, "16 kn", 16 * 1852 / 3600),
        (units.parse_rain_mm_per_h, "0.2 mm/h", 0.2),
        (units.parse_rain_mm_per_h, "0.01 in/h", 0.254),
        (units.parse_volume_l, "200 l", 200.0),
        (units.parse_volume_l, "0.2 m3", 200.0),
        (units.parse_volume_l, "0.2 m³", 200.0),
        (units.parse_share_pct, "12 %", 12.0),
        (units.parse_share_pct, "100%", 100.0),
    ],
)
def test_quantity_is_read_into_si(parse, text, si):
    assert parse(text) == pytest.approx(si, rel=1e-12, abs=0)


@pytest.mark.parametrize(
    ("parse", "given", "words"),
    [
        (units.parse_temperature_c, "60", ["'60'", "may be °F or °C", "'60 F'"]),
        (units.parse_temperature_c, 60, ["60 may be °F or °C", "with its unit"]),
        (units.parse_temperature_c, 15.5, ["15.5 may be", "with its unit"]),
        (units.parse_temperature_c, "288 K", ["kelvin", "°F or °C"]),
        (units.parse_temperature_c, "-273.2 C", ["absolute zero", "-273.15"]),
        (units.parse_temperature_c, "-460 F", ["absolute zero"]),
        (units.parse_temperature_c, "450 g", ["'450 g' is a weight", "temperature such as '60 F'"]),
        (units.parse_temperature_c, "15 C 3 C", ["not one temperature"]),
        (units.parse_temperature_c, "15,555 C", ["15.555 or 15555", "without the comma"]),
        (units.parse_temperature_c, "cold", ["'cold'", "not a temperature"]),
        (units.parse_temperature_c, "", ["''", "not a temperature"]),
        (units.parse_temperature_c, "nan C", ["not a temperature"]),
        (units.parse_temperature_c, "inf F", ["not a temperature"]),
        (units.parse_temperature_c, "1_0 C", ["unknown unit '_'"]),
        (units.parse_temperature_c, "٣ C", ["not a temperature"]),
        (units.parse_temperature_c, True, ["true", "in quotes"]),
        (units.parse_temperature_c, None, ["None", "in quotes"]),
        (units.parse_weight_g, "450", ["'450'", "lacks a unit", "'450 g'"]),
        (units.parse_weight_g, "1 lb 4", ["'1 lb 4'", "lacks a unit"]),
        (units.parse_weight_g, "4 oz 1 lb", ["larger unit first"]),
        (units.parse_weight_g, "1 lb 1 lb", ["larger unit first", "each once"]),
        (units.parse_weight_g, "1 lb -4 oz", ["not one weight"]),
        (units.parse_weight_g, "-450 g", ["below zero"]),
        (units.parse_weight_g, "1,300 g", ["1.300 or 1300"]),
        (units.parse_weight_g, "1.300,5 g", ["lacks a unit"]),
        (units.parse_weight_g, "1 300 g", ["lacks a unit"]),
        (units.parse_weight_g, "2 stone", ["unknown unit 'stone'"]),
        (units.parse_weight_g, "9" * 400 + " g", ["beyond all measure"]),
        (units.parse_weight_g, "1e999 kg", ["beyond all measure"]),
        (units.parse_duration_h, "30 m", ["is a length", "duration such as '12 h'"]),
        (units.parse_duration_h, "-1 h", ["below zero"]),
        (units.parse_length_m, "5 ft 6 ft", ["not one length"]),
        (units.parse_length_m, "12 h", ["is a duration"]),
        (units.parse_speed_ms, "8 m", ["is a length", "speed such as '8 m/s'"]),
        (units.parse_rain_mm_per_h, "0.2 mm", ["unknown unit 'mm'", "'0.2 mm/h'"]),
        (units.parse_volume_l, "53", ["lacks a unit", "'53 gal'"]),
        (units.parse_volume_l, "3 kg", ["is a weight"]),
        (units.parse_share_pct, "0.12", ["lacks a unit", "'12 %'"]),
        (units.parse_share_pct, "101 %", ["more than the whole"]),
    ],
)
def test_what_is_no_such_quantity_is_refused_in_one_line(parse, given, words):
    with pytest.raises(BadSetting) as caught:
        parse(given)
    message = str(caught.value)
    assert len(message.splitlines()) == 1
    assert len(message) < 200
    for word in words:
        assert word in message


def test_mix_up_names_what_was_given_and_what_wants_something_else():
    with pytest.raises(BadSetting) as caught:
        units.parse_weight_g("60 F", "the tray's filling")
    assert str(caught.value) == "'60 F' is a temperature, the tray's filling wants a weight such as '450 g'"


@pytest.mark.parametrize(
    "given",
    ["1\n2 g", "1\u20282 g", "\x1b[31m g", "\x00", "a" * 5000, ["a\nb"], 10**5000],
    ids=["line break", "line separator", "terminal colour", "NUL", "long", "list", "long number"],
)
def test_message_about_odd_text_stays_one_short_line(given):
    with pytest.raises(BadSetting) as caught:
        units.parse_weight_g(given)
    assert len(str(caught.value).splitlines()) == 1
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (units.show_temperature(15.5555555, "metric"), "15.6 °C"),
        (units.show_temperature(15.5555555, "us"), "60.0 °F"),
        (units.show_temperature(15.5555555, "us", 0), "60 °F"),
        (units.show_temperature(-0.04, "metric"), "0.0 °C"),
        (units.show_temperature(-0.0, "metric"), "0.0 °C"),
        (units.show_temperature(-17.79, "us"), "0.0 °F"),
        (units.show_temperature(-2.2, "metric"), "-2.2 °C"),
        (units.show_difference(1.5, "metric"), "1.5 °C"),
        (units.show_difference(1.5, "us"), "2.7 °F"),
        (units.show_difference(0.0, "us"), "0.0 °F"),
        (units.show_difference(-0.01, "us"), "0.0 °F"),
        (units.show_weight(450.0, "metric"), "450 g"),
        (units.show_weight(4.5, "metric"), "4.5 g"),
        (units.show_weight(1300.0, "metric"), "1.3 kg"),
        (units.show_weight(999.6, "metric"), "1 kg"),
        (units.show_weight(-0.0, "metric"), "0 g"),
        (units.show_weight(1.25 * 453.59237, "us"), "1 lb 4 oz"),
        (units.show_weight(450.0, "us"), "15.9 oz"),
        (units.show_weight(453.5, "us"), "1 lb"),
        (units.show_weight(-0.0, "us"), "0 oz"),
        (units.show_speed(8.0, "metric"), "8.0 m/s"),
        (units.show_speed(8.9408, "us"), "20 mph"),
        (units.show_rain(0.2, "metric"), "0.2 mm"),
        (units.show_rain(0.254, "us"), "0.01 in"),
        (units.show_rain_rate(0.254, "us"), "0.01 in/h"),
        (units.show_duration(14.5), "14 h 30 min"),
        (units.show_duration(12.0), "12 h"),
        (units.show_duration(0.75), "45 min"),
        (units.show_duration(11.9999), "12 h"),
        (units.show_duration(0.0), "0 min"),
        (units.show_duration(-0.001), "0 min"),
        (units.show_duration(-1.5), "-1 h 30 min"),
    ],
)
def test_quantity_is_shown_as_a_person_writes_it(text, expected):
    assert text == expected


SYSTEMS = st.sampled_from(["metric", "us"])


@given(st.floats(-90, 60), SYSTEMS, st.integers(0, 3))
def test_shown_temperature_reads_back_to_its_last_digit(c, system, digits):
    half = 0.5 * 10.0**-digits / (1.8 if system == "us" else 1.0)
    shown = units.show_temperature(c, system, digits)
    assert abs(units.parse_temperature_c(shown) - c) <= half + 1e-9


@given(st.floats(0, 1e6), SYSTEMS)
def test_shown_weight_reads_back_to_its_last_digit(g, system):
    last = 0.1 * 453.59237 / 16 if system == "us" else 0.1 if g < 9.9 else 1.0 if g < 999 else 10.0
    assert abs(units.parse_weight_g(units.show_weight(g, system)) - g) <= last / 2 + 1e-6


@given(st.floats(0, 1e4))
def test_shown_duration_reads_back_to_the_minute(hours):
    assert abs(units.parse_duration_h(units.show_duration(hours)) - hours) <= 0.5 / 60 + 1e-9


@given(st.floats(0, 100), SYSTEMS)
def test_shown_speed_and_rain_rate_read_back_to_their_last_digit(value, system):
    metric = system == "metric"
    assert abs(units.parse_speed_ms(units.show_speed(value, system)) - value) <= (0.05 if metric else 0.22352) + 1e-9
    rate = units.parse_rain_mm_per_h(units.show_rain_rate(value, system))
    assert abs(rate - value) <= (0.05 if metric else 0.127) + 1e-9


@given(st.floats(-1e-3, 1e-3), SYSTEMS)
def test_nothing_near_zero_is_shown_with_a_minus(value, system):
    shown = [
        units.show_difference(value, system),
        units.show_weight(value, system),
        units.show_speed(value, system),
        units.show_rain(value, system),
        units.show_duration(value),
        units.show_temperature(value if system == "metric" else units.celsius_from_fahrenheit(value), system),
    ]
    assert not any(re.search("-", text) for text in shown)


@given(
    st.sampled_from([(kind, symbol) for kind in quantity.KINDS for symbol in kind.symbols]),
    st.floats(0, 1e15),
    SYSTEMS,
)
def test_exact_text_reads_back_to_the_very_same_value(kind_and_symbol, number, system):
    kind, symbol = kind_and_symbol
    for si in (number, kind.units[symbol.lower()].to_si(float(int(number % 1000)))):
        assert quantity.read_quantity(quantity.exact_text(si, kind, system), kind, "this") == si


@pytest.mark.parametrize(
    ("si", "kind", "system", "text"),
    [
        (28 / 1.8, quantity.TEMPERATURE, "metric", "60 F"),
        (28 / 1.8, quantity.TEMPERATURE, "us", "60 F"),
        (15.5, quantity.TEMPERATURE, "metric", "15.5 C"),
        (15.123456789, quantity.TEMPERATURE, "us", "15.123456789 C"),
        (0.0, quantity.TEMPERATURE, "us", "32 F"),
        (450.0, quantity.WEIGHT, "us", "450 g"),
        (3 * 453.59237, quantity.WEIGHT, "us", "3 lb"),
        (213.36, quantity.LENGTH, "us", "700 ft"),
    ],
)
def test_exact_text_prefers_a_short_number_in_the_households_unit(si, kind, system, text):
    assert quantity.exact_text(si, kind, system) == text


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_but_never_breaks_the_parser(text):
    for kind in quantity.KINDS:
        try:
            message = str(quantity.read_quantity(text, kind, "this"))
        except BadSetting as exc:
            message = str(exc)
        assert len(message.splitlines()) == 1
