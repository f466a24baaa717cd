"""A rating as evidence: its curve, the margin it weights by, and whom it does not weight."""

import dataclasses

import numpy as np
import pytest
from ordinary import ordinary_engines
from plain_runs import run_of

from torquerisk.case import Engine, Policy, Rated, Run, default_policy
from torquerisk.quantities import RPM, Array
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.over_known import RELATIVE
from torquerisk.study.assessment.assess import assess
from torquerisk.study.evidence.known_curve import KINDS, LIMITER, kind_of, rated_curve
from torquerisk.study.evidence.piece import Asked
from torquerisk.study.evidence.rated import (
    MAKERS_JOINT,
    MARGIN,
    MARGIN_LOG_SD,
    RATED,
    USUAL,
    WEAKEST_TORQUE,
    makers_fasteners,
    makers_joint,
    makers_notice,
    margin_likelihood,
    weakest_likelihood,
)
from torquerisk.study.run.rated_curve import through_two_points
from torquerisk.study.run.run_on_grid import prepare
from torquerisk.study.strengths.parts import parts_of
from torquerisk.study.table.rows import quantile_error

pytestmark = pytest.mark.slow

RPMS = [2000, 3000, 4000, 5000, 6000]
LOOSE = {"head_joint.tightening": "torque", "head_joint.tightening_torque": 22.0}
SHEET = Rated(torque=200.0, torque_speed=4000 * RPM, power=105e3, power_speed=6000 * RPM)
MAKERS = {
    "head_joint.original": None,
    "running_gear.original_rods": None,
    "running_gear.original_rod_bolts": None,
}


@pytest.fixture(scope="module")
def sold(plain_engine: Engine) -> Engine:
    """The plain engine as its maker built it, its head tightened so loosely that it may lift."""
    return plain_engine.with_values({**MAKERS, **LOOSE})


@pytest.fixture(scope="module")
def rated(sold: Engine) -> Engine:
    """The same with a data sheet."""
    return dataclasses.replace(sold, rated=SHEET)


def test_the_curve_runs_smoothly_through_both_points() -> None:
    """Identity: level at rated torque, power greatest at rated power, falling between."""
    speed, torque = through_two_points(200.0, 400.0, 105e3, 600.0)
    assert (speed[0], torque[0]) == pytest.approx((400.0, 200.0))
    assert (speed[-1], torque[-1] * speed[-1]) == pytest.approx((600.0, 105e3))
    assert np.all(np.diff(torque) < 0)
    assert np.argmax(speed * torque) == len(speed) - 1
    speed, torque = through_two_points(200.0, 600.0, 120e3, 600.0)
    assert np.all(torque == 200.0)


def test_margin_likelihood_is_half_a_normal() -> None:
    """Identity: 1 from the margin on, exp(-1/2) one spread below, never rising."""
    assert margin_likelihood(np.array([MARGIN, 5.0])) == pytest.approx([1.0, 1.0])
    one = MARGIN * np.exp(-MARGIN_LOG_SD)
    assert margin_likelihood(np.array([one]))[0] == pytest.approx(np.exp(-0.5))
    assert np.all(np.diff(margin_likelihood(np.linspace(0.2, 4.0, 50))) >= 0)


def test_a_rating_weights_and_cuts_none_off(rated: Engine, few: Policy) -> None:
    """Identity: every engine keeps some likelihood; those that fail at the rating next to none."""
    run = run_of(RPMS, [180.0] * 5)
    bare = assess(rated.with_values(dict.fromkeys(MAKERS, "false")), run, few)
    likelihood = RATED.likelihood(Asked(prepared=prepare(rated, run, None), draws=bare.model.draws))
    assert np.all(likelihood > 0)
    assert likelihood.max() <= 1
    fails = (bare.model.capacities["head_lift"][2:] < 180.0).any(axis=0)
    assert fails.any()
    assert likelihood[fails].mean() < 0.2 * likelihood[~fails].mean()


def test_an_engine_holds_what_it_is_rated_at(rated: Engine, sold: Engine, few: Policy) -> None:
    """Common practice, no source: a rating is carried for years; far more torque is not."""
    curve = rated_curve(prepare(rated, run_of(RPMS, [180.0] * 5), None))
    own = Run(name="own", speed=curve.speed, torque=curve.torque)
    held = assess(rated, own, few)
    assert held.chance_any.max() <= 0.05
    usual = assess(sold, own, few)
    assert "usual" in usual.evidence.names
    assert held.chance_any.max() <= usual.chance_any.max() + 0.01
    double = assess(rated, dataclasses.replace(own, torque=2.2 * own.torque), few)
    assert double.chance_any.max() > 0.4


