"""What a survived curve, logged channels and signs of lift do to the simulated engines."""

import dataclasses

import numpy as np
import pytest
from plain_runs import RPM, run_of

from torquerisk.case import Engine, Policy, Run, default_policy
from torquerisk.errors import InputError
from torquerisk.physics.coolant import coolant_sign
from torquerisk.quantities import DEGREE
from torquerisk.study.answers.one_cycle import one_cycle
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.evidence.charge import CHARGE, implied_volumetric_efficiency
from torquerisk.study.evidence.coolant import (
    COOLANT_ROSE,
    MISSED_LIFT,
    TIGHT_LIKELIHOOD,
    WEEP_LIKELIHOOD,
)
from torquerisk.study.evidence.peak import PEAK
from torquerisk.study.evidence.piece import Asked, few_speeds
from torquerisk.study.evidence.survived import QUIET_KNOCK_EXCESS, SURVIVED
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.run.run_on_grid import prepare

pytestmark = pytest.mark.slow

LOOSE = {"head_joint.tightening": "torque", "head_joint.tightening_torque": 40.0}
"""Half of what is usual."""
RPMS = [2000, 3000, 4000, 5000, 6000]
FACTORY = [150.0, 200.0, 220.0, 215.0, 190.0]


@pytest.fixture(scope="module")
def factory() -> Run:
    """A curve that the plain engine has survived many times."""
    return dataclasses.replace(run_of(RPMS, FACTORY), name="factory")


@pytest.fixture(scope="module")
def bare(plain_engine: Engine, few: Policy) -> Assessment:
    """The plain engine, loosely tightened, without evidence."""
    return assess(plain_engine.with_values(LOOSE), run_of(RPMS, [260.0] * 5), few)


@pytest.fixture(scope="module")
def proven(plain_engine: Engine, few: Policy, factory: Run) -> Assessment:
    """The same with a known-good curve."""
    return assess(
        plain_engine.with_values(LOOSE), run_of(RPMS, [260.0] * 5), few, known_good=factory
    )


def width(result: Assessment, k: int = 2) -> float:
    """5 to 95 % width of peak pressure over its median, at a speed in the middle."""
    peak = result.peak_pressure
    return float((peak.p95[k] - peak.p05[k]) / peak.p50[k])


def test_a_known_good_curve_raises_the_low_end(bare: Assessment, proven: Assessment) -> None:
    """Metamorphic: engines that would have failed are left out, so the weak end goes up."""
    for name in ("head_lift",):
        before, after = bare.limits[name].capacity_torque, proven.limits[name].capacity_torque
        assert np.all(after.p05 > before.p05)
        assert np.all(after.p50 >= before.p50)
    assert np.all(proven.ceiling > bare.ceiling)


def test_a_run_that_is_its_own_known_good_curve_holds(
    plain_engine: Engine, few: Policy, factory: Run
) -> None:
    """Identity: it shares every error with itself, so no engine that is kept fails there.

    Of a loosely tightened head, which an unknown engine may well not carry.
    """
    plain_engine = plain_engine.with_values(LOOSE)
    result = assess(plain_engine, factory, few, known_good=factory)
    asked = Asked(prepared=prepare(plain_engine, factory, factory), draws=result.model.draws)
    assert SURVIVED.likelihood(asked).all()
    assert result.chance_pull == 0.0
    assert np.all(result.ceiling >= 0.98 * result.torque)
    assert any("this very run" in words for words in result.evidence.used)
    bare = assess(plain_engine, factory, few)
    assert np.any(bare.chance_any > 0.0)


def test_another_run_shares_a_stated_part(plain_engine: Engine, few: Policy, factory: Run) -> None:
    """Metamorphic: the same torque read apart holds less surely than the very same run."""
    again = dataclasses.replace(factory, torque=factory.torque + 0.01)
    result = assess(plain_engine, again, few, known_good=factory)
    assert any("50% and its phasing error as 70% shared" in u for u in result.evidence.used)
    bare = assess(plain_engine, factory, few)
    assert np.all(result.chance_any <= 0.5 * bare.chance_any)


