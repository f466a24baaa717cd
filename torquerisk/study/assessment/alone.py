"""What each ceiling alone allows of a run, at the speed where the run comes nearest to it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import BINDING, at_accepted
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import Limit

LEAST_TORQUE_SHARE = 0.1
"""Share of peak torque below which a speed of the run tells of no ceiling [-]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Alone:
    """One ceiling, at the accepted chance."""

    limit: Limit
    index: int
    """Of the speed where the run comes nearest to it."""
    share: float
    """What it allows there over the run [-]: -inf where speed alone passes it, inf where the
    model's range does not reach it at any speed."""
    allowed: Array
    """Torque that it allows at every speed (S,) [N*m]; +-inf happens."""


def carried_speeds(assessment: Assessment, allowed: Sequence[Array]) -> npt.NDArray[np.intp]:
    """Indices of the speeds that tell of ceilings, by what each allows (S,) [N*m].

    Left out are speeds at which only several of them together leave no torque: there is none to
    raise by lifting one.
    """
    a = assessment
    enough = a.torque >= LEAST_TORQUE_SHARE * a.torque.max()
    none_alone = np.isneginf(allowed).any(axis=0)
    carried = enough & (~np.isneginf(a.ceiling) | none_alone)
    return np.flatnonzero(carried if carried.any() else enough)


def alone(assessment: Assessment) -> tuple[Alone, ...]:
    """Every ceiling that bounds torque, first the one that the run meets first.

    Of several that leave no torque at all, first the one that most engines pass.
    """
    a, by_name = assessment, _allowed(assessment)
    used, found = carried_speeds(a, list(by_name.values())), []
    for name, allowed in by_name.items():
        over = allowed[used] / a.torque[used]
        k = int(np.argmin(over))
        found.append(
            Alone(
                limit=a.limits[name].limit, index=int(used[k]), share=float(over[k]),
                allowed=allowed,
            )
        )  # fmt: skip

    def met(one: Alone) -> tuple[float, float]:
        chance = float(a.limits[one.limit.name].chance.max())
        return one.share, 0.0 if np.isposinf(one.share) else -chance

    return tuple(sorted(found, key=met))


def _allowed(a: Assessment) -> dict[str, Array]:
    """Torque at the accepted chance by ceiling (S,) [N*m]."""
    return {
        name: at_accepted(a.model.bounding(item.limit), a.policy.chance)
        for name, item in a.limits.items()
        if item.limit.kind in BINDING
    }
