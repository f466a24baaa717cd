"""What holds of a table and its chances, whatever is accepted: searched at random."""

import dataclasses
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_case import SPEED, engine, hump
from table_case import careful, proposal_ca50, with_ca50

from torquerisk.case import KnownGood, Run
from torquerisk.quantities import RPM
from torquerisk.study.assessment.assess import assess, evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import Shape, ShapeInfeasibleError
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limit_curve.in_rpm import shaped
from torquerisk.study.table.finer_grid import binding_capacity, ceiling_at, on_speeds, prepared_of
from torquerisk.study.table.judge import judge_existing

pytestmark = pytest.mark.slow
CHANCES = st.floats(0.02, 0.4)
PEAKS = st.sampled_from([2000.0, 3000.0, 4000.0, 4700.0, 5500.0])
CLASSES = ("8.8", "9.8", "10.9", "12.9")


def table(fine: Assessment, chance: float, peak_rpm: float) -> Shape | None:
    """Return the table shaped on an assessment for an accepted chance, or None if refused."""
    ask = dataclasses.replace(proposal_ca50().ask, peak_from=peak_rpm * RPM)
    try:
        return shaped(fine.speed, ceiling_at(fine, chance), fine.torque, ask)
    except ShapeInfeasibleError:
        return None


@settings(max_examples=40, deadline=None, derandomize=True)
@given(CHANCES, CHANCES, PEAKS)
def test_a_lower_accepted_chance_never_raises_a_row(one: float, other: float, peak: float) -> None:
    """Metamorphic: at every row less is acceptable, less is delivered, and less area in all.

    Delivered, because a limit above what the engine makes is worth nothing: there the table only
    has to keep its rules, and a row may stand higher for a lower chance.
    """
    low, high = sorted((one, other))
    fine = proposal_ca50().finer
    assert np.all(ceiling_at(fine, low) <= ceiling_at(fine, high))
    small, great = table(fine, low, peak), table(fine, high, peak)
    if small is None:
        return
    assert great is not None
    can = np.interp(small.breakpoints, fine.speed, fine.torque)
    assert np.all(np.minimum(small.limit, can) <= np.minimum(great.limit, can))
    assert small.value <= great.value * (1 + 1e-9)


@cache
def with_fasteners(thread: str, strength: str) -> Assessment:
    """The invented four with fasteners of a thread and class, to their yield, in deep threads.

    Nothing known of it, so that the same draws are kept whatever the fasteners.
    """
    changed = dataclasses.replace(engine(), known_good=KnownGood()).with_values(
        {
            "head_joint.tightening": "yield",
            "head_joint.engagement_length": 0.040,
            "head_joint.thread": thread,
            "head_joint.property_class": strength,
            "head_joint.original": "false",
            "running_gear.original_rods": "false",
            "running_gear.original_rod_bolts": "false",
        }
    )
    channels = {"ca50": np.full(len(SPEED), np.radians(18.0))}
    run = Run(name="test run", speed=SPEED, torque=hump(300.0), channels=channels)
    return assess(changed, run, careful())


@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    st.sampled_from(["M10x1.25", "M11x1.5"]),
    st.lists(st.sampled_from(range(4)), min_size=2, max_size=2, unique=True),
    CHANCES,
)
def test_stronger_studs_never_lower_a_row(thread: str, pick: list[int], chance: float) -> None:
    """Metamorphic: a stronger class, to its own yield, in threads deep enough for both.

    No engine's head lifts sooner, at no speed is less acceptable, no row delivers less. (Nothing is
    said of the breaking of fasteners in yield: class 8.8 breaks further above its yield point than
    10.9 does, [ISO898-1] Table 3.)
    """
    weak, strong = (with_fasteners(thread, CLASSES[k]) for k in sorted(pick))
    lifts = [a.model.capacities["head_lift"] for a in (weak, strong)]
    assert np.all(lifts[1] >= lifts[0])
    assert np.all(ceiling_at(strong, chance) >= ceiling_at(weak, chance))
    low, high = table(weak, chance, 4000.0), table(strong, chance, 4000.0)
    if low is None:
        return
    assert high is not None
    can = np.interp(low.breakpoints, weak.speed, weak.torque)
    assert np.all(np.minimum(low.limit, can) <= np.minimum(high.limit, can))


def test_a_stronger_class_raises_what_is_acceptable_somewhere() -> None:
    """Metamorphic: or the property above would hold of fasteners that decide nothing."""
    weak, strong = (with_fasteners("M10x1.25", name) for name in ("8.8", "12.9"))
    assert (ceiling_at(strong, 0.05) > ceiling_at(weak, 0.05) + 1.0).any()


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    st.floats(0.85, 1.25),
    st.lists(st.floats(2050.0, 6450.0), min_size=1, max_size=6),
    st.sampled_from([0.05, 0.1, 0.2]),
)
def test_a_finer_grid_changes_no_verdict(
    height: float, more_rpm: list[float], chance: float
) -> None:
    """Metamorphic: rows put into a table at its own height leave chances and verdicts as they were.

    height: of the table over the proposed one, so that tables that hold and that do not are met.
    """
    made = proposal_ca50()
    limit = height * made.shape.limit
    before = judge_existing(with_ca50(), made.ask.breakpoints, limit, careful(chance=chance))
    speed = np.union1d(made.ask.breakpoints, np.array(more_rpm) * RPM)
    after = judge_existing(
        with_ca50(),
        speed,
        interpolated_limit(made.ask.breakpoints, limit, speed),
        careful(chance=chance),
    )
    apart = np.abs(after.assessment.speed[:, None] - before.assessment.speed)
    here, there = np.nonzero(apart < 1e-6)
    assert len(here) >= len(SPEED)
    assert np.allclose(after.chance[here], before.chance[there], rtol=0.0, atol=1e-12)
    assert [after.state[k] for k in here] == [before.state[k] for k in there]
    # A speed between may be over on its own: then the coarser grid must not have passed it.
    assert before.holds or not after.holds


@settings(max_examples=12, deadline=None, derandomize=True)
@given(CHANCES, PEAKS)
def test_the_table_fed_back_as_a_run_keeps_the_accepted_chance(chance: float, peak: float) -> None:
    """Identity: run at its own limit, no more of the same engines fail at any speed of the grid."""
    fine = proposal_ca50().finer
    made = table(fine, chance, peak)
    if made is None:
        return
    limit = interpolated_limit(made.breakpoints, made.limit, fine.speed)
    inputs = on_speeds(prepared_of(fine), fine.speed, limit)
    inputs = dataclasses.replace(inputs, state=fine.model.operating)
    again = evaluate(inputs, fine.policy, fine.model.draws, fine.evidence)
    assert again.chance_any.max() <= chance
    # A table may lie far below what is acceptable, where the run made no more: so its ceiling.
    higher = dataclasses.replace(inputs, torque=1.15 * ceiling_at(fine, chance))
    beyond = evaluate(higher, fine.policy, fine.model.draws, fine.evidence)
    passed = binding_capacity(beyond) < beyond.torque[:, None]
    assert np.all(passed.mean(axis=1) > chance)
