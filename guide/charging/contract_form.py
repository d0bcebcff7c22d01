"""The form of what `advise` reads: pydantic models of one JSON line, and the values they stand for.

Numbers may come as decimal strings or as JSON numbers. Gauge pressures become absolute with the
site pressure.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from guide.charging.meaning import CHANNEL_WORDS
from guide.charging.refusal import FigureError
from guide.charging.round import Accuracy, Appliance, Metering, Round
from guide.charging.target_maker import MOST_PLACES, MakerTable
from guide.errors import ChargewrightError
from guide.refrigerant.catalogue import find
from guide.refrigerant.saturation import curve

MOST_ROUNDS = 1000
_OF_AIR = frozenset(
    {"indoor_relative_humidity", "indoor_dew_point_K", "supply_wb_K", "indoor_airflow_m3_per_s"}
)
"""Readings of air with an accuracy of their own that no rule of charging looks at."""
_NUMBER = re.compile(r"[+-]?(\d{1,30}(\.\d{0,30})?|\.\d{1,30})([eE][+-]?\d{1,4})?", re.ASCII)
_NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity)", re.ASCII | re.IGNORECASE)
_EXPECTED = 'expected a number with a decimal point, such as "3.20"'


class InputError(ChargewrightError):
    """A line that can't be answered; the message says where it goes wrong and what would do."""


def _number(value: object) -> float:
    """Read a decimal string or a JSON number that is finite."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise ValueError(_EXPECTED)  # noqa: TRY004 - pydantic reports a ValueError, a TypeError it lets through
    text = str(value).strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(_EXPECTED)
    number = float(text)
    if number in (float("inf"), float("-inf")):
        raise ValueError("the number is too large")
    return number


def _reading(value: object) -> float | None:
    """Read a number, let one through that is not finite, and take null for not read."""
    if value is None:
        return None
    if isinstance(value, (str, float)) and not isinstance(value, bool):
        text = str(value).strip()
        if _NOT_FINITE.fullmatch(text) or _NUMBER.fullmatch(text):
            return float(text)
    return _number(value)


def _receiver(value: object) -> object:
    """Take true and false for present and none, null for not known."""
    if value is None:
        return "unknown"
    if isinstance(value, bool):
        return "present" if value else "none"
    return value


def _or_none(value: object) -> float | None:
    return None if value is None else _number(value)


def _null_is_unknown(value: object) -> object:
    return "unknown" if value is None else value


Number = Annotated[float, BeforeValidator(_number)]
Reading = Annotated[Annotated[float, Field(allow_inf_nan=True)] | None, BeforeValidator(_reading)]
Words = Annotated[str, Field(max_length=120)]


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class AccuracyIn(_Strict):
    """An instrument's limit: fixed part in the channel's SI unit, parts of the reading and of the span.

    The range (`lowest` to `highest`) is in the unit of its key: gauge where the key ends in `_gauge`.
    """

    fixed: Number
    of_reading: Number = 0.0
    of_span: Number = 0.0
    division: Number = 0.0
    lowest: Number | None = None
    highest: Number | None = None
    insulated: bool | None = None

    def accuracy(self, key: str, site_pressure_Pa: float) -> Accuracy:
        """Return it in SI, its range absolute.

        Raises:
            InputError: for a part of a span that is not given, or insulation where no pipe is read.
        """
        if self.insulated is not None and key != "suction_line_K":
            raise InputError(f"instruments.{key}.insulated: only the suction line's sensor has this key")
        if self.of_span < 0.0 or self.of_span > 1.0:
            raise InputError(f'instruments.{key}.of_span: give a share from 0 to 1, such as "0.02"')
        span = 0.0
        if self.of_span:
            if self.lowest is None or self.highest is None:
                raise InputError(f"instruments.{key}.of_span: give lowest and highest, which make the span")
            span = self.highest - self.lowest
        lift_Pa = site_pressure_Pa if key.endswith("_gauge") else 0.0
        return Accuracy(
            fixed=self.fixed + self.of_span * span,
            of_reading=self.of_reading,
            division=self.division,
            lowest=None if self.lowest is None else self.lowest + lift_Pa,
            highest=None if self.highest is None else self.highest + lift_Pa,
            insulated=self.insulated,
        )


def _accuracy(value: object) -> object:
    return value if isinstance(value, dict) else {"fixed": value}


class RoundIn(_Strict):
    """One round of readings as it stands in the file."""

    net_charged_kg: Annotated[float, BeforeValidator(_reading)]
    minutes_since_change: Annotated[float, BeforeValidator(_reading)]
    suction_pressure_Pa_gauge: Reading = None
    suction_line_K: Reading = None
    liquid_pressure_Pa_gauge: Reading = None
    liquid_line_K: Reading = None
    indoor_db_K: Reading = None
    indoor_wb_K: Reading = None
    supply_db_K: Reading = None
    outdoor_db_K: Reading = None
    discharge_line_K: Reading = None
    condenser_out_db_K: Reading = None
    standing_low_Pa_gauge: Reading = None
    standing_high_Pa_gauge: Reading = None
    standing_ambient_K: Reading = None
    indoor_airflow_share: Reading = None
    # Instead of the wet bulb, each with the dry bulb; a share from 0 to 1.
    indoor_relative_humidity: Reading = None
    indoor_dew_point_K: Reading = None
    # With these, what the air gives up is told; the airflow as measured in the return duct.
    supply_wb_K: Reading = None
    indoor_airflow_m3_per_s: Reading = None

    def absolute(self, site_pressure_Pa: float) -> Round:
        """Return the round with absolute pressures."""

        def lifted(gauge_Pa: float | None) -> float | None:
            return None if gauge_Pa is None else gauge_Pa + site_pressure_Pa

        return Round(
            net_charged_kg=self.net_charged_kg,
            minutes_since_change=self.minutes_since_change,
            suction_pressure_Pa=lifted(self.suction_pressure_Pa_gauge),
            suction_line_K=self.suction_line_K,
            liquid_pressure_Pa=lifted(self.liquid_pressure_Pa_gauge),
            liquid_line_K=self.liquid_line_K,
            indoor_db_K=self.indoor_db_K,
            indoor_wb_K=self.indoor_wb_K,
            supply_db_K=self.supply_db_K,
            outdoor_db_K=self.outdoor_db_K,
            discharge_line_K=self.discharge_line_K,
            condenser_out_db_K=self.condenser_out_db_K,
            standing_low_Pa=lifted(self.standing_low_Pa_gauge),
            standing_high_Pa=lifted(self.standing_high_Pa_gauge),
            standing_ambient_K=self.standing_ambient_K,
            indoor_airflow_share=self.indoor_airflow_share,
        )


TableRow = Annotated[list[Annotated[float | None, BeforeValidator(_or_none)]], Field(max_length=MOST_PLACES)]


class TargetTableIn(_Strict):
    """The maker's own table of target superheat: rows by outdoor temperature, null for a dash."""

    source: Words
    indoor_wb_K: Annotated[list[Number], Field(max_length=MOST_PLACES)]
    outdoor_db_K: Annotated[list[Number], Field(max_length=MOST_PLACES)]
    target_superheat_K: Annotated[
        list[
            Annotated[list[Annotated[float | None, BeforeValidator(_or_none)]], Field(max_length=MOST_PLACES)]
        ],
        Field(max_length=MOST_PLACES),
    ]

    def table(self) -> MakerTable:
        """Return it checked.

        Raises:
            InputError: the figures make no such table.
        """
        try:
            return MakerTable(
                self.source,
                tuple(self.indoor_wb_K),
                tuple(self.outdoor_db_K),
                tuple(tuple(row) for row in self.target_superheat_K),
            )
        except FigureError as error:
            raise InputError(f"target_table: {error}") from error


