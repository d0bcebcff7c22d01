"""A state is found so quickly that many fit between two readings."""

from statistics import median

from tests.rig.plant.plants import ELECTRONIC, ORIFICE, THERMOSTATIC, plant
from tests.rig.plant.times import times_ms


def test_a_state_takes_milliseconds_at_most() -> None:
    for metering in (ORIFICE, THERMOSTATIC, ELECTRONIC):
        cold, warm = times_ms(plant(metering=metering), 60)
        assert median(cold) < 3.0
        assert median(warm) < 2.0
