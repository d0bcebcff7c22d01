"""What `advise` makes of readings of air: a wet bulb nobody read, and what the air gives up."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from guide.charging.air_capacity import (
    M3_S_PER_CFM,
    W_PER_TON,
    AirReadings,
    air_capacity,
    capacity_words,
)
from guide.charging.contract_form import AdviseIn, InputError, RoundIn
from guide.charging.refusal import FigureError
from guide.charging.round import Accuracy, Appliance, Round, Verdict
from guide.charging.uncertainty import limit_of
from guide.charging.wet_bulb import (
    DEW_POINT_LIMIT_K,
    HUMIDITY_LIMIT,
    WetBulb,
    wet_bulb_by_dew_point,
    wet_bulb_by_relative_humidity,
)

_USUAL_M3_S_PER_W = 400.0 * M3_S_PER_CFM / W_PER_TON
"""400 cfm a ton (FOUND, charging reference section 3)."""


def with_air(given: AdviseIn, appliance: Appliance) -> tuple[Appliance, tuple[Round, ...], tuple[str, ...]]:
    """Return the rounds with wet bulbs worked out and airflows as shares, and what is to be said of it.

    The limit of the last round's derived wet bulb goes with the appliance.

    Raises:
        InputError: a rated capacity that is none, or an instrument that can't be used.
    """
    if given.rated_capacity_W is not None and not given.rated_capacity_W > 0.0:
        raise InputError('rated_capacity_W: must be above zero, such as "10550"')
    said: tuple[str, ...] = ()
    rounds = []
    for entry in given.rounds:
        now, found, said = _round(entry, given, appliance.accuracies)
        rounds.append(now)
    if found is not None:
        accuracies = {**appliance.accuracies, "indoor_wb_K": Accuracy(fixed=found.limit_K)}
        appliance = replace(appliance, accuracies=accuracies)
    return appliance, tuple(rounds), said


def _round(
    entry: RoundIn, given: AdviseIn, accuracies: Mapping[str, Accuracy]
) -> tuple[Round, WetBulb | None, tuple[str, ...]]:
    now = entry.absolute(given.site_pressure_Pa)
    flow, rated_W = entry.indoor_airflow_m3_per_s, given.rated_capacity_W
    if now.indoor_airflow_share is None and flow is not None and rated_W is not None and math.isfinite(flow):
        now = replace(now, indoor_airflow_share=flow / rated_W / _USUAL_M3_S_PER_W)
    try:
        found = _wet_bulb(entry, given, accuracies)
    except FigureError as error:
        return now, None, (f"No indoor wet bulb can be worked out: {error}.",)
    if found is None:
        return now, None, ()
    return replace(now, indoor_wb_K=found.value_K), found, (found.said,)


def _wet_bulb(entry: RoundIn, given: AdviseIn, accuracies: Mapping[str, Accuracy]) -> WetBulb | None:
    db_K, humidity, dew_K = entry.indoor_db_K, entry.indoor_relative_humidity, entry.indoor_dew_point_K
    if entry.indoor_wb_K is not None or db_K is None or (humidity is None and dew_K is None):
        return None
    limit_K = limit_of("indoor_db_K", db_K, accuracies)
    if humidity is not None:
        stated = given.limit("indoor_relative_humidity", humidity)
        return wet_bulb_by_relative_humidity(
            db_K,
            humidity,
            given.site_pressure_Pa,
            dry_bulb_limit_K=limit_K,
            humidity_limit=HUMIDITY_LIMIT if stated is None else stated,
        )
    assert dew_K is not None
    stated = given.limit("indoor_dew_point_K", dew_K)
    return wet_bulb_by_dew_point(
        db_K,
        dew_K,
        given.site_pressure_Pa,
        dry_bulb_limit_K=limit_K,
        dew_point_limit_K=DEW_POINT_LIMIT_K if stated is None else stated,
    )


def air_side(given: AdviseIn, appliance: Appliance, now: Round, verdict: Verdict | None) -> tuple[str, ...]:
    """Say what the air gives up in the last round; empty where its flow or its temperatures were not read.

    Raises:
        InputError: an instrument that can't be used.
    """
    entry = given.rounds[-1]
    flow, supply_wb_K = entry.indoor_airflow_m3_per_s, entry.supply_wb_K
    if flow is None or now.indoor_db_K is None or now.indoor_wb_K is None or now.supply_db_K is None:
        return ()
    air = AirReadings(
        flow, now.indoor_db_K, now.indoor_wb_K, now.supply_db_K, supply_wb_K, given.site_pressure_Pa
    )
    try:
        limits = {
            "return_db_K": limit_of("indoor_db_K", air.return_db_K, appliance.accuracies),
            "return_wb_K": limit_of("indoor_wb_K", air.return_wb_K, appliance.accuracies),
            "supply_db_K": limit_of("supply_db_K", air.supply_db_K, appliance.accuracies),
        }
        for name, channel, reading in (
            ("airflow_m3_per_s", "indoor_airflow_m3_per_s", flow),
            ("supply_wb_K", "supply_wb_K", supply_wb_K),
        ):
            stated = None if reading is None else given.limit(channel, reading)
            if stated is not None:
                limits[name] = stated
        return capacity_words(
            air_capacity(air, limits),
            airflow_m3_per_s=flow,
            rated_W=given.rated_capacity_W,
            return_wb_K=air.return_wb_K,
            outdoor_db_K=now.outdoor_db_K,
            verdict=verdict,
        )
    except FigureError as error:
        return (f"What the air gives up can't be told: {error}.",)
