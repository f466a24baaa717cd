"""One set of answers per assessment, each worked out once for all who ask."""

import dataclasses
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from small_case import assessed, hump

from torquerisk.study.answers import answers as module
from torquerisk.study.answers.answers import Answers, answers_of
from torquerisk.study.answers.results import Wish


@pytest.fixture(scope="module")
def run():
    return assessed(hump(300.0))


def test_one_set_lives_with_its_assessment(run):
    """Identity: the same assessment has the same answers, a copy of it has its own."""
    assert answers_of(run) is answers_of(run)
    assert answers_of(dataclasses.replace(run)) is not answers_of(run)


def test_many_askers_at_once_are_given_one_result(run, monkeypatch):
    """Identity: eight threads that ask together wait for one making and share what it made."""
    made = []
    together = threading.Barrier(8)

    def slow(assessment: object) -> object:
        made.append(assessment)
        return object()

    monkeypatch.setattr(module, "gear_loads", slow)
    answers = Answers(run)

    def ask(_: int) -> object:
        together.wait()
        return answers.gear

    with ThreadPoolExecutor(8) as pool:
        found = set(pool.map(ask, range(8)))
    assert len(found) == 1
    assert made == [run]


def test_an_error_is_not_kept(run, monkeypatch):
    """Metamorphic: what failed once is tried again, and then found."""
    outcomes = iter([ValueError("once"), "found"])

    def fails_first(_: object) -> str:
        outcome = next(outcomes)
        if isinstance(outcome, Exception):
            raise outcome
        return outcome

    monkeypatch.setattr(module, "sensitivity", fails_first)
    answers = Answers(run)
    with pytest.raises(ValueError, match="once"):
        answers.sensitivity  # noqa: B018
    assert answers.sensitivity == "found"


def test_another_chance_moves_only_what_depends_on_it(run):
    """Metamorphic: at a greater accepted chance the ceiling is no lower; loads are the same ones,
    and the chance it was made with leads back to the answers one started from."""
    first = answers_of(run)
    other = first.at(0.2)
    assert first.at(0.2) is other
    assert first.at(run.policy.chance) is first
    assert other.gear is first.gear
    assert (other.assessment.ceiling >= run.ceiling).all()
    assert other.assessment.policy == dataclasses.replace(run.policy, chance=0.2)
    assert answers_of(other.assessment) is other


def test_equal_wishes_share_a_sketch(run):
    """Identity: a wish is known by what it asks, not by the object that holds it."""
    answers = answers_of(run)
    one, two = (answers.sketch(Wish(policy=run.policy, reach="measured")) for _ in range(2))
    assert one is two
    assert answers.sketch(Wish(policy=run.policy, reach="open")) is not one
