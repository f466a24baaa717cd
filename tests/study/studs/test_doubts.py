"""common practice, no source: what comes before a verdict, what stands beside it, and why."""

import dataclasses
import re

import numpy as np
import pytest
from stud_cases import TARGET, bench_of, known, unknown, with_engine

from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.strengths.fastener import gasket_compliance
from torquerisk.study.studs.bench import StudBench, stud_bench
from torquerisk.study.studs.fastening import Change
from torquerisk.study.studs.findings import angle_instead, first_sure
from torquerisk.study.studs.results import PAST_YIELD_TAKEN, StudChoice
from torquerisk.study.studs.said import MUCH_INTO_GASKET, named

pytestmark = pytest.mark.slow


def _with_evidence(assessment: Assessment, **changed: int | str) -> Assessment:
    evidence = dataclasses.replace(assessment.evidence, **changed)
    return dataclasses.replace(assessment, evidence=evidence)


@pytest.mark.parametrize(
    ("told", "named"),
    [({"tightening_torque": 11.0}, "tightening_torque"), ({"measured_stretch": 3e-5}, "measured")],
)
def test_a_tightening_ten_times_too_low_is_told_first(told, named):
    """Common practice, no source: no head is tightened to less than a fifth of yield."""
    engine = unknown().engine.with_values({f"head_joint.{k}": v for k, v in told.items()})
    first = stud_bench(with_engine(unknown(), engine), 300.0).findings[0]
    assert named in first
    assert "in another unit, or ten times too low" in first
    assert not any("ten times too low" in text for text in bench_of().findings)


def test_where_next_to_no_engine_agrees_no_verdict_comes_first():
    """Identity: the condition of `limit`, and what to check, before any verdict."""
    strained = _with_evidence(known(), agreed=1, tried=32768, strained="the data sheet's torque")
    first = stud_bench(strained, TARGET).findings[0]
    assert first.startswith("Too little is known for a verdict to act on: only 1 of 32,768 ")
    assert first.endswith("First check the data sheet's torque.")
    assert bench_of().findings[0].startswith("As it stands")


def test_few_independent_engines_are_the_reason_where_nothing_fails():
    """Identity: too close to call with no failure says for want of what; no sentence is broken."""
    few = stud_bench(_with_evidence(known(), kept=20), 300.0)
    assert few.present.close
    assert max(few.present.chances.values()) == 0
    assert "nothing fails, but they are worth only 20 independent sim" in few.findings[0]
    for bench in (few, stud_bench(_with_evidence(known(), kept=20), TARGET)):
        assert not any(re.search(r"[:;]\s+simulated", text) for text in bench.findings)


def _close(assessment: Assessment) -> StudBench:
    held = bench_of(None).present.torque_held
    benches = (stud_bench(assessment, factor * held) for factor in np.arange(1.0, 1.3, 0.02))
    return next(bench for bench in benches if bench.present.close)


def test_beside_what_is_too_close_to_call_stands_what_lasts():
    """Identity: the mildest change that is sure to last is named, and that the present does not."""
    bench = _close(known())
    sure = [c for c in bench.choices if c.holds_aged and not c.close]
    (told,) = (text for text in bench.findings if text.startswith("The mildest change that lasts"))
    assert first_sure(sure).fastening.name in told
    fades = bench.present.lift_chance_aged > bench.ask.accepted + bench.ask.sampling
    assert ("It does not last" in bench.findings[0]) is fades
    assert ("Change nothing" in bench.findings[0]) is not fades


def _pair() -> tuple[StudBench, StudChoice, StudChoice]:
    """The present fasteners anew by torque and by angle."""
    bench = stud_bench(unknown(), TARGET)
    same = [c for c in bench.choices if c.fastening.change is Change.TIGHTENING]
    angled = next(c for c in same if c.fastening.method is TighteningMethod.ANGLE)
    return bench, bench.present, angled


