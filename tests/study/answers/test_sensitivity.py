"""What drives the answer: known shares come back, noise gets none, and measuring narrows."""

import dataclasses

import numpy as np
import pytest
from scipy.stats import beta, norm, qmc, sobol_indices
from small_case import DRAWS, RPM, SPEED, assessed, assessed_alone, engine, hump

from torquerisk.case import KnownGood, Run, default_policy
from torquerisk.physics.cylinder.phasing import along_speed
from torquerisk.show.words.drivers import cause_in_words, measures_in_words, subject_in_words
from torquerisk.study.answers.measure_next import (
    OUTCOMES,
    _advance_for,
    _error,
    _phased,
    binding_capacity,
    binding_names,
    capacity_with_phasing,
    chosen_by_channels,
)
from torquerisk.study.answers.next_rung import next_rungs
from torquerisk.study.answers.sensitivity import Share, sensitivity
from torquerisk.study.answers.variance_shares import (
    explained,
    joint_share,
    least_resolved,
    normal_scores,
    shares_of,
)
from torquerisk.study.assessment.assess import assess
from torquerisk.study.draws.columns import COLUMNS
from torquerisk.study.draws.simulated_engines import standard_draws
from torquerisk.study.limits import place_of

NAMES = tuple("abcdefghij")


def inputs(count=1024, seed=3):
    drawn = standard_draws(COLUMNS[: len(NAMES)], count, seed).deviates
    return dict(zip(NAMES, drawn.values(), strict=True))


@pytest.fixture(scope="module")
def plain():
    return assessed(hump(300.0))


@pytest.fixture(scope="module")
def found(plain):
    return sensitivity(plain)


def test_a_linear_model_gets_its_textbook_shares():
    """Source: Saltelli and others, Global Sensitivity Analysis, 2008, 1.2.6 (from memory): a sum of
    a_i z_i, z_i independent, has S_i = a_i^2 / sum a^2. 1,024 draws: standard error below 2 %."""
    z = inputs()
    weights = {"a": 3.0, "b": -2.0, "c": 1.0}
    output = sum(w * z[name] for name, w in weights.items())
    shares = shares_of(z, output)
    total = sum(w**2 for w in weights.values())
    for name, weight in weights.items():
        assert shares[name] == pytest.approx(weight**2 / total, abs=0.02)
    assert all(shares[name] == 0 for name in NAMES[3:])
    assert sum(shares.values()) == pytest.approx(1.0, abs=0.03)
    assert joint_share(z, output) == pytest.approx(1.0, abs=0.01)


def test_against_the_librarys_sobol_indices():
    """scipy.stats.sobol_indices (Saltelli's sampling, 2^13 points) on a curved model with an
    interaction, its output taken to normal scores by a large sample's quantiles."""

    def model(z):
        return z[0] + 0.6 * (z[1] + 0.4 * z[1] ** 2) + 0.5 * z[0] * z[2] + 0.3 * z[3] ** 3 / 3

    many = norm.ppf(qmc.Sobol(4, rng=1).random_base2(15).clip(1e-9, 1 - 1e-9)).T
    values = np.sort(model(many))
    scores = norm.ppf((np.arange(len(values)) + 0.5) / len(values))
    reference = sobol_indices(
        func=lambda z: np.interp(model(z), values, scores)[None, :],
        n=2**13,
        dists=[norm()] * 4,
        rng=np.random.default_rng(2),
    ).first_order.ravel()
    z = inputs(4096, 5)
    ordered = np.array([z[n] for n in "abcd"])
    ours = shares_of(dict(z), model(ordered))
    np.testing.assert_allclose([ours[n] for n in "abcd"], reference, atol=0.02)


def test_a_share_does_not_care_how_far_off_a_capacity_is():
    """Metamorphic: any rising function of the output, infinities too, leaves every share as is."""
    z = inputs()
    output = 2 * z["a"] + z["b"]
    cut = np.where(output > np.quantile(output, 0.97), np.inf, np.exp(3 * output))
    plain, bent = shares_of(z, output), shares_of(z, cut)
    for name in NAMES:
        assert bent[name] == pytest.approx(plain[name], abs=0.015)


def test_noise_gets_no_share_and_no_bias():
    """Simulation: 150 outputs that follow nothing; 1 in 100 may be told to follow something."""
    z = {name: values[:200] for name, values in inputs(256).items()}
    random = np.random.default_rng(9)
    outputs = [random.standard_normal(200) for _ in range(150)]
    alarms = sum(any(s > 0 for s in shares_of(z, y).values()) for y in outputs)
    assert alarms <= 6
    raw = [joint_share(z, y) for y in outputs]
    assert np.mean(raw) < 0.01


def test_least_resolved_is_where_the_test_turns():
    """Identity: R^2 of noise alone is beta(3/2, (n - 4)/2)-distributed: its upper quantile."""
    for count, many in ((256, 60), (1024, 60), (1024, 1)):
        raw = beta.ppf(1 - 0.01 / many, 1.5, (count - 4) / 2)
        expected = 1 - (1 - raw) * (count - 1) / (count - 4)
        assert least_resolved(count, many) == pytest.approx(expected, rel=0.03)


