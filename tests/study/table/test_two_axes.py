"""Tables over speed and a second axis: what moves, what is held, and the order of the columns."""

import dataclasses

import numpy as np
import pytest
from small_case import SPEED, assessed, hump
from table_case import careful, proposal_ca50, with_advance, with_ca50, without_phasing

from torquerisk.errors import InputError
from torquerisk.physics.cylinder.knock import blend_octane, ethanol_mole_fraction
from torquerisk.quantities import RPM
from torquerisk.show.text.two_axes import table_2d_text
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limits import knocking, place_of
from torquerisk.study.strengths.parts import parts_of
from torquerisk.study.table.finer_grid import finer_inputs, index_of
from torquerisk.study.table.ignition_asked import later_asked
from torquerisk.study.table.propose import Wish, propose_limit
from torquerisk.study.table.second_axis import (
    CHARGE_TEMPERATURE,
    COOLANT_TEMPERATURE,
    ETHANOL,
    GEAR,
    petrol_octane,
    phasing_held,
)
from torquerisk.study.table.two_axes import propose_table_2d

pytestmark = pytest.mark.slow

CELSIUS = 273.15
VALUES = {
    ETHANOL: (0.0, 0.3, 0.85),
    CHARGE_TEMPERATURE: (298.0, 323.0, 353.0),
    GEAR: (30 * RPM, 300 * RPM, 1500 * RPM),
}


def asked(**choices: float) -> Wish:
    """A table of a careful policy under what the run made."""
    return Wish(policy=careful(**choices), reach="measured")


@pytest.fixture(scope="module", params=list(VALUES), ids=lambda axis: axis.name)
def table(request):
    return propose_table_2d(with_advance(), request.param, VALUES[request.param], asked(points=6))


@pytest.fixture(scope="module")
def inputs():
    return finer_inputs(with_ca50(), np.array([3000.0, 5000.0]) * RPM)


def test_columns_keep_the_order_of_physics(table):
    """Metamorphic: more ethanol never lowers, hotter charge never raises, a slower sweep never
    raises a cell, phasing held."""
    steps = np.diff(table.limit, axis=1) * table.axis.direction(table.assessment)
    assert np.all(steps >= 0.0)
    assert table.axis.direction(table.assessment) != 0


def test_the_order_is_in_the_model_itself(table):
    """Metamorphic: the ceilings have it too, but for a sampling error of one draw in 256, up to the
    run's torque: past it what knocks sooner is judged with later ignition, which loads less. A
    gear moves no ignition, so there its order holds too."""
    order = table.axis.direction(table.assessment)
    speed = finer_inputs(table.assessment, table.breakpoints).speed
    made = np.interp(speed, table.assessment.speed, table.assessment.torque)
    ceilings = np.stack([c.ceiling for c in table.columns], axis=1)
    logged = np.all(ceilings <= made[:, None], axis=1) | (table.axis is GEAR)
    assert logged.sum() >= 3
    ceilings = ceilings[logged] * order
    allowed = 0.02 * np.abs(ceilings[:, :-1])
    assert np.all(np.diff(ceilings, axis=1) >= -allowed)
    assert np.any(np.diff(ceilings, axis=1) > 0.1)


def test_every_column_keeps_its_ceiling_and_its_chance(table):
    """Identity: no cell above the torque of the accepted chance, between rows neither."""
    speed = finer_inputs(table.assessment, table.breakpoints).speed
    assert table.verified
    for column in table.columns:
        limit = interpolated_limit(table.breakpoints, column.shape.limit, speed)
        assert np.all(limit <= column.ceiling + 1e-6)
        assert np.all(column.chance <= 0.05)
        assert column.worst_chance <= 0.05 + 2.5 * np.sqrt(0.05 * 0.95 * 2 / 256)


