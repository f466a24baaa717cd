"""What stops the run first, and what next when that is changed: the ceilings in order."""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.cylinder import knock
from torquerisk.physics.supply.fuel import power_per_flow
from torquerisk.quantities import Array
from torquerisk.study.assessment.alone import alone, carried_speeds
from torquerisk.study.assessment.assess import at_accepted
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle.cylinder import fuel_of
from torquerisk.study.limits import Limit, accepted_of
from torquerisk.study.run.run_on_grid import BASE_OCTANE

FUEL_CEILINGS = ("fuel_pump", "high_pressure_pump", "injectors")
"""Ceilings that another blend moves by its heat per litre."""
BLENDS = (0.0, 0.10, 0.30, 0.50, 0.70, 0.85)
"""Ethanol by volume of the blends that the same pump is asked on [-]."""
EFFICIENCY = 0.3
"""Any brake efficiency: it cancels where two blends are compared at the same lambda."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ceiling:
    """One ceiling: what it alone allows at the speed where the run comes nearest to it."""

    limit: Limit
    speed: float
    """[rad/s]."""
    index: int
    """Of that speed on the grid."""
    torque: float
    """At the accepted chance [N*m]; -inf where speed alone passes it."""
    share: float
    """That torque over the run's there [-]: below 1 the run is past it."""
    rest: float
    """Share of the run that all ceilings after this one allow together, with it and those before
    it lifted [-]; inf where none is left within the model's range."""
    allowed: Array
    """Torque that it allows at every speed (S,) [N*m]; +-inf happens."""
    within_error: bool
    """True where the run is past it only by the sampling error that is taken off the accepted
    chance, which it keeps."""

    @property
    def power(self) -> float:
        """Crank power at that torque and speed [W]."""
        return self.torque * self.speed


@dataclass(frozen=True, kw_only=True)
class OnBlend:
    """What the same fuel pump and injectors feed on another blend, beside that of the case."""

    ethanol: float
    """By volume [-]."""
    power: float
    """Power that they feed over that on the blend of the case, at the same lambda [-]."""
    octane: float
    """Research octane less that of the blend of the case, mixed from one petrol."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ceilings:
    """Every ceiling that bounds torque, first the one that the run meets first when all of it is
    raised by one factor."""

    in_order: tuple[Ceiling, ...]
    beyond: tuple[Limit, ...]
    """Those that the model's range does not reach at any speed."""
    together: float
    """Share of the run that all of them allow together at the accepted chance [-]."""
    blends: tuple[OnBlend, ...]
    """Where a ceiling of fuel stands on it, the same parts on other blends; else empty."""


def ceilings_of(assessment: Assessment) -> Ceilings:
    """The ceilings of an assessed run in order, each alone and what is left once it is lifted.

    Mechanical, of combustion and of supply alike; those of knock at the phasing judged at, which a
    later burn cures, and mere guidance bound no torque. Every one is taken at the accepted chance.
    """
    a, ones = assessment, alone(assessment)
    used = carried_speeds(a, [one.allowed for one in ones])
    torque = a.torque[used]

    def left(capacity: Array) -> float:
        every = np.broadcast_to(capacity, (len(a.speed), a.model.draws.count))
        return float((at_accepted(every[used], a.policy.chance) / torque).min())

    beyond = [one.limit for one in ones if np.isposinf(one.share)]
    least = np.full(a.model.draws.count, np.inf)
    for limit in beyond:
        least = np.minimum(least, a.model.bounding(limit))
    in_order: list[Ceiling] = []
    for one in reversed(ones[: len(ones) - len(beyond)]):
        limit, k = one.limit, one.index
        in_order.append(
            Ceiling(
                limit=limit, speed=float(a.speed[k]), index=k,
                torque=one.share * float(a.torque[k]), share=one.share, rest=left(least),
                allowed=one.allowed,
                within_error=one.share < 1 and a.limits[limit.name].chance[k]
                <= accepted_of(limit.kind, a.policy.chance),
            )
        )  # fmt: skip
        least = np.minimum(least, a.model.bounding(limit))
    spark = not a.engine.compression_ignition
    fuel = spark and any(one.limit.name in FUEL_CEILINGS for one in in_order)
    return Ceilings(
        in_order=tuple(reversed(in_order)),
        beyond=tuple(beyond),
        together=left(least),
        blends=on_blends(a.model.operating.ethanol_share) if fuel else (),
    )


def on_blends(ethanol: float) -> tuple[OnBlend, ...]:
    """What one pump feeds on other blends beside one of this ethanol share, and their octane.

    Power goes with density times heating value. Octane is mixed from one petrol, linear in moles.
    Source: [AFDC] for heats and densities, [BLEND_OCTANE].
    """

    def of(share: float) -> tuple[float, float]:
        fuel = fuel_of(False, share)
        octane = knock.blend_octane(BASE_OCTANE, knock.ethanol_mole_fraction(share))
        heat = power_per_flow(fuel.density, fuel.lower_heating_value, EFFICIENCY)
        return float(heat), float(octane)

    own_heat, own_octane = of(ethanol)
    return tuple(
        OnBlend(ethanol=share, power=heat / own_heat, octane=octane - own_octane)
        for share in BLENDS
        if abs(share - ethanol) > 1e-9
        for heat, octane in (of(share),)
    )
