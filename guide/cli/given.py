"""What a command is given: quantities, the atmosphere, files, passphrases. Each refusal is one line."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from guide.errors import ChargewrightError
from guide.units import Kind, Quantity, STANDARD_PRESSURE_Pa, UnitError, parse, standard_pressure_at

if TYPE_CHECKING:
    from guide.journal.port import Places
    from guide.journal.store import Kind as Nature

LARGEST_ORDER_BYTES: Final = 1_000_000
LONGEST_PASSPHRASE_BYTES: Final = 1024
# The atmosphere wherever units stand (PROPOSED), the same bounds as in an order.
_SITE_RANGE_Pa: Final = (Decimal(45_000), Decimal(110_000))
_ALTITUDE_RANGE_m: Final = (Decimal(-450), Decimal(6000))


class Unusable(ChargewrightError):
    """The call or its input can't be used: what, where, and what would do."""


@dataclass(frozen=True, slots=True)
class Site:
    """The atmosphere at the site [Pa absolute], and whether nobody gave it."""

    pressure_Pa: Decimal
    assumed: bool


@dataclass(slots=True)
class Common:
    """Options that hold for the whole call."""

    data: str | None = None
    passphrase_fd: int | None = None
    plain: bool = False

    def places(self) -> Places:
        """Where this person's data is kept.

        Raises:
            Unusable: the option names no folder.
        """
        from guide.journal.port import places

        if self.data is not None and not self.data.strip():
            raise Unusable("--data is empty; name a folder")
        return places(Path(self.data) if self.data is not None else None)


def folder_of(common: Common, nature: Nature) -> Path:
    """The folder of the log for this kind of work; practice never meets real work."""
    places = common.places()
    return {"real": places.root, "practice": places.practice, "demonstration": places.demo}[nature]


def _kept(name: str) -> Callable[[click.Context, click.Parameter, Any], None]:
    def callback(context: click.Context, _: click.Parameter, value: Any) -> None:
        if value is not None:
            setattr(context.ensure_object(Common), name, value)

    return callback


def data_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command take `--data`, before or after its name."""
    return click.option(
        "--data", metavar="DIR", expose_value=False, callback=_kept("data"),
        help="Folder of journal, keys and records (else CHARGEWRIGHT_DATA, else the platform's).",
    )(function)  # fmt: skip


def passphrase_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command take `--passphrase-fd`, before or after its name."""
    return click.option(
        "--passphrase-fd", metavar="N", type=click.IntRange(0, 1023), expose_value=False,
        callback=_kept("passphrase_fd"), help="Read the passphrase from this open file descriptor.",
    )(function)  # fmt: skip


def plain_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command take `--plain`, before or after its name."""
    return click.option(
        "--plain", is_flag=True, default=None, expose_value=False, callback=_kept("plain"),
        help="Line by line, without painting: for screen readers and simple terminals.",
    )(function)  # fmt: skip


def site_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a command take the site's atmosphere."""
    function = click.option(
        "--site-pressure", metavar="P", help="Barometer at the site, absolute: 14.2psia, 29.1inHga."
    )(function)
    return click.option("--altitude", metavar="H", help="Altitude of the site: 620ft, 190m.")(function)


json_option = click.option("--json", "as_json", is_flag=True, help="Answer in JSON, SI units.")


def site(altitude: str | None, site_pressure: str | None) -> Site:
    """The site's atmosphere as given, else the standard one, said to be assumed.

    Raises:
        Unusable: both are given, or one is no such quantity or no such place.
    """
    if altitude is not None and site_pressure is not None:
        raise Unusable("--altitude and --site-pressure: give one of them, not both")
    if altitude is not None:
        height = needed("--altitude", altitude, Kind.LENGTH)
        if not _ALTITUDE_RANGE_m[0] <= height.si <= _ALTITUDE_RANGE_m[1]:
            raise Unusable("--altitude lies outside -450 m to 6000 m; check the unit")
        return Site(standard_pressure_at(height.si), assumed=False)
    if site_pressure is not None:
        pressure = needed("--site-pressure", site_pressure, Kind.PRESSURE)
        if not _SITE_RANGE_Pa[0] <= pressure.si <= _SITE_RANGE_Pa[1]:
            raise Unusable(
                "--site-pressure is no atmospheric pressure; give the barometer's reading: 14.2psia"
            )
        return Site(pressure.si, assumed=False)
    return Site(STANDARD_PRESSURE_Pa, assumed=True)


def needed(option: str, text: str, kind: Kind, place: Site | None = None) -> Quantity:
    """The quantity an option was given.

    Raises:
        Unusable: it is none; the message names the option and says what would do.
    """
    try:
        return parse(text, kind, site_pressure_Pa=place.pressure_Pa if place else None)
    except UnitError as error:
        raise Unusable(f"{option}: {error}") from error


def given(option: str, text: str | None, kind: Kind, place: Site | None = None) -> Quantity | None:
    """The quantity an option was given, or None where it was left out.

    Raises:
        Unusable: as `needed`.
    """
    return None if text is None else needed(option, text, kind, place)


def read_bounded(name: str, most: int) -> bytes:
    """The bytes of a file, at most `most` of them.

    Raises:
        Unusable: it can't be opened or read, is no file, or is larger.
    """
    try:
        with Path(name).open("rb") as file:
            data = file.read(most + 1)
    except OSError as error:
        raise Unusable(f"{name}: can't be read ({why(error)}); give the path of a file") from error
    except ValueError as error:
        raise Unusable(f"{name}: is no path; give the path of a file") from error
    if len(data) > most:
        raise Unusable(f"{name}: larger than {most // 1000} kB, which no such file is; check the path")
    return data


def why(error: OSError) -> str:
    """The system's reason in a few words."""
    return (error.strerror or type(error).__name__).lower()


def passphrase(common: Common) -> str | None:
    """The passphrase from the descriptor the person named, or None where none was named.

    Raises:
        Unusable: the descriptor is not open for reading, or no passphrase comes out of it.
    """
    number = common.passphrase_fd
    if number is None:
        return None
    taken = bytearray()
    try:
        with contextlib.closing(os.fdopen(number, "rb", buffering=0, closefd=False)) as stream:
            while len(taken) <= LONGEST_PASSPHRASE_BYTES and not taken.endswith(b"\n"):
                piece = stream.read(1)
                if not piece:
                    break
                taken += piece
        text = bytes(taken).decode().rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise Unusable(
            f"--passphrase-fd {number}: no text can be read from it; open it for reading, UTF-8, one line"
        ) from error
    if not text or len(taken) > LONGEST_PASSPHRASE_BYTES:
        raise Unusable(
            f"--passphrase-fd {number}: gives no passphrase of 1 to {LONGEST_PASSPHRASE_BYTES} bytes"
        )
    return text
