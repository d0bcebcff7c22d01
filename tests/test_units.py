"""Quantities in and out: nothing is lost on the way, nothing ambiguous gets in."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide import units
from guide.unit_table import UNITS
from guide.units import Kind, Quantity, UnitError

MILE_HIGH_Pa = Decimal("83437")
SITES_Pa = st.decimals(Decimal(60_000), Decimal(108_000), places=2)


def read(text: str, kind: Kind, site_pressure_Pa: Decimal | None = None) -> Quantity:
    return units.parse(text, kind, site_pressure_Pa=site_pressure_Pa)


def refusal(text: str, kind: Kind, site_pressure_Pa: Decimal | None = MILE_HIGH_Pa) -> str:
    with pytest.raises(UnitError) as caught:
        units.parse(text, kind, site_pressure_Pa=site_pressure_Pa)
    return str(caught.value)


@st.composite
def typed_quantities(draw: st.DrawFn) -> tuple[str, Kind, str, Decimal]:
    symbol = draw(st.sampled_from(sorted(UNITS)))
    unit = UNITS[symbol]
    places = draw(st.integers(0, unit.decimals))
    low, high = (Decimal(-15), Decimal(17)) if symbol == "inHgv" else (Decimal(0), Decimal(5000))
    value = draw(st.decimals(low, high, places=places))
    return f"{value}{draw(st.sampled_from(['', ' ', '  ']))}{symbol}", unit.kind, symbol, value


@settings(max_examples=600, deadline=None)
@given(typed_quantities(), SITES_Pa)
def test_what_was_typed_comes_back_when_shown_in_its_unit(
    typed: tuple[str, Kind, str, Decimal], site_pressure_Pa: Decimal
) -> None:
    text, kind, symbol, value = typed
    quantity = read(text, kind, site_pressure_Pa)
    assert quantity.typed == text
    assert quantity.unit == symbol
    assert units.from_si(quantity.si, symbol, site_pressure_Pa=site_pressure_Pa) == value
    shown = units.show(quantity.si, symbol, site_pressure_Pa=site_pressure_Pa)
    assert Decimal(shown.split()[0]) == value
    assert read(shown, kind, site_pressure_Pa).si == quantity.si


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 5000), st.decimals(0, Decimal("15.99"), places=2), st.booleans())
def test_pounds_and_ounces_are_one_quantity_and_come_back(pounds: int, ounces: Decimal, apart: bool) -> None:
    text = f"{pounds} lb {ounces} oz" if apart else f"{pounds}lb{ounces}oz"
    quantity = read(text, Kind.MASS)
    assert quantity.unit == units.COMPOUND_MASS
    assert abs(quantity.si - (pounds + ounces / 16) * Decimal("0.45359237")) <= Decimal("1e-8")
    shown = units.show(quantity.si, units.COMPOUND_MASS)
    assert read(shown, Kind.MASS).si == quantity.si
    assert shown.startswith(f"{pounds} lb ")
    assert Decimal(shown.split()[2]) == ounces


@settings(max_examples=300, deadline=None)
@given(st.decimals(Decimal(-8), Decimal(600), places=1), SITES_Pa)
def test_a_gauge_pressure_is_the_absolute_one_less_the_site(
    gauge: Decimal, site_pressure_Pa: Decimal
) -> None:
    quantity = read(f"{gauge}psig", Kind.PRESSURE, site_pressure_Pa)
    absolute = units.from_si(quantity.si, "psia")
    assert abs(absolute - gauge - units.from_si(site_pressure_Pa, "psia")) < Decimal("0.00001")


@settings(max_examples=200, deadline=None)
@given(st.decimals(Decimal(0), Decimal(17), places=2), SITES_Pa)
def test_vacuum_and_absolute_mercury_add_up_to_the_site_barometer(
    vacuum: Decimal, site_pressure_Pa: Decimal
) -> None:
    quantity = read(f"{vacuum}inHgv", Kind.PRESSURE, site_pressure_Pa)
    absolute = units.from_si(quantity.si, "inHga")
    assert abs(absolute + vacuum - units.from_si(site_pressure_Pa, "inHga")) < Decimal("0.00001")


@settings(max_examples=300, deadline=None)
@given(
    st.decimals(Decimal(-50), Decimal(300), places=2),
    st.decimals(Decimal(-50), Decimal(300), places=2),
    st.sampled_from(["F", "C", "K", "R"]),
)
def test_a_difference_converts_as_the_difference_of_two_temperatures(
    a: Decimal, b: Decimal, unit: str
) -> None:
    offset = Decimal(400) if unit in {"K", "R"} else Decimal(0)
    first = read(f"{a + offset}{unit}", Kind.TEMPERATURE)
    second = read(f"{b + offset}{unit}", Kind.TEMPERATURE)
    difference = read(f"{a - b}d{unit}", Kind.TEMPERATURE_DIFFERENCE)
    assert abs(first.si - second.si - difference.si) <= Decimal("2e-6")


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        # Definitions (MEMORY: NIST SP 811 and the 1959 agreement).
        ("40F", Kind.TEMPERATURE, "277.594444"),
        ("-40F", Kind.TEMPERATURE, "233.15"),
        ("-40°C", Kind.TEMPERATURE, "233.15"),
        ("491.67R", Kind.TEMPERATURE, "273.15"),
        ("9dF", Kind.TEMPERATURE_DIFFERENCE, "5"),
        ("9 dR", Kind.TEMPERATURE_DIFFERENCE, "5"),
        ("-5dC", Kind.TEMPERATURE_DIFFERENCE, "-5"),
        ("14.6959488psia", Kind.PRESSURE, "101325.0002"),
        ("100psia", Kind.PRESSURE, "689475.7293"),
        ("1 inHga", Kind.PRESSURE, "3386.3886"),
        ("760Torr", Kind.PRESSURE, "101325"),
        ("500micron", Kind.PRESSURE, "66.6612"),
        ("500 microns", Kind.PRESSURE, "66.6612"),
        ("25mmHga", Kind.PRESSURE, "3333.0597"),
        ("1013.25mbara", Kind.PRESSURE, "101325"),
        ("0.101325MPaa", Kind.PRESSURE, "101325"),
        ("1.01325e5Paa", Kind.PRESSURE, "101325"),
        ("8psi", Kind.PRESSURE_DIFFERENCE, "55158.0583"),
        ("1lb", Kind.MASS, "0.45359237"),
        ("16oz", Kind.MASS, "0.45359237"),
        ("22lb0.5oz", Kind.MASS, "9.9932069"),
        ("22 LBS .5 OZ", Kind.MASS, "9.9932069"),
        ("25ft", Kind.LENGTH, "7.62"),
        ("15min", Kind.DURATION, "900"),
    ],
)
def test_exact_factors(text: str, kind: Kind, si: str) -> None:
    assert read(text, kind).si == Decimal(si)


@pytest.mark.parametrize(
    ("text", "si"),
    [
        ("0psig", "83437"),
        ("-0psig", "83437"),
        ("8.2barg", "903437"),
        ("100kPag", "183437"),
        ("1MPag", "1083437"),
        ("24inHgv", "2163.6726"),
    ],
)
def test_gauge_counts_from_the_site_and_not_from_the_sea(text: str, si: str) -> None:
    assert read(text, Kind.PRESSURE, MILE_HIGH_Pa).si == Decimal(si)


@pytest.mark.parametrize(
    ("text", "kind", "offered"),
    [
        ("40", Kind.TEMPERATURE, "write 40F, 40C, 40K or 40R"),
        ("118.4", Kind.PRESSURE, "118.4psig"),
        ("12,5F", Kind.TEMPERATURE, "write 12.5F"),
        ("1,234psig", Kind.PRESSURE, "1234psig"),
        ("1,234.5psig", Kind.PRESSURE, "write 1234.5psig"),
        ("1 234 psig", Kind.PRESSURE, "1234psig"),
        ("1_000psig", Kind.PRESSURE, "write 1000psig"),
        ("100psi", Kind.PRESSURE, "psig or psia"),
        ("8 bar", Kind.PRESSURE, "barg or bara"),
        ("8kPa", Kind.PRESSURE, "kPag or kPaa"),
        ("8MPa", Kind.PRESSURE, "MPag or MPaa"),
        ("8Pa", Kind.PRESSURE, "Pag or Paa"),
        ("29.9inHg", Kind.PRESSURE, "inHgv or inHga"),
        ("8mbar", Kind.PRESSURE, "mbara"),
        ("3mpag", Kind.PRESSURE, "MPag"),
        ("10F", Kind.TEMPERATURE_DIFFERENCE, "dF"),
        ("10dF", Kind.TEMPERATURE, "write F"),
        ("10oz", Kind.TEMPERATURE, "F, C, K or R"),
        ("3 psgi", Kind.PRESSURE, "psig"),
        ("-500F", Kind.TEMPERATURE, "absolute zero"),
        ("-20psig", Kind.PRESSURE, "vacuum"),
        ("29inHgv", Kind.PRESSURE, "vacuum"),
        ("-1psia", Kind.PRESSURE, "vacuum"),
        ("-2oz", Kind.MASS, "not negative"),
        ("-5min", Kind.DURATION, "not negative"),
        ("2lb17oz", Kind.MASS, "fewer than 16 oz"),
        ("2.5lb3oz", Kind.MASS, "whole pounds"),
        ("-2lb3oz", Kind.MASS, "no signs"),
        ("４0F", Kind.TEMPERATURE, "40F"),
        ("nanF", Kind.TEMPERATURE, "40F"),
        ("infF", Kind.TEMPERATURE, "40F"),
        ("1e99F", Kind.TEMPERATURE, "exponent"),
        ("1e0000000009F", Kind.TEMPERATURE, "exponent"),
        ("99999999999999kPaa", Kind.PRESSURE, "too large"),
        ("9" * 50 + "F", Kind.TEMPERATURE, "longer than 40"),
        ("", Kind.MASS, "nothing written"),
        ("F40", Kind.TEMPERATURE, "40F"),
        ("5.F", Kind.TEMPERATURE, "F, C, K, R"),
    ],
)
def test_a_refusal_says_what_would_do(text: str, kind: Kind, offered: str) -> None:
    assert offered in refusal(text, kind)


def test_gauge_without_the_site_is_refused_and_asks_for_altitude_or_barometer() -> None:
    for text in ("100psig", "10inHgv", "8barg"):
        message = refusal(text, Kind.PRESSURE, None)
        assert "altitude" in message
        assert "barometer" in message
    with pytest.raises(UnitError, match="altitude"):
        units.show(101325, "psig")


def test_a_site_pressure_that_is_no_atmosphere_is_refused() -> None:
    assert "no atmosphere" in refusal("100psig", Kind.PRESSURE, Decimal("101.325"))
    assert "finite" in refusal("100psig", Kind.PRESSURE, Decimal("NaN"))


def line_about(text: str, kind: Kind) -> str:
    """What a person would see: the refusal, or the quantity shown again."""
    try:
        quantity = units.parse(text, kind, site_pressure_Pa=MILE_HIGH_Pa)
    except UnitError as error:
        return str(error)
    return units.show(quantity.si, quantity.unit, site_pressure_Pa=MILE_HIGH_Pa)


@settings(max_examples=400, deadline=None)
@given(st.text(max_size=45), st.sampled_from(Kind))
def test_any_text_is_read_or_refused_in_one_printable_line(text: str, kind: Kind) -> None:
    assert line_about(text, kind).isprintable()


@settings(max_examples=400, deadline=None)
@given(
    st.text(alphabet="0123456789.,+-eE _°lbozFCKdpsigkaMPHnv", min_size=1, max_size=14),
    st.sampled_from(Kind),
)
def test_almost_quantities_are_read_or_refused_in_one_printable_line(text: str, kind: Kind) -> None:
    assert line_about(text, kind).isprintable()


def test_control_characters_are_never_echoed() -> None:
    assert "\x1b" not in refusal("4\x1b[31mF", Kind.TEMPERATURE)
    assert "\\x1b" in refusal("4\x1b[31mF", Kind.TEMPERATURE)
    with pytest.raises(UnitError) as caught:
        units.to_si(1, "ps\x07g")
    assert "\x07" not in str(caught.value)


def test_case_is_free_where_it_leaves_no_doubt() -> None:
    assert read("40f", Kind.TEMPERATURE).unit == "F"
    assert read("100 PSIG", Kind.PRESSURE, MILE_HIGH_Pa).unit == "psig"
    assert read("20 inhgv", Kind.PRESSURE, MILE_HIGH_Pa).unit == "inHgv"
    assert read("5DF", Kind.TEMPERATURE_DIFFERENCE).unit == "dF"
    assert "unknown" in refusal("5M", Kind.LENGTH)


def test_show_fixes_digits_and_carries_ounces_into_pounds() -> None:
    assert units.show(Decimal("277.594444"), "F", digits=1) == "40.0 °F"
    assert units.show(277.594444, "F", digits=0, with_unit=False) == "40"
    assert units.show(units.to_si(Decimal("31.96"), "oz"), "lb+oz", digits=1) == "2 lb 0.0 oz"
    assert units.show(units.to_si(-6, "oz"), "lb+oz", digits=1) == "-0 lb 6.0 oz"
    assert units.show(0.0, "dF", digits=1) == "0.0 dF"
    assert units.show(-1e-9, "dF", digits=1) == "0.0 dF"
    assert units.show(1_000_000, "Paa") == "1000000 Paa"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("sNaN"), Decimal("1e400"), 1e300])
def test_numbers_that_are_none_are_refused_everywhere(value: Decimal | float) -> None:
    for attempt in (units.to_si, units.from_si, units.show):
        with pytest.raises(UnitError):
            attempt(value, "K")
    with pytest.raises(UnitError):
        units.standard_pressure_at(value)


def test_every_unit_states_its_kind_and_usual_digits() -> None:
    for kind in Kind:
        for symbol in units.units_of(kind):
            assert units.kind_of(symbol) is kind
            assert 0 <= units.usual_digits(symbol) <= UNITS[symbol].decimals
    assert units.kind_of("lb+oz") is Kind.MASS
    assert units.is_gauge("psig")
    assert units.is_gauge("inHgv")
    assert not units.is_gauge("inHga")


@pytest.mark.parametrize(
    ("altitude_m", "pressure_Pa"),
    # ISO 2533 table, geopotential altitude (MEMORY).
    [(0, 101325.0), (1000, 89874.6), (2000, 79495.2), (3000, 70108.5), (5000, 54019.9)],
)
def test_the_standard_atmosphere_agrees_with_its_published_table(altitude_m: int, pressure_Pa: float) -> None:
    assert float(units.standard_pressure_at(Decimal(altitude_m))) == pytest.approx(pressure_Pa, rel=2e-6)


def test_altitudes_where_nobody_works_are_refused() -> None:
    for altitude_m in (-501, 9001):
        with pytest.raises(UnitError, match="barometer"):
            units.standard_pressure_at(altitude_m)
