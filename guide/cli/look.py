"""Commands that answer a question without a job: `sat`, `target`, `look`, `advise`."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO, Final

import click

from guide.cli.air import air_side, capacity_options, indoor_air, moisture_options
from guide.cli.given import Site, Unusable, given, json_option, needed, site, site_options, why
from guide.errors import ChargewrightError
from guide.units import Kind, show, usual_digits

_LONGEST_LINE_BYTES: Final = 1_000_000
_MOST_SKIPPED_BYTES: Final = 64_000_000


def _emit(answer: dict[str, object]) -> None:
    click.echo(json.dumps(answer, ensure_ascii=True, allow_nan=False))


def _pressure(value_Pa: float, place: Site) -> str:
    shown = []
    for unit in ("psig", "barg", "psia"):
        shown.append(show(value_Pa, unit, digits=usual_digits(unit), site_pressure_Pa=place.pressure_Pa))
    return f"{shown[0]} ({shown[1]}, {shown[2]})"


def _temperature(value_K: float) -> str:
    return f"{show(value_K, 'F', digits=1)} ({show(value_K, 'C', digits=1)})"


def _difference(value_K: float, off_K: float | None = None) -> str:
    off = "" if off_K is None else f" ± {off_K * 1.8:.1f}"
    return f"{value_K * 1.8:.1f}{off} °F ({value_K:.1f} K)"


def _atmosphere(place: Site) -> str:
    said = show(place.pressure_Pa, "psia", digits=2)
    if place.assumed:
        return f"site pressure {said} assumed (sea level); give --altitude or --site-pressure"
    return f"site pressure {said}"


@click.command()
@click.argument("refrigerant")
@click.option("--temperature", metavar="T", help="40F, 4.4C")
@click.option("--pressure", metavar="P", help="118.4psig, 8.2barg, 133psia")
@site_options
@json_option
def sat(
    *, refrigerant: str, temperature: str | None, pressure: str | None, altitude: str | None,
    site_pressure: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Bubble and dew of REFRIGERANT at a temperature or a pressure."""
    from guide.refrigerant.saturation import curve

    known = curve(refrigerant)
    place = site(altitude, site_pressure)
    if (temperature is None) == (pressure is None):
        raise Unusable("sat: give either --temperature or --pressure")
    answer: dict[str, object] = {"refrigerant": known.designation}
    if temperature is not None:
        at_K = float(needed("--temperature", temperature, Kind.TEMPERATURE).si)
        bubble_Pa, dew_Pa = known.bubble_pressure_Pa(at_K), known.dew_pressure_Pa(at_K)
        answer |= {
            "temperature_K": at_K,
            "bubble_pressure_Pa": round(bubble_Pa, 3),
            "dew_pressure_Pa": round(dew_Pa, 3),
        }
        head = f"{known.designation} at {_temperature(at_K)}"
        bubble, dew = _pressure(bubble_Pa, place), _pressure(dew_Pa, place)
    else:
        assert pressure is not None
        at_Pa = float(needed("--pressure", pressure, Kind.PRESSURE, place).si)
        bubble_K, dew_K = known.bubble_temperature_K(at_Pa), known.dew_temperature_K(at_Pa)
        answer |= {
            "pressure_Pa": at_Pa,
            "bubble_temperature_K": round(bubble_K, 6),
            "dew_temperature_K": round(dew_K, 6),
        }
        head = f"{known.designation} at {_pressure(at_Pa, place)}"
        bubble, dew = _temperature(bubble_K), _temperature(dew_K)
    answer |= {
        "estimated": known.estimated,
        "site_pressure_Pa": float(place.pressure_Pa),
        "site_pressure_assumed": place.assumed,
    }
    if as_json:
        _emit(answer)
        return
    estimated = f"  estimated: {known.why_estimated}\n" if known.estimated else ""
    click.echo(f"{head}\n  bubble  {bubble}\n  dew     {dew}\n{estimated}  {_atmosphere(place)}")


