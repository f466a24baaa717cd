"""Draws of the head joint: as wide as declared, and bound to each other where they share a lot."""

import numpy as np
import pytest

from torquerisk.case import Engine
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.study.draws.simulated_engines import standard_draws
from torquerisk.study.draws.spreads import DRAWN
from torquerisk.study.strengths.head import fastener_strength, head_capacity
from torquerisk.study.strengths.head_tightening import head_friction_draws

DRAWS = standard_draws(DRAWN, 1024, 3)


def friction(engine: Engine) -> tuple[np.ndarray, np.ndarray]:
    """Friction in the thread and under the head."""
    thread = DRAWS.of_value(engine.value("head_joint.thread_friction"))
    return thread, head_friction_draws(engine, DRAWS, thread)


def test_friction_under_the_head_is_as_wide_as_declared(plain_engine: Engine) -> None:
    """Identity: the declared spread stays, half correlated with the thread's."""
    for given in ({}, {"head_joint.thread_friction": 0.12, "head_joint.head_friction": 0.10}):
        engine = plain_engine.with_values(given)
        thread, head = friction(engine)
        declared = engine.value("head_joint.head_friction")
        assert head.std() == pytest.approx(declared.sd, rel=0.05)
        assert head.mean() == pytest.approx(declared.value, rel=0.01)
        assert np.corrcoef(thread, head)[0, 1] == pytest.approx(0.5, abs=0.08)


@pytest.mark.parametrize("tightening", ["torque", "angle", "yield"])
def test_preload_never_passes_yield(plain_engine: Engine, tightening: str) -> None:
    """Identity: what a fastener cannot hold it does not hold, hot or cold; it loses some cold."""
    head = head_capacity(plain_engine.with_values({"head_joint.tightening": tightening}), DRAWS)
    strongest = head.strength.yield_strength * 1.08 * np.exp(3.5 * 0.035) * head.thread.stress_area
    for preload in (head.assembly_preload, head.preload_cold, head.preload_hot):
        assert np.all(preload > 0)
        assert np.all(preload <= strongest)
    assert np.all(head.preload_cold < head.assembly_preload)
    assert np.all(head.preload == np.minimum(head.preload_cold, head.preload_hot))


def test_an_aluminium_head_gains_clamp_when_warm(plain_engine: Engine) -> None:
    """[BICKFORD]: aluminium grows more than the steel that holds it; iron hardly does."""
    torque = {"head_joint.tightening": "torque", "head_joint.tightening_torque": 60.0}
    gain = []
    for material in ("cast aluminium", "grey iron"):
        engine = plain_engine.with_values({**torque, "head_joint.head_material": material})
        head = head_capacity(engine, DRAWS)
        gain.append(float(np.median(head.preload_hot - head.preload_cold)))
    assert gain[0] > 5 * abs(gain[1])


def test_scatter_by_method_falls_as_the_trade_says(plain_engine: Engine) -> None:
    """[MACHINERY]: torque scatters most, an angle less, yield least."""
    widths = []
    for tightening in ("torque", "angle", "yield"):
        values = {"head_joint.tightening": tightening, "head_joint.tightening_torque": 60.0}
        if tightening == "angle":
            values |= {"head_joint.tightening_torque": 25.0, "head_joint.tightening_angle": 1.2}
        preload = head_capacity(plain_engine.with_values(values), DRAWS).assembly_preload
        widths.append(float(preload.std() / preload.mean()))
    assert widths[0] > widths[1] > widths[2]
    assert 0.08 < widths[0] < 0.25


@pytest.mark.parametrize("material", ["cast aluminium", "grey iron"])
def test_the_clamp_is_the_worse_of_cold_and_hot(plain_engine: Engine, material: str) -> None:
    """Design: aluminium on steel gains hot and loses cold; both are judged, the worse one counts.

    Ten fasteners over four cylinders hold an inner one by two: five rows, half of two rows each.
    """
    head = head_capacity(plain_engine.with_values({"head_joint.head_material": material}), DRAWS)
    assert head.counts.least == 2.0
    worse = np.where(head.preload_cold < head.preload_hot, head.preload_cold, head.preload_hot)
    assert head.clamp == pytest.approx(2.0 * worse)


def test_an_assumed_angle_does_not_depend_on_who_is_asked(plain_engine: Engine) -> None:
    """Metamorphic: some of the draws alone get the preload that they had among all."""
    engine = plain_engine.with_values({"head_joint.tightening": "angle"})
    some = np.flatnonzero(DRAWS.deviates["head_joint.thread_friction"] > 0.8)
    every = head_capacity(engine, DRAWS).assembly_preload[some]
    assert np.array_equal(head_capacity(engine, DRAWS.take(some)).assembly_preload, every)


def test_a_snug_torque_past_yield_is_refused(plain_engine: Engine) -> None:
    """Identity: no angle is left to turn, in one sentence."""
    values = {"head_joint.tightening": "angle", "head_joint.tightening_torque": 140.0}
    with pytest.raises(InputError, match="its torque alone"):
        head_capacity(plain_engine.with_values(values), DRAWS)


@pytest.mark.parametrize("class_name", ["special", "10.9"])
def test_own_strengths_are_taken_as_given(plain_engine: Engine, class_name: str) -> None:
    """Identity: the file's yield and tensile strength are the fastener's, each in its place."""
    own = fastener_strength(
        plain_engine.with_values(
            {
                "head_joint.property_class": class_name,
                "head_joint.yield_strength": 1100e6,
                "head_joint.tensile_strength": 1250e6,
            }
        ),
        screw_thread("M11x1.5"),
    )
    assert (own.yield_strength, own.tensile_strength) == (1100e6, 1250e6)


def test_one_own_strength_leaves_the_other_to_the_class(plain_engine: Engine) -> None:
    """ISO 898-1 class 10.9: R_m 1,040 and R_p0.2 940 MPa where only the other is given."""
    for name, yields, breaks in (("yield", 1000e6, 1040e6), ("tensile", 940e6, 1250e6)):
        given = {f"head_joint.{name}_strength": yields if name == "yield" else breaks}
        own = fastener_strength(plain_engine.with_values(given), screw_thread("M11x1.5"))
        assert (own.yield_strength, own.tensile_strength) == pytest.approx((yields, breaks))
