"""A new job: take an order from a file, or type one."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job import payloads as p
from guide.job.order import Order, read_order
from guide.screens.ask import Choice, pick, text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView
from guide.screens.order_gear import needs_of, with_gear
from guide.screens.order_text import fault_in, order_filling, order_text

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.procedure.model import Procedure

LARGEST_ORDER_BYTES = 1_000_000
After = Callable[[Order], Awaitable[None]]


class OrderUnreadable(ChargewrightError):
    """An order's file can't be read."""


def read_order_file(path: Path) -> Order:
    """An order from its file.

    Raises:
        OrderUnreadable: there is no such file, it can't be read, or it is far too large.
        OrderError: it is no order.
    """
    try:
        if path.stat().st_size > LARGEST_ORDER_BYTES:
            raise OrderUnreadable(f"{path}: too large for an order; name the order's own file")
        return read_order(path.read_bytes(), path.name)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "can't be read"
        raise OrderUnreadable(f"{path}: {reason}; name a file that holds an order") from error


class NewOrder(FormPage):
    """First from where, then the file's name or all the fields."""

    def __init__(self, after: After) -> None:
        super().__init__()
        self._after = after
        self._typing = False
        self._needs: dict[str, tuple[str, ...]] = {}
        self._last: Order | None = None
        self.filling = self._begin()

    @staticmethod
    def _begin() -> Filling:
        where = (
            Choice("file", "take it from a file", letter="f"),
            Choice("typed", "type it here", letter="t"),
        )
        return Filling.of(
            (pick("from", "The order", where, picked=0), text("path", "Its file", note="path, ends in .yaml"))
        )

    def form(self) -> FormView:
        """One form or the other."""
        nature = self.chargewright.nature
        if not self._typing:
            return FormView("NEW JOB", self.filling, said=self.said, nature=nature)
        words = (
            "What stands on the nameplate counts. Enter goes on; a field may stay empty where it says so.",
        )
        return FormView("NEW JOB: the order", self.filling, words, said=self.said, nature=nature)

    async def pressed(self, key: str, character: str | None) -> None:
        """Choosing to type opens the long form at once."""
        await super().pressed(key, character)
        if self._typing:
            needs = self._needs.get(self.filling.text("procedure"), ())
            self.filling = with_gear(self.filling, needs, self._last)
        elif self.filling.at == 1 and self.filling.text("from") == "typed":
            self._typing = True
            try:
                procedures = await asyncio.to_thread(self._known)
            except ChargewrightError as error:
                self.say_fault(str(error))
                self._typing = False
                self.filling = self._begin()
                return
            titles = tuple((name, each.title) for name, each in procedures.items())
            self._needs = {name: needs_of(each) for name, each in procedures.items()}
            self.filling = order_filling(titles, self._last)

    async def left(self) -> None:
        """Back to the first question, or out."""
        if self._typing:
            self._typing = False
            self.filling = self._begin()
        else:
            await super().left()

    async def done(self) -> None:
        """Read the order, from its file or from what was typed."""
        try:
            order = await asyncio.to_thread(self._read)
        except ChargewrightError as error:
            placed = fault_in(self.filling, str(error)) if self._typing else None
            if placed is not None:
                self.filling = placed
            else:
                self.say_fault(str(error))
            return
        self.chargewright.follow(self._after(order))

    def _read(self) -> Order:
        if self._typing:
            return read_order(order_text(self.filling, self.chargewright.nature).encode(), "this order")
        order = read_order_file(Path(self.filling.text("path")).expanduser())
        if self.chargewright.bench is not None:
            # before anybody makes keys for a job that can't be opened here
            self.chargewright.bench.require_nature(order)
        return order

    def _known(self) -> dict[str, Procedure]:
        """The procedures there are; the newest order of this folder is kept for what it says of tools."""
        from guide.procedure import library

        bench = self.chargewright.bench
        self._last = last_order(bench) if bench else None
        return {name: library.load(name) for name in library.list_procedures()}


def last_order(bench: Bench) -> Order | None:
    """The order of the newest job, or None where there is none or it was withheld."""
    jobs = bench.jobs()
    if not jobs:
        return None
    for event in bench.journal.events(jobs[0].job):
        opened = p.read_payload(event.kind, event.body)
        blob = bench.shelf.blob(opened.order) if isinstance(opened, p.Opened) else None
        return read_order(blob.text.encode(), "the last order") if blob else None
    return None
