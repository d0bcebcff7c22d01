"""Where the example orders are: package data in a wheel, the checkout's folder otherwise."""

from __future__ import annotations

from pathlib import Path

from guide.job.order import Order, OrderError, read_order

DEMONSTRATION = "demonstration.yaml"


def demonstration_order() -> Order:
    """The shipped order of the demonstration.

    Raises:
        OrderError: the installation carries none, or it can't be worked.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_jobs", package.parent / "jobs"):
        path = folder / DEMONSTRATION
        if path.is_file():
            try:
                return read_order(path.read_bytes(), str(path))
            except OSError as error:
                raise OrderError(f"{path}: can't be read; install the program again") from error
    raise OrderError(f"{package}: no {DEMONSTRATION} installed with the program; install it again")
