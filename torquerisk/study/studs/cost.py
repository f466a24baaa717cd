"""What a fastening costs in work and parts, in words: machining, buying, using again."""

from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.study.studs.fastening import Change, Fastening

_MACHINED = {
    Change.NONE: "nothing",
    Change.TIGHTENING: "nothing; clean the threads in the block",
    Change.STRENGTH: "nothing; clean the threads, and see that studs do not touch the bottom",
    Change.TAP_OUT: "open and re-tap {n} holes in the block on a mill, open {n} in head and gasket",
    Change.DRILL_AND_TAP: "drill and tap {n} holes in the block on a mill, open {n} in head and "
    "gasket; look for water and oil beside them first",
}
_SEAT = (
    "; where a recess or captive washer leaves no room for a washer of {size}, spot-face the head"
)
WHOLE = 1e-3
"""What washers are sold in steps of [m]: a head's own face is rounded up to it."""
_TOOLS = {
    TighteningMethod.TORQUE: "a checked torque wrench",
    TighteningMethod.ANGLE: "a torque wrench and an angle gauge",
    TighteningMethod.YIELD: "a tool that senses yield",
    TighteningMethod.STRETCH: "a stretch gauge that reaches both ends, or ultrasound",
}


def cost_in_words(made: Fastening, washer: float, *, plastic: bool, once: bool) -> dict[str, str]:
    """What must be machined and bought, and how often the fasteners serve.

    washer: least outside diameter under head or nut [m]; plastic: brought to yield on purpose;
    once: on purpose, or often enough by scatter that used ones cannot be told from yielded ones.
    """
    count = made.engine.head_joint.fasteners
    wider = washer > made.fastener.turned.bearing_outer_diameter + WHOLE
    size = f"{washer * 1e3:.0f} mm"
    parts = (
        f"{count} studs, nuts and hardened washers of {size}"
        if made.stud
        else f"{count} bolts with a flange or hardened washer of {size}"
    )
    if made.change is Change.TIGHTENING and not once:
        parts += ", unless those fitted never reached yield and are no longer than new"
    tool = _TOOLS[made.method]
    oil = f"; {made.lubricant.said}" if made.lubricant.said else ""
    if made.change is Change.NONE:
        new = f"{count} new {'studs' if made.stud else 'bolts'} each time the head comes off; "
        wide = f"hardened washers of {size}, where flange or washer is narrower; "
        bought = f"{new if once else ''}{wide if wider else ''}{tool}"
    else:
        bought = f"{parts}{oil}; {tool}"
    if plastic:
        again = "once: taken to yield, they are replaced each time the head comes off"
    elif once:
        again = "once: scatter takes some of them past yield, and nobody sees which"
    else:
        again = "again while clean, straight and no longer than new: measure their free length"
    return {
        "machine": (_MACHINED[made.change] + _SEAT * wider).format(n=count, size=size),
        "buy": bought,
        "use": again,
    }