def test_at_the_runs_own_blend_it_is_the_plain_table():
    """Identity: the column at the engine's own ethanol share is the table over speed alone.

    That one may put a breakpoint elsewhere; both are rounded down to their resolution.
    """
    table = propose_table_2d(with_ca50(), ETHANOL, (0.3, 0.85), asked())
    made = proposal_ca50()
    own = table.columns[0]
    assert np.array_equal(table.breakpoints, made.ask.breakpoints)
    plain = np.interp(table.breakpoints, made.shape.breakpoints, made.shape.limit)
    assert np.all(own.shape.limit <= plain + made.policy.resolution)
    assert np.all(own.shape.limit >= plain - table.lowered - made.policy.resolution)


def test_the_runs_own_column_is_judged_with_ignition_as_the_plain_table_is():
    """Identity: at the run's own sweep rate, blend or charge nothing moves, so ceiling, knock and
    the later burn that is asked for are those of the table over speed alone, past the run too."""
    run = assessed(hump(200.0), {"ignition_advance": np.full(len(SPEED), np.radians(28.0))})
    table = propose_table_2d(run, ETHANOL, (0.3, 0.85), Wish(policy=careful(), reach="open"))
    made = propose_limit(run, careful(), reach="open")
    own = table.columns[0]
    assert own.ceiling == pytest.approx(made.ceiling(made.finer.speed))
    limit = interpolated_limit(table.breakpoints, own.shape.limit, made.finer.speed)
    loads = made.finer.model.demand
    index = index_of(made.finer.speed, table.breakpoints)
    assert own.knock_later == pytest.approx(later_asked(loads, limit)[index], abs=1e-6)
    share = knocking(loads, place_of(loads.torque, limit))[index]
    assert own.knock_chance == pytest.approx(share, abs=2 / loads.torque.shape[1])
    assert own.knock_later.max() > np.radians(1.0)
    assert np.any(limit > np.interp(made.finer.speed, run.speed, run.torque) + 10)


def test_blend_octane_is_molar_linear_in_the_same_petrol(inputs):
    """Definition of molar blending: back from E30's octane to its petrol and on to E85 by hand."""
    mole = float(ethanol_mole_fraction(0.30))
    petrol, _ = petrol_octane(inputs.state)
    assert float(blend_octane(petrol, mole)) == pytest.approx(inputs.state.octane)
    there = ETHANOL.variant(inputs, 0.85).prepared.state
    rich = float(ethanol_mole_fraction(0.85))
    assert there.octane == pytest.approx((1 - rich) * petrol + rich * 109.0)
    assert there.ethanol_share == 0.85
    assert there.octane_sd > inputs.state.octane_sd
    assert np.array_equal(there.ca50, inputs.state.ca50)


def test_a_petrol_that_cannot_be_told_is_named(inputs):
    """common practice, no source: neat ethanol says nothing of a petrol; the one in 95 E10
    is taken and said, 91 by molar blending."""
    neat = dataclasses.replace(inputs.state, ethanol_share=1.0, octane=109.0)
    petrol, told = petrol_octane(neat)
    assert petrol == pytest.approx(91.4, abs=0.1)
    assert "91 is taken" in told[0].text


def test_pressure_goes_with_absolute_charge_temperature(inputs):
    """Ideal-gas law: the same charge at 353 K takes that over the run's kelvin more pressure."""
    there = CHARGE_TEMPERATURE.variant(inputs, 353.0).prepared.state
    assert there.intake_temperature == pytest.approx(np.full(len(inputs.speed), 353.0))
    before = inputs.state.intake_temperature
    assert there.manifold_pressure == pytest.approx(1.9e5 * 353.0 / before)


def test_coolant_moves_joint_and_heating_and_keeps_their_spread(inputs):
    """Identity: 20 K below 90 °C puts the joint 20 K lower; each spread is no narrower."""
    a = with_ca50()
    there = COOLANT_TEMPERATURE.variant(inputs, 70 + CELSIUS)
    joint, heating = "head_joint.running_temperature", "charge.trapped_heating"
    old, new = inputs.engine, there.prepared.engine
    assert new.value(joint).value == pytest.approx(old.value(joint).value - 20.0)
    charge = float(np.median(inputs.state.intake_temperature))
    share = (70 + CELSIUS - charge) / (90 + CELSIUS - charge)
    assert new.value(heating).value == pytest.approx(old.value(heating).value * share)
    draws = there.draws(a.model.draws)
    # Heating is cut at 0 K when drawn, so its spread is read before the cut.
    for name, least in ((joint, np.hypot(old.value(joint).sd, 4.0)), (heating, 10.0)):
        now = draws.deviates[name] * new.value(name).sd
        assert now == pytest.approx(a.model.draws.deviates[name] * least)
        assert least >= old.value(name).sd