def test_an_angle_that_gives_less_says_why_it_lifts_less():
    """Identity: less preload and fewer lifts go together only for a reason, which is told."""
    bench, torque, angle = _pair()
    plain = angle_instead(bench.ask, torque, [angle])
    more = angle.preload.p50 / torque.preload.p50 - 1
    assert f"the same fasteners get {more:.0%} more preload, and the head lifts" in plain
    assert " for " not in plain
    tight = dataclasses.replace(torque.preload, p50=1.1 * angle.preload.p50)
    less = angle_instead(bench.ask, dataclasses.replace(torque, preload=tight), [angle])
    assert "get 9% less preload, and still the head lifts" in less
    need = angle.head.preload_required(bench.ask.worst[bench.ask.worst_speed])
    order = np.argsort(need)
    weak = dataclasses.replace(angle.head, preload=np.sort(angle.head.preload)[np.argsort(order)])
    bound = angle_instead(
        bench.ask, dataclasses.replace(torque, preload=tight),
        [dataclasses.replace(angle, head=weak)],
    )  # fmt: skip
    assert "for by angle a stiff ring, which needs the most clamp, gets the most" in bound


def test_a_turn_that_goes_into_the_gasket_is_told_and_not_preferred():
    """Hooke: springs in a row share a turn by their compliance; a composition gasket is soft."""
    _, torque, angle = _pair()
    soft = gasket_compliance(angle.engine, angle.draws)
    whole = angle.head.fastener_compliance + angle.head.member_compliance
    assert angle.into_gasket == pytest.approx(np.median(soft / whole))
    assert torque.into_gasket == 0
    again = dataclasses.replace(torque, fastening=angle.fastening, close=False)
    into = dataclasses.replace(angle, close=False, into_gasket=MUCH_INTO_GASKET)
    assert first_sure([into, again]) is again
    into = dataclasses.replace(into, into_gasket=0.99 * MUCH_INTO_GASKET)
    assert first_sure([into, again]) is into
    loose = {
        "head_joint.tightening": "angle",
        "head_joint.tightening_torque": 40.0,
        "head_joint.tightening_angle": np.radians(90),
        "head_joint.ring_stiffness": 8e7,
    }
    bench = stud_bench(with_engine(unknown(), unknown().engine.with_values(loose)), 200.0)
    share = bench.present.into_gasket
    assert share > MUCH_INTO_GASKET
    assert bench.present.holds
    assert f"About {share:.0%} of its turn goes into the gasket" in bench.findings[0]


def test_naming_the_oil_of_a_makers_torque_turns_no_verdict():
    """VDI 2230 Table A5, from memory: class B, 0.08 to 0.16, holds oil and what is more slippery.

    A torque whose fasteners serve again with engine oil serves again where nobody named the oil.
    """
    torque = {"head_joint.tightening_torque": 124.0, "head_joint.thread_friction": None}
    oiled = {**torque, "head_joint.lubricant": "engine oil"}
    unnamed, named = (
        stud_bench(with_engine(unknown(), unknown().engine.with_values(told)), 300.0).present
        for told in (torque, oiled)
    )
    slippery = float(np.mean(unnamed.head.assembly_utilisation >= 1 - 1e-9))
    assert slippery > PAST_YIELD_TAKEN > unnamed.past_yield
    assert not unnamed.used_once
    assert not named.used_once


def test_who_has_no_tool_that_senses_yield_is_told_what_else_holds():
    """Common practice, no source: few have the tool; a fastening named by yield has another beside.

    What serves once on purpose is not counted out, but told with how far it goes where it does.
    """
    bench = next(
        bench
        for bench in (stud_bench(unknown(), float(target)) for target in range(380, 620, 20))
        if bench.mildest and bench.mildest.fastening.method is TighteningMethod.YIELD
    )
    other = bench.without_yield_tool
    told = " ".join(bench.findings)
    assert "Tightening to yield needs a tool that senses it" in told
    assert other is None or named(other.fastening) in told
    assert "Its fasteners serve once." in told
