"""The plant's parts, each against what is known of it from elsewhere."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.charging.psychrometrics import air_by_relative_humidity
from guide.refrigerant.thermal import COVERED, thermal
from guide.rig.plant import expansion_valve, orifice
from guide.rig.plant.air import saturated_enthalpy, saturated_K, saturated_ratio
from guide.rig.plant.compressor import compress
from guide.rig.plant.condenser import Condensation, condense
from guide.rig.plant.inventory import in_oil_kg
from guide.rig.plant.void_fraction import mean_density

SEA_Pa = 101_325.0


@given(celsius=st.floats(-15.0, 45.0), pressure=st.floats(75_000.0, 105_000.0))
def test_saturated_air_is_that_of_the_programs_own_psychrometrics(celsius: float, pressure: float) -> None:
    temperature_K = celsius + 273.15
    other = air_by_relative_humidity(temperature_K, 1.0, pressure)
    if celsius > 0.0:  # below freezing the other counts over ice
        assert saturated_ratio(temperature_K, pressure) == pytest.approx(other.humidity_ratio, rel=1.5e-3)
        value, _ = saturated_enthalpy(temperature_K, pressure)
        assert value == pytest.approx(other.enthalpy_J_per_kg, abs=400.0)
    value, slope = saturated_enthalpy(temperature_K, pressure)
    beside, _ = saturated_enthalpy(temperature_K + 1e-4, pressure)
    assert slope == pytest.approx((beside - value) * 1e4, rel=1e-3)
    assert saturated_K(value, pressure, 290.0) == pytest.approx(temperature_K, abs=1e-6)


@pytest.mark.parametrize("refrigerant", COVERED)
@pytest.mark.parametrize(
    ("evaporating_K", "condensing_K", "superheat_K"), [(280.0, 318.0, 7.0), (268.0, 330.0, 30.0)]
)
def test_the_compressors_work_is_the_librarys_isentropic_over_its_efficiency(
    refrigerant: str, evaporating_K: float, condensing_K: float, superheat_K: float
) -> None:
    from CoolProp.CoolProp import PT_INPUTS, AbstractState, iphase_gas

    names = {"R-454B": "R454B.mix"}
    fluid = thermal(refrigerant)
    suction_Pa, discharge_Pa = fluid.dew_Pa(evaporating_K), fluid.dew_Pa(condensing_K)
    enthalpy = fluid.vapour_enthalpy_at(suction_Pa, evaporating_K + superheat_K)
    made = compress(
        fluid, swept_m3_per_s=1e-3, suction_Pa=suction_Pa, suction_enthalpy=enthalpy,
        at_suction=fluid.saturated(suction_Pa), discharge_Pa=discharge_Pa, leak=0.0,
    )  # fmt: skip
    state = AbstractState("HEOS", names.get(refrigerant, refrigerant.replace("-", "")))
    state.specify_phase(iphase_gas)
    state.update(PT_INPUTS, suction_Pa, evaporating_K + superheat_K)
    start, entropy = state.hmass(), state.smass()
    low, high = evaporating_K, 450.0
    for _ in range(60):  # mixtures give entropy for a temperature, not the other way round
        middle = 0.5 * (low + high)
        state.update(PT_INPUTS, discharge_Pa, middle)
        low, high = (middle, high) if state.smass() < entropy else (low, middle)
    off = math.log(discharge_Pa / suction_Pa / 2.7)
    work = (state.hmass() - start) / (0.70 / (1.0 + 0.43 * off * off))
    assert made.power_W / made.flow_kg_per_s == pytest.approx(work, rel=3e-3)


@given(x1=st.floats(0.0, 1.0), x2=st.floats(0.0, 1.0))
def test_mean_density_lies_between_both_phases_and_holds_more_than_a_homogeneous_mixture(
    x1: float, x2: float
) -> None:
    liquid, vapour = 1000.0, 40.0
    mean = mean_density(x1, x2, liquid, vapour)
    assert vapour - 1e-6 <= mean <= liquid + 1e-6
    assert mean == pytest.approx(mean_density(x2, x1, liquid, vapour), rel=1e-6)
    steps = [x1 + (x2 - x1) * (k + 0.5) / 200 for k in range(200)]
    homogeneous = sum(1.0 / (x / vapour + (1.0 - x) / liquid) for x in steps) / 200
    assert mean >= homogeneous * 0.99


def test_a_boiling_tube_holds_what_summing_thin_slices_gives() -> None:
    slices = [mean_density(x, x, 1050.0, 35.0) for x in ((k + 0.5) / 4000 for k in range(800, 4000))]
    assert mean_density(0.2, 1.0, 1050.0, 35.0) == pytest.approx(sum(slices) / len(slices), rel=1e-4)


def through_orifice(before_Pa: float = 2.6e6, subcooling_K: float = 5.0, after_Pa: float = 1.05e6) -> float:
    fluid = thermal("R-410A")
    both = fluid.saturated(before_Pa)
    return orifice.flow_per_area(
        before_Pa=before_Pa, subcooling_K=subcooling_K, bubble_K=both.bubble_K,
        bubble_K_per_ln=both.bubble_K_per_ln, density=both.liquid_density, after_Pa=after_Pa,
        critical_Pa=fluid.critical_Pa, critical_K=fluid.critical_K,
    )  # fmt: skip


@given(pressure=st.floats(1.5e6, 3.8e6), subcooling=st.floats(0.0, 18.0))
def test_an_orifice_passes_more_for_more_pressure_and_more_subcooling(
    pressure: float, subcooling: float
) -> None:
    here = through_orifice(pressure, subcooling)
    assert through_orifice(pressure * 1.02, subcooling) > here
    assert through_orifice(pressure, subcooling + 0.5) > here


def test_an_orifice_hardly_cares_for_the_pressure_behind_it() -> None:
    assert through_orifice(after_Pa=0.9e6) == pytest.approx(through_orifice(after_Pa=1.1e6), rel=0.02)


def test_an_orifice_of_usual_size_passes_a_usual_flow() -> None:
    # 0.071 inch bore for 3 tons is common practice, no source
    assert through_orifice() * math.pi / 4.0 * (0.071 * 0.0254) ** 2 == pytest.approx(0.066, rel=0.3)


@given(superheat=st.floats(-20.0, 40.0), wanted=st.floats(0.05, 0.95))
def test_a_valve_opens_with_superheat_within_its_ends(superheat: float, wanted: float) -> None:
    closed = expansion_valve.closed_superheat_K(6.0, wanted, 5.0, 0.01)
    assert expansion_valve.opening(6.0, closed, 5.0, 0.01) == pytest.approx(wanted, abs=1e-6)
    here = expansion_valve.opening(superheat, closed, 5.0, 0.01)
    assert 0.01 <= here <= expansion_valve.opening(superheat + 0.5, closed, 5.0, 0.01) <= 1.0


@given(superheat=st.floats(0.0, 40.0))
def test_oil_holds_less_refrigerant_the_more_superheat_comes_back(superheat: float) -> None:
    assert in_oil_kg(1.0, superheat) > in_oil_kg(1.0, superheat + 1.0) > 0.08


def through_condenser(
    flow: float = 0.066, condensing_K: float = 318.0, air_K: float = 308.15
) -> Condensation:
    fluid = thermal("R-410A")
    pressure = fluid.dew_Pa(condensing_K)
    both = fluid.saturated(pressure)
    return condense(
        fluid,
        outer_W_per_K=2500.0,
        inner_W_per_K=7500.0,
        air_W_per_K=1450.0,
        air_K=air_K,
        volume_m3=4.4e-3,
        flow=flow,
        entering_Pa=pressure,
        entering_enthalpy=fluid.vapour_enthalpy_at(pressure, condensing_K + 30.0),
        at_entering=both,
        leaving_Pa=pressure,
        at_leaving=both,
    )


@given(flow=st.floats(0.002, 0.12), condensing_K=st.floats(309.0, 335.0))
def test_a_condenser_is_filled_by_its_zones_and_cools_nothing_below_the_air(
    flow: float, condensing_K: float
) -> None:
    made = through_condenser(flow, condensing_K)
    fluid = thermal("R-410A")
    pressure = fluid.dew_Pa(condensing_K)
    assert 0.0 <= made.vapour_face <= 1.0
    assert 0.0 <= made.condensing_face <= 1.0 - made.vapour_face + 1e-6
    assert made.quality >= 0.0
    if made.quality == 0.0:
        assert fluid.subcooled_K(pressure, made.leaving_enthalpy) >= 308.15 - 0.05
        liquid_m3 = 4.4e-3 * (1.0 - made.vapour_face - made.condensing_face)
        assert made.mass_kg >= liquid_m3 * fluid.saturated(pressure).liquid_density
    given_up_W = flow * (fluid.vapour_enthalpy_at(pressure, condensing_K + 30.0) - made.leaving_enthalpy)
    assert given_up_W <= 1450.0 * (condensing_K + 30.0 - 308.15)


@given(flow=st.floats(0.01, 0.11), condensing_K=st.floats(312.0, 335.0))
def test_what_a_condenser_gives_changes_steadily_with_flow_and_pressure(
    flow: float, condensing_K: float
) -> None:
    here = through_condenser(flow, condensing_K)
    assert through_condenser(flow * 1.001, condensing_K).leaving_enthalpy >= here.leaving_enthalpy - 1.0
    more = through_condenser(flow, condensing_K + 0.05)
    assert more.mass_kg > 0.999 * here.mass_kg  # all liquid, it grows lighter as it warms
    assert more.mass_kg == pytest.approx(here.mass_kg, rel=0.03)


def test_liquid_that_backs_up_leaves_condensing_most_of_its_air() -> None:
    # Half the flow needs much less than half of the tubes: all of the air meets them.
    some, most = through_condenser(0.03, 321.0), through_condenser(0.06, 321.0)
    assert most.condensing_face < 1.0 - most.vapour_face  # both have liquid behind
    assert some.condensing_face < 0.45 * most.condensing_face


def test_a_valve_passes_the_less_the_less_subcooled_its_liquid_comes() -> None:
    full, bare = through_orifice(subcooling_K=5.6), through_orifice(subcooling_K=0.0)
    assert 0.8 < bare / full < 0.95
