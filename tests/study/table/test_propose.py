"""The proposed torque-limit table: every rule kept, and the accepted chance kept by others."""

import dataclasses
from itertools import pairwise

import numpy as np
import pytest
from plain_runs import RPM, run_of

from torquerisk.case import Engine, Policy, Run, default_policy
from torquerisk.errors import InfeasibleError, InputError
from torquerisk.study.assessment.assess import assess, at_accepted, evaluate
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import ShapeInfeasibleError
from torquerisk.study.limit_curve.check import verify_table
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limits import LimitKind
from torquerisk.study.table import engines_enough, proof
from torquerisk.study.table.finer_grid import binding_capacity, ceiling_at, prepared_of
from torquerisk.study.table.propose import Proposal, ask_of, propose_limit
from torquerisk.study.table.rows import (
    limit_rows,
    pressure_targets,
    quantile_error,
    step_notices,
)

pytestmark = pytest.mark.slow

RISE = 60 * 0.03 / np.pi
"""Steepest rise where none is asked for [N*m*s/rad]."""
RPMS = [2000, 2500, 3000, 3500, 4000, 4500, 5000, 5500, 6000, 6500]
TORQUE = [230, 290, 330, 345, 350, 345, 335, 320, 300, 275]
FACTORY = [170, 205, 220, 228, 230, 228, 222, 212, 200, 185]


@pytest.fixture(scope="module")
def careful() -> Policy:
    """Four per cent accepted, 256 engines: enough for a chance that ten of them make up."""
    return default_policy(chance=0.04, draws=256, points=10)


@pytest.fixture(scope="module")
def engine(plain_engine: Engine) -> Engine:
    """The plain engine with head fasteners that hold what the run asks, or nearly, and ends of its
    rods that no speed of the run tears: a limit of torque cannot mend those."""
    return plain_engine.with_values(
        {
            "head_joint.tightening": "yield",
            "head_joint.thread": "M12x1.5",
            "running_gear.small_end_wall": 0.006,
            "running_gear.cap_thickness": 0.016,
        }
    )


@pytest.fixture(scope="module")
def before(engine: Engine, careful: Policy) -> Assessment:
    """A run that asks for more than the engine is likely to carry; MAP and CA50 logged."""
    return assess(engine, measured(), careful)


def measured() -> Run:
    """The run, with manifold pressure and CA50."""
    torque = np.array(TORQUE, dtype=float)
    return run_of(RPMS, torque, manifold_pressure=0.35e5 + torque * 530.0,
                  lambda_=np.full(10, 0.87), ca50=np.radians(np.linspace(20, 14, 10)))  # fmt: skip


@pytest.fixture(scope="module")
def proposal(before: Assessment) -> Proposal:
    """The table for that run."""
    return propose_limit(before)


def limits(proposal: Proposal) -> np.ndarray:
    """Limits of the rows [N*m]."""
    return np.array([row.limit for row in proposal.rows])


def test_every_rule_is_kept(proposal: Proposal) -> None:
    """Identity: by the check that shares no code with the solver; whole steps, rise, peak."""
    fine = proposal.finer
    assert verify_table(fine.speed, ceiling_at(fine, 0.04), proposal.shape, proposal.ask) == []
    rows = limits(proposal)
    speed = np.array([row.speed for row in proposal.rows])
    assert np.array_equal(rows, np.round(rows))
    peak = int(np.argmax(rows))
    assert np.all(np.diff(rows)[:peak] <= RISE * np.diff(speed)[:peak] + 1e-6)
    assert np.all(np.diff(rows)[peak:] <= 0)
    assert proposal.under.peak_speed >= proposal.ask.peak_from - 1e-6


def test_no_speed_between_breakpoints_passes_the_ceiling(
    proposal: Proposal, before: Assessment
) -> None:
    """Identity: the limit held against the measured run's own ceiling at 2,000 speeds."""
    fine = proposal.finer
    ceiling = ceiling_at(fine, 0.04)
    dense = np.linspace(before.speed[0], before.speed[-1], 2000)
    limit = interpolated_limit(proposal.shape.breakpoints, proposal.shape.limit, dense)
    assert np.all(limit <= np.interp(dense, fine.speed, ceiling) + 1e-6)


def test_each_row_keeps_the_accepted_chance(proposal: Proposal) -> None:
    """Identity: chance by row at most the accepted one; spare never negative; text for readers."""
    for row in proposal.rows:
        assert row.chance <= 0.04
        assert row.spare >= 0
        assert row.governing in proposal.assessment.limits
        assert row.lifted_by
        assert row.held_by
        assert row.power == pytest.approx(row.limit * row.speed)
    assert proposal.after.chance_any_max <= 0.04
    assert proposal.before.chance_any_max > proposal.after.chance_any_max
    assert proposal.under.chance_pulls >= proposal.after.chance_any_max


