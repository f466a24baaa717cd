"""Where speed alone breaks too many engines a table ends: less torque does not help there."""

import dataclasses

import numpy as np
import pytest
from plain_runs import RPM, run_of

from torquerisk.case import Engine, default_policy
from torquerisk.show.pictures.curve import Limited, curve_picture
from torquerisk.show.pictures.style import LIGHT
from torquerisk.show.text.judged_table import judged_in_short
from torquerisk.show.words.table_in_short import answer_in_words
from torquerisk.study.assessment.assess import BINDING, assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.table.judge import judge_existing
from torquerisk.study.table.propose import Wish, propose_limit, sketched
from torquerisk.study.table.speed_limit import speed_limit, up_to

SPEEDS = [2000, 3500, 5000, 6500, 8000, 9500]
FEW = default_policy(draws=256, chance=0.05, points=8)


@pytest.fixture(scope="module")
def fast(plain_engine: Engine) -> Assessment:
    """A run to a speed that tears rods, with heavy pistons."""
    heavy = plain_engine.with_values({"running_gear.piston_mass": 0.55})
    return assess(heavy, run_of(SPEEDS, [150, 160, 165, 160, 140, 110]), FEW)


def test_a_table_ends_at_its_speed_limit(fast: Assessment) -> None:
    """Common practice, no source: a limit of speed, not of torque, keeps rods from tearing."""
    assert np.isneginf(fast.ceiling[-1])
    assert not np.isneginf(fast.ceiling[0])
    made = propose_limit(fast)
    assert made.speed_limit is not None
    steps = made.speed_limit / (50 * RPM)
    assert steps == pytest.approx(round(steps))
    assert made.rows[-1].speed == pytest.approx(made.speed_limit)
    assert min(row.limit for row in made.rows) > 0.5 * fast.torque.min()
    assert made.verified
    assert made.before.chance_any_max == fast.chance_any.max()
    assert made.assessment.notices == fast.notices
    assert "speed-limited" in {n.code for n in fast.notices}


def test_the_cut_run_is_the_same_run(fast: Assessment) -> None:
    """Identity: up to a speed of its own grid an assessment is what it was there, but for the load
    rows, which follow the run's speeds: the tables' own error, 0.3 %."""
    cut = up_to(fast, float(fast.speed[3]))
    assert np.array_equal(cut.speed, fast.speed[:4])
    assert cut.torque == pytest.approx(fast.torque[:4])
    assert cut.ceiling == pytest.approx(fast.ceiling[:4], rel=3e-3)
    assert cut.limits["rod_cap"].chance == pytest.approx(fast.limits["rod_cap"].chance[:4])


def test_no_limit_where_speed_breaks_nothing(plain_engine: Engine, fast: Assessment) -> None:
    """Limiting case: no speed limit below any pull worth naming, nor where nothing is carried."""
    slow = assess(plain_engine, run_of([1500, 2500, 3500], [120, 130, 125]), FEW)
    assert speed_limit(slow, FEW.chance) is None
    assert propose_limit(slow).speed_limit is None
    least = dataclasses.replace(fast.model.least, binding=np.full((6, 256), -np.inf))
    nothing = dataclasses.replace(fast, model=dataclasses.replace(fast.model, least=least))
    assert speed_limit(nothing, FEW.chance) is None


@pytest.mark.parametrize("times", [0.5, 4.0])
def test_a_table_is_judged_up_to_its_speed_limit(fast: Assessment, times: float) -> None:
    """Limiting case: past the speed limit no torque is accepted, so no excess is told of there, and
    a pull governs."""
    made = propose_limit(fast)
    judged = judge_existing(fast, made.ask.breakpoints, times * made.shape.limit)
    assert judged.speed_limit is not None
    assert judged.judgement.worst_speed <= judged.speed_limit
    assert (judged.judgement.worst_excess > 0) is (times > 1)
    assert not judged.holds
    pulled = {
        name: item.speed_limited[-1]
        for name, item in judged.assessment.limits.items()
        if item.limit.kind in BINDING
    }
    assert pulled[judged.governing[-1]] == max(pulled.values())
    told = judged_in_short(judged)
    keep = f"Keep the engine below {judged.speed_limit / RPM:,.0f} rpm: above, speed alone"
    assert any(t.startswith(keep) for t in told)
    own = judged.assessment.engine.given("running_gear.original_rods") == "false"
    assert any("([rated] rev_limit)" in t for t in told) is not own
    assert any("more than is accepted" in t for t in told) is (times > 1)


def test_a_sketch_ends_where_its_table_does(fast: Assessment) -> None:
    """Identity: on the whole run's speeds, nothing is made past the speed limit and all is below;
    sketched on the run's coarser grid the table may end a step of that grid sooner."""
    wish = Wish(policy=FEW, reach="measured")
    made = propose_limit(fast)
    assert made.speed_limit is not None
    first, proved = sketched(fast, wish, None), made
    for one in (first, proved):
        assert one.speed_limit is not None
        assert one.speed_limit <= made.speed_limit + 1e-9
        past = fast.speed > one.speed_limit
        assert past.any()
        assert np.all(one.delivered(fast.speed)[past] == 0.0)
        assert np.all(one.delivered(fast.speed)[~past] > 0.5 * fast.torque[~past])
    assert np.isneginf(proved.ceiling(fast.speed)[fast.speed > made.speed_limit]).all()
    assert f"{made.speed_limit / RPM:,.0f} rpm" in answer_in_words(proved)


def test_where_all_holds_up_to_the_speed_limit_the_sentence_says_so(fast: Assessment) -> None:
    """Identity: no peak of its own beside greater rows, and no power drawn past the table's end."""
    sketch = sketched(fast, Wish(policy=FEW, reach="measured"), None)
    assert sketch.speed_limit is not None
    below = fast.speed <= sketch.speed_limit
    under = dataclasses.replace(sketch.under, torque=sketch.finer.torque)
    whole = dataclasses.replace(sketch, under=under)
    told = answer_in_words(whole)
    assert told.startswith("All that it made, ")
    assert (
        f"would hold by a first count. Keep the engine below {sketch.speed_limit / RPM:,.0f} rpm"
        in told
    )
    limited = Limited(
        breakpoints=whole.shape.breakpoints, limit=whole.shape.limit,
        delivered=whole.delivered(fast.speed), ceiling=whole.ceiling(fast.speed),
    )  # fmt: skip
    drawn = curve_picture(fast, limited, LIGHT, None).figure
    (power,) = [t for t in drawn.data if t.name == "under the limit"]
    assert len(power.x) == below.sum()