class AdviseIn(_Strict):
    """What `advise` reads."""

    refrigerant: Words
    metering: Annotated[Metering, Field(strict=False)]
    nameplate_charge_kg: Number
    site_pressure_Pa: Number
    rounds: Annotated[list[RoundIn], Field(min_length=1, max_length=MOST_ROUNDS)]
    target_subcooling_K: Number | None = None
    target_superheat_K: Number | None = None
    target_table: TargetTableIn | None = None
    tolerance_K: Number | None = None
    instruments: Annotated[
        dict[str, Annotated[AccuracyIn, BeforeValidator(_accuracy)]], Field(max_length=16)
    ] = Field(default_factory=dict)
    application: Annotated[Words, BeforeValidator(_null_is_unknown)] = "unitary air conditioner in cooling"
    receiver: Annotated[Words, BeforeValidator(_receiver)] = "none"
    capacity_fixed: bool | None = True
    scale_division_kg: Number | None = None
    settle_minutes: Number | None = None
    rated_capacity_W: Number | None = None

    def limit(self, channel: str, reading: float) -> float | None:
        """Return the half width stated for a reading of air, in the unit of its key; None where none is.

        Raises:
            InputError: as `AccuracyIn.accuracy`.
        """
        stated = self.instruments.get(channel)
        if stated is None:
            return None
        accuracy = stated.accuracy(channel, self.site_pressure_Pa)
        return accuracy.fixed + accuracy.of_reading * abs(reading)

    def appliance(self) -> Appliance:
        """Return the appliance these lines describe.

        Raises:
            ChargewrightError: for a refrigerant or an instrument channel nobody knows.
        """
        refrigerant = find(self.refrigerant)
        stated: dict[str, Any] = {}
        if self.tolerance_K is not None:
            orifice = self.metering is Metering.FIXED_ORIFICE
            stated["superheat_tolerance_K" if orifice else "subcooling_tolerance_K"] = self.tolerance_K
        if self.scale_division_kg is not None:
            stated["scale_division_kg"] = self.scale_division_kg
        if self.settle_minutes is not None:
            stated["settle_minutes"] = self.settle_minutes
        return Appliance(
            curve=curve(refrigerant.designation),
            safety_group=refrigerant.safety_group,
            metering=self.metering,
            nameplate_charge_kg=self.nameplate_charge_kg,
            site_pressure_Pa=self.site_pressure_Pa,
            target_subcooling_K=self.target_subcooling_K,
            target_superheat_K=self.target_superheat_K,
            application=self.application,
            receiver=self.receiver,
            capacity_fixed=self.capacity_fixed,
            accuracies=self._accuracies(),
            target_table=None if self.target_table is None else self.target_table.table(),
            **stated,
        )

    def _accuracies(self) -> dict[str, Accuracy]:
        by_channel = {}
        for name, stated in self.instruments.items():
            if name in _OF_AIR:
                continue
            channel = name.removesuffix("_gauge")
            if channel not in CHANNEL_WORDS:
                raise InputError(f"instruments: unknown channel; use one of {', '.join(CHANNEL_WORDS)}")
            by_channel[channel] = stated.accuracy(name, self.site_pressure_Pa)
        return by_channel
