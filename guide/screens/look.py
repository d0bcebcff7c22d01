"""A quick look without a job: what readings mean, as they are typed. Pure, and its page."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from guide.charging.superheat import subcooling_K, superheat_K
from guide.charging.target import cross_check, target_by_rule, target_by_table
from guide.errors import ChargewrightError
from guide.refrigerant import catalogue, saturation
from guide.refrigerant.curve import Curve
from guide.screens.ask import quantity, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.paint import Line, Lines, Role, Span, clean, line, pad, paragraph, quiet, rule, strong
from guide.units import Quantity, STANDARD_PRESSURE_Pa, UnitError, show, standard_pressure_at

_COLUMN = 26


def look_filling() -> Filling:
    """Everything that can be given; only the refrigerant has to be."""
    return Filling.of(
        (
            text("refrigerant", "Refrigerant", suggestions=_designations()),
            quantity("altitude", "Altitude of the site", "ft", needed=False, note="0 if empty"),
            quantity("suction", "Suction pressure, low side", "psig", needed=False),
            quantity("suction_line", "Suction line", "F", needed=False),
            quantity("liquid", "Liquid pressure, high side", "psig", needed=False),
            quantity("liquid_line", "Liquid line", "F", needed=False),
            quantity("wet_bulb", "Return air, wet bulb", "F", needed=False),
            quantity("outdoor", "Outdoor air", "F", needed=False),
        )
    )


def _designations() -> tuple[str, ...]:
    return tuple(entry.designation for entry in catalogue.usual())


def with_site(filling: Filling) -> Filling:
    """The same fields, gauge pressures counted from the atmosphere at the altitude given."""
    site: Decimal | None = STANDARD_PRESSURE_Pa
    if filling.cell("altitude").typed.text.strip():
        try:
            site = standard_pressure_at(filling.quantity("altitude").si)
        except UnitError:
            site = None
    return replace(filling, site_pressure_Pa=site)


def _given(filling: Filling, key: str) -> Quantity | None:
    try:
        return filling.quantity(key) if filling.cell(key).typed.text.strip() else None
    except UnitError:
        return None


def _degrees(kelvin: float, like: Quantity | None) -> str:
    unit = "C" if like is not None and like.unit in {"C", "K"} else "F"
    return show(Decimal(repr(kelvin)), unit, digits=1)


def _apart(kelvin: float, like: Quantity | None) -> str:
    celsius = like is not None and like.unit in {"C", "K"}
    return show(Decimal(repr(kelvin)), "dK" if celsius else "dF", digits=1, with_unit=False) + (
        " K" if celsius else " °F"
    )


def answers(filling: Filling, width: int) -> Lines:
    """What the readings typed so far mean."""
    rows: list[Line] = [rule(width, "what they say")]
    designation = filling.text("refrigerant")
    if not designation:
        return (*rows, line(quiet(" Name the refrigerant first.")))
    try:
        curve = saturation.curve(catalogue.find(designation).designation)
    except ChargewrightError as error:
        return (*rows, *paragraph(clean(str(error)), width, role=Role.FAULT))
    rows += _side(filling, curve, low=True)
    rows += _side(filling, curve, low=False)
    rows += _target(filling, width)
    if len(rows) == 1:
        rows.append(
            line(quiet(f" {curve.designation}: type a pressure, a line temperature, or both air values."))
        )
    if curve.estimated and len(rows) > 1:
        rows += paragraph(f"Estimated: {curve.why_estimated}.", width, role=Role.QUIET)
    return tuple(rows)


def _side(filling: Filling, curve: Curve, *, low: bool) -> list[Line]:
    pressure = _given(filling, "suction" if low else "liquid")
    pipe = _given(filling, "suction_line" if low else "liquid_line")
    if pressure is None:
        return []
    absolute = float(pressure.si)
    edge, figure = ("dew", "superheat") if low else ("bubble", "subcooling")
    try:
        kelvin = curve.dew_temperature_K(absolute) if low else curve.bubble_temperature_K(absolute)
        if low:
            other = f"bubble {_degrees(curve.bubble_temperature_K(absolute), pipe)}"
        else:
            other = f"dew {_degrees(curve.dew_temperature_K(absolute), pipe)}"
        rows = [_row(f"{edge} at {pressure.typed}", _degrees(kelvin, pipe), f"({other})")]
        if pipe is not None:
            line_K = float(pipe.si)
            value = (
                superheat_K(curve, suction_pressure_Pa=absolute, suction_line_K=line_K)
                if low
                else subcooling_K(curve, liquid_pressure_Pa=absolute, liquid_line_K=line_K)
            )
            rows.append(
                _row(figure, _apart(value, pipe), "below zero: check the readings" if value < 0 else "")
            )
    except ChargewrightError as error:
        return [line(Span(f" {clean(str(error))}", Role.FAULT))]
    return rows


def _target(filling: Filling, width: int) -> list[Line]:
    wet, outdoor = _given(filling, "wet_bulb"), _given(filling, "outdoor")
    if wet is None or outdoor is None:
        return []
    target = target_by_table(float(wet.si), float(outdoor.si))
    if target.value_K is None:
        return list(paragraph("no target: " + " ".join(target.reasons), width, role=Role.STRONG))
    again = cross_check(target, target_by_rule(float(wet.si), float(outdoor.si)))
    rows = [_row("target superheat", _apart(target.value_K, wet), "for a fixed orifice, by table")]
    return rows + [each for said in again for each in paragraph(said, width)]


def _row(label: str, value: str, note: str) -> Line:
    return line(quiet(pad(f" {label}", _COLUMN)), strong(pad(value, 11)), quiet(f" {note}"))


class Look(FormPage):
    """The page of the quick look; nothing of it is kept."""

    def __init__(self) -> None:
        super().__init__()
        self.filling = with_site(look_filling())

    def changed(self) -> None:
        """The altitude may have changed."""
        self.filling = with_site(self.filling)

    def form(self) -> FormView:
        """Fields above, what they mean below."""
        width = self.size.width
        return FormView(
            "QUICK LOOK: nothing is logged", self.filling, below=answers(self.filling, width), said=self.said,
            nature=self.chargewright.nature,
        )  # fmt: skip

    async def done(self) -> None:
        """Back to the first field: the answers stand below all the time."""
        self.filling = replace(self.filling, at=0)