def test_it_is_verified_by_other_draws(proposal: Proposal, before: Assessment) -> None:
    """Identity: another seed, other engines, the whole chain anew, and it says so."""
    assert proposal.verified
    assert proposal.fresh.policy.seed != before.policy.seed
    name = "head_joint.ring_share"
    old, new = before.model.draws.deviates[name], proposal.fresh.model.draws.deviates[name]
    assert not np.array_equal(old, new)
    assert f"{proposal.fresh.evidence.kept:,}" in proposal.proof.words


def test_a_small_chance_is_proved_by_engines_enough(proposal: Proposal, before: Assessment) -> None:
    """Metamorphic: 1 % of 256 engines is two of them, so 1,000 are taken, twice for half of it.

    So the table for half the chance lies lower, where the weakest of 256 would stand for both.
    """
    small, smaller = (
        propose_limit(before, dataclasses.replace(before.policy, chance=c)) for c in (0.01, 0.005)
    )
    for made, least in ((small, 1000), (smaller, 2000)):
        assert made.finer.model.every.count >= least
        assert made.fresh.model.every.count >= least
        assert made.verified
    assert limits(smaller).mean() < limits(small).mean() < limits(proposal).mean()


def test_a_failed_proof_counts_its_engines_with_those_before(
    before: Assessment, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Identity: the second table lies under what both sets of engines accept together, which is
    between what each accepts alone; the least of both would be lower than either's luck."""
    seen = []
    verify = proof.verify

    def unlucky(*args, **more):
        found = verify(*args, **more)
        seen.append((binding_capacity(args[0]), args[4], found.least))
        return found if len(seen) > 1 else dataclasses.replace(found, holds=False)

    monkeypatch.setattr(proof, "verify", unlucky)
    propose_limit(before)
    (own, first, fresh), (_, second, _) = seen
    chance = before.policy.chance
    together = at_accepted(np.concatenate([own, fresh], axis=1), chance)
    assert second == pytest.approx(np.minimum(first, together))
    assert np.all(second >= np.minimum(first, at_accepted(fresh, chance)) - 1e-9)


def test_too_few_engines_prove_nothing(before: Assessment, monkeypatch: pytest.MonkeyPatch) -> None:
    """Edge: evidence that leaves 64 engines: 4 % of them are 2.6, which is said."""
    monkeypatch.setattr(engines_enough, "MOST_DRAWS", 64)
    few = dataclasses.replace(before.policy, draws=64)
    made = propose_limit(assess(before.engine, before.run, few))
    assert not made.verified
    assert "stands for 2.6 of them" in made.proof.words


def test_sampling_error_of_a_quantile() -> None:
    """Order statistics: of N uniform values sqrt(p (1 - p)/N), within 15 % over 200 samples.

    p is what is left of the accepted chance once a standard error is taken off it.
    """
    rng = np.random.default_rng(5)
    for count, chance in ((1024, 0.05), (4096, 0.01)):
        errors = quantile_error(rng.uniform(size=(200, count)), chance, count)
        share = (np.floor(count * chance - np.sqrt(count * chance * (1 - chance))) + 0.5) / count
        assert errors.mean() == pytest.approx(np.sqrt(share * (1 - share) / count), rel=0.15)
    assert quantile_error(np.full((1, 100), np.inf), 0.1, 100) == np.inf


def test_each_row_tells_its_sampling_error(proposal: Proposal) -> None:
    """Plausible: above nothing, and less than 15 % of the limit with 256 engines."""
    errors = np.array([row.sampling_error for row in proposal.rows])
    assert np.all((errors > 0) & (errors < 0.15 * limits(proposal)))


def test_the_same_ask_gives_the_same_table(proposal: Proposal, before: Assessment) -> None:
    """Identity: deterministic to the bit."""
    again = propose_limit(before)
    assert np.array_equal(limits(again), limits(proposal))
    assert again.proof.words == proposal.proof.words


def test_a_lower_accepted_chance_never_raises_a_rows_ceiling(
    before: Assessment, proposal: Proposal
) -> None:
    """Metamorphic: 8, 4, 2, 1 %: the ceiling falls at every speed, and so does the area."""
    fine = proposal.finer
    ceilings = [ceiling_at(fine, chance) for chance in (0.08, 0.04, 0.02, 0.01)]
    for higher, lower in pairwise(ceilings):
        assert np.all(lower <= higher)
    careful = propose_limit(before, dataclasses.replace(before.policy, chance=0.02))
    assert careful.after.area <= proposal.after.area


def test_stronger_fasteners_never_lower_the_ceiling(engine: Engine, careful: Policy) -> None:
    """Metamorphic: class 12.9 to its yield for 10.9 to its, in threads deep enough for both."""
    deep = engine.with_values({"head_joint.engagement_length": 0.040})
    weak = assess(deep, measured(), careful)
    strong = assess(deep.with_values({"head_joint.property_class": "12.9"}), measured(), careful)
    for name in ("head_lift", "fastener_yield"):
        assert np.all(strong.model.capacities[name] >= weak.model.capacities[name] - 1e-6)
    assert np.all(strong.ceiling >= weak.ceiling)


def test_stronger_fasteners_strip_shallow_threads(engine: Engine, careful: Policy) -> None:
    """[VDI2230]: tightened to its own yield, a stronger one asks more of the block's thread.

    By the same draws: what is usual of its kind would weight each engine by its own fasteners.
    """
    shallow = engine.with_values({"head_joint.engagement_length": 0.021})
    weak = assess(shallow, measured(), careful)
    other = assess(shallow.with_values({"head_joint.property_class": "12.9"}), measured(), careful)
    strong = evaluate(prepared_of(other), careful, weak.model.draws, weak.evidence)
    name = "thread_strip"
    assert np.all(strong.limits[name].chance >= weak.limits[name].chance)
    assert strong.limits[name].chance.max() > weak.limits[name].chance.max()


def test_the_table_as_a_run_keeps_the_chance(
    proposal: Proposal, engine: Engine, careful: Policy
) -> None:
    """Metamorphic: the limit run as torque, same seed, on its own grid and at breakpoints only."""
    fine = proposal.finer
    points = proposal.shape.breakpoints
    for speed in (fine.speed, points):
        torque = interpolated_limit(points, proposal.shape.limit, speed)
        state = fine.model.operating
        channels = {
            name: np.interp(speed, fine.speed, getattr(state, name))
            for name in ("ca50", "lambda_", "intake_temperature")
        }
        run = run_of(speed / RPM, torque, **channels)
        result = assess(engine, run, dataclasses.replace(careful, draws=1024))
        error = np.sqrt(0.04 * 0.96 / 256 + 0.04 * 0.96 / 1024)
        assert result.chance_any.max() <= 0.04 + 2.5 * error


def test_the_same_draws_keep_it_exactly(proposal: Proposal) -> None:
    """Identity: counted anew over the simulated engines that it was made with."""
    fine = proposal.finer
    strength = [
        fine.model.capacities[name]
        for name, item in fine.limits.items()
        if item.limit.kind is LimitKind.STRENGTH
    ]
    limit = interpolated_limit(proposal.shape.breakpoints, proposal.shape.limit, fine.speed)
    chance = (np.min(strength, axis=0) < limit[:, None]).mean(axis=1)
    assert chance.max() <= 0.04
    assert chance.max() == pytest.approx(max(row.chance for row in proposal.rows), abs=0.02)


def test_reach_open_never_asks_for_less(before: Assessment, proposal: Proposal) -> None:
    """Metamorphic: with no bound on what the engine makes, delivered is the limit itself."""
    free = propose_limit(before, reach="open")
    assert free.can is None
    limit = interpolated_limit(free.shape.breakpoints, free.shape.limit, free.finer.speed)
    assert free.under.torque == pytest.approx(limit)
    assert free.after.area >= proposal.after.area - 1e-6


def test_another_run_may_say_what_the_engine_can_make(before: Assessment) -> None:
    """Metamorphic: delivered never passes the reach given, and the limit may."""
    weaker = run_of(RPMS, np.array(TORQUE) * 0.5)
    held = propose_limit(before, reach=weaker)
    assert held.reach(before.speed) == pytest.approx(np.array(TORQUE) * 0.5)
    assert np.all(held.under.torque <= held.can + 1e-9)


def test_a_reach_that_does_not_cover_the_run_is_refused(before: Assessment) -> None:
    """Identity: one sentence that names both ranges."""
    with pytest.raises(InputError, match=r"covers 3000 to 5000 rpm.*2000 to 6500 rpm"):
        propose_limit(before, reach=run_of([3000, 4000, 5000], [200, 200, 200]))
    with pytest.raises(InputError, match="'measured', 'open', a manifold"):
        propose_limit(before, reach="whatever")


def test_a_reach_is_read_by_its_own_facts(engine: Engine, careful: Policy) -> None:
    """Identity: a wheel run's loss is not put onto a crank run that says nothing of it."""
    wheel = dataclasses.replace(
        run_of(RPMS, np.array(TORQUE) * 0.85), facts={"correction": "none", "measured_at": "wheel"}
    )
    silent = dataclasses.replace(run_of(RPMS, np.array(TORQUE) * 0.5), facts={})
    held = propose_limit(assess(engine, wheel, careful), reach=silent)
    assert held.reach(held.assessment.speed) == pytest.approx(np.array(TORQUE) * 0.5)


def test_a_rise_that_was_survived_is_allowed(before: Assessment) -> None:
    """Common practice: no default takes away a known-good curve's own rise; a rise asked for does.

    The curve rises by 150 N*m in 500 rpm, 300 N*m/1000rpm.
    """
    speed = before.speed
    step = speed[0] + np.array([0.0, 0.5, 1.0]) * 500 * RPM
    curve = run_of([*(step / RPM), speed[-1] / RPM], [100.0, 175.0, 250.0, 250.0])
    known = dataclasses.replace(before.engine.known_good, curve=curve)
    steep = dataclasses.replace(before, engine=dataclasses.replace(before.engine, known_good=known))
    free = ask_of(steep, before.policy, step).rise_rate
    per_step = (75.0 + before.policy.resolution) / (250 * RPM)
    assert free == pytest.approx(per_step, rel=1e-9)
    asked = dataclasses.replace(before.policy, rise=RISE)
    assert ask_of(steep, asked, step).rise_rate == RISE
    plain = dataclasses.replace(before.engine.known_good, curve=None)
    bare = dataclasses.replace(before, engine=dataclasses.replace(before.engine, known_good=plain))
    assert ask_of(bare, before.policy, step).rise_rate == pytest.approx(RISE, rel=1e-12)


def test_an_ask_that_cannot_be_met_comes_back_with_the_nearest(before: Assessment) -> None:
    """Identity: a rise too small to matter from a speed where nearly nothing is acceptable."""
    steep = dataclasses.replace(
        before.policy, rise=2 * RISE / 60, peak_from=6300 * RPM, resolution=50.0
    )
    with pytest.raises(InfeasibleError) as caught:
        propose_limit(before, steep)
    assert isinstance(caught.value, ShapeInfeasibleError)
    assert caught.value.constraint
    assert caught.value.nearest is not None
    assert len(caught.value.nearest.limit) == before.policy.points


def test_a_peak_beyond_the_run_is_refused(before: Assessment) -> None:
    """Identity: one sentence."""
    with pytest.raises(InputError, match="peak_from is 8000 rpm"):
        propose_limit(before, dataclasses.replace(before.policy, peak_from=8000 * RPM))


def test_an_objective_without_its_reference_is_refused(
    plain_engine: Engine, careful: Policy
) -> None:
    """Identity: nearest to what? One sentence that asks for it."""
    bare = assess(plain_engine, run_of(RPMS, np.array(TORQUE) * 0.3), careful)
    with pytest.raises(InputError, match="needs a reference curve"):
        propose_limit(bare, dataclasses.replace(careful, objective="least change"))


def test_a_table_near_a_reference_is_nearer_than_the_widest(before: Assessment) -> None:
    """Metamorphic: least change lies nearer to the curve given than most area does."""
    near = propose_limit(
        before,
        dataclasses.replace(before.policy, objective="least change"),
        reference=run_of(RPMS, FACTORY),
    )
    wide = propose_limit(before, reach="open")
    factory = np.array(FACTORY, dtype=float)

    def apart(proposal: Proposal) -> float:
        limit = interpolated_limit(proposal.shape.breakpoints, proposal.shape.limit, before.speed)
        return float(np.abs(limit - factory).mean())

    assert apart(near) < apart(wide)


def test_the_earliest_phasing_is_monotone_in_chance(before: Assessment, proposal: Proposal) -> None:
    """Metamorphic: who accepts less must phase later at the same limits."""
    rows = [
        limit_rows(
            proposal.finer,
            dataclasses.replace(before.policy, chance=chance),
            proposal.shape,
            proposal.proof,
        )
        for chance in (0.10, 0.04)
    ]
    for bold, shy in zip(*rows, strict=True):
        if bold.ca50_not_before is None:
            assert shy.ca50_not_before is None
        elif shy.ca50_not_before is not None:
            assert shy.ca50_not_before >= bold.ca50_not_before - 1e-9


def test_a_row_can_carry_what_it_is_proved_with(proposal: Proposal) -> None:
    """Identity: the earliest phasing it carries is no later than the one it is proved with.

    A row just at its ceiling may differ by the grid of phasings and the draws used: 2 degrees.
    """
    for row in proposal.rows:
        assert row.ca50_not_before is not None
        assert row.ca50_not_before <= row.ca50_asked + np.radians(2.0)


def test_manifold_pressure_of_the_runs_own_torque_is_the_runs_own(before: Assessment) -> None:
    """Identity: at the torque of the run the model gives back the run's manifold pressure."""
    index = np.arange(len(before.speed))
    own = before.run.channel("manifold_pressure")
    found = np.array([t.value for t in pressure_targets(before, index, before.torque) if t])
    assert found == pytest.approx(own, rel=1e-9)
    less = np.array([t.value for t in pressure_targets(before, index, before.torque * 0.8) if t])
    assert np.all(less < found)
    assert np.all(less > 0.8 * found)


def test_without_manifold_pressure_no_row_has_one(engine: Engine, careful: Policy) -> None:
    """Identity: none is made up."""
    table = propose_limit(assess(engine, run_of(RPMS, TORQUE), careful))
    assert {row.manifold_pressure for row in table.rows} == {None}


def test_a_known_good_run_given_apart_is_used_again_in_the_proof(
    plain_engine: Engine, careful: Policy
) -> None:
    """Identity: the re-assessment leans on the same evidence as the assessment."""
    known = dataclasses.replace(run_of(RPMS, FACTORY), name="kept apart")
    result = assess(plain_engine, measured(), careful, known_good=known)
    proof = propose_limit(result).fresh.evidence
    assert any("kept apart" in words for words in proof.used)


def test_the_curve_that_is_kept_to_is_named(before: Assessment) -> None:
    """Identity: its name in a notice, and its ends where it does not reach the run's."""
    policy = dataclasses.replace(before.policy, objective="least change")
    short = run_of([2500, 4000, 5500], [200.0, 220.0, 210.0])
    told = [n.text for n in propose_limit(before, policy, reference=short).notices]
    (one,) = [t for t in told if t.startswith("The table keeps to the curve")]
    assert short.name in one
    assert "from 2500 to 5500 rpm, the measured run from 2000 to 6500" in one
    whole = run_of(RPMS, FACTORY)
    told = [n.text for n in propose_limit(before, policy, reference=whole).notices]
    (one,) = [t for t in told if t.startswith("The table keeps to the curve")]
    assert "beyond its ends" not in one


def test_rows_beyond_the_run_are_not_judged(before: Assessment) -> None:
    """Identity: no chance, phasing, pressure, advance or retard where nothing was assessed."""
    found = propose_limit(before, breakpoints=np.array([1000.0, 3000, 5000, 9000]) * RPM)
    assert [row.assessed for row in found.rows] == [False, True, True, False]
    for row in (found.rows[0], found.rows[-1]):
        assert row.pressure is None
        assert row.retard is None
        assert (row.chance, row.spare, row.ca50, row.ca50_not_before) == (None,) * 4
        assert row.later == ()
    assert found.rows[1].pressure is not None


@pytest.mark.parametrize(
    ("torque", "step", "coarse", "finer"),
    [
        (12.0, 1.0, "8%", "0.2 N·m"),
        (300.0, 1.0, None, None),
        (50.0, 1.0, None, None),
        (49.0, 1.0, "2%", "0.5 N·m"),
        (300.0, 50.0, "17%", "5 N·m"),
    ],
)
def test_a_step_that_is_coarse_for_the_engine_is_told(
    before: Assessment, torque: float, step: float, coarse: str | None, finer: str | None
) -> None:
    """Arithmetic: above 2 % of the largest torque; 1, 2 or 5 of a power of ten is advised."""
    small = dataclasses.replace(before, torque=before.torque * (torque / before.torque.max()))
    told = step_notices(small, default_policy(resolution=step))
    assert [n.code for n in told] == (["torque-step-coarse"] if coarse else [])
    for notice in told:
        assert f"step of {step:g} N·m is {coarse} of" in notice.text
        assert f"--resolution, in Python the policy's resolution): {finer} or less" in notice.text


def test_the_coarse_step_stands_in_the_proposal(
    before: Assessment, careful: Policy, proposal: Proposal
) -> None:
    """Identity: beside the table where it is coarse, and not where it is not."""
    coarse = dataclasses.replace(careful, resolution=50.0)
    found = propose_limit(before, coarse, nearest=True)
    assert "torque-step-coarse" in {n.code for n in found.notices}
    assert "torque-step-coarse" not in {n.code for n in proposal.notices}
