"""How much more a run asks than what the engine is known to carry: its rated or survived curve.

Both are asked of the same simulated engines, so that most of what is not known cancels."""

from dataclasses import dataclass, replace

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment, Band, band
from torquerisk.study.evidence.known_curve import KnownCurve, known_curves
from torquerisk.study.limits import Limit, LimitKind, place_of
from torquerisk.study.limits.running_gear import mean_rod_compression, rod_tension
from torquerisk.study.loads.demand import Demand
from torquerisk.study.strengths.parts import Parts
from torquerisk.study.table.finer_grid import prepared_of

RELATIVE = (LimitKind.STRENGTH, LimitKind.INDEX)


@dataclass(frozen=True, kw_only=True, eq=False)
class OverKnown:
    """Multiples, by speed (S,), of the greatest value on the known curves [-]."""

    curve: str
    """What those curves are, inside a sentence."""
    peak_pressure: Band
    """Of the mean cycle."""
    rod_compression: Band
    rod_tension: Band
    limits: dict[str, Band]
    """Load over strength of each limit of the parts, over its greatest there."""

    @property
    def worst(self) -> int:
        """Index of the speed where peak pressure is the greatest multiple."""
        return int(np.argmax(self.peak_pressure.p50))


def over_known(assessment: Assessment) -> OverKnown | None:
    """What a run asks over what its engine is known to carry; None where nothing is known."""
    curves = known_curves(prepared_of(assessment))
    if not curves:
        return None
    limits = [
        item.limit for item in assessment.limits.values() if item.limit.kind in RELATIVE
    ]  # fmt: skip
    model = assessment.model
    # By the parts' own strength on both: where a head leaked is known of this run's speeds alone.
    own = replace(model.demand, state=replace(model.operating, lift_seen=None))
    here = _asked(limits, own, model.parts, assessment.torque)
    pulls = model.demand.pulls
    there = [_of_curve(limits, curve, model.parts, pulls) for curve in curves]
    over = {
        name: band(_over(values, np.max([one[name].max(axis=0) for one in there], axis=0)))
        for name, values in here.items()
    }
    return OverKnown(
        curve=" or ".join(curve.name for curve in curves),
        peak_pressure=over["peak"], rod_compression=over["push"], rod_tension=over["pull"],
        limits={limit.name: over[limit.name] for limit in limits},
    )  # fmt: skip


def _over(values: Array, most: Array) -> Array:
    """Values (S, N) over the greatest (N,) known; 1 where nothing at all is left in both."""
    both = np.isinf(values) & np.isinf(most)
    with np.errstate(invalid="ignore"):
        return np.where(both, 1.0, values / most)


def _used(load: Array, strength: Array) -> Array:
    """Load over strength; infinite where a part has no strength left, as a stripped thread."""
    with np.errstate(divide="ignore"):
        return np.asarray(load / strength)


def _of_curve(limits: list[Limit], curve: KnownCurve, parts: Parts, pulls: int) -> dict[str, Array]:
    return _asked(limits, curve.loads(parts.draws, pulls), parts, curve.torque)


def _asked(limits: list[Limit], loads: Demand, parts: Parts, torque: Array) -> dict[str, Array]:
    """Pressure, push, pull and what is used of each limit by name (S, N) at torques (S,)."""
    place = place_of(loads.torque, torque)
    return {
        "peak": place.read(loads.peak),
        "push": place.read(mean_rod_compression(loads, parts)),
        "pull": rod_tension(loads, parts),
        **{
            limit.name: _used(
                place.load(limit.load(loads, parts)), np.asarray(limit.strength(loads, parts))
            )
            for limit in limits
        },
    }
