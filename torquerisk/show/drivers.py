"""Which inputs make a capacity uncertain: shares of its spread, first order, by rank."""

from dataclasses import dataclass

from scipy.stats import rankdata

from torquerisk.study import spreads
from torquerisk.study.assessment import Assessment
from torquerisk.study.operating import PhasingSource

LEAST_SHARE = 0.15
"""Below this share of the spread no single input is named as its main cause."""


@dataclass(frozen=True, kw_only=True)
class Driver:
    """One uncertain input and the share of the spread that follows it."""

    name: str
    label: str
    share: float
    """Squared rank correlation with the capacity torque [-]."""
    given: bool
    """False where a default stands in for it."""


def drivers(assessment: Assessment, limit: str, index: int) -> tuple[Driver, ...]:
    """What makes the capacity torque of a limit uncertain at a speed, greatest share first.

    The share is the squared rank correlation of each drawn input with the capacity torque over the
    simulated engines: first order, and apart only where the draws are independent (evidence ties
    them together a little). Empty where the capacity does not vary.
    Ranks stand for values because a capacity may be infinite.
    """
    ranks = rankdata(assessment.model.capacities[limit][index])
    ranks = ranks - ranks.mean()
    if not ranks.any():
        return ()
    found = []
    for name, deviates in assessment.model.draws.deviates.items():
        if name == spreads.ACCEPTANCE.name:
            continue
        other = rankdata(deviates)
        other = other - other.mean()
        share = float((ranks @ other) ** 2 / ((ranks @ ranks) * (other @ other)))
        label, given = _told(assessment, name)
        found.append(Driver(name=name, label=label, share=share, given=given))
    return tuple(sorted(found, key=lambda d: -d.share))


def _told(assessment: Assessment, name: str) -> tuple[str, bool]:
    """Label of a drawn input, and whether it was given."""
    engine = assessment.engine
    if name == "model.phasing":
        return "phasing", assessment.phasing_source is PhasingSource.GIVEN
    spread = next((s for s in spreads.MODEL_SPREADS if s.name == name), None)
    if spread is not None:
        return spread.label, True
    label = engine.declaration(name).label
    return label[0].lower() + label[1:], engine.has(name)
