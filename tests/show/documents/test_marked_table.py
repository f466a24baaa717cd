"""A table that breaks a ceiling is for a test only: marked in name, header and every row."""

import dataclasses

import numpy as np
import pytest

from torquerisk.case import Engine, HeadJoint, Run, default_policy
from torquerisk.files.run_file import read_limit_table
from torquerisk.quantities import RPM
from torquerisk.show.documents.limit_csv import clipboard, limit_csv
from torquerisk.show.documents.marked_table import (
    IN_NAME,
    MARK,
    NOT_JUDGED,
    marked_columns,
    marked_name,
    reasons_of,
    reasons_of_judged,
)
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Proposal, Wish
from torquerisk.study.assessment.assess import assess
from torquerisk.study.table.propose import propose_limit


@pytest.fixture(scope="module")
def proposal() -> Proposal:
    """A table of an invented engine, loosely tightened, with enough engines to prove it."""
    engine = Engine(
        ignition="spark", cylinders=4, bore=0.086, stroke=0.086, rod_length=0.145,
        compression_ratio=9.5,
        head_joint=HeadJoint(
            fasteners=10, thread="M11x1.5", property_class="10.9", tightening="torque",
            tightening_torque=60.0,
        ),
    )  # fmt: skip
    rpm = np.linspace(2000, 5200, 17)
    run = Run(
        speed=rpm * RPM, torque=300 - 60 * ((rpm - 3800) / 1800) ** 2,
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip
    policy = default_policy(draws=512, chance=0.05)
    return propose_limit(assess(engine, run, policy), policy)


@pytest.fixture(scope="module")
def broken(proposal: Proposal) -> Proposal:
    """The same as if the check had failed: its fresh engines judged at half as much torque more."""
    a = proposal.assessment
    run = Run(speed=a.run.speed, torque=1.5 * a.run.torque, facts=a.run.facts)
    fresh = assess(a.engine, run, proposal.policy)
    proof = dataclasses.replace(proposal.proof, holds=False, words="It did not pass.", fresh=fresh)
    return dataclasses.replace(proposal, proof=proof)


def rows_of(csv: str) -> tuple[list[str], list[str]]:
    """Fact lines with the heading, and the lines of the rows."""
    lines = csv.strip().split("\r\n")
    facts = [line for line in lines if line.lstrip('"').startswith("#")]
    return [*facts, lines[len(facts)]], lines[len(facts) + 1 :]


def test_a_proved_table_carries_no_mark(proposal: Proposal) -> None:
    """Contract: nothing of the mark in file, name or clipboard."""
    assert proposal.verified, proposal.proof.words
    assert reasons_of(proposal) == ()
    assert MARK not in limit_csv(proposal)
    assert MARK not in clipboard(proposal)
    assert marked_name("limit.csv", reasons_of(proposal)) == "limit.csv"


def test_a_broken_one_is_marked_in_header_and_every_row(broken: Proposal) -> None:
    """Contract: the mark stands on top with each reason, and ends every row and copied line."""
    head, rows = rows_of(limit_csv(broken))
    assert MARK in head[0]
    for reason in reasons_of(broken):
        assert any(reason[:60] in line for line in head), reason
    assert len(rows) == len(broken.rows)
    assert all(line.endswith(MARK) for line in rows)
    assert all(line.endswith(MARK) for line in clipboard(broken).split("\n"))


def test_reasons_name_the_ceiling_the_place_and_the_chance(broken: Proposal) -> None:
    """Identity: every limit that is passed more often than accepted is named with where."""
    told = " ".join(reasons_of(broken))
    item = broken.fresh.limits["head_lift"]
    assert item.chance.max() > broken.policy.chance
    assert item.limit.title in told
    assert "rpm" in told
    assert f"{item.chance.max():.1%}" in told
    assert "It did not pass." in told


def test_a_marked_file_reads_back_as_the_same_table(broken: Proposal) -> None:
    """Identity: the mark changes no number, so that the file can be judged."""
    speed, limit = read_limit_table(limit_csv(broken).encode(), "limit.TEST-ONLY.csv")
    assert speed == pytest.approx([row.speed for row in broken.rows], abs=0.51 * RPM)
    assert limit == pytest.approx([row.limit for row in broken.rows], abs=1e-3)


@pytest.mark.parametrize(
    ("name", "marked"),
    [
        ("limit.csv", "limit.TEST-ONLY.csv"),
        ("some/where/limit.v2.csv", "some/where/limit.v2.TEST-ONLY.csv"),
        ("limit", "limit.TEST-ONLY"),
        ("limit.TEST-ONLY.csv", "limit.TEST-ONLY.csv"),
    ],
)
def test_the_name_is_marked_once(name: str, marked: str) -> None:
    """Edge: before the ending, whatever the path, and once."""
    assert marked_name(name, NOT_JUDGED) == marked
    assert IN_NAME in marked


def test_an_own_table_is_marked_where_it_breaks_a_ceiling(proposal: Proposal) -> None:
    """Metamorphic: the proved table as one's own holds; raised by half, or beyond the run, not."""
    a = proposal.assessment
    wish = Wish(policy=proposal.policy, reach="measured")
    points = tuple(float(row.speed) for row in proposal.rows)

    def reasons(limit: np.ndarray, at: tuple[float, ...] = points) -> tuple[str, ...]:
        return reasons_of_judged(answers_of(a).judged(at, tuple(limit.tolist()), wish))

    low = np.array([row.limit for row in proposal.rows])
    assert reasons(0.8 * low) == ()
    high = reasons(1.5 * low)
    assert "is passed" in high[0]
    assert "N*m" in high[0]
    beyond = reasons(0.8 * low, (*points[:-1], points[-1] * 1.2))
    assert any("outside the measured run" in text for text in beyond)


def test_columns_without_reasons_are_as_they_were() -> None:
    """Edge: no reason, no column."""
    assert marked_columns([], ()) == []
