"""The answer in short and what drives it."""

import dataclasses
import re
from types import SimpleNamespace

import numpy as np
import pytest
from cli_case import TORQUES, run_text

from torquerisk import assess, default_policy, propose_limit
from torquerisk.case import Notice
from torquerisk.files.run_file import run_from_bytes
from torquerisk.show.text.tables import assessment_text
from torquerisk.show.words import in_short, prose
from torquerisk.show.words.owner import questions
from torquerisk.show.words.passing import PASSING, passing
from torquerisk.show.words.prose import Units
from torquerisk.show.words.table_in_short import too_little_known
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import ALL_LIMITS, JUDGED, LimitKind, PhasingSource
from torquerisk.study.assessment.result import State
from torquerisk.study.limits.abnormal import ABNORMAL

pytestmark = pytest.mark.slow


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
    verb = "likely to" if first.likely.any() else "may"
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


@pytest.mark.parametrize(
    ("chance", "said", "close"),
    [(0.015, "may lift", True), (0.05, "may lift", False), (0.6, "is likely to lift", False)],
)
def test_only_what_sampling_cannot_tell_is_too_close_to_call(light, chance, said, close):
    """Binomial by hand: of 256 engines 1 % has a standard error of 0.6 %, so 5 % is no close call;
    likely is what half of them do."""
    head = light.limits["head_lift"]
    item = dataclasses.replace(head, chance=np.full_like(head.chance, chance))
    changed = dataclasses.replace(light, limits={**light.limits, "head_lift": item})
    (verdict,) = (v for v in in_short.verdicts(changed) if v.name == "head_lift")
    told = in_short.limit_sentence(changed, verdict)
    assert f"The head {said} " in told
    assert ("too close to call" in told) is close
    assert verdict.state is (State.CLOSE if close else State.EXCEEDS)


def test_a_light_run_holds(light):
    """common practice, no source: where all holds, the limit with least left is named."""
    told = in_short.assessment_in_short(light)
    assert told[0].startswith("It is estimated to hold")
    assert prose.chance_in_words(light.chance_pull, 256) in told[1]


def test_what_torque_does_not_change_is_told_apart(light):
    """common practice, no source: what inertia alone breaks is no answer to how much torque; the
    part named as having least left is the first that more torque breaks, as the ceilings say."""
    first = next(
        c for c in answers_of(light).ceilings.in_order if c.limit.kind is LimitKind.STRENGTH
    )
    told = in_short.limits_in_short(light)[0]
    assert not light.limits[first.limit.name].of_speed
    assert f"least is left in {first.limit.title.lower()}: " in told
    fast = {name for name, item in light.limits.items() if item.of_speed}
    assert {"rod_eye", "rod_cap", "rod_bolts"} <= fast
    assert not {"rod_compression", "head_lift", "octane", "rod_fatigue"} & fast
    text = assessment_text(light)
    assert "Of speed alone, whatever the torque: " in text
    cap = next(v for v in in_short.verdicts(light) if v.name == "rod_cap")
    close = dataclasses.replace(cap, may=np.ones(len(light.speed), dtype=bool))
    assert "and torque does not change that" in in_short.limit_sentence(light, close)


def test_a_run_within_the_error_of_its_ceiling_is_at_it(light):
    """identity: a ceiling below the run where every part keeps the accepted chance."""
    assert in_short.limits_in_short(light)[0].startswith("It is estimated to hold")
    at = dataclasses.replace(light, ceiling=0.99 * light.torque)
    told = in_short.limits_in_short(at)[0]
    assert re.match(
        r"It is at the limit, within the sampling error, by [a-z ]+ at [0-9,]+ rpm; ", told
    )


def test_phasing_that_was_not_measured_is_said(loaded):
    """common practice, no source: unknown phasing is the widest doubt and has its sentence."""
    assert any("not measured" in t and "bar" in t for t in in_short.assessment_in_short(loaded))


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


def test_more_than_the_known_curve_is_told(loaded):
    """identity: the sentence has the multiples of the answers, with their range."""
    assert in_short.over_known_in_words(loaded) == []
    known = run_from_bytes(run_text([0.6 * t for t in TORQUES]).encode(), "factory.csv")
    more = assess(loaded.engine, loaded.run, default_policy(draws=256), known_good=known)
    over = answers_of(more).over_known
    (sentence,) = in_short.over_known_in_words(more)
    told = in_short.assessment_in_short(more)
    assert sentence in told[:4]
    k = over.worst
    assert f"{over.peak_pressure.p50[k]:.2f} times the peak pressure that factory.csv" in sentence
    for force in (over.rod_compression, over.rod_tension):
        assert f"{force.p50.max():.2f} times its rod " in sentence
    low, high = over.peak_pressure.p05[k], over.peak_pressure.p95[k]
    assert f"({low:.2f} to {high:.2f}, at " in sentence


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


def test_torque_that_no_engine_makes_is_told_first(four_times):
    """identity: four times what it made is a slip of the unit, said before any verdict."""
    first = in_short.assessment_in_short(four_times)[0]
    assert first.startswith("Torque above ")
    assert first.endswith("check its unit, and the displacement.")
    doubt = too_little_known(four_times, propose_limit(four_times))
    assert doubt[-1].endswith("the torque is beyond what the model covers. First check its unit.")