def test_the_effective_sample_is_told(proven: Assessment, few: Policy, bare: Assessment) -> None:
    """Identity: as many as were wanted, out of more that were tried; all without evidence."""
    assert proven.evidence.kept == few.draws == proven.model.draws.count
    assert proven.evidence.tried > few.draws
    told = next(n.text for n in proven.notices if n.code == "evidence")
    assert f"{proven.evidence.tried}" in told
    assert f"{few.draws}" in told
    assert bare.evidence.used == ()
    assert bare.evidence.kept == bare.evidence.tried == few.draws


def test_quiet_running_raises_the_knock_threshold(
    plain_engine: Engine, few: Policy, factory: Run
) -> None:
    """Metamorphic: an early known phasing that was survived says that this engine knocks late."""
    early = dataclasses.replace(factory, channels={"ca50": np.full(5, 9 * DEGREE)})
    result = assess(plain_engine, run_of(RPMS, [260.0] * 5), few, known_good=early)
    assert result.evidence.knock_threshold[0] > result.evidence.knock_threshold_before[0]
    again = assess(plain_engine, early, few, known_good=early)
    excess = np.median(again.model.demand.knock_excess[..., 0])
    assert excess < QUIET_KNOCK_EXCESS


def test_what_cannot_be_is_refused_in_one_sentence(plain_engine: Engine, few: Policy) -> None:
    """Identity: fasteners that no curve like this could leave closed contradict the curve."""
    weak = plain_engine.with_values(
        {"head_joint.tightening": "torque", "head_joint.tightening_torque": 8.0}
    )
    with pytest.raises(InputError) as caught:
        assess(weak, run_of(RPMS, FACTORY), few, known_good=run_of(RPMS, [350.0] * 5))
    assert "contradict" in str(caught.value)
    assert str(caught.value).count(". ") == 0


def test_a_sign_of_lift_lowers_the_high_end(
    plain_engine: Engine, few: Policy, factory: Run
) -> None:
    """Metamorphic: where the coolant's pressure rose, engines that cannot have lifted are rarer."""
    plain_engine = plain_engine.with_values(LOOSE)
    rpm, torque = [2000, 3000, 3500, 4000, 5000, 6000], [180, 260, 290, 300, 290, 250]
    pressure = np.array([100, 100, 100, 150, 150, 150]) * 1e3
    quiet = assess(plain_engine, run_of(rpm, torque), few, known_good=factory)
    signed = assess(
        plain_engine, run_of(rpm, torque, coolant_pressure=pressure), few, known_good=factory
    )
    before, after = quiet.limits["head_lift"], signed.limits["head_lift"]
    assert np.all(after.capacity_torque.p95 < before.capacity_torque.p95)
    assert after.chance[3] > before.chance[3]
    assert after.chance[3] > 0.5
    assert "coolant-pressure" in {n.code for n in signed.notices}
    assert any("lifted" in words for words in signed.evidence.used)


def test_a_sign_at_the_very_end_of_a_fast_log_is_judged(plain_engine: Engine, few: Policy) -> None:
    """Identity: a rise after the last averaged speed is judged there, not lost."""
    n = 400
    rpm = np.linspace(2000, 6000, n)
    pressure = np.full(n, 1e5)
    pressure[-2:] = 1.4e5
    result = assess(plain_engine, run_of(rpm, np.full(n, 260.0), coolant_pressure=pressure), few)
    assert any("lifted" in words for words in result.evidence.used)


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        ([100, 101, 102, 103], None),
        ([100, 100, 120, 120], (20.0, 1, 2)),
        ([120, 100, 114.9, 100], None),
        ([130, 100, 101, 130], (29.0, 2, 3)),
        ([100, 100, 130, 100, 100], None),
    ],
)
def test_a_rise_of_coolant_pressure(
    pressure: list[float], expected: tuple[float, int, int] | None
) -> None:
    """Identity: 15 kPa over the least so far, middles of three; one noisy sample is no sign."""
    speed = np.arange(float(len(pressure)))
    found = coolant_sign(speed, np.array(pressure) * 1e3)
    if expected is None:
        assert found is None
    else:
        assert found == pytest.approx((expected[0] * 1e3, *expected[1:]))


