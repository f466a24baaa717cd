"""The sections on runs: how one was measured, and a curve that was survived."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from torquerisk.case.declare import Kind, declared
from torquerisk.case.shared_defaults import PRACTICE, by_ignition
from torquerisk.quantities import RPM

if TYPE_CHECKING:
    from torquerisk.case.run import Run


@dataclass(frozen=True, kw_only=True)
class TestFacts:
    """How the run was measured."""

    __test__ = False

    correction: str | None = declared(
        label="Correction standard applied by the dyno",
        kind=None,
        default="unknown",
        options=("none", "J1349", "ISO1585", "DIN70020", "J607", "unknown"),
        reason="a run that does not say may be corrected or not: the band is widened",
    )
    correction_factor: float | None = declared(
        label="Correction factor that the dyno applied", kind=Kind.NUMBER, low=0.8, high=1.35
    )
    measured_at: str | None = declared(
        label="Where torque was measured",
        kind=None,
        default="crank",
        options=("crank", "hub", "wheel"),
        reason="taken as crank torque unless said otherwise",
    )
    referred_to: str | None = declared(
        label="Speed that torque at hub or wheel is referred to",
        kind=None,
        default="engine",
        options=("engine", "wheel"),
        reason=f"most roller and hub dynos print torque at engine speed {PRACTICE}",
        help="'wheel' where it is as the wheel feels it, so many times larger by the gear",
    )
    gear_ratio: float | None = declared(
        label="Gear of the run, turns of its input for one of its output",
        kind=Kind.NUMBER, low=0.2, high=40.0,
    )  # fmt: skip
    final_drive: float | None = declared(
        label="Final drive, turns of its input for one of the wheel",
        kind=Kind.NUMBER, low=0.5, high=20.0,
    )  # fmt: skip
    tyre_radius: float | None = declared(
        label="Rolling radius of the driven tyre", kind=Kind.LENGTH, low=0.05, high=1.2,
        help="circumference over 6.283; needed where a run has road speed alone",
    )  # fmt: skip
    dyno_kind: str | None = declared(
        label="How the dyno loaded the engine", kind=None,
        options=("steady", "retarder", "inertia"),
        help="steady: each speed held; retarder: a brake let speed rise; inertia: a mass was spun",
    )  # fmt: skip
    driveline_loss: float | None = declared(
        label="Driveline loss, share of crank torque",
        kind=Kind.SHARE,
        low=0.0,
        high=0.4,
        default=lambda e: {"crank": 0.0, "hub": 0.12, "wheel": 0.15}[e.word("test.measured_at")],
        spread_given=0.015,
        spread_assumed=0.03,
        absolute=True,
        reason=f"10 to 20 % between crank and wheel {PRACTICE}",
    )
    ambient_pressure: float | None = declared(
        label="Ambient pressure",
        kind=Kind.PRESSURE,
        low=5e4,
        high=1.1e5,
        default=101325.0,
        spread_assumed=0.02,
        reason="sea level",
    )
    ambient_temperature: float | None = declared(
        label="Ambient temperature",
        kind=Kind.TEMPERATURE,
        low=243.15,
        high=328.15,
        default=298.15,
        spread_assumed=8.0,
        absolute=True,
        reason="25 °C",
    )
    humidity: float | None = declared(
        label="Relative humidity",
        kind=Kind.SHARE,
        low=0.0,
        high=1.0,
        default=0.40,
        spread_assumed=0.15,
        absolute=True,
        reason="temperate indoor air",
    )
    sweep_rate: float | None = declared(
        label="Sweep rate",
        kind=Kind.SPEED_RATE,
        low=0.0,
        high=400.0,
        spread_given=0.05,
        help="how fast the engine gained speed; 0 for steady points",
    )
    inertia: float | None = declared(
        label="Rotating inertia upstream of the torque sensor, at the crank",
        kind=Kind.INERTIA,
        low=0.0,
        high=5.0,
        spread_given=0.10,
    )
    torque_error: float | None = declared(
        label="Calibration error of the dyno",
        kind=Kind.SHARE,
        low=0.0,
        high=0.2,
        default=0.02,
        reason=f"1 to 3 % between dynos {PRACTICE}",
    )


@dataclass(frozen=True, kw_only=True)
class Rated:
    """What a data sheet says of the engine as it is sold: its two points, and their fuel."""

    torque: float | None = declared(
        label="Rated torque", kind=Kind.TORQUE, low=1.0, high=10000.0,
        help="of the data sheet, with torque_speed, power and power_speed: the engine as sold "
        "carries that with the margin that makers leave",
    )  # fmt: skip
    torque_speed: float | None = declared(
        label="Speed of rated torque", kind=Kind.SPEED, low=700 * RPM, high=16000 * RPM,
        help="the highest one where the data sheet gives a range",
    )  # fmt: skip
    power: float | None = declared(
        label="Rated power", kind=Kind.POWER, low=500.0, high=2e6
    )  # fmt: skip
    power_speed: float | None = declared(
        label="Speed of rated power", kind=Kind.SPEED, low=700 * RPM, high=16000 * RPM
    )  # fmt: skip
    blend: str | None = declared(
        label="Fuel blend that the engine is rated on", kind=None,
        default=by_ignition("E5", "diesel"), reason="what is sold at the pump",
    )  # fmt: skip
    octane: float | None = declared(
        label="Research octane that the engine is rated on", kind=Kind.NUMBER, low=80.0, high=125.0
    )  # fmt: skip

    @property
    def points(self) -> tuple[float, float, float, float] | None:
        """Torque [N*m], its speed [rad/s], power [W] and its speed; None where none is given."""
        found = (self.torque, self.torque_speed, self.power, self.power_speed)
        known = [value for value in found if value is not None]
        return (known[0], known[1], known[2], known[3]) if len(known) == len(found) else None


@dataclass(frozen=True, kw_only=True)
class KnownGood:
    """A curve that the engine has survived many times."""

    run: str | None = declared(label="Known-good run file", kind=None)
    blend: str | None = declared(label="Fuel blend of the known-good run", kind=None)
    octane: float | None = declared(
        label="Research octane of the known-good run", kind=Kind.NUMBER, low=80.0, high=125.0
    )
    curve: Run | None = None
    """The run itself, once read."""


PULLS_A_YEAR = 250
"""Pulls at full load that a year stands for (stated choice: one on each working day)."""


@dataclass(frozen=True, kw_only=True)
class Rung:
    """A curve that the engine was driven at, how often, and what was seen: `[[survived]]`."""

    run: str | None = declared(label="Run file of a survived rung", kind=None)
    pulls: int | None = declared(
        label="Pulls at that curve", kind=Kind.COUNT, low=1, high=100_000,
        help="1 unless given; or give years",
    )  # fmt: skip
    years: float | None = declared(
        label="Years at that curve", kind=Kind.NUMBER, low=0.01, high=50.0,
        help=f"{PULLS_A_YEAR} pulls each",
    )  # fmt: skip
    seen: str | None = declared(
        label="What was seen in those pulls", kind=None, default="nothing",
        options=("nothing", "coolant pressure", "knock", "noise"),
        reason="what nobody reports was not seen",
    )  # fmt: skip
    calibration: str | None = declared(
        label="Calibration of those pulls", kind=None, default="this",
        options=("this", "another"), reason="the tune that the run was made on",
    )  # fmt: skip
    blend: str | None = declared(label="Fuel blend of those pulls", kind=None)
    octane: float | None = declared(
        label="Research octane of those pulls", kind=Kind.NUMBER, low=80.0, high=125.0
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
