"""Proportions of joint and running gear, and inputs, that are held within a range: a notice each.

Of each range two things are asked: whether the value used lies outside, and whether LEAST_CUT of
the simulated engines or more are drawn outside. A declared range refuses what is given outside it,
so there only the draws can be cut.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Kind, Notice
from torquerisk.case.joint_defaults import FRICTIONS
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.quantities import MM, Array
from torquerisk.study.assessment.cycle_ranges import Held, where_in_rpm
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import CUT_DRAWS, LEAST_CUT, Draws, middle_draw
from torquerisk.study.limits import place_of
from torquerisk.study.limits.supply import LEAST_PRESSURE
from torquerisk.study.strengths.fastener import clamped_lengths, least_engagement, shank_diameters
from torquerisk.study.strengths.head_tightening import head_friction_unheld
from torquerisk.study.strengths.running_gear import (
    LEAST_TENSILE,
    LENGTH_TO_DIAMETERS,
    OVAL_BORES,
    RELATIVE_CLEARANCES,
    THINNEST_PIN,
)

NOT_HELD = ("charge.intake_temperature", "head_joint.head_friction")
"""Inputs with an absolute spread whose own range is not what their draws are held in."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PartRange:
    """A proportion at the values used and as drawn, and the range it is held in. SI."""

    code: str
    """Without '-range' of the value or '-spread-cut' of the draws."""
    what: str
    used: Array
    """At the values used (1,)."""
    drawn: Array
    """(N,)."""
    low: float
    high: float
    unit: str
    size: float
    then: str
    """What is held, in words that end the sentence."""

    def told(self) -> Iterator[Notice]:
        """The notice of the value, or of the draws where enough of them are cut."""
        parts = {name: getattr(self, name) for name in ("what", "low", "high", "unit", "size")}
        held = Held(code=f"{self.code}-range", values=self.used, then=self.then, **parts)
        if held.outside.any():
            yield from held.told(np.zeros(1))
            return
        cut = Held(code=f"{self.code}-spread-cut", values=self.drawn, then=self.then, **parts)
        share = float(cut.outside.mean())
        if share >= LEAST_CUT:
            yield Notice(
                cut.code,
                f"{self.what} is drawn {cut.beyond} in {share:.0%} of the simulated engines: "
                f"{self.then} there.",
            )


RANGE_DRAWS, RANGE_SEED = 4096, 20240229
"""Engines as drawn, whatever evidence keeps: many, so that chance does not say which side of
LEAST_CUT a tail lies."""


def held_parts(result: Assessment) -> Iterator[Notice]:
    """All ranges of joint, running gear and inputs that bind in an assessment."""
    engine = result.engine
    draws = spreads.engine_draws(
        compression_ignition=engine.compression_ignition, count=RANGE_DRAWS, seed=RANGE_SEED
    )
    for item in (*_joint(engine, draws), *_gear(engine, draws), *_inputs(engine, draws)):
        yield from item.told()
    yield from _pressure_scale(result)


def held_joint(engine: Engine, draws: Draws) -> Iterator[Notice]:
    """Those of the head joint alone, for any draws of it."""
    some = draws.first(CUT_DRAWS)
    for item in (*_joint(engine, some), *_inputs(engine, some, "head_joint.")):
        yield from item.told()


def _both(engine: Engine, draws: Draws, name: str) -> tuple[Array, Array]:
    """An input at the value used (1,) and as drawn (N,)."""
    value = engine.value(name)
    return np.array([value.value]), draws.of_value(value)


