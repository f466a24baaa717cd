"""Knock that a sensor counted, or did not, narrows the knock threshold."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment

RPM_OF = np.linspace(1800, 5600, 20)
TORQUE = np.full(20, 260.0)


def result(engine: Engine, few: Policy, counts: np.ndarray | None, **more: np.ndarray):
    channels = dict(more) if counts is None else {**more, "knock_count": counts}
    return assess(engine, run_of(RPM_OF, TORQUE, **channels), few)


@pytest.fixture(scope="module")
def told(plain_engine: Engine, few: Policy) -> dict[str, Assessment]:
    """One run without the channel, with many counts, and with none, at a logged CA50."""
    ca50 = np.full(20, np.radians(17))
    many = np.where(RPM_OF < 3500, 2.0, 0.0)
    return {
        name: result(plain_engine, few, counts, ca50=ca50)
        for name, counts in (("none", None), ("counted", many), ("quiet", np.zeros(20)))
    }


def test_counts_lower_the_threshold_and_silence_raises_it(told: dict[str, Assessment]) -> None:
    """Metamorphic: engines that knock at the logged phasing are likelier where knock was counted,
    rarer where it was not; each is told as evidence of its own."""
    middle = {name: a.evidence.knock_threshold[1] for name, a in told.items()}
    assert middle["counted"] < middle["none"] < middle["quiet"]
    chance = {name: float(a.limits["knock"].chance[0]) for name, a in told.items()}
    assert chance["counted"] > chance["none"] > chance["quiet"]
    assert "knock_counted" in told["counted"].evidence.names
    assert "knock_quiet" in told["quiet"].evidence.names
    assert not {"knock_counted", "knock_quiet"} & set(told["none"].evidence.names)
    assert "knock-counts" in {n.code for n in told["counted"].notices}


def test_counts_without_a_known_phasing_prove_nothing(plain_engine: Engine, few: Policy) -> None:
    """Edge: where the phasing is assumed to be at the knock limit, counts say nothing of it."""
    a = result(plain_engine, few, np.full(20, 2.0))
    assert "knock_counted" not in a.evidence.names
