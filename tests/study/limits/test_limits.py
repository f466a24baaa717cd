"""Every limit fed back: at its own capacity torque a limit is used up exactly."""

import numpy as np
import pytest
from plain_runs import RPM, run_of
from scipy.stats import spearmanr

from torquerisk.case import Engine, Policy
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import ALL_LIMITS, LimitKind

pytestmark = pytest.mark.slow

SUPPLY = {
    "running_gear.ring_land_height": 0.004,
    "supply.fuel_pump_flow": 1.6e-5,
    "supply.injector_flow": 2.0e-5,
    "supply.high_pressure_pump_volume": 0.2e-6,
    "supply.rail_pressure": 5e5,
    "supply.rail_reference": "atmosphere",
    "supply.pressure_sensor_limit": 250e3,
    "supply.wastegate_spring": 0.8e5,
    "supply.boost_valve": "three-port",
    "supply.compressor_flow": 0.25,
    "supply.compressor_flow_ratio": 2.0,
    "supply.compressor_top_ratio": 3.0,
    "supply.compressor_top_flow": 0.2,
    "supply.compressor_surge_flow": 0.2,
    "supply.crank_compressor_efficiency": 0.6,
    "supply.compressor_drive_power": 8e3,
    "supply.spark_reserve": 1.15,
    "valvetrain.valve_diameter": 0.033,
    "valvetrain.valve_effective_mass": 0.08,
    "valvetrain.valve_deceleration": 0.02,
    "valvetrain.spring_force_at_nose": 400.0,
    "valvetrain.spring_force_on_seat": 100.0,
}
WEAK = {
    "head_joint.thread": "M8x1.25",
    "head_joint.property_class": "8.8",
    "head_joint.tightening_torque": 20.0,
    "head_joint.tightening": "torque",
    "head_joint.engagement_length": 0.009,
    "head_joint.ring_stiffness": 1e8,
    "running_gear.rod_section_area": 60e-6,
    "running_gear.pin_yield_strength": 300e6,
    "running_gear.pin_bore_diameter": 0.018,
    "running_gear.big_end_clearance": 0.10e-3,
    "running_gear.oil_temperature": 423.0,
}
SPEED = {
    "spark": [2000, 3000, 4000, 5000, 6000, 6500],
    "compression": [1200, 1800, 2400, 3000, 3600, 4000],
}
ONLY_SPEED = {"rod_eye", "rod_cap", "rod_bolts", "rod_bolt_life", "valve_float"}
Kind = str
Found = dict[tuple[Kind, str], Assessment]


@pytest.fixture(scope="module")
def first(plain_engine: Engine, plain_diesel: Engine, few: Policy) -> Found:
    """Each kind of engine, plain and weak, assessed at a light torque."""
    found: Found = {}
    for engine in (plain_engine, plain_diesel):
        rpm = SPEED[engine.ignition]
        light = run_of(rpm, [100.0] * len(rpm))
        with_supply = engine.with_values({**SUPPLY, "known_good.curve": light})
        found[engine.ignition, "plain"] = assess(with_supply, light, few)
        found[engine.ignition, "weak"] = assess(engine.with_values(WEAK), light, few)
    return found


def applies(ignition: Kind, name: str) -> bool:
    """Whether a kind of engine has this limit at all."""
    return ignition == "spark" or name not in ("knock", "octane", "spark")


CASES = [
    (ignition, limit.name)
    for ignition in SPEED
    for limit in ALL_LIMITS
    if applies(ignition, limit.name) and limit.name not in ONLY_SPEED
]


@pytest.mark.parametrize(("ignition", "name"), CASES)
def test_its_capacity_torque_uses_a_limit_up(
    first: Found, few: Policy, ignition: Kind, name: str
) -> None:
    """Metamorphic: capacity at each speed fed back as torque gives utilisation 1 within 0.1 %."""
    for built in ("plain", "weak"):
        before = first[ignition, built]
        if name not in before.limits:
            continue
        capacity = before.limits[name].capacity_torque.p50
        fits = np.isfinite(capacity) & (capacity > -500)
        if fits.sum() >= 3:
            break
    else:
        pytest.fail(f"no engine of this test has a finite capacity for {name}")
    torque = np.where(fits, capacity, 100.0)
    after = assess(before.engine, run_of(before.speed / RPM, torque), few)
    assert after.limits[name].utilisation[fits] == pytest.approx(1.0, abs=0.001)
    assert after.limits[name].chance[fits] == pytest.approx(0.5, abs=2 / few.draws)