def test_coolant_moves_the_clamp(inputs):
    """Metamorphic: aluminium on steel, so a hotter joint clamps harder, in every engine."""
    draws = with_ca50().model.draws
    cold, hot = (
        parts_of(there.prepared.engine, draws).head.clamp
        for there in (COOLANT_TEMPERATURE.variant(inputs, c + CELSIUS) for c in (70, 105))
    )
    assert np.all(hot > cold)
    assert 1.01 < np.median(hot / cold) < 1.3


def test_gear_moves_the_cycles_near_a_speed_only():
    """Identity: twice the sweep rate spends half the cycles near a speed; torque is not re-read."""
    from torquerisk.study.loads.cycles_spent import cycles_per_speed

    base = finer_inputs(with_ca50(), np.array([3000.0, 5000.0]) * RPM)
    slow, fast = (GEAR.variant(base, rate * RPM).prepared for rate in (20.0, 40.0))
    a, b = (cycles_per_speed(p.engine, p.speed) for p in (slow, fast))
    assert a == pytest.approx(2 * b)
    assert np.array_equal(slow.torque, base.torque)


def test_knock_limited_phasing_has_no_order_and_says_so():
    """Heywood 1988 ch. 9 (from memory): better fuel burns earlier, which loads the parts more."""
    a = without_phasing()
    assert not phasing_held(a)
    table = propose_table_2d(a, ETHANOL, (0.0, 0.85), asked(points=4))
    assert ETHANOL.direction(a) == 0
    assert "axis-no-order" in {n.code for n in table.notices}
    assert any("moves with the axis" in text for text in table.held)
    assert table.lowered == 0.0


def test_knock_at_held_phasing_is_told():
    """common practice, no source: an advance mapped on E30 knocks sooner on petrol."""
    early = assessed(hump(300.0), {"ca50": np.radians(np.full(len(SPEED), 8.0))})
    table = propose_table_2d(early, ETHANOL, (0.0, 0.85), asked(points=4))
    petrol, rich = table.columns
    assert petrol.knock_chance.max() > rich.knock_chance.max()
    told = next(n.text for n in table.notices if n.code == "axis-knock")
    most = np.degrees(petrol.knock_later)
    assert most.max() > 2
    assert f"by up to {most.max():.0f} at 0 %" in told
    text = " ".join(table_2d_text(table).split())
    assert f"0 %: the burn must be up to {most.max():.0f} degrees later" in text
    assert text.index("Ignition - 0 %") < text.index("What governs")
    speed = round(float(table.breakpoints[int(np.argmax(most))]) / RPM)
    assert f"most at {speed:,} rpm" in text


@pytest.mark.parametrize(
    ("axis", "values", "words"),
    [
        (ETHANOL, (0.3,), "needs 2 to 16"),
        (ETHANOL, (0.3, 0.3), "same value twice"),
        (ETHANOL, (0.0, 1.2), "from 0 % to 100 %"),
        (CHARGE_TEMPERATURE, (300.0, 900.0), "charge temperature is"),
        (GEAR, (0.0, 30.0), "sweep rate in gear is"),
        (COOLANT_TEMPERATURE, (250.0, 600.0), "coolant temperature is"),
    ],
)
def test_values_out_of_range_are_refused(axis, values, words):
    """common practice, no source: one sentence with what was given and what is allowed."""
    with pytest.raises(InputError, match=words):
        propose_table_2d(with_ca50(), axis, values, asked())
