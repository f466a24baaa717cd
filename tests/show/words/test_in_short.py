"""The answer in short and what drives it."""

import dataclasses

import numpy as np
import pytest
from cli_case import METRIC, TORQUES, run_text

from torquerisk import assess, default_policy, propose_limit
from torquerisk.case import Notice
from torquerisk.files.engine_file import engine_from_text
from torquerisk.files.run_file import run_from_bytes
from torquerisk.show.text.answers import explain_text
from torquerisk.show.words import in_short, prose
from torquerisk.show.words.owner import questions
from torquerisk.show.words.passing import PASSING, passing
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import ALL_LIMITS, JUDGED, Wish
from torquerisk.study.assessment.result import State
from torquerisk.study.limits.abnormal import ABNORMAL

pytestmark = pytest.mark.slow

LOW = (30.0, 32.0, 35.0, 36.0, 36.0, 35.0, 33.0, 31.0, 28.0)


@pytest.fixture(scope="module")
def loaded():
    return _assessed(run_text())


@pytest.fixture(scope="module")
def light():
    return _assessed(run_text(LOW))


def _assessed(text):
    engine = engine_from_text(METRIC, "engine.toml")
    return assess(engine, run_from_bytes(text.encode(), "run.csv"), default_policy(draws=256))


def test_worst_comes_first(loaded):
    """common practice, no source: the first sentence names the limit of the gravest state."""
    ranked = in_short.verdicts(loaded)
    gravest = [in_short.SEVERITY[v.state] for v in ranked]
    assert gravest == sorted(gravest, reverse=True)
    told = in_short.assessment_in_short(loaded)
    assert 1 <= len(told) <= 5
    first = ranked[0]
    assert first.state is not State.HOLDS
    part = passing(first.item.limit)
    verb = "likely to" if first.exceeds.any() else "may"
    assert told[0].lower().startswith(part.subject)
    assert f" {verb} {part.verb} " in told[0]
    assert " to spare" in told[0]
    assert " rpm" in told[0]


def test_sentence_quotes_the_assessment(loaded):
    """identity: the margin in the sentence is the band's, at the speed of greatest chance."""
    worst = in_short.verdicts(loaded)[0]
    k = worst.worst
    assert worst.item.chance[k] == worst.item.chance.max()
    unit = prose.limit_unit(worst.item.limit)
    middle = worst.item.margin.p50[k] / unit.size
    told = in_short.limit_sentence(loaded, worst)
    half = (worst.item.margin.p95[k] - worst.item.margin.p05[k]) / 2 / unit.size
    assert half > 1
    digits = 0 if half >= 10 else 1
    number = f"{abs(middle):.{digits}f} {unit.name} {'short' if middle < 0 else 'to spare'}"
    assert number in told


def test_a_light_run_holds(light):
    """common practice, no source: where all holds, the limit with least left is named."""
    told = in_short.assessment_in_short(light)
    assert told[0].startswith("Every limit that was assessed is estimated to hold")
    assert prose.chance_in_words(light.chance_pull, 256) in told[1]


def test_phasing_that_was_not_measured_is_said(loaded):
    """common practice, no source: unknown phasing is the widest doubt and has its sentence."""
    assert any("not measured" in t and "bar" in t for t in in_short.assessment_in_short(loaded))


@pytest.fixture(scope="module")
def proposal(loaded):
    return propose_limit(loaded, default_policy(draws=256, chance=0.05))


def test_proposal_says_what_holds_and_what_it_costs(loaded, proposal):
    """identity: peak and area in the sentences are the proposal's."""
    told = in_short.proposal_in_short(proposal)
    assert len(told) <= 5
    assert "is estimated to hold; it made" in told[0]
    lost = 100 * (1 - proposal.after.area / proposal.before.area)
    assert f"gives up {lost:.0f} % of the area under power" in told[0]
    assert told[0].startswith(f"{proposal.peak_torque:.0f} N·m at ")
    assert f"it made {loaded.torque.max():.0f} at " in told[0]
    us = in_short.proposal_in_short(proposal, Units.US)[0]
    assert us.startswith(f"{proposal.peak_torque / 1.3558179483314004:.0f} lb·ft at ")


def test_a_reason_to_stop_comes_before_the_answer(loaded, proposal):
    """common practice, no source: coolant pressure that rose is told first wherever one asks."""
    gas = Notice(in_short.GAS_IN_COOLANT, "Coolant pressure rose: stop. It may be gas.")
    told = dataclasses.replace(loaded, notices=(*loaded.notices, gas))
    stop = "Coolant pressure rose: stop."
    assert in_short.proposal_in_short(dataclasses.replace(proposal, assessment=told))[0] == stop
    text = explain_text(told)
    assert text.index(stop) < text.index("Dips\n")


def test_more_than_it_made_is_never_called_made(proposal):
    """identity: what the engine made stands beside a table that allows more."""
    made = proposal.assessment.torque
    more = dataclasses.replace(
        proposal, verified=True, delivered=1.2 * made, peak_torque=1.2 * float(made.max())
    )
    told = in_short.answer_in_words(more)
    assert told.startswith(f"It made {made.max():.0f} at ")
    assert f"up to {1.2 * made.max():.0f} N·m" in told
    whole = dataclasses.replace(more, delivered=made, peak_torque=float(made.max()))
    assert in_short.answer_in_words(whole).startswith(f"All that it made, {made.max():.0f} N·m")


def test_table_that_failed_its_check_says_so(proposal):
    """common practice, no source: a table that is not verified is never said to hold."""
    failed = dataclasses.replace(proposal, verified=False)
    told = " ".join(in_short.proposal_in_short(failed))
    assert "is not proved and must not be used" in told


