"""What is on thread and bearing face while tightening: the engine file's friction, or a class."""

from dataclasses import dataclass

from torquerisk.case import Engine
from torquerisk.case.sections_joint import FRICTIONS
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.scatter import FRICTION_CLASSES


@dataclass(frozen=True, kw_only=True)
class Lubricant:
    """What is on thread and head, by its friction."""

    name: str
    thread_friction: float
    head_friction: float
    thread_sd: float
    head_sd: float
    words: str

    @property
    def least(self) -> tuple[float, float]:
        """Friction of thread and head two standard deviations below the middle [-].

        Not below what is believed of any, as in the draws.
        """
        return (
            max(self.thread_friction - 2 * self.thread_sd, FRICTIONS[0]),
            max(self.head_friction - 2 * self.head_sd, FRICTIONS[0]),
        )


def own_lubricant(engine: Engine) -> Lubricant:
    """The lubricant that the engine file states, or assumes, by its friction."""
    thread = engine.value("head_joint.thread_friction")
    head = engine.value("head_joint.head_friction")
    said = "stated" if thread.given else "assumed"
    return Lubricant(
        name="own",
        thread_friction=thread.value,
        head_friction=head.value,
        thread_sd=thread.sd,
        head_sd=head.sd,
        words=f"as {said}: friction {thread.value:.2f} in the thread, {head.value:.2f} under head "
        "or nut",
    )


def lubricant(engine: Engine, name: str) -> Lubricant:
    """The lubricant that a name stands for: 'own', or friction class 'A' to 'D'. [VDI2230] A5."""
    key = name.strip()
    if key.lower() == "own":
        return own_lubricant(engine)
    if key.upper() not in FRICTION_CLASSES:
        raise InputError(
            f"lubricant is {name!r}, but must be 'own' (the engine file's friction) or a friction "
            f"class: {', '.join(FRICTION_CLASSES)}."
        )
    row = FRICTION_CLASSES[key.upper()]
    return Lubricant(
        name=row.name,
        thread_friction=row.middle,
        head_friction=row.middle,
        thread_sd=row.sd,
        head_sd=row.sd,
        words=f"friction class {row.name}, {row.low:.2f} to {row.high:.2f}: {row.typical}",
    )