@pytest.mark.parametrize("ignition", SPEED)
@pytest.mark.parametrize("name", sorted(ONLY_SPEED))
def test_a_limit_of_speed_alone_does_not_see_torque(
    first: Found, few: Policy, ignition: Kind, name: str
) -> None:
    """Metamorphic: twice the torque changes nothing; capacity is +inf or, beyond it, -inf."""
    before = first[ignition, "plain"]
    item = before.limits[name]
    after = assess(before.engine, run_of(before.speed / RPM, before.torque * 2), few)
    assert np.array_equal(after.limits[name].utilisation, item.utilisation)
    assert np.array_equal(np.isposinf(item.capacity_torque.p50), item.utilisation < 1)
    assert np.array_equal(np.isneginf(item.capacity_torque.p50), item.utilisation >= 1)
    assert np.all(np.diff(item.utilisation) > 0)


def test_a_limit_of_speed_alone_says_so(plain_engine: Engine, few: Policy) -> None:
    """Identity: where inertia alone passes it, capacity is -inf and every draw is counted."""
    engine = plain_engine.with_values(
        {"running_gear.piston_mass": 1.2, "running_gear.rod_bolt_thread": "M6x1",
         "running_gear.rod_section_area": 900e-6, "running_gear.small_end_wall": 0.03,
         "running_gear.cap_thickness": 0.06,
         "running_gear.rod_bolt_class": "8.8"}
    )  # fmt: skip
    result = assess(engine, run_of([2000, 4000, 9000], [50, 50, 50]), few)
    bolts = result.limits["rod_bolts"]
    assert np.isneginf(bolts.capacity_torque.p95[-1])
    assert bolts.speed_limited[-1] == bolts.chance[-1] == result.chance_any[-1] == 1.0
    assert np.isneginf(result.ceiling[-1])
    assert result.governing[-1] == "rod_bolts"
    assert "speed-limited" in {n.code for n in result.notices}


def assessed(engine: Engine, few: Policy, **values: float | str) -> Assessment:
    """An engine with more known of its supply, assessed on a run with logged boost."""
    given = {f"supply.{key}": value for key, value in values.items()}
    run = run_of([2000, 3500, 5000], [250, 300, 280], manifold_pressure=[150e3, 190e3, 190e3])
    return assess(engine.with_values(given), run, few)


def allowed(engine: Engine, few: Policy, name: str, **values: float | str) -> np.ndarray:
    """Median capacity torque of one limit at those speeds [N*m]."""
    return assessed(engine, few, **values).limits[name].capacity_torque.p50


def test_a_pump_that_the_engine_turns_feeds_one_torque(plain_engine: Engine, few: Policy) -> None:
    """Identity: its flow and the fuel of a torque both go with speed; phasing and friction move the
    torque by a few percent, while an electric pump's falls by the ratio of the speeds."""
    turned = allowed(plain_engine, few, "high_pressure_pump", high_pressure_pump_volume=0.16e-6)
    electric = allowed(plain_engine, few, "fuel_pump", fuel_pump_flow=1.1e-5)
    assert turned == pytest.approx(turned.mean(), rel=0.06)
    assert electric[2] / electric[1] == pytest.approx(0.7, rel=0.06)


def test_a_three_port_valve_about_doubles_what_a_spring_holds(
    plain_engine: Engine, few: Policy
) -> None:
    """Common practice, no source: a spring of 0.6 bar that opens 10 kPa early holds 151 kPa, with
    the valve 201 kPa; the torque that takes more lies higher by nearly that ratio."""
    alone, valved = (
        assessed(plain_engine, few, wastegate_spring=0.6e5, boost_valve=valve).limits["boost"]
        for valve in ("none", "three-port")
    )
    assert alone.strength.p50 == pytest.approx(151.3e3, rel=0.01)
    assert valved.strength.p50 == pytest.approx(201.3e3, rel=0.01)
    ratio = valved.capacity_torque.p50 / alone.capacity_torque.p50
    assert np.all((ratio > 1.15) & (ratio < 1.35))


