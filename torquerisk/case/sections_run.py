"""The sections on runs: how one was measured, and a curve that was survived."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from torquerisk.case.declare import YES_NO, Kind, declared
from torquerisk.case.shared_defaults import PRACTICE, by_ignition
from torquerisk.quantities import RPM

if TYPE_CHECKING:
    from torquerisk.case.run import Run


@dataclass(frozen=True, kw_only=True)
class TestFacts:
    """How the run was measured."""

    __test__ = False

    correction: str | None = declared(
        "Correction standard applied by the dyno",
        default="unknown",
        options=("none", "J1349", "ISO1585", "DIN70020", "J607", "unknown"),
        reason="a run that does not say may be corrected or not: the band is widened",
    )
    correction_factor: float | None = declared(
        "Correction factor that the dyno applied", Kind.NUMBER.within(0.8, 1.35)
    )
    measured_at: str | None = declared(
        "Where torque was measured",
        default="crank",
        options=("crank", "hub", "wheel"),
        reason="taken as crank torque unless said otherwise",
    )
    referred_to: str | None = declared(
        "Speed that torque at hub or wheel is referred to",
        default="engine",
        options=("engine", "wheel"),
        reason=f"most roller and hub dynos print torque at engine speed {PRACTICE}",
        help="'wheel' where it is as the wheel feels it, so many times larger by the gear",
    )
    gear_ratio: float | None = declared(
        "Gear of the run, turns of its input for one of its output", Kind.NUMBER.within(0.2, 40.0)
    )
    final_drive: float | None = declared(
        "Final drive, turns of its input for one of the wheel", Kind.NUMBER.within(0.5, 20.0)
    )
    tyre_radius: float | None = declared(
        "Rolling radius of the driven tyre",
        Kind.LENGTH.within(0.05, 1.2),
        help="circumference over 6.283; needed where a run has road speed alone",
    )
    dyno_kind: str | None = declared(
        "How the dyno loaded the engine",
        options=("steady", "retarder", "inertia"),
        help="steady: each speed held; retarder: a brake let speed rise; inertia: a mass was spun",
    )
    driveline_loss: float | None = declared(
        "Driveline loss, share of crank torque",
        Kind.SHARE.within(0.0, 0.4),
        default=lambda e: {"crank": 0.0, "hub": 0.12, "wheel": 0.15}[e.word("test.measured_at")],
        spread=(0.015, 0.03),
        absolute=True,
        reason=f"10 to 20 % between crank and wheel {PRACTICE}",
    )
    ambient_pressure: float | None = declared(
        "Ambient pressure",
        Kind.PRESSURE.within(5e4, 1.1e5),
        default=101325.0,
        spread=(0.0, 0.02),
        reason="sea level",
    )
    ambient_temperature: float | None = declared(
        "Ambient temperature",
        Kind.TEMPERATURE.within(243.15, 328.15),
        default=298.15,
        spread=(0.0, 8.0),
        absolute=True,
        reason="25 °C",
    )
    humidity: float | None = declared(
        "Relative humidity",
        Kind.SHARE.within(0.0, 1.0),
        default=0.40,
        spread=(0.0, 0.15),
        absolute=True,
        reason="temperate indoor air",
    )
    sweep_rate: float | None = declared(
        "Sweep rate",
        Kind.SPEED_RATE.within(0.0, 400.0),
        spread=(0.05, 0.0),
        help="how fast the engine gained speed; 0 for steady points",
    )
    inertia: float | None = declared(
        "Rotating inertia upstream of the torque sensor, at the crank",
        Kind.INERTIA.within(0.0, 5.0),
        spread=(0.10, 0.0),
    )
    torque_error: float | None = declared(
        "Calibration error of the dyno",
        Kind.SHARE.within(0.0, 0.2),
        default=0.02,
        reason=f"1 to 3 % between dynos {PRACTICE}",
    )


@dataclass(frozen=True, kw_only=True)
class Rated:
    """What a data sheet says of the engine as it is sold: its two points, and their fuel."""

    torque: float | None = declared(
        "Rated torque",
        Kind.TORQUE.within(1.0, 10000.0),
        help="of the data sheet, with torque_speed, power and power_speed: the engine as sold "
        "carries that with the margin that makers leave",
    )
    torque_speed: float | None = declared(
        "Speed of rated torque",
        Kind.SPEED.within(700 * RPM, 16000 * RPM),
        help="the highest one where the data sheet gives a range",
    )
    torque_from: float | None = declared(
        "Rated torque from",
        Kind.SPEED.within(700 * RPM, 16000 * RPM),
        help="its lowest speed, where the data sheet gives a range",
    )
    power: float | None = declared("Rated power", Kind.POWER.within(500.0, 2e6))
    power_speed: float | None = declared(
        "Speed of rated power",
        Kind.SPEED.within(700 * RPM, 16000 * RPM),
        help="the highest one where the data sheet gives a range",
    )
    rev_limit: float | None = declared(
        "Rev limit as sold",
        Kind.SPEED.within(700 * RPM, 17500 * RPM),
        help="highest speed that the maker lets it run to; 1.08 times that of rated power, or 1.15 "
        "with boost on petrol, if left out",
    )
    blend: str | None = declared(
        "Fuel blend that the engine is rated on",
        default=by_ignition("E5", "diesel"),
        reason="what is sold at the pump",
    )
    octane: float | None = declared(
        "Research octane that the engine is rated on", Kind.NUMBER.within(80.0, 125.0)
    )
    boosted: str | None = declared(
        "Sold with boost",
        options=YES_NO,
        help="false where a turbocharger or compressor was added to an engine sold without: its "
        "parts were made for less",
    )

    @property
    def points(self) -> tuple[float, float, float, float] | None:
        """Torque [N*m], its speed [rad/s], power [W] and its speed; None where none is given."""
        found = (self.torque, self.torque_speed, self.power, self.power_speed)
        known = [value for value in found if value is not None]
        return (known[0], known[1], known[2], known[3]) if len(known) == len(found) else None


@dataclass(frozen=True, kw_only=True)
class KnownGood:
    """A curve that the engine has survived many times."""

    run: str | None = declared("Known-good run file")
    blend: str | None = declared("Fuel blend of the known-good run")
    octane: float | None = declared(
        "Research octane of the known-good run", Kind.NUMBER.within(80.0, 125.0)
    )
    curve: Run | None = None
    """The run itself, once read."""


PULLS_A_YEAR = 250
"""Pulls at full load that a year stands for (stated choice: one on each working day)."""


@dataclass(frozen=True, kw_only=True)
class Rung:
    """A curve that the engine was driven at, how often, and what was seen: `[[survived]]`."""

    run: str | None = declared("Run file of a survived rung")
    pulls: int | None = declared(
        "Pulls at that curve", Kind.COUNT.within(1, 100_000), help="1 unless given; or give years"
    )
    years: float | None = declared(
        "Years at that curve", Kind.NUMBER.within(0.01, 50.0), help=f"{PULLS_A_YEAR} pulls each"
    )
    seen: str | None = declared(
        "What was seen in those pulls",
        default="nothing",
        options=("nothing", "coolant pressure", "knock", "noise"),
        reason="what nobody reports was not seen",
    )
    calibration: str | None = declared(
        "Calibration of those pulls",
        default="this",
        options=("this", "another"),
        reason="the tune that the run was made on",
    )
    blend: str | None = declared("Fuel blend of those pulls")
    octane: float | None = declared(
        "Research octane of those pulls", Kind.NUMBER.within(80.0, 125.0)
    )
    curve: Run | None = None
    """The run itself, once read."""

    @property
    def count(self) -> int:
        """Number of pulls."""
        if self.years is not None:
            return max(round(self.years * PULLS_A_YEAR), 1)
        return self.pulls or 1

    @property
    def sign(self) -> str:
        """What was seen."""
        return self.seen or "nothing"