def test_cause_is_the_input_that_the_capacity_follows(loaded):
    """identity: a capacity that is a rising function of one input names that input as the cause."""
    worst = in_short.verdicts(loaded)[0]
    model = loaded.model
    for name, told in (
        ("head_joint.ring_share", "share of the clamp that reaches the combustion ring is assumed"),
        ("model.phasing", "was not measured"),
        ("model.cyclic", "is not known better"),
    ):
        made = np.tile(np.exp(model.draws.deviates[name]), (len(loaded.speed), 1))
        changed = dataclasses.replace(
            loaded,
            model=dataclasses.replace(model, capacities={**model.capacities, worst.name: made}),
        )
        assert told in in_short.limit_sentence(changed, worst)


def test_capacity_that_does_not_vary_has_no_cause(loaded):
    """identity: no spread, no cause."""
    worst = in_short.verdicts(loaded)[0]
    model = loaded.model
    flat = {**model.capacities, worst.name: np.full_like(model.capacities[worst.name], np.inf)}
    changed = dataclasses.replace(loaded, model=dataclasses.replace(model, capacities=flat))
    assert "because" not in in_short.limit_sentence(changed, worst)


def test_every_limit_that_is_judged_has_its_own_words():
    """common practice, no source: the head lifts and a rod bends; only guidance 'is passed'."""
    judged = {limit.name for limit in (*ALL_LIMITS, ABNORMAL) if limit.kind in JUDGED}
    assert set(PASSING) == judged


def test_more_than_the_known_curve_is_told_first(loaded):
    """identity: the sentence has the multiples of the answers, with their range."""
    assert in_short.over_known_in_words(loaded) == []
    known = run_from_bytes(run_text([0.6 * t for t in TORQUES]).encode(), "factory.csv")
    more = assess(loaded.engine, loaded.run, default_policy(draws=256), known_good=known)
    over = answers_of(more).over_known
    (sentence,) = in_short.over_known_in_words(more)
    told = in_short.assessment_in_short(more)
    assert sentence in told[:2]
    k = over.worst
    assert f"{over.peak_pressure.p50[k]:.2f} times the peak pressure that factory.csv" in sentence
    for force in (over.rod_compression, over.rod_tension):
        assert f"{force.p50.max():.2f} times its rod " in sentence
    low, high = over.peak_pressure.p05[k], over.peak_pressure.p95[k]
    assert f"({low:.2f} to {high:.2f}, at " in sentence


def test_a_row_is_told_by_what_holds_it(light, loaded):
    """identity: a limit has no say where a step more holds; what is made, where that is less."""
    sketch = answers_of(light).sketch(Wish(policy=light.policy, reach="measured"))
    assert (sketch.spare > light.policy.resolution).all()
    told = np.array(in_short.by_row(light, sketch))
    made = np.interp(sketch.breakpoints, light.speed, light.torque)
    assert set(told[made < sketch.limit - 1]) == {"what it makes"}
    assert set(told) <= {"what it makes", "the shape asked for"}
    sketch = answers_of(loaded).sketch(Wish(policy=loaded.policy, reach="measured"))
    told = np.array(in_short.by_row(loaded, sketch))
    made = np.interp(sketch.breakpoints, loaded.speed, loaded.torque)
    assert (made[told == "what it makes"] < sketch.limit[told == "what it makes"] + 2).all()
    titles = {item.limit.title.lower() for item in loaded.limits.values()}
    assert titles & set(in_short.by_row(loaded, sketch))


def test_where_all_holds_the_table_says_so(light):
    """Contract: no second figure beside the one that was made."""
    made = propose_limit(light, default_policy(draws=256, chance=0.05))
    assert made.verified
    peak = f"{light.torque.max():.0f} N·m"
    assert in_short.answer_in_words(made).startswith(f"All that it made, {peak}")


def test_a_limit_that_is_passed_is_not_called_close(loaded, monkeypatch):
    """identity: beyond those with a sentence, each limit is told of by its own state."""
    kept = in_short.verdicts(loaded)
    states = (State.EXCEEDS,) * 3 + (State.CLOSE,)
    bad = [dataclasses.replace(v, state=s) for v, s in zip(kept, states, strict=False)]
    monkeypatch.setattr(in_short, "verdicts", lambda _: tuple(bad))
    monkeypatch.setattr(in_short, "MOST_SENTENCES", 9)
    told = in_short.assessment_in_short(loaded)
    past, close = (v.item.limit.title for v in bad[2:])
    assert f"Past too: {past}. Close too: {close}." in told


def test_torque_that_no_engine_makes_is_told_first():
    """identity: ten times what it made is a slip of the unit, said before any verdict."""
    assessment = _assessed(run_text([10 * t for t in TORQUES]))
    first = in_short.assessment_in_short(assessment)[0]
    assert first.startswith("Torque above ")
    assert first.endswith("check its unit, and the displacement.")
    doubt = in_short.too_little_known(assessment, propose_limit(assessment))
    assert doubt[-1].endswith("the torque is beyond what the model covers. First check its unit.")


def test_an_owner_asks_for_less_only_where_the_table_gives_less(loaded):
    """identity: a peak rounded down by a step of the table is the peak that was made."""
    made = propose_limit(loaded)
    for more in (0.5, 20.0):
        torque = loaded.torque * (made.peak_torque + more) / loaded.torque.max()
        less = dataclasses.replace(made, assessment=dataclasses.replace(loaded, torque=torque))
        asked = any(q.startswith("Would ") for q in questions(less, (), Units.SI))
        assert asked is (more > made.policy.resolution)
