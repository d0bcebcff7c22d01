"""An act of the hands is told in plain words, whatever its place and amount."""

from __future__ import annotations

import pytest

from guide.rig.acts import Act, Handling
from guide.rig.spoken import spoken


@pytest.mark.parametrize(
    ("handling", "words"),
    [
        (Handling(Act.JOIN, "low"), "join the low-side hose to its port"),
        (Handling(Act.JOIN, "SIM-N"), "join the charging hose to SIM-N"),
        (Handling(Act.JOIN, "vacuum pump"), "join the vacuum pump"),
        (Handling(Act.JOIN, "nitrogen"), "join the charging hose to the nitrogen"),
        (Handling(Act.PART, "centre"), "take the charging hose off"),
        (Handling(Act.CLAMP, "suction_line"), "put the suction line sensor in its place"),
        (Handling(Act.OPEN_HAND_VALVE, "low", 0.1), "open the low-side hand valve a crack"),
        (Handling(Act.OPEN_HAND_VALVE, "high", 1.0), "open the high-side hand valve all the way"),
        (Handling(Act.OPEN_CYLINDER, "", 0.3), "open the cylinder's valve by 30%"),
        (Handling(Act.SET_REGULATOR, "", 411_600.0), "set the nitrogen regulator to 412 kPa absolute"),
        (Handling(Act.STAND, "SIM-R"), "stand SIM-R on the scale"),
        (Handling(Act.CLEAN, "filter"), "clean the filter"),
        (Handling(Act.MEND), "mend, fit a new drier and close the circuit"),
        (Handling(Act.MEND, "low"), "change the core of the low-side port with a core tool"),
    ],
)
def test_an_act_is_told_as_one_would_say_it(handling: Handling, words: str) -> None:
    assert spoken(handling) == words


@pytest.mark.parametrize("act", list(Act))
def test_every_act_has_words_with_and_without_a_place(act: Act) -> None:
    assert spoken(Handling(act))
    assert "low" in spoken(Handling(act, "low"))


def test_a_new_drier_alone_is_told_apart_from_mending() -> None:
    assert spoken(Handling(Act.MEND, "drier")) == "fit a new filter-drier and close the circuit"
    assert spoken(Handling(Act.MEND)) == "mend, fit a new drier and close the circuit"
