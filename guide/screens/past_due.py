"""Something on the order is past its calibration: use another, or say why the work begins all the same."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from guide.screens.ask import text
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView

After = Callable[[str], Awaitable[None]]

_WHY = ("compared with another one today", "no other one at hand")


class PastDueReason(FormPage):
    """What is past due, and one field; `after` is called with the reason."""

    def __init__(self, names: tuple[str, ...], after: After) -> None:
        super().__init__()
        self._names = names
        self._after = after
        self.filling = Filling.of((text("reason", "Why all the same", suggestions=_WHY),))

    def form(self) -> FormView:
        """Names first, then what may be done."""
        words = (
            f"PAST THEIR CALIBRATION: {'; '.join(self._names)}.",
            "Use others and change the order (Esc), or say why the work begins with them. "
            "The reason stands on the first page of the record.",
        )
        keys = (("Enter", "begin"), ("Esc", "back"))
        return FormView(
            "BEFORE THE JOB BEGINS", self.filling, words, said=self.said,
            nature=self.chargewright.nature, keys=keys, must_read=True,
        )  # fmt: skip

    async def done(self) -> None:
        """Begin the job."""
        self.chargewright.follow(self._after(self.filling.text("reason")), leaving=True)