@pytest.mark.parametrize("curve", ["rated", "sold"])
def test_an_engine_at_its_own_redline_holds_on_steady_points_too(
    curve: str, rated: Engine, sold: Engine, few: Policy
) -> None:
    """Common practice, no source: engines outlast their redline however slowly they are swept."""
    engine = rated if curve == "rated" else sold
    run = run_of([2000, 3000, 4000, 5000, 6000, 6480], [175.0, 190, 200, 190, 167, 145])
    for rate in (300 * RPM, 0.0):
        swept = dataclasses.replace(run, facts={**run.facts, "sweep_rate": rate})
        a = assess(engine, swept, few)
        spent = float(a.model.demand.cycles[-1]) / few.pulls
        assert (spent > 500) is (rate == 0.0)
        gear = [a.limits[n].chance.max() for n in ("rod_cap", "rod_eye", "rod_bolts")]
        assert max(gear) <= 0.01


@pytest.mark.parametrize(("boosted", "torque"), [(False, 200.0), (True, 330.0)])
def test_a_margin_is_left_at_the_limiter(rated: Engine, boosted: bool, torque: float) -> None:
    """Identity: past rated power torque falls as the power's level top asks, dT/dw = -T/w."""
    points = dataclasses.replace(SHEET, torque=torque, power=0.8 * torque * 6000 * RPM)
    engine = dataclasses.replace(rated, rated=points)
    prepared = prepare(engine, run_of(RPMS, [180.0] * 5), None)
    sheet, sold = rated_curve(prepared), rated_curve(prepared, to_limiter=True)
    assert sold.speed[:-1] == pytest.approx(sheet.speed)
    assert sold.speed[-1] == pytest.approx(LIMITER[boosted] * sheet.speed[-1])
    slope = (sold.torque[-1] - sold.torque[-2]) / (sold.speed[-1] - sold.speed[-2])
    assert slope == pytest.approx(-sheet.torque[-1] / sheet.speed[-1])


def test_parts_that_are_not_the_makers_have_no_share(rated: Engine, few: Policy) -> None:
    """Identity: other fasteners have no margin of their own; with all, nothing stands in."""
    run = run_of(RPMS, [180.0] * 5)
    draws = assess(rated.with_values(dict.fromkeys(MAKERS, "false")), run, few).model.draws
    found = {}
    for name, engine in {
        "all": rated,
        "other joint": rated.with_values({"head_joint.original": "false"}),
        "other rods": rated.with_values({"running_gear.original_rods": "false"}),
    }.items():
        prepared = prepare(engine, run, None)
        found[name] = RATED.likelihood(Asked(prepared=prepared, draws=draws))
    assert np.all(found["other joint"] >= found["all"])
    assert found["other joint"].mean() > 1.05 * found["all"].mean()
    assert np.all(found["other rods"] >= found["all"])
    told = RATED.words(prepare(rated.with_values({"head_joint.original": "false"}), run, None))
    assert "head fasteners not the maker's" in told
    bare = rated.with_values(dict.fromkeys(MAKERS, "false"))
    assert not USUAL.applies(prepare(dataclasses.replace(bare, rated=Rated()), run, None))


def test_studs_that_clamp_more_than_the_makers_bolts_hold_more(rated: Engine, few: Policy) -> None:
    """Common practice, no source: the deck and head that the maker proved stay under new studs."""
    run = run_of(RPMS, [180.0] * 5)
    bolts = rated.with_values(dict.fromkeys(MAKERS_JOINT) | {"head_joint.property_class": "10.9"})
    studs = bolts.with_values(
        {
            "head_joint.original": "false", "head_joint.fastener": "stud",
            "head_joint.property_class": "12.9",
        }
    )  # fmt: skip
    clamp, torque = (
        [float(np.quantile(f(assess(e, run, few).model), 0.05)) for e in (bolts, studs)]
        for f in (lambda m: m.parts.head.clamp, lambda m: m.capacities["head_lift"].min(axis=0))
    )
    assert clamp[1] > 1.1 * clamp[0]
    assert torque[1] > 1.08 * torque[0]


