"""A small invented case and a way to run the command on it, shared by the command's tests."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from torquerisk.command.verbs import program

DRAWS = "128"
FEW = ("--draws", DRAWS, "--chance", "0.1")
"""Few engines, and a chance for which so few prove a table: 1 % would have 1,000 simulated."""
ENGINE = """
name = "Invented test four"
ignition = "spark"
cylinders = 4
bore = "3.25 in"
stroke = "3.4 in"
rod_length = "5.75 in"
compression_ratio = 9.5
[fuel]
blend = "E10"
octane = 98
[running_gear]
rod_section_area = "130 mm^2"
rod_yield_strength = "450 MPa"
[head_joint]
sealing_diameter = "3.4 in"
fasteners = 10
thread = "M11x1.5"
property_class = "10.9"
tightening_torque = "70 lb*ft"
"""
METRIC = (
    ENGINE.replace('"3.25 in"', '"82.55 mm"')
    .replace('"3.4 in"', '"86.36 mm"')
    .replace('"5.75 in"', '"146.05 mm"')
    .replace('"70 lb*ft"', f'"{70 * 0.3048 * 4.4482216152605!r} N*m"')
)
SPEEDS = (2000, 2500, 3000, 3500, 4000, 4500, 5000, 5500, 6000)
TORQUES = (235.0, 300.0, 355.0, 370.0, 345.0, 352.0, 335.0, 305.0, 270.0)
FACTS = """# measured at: crank
# correction: none
# sweep rate: 250 rpm/s
# inertia: 0 kg*m^2
"""


def run_text(torques=TORQUES, speeds=SPEEDS) -> str:
    """A run of speed and torque only, every digit kept."""
    rows = "\n".join(f"{n!r}, {t!r}" for n, t in zip(speeds, torques, strict=True))
    return f"{FACTS}engine speed [rpm], torque [N·m]\n{rows}\n"


@dataclass
class Result:
    """What a run of the command left: exit code, stdout, stderr."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on stdout; a NaN or an infinity in it is refused."""

        def refuse(word: str) -> Any:
            raise AssertionError(f"{word} in JSON")

        assert self.code == 0, self.err
        return json.loads(self.out, parse_constant=refuse)


def command(*words: str | Path, text: str | None = None) -> Result:
    """Run the command in this process."""
    done = CliRunner().invoke(program, [str(w) for w in words], input=text, prog_name="torquerisk")
    return Result(code=done.exit_code, out=done.stdout, err=done.stderr)


def write_case(folder: Path, engine: str = METRIC, run: str | None = None) -> Path:
    """A case folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "engine.toml").write_text(engine)
    (folder / "run.csv").write_text(run or run_text())
    return folder
