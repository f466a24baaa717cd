"""common practice, no source: an engine that runs has not stripped the threads it hangs on."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.errors import InputError
from torquerisk.study.assessment.assess import assess
from torquerisk.study.draws.spreads import engine_draws
from torquerisk.study.evidence.assembled import ASSEMBLED, lost_by_preload
from torquerisk.study.evidence.piece import Asked
from torquerisk.study.run.run_on_grid import prepare

pytestmark = pytest.mark.slow

CURVE = run_of([2000, 4000, 6000], [150.0, 180.0, 150.0])


@pytest.fixture(scope="module")
def shallow(plain_engine: Engine) -> Engine:
    """The plain engine with so little thread in the block that tightening strips some."""
    for depth in np.arange(0.020, 0.006, -0.0005):
        engine = plain_engine.with_values({"head_joint.engagement_length": float(depth)})
        if lost_by_preload(engine) > 0.05:
            return engine
    raise AssertionError("no depth strips")


def test_an_engine_that_runs_has_threads_that_hold(shallow: Engine, few: Policy) -> None:
    """Identity: of the engines that are left none strips by preload alone, so torque is left."""
    result = assess(shallow, CURVE, few)
    assert "assembled" in result.evidence.names
    head = result.model.parts.head
    assert np.all(np.maximum(head.assembly_preload, head.preload_hot) < head.strip_load)
    assert np.all(result.limits["thread_strip"].capacity_torque.p05 > 0)
    share = f"{100 * lost_by_preload(shallow):.2g} %"
    assert any(share in used for used in result.evidence.used)


def test_the_share_told_is_that_of_engines_that_are_left_out(shallow: Engine) -> None:
    """Identity: the mean likelihood is what does not strip, by other simulated engines."""
    draws = engine_draws(compression_ignition=False, count=8192, seed=3)
    asked = Asked(prepared=prepare(shallow, CURVE, None), draws=draws)
    kept = float(ASSEMBLED.likelihood(asked).mean())
    share = lost_by_preload(shallow)
    assert 1 - kept == pytest.approx(share, abs=4 * np.sqrt(share / 4096))


def test_threads_that_cannot_hold_are_refused(plain_engine: Engine, few: Policy) -> None:
    """Limit: where every engine strips the joint is described wrong, and the refusal says so."""
    thin = plain_engine.with_values({"head_joint.engagement_length": 0.006})
    with pytest.raises(InputError, match=r"in 100 % of engines.*check thread, engagement"):
        assess(thin, CURVE, few)


def test_deep_threads_tell_nothing(plain_engine: Engine) -> None:
    """Limit: where no engine strips there is no piece of evidence."""
    deep = plain_engine.with_values({"head_joint.engagement_length": 0.04})
    assert lost_by_preload(deep) == 0
    assert not ASSEMBLED.applies(prepare(deep, CURVE, None))


@pytest.mark.parametrize(
    "told",
    [
        {"tightening": "angle", "tightening_torque": 40.0, "tightening_angle": 2 * np.pi},
        {"measured_stretch": 2e-3},
        {"tightening": "torque", "tightening_torque": 300.0},
    ],
)
def test_fasteners_that_break_as_described_are_refused(
    plain_engine: Engine, few: Policy, told: dict[str, float | str]
) -> None:
    """ISO 898-1 Table 3, elongation after fracture: a fastener turned so far is called broken.

    The refusal names what was given, how far past yield it goes and what is borne.
    """
    engine = plain_engine.with_values({f"head_joint.{key}": value for key, value in told.items()})
    with pytest.raises(InputError, match=r"mm past yield, more than the .* before they neck") as no:
        assess(engine, CURVE, few)
    assert all(key in str(no.value) for key, value in told.items() if isinstance(value, float))
