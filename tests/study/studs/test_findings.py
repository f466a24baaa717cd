"""common practice, no source: a thread depth that nobody measured is never told as a fact."""

from pathlib import Path

import pytest

import torquerisk
from torquerisk.study.answers.answers import answers_of

pytestmark = pytest.mark.slow
SAMPLE = Path(__file__).parents[3] / "sample_runs" / "hill_climb"


@pytest.fixture(scope="module", params=[None, 0.0187])
def depth(request):
    """Depth of the threads in the block [m]; None where nobody measured it."""
    return request.param


@pytest.fixture(scope="module")
def answers(depth):
    """Of the invented hill climber, whose holes are of that depth."""
    engine = torquerisk.load_engine(SAMPLE / "engine.toml")
    if depth is not None:
        engine = engine.with_values({"head_joint.engagement_length": depth})
    run = torquerisk.load_run(SAMPLE / "run.csv")
    return answers_of(torquerisk.assess(engine, run, torquerisk.default_policy(draws=256)))


def test_an_assumed_depth_says_so(answers, depth):
    """Identity: one that was given is told plainly, if at all."""
    told = " ".join(str(x) for x in answers.bench(305.0).findings)
    assert ("19 mm of engagement (assumed: measure it)" in told) == (depth is None)


def test_an_assumed_depth_is_measured_before_anybody_drills(answers, depth):
    """common practice, no source: the present holes come first where their depth is a guess."""
    told = [str(x) for x in answers.bench(340.0 if depth is None else 380.0).findings]
    (here,) = (k for k, text in enumerate(told) if text.startswith("In the present"))
    drill = min(k for k, text in enumerate(told) if "drill out and tap" in text)
    assert (here < drill) == (depth is None)
