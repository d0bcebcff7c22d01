"""What the property library CoolProp calls each refrigerant, and how it mixes pairs nobody measured.

Needs the library; only the builders of shipped data (`fit.py`) and tests use it.

A mixture needs interaction parameters for each pair of its components. Where the library holds none, they
come from its simple rule after Lorentz and Berthelot. How far that may be off, see `ESTIMATE_MAY_BE_OFF_K`
in `curve.py`.
"""

import re
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Final

from guide.errors import ChargewrightError
from guide.refrigerant.curve import DOUBT_WORDS
from guide.refrigerant.listing import Listed, components, listed

MIXING_RULE: Final = "Lorentz-Berthelot"
LOWEST_TEMPERATURE_K: Final = 233.15
_PSEUDO_PURE: Final = ("R-404A", "R-407C", "R-410A", "R-507A")
_MISSING_PAIR: Final = re.compile(r"binary pair \[([0-9-]+),([0-9-]+)\]")
# Shipped first: their files hold more digits and keep their bytes.
_FIRST: Final = ("R-22", "R-32", "R-134a", "R-407C", "R-410A", "R-454B")

_ruled: set[frozenset[str]] = set()


class NoModel(ChargewrightError):
    """The property library can't compute a refrigerant."""


@dataclass(frozen=True, slots=True)
class Model:
    """What the library calls a refrigerant, and how far its curve is taken.

    `shares` are mole fractions of the library's `&`-joined components, empty for what it knows by one name.
    `top_shares` of the critical pressure are tried in turn. `fine` asks for more digits.
    """

    designation: str
    library_name: str
    words: str
    top_shares: tuple[float, ...]
    shares: tuple[float, ...] = ()
    lowest_temperature_K: float = LOWEST_TEMPERATURE_K
    fine: bool = False

    @property
    def is_mixture(self) -> bool:
        """Whether the library mixes it, rather than having one equation for it."""
        return bool(self.shares) or self.library_name.endswith(".mix")


def model_of(entry: Listed) -> Model:
    """The model of one listed refrigerant.

    Raises:
        NoModel: the library can't compute it.
    """
    if entry.refused:
        raise NoModel(f"{entry.designation}: {entry.refused}")
    fine = entry.designation in _FIRST
    if len(entry.composition) == 1:
        part = components()[entry.designation]
        return Model(
            entry.designation, part.library_name, f"pure fluid {part.library_name}", (0.95,),
            lowest_temperature_K=max(LOWEST_TEMPERATURE_K, part.freezes_K or 0.0), fine=fine,
        )  # fmt: skip
    bare = entry.designation.replace("-", "", 1)
    if entry.designation in _PSEUDO_PURE:
        return Model(entry.designation, bare, f"pseudo-pure fluid {bare}", (0.95,), fine=fine)
    if f"{bare}.mix" in _predefined():
        words = f"mixture {bare}.mix, bridged" if fine else f"mixture {bare}.mix"
        words += f", {DOUBT_WORDS}" if entry.doubted else ""
        return Model(entry.designation, f"{bare}.mix", words, (0.92, 0.90), fine=fine)
    names = [components()[part.designation].library_name for part in entry.composition]
    moles = [
        float(part.mass_fraction) / _molar_mass(name)
        for part, name in zip(entry.composition, names, strict=True)
    ]
    return Model(
        entry.designation, "&".join(names), f"mixture {'/'.join(names)}", (0.92, 0.90),
        shares=tuple(mole / sum(moles) for mole in moles),
    )  # fmt: skip


def models() -> tuple[Model, ...]:
    """The model of every refrigerant that is not refused, the first six first."""
    entries = sorted(
        (entry for entry in listed() if not entry.refused),
        key=lambda e: _FIRST.index(e.designation) if e.designation in _FIRST else len(_FIRST),
    )
    return tuple(model_of(entry) for entry in entries)


def library_state(model: Model) -> Any:
    """A state of the library for a model, missing pairs given by the mixing rule.

    Raises:
        NoModel: the library can't compute it.
    """
    from CoolProp.CoolProp import AbstractState, apply_simple_mixing_rule

    while True:
        try:
            state: Any = AbstractState("HEOS", model.library_name)
        except ValueError as error:
            missing = _MISSING_PAIR.search(str(error))
            if missing is None:
                raise NoModel(f"{model.designation}: {error}") from error
            apply_simple_mixing_rule(missing[1], missing[2], MIXING_RULE)
            _ruled.add(frozenset(missing.groups()))
            continue
        if model.shares:
            state.set_mole_fractions(list(model.shares))
        return state


def pairs_by_rule(state: Any) -> int:
    """How many of a state's pairs of components the mixing rule had to give, in this process."""
    from CoolProp.CoolProp import get_fluid_param_string

    numbers = [get_fluid_param_string(name, "CAS") for name in state.fluid_names()]
    return sum(frozenset(pair) in _ruled for pair in combinations(numbers, 2))


def _molar_mass(library_name: str) -> float:
    from CoolProp.CoolProp import PropsSI

    return float(PropsSI("M", library_name))


def _predefined() -> frozenset[str]:
    from CoolProp.CoolProp import get_global_param_string

    return frozenset(get_global_param_string("predefined_mixtures").split(","))