def test_what_the_maker_proved_is_the_same_under_any_studs(rated: Engine, few: Policy) -> None:
    """Identity: with the maker's fasteners named, others that are fitted move nothing of them."""
    draws = assess(rated, run_of(RPMS, [180.0] * 5), few).model.draws
    lifts = []
    for fitted, strength in (("M10x1.5", "12.9"), ("M11x1.5", "10.9"), ("M14x2", "8.8")):
        engine = rated.with_values(
            {
                "head_joint.thread": fitted, "head_joint.property_class": strength,
                "head_joint.original": "false", "head_joint.original_thread": "M11x1.5",
                "head_joint.original_class": "12.9",
            }
        )  # fmt: skip
        as_sold = engine.with_values(makers_joint(engine))
        lifts.append(parts_of(as_sold, draws).head.lift_pressure())
        assert not list(makers_notice(engine))
        assert makers_fasteners(engine) == "M11x1.5 bolts of class 12.9"
    assert lifts[0] == pytest.approx(lifts[1])
    assert lifts[0] == pytest.approx(lifts[2])


def test_an_assumed_maker_is_asked_for(rated: Engine) -> None:
    """common practice, no source: what is assumed is labelled, with how to say it."""
    other = rated.with_values({"head_joint.original": "false", "head_joint.original_class": "8.8"})
    (notice,) = makers_notice(other)
    assert "of class 8.8 (assumed: give [head_joint] original_thread)" in notice.text
    assert not list(makers_notice(rated))


def test_changed_fasteners_keep_what_a_boosted_engine_is_sold_for(
    rated: Engine, few: Policy
) -> None:
    """Identity: bolts like the maker's that are said not to be his are as likely, save where they
    had no margin of their own; other rods are not."""
    sheet = dataclasses.replace(SHEET, torque=330.0, power=0.8 * 330 * 6000 * RPM)
    usual = dataclasses.replace(rated, rated=sheet).with_values(dict.fromkeys(MAKERS_JOINT))
    usual = usual.with_values({"head_joint.property_class": "10.9"})
    run = run_of(RPMS, [300.0] * 5)
    draws = assess(usual, run, few).model.draws

    def likely(name: str | None) -> Array:
        engine = usual if name is None else usual.with_values({name: "false"})
        return RATED.likelihood(Asked(prepared=prepare(engine, run, None), draws=draws))

    all_his = likely(None)
    others = likely("head_joint.original")
    assert np.all(others >= (1 - 1e-9) * all_his)
    assert np.isclose(others, all_his).mean() > 0.98
    assert not np.allclose(likely("running_gear.original_rods"), all_his)


@pytest.mark.parametrize(
    ("torque", "ratio", "manifold", "kind"),
    [
        (180.0, 10.5, None, "a petrol engine without boost"),
        (300.0, 9.5, None, "a boosted petrol engine"),
        (180.0, 9.5, 1.6e5, "a boosted petrol engine"),
        (300.0, 13.0, 1.9e5, "a petrol engine without boost"),
    ],
)
def test_kind_follows_load_manifold_and_ratio(
    sold: Engine, torque: float, ratio: float, manifold: float | None, kind: str
) -> None:
    """Common practice, no source: 11.3 bar is no boost, 18.8 bar is; 13 to 1 was sold without."""
    channels = {} if manifold is None else {"manifold_pressure": np.full(5, manifold)}
    engine = sold.with_values({"compression_ratio": ratio})
    run = run_of(RPMS, [torque] * 5, **channels)
    assert _kind(engine, run) == kind
    for told, boosted in (("true", "a boosted"), ("false", "without boost")):
        assert boosted in _kind(engine.with_values({"rated.boosted": told}), run)


def _kind(engine: Engine, run: Run) -> str:
    read = prepare(engine, run, None)
    return kind_of(read.engine, read.torque, read.state).name