def test_each_channel_narrows_peak_pressure(plain_engine: Engine, few: Policy) -> None:
    """Metamorphic: nothing, ignition advance, CA50, measured peak pressure: narrower each time.

    All say the same phasing in the middle of the range: 12 degrees after TDC.
    """
    torque = [180.0, 260.0, 300.0, 290.0, 250.0]
    nothing = assess(plain_engine, run_of(RPMS, torque), few)
    advance = assess(
        plain_engine, run_of(RPMS, torque, ignition_advance=np.full(5, 18 * DEGREE)), few
    )
    given = assess(plain_engine, run_of(RPMS, torque, ca50=np.full(5, 12 * DEGREE)), few)
    both = {"ca50": np.full(5, 12 * DEGREE), "peak_pressure": given.peak_pressure.p50}
    measured = assess(plain_engine, run_of(RPMS, torque, **both), few)
    results = [nothing, advance, given, measured]
    assert [r.phasing_source for r in results] == [
        PhasingSource.ASSUMED,
        PhasingSource.IGNITION_ADVANCE,
        PhasingSource.GIVEN,
        PhasingSource.GIVEN,
    ]
    widths = [width(r) for r in results]
    assert widths == sorted(widths, reverse=True)
    assert np.all(np.diff(widths) < -0.02)


def test_unknown_phasing_shows_at_least_what_the_design_asks(
    plain_engine: Engine, plain_run: Run
) -> None:
    """Design: unknown phasing must show at least -15/+25 % on peak pressure (common practice)."""
    result = assess(plain_engine, plain_run, default_policy(draws=1024))
    middle = 2
    peak = result.peak_pressure
    assert peak.p05[middle] / peak.p50[middle] - 1 < -0.15
    assert peak.p95[middle] / peak.p50[middle] - 1 > 0.25


def test_a_measured_peak_is_known_to_about_its_sensor(plain_engine: Engine) -> None:
    """Identity: a sensor good to 3 % and a model good to 5 % at one speed leave a log spread of
    5.8 % there at most, whose 95 % point lies 1.645 of it above the middle.

    Of 1,024 engines that point and the middle are drawn to 0.076 of the spread together (normal
    order statistics); three times that is allowed. A measurement 8 % above what was thought likely
    is followed to within one standard deviation.
    """
    many = default_policy(draws=1024)
    most = np.exp((1.645 + 3 * 0.076) * np.hypot(0.03, 0.05)) - 1
    free = assess(plain_engine, run_of(RPMS, [260.0] * 5), many)
    for factor in (1.0, 1.08):
        measured = free.peak_pressure.p50 * factor
        result = assess(plain_engine, run_of(RPMS, [260.0] * 5, peak_pressure=measured), many)
        peak = result.peak_pressure
        assert np.all(peak.p95 / peak.p50 - 1 < most)
        assert np.all(1 - peak.p05 / peak.p50 < most)
        assert peak.p50 == pytest.approx(measured, rel=np.hypot(0.03, 0.05))
        assert width(result) < 0.5 * width(free)


def test_likelihoods_multiply(plain_engine: Engine, few: Policy) -> None:
    """Identity: an engine is kept with the product of what the pieces of evidence say.

    Charge and measured peak together keep fewer than either, since both lean on torque.
    """
    torque = [180.0, 260.0, 300.0, 290.0, 250.0]
    free = assess(plain_engine, run_of(RPMS, torque), few)
    peak = {"peak_pressure": free.peak_pressure.p50}
    charge = {"manifold_pressure": free.bmep / 10.5, "lambda_": np.full(5, 0.87)}
    tried = [
        assess(plain_engine, run_of(RPMS, torque, **channels), few).evidence.tried
        for channels in (peak, charge, {**peak, **charge})
    ]
    assert tried[2] >= max(tried[:2])
    both = prepare(plain_engine, run_of(RPMS, torque, **peak, **charge), None)
    asked = Asked(prepared=both, draws=free.model.draws)
    for piece in (PEAK, CHARGE):
        assert piece.applies(both)
        likelihood = piece.likelihood(asked)
        assert likelihood.min() >= 0.0
        assert likelihood.max() <= 1.0
        assert 0.02 < likelihood.mean() < 0.95


