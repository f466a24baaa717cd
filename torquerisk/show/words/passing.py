"""What passing a limit comes to, as the trade says it: 'the head lifts', 'a rod may bend'."""

from typing import NamedTuple

from torquerisk.study.answers.results import Limit


class Passing(NamedTuple):
    """Who does what where a limit is passed."""

    subject: str
    verb: str
    """To follow 'may' or 'likely to'."""
    present: str
    """To follow the subject."""
    is_are: str = "is"

    @property
    def told(self) -> str:
        """'the head lifts'."""
        return f"{self.subject} {self.present}"


PASSING = {
    "head_lift": Passing("the head", "lift", "lifts"),
    "fastener_yield": Passing("the head fasteners", "stretch for good", "stretch for good", "are"),
    "thread_strip": Passing("the threads in the block", "strip", "strip", "are"),
    "rod_compression": Passing("a rod", "bend", "bends"),
    "rod_fatigue": Passing("a rod", "crack in time", "cracks in time"),
    "rod_eye": Passing("a small-end eye", "tear", "tears"),
    "rod_cap": Passing("a big-end cap", "crack", "cracks"),
    "rod_bolts": Passing("a big-end cap", "open", "opens"),
    "abnormal_cycle": Passing(
        "a heavy knock or pre-ignition", "break something", "breaks something"
    ),
    "octane": Passing(
        "the engine", "knock at any usual timing", "knocks at any usual timing"
    ),
    "knock": Passing("the engine", "knock", "knocks"),
    "fuel_pump": Passing("the fuel pump", "run out", "runs out"),
    "high_pressure_pump": Passing("the high-pressure pump", "run out", "runs out"),
    "injectors": Passing("the injectors", "run out", "run out", "are"),
    "pressure_sensor": Passing("the pressure sensor", "run off its scale", "runs off its scale"),
    "boost": Passing("the wastegate", "blow open", "blows open"),
    "compressor": Passing("the compressor", "leave its map", "leaves its map"),
    "compressor_surge": Passing("the compressor", "surge", "surges"),
    "compressor_drive": Passing("the compressor's drive", "slip", "slips"),
    "spark": Passing("the spark", "blow out", "blows out"),
    "valve_float": Passing("the valves", "float", "float", "are"),
    "valve_seat": Passing("boost", "push a valve open", "pushes a valve open"),
}  # fmt: skip


def passing(limit: Limit) -> Passing:
    """What passing a limit comes to; one without words of its own 'is passed'."""
    title = limit.title[0].lower() + limit.title[1:]
    return PASSING.get(limit.name, Passing(title, "be passed", "is passed"))
