"""What is left on the ring: inner and end cylinders apart, both counts, and where it lifts."""

import dataclasses

import numpy as np
import pytest
from small_case import SPEED, assessed, engine, hump

from torquerisk.case import Engine, HeadJoint
from torquerisk.study.draws.simulated_engines import standard_draws
from torquerisk.study.draws.spreads import DRAWN
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.studs.bench import ask_of
from torquerisk.study.studs.choices import MIDDLE
from torquerisk.study.studs.ring_clamp import HeldBy, ring_clamp, ring_of_ask, ring_of_run

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
    """Derived: ten fasteners on four cylinders hold an inner one by 2, an end one by 3, or by 4.

    s N F_V - (1 - Phi) p pi/4 D^2 for each, over pi D.
    """
    head = head_capacity(engine(), MIDDLE)
    ring = ring_clamp(head, np.full((1, 1), 90e5), np.array([400.0]))
    share, preload, phi = (float(v[0]) for v in (head.ring_share, head.preload, head.load_factor))
    force = 90e5 * np.pi / 4 * 0.0855**2
    assert [ring.holds[kind].fasteners for kind in HeldBy] == [2, 3, 4]
    for hold in ring.holds.values():
        left = max(share * hold.fasteners * preload - (1 - phi) * force, 0.0)
        assert left > 0
        assert hold.left.p50[0] == pytest.approx(left)
        assert hold.line_load.p50[0] == pytest.approx(left / (np.pi * 0.0855))


@pytest.mark.parametrize("tightening", METHODS)
def test_the_middle_joint_is_empty_exactly_where_it_lifts(tightening):
    """Identity: with no least line load, nothing is left just where use of lift reaches 1."""
    values = {"head_joint.tightening": tightening, "head_joint.sealing_line_load": 0.0}
    if tightening != "torque":
        values["head_joint.tightening_torque"] = 40.0
    head = head_capacity(engine().with_values(values), MIDDLE)
    for count in (2.0, 3.0, 4.0):
        lift = float(head.lift_pressure(count)[0])
        around = lift * np.array([0.5, 0.9999, 1.0001, 1.5])
        left = head.ring_clamp_left(around[:, None], count)[:, 0]
        assert np.all(left[:2] > 0)
        assert np.all(left[2:] == 0)


@pytest.mark.parametrize("tightening", METHODS)
def test_at_lift_the_least_line_load_is_left(tightening):
    """Identity: for every draw and count, at its own lift pressure."""
    head = head_of(tightening)
    for count in (2.0, 3.0, 4.0):
        left = head.ring_clamp_left(head.lift_pressure(count), count)
        np.testing.assert_allclose(left, head.line_load * np.pi * head.sealing_diameter, rtol=1e-9)


@pytest.mark.parametrize("tightening", METHODS)
def test_more_pressure_never_leaves_more(tightening):
    """Metamorphic: for every draw and kind, what is left falls with pressure, use rises."""
    head = head_of(tightening)
    ring = ring_clamp(head, pressed(head), PRESSURES)
    for hold in ring.holds.values():
        assert np.all(np.diff(head.ring_clamp_left(pressed(head), hold.fasteners), axis=0) <= 0)
        for values in (hold.left, hold.line_load):
            for p in (values.p05, values.p50, values.p95):
                assert np.all(np.diff(p) <= 0)
        assert np.all(np.diff(hold.lift_utilisation) > 0)
        assert np.all(np.diff(hold.lift_chance) >= 0)


@pytest.mark.parametrize("tightening", METHODS)
def test_an_end_cylinder_is_never_worse_than_an_inner_one(tightening):
    """Metamorphic: with equal rows, more fasteners count for it, and more still around the bore."""
    head = head_of(tightening)
    ring = ring_clamp(head, pressed(head), PRESSURES)
    inner, end, every = (ring.holds[kind] for kind in HeldBy)
    assert ring.governing is HeldBy.INNER
    for worse, better in ((inner, end), (end, every)):
        assert np.all(better.line_load.p05 >= worse.line_load.p05)
        assert np.all(better.left.p50 >= worse.left.p50)
        assert np.all(better.lift_chance <= worse.lift_chance)
        assert np.all(better.lift_utilisation < worse.lift_utilisation)


def test_the_worse_kind_governs():
    """Identity: where fewer fasteners counted for an end cylinder, it would be the one named."""
    head = head_of()
    turned = dataclasses.replace(head.counts, tributary_inner=3.0, tributary_end=2.0)
    ring = ring_clamp(dataclasses.replace(head, counts=turned), pressed(head), PRESSURES)
    assert ring.governing is HeldBy.END
    assert ring.governs is ring.holds[HeldBy.END]


@pytest.mark.parametrize(
    ("cylinders", "fasteners", "kinds"),
    [
        (1, 4, {HeldBy.END, HeldBy.ADJACENT}),
        (2, 6, {HeldBy.END, HeldBy.ADJACENT}),
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
    assert ring.governing is (HeldBy.INNER if cylinders > 2 else HeldBy.END)
    assert ring.holds[HeldBy.ADJACENT].cylinders == cylinders
    if cylinders == 1:
        assert ring.holds[HeldBy.END].fasteners == ring.holds[HeldBy.ADJACENT].fasteners == 4


def test_the_governing_cylinder_is_the_assessments(run):
    """Identity: its use and chance of lift are those of the limit, its clamp is `clamp`."""
    ring, limit = ring_of_run(run), run.limits["head_lift"]
    np.testing.assert_allclose(ring.governs.lift_utilisation, limit.utilisation)
    np.testing.assert_allclose(ring.governs.lift_chance, limit.chance, atol=1 / 256 + 1e-9)
    assert ring.governs.clamp.p50 == pytest.approx(run.clamp[0])
    np.testing.assert_allclose(ring.pressure.p50, run.worst_pressure.p50, rtol=0.02)
    assert ring.speed[ring.worst] == SPEED[int(np.argmax(limit.utilisation))]


def test_the_bench_and_the_assessment_agree(run):
    """Identity: the same joint at the same curve leaves the same on the ring."""
    ask, _, _ = ask_of(run, None, 0.01)
    at_bench = ring_of_ask(ask, run.model.parts.head, run.speed, 3)
    ring = ring_of_run(run)
    assert at_bench.worst == 3
    for kind, hold in ring.holds.items():
        np.testing.assert_allclose(at_bench.holds[kind].line_load.p50, hold.line_load.p50)


def test_a_ring_that_never_sealed_is_said_without_nan():
    """Edge: a line load beyond the clamp is lift at once: infinite use, all lift, never NaN."""
    head = dataclasses.replace(head_of(), line_load=np.full(512, 5e6))
    ring = ring_clamp(head, pressed(head), PRESSURES)
    for hold in ring.holds.values():
        assert np.all(np.isinf(hold.lift_utilisation))
        assert np.all(hold.lift_chance == 1)
        assert np.all(np.isfinite(hold.line_load.p50))
