"""Kinds, limits and defaults that the inputs of the head joint share."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.errors import InputError

JOINT_MATERIALS = (
    "cast aluminium",
    "wrought aluminium",
    "strong wrought aluminium",
    "grey iron",
    "compacted graphite iron",
    "ductile iron",
)
"""Materials that a head or block may be of, by plain name."""
FASTENER_MATERIALS = ("stud steel", "heat-resistant stud alloy")
"""Materials that head fasteners may be of."""
BOLT, FLANGE_BOLT, STUD = FASTENER_KINDS = ("bolt", "flange bolt", "stud")
"""What a head fastener is: hexagon head, flange head, or stud with nut and washer."""


FRICTIONS = (0.03, 0.35)
"""Friction of thread and bearing face that is believed, least and most [-] (common practice)."""
LEAST_BRIDGE = 0.002
"""Between the rings of neighbouring bores, at least [m] (common practice, no source)."""
SHANK_OVER_THREAD = 1.05
"""Shank over the thread's nominal diameter, at most [-]: it has to pass the thread's hole."""


NUT_OVER_BLOCK = (0.8, 1.0)
"""Diameter of the thread under a stud's nut over that in the block, least and most [-]."""
MAKERS_OVER_FITTED = (0.5, 1.5)
"""Diameter of the maker's thread over that of the fitted fasteners that is believed [-]."""


def thread_nominal(engine: Any, name: str = "thread") -> float:
    """Nominal thread diameter [m] read off the designation, metric (M11x1.5) or inch (7/16-14)."""
    given = getattr(engine.head_joint, name)
    text = str(given).strip().upper()
    metric = re.match(r"M\s*(\d+(?:\.\d+)?)", text)
    if metric:
        return float(metric[1]) * 1e-3
    inch = re.match(r"(\d+)/(\d+)", text)
    if inch and int(inch[2]):
        return int(inch[1]) / int(inch[2]) * 0.0254
    raise InputError(
        f"head_joint.{name} is {given!r}, but must be a metric thread such as "
        "M11x1.5 or an inch thread such as 7/16-14."
    )


def check_makers_fasteners(engine: Any) -> None:
    """Refuse the maker's own fasteners where they stand there still, or were of another engine."""
    joint, least, most = engine.head_joint, *MAKERS_OVER_FITTED
    for name in ("original_thread", "original_class"):
        given = getattr(joint, name)
        if given is not None and joint.original != "false":
            raise InputError(
                f"head_joint.{name} is {given}, but head_joint.original is not false: write "
                "original = false where others than the maker's are fitted, or leave it out."
            )
    if joint.original_thread is None:
        return
    if not least <= thread_nominal(engine, "original_thread") / thread_nominal(engine) <= most:
        raise InputError(
            f"head_joint.original_thread is {joint.original_thread} and head_joint.thread "
            f"{joint.thread}, but the maker's must be {least:g} to {most:g} times as thick; check "
            "both."
        )


def usual_engagement(engine: Any) -> float:
    """Thread engagement [m] where none is given: weak metal and strong fasteners need more."""
    aluminium = engine.word("head_joint.block_material").endswith("aluminium")
    stronger = 1.2 if str(engine.head_joint.property_class).strip() == "12.9" else 1.0
    return stronger * (2.5 if aluminium else 1.7) * thread_nominal(engine)


FRICTION_SPREAD = 0.020
"""Standard deviation of friction that nobody gave: class B read as two each way [-]."""


ASKED_FROM = 6
"""Cylinders from which an engine may well have two heads."""


def may_have_two_heads(engine: Any) -> bool:
    """Whether nobody says how many heads there are, and there may well be two."""
    n, fasteners = engine.cylinders, engine.head_joint.fasteners
    likely = n >= ASKED_FROM and n % 2 == 0 and fasteners % 2 == 0
    return engine.heads is None and likely and fasteners >= 2 * (n + 2)


def usual_heads(engine: Any) -> float:
    """Cylinder heads where nobody says: two, which hold less, unless the count tells a row.

    Eights are vees; a six is in line where its fasteners stand alike around six bores in a row
    (common practice, no source).
    """
    n = engine.cylinders
    in_line = n == ASKED_FROM and (engine.head_joint.fasteners - 2 * (n + 1)) % n == 0
    return 2.0 if may_have_two_heads(engine) and not in_line else 1.0


def named_oil(engine: Any) -> Any:
    """The kind of lubricant that is named, or None."""
    return LUBRICANTS.get(engine.head_joint.lubricant)


def friction_width(engine: Any) -> float:
    """Spread of a named lubricant over that of one that nobody named [-]."""
    oil = named_oil(engine)
    return 1.0 if oil is None else float(oil.sd / FRICTION_SPREAD)


def usual_tightening(engine: Any) -> str:
    """Way of tightening where none is named."""
    joint = engine.head_joint
    if joint.tightening_stretch is not None:
        return "stretch"
    snug = joint.tightening_torque is None or joint.tightening_angle is not None
    return "angle" if snug else "torque"


@dataclass(frozen=True, kw_only=True)
class GasketKind:
    """What seals the combustion ring: how stiff, what it needs and what it loses. SI."""

    stiffness: float
    """Of its ring with the deck below it, for each metre of circle [N/m^2]."""
    line_load: float
    """That keeps it fully tight [N/m]."""
    relaxation: float
    """Share of the preload lost after heat cycles [-]."""
    lift_share: float = 0.4
    """Line load at which it lifts, over the one that keeps it fully tight [-]."""
    ring_share: float = 0.80
    """Share of the clamp that its ring bears; the rest presses around water and oil [-]."""


GASKETS = {
    "layered steel": GasketKind(stiffness=7e9, line_load=50e3, relaxation=0.07),
    "composition": GasketKind(stiffness=2e9, line_load=80e3, relaxation=0.12),
    "wire ring": GasketKind(
        stiffness=15e9, line_load=90e3, relaxation=0.05, lift_share=0.11, ring_share=0.90
    ),
}
"""Kinds by name; a wire ring is a solid wire of metal in a groove that bites into gasket or head.

It stands proud by 0.1 to 0.3 mm, so that it bears first and more of the clamp, 0.85 to 0.95. Bitten
in it is 0.5 to 0.9 mm wide, so that some 10 N/mm press as hard as the gas. It has no bead that
springs back: what gives is the metal around it, 13 to 21 kN/mm for each mm, by the contact of
cylinders (Johnson, Contact Mechanics, from memory), so firing takes more of its load than of a
layered gasket's. Layered steel's line load from memory, the rest [PRACTICE]."""


def gasket_of(engine: Any) -> GasketKind:
    """The kind of gasket that an engine has."""
    return GASKETS[engine.word("head_joint.gasket")]
