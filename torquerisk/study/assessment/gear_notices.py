"""Caveats of timing and speed that the running gear's limits do not show by themselves."""

from collections.abc import Iterator

import numpy as np

from torquerisk.case import Notice
from torquerisk.case.sentence import percent
from torquerisk.quantities import DEGREE, RPM
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import LimitKind, head
from torquerisk.study.strengths.head_tightening import USUAL_ANGLE_YIELD_SHARE, USUAL_YIELD_SHARE

LATE_CA50 = 28 * DEGREE
"""Median CA50 from which it is said that a late burn makes rods and head look strong (practice)."""
PEAK_PER_DEGREE = 0.02
"""Peak pressure at equal torque that an earlier burn adds, a degree (our own cycles; about)."""
OVERSPEED = 1.15
"""Speed over that of rated power from which it is said what is not judged (practice)."""
NEAR_CRITICAL = 0.05
"""How near to a critical speed of the crankshaft is to be avoided [-] (practice: 5 %)."""


REPLACED_UNKNOWN = "replaced-unknown"
REPLACED = (
    ("running_gear.original_rods", "rods",
     ("running_gear.rod_section_area", "running_gear.rod_yield_strength",
      "running_gear.rod_tensile_strength"),
     "the rods' section, yield strength and mass ([running_gear] rod_section_area ...)"),
    ("running_gear.original_rod_bolts", "rod bolts",
     ("running_gear.rod_bolt_thread", "running_gear.rod_bolt_class"),
     "their bolts' thread and class (rod_bolt_thread ...)"),
)  # fmt: skip
"""Input that says whose a part is, the part, what would tell of it, and how that is asked for."""
TIGHTENED = tuple(f"head_joint.tightening{x}" for x in ("", "_torque", "_angle", "_stretch"))


def late_phasing(result: Assessment) -> Iterator[Notice]:
    """A late burn presses little, so that rods and head look strong at that timing alone."""
    middle = result.ca50.p50
    if float(middle.max()) < LATE_CA50:
        return
    k = int(np.argmax(middle))
    yield Notice(
        "late-phasing",
        f"Rods and head are judged with half of the mixture burned as late as "
        f"{middle[k] / DEGREE:.0f}° ({result.speed[k] / RPM:,.0f} rpm). So late a burn makes a rod "
        "look strong: what holds or is not limited there is so at that timing alone, and the same "
        f"torque with an earlier burn presses about {PEAK_PER_DEGREE:.0%} harder a degree.",
    )


def overspeed(result: Assessment) -> Iterator[Notice]:
    """What speed past the rating asks of parts that are not judged."""
    points = result.engine.rated.points
    if points is None or result.speed[-1] < OVERSPEED * points[3]:
        return
    unjudged = "the crankshaft's damper and the cam drive"
    if "valve_float" not in result.limits:
        unjudged = f"valve springs, {unjudged}"
    yield Notice(
        "overspeed",
        f"The run goes to {result.speed[-1] / points[3]:.2f} times the speed of rated power. Rods, "
        f"their bolts and bearings are judged for that; {unjudged} are not, and they often give "
        "first.",
    )


def speed_limited(result: Assessment) -> Iterator[Notice]:
    """Where no torque is acceptable: the pull of the pistons, or a joint at rest, is too much."""
    nothing = np.isneginf(result.ceiling)
    if not nothing.any():
        return
    at = int(np.flatnonzero(nothing)[-1])
    passed = [
        x for x in result.limits.values()
        if x.limit.kind in (LimitKind.STRENGTH, LimitKind.SUPPLY) and x.speed_limited[at] > 0
    ]  # fmt: skip
    found = sorted((float(x.speed_limited[at]), x.limit.title.lower()) for x in passed)[::-1]
    told = " and ".join(f"{title} in {percent(share)}" for share, title in found[:2])
    unsold = result.engine.rated.rev_limit is None and result.engine.known_good.curve is None
    at_rest = {limit.name for limit in head.LIMITS}
    if all(x.limit.name in at_rest for x in passed):
        yield Notice(
            "no-torque",
            f"No torque is acceptable at the accepted chance of {100 * result.policy.chance:g} %: "
            f"before any gas force a limit is passed, {told} of the simulated engines.",
        )
        return
    yield Notice(
        "speed-limited",
        f"From {result.speed[nothing][0] / RPM:,.0f} rpm on speed alone uses up the accepted "
        f"chance of {100 * result.policy.chance:g} %: it passes {told} of the simulated engines at "
        f"{result.speed[at] / RPM:,.0f} rpm. No torque limit mends that: keep below it"
        + (", or give the [rated] rev_limit that it is sold with." if unsold else "."),
    )


def replaced_parts(result: Assessment) -> Iterator[Notice]:
    """Parts that are not the maker's and of which nothing is said, of head fasteners how they were
    tightened: a guess stands in for it."""
    engine = result.engine
    found = [
        (part, wanted)
        for whose, part, told, wanted in REPLACED
        if engine.given(whose) == "false" and not any(engine.has(name) for name in told)
    ]
    told = []
    if found:
        parts, wanted = (
            " and ".join(filter(None, (", ".join(x[:-1]), x[-1]))) for x in zip(*found, strict=True)
        )
        told.append(
            f"The {parts} are not the maker's and nothing is said of them, so usual ones without "
            "the maker's margin stand in, and they may read weaker than the originals: give "
            f"{wanted} before you act on this."
        )
    known = (*TIGHTENED, "head_joint.measured_stretch")
    if engine.given("head_joint.original") == "false" and not any(map(engine.has, known)):
        told.append(
            "How the head is tightened is not said: by angle to about "
            f"{percent(USUAL_ANGLE_YIELD_SHARE)} of yield is taken, without the maker's margin. By "
            f"torque, as builders do, to {percent(USUAL_YIELD_SHARE)} it would hold much less: "
            "give [head_joint] tightening and its torque, angle or stretch before you act on this."
        )
    if told:
        yield Notice(REPLACED_UNKNOWN, " ".join(told))


def critical_speed(result: Assessment) -> Iterator[Notice]:
    """A critical speed of torsion within the run: a range to pass through, never a verdict."""
    at = result.engine.given("running_gear.critical_speed")
    if at is None or not result.speed[0] <= float(at) * (1 + NEAR_CRITICAL):
        return
    low, high = (float(at) * (1 + x) for x in (-NEAR_CRITICAL, NEAR_CRITICAL))
    if result.speed[-1] < low:
        return
    yield Notice(
        "critical-speed",
        f"The crankshaft's torsion resonates at {float(at) / RPM:,.0f} rpm: do not hold the engine "
        f"between {low / RPM:,.0f} and {high / RPM:,.0f} rpm at high torque, and let a damper be "
        "checked for more torque than it was made for. Torsion is not judged.",
    )