def test_a_kit_on_an_engine_sold_without_boost_may_carry_less(sold: Engine, few: Policy) -> None:
    """Metamorphic: parts made for less are given out more often; asked about while nobody says."""
    run, asked = run_of(RPMS, [300.0] * 5), "sold-boosted-assumed"
    assumed, true, false = (
        assess(sold if told is None else sold.with_values({"rated.boosted": told}), run, few)
        for told in (None, "true", "false")
    )
    assert false.chance_pulls > 1.2 * true.chance_pulls
    assert assumed.chance_pulls == true.chance_pulls
    told = [asked in {n.code for n in each.notices} for each in (assumed, true, false)]
    assert told == [True, False, False]


def test_a_diesels_kind(plain_diesel: Engine) -> None:
    """Common practice, no source: boosted, unless 22 to 1 at 7 bar."""
    run = run_of([1500, 2000, 3000], [170.0] * 3)
    old = plain_diesel.with_values({"compression_ratio": 22.0})
    assert _kind(plain_diesel, run) == "a boosted diesel"
    assert _kind(old, run) == "a diesel without boost"


def test_multiples_of_what_is_known_are_narrow(plain_engine: Engine, few: Policy) -> None:
    """Identity: a run that is its own known-good curve asks at most 1 times that; most unknowns
    cancel, so the band is narrower than that of the pressure itself; rod pull goes with speed
    squared: (6000/5000)^2."""
    rpm = [3000, 4000, 5000]
    known = dataclasses.replace(run_of(rpm, [200.0, 210.0, 200.0]), name="factory")
    engine = plain_engine.with_values(MAKERS)
    same = answers_of(assess(engine, known, few, known_good=known)).over_known
    assert same is not None
    for values in (same.peak_pressure, same.rod_compression, same.limits["rod_compression"]):
        assert values.p95.max() == pytest.approx(1.0, abs=1e-9)
    more = assess(engine, run_of([*rpm, 6000], [250.0] * 4), few, known_good=known)
    over = answers_of(more).over_known
    assert over is not None
    width = more.peak_pressure.p95 / more.peak_pressure.p05
    assert np.all(over.peak_pressure.p95 / over.peak_pressure.p05 < 0.9 * width)
    assert over.rod_tension.p50[-1] == pytest.approx(1.44, rel=1e-9)
    assert over.peak_pressure.p50.max() > 1.1
    assert set(over.limits) == {n for n, i in more.limits.items() if i.limit.kind in RELATIVE}
    assert answers_of(assess(engine, known, few)).over_known is None


def test_the_weakest_part_of_a_boosted_engine_is_sized_by_its_rating():
    """common practice, no source: about twice its torque is more than a boosted engine carries."""
    multiples = np.array([0.9, 1.3, WEAKEST_TORQUE, 2.0, 2.4, 4.0])
    likely = weakest_likelihood(multiples)
    assert np.all(likely[:3] == 1.0)
    assert np.all(np.diff(likely[2:]) < 0)
    assert likely[3] == pytest.approx(0.56, abs=0.05)
    assert likely[4] == pytest.approx(0.07, abs=0.02)


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [((False, False), 8.5, 14), ((False, True), 12.5, 30), ((True, False), 7, 9),
     ((True, True), 10, 27)],
)  # fmt: skip
def test_what_a_kind_is_sold_with_is_as_published(
    kind: tuple[bool, bool], low: float, high: float
) -> None:
    """Heywood (1988) section 2.7 (from memory) to today's reach, as KINDS says: nine in ten of a
    kind lie there, to a tenth, and fill half of it."""
    of = KINDS[kind]
    ends = of.mean_pressure / 1e5 * np.exp(np.array([-1.645, 1.645]) * of.log_sd)
    assert 0.9 * low < ends[0] < ends[1] < 1.1 * high
    assert np.diff(ends)[0] > 0.5 * (high - low)


def test_who_says_more_of_an_engine_is_allowed_no_less() -> None:
    """Metamorphic: a stock curve that was survived many times, told beside what is required, never
    lowers what that engine is accepted to carry; nor does a survived curve beside a rating."""
    one = next(x for x in ordinary_engines() if x.name == "turbo_1400_four")
    policy = default_policy(draws=1024)
    bare, known, rated, both = (
        assess(*one.case(known_good=known, rated=rated), policy)
        for rated in (False, True) for known in (False, True)
    )  # fmt: skip
    for less, more in ((bare, known), (rated, both)):
        error = quantile_error(less.model.least.binding, policy.chance, less.evidence.kept)
        assert np.all(more.ceiling >= less.ceiling - 3 * np.sqrt(2) * error)
