"""Capacity and COP of the model with little air, a restriction or gas in it, against published ones."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from guide.rig.plant import Metering
from tests.evidence import plant_published as published
from tests.evidence.plant_charge import KIND
from tests.evidence.plant_model import ORIFICE, SIX, VALVE, Asked, ask, cop, ratios, unit
from tests.evidence.plant_row import Compared, around

_AIR: Final = "± 0.03; the fits of one trouble differ by as much"
_CRUDE: Final = "± 0.05; how the trouble's size carries over is remembered"
_ATMOSPHERE_Pa: Final = 101325.0
_AMBIENT_K: Final = 298.15


def rows() -> Iterator[Compared]:
    """Every row of a trouble's size."""
    yield from _indoor_air()
    yield from _outdoor_air()
    yield from _restriction()
    yield from _gas()


def _indoor_air() -> Iterator[Compared]:
    for refrigerant in SIX:
        for metering in (ORIFICE, VALVE):
            sound = ask(refrigerant, metering)
            for share in (0.8, 0.6):
                state = ask(refrigerant, metering, Asked(indoor_air=share))
                model = ratios(state, sound)["capacity"]
                measured = published.airflow_capacity(share)
                yield _row(
                    f"Indoor air, {KIND[metering]}",
                    f"capacity of {refrigerant} at {100 * share:.0f} % of the airflow",
                    model,
                    measured,
                    0.03,
                    "± 0.03 (PROPOSED), polynomial of typical units",
                    published.CUTLER,
                )


def _outdoor_air() -> Iterator[Compared]:
    for metering in (ORIFICE, VALVE):
        sound = ask("R-410A", metering)
        for source, fault in (
            (published.NREL_SPLIT, published.AIR_SPLIT),
            (published.NREL_PACKAGED, published.AIR_PACKAGED),
        ):
            for size in (0.2, 0.3, 0.5):
                model = ratios(ask("R-410A", metering, Asked(outdoor_air=1.0 - size)), sound)
                for quantity, measured in (
                    ("capacity", published.nrel(fault, "capacity", size)),
                    ("COP", published.nrel_cop(fault, size)),
                ):
                    yield _row(
                        f"Outdoor air, {KIND[metering]}",
                        f"{quantity} at -{100 * size:.0f} % of the airflow, {source.rpartition(': ')[2]}",
                        model[quantity],
                        measured,
                        0.03,
                        _AIR,
                        source,
                    )


def _restriction() -> Iterator[Compared]:
    """Size: drop in the liquid line as a share of the sound pressure difference of the sides (MEMORY)."""
    for metering in (ORIFICE, VALVE):
        sound = ask("R-410A", metering)
        for size in (0.10, 0.20, 0.25):
            dropped_Pa = size * (sound.liquid_Pa - sound.suction_Pa)
            model = ratios(
                ask("R-410A", metering, Asked(restriction_Pa=_rated_Pa(metering, dropped_Pa))), sound
            )
            for quantity, measured in (
                ("capacity", published.nrel(published.RESTRICTION, "capacity", size)),
                ("COP", published.nrel_cop(published.RESTRICTION, size)),
            ):
                yield _row(
                    f"Restriction, {KIND[metering]}",
                    f"{quantity} at a size of {size:g}",
                    model[quantity],
                    measured,
                    0.05,
                    _CRUDE,
                    published.NREL_FAULT,
                )


def _rated_Pa(metering: Metering, dropped_Pa: float) -> float:
    """The restriction, named by its drop at rated flow, whose drop at the flow it leaves is `dropped_Pa`."""
    full = ask("R-410A", metering).flow_kg_per_s
    low_Pa, high_Pa = dropped_Pa, 6.0 * dropped_Pa
    for _ in range(20):
        middle_Pa = 0.5 * (low_Pa + high_Pa)
        flow = ask("R-410A", metering, Asked(restriction_Pa=middle_Pa)).flow_kg_per_s
        if middle_Pa * (flow / full) ** 2 < dropped_Pa:
            low_Pa = middle_Pa
        else:
            high_Pa = middle_Pa
    return 0.5 * (low_Pa + high_Pa)


def _gas() -> Iterator[Compared]:
    """Gas is published by its mass, the model takes its pressure: what would carry over isn't known.

    So the model is given the partial pressure at which its COP is the published one. That must be a share
    of what all of the gas would make in the condenser's vapour, and the capacity there the published one.
    """
    for metering in (ORIFICE, VALVE):
        sound = ask("R-410A", metering)
        for size in (0.25, 0.5):
            gas_Pa = _gas_of_cop_Pa(metering, published.nrel_cop(published.GAS, size))
            share = gas_Pa / _all_trapped_Pa(metering, size)
            yield Compared(
                f"Non-condensables, {KIND[metering]}",
                f"partial pressure for the published COP at a size of {size:g}, share of all trapped",
                share,
                None,
                0.05,
                1.0,
                "share",
                "some of the gas circulates",
                published.NREL_FAULT,
                "CALCULATED",
            )
            yield _row(
                f"Non-condensables, {KIND[metering]}",
                f"capacity at the published COP, size {size:g}",
                ratios(ask("R-410A", metering, Asked(gas_Pa=gas_Pa)), sound)["capacity"],
                published.nrel(published.GAS, "capacity", size),
                0.05,
                _CRUDE,
                published.NREL_FAULT,
            )


def _gas_of_cop_Pa(metering: Metering, wanted: float) -> float:
    low_Pa, high_Pa = 0.0, 8e5
    best = cop(ask("R-410A", metering))
    for _ in range(20):
        middle_Pa = 0.5 * (low_Pa + high_Pa)
        if cop(ask("R-410A", metering, Asked(gas_Pa=middle_Pa))) / best > wanted:
            low_Pa = middle_Pa
        else:
            high_Pa = middle_Pa
    return 0.5 * (low_Pa + high_Pa)


def _all_trapped_Pa(metering: Metering, size: float) -> float:
    """Partial pressure of gas of a size, were all of it in the vapour of the running condenser.

    Size: its mass over the mass that fills the whole circuit at atmospheric pressure (MEMORY).
    """
    made, state = unit("R-410A", metering), ask("R-410A", metering)
    whole_m3 = made.condenser_m3 + made.evaporator_m3 + made.rated.liquid_line_m3 + made.rated.vapour_m3
    vapour_m3 = made.condenser_m3 - state.masses["condenser"] / made.liquid_kg_per_m3
    return size * _ATMOSPHERE_Pa * whole_m3 / vapour_m3 * state.condensing_K / _AMBIENT_K


def _row(
    group: str, quantity: str, model: float, measured: float, by: float, band: str, source: str
) -> Compared:
    low, high = around(measured, by)
    return Compared(group, quantity, model, measured, low, high, "ratio", band, source, "CALCULATED")