def test_a_rise_is_explained_by_lift_and_less_by_weeping(plain_engine: Engine, few: Policy) -> None:
    """Identity: a head that lifts in this pull explains it wholly, weeping by half, else hardly."""
    pressure = np.array([100, 100, 130, 150, 150]) * 1e3
    run = run_of(RPMS, [260.0] * 5, coolant_pressure=pressure)
    prepared = prepare(plain_engine, run, None)
    bare = assess(plain_engine, run_of(RPMS, [260.0] * 5), dataclasses.replace(few, pulls=1))
    likelihood = COOLANT_ROSE.likelihood(Asked(prepared=prepared, draws=bare.model.draws))
    lifts = (bare.model.capacities["head_lift"] < bare.torque[:, None])[1:4].any(axis=0)
    weeps = (bare.model.capacities["head_weep"] < bare.torque[:, None])[1:4].any(axis=0)
    tight = np.where(weeps, WEEP_LIKELIHOOD, TIGHT_LIKELIHOOD)
    assert np.array_equal(likelihood, np.where(lifts, 1.0, tight))


def test_a_diesel_needs_lambda_beside_its_manifold_pressure(
    plain_diesel: Engine, few: Policy
) -> None:
    """Identity: a lean engine's torque does not tell its air, so pressure alone is no evidence."""
    rpm, torque = [1500, 2000, 2500, 3000], [430.0, 470.0, 450.0, 420.0]
    channels = {"manifold_pressure": np.full(4, 2.4e5)}
    alone = assess(plain_diesel, run_of(rpm, torque, **channels), few)
    assert alone.evidence.used == ()
    assert "charge" not in alone.evidence.names
    with_lambda = assess(plain_diesel, run_of(rpm, torque, **channels, lambda_=[1.5] * 4), few)
    assert any("lambda" in words for words in with_lambda.evidence.used)


def test_volumetric_efficiency_by_hand(plain_engine: Engine, few: Policy) -> None:
    """Identity: air by fuel heat and efficiency over air by manifold density, from plain figures.

    BMEP 18.9 bar at 33 % brake efficiency and lambda 1: fuel energy 57 bar of swept volume; petrol
    of 42.5 MJ/kg at 14.2 to 1 takes 1.91 g of air a litre; at 1.9 bar and 318 K a litre is 2.08 g:
    0.92. The engine's own efficiency lies between 0.30 and 0.38, so 15 % either way is allowed.
    """
    by_hand = 18.9e5 / 0.33 / 42.5e6 * 14.2 / (1.9e5 / 287.05 / 318.0)
    assert by_hand == pytest.approx(0.92, abs=0.005)
    run = run_of(RPMS, [300.6] * 5, manifold_pressure=[1.9e5] * 5, lambda_=[1.0] * 5,
                 ca50=[12 * DEGREE] * 5)  # fmt: skip
    result = assess(plain_engine, run, few)
    assert result.bmep == pytest.approx(18.9e5, rel=0.001)
    model = result.model
    implied = implied_volumetric_efficiency(
        result.engine, model.operating, model.demand, model.draws, result.torque
    )
    assert np.median(implied[:3]) == pytest.approx(by_hand, rel=0.15)


