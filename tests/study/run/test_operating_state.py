"""At what state the engine ran, what is drawn, and which phasing is trusted."""

import numpy as np
import pytest
from plain_runs import RPM, run_of

from torquerisk.case import Engine, Policy, Run
from torquerisk.errors import InputError
from torquerisk.study.assessment.assess import assess
from torquerisk.study.draws.simulated_engines import Z_MOST, standard_draws
from torquerisk.study.draws.spreads import DRAWN, MODEL_SPREADS
from torquerisk.study.run.operating_state import PhasingSource, ethanol_share
from torquerisk.study.run.run_on_grid import fuel_octane, prepare

RPMS = [2000, 3000, 4000, 5000]
TORQUE = [180.0, 250.0, 280.0, 260.0]
FULL = {
    "ca50": np.full(4, 0.2),
    "ignition_advance": np.full(4, 0.3),
    "manifold_pressure": np.full(4, 1.5e5),
    "lambda_": np.full(4, 0.88),
}


@pytest.mark.parametrize(
    ("without", "expected"),
    [
        ((), PhasingSource.GIVEN),
        (("ca50",), PhasingSource.IGNITION_ADVANCE),
        (("ca50", "ignition_advance"), PhasingSource.EFFICIENCY),
        (("ca50", "ignition_advance", "lambda_"), PhasingSource.ASSUMED),
        (("ca50", "ignition_advance", "manifold_pressure"), PhasingSource.ASSUMED),
    ],
)
def test_phasing_in_order_of_trust(
    plain_engine: Engine, without: tuple[str, ...], expected: PhasingSource
) -> None:
    """Design, 'Phasing dominates': measured, ignition advance, charge, assumed."""
    channels = {k: v for k, v in FULL.items() if k not in without}
    state = prepare(plain_engine, run_of(RPMS, TORQUE, **channels), None).state
    assert state.phasing_source is expected


def test_a_diesel_has_no_ignition_advance(plain_diesel: Engine) -> None:
    """Identity: a logged injection angle is no spark."""
    run = run_of(RPMS, TORQUE, ignition_advance=np.full(4, 0.2))
    state = prepare(plain_diesel, run, None).state
    assert state.ignition_advance is None
    assert state.phasing_source is PhasingSource.ASSUMED


@pytest.mark.parametrize(
    ("blend", "share"), [("E0", 0.0), ("e10", 0.10), ("E85", 0.85), ("diesel", 0.0)]
)
def test_ethanol_by_volume(blend: str, share: float) -> None:
    """Identity: the number in the word is per cent by volume."""
    assert ethanol_share(blend) == pytest.approx(share)


def test_octane_of_a_blend(plain_engine: Engine) -> None:
    """[BLEND_OCTANE]: pump petrol is 95 as sold, up to E10; beyond it is molar-linear

    from 95 E10 to 109 ethanol; given is given. E30 by hand: 30 % of 789/46.07 = 17.13 kmol/m^3
    against 70 % of 745/100 = 7.45: x = 0.496, of E10 0.204.
    """
    x, pump = (v * 17.126 / (v * 17.126 + (1 - v) * 7.45) for v in (0.3, 0.1))
    octane, spread = fuel_octane(plain_engine, "E30", None)
    assert octane == pytest.approx(95 + (109 - 95) * (x - pump) / (1 - pump), abs=0.01)
    for blend in ("E0", "E5", "E10"):
        assert fuel_octane(plain_engine, blend, None)[0] == pytest.approx(95.0)
    assert fuel_octane(plain_engine, "E30", 98.0)[0] == 98.0
    assert fuel_octane(plain_engine, "E30", 98.0)[1] < spread


def test_draws_are_standard_normal() -> None:
    """[SOBOL]: mean 0, variance 1, cut at 3.5; 1,024 points of a scrambled net.

    Quasi-random means converge faster than 1/sqrt(n) = 0.03; no pair is correlated beyond
    5 standard errors of plain random draws, 5/sqrt(1024) = 0.156.
    """
    draws = standard_draws(DRAWN, 1024, 5)
    values = np.array([draws.deviates[name] for name in DRAWN])
    assert np.abs(values.mean(axis=1)).max() < 0.01
    assert values.std(axis=1) == pytest.approx(1.0, abs=0.01)
    assert np.abs(values).max() <= Z_MOST
    correlation = np.corrcoef(values) - np.eye(len(values))
    assert np.abs(correlation).max() < 0.156


