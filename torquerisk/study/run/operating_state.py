"""At what state the engine ran, speed by speed: logged where logged, else the stated default."""

import enum
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Run
from torquerisk.physics.cylinder import knock
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.run.averaged import averaged
from torquerisk.study.run.crank_reading import crank_reading
from torquerisk.study.run.rated_curve import through_two_points

PUMP_ETHANOL = 0.10
"""Most ethanol by volume that petrol is sold with as such; stronger blends are mixed from it."""
USUAL_VOLUMETRIC_EFFICIENCY = 0.94
"""On manifold density at full load (common practice, no source: 0.85 to 1.05)."""


class PhasingSource(enum.Enum):
    """Where the burn's phasing comes from, in order of trust."""

    GIVEN = "given"
    IGNITION_ADVANCE = "ignition advance"
    EFFICIENCY = "torque, manifold pressure and lambda"
    ASSUMED = "assumed"


@dataclass(frozen=True, kw_only=True, eq=False)
class Operating:
    """State of the engine at the speeds of a grid; None where it was not logged."""

    speed: Array
    """(S,) [rad/s]."""
    lambda_: Array
    """Air-fuel equivalence (S,)."""
    lambda_sd: float
    intake_temperature: Array
    """In the manifold (S,) [K]."""
    intake_temperature_sd: float
    manifold_pressure: Array | None
    """(S,) absolute [Pa]."""
    exhaust_pressure: Array | None
    ca50: Array | None
    """(S,) [rad after firing TDC]."""
    ignition_advance: Array | None
    """(S,) [rad before firing TDC]."""
    peak_pressure: Array | None
    """Measured in the cylinder (S,) [Pa]."""
    ethanol_share: float
    octane: float
    octane_sd: float
    injector_duty: Array | None = None
    """Share of the cycle that the injectors are open (S,) [-]."""
    lambda_logged: bool = False
    run_torque: Array | None = None
    """Crank torque (S,) that the logged channels belong to [N*m]."""
    phased_to: Array | None = None
    """Crank torque (S,) up to which logged phasing is held; past it, it goes later as calibrators
    have it [N*m]. None: it is held at any."""
    known_bmep: Array | None = None
    """BMEP (S,) up to which the engine is known to run as it is set up [Pa]; None: not known."""
    burns_later: Array | None = None
    """By how much CA50 was measured later in this engine than its advance gives by the median burn
    (S,) [rad]; from a run that logged both, for one that logged advance alone."""
    knock_heard: tuple[float, float] | None = None
    """Speeds between which knock was heard in the run, with `SEEN_BESIDE` either side [rad/s]."""
    map_earlier: Array | None = None
    """By how much the map's own ignition is earlier than what was run, where knock control took it
    back (S,) [rad]; None where it nowhere did, or the log has no phasing."""
    lift_seen: Array | None = None
    """Least crank torque (S,) at which a sign of a head that lifts was seen [N*m]: inf at speeds
    where it was not, None where it never was."""
    later: float | Array = 0.0
    """By how much phasing is moved later than where the engine ran [rad], at all speeds or by speed
    (S,), to ask what that does."""

    @property
    def heard_at(self) -> Array:
        """The run's crank torque (S,) where knock was heard in it [N*m]; inf where it was not."""
        if self.knock_heard is None or self.run_torque is None:
            return np.full(len(self.speed), np.inf)
        first, last = self.knock_heard
        there = (first <= self.speed) & (self.speed <= last)
        return np.where(there, self.run_torque, np.inf)

    @property
    def phasing_source(self) -> PhasingSource:
        """The most trusted source of phasing that the channels allow."""
        if self.ca50 is not None:
            return PhasingSource.GIVEN
        if self.ignition_advance is not None:
            return PhasingSource.IGNITION_ADVANCE
        if self.manifold_pressure is not None and self.lambda_logged:
            return PhasingSource.EFFICIENCY
        return PhasingSource.ASSUMED


def octane_counts_more(ethanol_share: float) -> float:
    """Sensitivity [-] of a blend beyond that of pump petrol; 0 up to PUMP_ETHANOL."""
    mole, pump = (
        knock.ethanol_mole_fraction(x) for x in (max(ethanol_share, PUMP_ETHANOL), PUMP_ETHANOL)
    )
    return float(knock.sensitivity_beyond(mole, pump))


def ethanol_share(blend: str) -> float:
    """Ethanol by volume [-] of a blend word such as 'E30'; 0 for diesel."""
    return 0.0 if blend == "diesel" else float(blend.lstrip("Ee")) / 100.0


def operating(
    engine: Engine, run: Run, speed: Array, blend: str, octane: float, octane_sd: float
) -> Operating:
    """State at the grid speeds (S,) from a run's channels and the engine's defaults."""
    charge_t, lam = engine.value("charge.intake_temperature"), engine.value("fuel.lambda_")
    logged_t, logged_l = run.channel("intake_temperature"), run.channel("lambda_")
    t_sd = engine.declaration("charge.intake_temperature").spread_given
    l_sd = engine.declaration("fuel.lambda_").spread_given

    def at(name: str) -> Array | None:
        return run.channel_at(name, speed)

    temperature = at("intake_temperature")
    lambda_ = at("lambda_")
    exhaust = at("exhaust_pressure")
    if exhaust is None and engine.has("charge.exhaust_pressure"):
        exhaust = np.full(len(speed), engine.value("charge.exhaust_pressure").value)
    return Operating(
        speed=speed,
        lambda_=np.full(len(speed), lam.value) if lambda_ is None else lambda_,
        lambda_sd=lam.relative_sd if logged_l is None else l_sd,
        intake_temperature=np.full(len(speed), charge_t.value)
        if temperature is None
        else temperature,
        intake_temperature_sd=charge_t.sd if logged_t is None else t_sd,
        manifold_pressure=at("manifold_pressure"),
        exhaust_pressure=exhaust,
        ca50=at("ca50"),
        ignition_advance=None if engine.compression_ignition else at("ignition_advance"),
        peak_pressure=at("peak_pressure"),
        ethanol_share=ethanol_share(blend),
        octane=octane,
        octane_sd=octane_sd,
        injector_duty=at("injector_duty"),
        lambda_logged=logged_l is not None,
        known_bmep=known_bmep(engine, speed),
    )


def known_bmep(engine: Engine, speed: Array) -> Array | None:
    """BMEP (S,) [Pa] of the known-good and rated curves at speeds [rad/s], that of their ends
    beyond them; the greater where both are given, None without."""
    curve, points = engine.known_good.curve, engine.rated.points
    known = []
    if curve is not None:
        grid = averaged(crank_reading(engine, curve))
        known.append(np.interp(speed, grid.speed, np.maximum(grid.torque, 0.0)))
    if points is not None:
        known.append(np.interp(speed, *through_two_points(*points)))
    if not known:
        return None
    return np.asarray(bmep_from_torque(np.max(known, axis=0), engine.swept_volume_total))
