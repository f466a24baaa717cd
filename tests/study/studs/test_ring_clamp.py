"""What is left on the ring: inner and end cylinders apart, and where it weeps and lifts."""

import dataclasses

import numpy as np
import pytest
from small_case import assessed, engine, hump

from torquerisk.case import Engine, HeadJoint
from torquerisk.study.draws.simulated_engines import standard_draws
from torquerisk.study.draws.spreads import DRAWN
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.strengths.head_rings import HeldBy
from torquerisk.study.studs.bench import ask_of
from torquerisk.study.studs.choices import MIDDLE
from torquerisk.study.studs.ring_clamp import ring_clamp, ring_of_ask, ring_of_run

DRAWS = standard_draws(DRAWN, 512, 3)
PRESSURES = np.linspace(20e5, 260e5, 25)
METHODS = ["torque", "angle", "yield"]


def head_of(tightening: str = "torque", **values: float) -> HeadCapacity:
    """The invented four's head by draw."""
    wanted: dict[str, object] = {"head_joint.tightening": tightening}
    if tightening != "torque":
        wanted["head_joint.tightening_torque"] = 40.0
    return head_capacity(engine().with_values(wanted | values), DRAWS)


def pressed(head: HeadCapacity, pressures: np.ndarray = PRESSURES) -> np.ndarray:
    """The same pressures in every draw (S, N)."""
    return np.repeat(pressures[:, None], len(head.clamp), axis=1)


@pytest.fixture(scope="module")
def run():
    return assessed(hump())


def test_by_hand_for_the_middle_joint():
    """Derived: s n F_V less the ring's own share of p pi/4 D^2, and the same at its points."""
    head = head_capacity(engine(), MIDDLE)
    ring = ring_clamp(head, np.full((1, 1), 90e5), np.array([400.0]))
    share, preload = float(head.ring_share[0]), float(head.preload_hot[0])
    force = 90e5 * np.pi / 4 * 0.0855**2
    assert list(ring.holds) == list(HeldBy)
    for kind, hold in ring.holds.items():
        held = head.rings[kind]
        at = share * held.holds[:, 0] * preload - held.relief[:, 0] * force
        assert np.all(at > 0)
        assert hold.left.p50[0] == pytest.approx(at.mean())
        assert hold.line_load.p50[0] == pytest.approx(at.min() / (np.pi * 0.0855))
        assert hold.clamp.p50 == pytest.approx(hold.fasteners * preload)
        assert 2 < hold.fasteners < 3


@pytest.mark.parametrize("tightening", METHODS)
def test_the_middle_joint_is_empty_exactly_where_it_opens(tightening):
    """Identity: the weakest point has nothing left just where the ring opens."""
    values = {"head_joint.tightening": tightening}
    if tightening != "torque":
        values["head_joint.tightening_torque"] = 40.0
    head = head_capacity(engine().with_values(values), MIDDLE)
    for kind in HeldBy:
        opens = float(head.ring_open_pressure(kind)[0])
        around = opens * np.array([0.5, 0.9999, 1.0001, 1.5])
        left = head.ring_line_load(around[:, None], kind)[:, 0]
        assert np.all(left[:2] > 0)
        assert np.all(left[2:] == 0)


@pytest.mark.parametrize("tightening", METHODS)
def test_at_lift_and_weeping_their_line_loads_are_left(tightening):
    """Identity: for every draw and kind, at its own pressures; it weeps before it lifts."""
    head = head_of(tightening)
    for kind in HeldBy:
        weeps, lifts = head.weep_pressure(kind), head.lift_pressure(kind)
        np.testing.assert_allclose(head.ring_line_load(lifts, kind), head.lift_line_load)
        np.testing.assert_allclose(head.ring_line_load(weeps, kind), head.line_load)
        assert np.all(weeps < lifts)
        assert np.all(lifts < head.ring_open_pressure(kind))