def test_one_model_spread_of_each_name() -> None:
    """Identity: no two spreads share a name, and each says why it has its size."""
    names = [item.name for item in MODEL_SPREADS]
    assert len(set(names)) == len(names)
    assert len(set(DRAWN)) == len(DRAWN)
    assert all(item.reason for item in MODEL_SPREADS)


@pytest.mark.parametrize(
    ("rpm", "torque", "told"),
    [
        ([400, 600, 800], [50, 50, 50], "400 to 800 rpm"),
        ([9000, 11000, 17000], [50, 50, 50], "to 16000 rpm"),
        ([2000, 3000, 4000], [-5, -5, 0], "never rises above 0"),
        ([2000, 3000, 4000], [1500, 1800, 1700], "check the unit of torque, and bore"),
    ],
)
def test_a_run_that_cannot_be_assessed(
    plain_engine: Engine, few: Policy, rpm: list[float], torque: list[float], told: str
) -> None:
    """Identity: one sentence that says what is allowed."""
    with pytest.raises(InputError, match=told):
        assess(plain_engine, run_of(rpm, torque), few)


def test_speeds_up_to_the_models_end_are_assessed(plain_engine: Engine, few: Policy) -> None:
    """Identity: 15,900 rpm lies within 16,000, beyond what burns are known at."""
    result = assess(plain_engine, run_of([8000, 12000, 15900], [90, 90, 80]), few)
    assert np.isfinite(result.peak_pressure.p50).all()
    assert "speed-range" in {n.code for n in result.notices}


def test_a_run_thinned_or_not_tells_the_same(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: 481 rows of a smooth curve, averaged into bands, give the 48 rows' answer."""
    rpm = np.linspace(2000, 6000, 481)
    torque = 300 - 30 * ((rpm - 4000) / 1500) ** 2
    fine = assess(plain_engine, run_of(rpm, torque), few)
    coarse = assess(plain_engine, run_of(rpm[::40], torque[::40]), few)
    peak = np.interp(coarse.speed, fine.speed, fine.peak_pressure.p50)
    assert peak[1:-1] == pytest.approx(coarse.peak_pressure.p50[1:-1], rel=0.01)


def test_a_diesel_from_end_to_end(plain_diesel: Engine, few: Policy) -> None:
    """Common practice, no source: 20 bar BMEP of a car diesel peaks at 120 to 200 bar."""
    torque = 20e5 * plain_diesel.swept_volume_total / (4 * np.pi)
    run = Run(
        name="diesel", speed=np.array([1600, 2200, 2800]) * RPM, torque=np.full(3, torque),
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip
    result = assess(plain_diesel, run, few)
    assert result.bmep == pytest.approx(20e5)
    assert np.all(result.peak_pressure.p50 > 120e5)
    assert np.all(result.peak_pressure.p50 < 200e5)
    assert np.all(result.peak_pressure.p50 < result.worst_pressure.p50)
    assert set(result.limits) & {"head_lift", "rod_compression", "big_end_load"}
    assert "knock" not in result.limits


def test_ignition_after_dead_centre_along_a_run_is_a_turned_sign(plain_engine: Engine) -> None:
    """common practice, no source: an engine under load is lit before top dead centre."""
    for degrees, refused in ((-20.0, True), (-4.0, False), (20.0, False)):
        run = Run(
            name="r", speed=np.array(RPMS) * RPM, torque=np.array(TORQUE),
            channels={"ignition_advance": np.full(4, np.radians(degrees))},
        )  # fmt: skip
        if refused:
            with pytest.raises(InputError, match="count degrees before it as positive"):
                prepare(plain_engine, run, None)
        else:
            prepare(plain_engine, run, None)
