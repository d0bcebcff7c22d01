"""Bubble and dew curves from shipped coefficients: no property library, about a microsecond a lookup.

`guide/refrigerant/fit.py` makes the coefficient files from an open property library, and the tests hold them
against it. A record carries the very bytes of the curve it was reckoned with, and `read_curve` reads those.
"""

from functools import lru_cache
from importlib import resources

from guide.refrigerant.catalogue import find
from guide.refrigerant.curve import Curve, OutOfRange
from guide.refrigerant.curve_file import BadCurve, read_curve

__all__ = ["BadCurve", "Curve", "OutOfRange", "curve", "read_curve"]


def curve(designation: str) -> Curve:
    """The shipped curve of a refrigerant, read once.

    Raises:
        UnknownRefrigerant: no such refrigerant in the catalogue.
        BadCurve: the shipped file is missing or damaged.
    """
    return _shipped(find(designation).designation)


@lru_cache(maxsize=256)
def _shipped(designation: str) -> Curve:
    file = resources.files("guide.refrigerant") / "curves" / f"{designation}.json"
    try:
        data = file.read_bytes()
    except OSError as error:
        raise BadCurve(f"curve of {designation}: file missing; install the program again") from error
    read = read_curve(data)
    if read.designation != designation:
        raise BadCurve(f"curve of {designation}: file holds another refrigerant; install the program again")
    return read