def _joint(engine: Engine, draws: Draws) -> Iterator[PartRange]:
    thread = screw_thread(engine.word("head_joint.thread"))
    nearer = "its stiffness is that of the nearer end"
    for code, what, name, (low, high), then in (
        ("shank", "Fastener shank diameter", "shank_diameter", shank_diameters(thread), nearer),
        ("clamped-length", "Clamped length under the fastener head", "clamped_length",
         clamped_lengths(thread), nearer),
        ("engagement", "Thread engagement in the block", "engagement_length",
         (least_engagement(thread), np.inf), "that much is taken"),
        ("sealing-diameter", "Sealing diameter of the combustion ring", "sealing_diameter",
         (engine.bore, np.inf), "the bore is taken"),
    ):  # fmt: skip
        used, drawn = _both(engine, draws, f"head_joint.{name}")
        yield PartRange(
            code=code, what=what, used=used, drawn=drawn, low=low, high=high, unit="mm", size=MM,
            then=then,
        )  # fmt: skip
    friction = []
    for some in (middle_draw(tuple(draws.deviates)), draws):
        thread_friction = some.of_value(engine.value("head_joint.thread_friction"))
        friction.append(head_friction_unheld(engine, some, thread_friction))
    yield PartRange(
        code="head-friction", what="Friction under the head or nut", used=friction[0],
        drawn=friction[1], low=FRICTIONS[0], high=FRICTIONS[1], unit="", size=1.0,
        then="the nearer end is taken",
    )  # fmt: skip


def _gear(engine: Engine, draws: Draws) -> Iterator[PartRange]:
    film = "the oil film is that of the nearer end"
    for code, what, over, under, (low, high), size, unit, then in (
        ("clearance", "Big-end clearance over its diameter", "big_end_clearance",
         "big_end_diameter", RELATIVE_CLEARANCES, 1e-3, "per mille", film),
        ("bearing-width", "Big-end width over its diameter", "big_end_width", "big_end_diameter",
         LENGTH_TO_DIAMETERS, 1.0, "", film),
        ("pin-bore", "Inner over outer diameter of the piston pin", "pin_bore_diameter",
         "pin_diameter", (0.0, THINNEST_PIN), 1.0, "", "the pin is taken as thick as that"),
        ("pin-oval", "Inner over outer diameter of the piston pin, for its going oval,",
         "pin_bore_diameter", "pin_diameter", OVAL_BORES, 1.0, "", "the nearer end is taken"),
        ("rod-strength", "Tensile over yield strength of the rod", "rod_tensile_strength",
         "rod_yield_strength", (LEAST_TENSILE, np.inf), 1.0, "",
         "its tensile strength is taken as that much of its yield strength"),
    ):  # fmt: skip
        above, below = (_both(engine, draws, f"running_gear.{name}") for name in (over, under))
        yield PartRange(
            code=code, what=what, used=above[0] / below[0], drawn=above[1] / below[1], low=low,
            high=high, unit=unit, size=size, then=then,
        )  # fmt: skip


def _inputs(engine: Engine, draws: Draws, start: str = "") -> Iterator[PartRange]:
    """Inputs whose absolute spread reaches beyond what may be given, see `Draws.of_value`."""
    diesel = spreads.INPUTS_COMPRESSION if engine.compression_ignition else ()
    for name in (*spreads.DRAWN_INPUTS, *diesel):
        declaration = engine.declaration(name)
        if not declaration.absolute or name in NOT_HELD or not name.startswith(start):
            continue
        value, kind = engine.value(name), declaration.kind
        assert kind is not None
        yield PartRange(
            code="input", what=declaration.label, used=np.array([value.value]),
            drawn=draws.unheld(value), low=declaration.low, high=declaration.high,
            unit=kind.shown_unit, size=0.0 if kind is Kind.TEMPERATURE else kind.shown_size,
            then="the nearer end is taken",
        )  # fmt: skip


def _pressure_scale(result: Assessment) -> Iterator[Notice]:
    """Speeds of next to no torque, which tell nothing of the pressure that a torque takes."""
    logged, name = result.model.operating.manifold_pressure, "pressure_sensor"
    if logged is None or name not in result.limits:
        return
    place = place_of(result.model.demand.torque, result.torque)
    at_run = np.median(place.read(result.model.load(result.limits[name].limit)), axis=1)
    held = at_run < logged * (1 - 1e-6)
    if held.any():
        yield Notice(
            "pressure-scale-range",
            f"The torque {where_in_rpm(result.speed[held])} stands for less than "
            f"{LEAST_PRESSURE / 1e3:.0f} kPa of manifold pressure, which is taken at least: what "
            "pressure more torque takes there is not known from this run.",
        )
