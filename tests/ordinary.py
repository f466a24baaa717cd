"""Ordinary engines as their makers sell them, and engine and run files made of them."""

import math
import tempfile
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from torquerisk import load_engine, load_run
from torquerisk.case import Engine, Run
from torquerisk.errors import InputError
from torquerisk.quantities import RPM

REFERENCE = Path(__file__).parent / "reference" / "ordinary_engines.toml"
CAR_DIESEL, TRUCK_DIESEL = "car diesel", "truck diesel"
BOOSTED = ("turbo petrol", CAR_DIESEL, TRUCK_DIESEL)
"""Kinds with a turbocharger."""


@dataclass(frozen=True, kw_only=True)
class Ordinary:
    """One engine of the reference set. Lengths [mm], speed [rpm], torque [N*m], power [kW]."""

    name: str
    kind: str
    ignition: str
    cylinders: int
    heads: int = 1
    bore: float
    stroke: float
    rod_length: float
    compression_ratio: float
    octane: float | None = None
    """Research octane that the engine is sold for, where it is not the usual one."""
    head_joint: dict[str, int | str]
    rated: dict[str, float]
    speed: list[float]
    torque: list[float]

    @property
    def boosted(self) -> bool:
        """True with a turbocharger."""
        return self.kind in BOOSTED

    @property
    def swept_volume(self) -> float:
        """Of the whole engine [L]."""
        return self.cylinders * math.pi / 4 * self.bore**2 * self.stroke * 1e-6

    def mean_pressure(self, torque: float) -> float:
        """BMEP of a torque [bar]: Heywood (1988) eq. 2.20b."""
        return 4 * math.pi * torque / self.swept_volume / 100

    def piston_speed(self, speed: float) -> float:
        """Mean piston speed [m/s]."""
        return 2 * self.stroke * 1e-3 * speed / 60

    def engine_text(self, *, rated: bool, known_good: bool) -> str:
        """The engine file: what is required, and the evidence that is wanted."""
        joint, data = self.head_joint, self.rated
        lines = [
            f'name = "{self.name}"',
            f'ignition = "{self.ignition}"',
            f"cylinders = {self.cylinders}",
            *([f"heads = {self.heads}"] if self.heads > 1 else []),
            *(f'{key} = "{getattr(self, key)} mm"' for key in ("bore", "stroke", "rod_length")),
            f"compression_ratio = {self.compression_ratio}",
            *([f"[fuel]\noctane = {self.octane}"] if self.octane else []),
            "[head_joint]",
            f"fasteners = {joint['fasteners']}",
            f'thread = "{joint["thread"]}"',
            f'property_class = "{joint["property_class"]}"',
        ]
        if rated:
            lines += [
                "[rated]",
                f'torque = "{data["torque"]} N*m"',
                f'torque_speed = "{data["torque_speed"]} rpm"',
                f'power = "{data["power"]} kW"',
                f'power_speed = "{data["power_speed"]} rpm"',
                *([f"octane = {self.octane}"] if self.octane else []),
            ]
        if known_good:
            lines += ["[known_good]", 'run = "curve.csv"']
        return "\n".join(lines) + "\n"

    def run_text(self, times: float = 1.0) -> str:
        """The full-load curve, its torque multiplied, as a run file: at the crank, uncorrected."""
        rows = [f"{n},{t * times}" for n, t in zip(self.speed, self.torque, strict=True)]
        facts = ["# measured at: crank", "# correction: none", "engine speed [rpm],torque [N·m]"]
        return "\n".join(facts + rows) + "\n"

    def case(
        self, *, rated: bool = False, known_good: bool = False, times: float = 1.0
    ) -> tuple[Engine, Run]:
        """Engine and run as read from files. times: of the curve that is run, not the known one."""
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            text = self.engine_text(rated=rated, known_good=known_good)
            (folder / "engine.toml").write_text(text, encoding="utf-8")
            (folder / "curve.csv").write_text(self.run_text(), encoding="utf-8")
            (folder / "run.csv").write_text(self.run_text(times), encoding="utf-8")
            return load_engine(folder / "engine.toml"), load_run(folder / "run.csv")

    def curve_at(self, speed: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """The curve's torque at speeds [rad/s], linear between its points [N*m]."""
        return np.interp(speed, np.array(self.speed) * RPM, self.torque)


@cache
def ordinary_engines() -> tuple[Ordinary, ...]:
    """Every engine of the reference set."""
    tables = tomllib.loads(REFERENCE.read_text(encoding="utf-8"))
    return tuple(Ordinary(name=name, **table) for name, table in tables.items())


@cache
def has_rated() -> bool:
    """True once an engine file may say what the engine is rated at."""
    try:
        ordinary_engines()[0].case(rated=True)
    except InputError:
        return False
    return True