def test_an_observation_leaves_the_spread_it_should():
    """Source: conjugate normal law: z seen with error e keeps the variance e^2 / (1 + e^2)."""
    z = inputs(4096)["a"]
    for left in (0.2, 0.5, 0.9):
        noise = np.random.default_rng(1).standard_normal(len(z))
        share = explained(z + _error(left) * noise, normal_scores(z), 1.0)
        assert 1 - share == pytest.approx(left**2, abs=0.03)


def test_an_output_that_does_not_vary_has_no_drivers():
    """Edge: speed-limited everywhere: every capacity is minus infinity, so nothing drives it."""
    z = inputs(128)
    assert set(shares_of(z, np.full(128, -np.inf)).values()) == {0.0}
    assert joint_share(z, np.full(128, -np.inf)) == 0.0


def test_tied_inputs_say_little_alone_and_much_together():
    """Metamorphic: evidence that bounds a + b ties both: alone they explain less than together."""
    z = inputs(8192, 1)
    kept = np.abs(z["a"] + z["b"]) < 0.5
    tied = {name: values[kept] for name, values in z.items()}
    output = tied["a"] + 0.8 * tied["b"]
    shares = shares_of(tied, output)
    assert sum(shares.values()) < 0.6 < 0.9 < joint_share(tied, output)


def test_the_case_adds_up(plain, found):
    """Contract: sorted; at most 1 in all; the rest is what is left; labels are for readers."""
    total = sum(s.share for s in found.shares)
    assert 0 < total <= 1 + 1e-12
    assert found.rest == pytest.approx(1 - total, abs=1e-12)
    assert [s.share for s in found.shares] == sorted((s.share for s in found.shares), reverse=True)
    assert all(s.resolved == (s.share > 0) for s in found.shares)
    assert all("." not in s.label and s.label for s in found.shares)
    spare = plain.ceiling - plain.torque
    k = int(np.argmin(np.abs(plain.speed - found.speed)))
    assert spare[k] == spare[np.isfinite(spare)].min()
    assert found.limit == plain.governing[k]


def test_label_and_number_are_of_the_same_torque(plain):
    """Identity: limits set by hand to be least in three quarters and in a quarter of the engines.

    Points and shares are of the lesser of both, engine by engine; the words name both limits.
    """
    k, count = 9, plain.model.draws.count
    bound = binding_names(plain)
    z = plain.model.draws.deviates["head_joint.ring_share"]
    row = {name: np.full(count, np.inf) for name in bound}
    weaker = np.arange(count) % 4 > 0
    row["head_lift"] = np.where(weaker, 300.0 + 10.0 * z, 900.0)
    row["rod_fatigue"] = np.where(weaker, 800.0, 350.0 + 10.0 * z)
    capacities = {n: c.copy() for n, c in plain.model.capacities.items()}
    for name in bound:
        capacities[name][k] = row[name]
    binding = plain.model.least.binding.copy()
    binding[k] = np.where(weaker, row["head_lift"], row["rod_fatigue"])
    least = dataclasses.replace(plain.model.least, binding=binding)
    model = dataclasses.replace(plain.model, capacities=capacities, least=least)
    bent = dataclasses.replace(plain, model=model)
    found = sensitivity(bent, k)
    assert found.first == (("head_lift", 0.75), ("rod_fatigue", 0.25))
    by_hand = np.where(weaker, 300.0, 350.0) + 10.0 * z
    expected = np.quantile(by_hand, [0.05, 0.5, 0.95], method="inverted_cdf")
    assert found.capacity_torque == pytest.approx(tuple(expected))
    share = shares_of({"z": z}, by_hand)["z"]
    (told,) = [s.share for s in found.shares if s.name == "head_joint.ring_share"]
    assert told == pytest.approx(share, abs=0.02)
    words = subject_in_words(bent, found)
    assert words.startswith("the torque that holds at 4,250 rpm")
    assert f"head clamping in {count * 3 // 4}, rod fatigue in {count // 4} of {count}" in words


def test_measures_are_sorted_and_worth_something(found):
    """Contract: worth most first, each above what chance gives; a pair beats each; what is worth
    nothing clear is named apart; the words have no per cent of a rank score."""
    measures = found.next.measures
    assert measures
    order = [(m.risk is not None, -m.gain) for m in measures]
    assert order == sorted(order)
    assert all(m.gain > 0.005 * found.accepted and m.low <= m.high for m in measures)
    if found.next.pair is not None:
        assert found.next.pair.gain > max(m.gain for m in measures if m.risk is None)
    told = measures_in_words(found, 3)
    assert measures[0].label.lower() in told[0].lower()
    assert f"{measures[0].gain:.0f} N·m more" in told[0]
    assert not {m.label for m in measures} & set(found.next.unclear)
    assert all(label in told[-1] for label in found.next.unclear)


