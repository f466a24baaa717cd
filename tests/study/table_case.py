"""Assessed runs and proposals of the invented four, made once for the tests of tables."""

from functools import cache

import numpy as np
from small_case import DRAWS, SPEED, assessed, hump

from torquerisk.case import Policy, default_policy
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.table.propose import Proposal, propose_limit

CA50 = np.radians(18.0)
ADVANCE = np.radians(12.0)


def careful(**changes: float | int | str | bool | None) -> Policy:
    """Five per cent accepted, eight rows: a dozen of 256 engines make up the chance."""
    return default_policy(**{"draws": DRAWS, "chance": 0.05, "points": 8, **changes})


@cache
def with_ca50() -> Assessment:
    """CA50 and manifold pressure logged."""
    flat = np.ones(len(SPEED))
    return assessed(hump(300.0), {"ca50": CA50 * flat, "manifold_pressure": 1.9e5 * flat})


@cache
def with_advance() -> Assessment:
    """Ignition advance logged."""
    return assessed(hump(325.0), {"ignition_advance": np.full(len(SPEED), ADVANCE)})


@cache
def without_phasing() -> Assessment:
    """Nothing logged of phasing."""
    return assessed(hump(300.0))


@cache
def proposal_ca50() -> Proposal:
    """The table of the run with CA50."""
    return propose_limit(with_ca50(), careful())


@cache
def proposal_advance() -> Proposal:
    """The table of the run with ignition advance."""
    return propose_limit(with_advance(), careful())
