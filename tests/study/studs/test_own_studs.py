"""Studs that somebody has in mind, judged at the bench's curve."""

from dataclasses import replace

import pytest
from stud_cases import bench_of

from torquerisk.errors import InputError
from torquerisk.study.studs.fastening import Change
from torquerisk.study.studs.lubricants import OWN
from torquerisk.study.studs.own_studs import STRENGTHS, OwnStuds, own_studs

pytestmark = pytest.mark.slow


def _like(choice) -> OwnStuds:
    """A choice of the bench as somebody would enter it."""
    made = choice.fastening
    by_yield = {v[0]: k for k, v in STRENGTHS.items() if v is not None}
    strength = by_yield.get(made.strength.yield_strength, made.class_word)
    return OwnStuds(
        thread=made.thread.designation, strength=strength, lubricant="own", method=made.method
    )


def test_a_choice_of_the_bench_entered_by_hand_does_the_same():
    """identity: where nothing was spared for the block, the same fastening gives the same."""
    made = bench_of()
    compared = 0
    for choice in made.choices:
        if choice.fastening.spared or choice.fastening.class_word not in (*STRENGTHS, "special"):
            continue
        own = own_studs(made, _like(choice))
        if own.fastening.tightening_torque != choice.fastening.tightening_torque:
            continue  # the bench keeps to the torque that was there before
        assert own.clamp.p50 == pytest.approx(choice.clamp.p50, rel=1e-9)
        assert own.torque_held == pytest.approx(choice.torque_held, rel=1e-9)
        compared += 1
        if compared == 3:
            break
    assert compared >= 2


def test_less_torque_clamps_less():
    """metamorphic: half the usual torque gives about half the clamp when tightened."""
    made = bench_of()
    own = _like(next(c for c in made.choices if c.fastening.method.value == "torque"))
    full = own_studs(made, own)
    half = own_studs(made, replace(own, torque=full.fastening.tightening_torque / 2))
    assert half.preload.p50 == pytest.approx(full.preload.p50 / 2, rel=0.06)
    assert half.torque_held < full.torque_held


def test_a_thread_that_is_none_is_refused():
    """identity: one sentence that names it."""
    own = _like(bench_of().choices[0])
    with pytest.raises(InputError, match="M11y7"):
        own_studs(bench_of(), replace(own, thread="M11y7"))


def test_a_thread_that_does_not_fill_the_inserts_hole_is_refused():
    """DIN 8140 by hand: an insert for M12x1.75 stands in a thread of 12 + 1.299 1.75 = 14.3 mm."""
    made = bench_of()
    engine = made.assessment.engine.with_values({"head_joint.thread_insert": "true"})
    inserted = replace(made, assessment=replace(made.assessment, engine=engine))
    own = _like(made.choices[0])
    with pytest.raises(InputError, match=r"insert for M12x1.75, which is 14.3 mm wide"):
        own_studs(inserted, replace(own, thread="M14x2"))
    assert own_studs(inserted, replace(own, thread="M16x2")).preload.p50 > 0


@pytest.mark.parametrize("thread", ["M10x1.5", "M12x1.25", "1/2-13"])
def test_a_thread_that_cannot_be_cut_in_the_holes_is_refused(thread):
    """ISO 724 by hand: a hole of M12x1.75 is 12 mm across its thread; 1/2-13 bores to 10.6 mm.

    Of its height of 2.1 mm the old thread would leave 1.4, two thirds.
    """
    own = _like(bench_of().choices[0])
    with pytest.raises(InputError, match=rf"{thread} cannot be cut in the holes of M12x1.75"):
        own_studs(bench_of(), replace(own, thread=thread))


def test_the_fitted_ones_are_not_called_others():
    """Identity: named by its class or as fitted, the same bolt is the same, tightened anew."""
    made = bench_of().present.fastening
    fitted, named = (
        own_studs(
            bench_of(),
            OwnStuds(thread=made.thread.designation, strength=strength, lubricant="own",
                     method=made.method, torque=90.0),
        )
        for strength in (OWN, made.class_word)
    )  # fmt: skip
    assert fitted.fastening.change is named.fastening.change is Change.TIGHTENING
    assert fitted.torque_held == named.torque_held > 0


@pytest.mark.parametrize(("thread", "words"), [("M12x1.75", "same holes"), ("M14x2", "drill out")])
def test_weaker_fasteners_are_not_called_stronger(thread, words):
    """identity: 8.8 is weaker than 10.9, in whatever holes."""
    own = own_studs(
        bench_of(), replace(_like(bench_of().choices[0]), thread=thread, strength="8.8")
    )
    assert words in own.fastening.change.words
    assert "stronger" not in own.fastening.change.words
