"""Commands that work a job: the terminal program, `run`, `demo`."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from guide.cli.given import (
    LARGEST_ORDER_BYTES,
    Common,
    Unusable,
    data_option,
    folder_of,
    passphrase,
    passphrase_option,
    plain_option,
    read_bounded,
)
from guide.errors import ChargewrightError
from guide.escape import for_terminal

if TYPE_CHECKING:
    from guide.instruments.readings import Readings
    from guide.job.order import Order
    from guide.journal.store import Kind as Nature
    from guide.rig.rehearsal import Rehearsal

PACE_S = 0.5
"""Seconds between two acts of a demonstration that a person watches."""


def on_a_terminal() -> bool:
    """Whether a person sits at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def open_program(common: Common) -> None:
    """Open the terminal program at its first screen.

    Raises:
        Unusable: there is no terminal.
    """
    _require_terminal("the program needs a terminal; for commands without one see chargewright --help")
    if common.plain:
        _work_plainly(common, common.places().root, "real", None)
        return
    from guide.screens.app import ChargewrightApp

    ChargewrightApp(common.places().root, nature="real").run()


@click.command()
@click.argument("order")
@click.option("--readings", metavar="FILE", help="Take readings from a stream (- is standard input).")
@click.option(
    "--unattended", is_flag=True, help="Let the simulated technician work it; practice orders only."
)
@plain_option
@passphrase_option
@data_option
@click.pass_obj
def run(common: Common, *, order: str, readings: str | None, unattended: bool) -> None:
    """Work the job that ORDER (a YAML file) describes."""
    from guide.job.order import read_order

    known = read_order(read_bounded(order, LARGEST_ORDER_BYTES), for_terminal(order))
    if readings is not None and (unattended or known.nature == "demonstration"):
        raise Unusable("--readings: only a job that a person works takes a stream; leave it out")
    if readings == "-" and common.passphrase_fd == 0:
        raise Unusable("--passphrase-fd 0: standard input is the stream; give another descriptor")
    if unattended:
        if known.nature == "real":
            raise Unusable(
                f"{order}: is real work and needs a person; leave --unattended out, or give a practice order"
            )
        _rehearse(known, _fresh(common, known.nature, None), passphrase(common))
        return
    if common.passphrase_fd is not None and not common.plain:
        raise Unusable("--passphrase-fd: the program asks for the passphrase itself; leave it out")
    followed = _follow(readings, folder_of(common, known.nature)) if readings is not None else None
    _require_terminal(
        f"{order}: needs a terminal to be worked in; practice orders can be run with --unattended"
    )
    if known.nature == "demonstration":
        # its keys are made for one run and never written down, so it is played, not worked by a person
        _play(known, _fresh(common, known.nature, None), PACE_S)
        return
    try:
        if common.plain:
            _work_plainly(common, folder_of(common, known.nature), known.nature, known, followed)
            return
        from guide.screens.app import ChargewrightApp

        ChargewrightApp(
            folder_of(common, known.nature), nature=known.nature, order_file=Path(order), readings=followed
        ).run()
    finally:
        if followed is not None:
            followed.close()


@click.command()
@click.option("--unattended", is_flag=True, help="Print each step instead of playing in the terminal.")
@click.option("--to", "to", metavar="DIR", help="New or empty folder for everything the demonstration makes.")
@click.option(
    "--pace",
    metavar="S",
    type=click.FloatRange(0.0, 60.0),
    default=0.5,
    show_default=True,
    help="Seconds between two acts while it plays in the terminal.",
)
@data_option
@click.pass_obj
def demo(common: Common, *, unattended: bool, to: str | None, pace: float) -> None:
    """A whole job on a simulated system, from order to signed and checked record."""
    from guide.rig.orders import demonstration_order

    order = demonstration_order()
    folder = _fresh(common, "demonstration", to)
    if unattended or not on_a_terminal():
        _rehearse(order, folder)
        return
    _play(order, folder, pace)


def _fresh(common: Common, nature: str, to: str | None) -> Path:
    from guide.rig.rehearsal import fresh_folder, require_fresh

    if to is not None:
        if not to.strip():
            raise Unusable("--to is empty; name a new or empty folder")
        return require_fresh(Path(to).expanduser().absolute())
    places = common.places()
    parent = places.demo if nature == "demonstration" else places.practice / "unattended"
    return fresh_folder(parent, datetime.now().astimezone())


def _rehearse(order: Order, folder: Path, secret: str | None = None) -> None:
    from guide.rig.rehearsal import prepare

    click.echo(f"{order.nature.upper()}: a simulated system, invented readings; nothing here is evidence.")
    click.echo(for_terminal(f"{order.place}; order {order.number}; everything goes to {folder}"))
    rehearsal = prepare(order, folder, passphrase=secret)
    try:
        while (words := rehearsal.step()) is not None:
            click.echo(for_terminal(f"{rehearsal.local_time()}  {words}"))
            sys.stdout.flush()
    finally:
        rehearsal.close()
    _hand_over(rehearsal)


def _play(order: Order, folder: Path, pace_s: float) -> None:
    from guide.rig.rehearsal import prepare
    from guide.screens.app import ChargewrightApp

    rehearsal = prepare(order, folder)
    try:
        ChargewrightApp(folder, nature=order.nature, rehearsal=rehearsal, play_pause_s=pace_s).run()
    finally:
        rehearsal.close()
    _hand_over(rehearsal)


def _hand_over(rehearsal: Rehearsal) -> None:
    """What was made: the checker's answer, and as the very last line where the record is."""
    from guide.cli.records import answer_lines

    if rehearsal.issued is None:
        raise Unusable("the demonstration was left before its end; no record was made")
    pdf = rehearsal.issued.pdf.absolute()
    for line in answer_lines(pdf):
        click.echo(for_terminal(line))
    click.echo(f"customer's copy {rehearsal.issued.customer_copy.absolute()}")
    click.echo(f"fingerprint {rehearsal.issued.fingerprint}")
    click.echo(str(pdf))


def _work_plainly(
    common: Common, folder: Path, nature: Nature, order: Order | None, readings: Readings | None = None
) -> None:
    """Work as a linear prompt; the passphrase may come from a descriptor."""
    from guide.plain.program import PlainProgram, at_the_terminal

    secret = passphrase(common)
    at_the_terminal(
        lambda voice: PlainProgram(
            voice, folder, nature=nature, order=order, passphrase=secret, readings=readings
        )
    )


def _follow(name: str, folder: Path) -> Readings:
    """Follow a stream of readings; after standard input went to the feed, the terminal is ours again.

    Raises:
        Unusable: the stream is the keyboard, or there is no screen to show it on.
        NoFeed: it can't be followed.
    """
    from guide.instruments.feed import Feed, give_back_terminal
    from guide.instruments.readings import Readings

    if not sys.stdout.isatty() or (name == "-") == sys.stdin.isatty():
        raise Unusable(
            "--readings: needs a terminal, and a pipe into it for -, such as: gauges | chargewright …"
        )
    feed = Feed(name, folder / "streams" / f"{datetime.now(UTC):%Y%m%dT%H%M%SZ}.ndjson")
    if name == "-":
        try:
            give_back_terminal()
        except ChargewrightError:
            feed.close()
            raise
    return Readings(feed)


def _require_terminal(otherwise: str) -> None:
    if not on_a_terminal():
        raise Unusable(otherwise)


COMMANDS = (run, demo)
