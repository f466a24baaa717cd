"""Identity: the bench names the other ceiling that `ceilings_of` has, where it is lower."""

import dataclasses

import pytest
from stud_cases import bench_of, known

from torquerisk.show.documents.studs import studs_document
from torquerisk.study.answers.ceilings import ceilings_of
from torquerisk.study.assessment.alone import alone
from torquerisk.study.studs.other_part import OF_THE_HEAD, other_part

pytestmark = pytest.mark.slow


def first_other():
    """The first ceiling of the run that is not of the head joint, by the table of ceilings."""
    return next(c for c in ceilings_of(known()).in_order if c.limit.name not in OF_THE_HEAD)


def test_the_other_part_is_the_one_of_the_table_of_ceilings():
    """Identity: what `limit` tables as the first ceiling beside the head, to the same torque."""
    found, first = bench_of(860.0).other_part, first_other()
    assert (found.limit, found.speed) == (first.limit, first.speed)
    assert found.torque == pytest.approx(first.torque)
    assert found.asked == pytest.approx(first.torque / first.share * 860.0 / known().torque.max())


def test_it_is_told_after_the_verdict_and_in_the_document():
    """common practice, no source: nobody sets up an engine by its head alone."""
    bench = bench_of(860.0)
    assert bench.findings[1] == bench.other_part.words
    assert bench.findings[1].startswith("However the head is held, rod in compression allows")
    assert studs_document(bench)["other_part"]["torque_n_m"] == bench.other_part.torque


def test_nothing_is_told_below_that_ceiling():
    """Identity: a curve that the other part carries is decided by the head alone."""
    below = 0.99 * first_other().share * known().torque.max()
    bench = bench_of(below)
    assert bench.other_part is None
    assert studs_document(bench)["other_part"] is None
    assert not any(" are asked." in text for text in bench.findings)


def test_the_head_does_not_decide_where_it_holds_more():
    """Metamorphic: a head whose own ceilings lie above the other part's is not what decides."""
    bench, a = bench_of(860.0), known()
    high = {name: limit for name, limit in a.limits.items() if name not in OF_THE_HEAD}
    without = dataclasses.replace(a, limits=high)
    found = other_part(without, bench.ask, bench.present, bench.choices)
    assert found.words.startswith("The head is not what decides: ")


def test_nothing_is_told_where_no_fastening_holds_as_much():
    """Metamorphic: with the head the least of all, whatever is fitted, it decides."""
    bench = bench_of(860.0)
    weak = dataclasses.replace(bench.present, torque_held=0.5 * bench.other_part.torque)
    assert other_part(known(), bench.ask, weak, ()) is None


def test_a_part_that_speed_alone_passes_is_none_of_torque(monkeypatch):
    """Identity: no torque is a ceiling of -inf, which no torque mends; the next one is told."""
    first = next(x for x in alone(known()) if x.limit.name not in OF_THE_HEAD)
    passed = dataclasses.replace(first, share=float("-inf"))
    bench = bench_of(860.0)
    for ones, told in (((passed,), None), ((passed, first), first.share)):
        monkeypatch.setattr("torquerisk.study.studs.other_part.alone", lambda _, ones=ones: ones)
        found = other_part(known(), bench.ask, bench.present, bench.choices)
        if told is None:
            assert found is None
        else:
            assert found.torque == pytest.approx(told * known().torque[first.index])