@pytest.mark.parametrize("tightening", METHODS)
def test_more_pressure_never_leaves_more(tightening):
    """Metamorphic: for every draw and kind, what is left falls with pressure, use rises."""
    head = head_of(tightening)
    ring = ring_clamp(head, pressed(head), PRESSURES)
    for kind, hold in ring.holds.items():
        assert np.all(np.diff(head.ring_clamp_left(pressed(head), kind), axis=0) <= 0)
        for values in (hold.left, hold.line_load):
            for p in (values.p05, values.p50, values.p95):
                assert np.all(np.diff(p) <= 0)
        assert np.all(np.diff(hold.lift_utilisation) > 0)
        assert np.all(np.diff(hold.lift_chance) >= 0)
        assert np.all(hold.weep_chance >= hold.lift_chance)


def test_the_first_kind_to_lift_governs():
    """Identity: it is named, and its chance is no less than the other's."""
    head = head_of()
    for times in (1.0, 2.0):
        end = head.rings[HeldBy.END]
        weak = dataclasses.replace(end, relief=times * end.relief)
        changed = dataclasses.replace(head, rings={**head.rings, HeldBy.END: weak})
        ring = ring_clamp(changed, pressed(head), PRESSURES)
        assert ring.governs is ring.holds[ring.governing]
        other = next(hold for kind, hold in ring.holds.items() if kind is not ring.governing)
        assert ring.governs.lift_utilisation.max() >= other.lift_utilisation.max()
    assert ring.governing is HeldBy.END


@pytest.mark.parametrize(
    ("cylinders", "fasteners", "kinds"),
    [
        (1, 4, {HeldBy.END}),
        (2, 6, {HeldBy.END}),
        (3, 8, set(HeldBy)),
    ],
)
def test_kinds_of_cylinder_that_a_head_has(cylinders, fasteners, kinds):
    """Edge: inner cylinders only from three on; a single cylinder has all its fasteners."""
    one = Engine(
        ignition="spark", cylinders=cylinders, bore=0.082, stroke=0.085, rod_length=0.144,
        compression_ratio=9.6,
        head_joint=HeadJoint(fasteners=fasteners, thread="M11x1.5", property_class="10.9"),
    )  # fmt: skip
    head = head_capacity(one, DRAWS)
    ring = ring_clamp(head, pressed(head), PRESSURES)
    assert set(ring.holds) == kinds
    assert sum(hold.cylinders for hold in ring.holds.values()) == cylinders
    if cylinders < 3:
        assert ring.holds[HeldBy.END].fasteners == pytest.approx(fasteners / cylinders)


def test_the_governing_cylinder_is_the_assessments(run):
    """Identity: the head lifts where any kind does, and its least clamp is `clamp`."""
    ring, limit = ring_of_run(run), run.limits["head_lift"]
    assert np.all(limit.utilisation >= ring.governs.lift_utilisation - 1e-9)
    chances = [hold.lift_chance for hold in ring.holds.values()]
    assert np.all(limit.chance >= np.max(chances, axis=0) - 1 / 256 - 1e-9)
    assert np.all(limit.chance <= np.sum(chances, axis=0) + 1 / 256 + 1e-9)
    least = min(hold.clamp.p50 for hold in ring.holds.values())
    assert least == pytest.approx(run.clamp[0], rel=0.01)
    np.testing.assert_allclose(ring.pressure.p50, run.worst_pressure.p50, rtol=0.02)
    assert limit.utilisation[ring.worst] == pytest.approx(limit.utilisation.max(), rel=0.02)


def test_the_bench_and_the_assessment_agree(run):
    """Identity: the same joint at the same curve leaves the same on the ring."""
    ask = ask_of(run, None)
    at_bench = ring_of_ask(ask, run.model.parts.head)
    ring = ring_of_run(run)
    assert at_bench.worst == ask.worst_speed
    for kind, hold in ring.holds.items():
        np.testing.assert_allclose(at_bench.holds[kind].line_load.p50, hold.line_load.p50)


def test_a_ring_that_never_sealed_is_said_without_nan():
    """Edge: a line load beyond the clamp is lift at once: infinite use, all lift, never NaN."""
    head = dataclasses.replace(
        head_of(), line_load=np.full(512, 5e6), lift_line_load=np.full(512, 4e6)
    )
    ring = ring_clamp(head, pressed(head), PRESSURES)
    for hold in ring.holds.values():
        assert np.all(np.isinf(hold.lift_utilisation))
        assert np.all(hold.lift_chance == 1)
        assert np.all(np.isfinite(hold.line_load.p50))
