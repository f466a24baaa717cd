"""Studs that somebody has in mind, judged at the bench's curve like the bench's own choices."""

from dataclasses import dataclass, replace
from typing import Any

from torquerisk.errors import InputError
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.head_joint.screw_thread import (
    ScrewThread,
    larger_for_insert,
    screw_thread,
)
from torquerisk.study.strengths.fastener import fastener_of
from torquerisk.study.studs.bench import StudBench, new_draws
from torquerisk.study.studs.choices import (
    INCH_CLASSES,
    METRIC_CLASSES,
    STUD_STRENGTHS,
    bolt_values,
    change_of_hole,
    engine_with,
    stud_values,
)
from torquerisk.study.studs.fastening import Change
from torquerisk.study.studs.how_far import fastening
from torquerisk.study.studs.judgement import judge
from torquerisk.study.studs.lubricants import OWN, lubricant
from torquerisk.study.studs.results import StudChoice

STRENGTHS: dict[str, tuple[float, float] | None] = {
    **dict.fromkeys(("8.8", *METRIC_CLASSES, *INCH_CLASSES)),
    **{f"stud of {y / 1e6:,.0f} MPa": (y, t) for y, t in STUD_STRENGTHS},
}
"""Strengths by name: classes of bolts, and yield and tensile strength of studs [Pa]."""


@dataclass(frozen=True, kw_only=True)
class OwnStuds:
    """What somebody would fit. SI."""

    thread: str
    strength: str
    """Of `STRENGTHS`, or OWN: what is fitted."""
    lubricant: str
    """As `lubricants.lubricant` takes it."""
    method: TighteningMethod
    torque: float | None = None
    """Final by torque, else snug [N*m]; None: what is usual for them."""
    angle: float | None = None
    """After the snug torque, by angle [rad]; None: what is usual for them."""


def _change(named: str, thread: ScrewThread, was: ScrewThread, insert: bool) -> Change:
    """What has to be done to the holes. Raises InputError where the thread does not go there."""
    if thread.designation == was.designation:
        return Change.STRENGTH
    old = larger_for_insert(was) if insert else was
    change = change_of_hole(old, thread)
    if change is None and insert:
        raise InputError(
            f"{named} does not fill the hole of the insert for {was.designation}, which is "
            f"{old.nominal_diameter * 1e3:.1f} mm wide; choose a larger thread."
        )
    if change is None:
        raise InputError(
            f"{named} cannot be cut in the holes of {was.designation}: too much of the old thread "
            "is left; keep that thread, or choose one that is larger by more."
        )
    return change


def _values(own: OwnStuds, thread: ScrewThread) -> dict[str, Any]:
    """The fastener as the engine file takes it; nothing where it is the fitted one."""
    if own.strength == OWN:
        return {}
    strength = STRENGTHS[own.strength]
    return bolt_values(own.strength) if strength is None else stud_values(thread, *strength)


def own_studs(bench: StudBench, own: OwnStuds) -> StudChoice:
    """What they do at the bench's curve. Raises InputError for a thread or oil that is not known.

    The draws are those of the bench's choices, so that they compare.
    """
    engine = bench.assessment.engine
    thread, was = screw_thread(own.thread), screw_thread(engine.word("head_joint.thread"))
    base = engine_with(engine, thread, _values(own, thread))
    change = _change(own.thread, thread, was, engine.given("head_joint.thread_insert") == "true")
    if fastener_of(base) == fastener_of(engine):
        change = Change.TIGHTENING
    made = fastening(
        base, method=own.method, spare_block=False, change=change,
        oil=lubricant(engine, own.lubricant),
    )  # fmt: skip
    if made is None:
        raise InputError(
            f"{own.thread} cannot be tightened by {own.method.value} within the "
            "range of a wrench; choose another way of tightening."
        )
    torque = made.tightening_torque if own.torque is None else own.torque
    angle = made.tightening_angle if own.angle is None else own.angle
    told = {"head_joint.tightening_torque": torque, "head_joint.tightening_angle": angle}
    made = replace(
        made, tightening_torque=torque, tightening_angle=angle, spared=False,
        engine=made.engine.with_values(told),
    )  # fmt: skip
    return judge(bench.ask, made, engine, new_draws(bench.assessment))