@pytest.mark.parametrize("diesel", [False, True])
def test_volumetric_efficiency_of_a_direct_cycle(
    plain_engine: Engine, plain_diesel: Engine, few: Policy, diesel: bool
) -> None:
    """Direct integration is the reference: its trapped mass less residual and fuel, within 2 %.

    At the tables' own lambda and charge temperature (350 K), by the median engine.
    """
    engine, lam = (plain_diesel, 1.5) if diesel else (plain_engine, 0.88)
    warm = engine.with_values({"charge.trapped_heating": 30.0})
    run = run_of(RPMS, [300.6] * 5, manifold_pressure=[1.9e5] * 5, lambda_=[lam] * 5,
                 ca50=[12 * DEGREE] * 5, intake_temperature=[320.0] * 5)  # fmt: skip
    result = assess(warm, run, few)
    model = result.model
    implied = implied_volumetric_efficiency(
        result.engine, model.operating, model.demand, model.draws, result.torque
    )
    imep = float(np.median(result.imep_gross[2]))
    one = one_cycle(warm, imep, float(result.speed[2]), 12 * DEGREE, lambda_=lam,
                    intake_temperature=320.0)  # fmt: skip
    fresh = one.cycle.trapped_mass[0] * (1 - warm.value("charge.residual_fraction").value)
    air = fresh if diesel else fresh - one.cycle.fuel_mass[0]
    by_hand = air / (1.9e5 / (287.05 * 320.0) * warm.swept_volume)
    assert np.median(implied[2]) == pytest.approx(by_hand, rel=0.02)


def test_few_speeds_hold_peak_torque_and_peak_power() -> None:
    """Identity: ends, even steps, and both peaks."""
    speed = np.linspace(1000, 7000, 61) * RPM
    torque = 300 - 30 * ((speed / RPM - 3100) / 1000) ** 2
    index = few_speeds(speed, torque)
    assert {0, 60, int(np.argmax(torque)), int(np.argmax(torque * speed))} <= set(index.tolist())
    assert len(index) <= 7


def test_flat_coolant_pressure_counts_against_lift(plain_engine: Engine, few: Policy) -> None:
    """Bayes: engines that lift in the run are kept as often as a lift is missed, others always."""
    plain_engine = plain_engine.with_values(LOOSE)
    torque = [260.0] * 5
    bare = assess(plain_engine, run_of(RPMS, torque), dataclasses.replace(few, pulls=1))
    run = run_of(RPMS, torque, coolant_pressure=np.full(5, 1e5))
    lifts = float((bare.model.capacities["head_lift"] < 260.0).any(axis=0).mean())
    assert lifts > 0.1
    flat = assess(plain_engine, run, default_policy(draws=1024, pulls=1))
    after = float((flat.model.capacities["head_lift"] < 260.0).any(axis=0).mean())
    expected = MISSED_LIFT * lifts / (MISSED_LIFT * lifts + 1 - lifts)
    assert after == pytest.approx(expected, abs=3 * np.sqrt(0.25 / few.draws))


def test_what_strains_is_named_alone(plain_engine: Engine, few: Policy) -> None:
    """Identity: of several pieces the one with which hardly an engine agrees is to be checked.

    A quarter more manifold pressure than the torque stands for is a charge a quarter warmer, 80 K.
    """
    torque = np.array([150.0, 200.0, 220.0, 215.0, 190.0])
    run = run_of(RPMS, list(torque), manifold_pressure=list(torque * 1.1e3))
    engine = plain_engine
    result = assess(engine, run, few)
    assert "charge" in result.evidence.names
    wanted = "without an intercooler give [charge] intake_temperature"
    assert wanted in result.evidence.strained
    assert "bore, stroke" not in result.evidence.strained
    unsaid = dataclasses.replace(run, pressure_doubt="is 'boost' absolute?")
    assert "(is 'boost' absolute?)" in assess(engine, unsaid, few).evidence.strained


def test_a_charge_of_unknown_warmth_may_be_the_warmer(plain_engine: Engine, few: Policy) -> None:
    """Ideal gas: less air than the pressure stands for makes the engines left the warmer ones."""
    names = {"lambda_": [1.0] * 5}
    torque = [150.0, 200.0, 220.0, 215.0, 190.0]
    means = []
    for pressure in (0.75e3, 0.95e3):
        run = run_of(RPMS, torque, manifold_pressure=[t * pressure for t in torque], **names)
        kept = assess(plain_engine, run, few).model.every
        means.append(float(np.mean(kept.deviates["charge.intake_temperature"])))
    assert means[1] > means[0] + 0.2