def test_a_rung_and_its_risk_are_among_what_is_next(plain, found):
    """Identity: the lowest rung that nobody has driven, with what it would bring here, as it is
    told beside the table."""
    rung = next_rungs(plain)[0]
    k = int(np.argmin(np.abs(plain.speed - found.speed)))
    told = {m.name: m for m in found.next.measures}
    rise = float(rung.accepted[k]) - plain.ceiling[k]
    if rise > 0.005 * plain.ceiling[k]:
        assert told["survived_rung"].gain == pytest.approx(rise)
        assert told["survived_rung"].risk == rung.risk
    assert "survived_run" not in told


def test_what_nobody_knows_is_offered_first_hand():
    """Contract: where neither a data sheet nor a survived curve is given, both are looked at."""
    usual = dataclasses.replace(engine(), known_good=KnownGood())
    run = Run(name="test run", speed=SPEED, torque=hump(330.0))
    found = sensitivity(assess(usual, run, default_policy(draws=DRAWS))).next
    offered = {m.label for m in found.measures} | set(found.unclear)
    assert "a data sheet's torque and power" in offered
    (run,) = [m for m in found.measures if m.name == "survived_run"]
    assert 0 < run.risk < 1
    assert found.measures[-1].risk is not None


def test_the_main_cause_is_only_above_half():
    """Contract: 'mostly because' says more than half; below it is the largest single cause, with
    its share; below 15 % nothing is blamed."""

    def told(share):
        return cause_in_words(Share(name="x.y", label="gasket", share=share, given=False))

    assert told(0.51) == ", mostly because gasket is assumed"
    assert told(0.3) == ", 30 % of that range because gasket is assumed"
    assert told(0.14) == cause_in_words(None) == ""


def test_what_was_logged_is_not_asked_for_again():
    """Metamorphic: a channel that the run holds is no candidate any more."""
    channels = {"ca50": np.full(len(SPEED), np.radians(14.0))}
    names = {m.name for m in sensitivity(assessed(hump(300.0), channels)).next.measures}
    assert not names & {"ca50", "ignition_advance"}


def test_measuring_phasing_does_as_foretold():
    """Identity: where no evidence chooses among engines, with CA50 logged at each of the values
    looked at, the run assessed anew has exactly the capacities foretold."""
    plain = assessed_alone(hump(300.0))
    k = 9
    assert plain.speed[k] == pytest.approx(4250 * RPM)
    channel = ("ca50", "CA50 (burn phasing)")
    told, _ = _phased(plain, k, float(plain.ceiling[k]), channel, [])
    assert not told.rough
    place = place_of(plain.model.demand.torque, plain.torque)
    shown = np.quantile(place.read(plain.model.demand.ca50)[k], OUTCOMES)
    after = []
    for ca50 in shown:
        logged = assessed_alone(hump(300.0), {"ca50": np.full(len(SPEED), ca50)})
        fresh = binding_capacity(logged)[k]
        foretold = capacity_with_phasing(plain, k, "ca50", float(ca50))
        np.testing.assert_allclose(foretold, fresh, rtol=1e-9)
        after.append(logged.ceiling[k])
    assert told.gain == pytest.approx(np.dot((0.3, 0.4, 0.3), after) - plain.ceiling[k], abs=1e-9)
    assert (told.low, told.high) == pytest.approx((min(after), max(after)))


def test_ignition_advance_stands_for_its_phasing(plain):
    """Identity: the advance that stands for a CA50 comes back as that CA50 where the deviates of
    phasing and burn are 0; load rows between which it is read make up to half a degree."""
    k = 9
    at = np.radians(16.0)
    advance = np.full(len(SPEED), _advance_for(plain, k, at))
    logged = assessed(hump(300.0), {"ignition_advance": advance})
    place = place_of(logged.model.demand.torque, logged.torque)
    ca50 = place.read(logged.model.demand.ca50)[k]
    drawn = logged.model.draws.deviates
    names = ("model.phasing", "model.phasing_along_1", "model.phasing_along_2")
    error = along_speed(SPEED[k], *(drawn[name] for name in names))
    burn = drawn["charge.burn_duration"]
    inside = np.hypot(error, burn) < 1.0
    terms = np.stack([np.ones(len(burn)), error, burn, burn**2], axis=1)[inside]
    middle = np.linalg.lstsq(terms, np.degrees(ca50[inside]), rcond=None)[0][0]
    assert middle == pytest.approx(16.0, abs=0.5)


def test_channels_that_chose_the_engines_make_it_rough():
    """Contract: where manifold pressure has chosen among the engines, phasing's worth is rough."""
    channels = {"manifold_pressure": 1.75e5 * hump(300.0) / 300, "lambda_": np.full(19, 0.87)}
    case = assessed(hump(300.0), channels)
    assert chosen_by_channels(case)
    found = sensitivity(case).next
    assert all(m.rough == (m.name in ("ca50", "ignition_advance")) for m in found.measures)


def test_more_engines_tell_smaller_shares(found):
    """Metamorphic: four times the draws resolve a quarter of the share."""
    few = least_resolved(256, 60)
    assert least_resolved(1024, 60) == pytest.approx(few / 4, rel=0.12)
    many = len(found.shares)
    assert found.least_resolved == least_resolved(256, many)
    assert all(s.share == 0 or s.share > 0.97 * found.least_resolved for s in found.shares)