@click.command()
@click.option("--indoor-wb", metavar="T", help="Return air, wet bulb: 67F, 19.4C")
@moisture_options
@click.option("--outdoor-db", metavar="T", required=True, help="Outdoor air, dry bulb: 95F, 35C")
@click.option("--method", type=click.Choice(["table", "rule"]), default="table", show_default=True)
@site_options
@json_option
def target(
    *, indoor_wb: str | None, indoor_db: str | None, indoor_rh: str | None, indoor_dew_point: str | None,
    outdoor_db: str, method: str, altitude: str | None, site_pressure: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Target superheat of a fixed orifice, whether it is valid, and where it comes from."""
    from guide.charging.target import cross_check, target_by_rule, target_by_table

    indoor = indoor_air(
        site(altitude, site_pressure), indoor_wb=indoor_wb, indoor_db=indoor_db, indoor_rh=indoor_rh,
        indoor_dew_point=indoor_dew_point,
    )  # fmt: skip
    if indoor.wb_K is None:
        raise Unusable("target: give --indoor-wb, or --indoor-db with --indoor-rh or --indoor-dew-point")
    outdoor_K = float(needed("--outdoor-db", outdoor_db, Kind.TEMPERATURE).si)
    by_rule = target_by_rule(indoor.wb_K, outdoor_K)
    found, said = by_rule, indoor.said
    if method == "table":
        found = target_by_table(indoor.wb_K, outdoor_K)
        said = (*cross_check(found, by_rule), *said)
    found = replace(found, reasons=(*found.reasons, *said))
    if as_json:
        value_K = None if found.value_K is None else round(found.value_K, 6)
        _emit(
            {
                "target_superheat_K": value_K if found.valid else None,
                "valid": found.valid,
                "method": found.method.value,
                "reasons": list(found.reasons),
            }
        )
        return
    if found.valid and found.value_K is not None:
        click.echo(f"target superheat {_difference(found.value_K)}, by {found.method.value}")
    else:
        click.echo(f"no valid target superheat, by {found.method.value}")
    for reason in found.reasons:
        click.echo(f"  {reason}")


@click.command()
@click.argument("refrigerant")
@click.option("--suction-pressure", metavar="P", help="118.4psig")
@click.option("--suction-line", metavar="T", help="54F")
@click.option("--liquid-pressure", metavar="P", help="352psig")
@click.option("--liquid-line", metavar="T", help="97F")
@click.option("--indoor-wb", metavar="T", help="67F")
@moisture_options
@click.option("--outdoor-db", metavar="T", help="95F")
@click.option("--target-subcooling", metavar="D", help="10dF; says that a valve feeds the evaporator")
@capacity_options
@site_options
@json_option
def look(
    *, refrigerant: str, suction_pressure: str | None, suction_line: str | None,
    liquid_pressure: str | None, liquid_line: str | None, indoor_wb: str | None, indoor_db: str | None,
    indoor_rh: str | None, indoor_dew_point: str | None, outdoor_db: str | None, supply_db: str | None,
    supply_wb: str | None, airflow: str | None, rated_capacity: str | None,
    target_subcooling: str | None, altitude: str | None, site_pressure: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Saturation, superheat, subcooling and target of REFRIGERANT from what is given, without a job."""
    from guide.charging.meaning import interpret
    from guide.charging.round import Accuracy, Appliance, Metering, Round
    from guide.refrigerant import catalogue
    from guide.refrigerant.saturation import curve

    known = curve(refrigerant)
    place = site(altitude, site_pressure)

    def number(option: str, text: str | None, kind: Kind) -> float | None:
        quantity = given(option, text, kind, place)
        return None if quantity is None else float(quantity.si)

    indoor = indoor_air(
        place, indoor_wb=indoor_wb, indoor_db=indoor_db, indoor_rh=indoor_rh,
        indoor_dew_point=indoor_dew_point,
    )  # fmt: skip
    now = Round(
        net_charged_kg=0.0,
        minutes_since_change=0.0,
        suction_pressure_Pa=number("--suction-pressure", suction_pressure, Kind.PRESSURE),
        suction_line_K=number("--suction-line", suction_line, Kind.TEMPERATURE),
        liquid_pressure_Pa=number("--liquid-pressure", liquid_pressure, Kind.PRESSURE),
        liquid_line_K=number("--liquid-line", liquid_line, Kind.TEMPERATURE),
        indoor_db_K=indoor.db_K,
        indoor_wb_K=indoor.wb_K,
        outdoor_db_K=number("--outdoor-db", outdoor_db, Kind.TEMPERATURE),
    )
    if now.suction_pressure_Pa is None and now.liquid_pressure_Pa is None and now.indoor_wb_K is None:
        raise Unusable("look: nothing to look at; give --suction-pressure with --suction-line, for example")
    # out of the curve's range is refused here; inside a job it is a reading to be judged
    if now.suction_pressure_Pa is not None:
        known.dew_temperature_K(now.suction_pressure_Pa)
    if now.liquid_pressure_Pa is not None:
        known.bubble_temperature_K(now.liquid_pressure_Pa)
    air = air_side(
        place, indoor, now.outdoor_db_K, supply_db=supply_db, supply_wb=supply_wb, airflow=airflow,
        rated_capacity=rated_capacity,
    )  # fmt: skip
    subcooling_K = number("--target-subcooling", target_subcooling, Kind.TEMPERATURE_DIFFERENCE)
    meaning = interpret(
        Appliance(
            curve=known,
            safety_group=catalogue.find(refrigerant).safety_group,
            metering=Metering.FIXED_ORIFICE if subcooling_K is None else Metering.THERMOSTATIC_VALVE,
            nameplate_charge_kg=1.0,  # nothing is moved here; no figure depends on it
            site_pressure_Pa=float(place.pressure_Pa),
            target_subcooling_K=subcooling_K,
            accuracies={} if indoor.wb_limit_K is None else {"indoor_wb_K": Accuracy(indoor.wb_limit_K)},
        ),
        now,
    )
    verdict = None if meaning.uncertainty_K is None else meaning.verdict
    reasons = [*meaning.reasons, *indoor.said, *(() if air is None else air.words(verdict))]
    figures = {
        "dew_temperature_K": meaning.dew_K,
        "superheat_K": meaning.superheat_K,
        "superheat_uncertainty_K": meaning.superheat_uncertainty_K,
        "bubble_temperature_K": meaning.bubble_K,
        "subcooling_K": meaning.subcooling_K,
        "subcooling_uncertainty_K": meaning.subcooling_uncertainty_K,
        "target_superheat_K": meaning.target_superheat_K,
        "target_superheat_uncertainty_K": meaning.target_superheat_uncertainty_K,
        "target_subcooling_K": meaning.target_subcooling_K,
        "uncertainty_K": meaning.uncertainty_K,
    }
    if as_json:
        _emit(
            {
                "refrigerant": known.designation,
                **{key: None if value is None else round(value, 6) for key, value in figures.items()},
                "verdict": None if verdict is None else verdict.value,
                "reasons": reasons,
                "estimated": known.estimated,
                "site_pressure_Pa": float(place.pressure_Pa),
                "site_pressure_assumed": place.assumed,
                **({} if air is None else air.figures()),
            }
        )
        return
    click.echo(f"{known.designation}, {_atmosphere(place)}")
    for name, value in (("dew", meaning.dew_K), ("bubble", meaning.bubble_K)):
        if value is not None:
            click.echo(f"  {name:<18}{_temperature(value)}")
    for name, value, off in (
        ("superheat", meaning.superheat_K, meaning.superheat_uncertainty_K),
        ("subcooling", meaning.subcooling_K, meaning.subcooling_uncertainty_K),
        ("target superheat", meaning.target_superheat_K, meaning.target_superheat_uncertainty_K),
        ("target subcooling", meaning.target_subcooling_K, None),
    ):
        if value is not None:
            click.echo(f"  {name:<18}{_difference(value, off)}")
    if known.estimated and not any(known.why_estimated in reason for reason in meaning.reasons):
        click.echo(f"  estimated: {known.why_estimated}")
    for reason in reasons:
        click.echo(f"  {reason}")


@click.command()
@click.argument("file")
def advise(file: str) -> int:
    """Verdict and advice for rounds of readings: JSON in, JSON out, one line a line. FILE `-` is a stream.

    A file may also hold one JSON object spread over several lines. Blank lines are passed over.
    """
    if file == "-":
        return _advise_lines(sys.stdin.buffer, "standard input")
    try:
        with Path(file).open("rb") as stream:
            whole = stream.read(_LONGEST_LINE_BYTES + 1)
            if len(whole) <= _LONGEST_LINE_BYTES and _is_one_object(whole):
                return _finish(1, 0 if _advise_one(b" ".join(whole.splitlines())) else 1, file)
            if stream.seekable():
                stream.seek(0)
                return _advise_lines(stream, file)
    except OSError as error:
        raise Unusable(f"{file}: can't be read ({why(error)}); give a file of JSON lines, or -") from error
    except ValueError as error:
        raise Unusable(f"{file[:80]}: is no path; give a file of JSON lines, or -") from error
    raise Unusable(f"{file}: is no plain file; send it through standard input with -")


def _is_one_object(data: bytes) -> bool:
    try:
        return isinstance(json.loads(data), dict)
    except (ValueError, RecursionError):
        return False


def _advise_lines(stream: BinaryIO, name: str) -> int:
    lines = bad = 0
    while line := stream.readline(_LONGEST_LINE_BYTES + 1):
        if not line.strip():
            continue
        lines += 1
        ended = len(line) <= _LONGEST_LINE_BYTES or line.endswith(b"\n") or _skip_to_its_end(stream)
        if not _advise_one(line):
            bad += 1
        if not ended:
            raise Unusable(
                f"{name}: a line without end, {_MOST_SKIPPED_BYTES // 1_000_000} MB long; give text"
            )
    return _finish(lines, bad, name)


def _skip_to_its_end(stream: BinaryIO) -> bool:
    """Pass over the rest of a line that is too long; False where it does not end."""
    for _ in range(_MOST_SKIPPED_BYTES // _LONGEST_LINE_BYTES):
        rest = stream.readline(_LONGEST_LINE_BYTES)
        if not rest or rest.endswith(b"\n"):
            return True
    return False


def _advise_one(line: bytes) -> bool:
    from guide.charging.contract import answer

    try:
        if len(line) > _LONGEST_LINE_BYTES:
            raise Unusable(f"the line is longer than {_LONGEST_LINE_BYTES} bytes: give fewer rounds")
        said = answer(line.decode())
    except UnicodeDecodeError:
        said = {"error": "this line is not UTF-8 text: give one JSON object a line"}
    except ChargewrightError as error:
        said = {"error": str(error)}
    _emit(said)
    sys.stdout.flush()
    return "error" not in said


def _finish(lines: int, bad: int, name: str) -> int:
    if bad:
        raise Unusable(f"{name}: {bad} of {lines} lines can't be used; each one's answer says why")
    if not lines:
        raise Unusable(f"{name}: holds no line; give one JSON object a line")
    return 0


COMMANDS = (sat, target, look, advise)
