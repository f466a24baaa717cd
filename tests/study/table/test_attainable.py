"""What the engine can make: a ceiling on boost turned into torque by the run's own relation."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy, default_policy
from torquerisk.errors import InputError
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.table.attainable import (
    BoostCeiling,
    reach_curve,
    reach_in_words,
    reach_notices,
)
from torquerisk.study.table.judge import judge_existing
from torquerisk.study.table.propose import propose_limit

RPMS = [2000, 3000, 4000, 5000, 6000]
TORQUE = np.array([200.0, 280.0, 300.0, 290.0, 250.0])
PRESSURE = np.array([1.4e5, 1.9e5, 2.0e5, 2.0e5, 1.9e5])
FEW: Policy = default_policy(draws=128, chance=0.05, points=6)


@pytest.fixture(scope="module")
def logged(plain_engine: Engine) -> Assessment:
    """Of a run with manifold pressure."""
    return assess(plain_engine, run_of(RPMS, TORQUE, manifold_pressure=PRESSURE), FEW)


def test_the_runs_own_pressure_gives_its_own_torque(logged: Assessment) -> None:
    """Identity: where the ceiling is the run's pressure, the torque is the run's."""
    at = int(np.argmin(np.abs(logged.model.operating.manifold_pressure - 2.0e5)))
    made = reach_curve(logged, BoostCeiling(pressure=2.0e5))
    assert made[at] == pytest.approx(logged.torque[at], rel=1e-9)


def test_gross_work_goes_with_manifold_pressure(logged: Assessment) -> None:
    """[HEYWOOD] eq. 2.38 by hand: (T + T_f) p/p_run - T_f, T_f from gross IMEP less BMEP."""
    volume = logged.engine.swept_volume_total
    lost = (logged.imep_gross - logged.bmep) * volume / (4 * np.pi)
    ratio = 1.6e5 / logged.model.operating.manifold_pressure
    made = reach_curve(logged, BoostCeiling(pressure=1.6e5))
    assert made == pytest.approx((logged.torque + lost) * ratio - lost, rel=1e-9)
    less = reach_curve(logged, BoostCeiling(pressure=1.5e5))
    assert np.all(less < made)


def test_delivered_keeps_to_the_ceiling_on_boost(logged: Assessment) -> None:
    """Metamorphic: less boost never delivers more, and the notice names pressure and range."""
    high, low = (propose_limit(logged, reach=BoostCeiling(pressure=p)) for p in (1.9e5, 1.2e5))
    assert np.all(low.under.torque <= high.under.torque + 1.0)
    assert np.all(low.under.torque <= low.can + 1e-9)
    told = next(n.text for n in low.notices if n.code == "boost-ceiling")
    assert "120 kPa absolute" in told
    far = (np.abs(1.2e5 / logged.model.operating.manifold_pressure - 1) > 0.3).sum()
    assert f"At {far} of {len(logged.speed)} speeds" in told
    near = reach_notices(logged, BoostCeiling(pressure=1.8e5))[0].text
    assert "proportion is not to be trusted" not in near
    assert not reach_notices(logged, "measured")


def test_a_pressure_as_reach_says_little_of_a_diesel(plain_diesel: Engine) -> None:
    """Physics: a diesel is governed by fuel; a notice beside the ceiling's says so, and only there.

    What is computed keeps the run's mixture: twice the gross work at twice the pressure.
    """
    pressure = np.full(5, 1.5e5)
    run = run_of(RPMS, TORQUE, manifold_pressure=pressure, lambda_=np.full(5, 1.6))
    result = assess(plain_diesel, run, FEW)
    told = {n.code: n.text for n in reach_notices(result, BoostCeiling(pressure=1.8e5))}
    assert set(told) == {"boost-ceiling", "boost-ceiling-diesel"}
    assert "fuel injected sets the torque" in told["boost-ceiling-diesel"]
    assert not reach_notices(result, "measured")
    volume = result.engine.swept_volume_total
    lost = (result.imep_gross - result.bmep) * volume / (4 * np.pi)
    made = reach_curve(result, BoostCeiling(pressure=3.0e5))
    assert made == pytest.approx(2 * (result.torque + lost) - lost, rel=1e-9)


def test_a_spark_engine_hears_nothing_of_that(logged: Assessment) -> None:
    """Identity: the notice is of a diesel."""
    codes = [n.code for n in reach_notices(logged, BoostCeiling(pressure=1.8e5))]
    assert codes == ["boost-ceiling"]


def test_a_table_is_judged_at_the_ceiling_on_boost(logged: Assessment) -> None:
    """Identity: what is delivered is the lesser of the table and that torque."""
    points, limit = np.array([2000, 6000]) * np.pi / 30, np.array([400.0, 400.0])
    judged = judge_existing(logged, points, limit, reach=BoostCeiling(pressure=1.5e5))
    assert judged.delivered == pytest.approx(np.minimum(400.0, judged.reach))
    assert any(n.code == "boost-ceiling" for n in judged.notices)


def test_a_ceiling_needs_a_logged_pressure(plain_engine: Engine) -> None:
    """Identity: what cannot be known is refused in a sentence that says what to do."""
    silent = assess(plain_engine, run_of(RPMS, TORQUE), FEW)
    with pytest.raises(InputError, match="give a run with a manifold pressure column"):
        reach_curve(silent, BoostCeiling(pressure=1.8e5))


@pytest.mark.parametrize("pressure", [0.2e5, 9e5, float("nan")])
def test_a_ceiling_out_of_range_is_refused(pressure: float) -> None:
    """Identity."""
    with pytest.raises(InputError, match="30 to 800 kPa absolute"):
        BoostCeiling(pressure=pressure)


def test_every_reach_has_its_words() -> None:
    """Identity."""
    assert reach_in_words("measured") == "the measured run"
    assert reach_in_words("open") == "anything"
    assert "1,800" not in reach_in_words(BoostCeiling(pressure=1.8e5))
    assert "180 kPa" in reach_in_words(BoostCeiling(pressure=1.8e5))
    run = run_of(RPMS, TORQUE)
    assert run.name in reach_in_words(run)


def test_a_ceiling_on_boost_caps_the_table_itself(logged: Assessment) -> None:
    """Identity: no row asks for more manifold pressure than the ceiling."""
    held = propose_limit(logged, reach=BoostCeiling(pressure=1.2e5))
    assert held.verified
    for row in held.rows:
        assert row.manifold_pressure is not None
        assert row.manifold_pressure <= 1.2e5 * (1 + 1e-6)


def test_a_run_that_is_driven_at_one_speed_reaches_nothing_there(plain_engine: Engine) -> None:
    """Identity: a torque below 0 is no torque to be had, and no table is refused for it."""
    pulled = run_of(RPMS, [-5.0, 180.0, 200.0, 190.0, 150.0])
    found = propose_limit(assess(plain_engine, pulled, FEW))
    assert found.can[0] == 0.0
    assert found.verified