def test_a_rail_held_over_atmosphere_loses_what_boost_takes(
    plain_engine: Engine, few: Policy
) -> None:
    """Bernoulli: at 3 bar stated and held, flow is whole over the manifold; where boost of 0.9 bar
    pushes back it is sqrt(2.1/3) of that."""
    injectors = {"injector_flow": 1.55e-5, "rail_pressure": 3e5}
    over = allowed(plain_engine, few, "injectors", **injectors)
    fixed = allowed(
        plain_engine, few, "injectors", rail_reference="atmosphere",
        **{**injectors, "injector_flow": 1.55e-5 / np.sqrt(2.1 / 3)},
    )  # fmt: skip
    near = np.abs(over - 300) < 30
    assert near.any()
    assert fixed[near] == pytest.approx(over[near], rel=0.05)


def test_logged_duty_says_what_the_injectors_passed(plain_engine: Engine, few: Policy) -> None:
    """Identity: at the measured torque injectors are used by their logged duty over the highest one
    in every draw, and the pump carries that fuel: 0.6 of 24 cm³/s, 14.4 of 16."""
    given = {
        "supply.injector_flow": 2.4e-5, "supply.injector_duty": 0.8,
        "supply.fuel_pump_flow": 1.6e-5, "supply.rail_pressure": 3e5,
    }  # fmt: skip
    run = run_of(
        [2000, 3500, 5000], [150, 170, 160],
        manifold_pressure=[101325.0] * 3, injector_duty=[0.3, 0.5, 0.6],
    )  # fmt: skip
    result = assess(plain_engine.with_values(given), run, few)
    injectors, pump = result.limits["injectors"], result.limits["fuel_pump"]
    assert injectors.utilisation == pytest.approx(np.array([0.3, 0.5, 0.6]) / 0.8, rel=1e-3)
    assert pump.load.p50[2] / pump.strength.p50[2] == pytest.approx(14.4 / 16, rel=0.01)


def test_chance_rises_with_torque(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: ten per cent more torque never lowers the chance of any limit.

    Of a loosely tightened head, which fails in some engines at these torques.
    """
    loose = {"head_joint.tightening": "torque", "head_joint.tightening_torque": 40.0}
    plain_engine = plain_engine.with_values(loose)
    rpm = SPEED["spark"]
    low = assess(plain_engine, run_of(rpm, [200.0] * 6), few)
    high = assess(plain_engine, run_of(rpm, [220.0] * 6), few)
    for name, item in low.limits.items():
        assert np.all(high.limits[name].chance >= item.chance), name
        assert np.all(high.limits[name].utilisation >= item.utilisation - 1e-12), name
    assert np.all(high.chance_any >= low.chance_any)
    assert high.chance_any.max() > low.chance_any.max()


def test_chance_of_any_is_that_of_strength(first: Found) -> None:
    """Identity: no less than the greatest strength chance, no more than their sum."""
    for result in first.values():
        alone = np.array(
            [i.chance for i in result.limits.values() if i.limit.kind is LimitKind.STRENGTH]
        )
        assert np.all(result.chance_any >= alone.max(axis=0))
        assert np.all(result.chance_any <= alone.sum(axis=0) + 1e-12)
        assert result.chance_any.max() <= result.chance_pulls <= result.chance_any.sum()


def test_each_limit_says_what_it_is() -> None:
    """Identity: one name each, and words for readers."""
    names = [limit.name for limit in ALL_LIMITS]
    assert len(set(names)) == len(names)
    for limit in ALL_LIMITS:
        assert limit.title
        assert limit.protects
        assert limit.lifted_by
        assert limit.unit_size > 0


def test_a_wider_map_carries_more(first: Found) -> None:
    """Metamorphic: of engines alike but for the map's width as drawn, the wider map allows more."""
    a = first["spark", "plain"]
    wide = a.model.parts.given("supply.compressor_flow")
    carried = a.model.capacities["compressor"][-1]
    reached = np.isfinite(carried)
    assert spearmanr(wide[reached], carried[reached]).statistic > 0.2