def test_an_owner_asks_for_less_only_where_the_table_gives_less(loaded):
    """identity: a peak rounded down by a step of the table is the peak that was made."""
    made = propose_limit(loaded)
    for more in (0.5, 20.0):
        torque = loaded.torque * (made.under.peak_torque + more) / loaded.torque.max()
        less = dataclasses.replace(made, assessment=dataclasses.replace(loaded, torque=torque))
        asked = any(q.startswith("Would ") for q in questions(less, (), Units.SI))
        assert asked is (more > made.policy.resolution)


def test_a_run_that_asks_no_more_says_so_after_its_verdict(light):
    """identity: a run that is its own known-good curve loads no part more than that."""
    same = assess(light.engine, light.run, default_policy(draws=256), known_good=light.run)
    told = in_short.assessment_in_short(same)
    assert told[0].startswith("It is estimated to hold")
    assert "Gas loads its parts no more than on " in told[1]


def test_the_verdict_comes_before_how_much_more_is_asked(loaded, monkeypatch):
    """common practice, no source: whether it holds is what was asked; multiples stand behind."""
    sentence = in_short.limit_sentence(loaded, in_short.verdicts(loaded)[0])
    monkeypatch.setattr(in_short, "over_known_in_words", lambda _: ["It makes 1.5 times."])
    told = in_short.assessment_in_short(loaded)
    assert told.index(sentence) == 0 < told.index("It makes 1.5 times.")


def test_knock_that_a_log_shows_comes_before_any_verdict(light):
    """common practice, no source: knock that was heard stops the next pull, whatever holds."""
    text = "Knock control took ignition back by up to 6.0 degrees; stop. More."
    heard = dataclasses.replace(light, notices=(*light.notices, Notice("knock-retard", text)))
    first = "Knock control took ignition back by up to 6.0 degrees; stop."
    assert in_short.assessment_in_short(heard)[0] == first


def test_knock_at_an_ignition_nobody_knows_is_no_verdict(loaded):
    """common practice, no source: what ignition can do is the fuel's octane; that stays judged."""
    assert loaded.phasing_source is PhasingSource.ASSUMED
    logged = dataclasses.replace(loaded, phasing_source=PhasingSource.IGNITION_ADVANCE)
    without, judged = ({v.name for v in in_short.verdicts(a)} for a in (loaded, logged))
    assert judged - without == {"knock"}
    assert "octane" in without


def test_parts_that_hold_alone_do_not_hold_together_where_the_chance_says_no(light):
    """identity: what no limit passes alone may be passed by one or another more than accepted."""
    more = dataclasses.replace(light, chance_any=light.chance_any + 2 * light.policy.chance)
    alone, together = (in_short.limits_in_short(a)[0] for a in (light, more))
    assert alone.startswith("It is estimated to hold;")
    assert together.startswith("Each part alone is estimated to hold, but one or another gives way")
    assert "more than accepted" in together


def test_ignition_that_was_left_out_of_a_log_is_told_in_short(light):
    """Identity: what flips a verdict stands where the verdict does, in both answers."""
    facts, rows = run_text().partition("engine speed")[::2]
    first, *more = f"engine speed{rows}".splitlines()
    text = "\n".join([f"{facts}{first},Avance xyz [deg]", *(f"{row},12" for row in more)])
    told = "ignition advance ('Avance xyz [deg]')"
    run = run_from_bytes(text.encode(), "run.csv")
    without = dataclasses.replace(light, notices=(*light.notices, *run.notices))
    assert not any(told in line for line in in_short.assessment_in_short(light))
    short = in_short.assessment_in_short(without)
    assert sum(told in line for line in short) == 1
    assert len(short) <= in_short.MOST_SENTENCES


def test_what_is_likely_is_told_before_what_may_be(loaded):
    """Identity: knock in most engines is told first where two strengths are past the accepted
    chance in a few, for two limits alone get a sentence."""
    few = np.full(len(loaded.speed), 0.1)
    limits = {
        name: dataclasses.replace(item, chance=few if item.limit.kind is LimitKind.STRENGTH
                                  else np.full(len(few), 0.8) if name == "knock" else 0 * few)
        for name, item in loaded.limits.items()
    }  # fmt: skip
    known = dataclasses.replace(
        loaded, limits=limits, phasing_source=PhasingSource.IGNITION_ADVANCE
    )
    assert in_short.verdicts(known)[0].name == "knock"
    assert "likely to knock" in in_short.assessment_in_short(known)[0]


@pytest.mark.parametrize(
    ("earlier", "told"), [(0.2, "less than 1 degree"), (0.8, "1 degree"), (2.1, "2 degrees")]
)
def test_a_burn_is_never_told_0_degrees_earlier(light, monkeypatch, earlier, told):
    """Common practice, no source: nobody sets 0 degrees, and one degree is no degrees."""
    quiet = SimpleNamespace(later=[-np.radians(earlier)])
    monkeypatch.setattr(in_short, "answers_of", lambda _: SimpleNamespace(quiet=quiet))
    assert in_short._quiet(light, 0).startswith(f"a burn {told} earlier ")
