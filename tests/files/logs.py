"""Invented logs in time: idle, cruising, pulls, shifts, coasting, steady points, dropouts."""

from dataclasses import dataclass, field

import numpy as np

from torquerisk.quantities import RPM, Array


def truth(speed_rpm: Array) -> Array:
    """Torque at full load of the invented engine [N*m]."""
    return np.asarray(395.0 - 1.8e-5 * (speed_rpm - 4200.0) ** 2)


@dataclass
class Log:
    """A log that grows phase by phase; `rate` rows a second."""

    rate: int = 100
    seed: int = 1
    speed: list[Array] = field(default_factory=list)
    load: list[Array] = field(default_factory=list)

    def hold(self, rpm: float, seconds: float, load: float) -> "Log":
        """A speed held, with torque as a share of full load."""
        return self.sweep(rpm, rpm, seconds, load)

    def sweep(self, start: float, end: float, seconds: float, load: float) -> "Log":
        """A sweep between two speeds [rpm]."""
        n = int(seconds * self.rate)
        self.speed.append(np.linspace(start, end, n))
        self.load.append(np.full(n, load))
        return self

    def arrays(self, speed_noise: float = 6.0, torque_noise: float = 5.0) -> tuple[Array, Array]:
        """Speed [rpm] and torque [N*m] as logged."""
        chance = np.random.default_rng(self.seed)
        speed, load = np.concatenate(self.speed), np.concatenate(self.load)
        torque = load * truth(speed) + chance.normal(0, torque_noise, len(speed))
        wander = 12 * np.sin(np.arange(len(speed)) / self.rate * 7.0)
        return speed + wander + chance.normal(0, speed_noise, len(speed)), torque

    def text(self, **more: object) -> str:
        """The log as CSV with an index, time, injector duty up to 104 %."""
        speed, torque = self.arrays(**more)  # type: ignore[arg-type]
        time = np.arange(len(speed)) / self.rate
        duty = np.clip(104 * torque / 400, 1, 104)
        rows = zip(range(len(speed)), time, speed, torque, duty, strict=True)
        head = "#,time [s],Engine RPM,Torque [Nm],injector duty [%],gear\n"
        return head + "\n".join(f"{i},{t:.2f},{n:.1f},{q:.1f},{d:.1f},4" for i, t, n, q, d in rows)


def drive(log: Log) -> Log:
    """Idle, shifts under load, two pulls of which the second is longer, coasting, a down sweep."""
    log.hold(900, 20, 0.01).sweep(900, 2000, 3, 0.15).hold(2000, 5, 0.12)
    for gear in range(3):
        log.sweep(3200 + 100 * gear, 5600, 3, 1.0).sweep(5600, 3200 + 100 * gear, 0.4, -0.05)
    log.sweep(3200, 2000, 2, -0.1).hold(2000, 4, 0.12)
    log.sweep(2400, 5200, 6, 0.98).sweep(5200, 2000, 5, -0.1).hold(2000, 4, 0.12)
    log.sweep(2000, 6600, 9, 1.0).sweep(6600, 1900, 6, -0.12).hold(1900, 3, 0.1)
    return log.sweep(1900, 6000, 15, 0.05).sweep(6000, 2500, 8, 0.9).hold(900, 30, 0.01)


def steady(log: Log) -> Log:
    """Steady points at full load from 2000 to 6000 rpm, with the way between them."""
    for rpm in range(2000, 6001, 500):
        log.sweep(max(rpm - 500, 2000), rpm, 1.5, 0.97).hold(rpm, 8, 1.0)
    return log


__all__ = ["RPM", "Log", "drive", "steady", "truth"]
