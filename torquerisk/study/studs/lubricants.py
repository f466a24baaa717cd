"""What is on thread and bearing face while tightening, and what changes when it does."""

from collections.abc import Iterator
from dataclasses import dataclass

from torquerisk.case import Engine
from torquerisk.case.joint_defaults import FRICTIONS
from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.tightening import preload_from_torque, torque_from_preload
from torquerisk.study.strengths.fastener import Fastener, yield_preload

OWN = "own"
"""Name of what the engine file states or assumes."""
WIDE = 2.0
"""Standard deviations each way that a range of friction is read as."""


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
    def said(self) -> str:
        """Its name inside a sentence, '' for what the engine file has."""
        return "" if self.name == OWN else self.name

    @property
    def middle(self) -> tuple[float, float]:
        """Friction of thread and head in the middle [-]."""
        return self.thread_friction, self.head_friction

    @property
    def frictions(self) -> tuple[float, ...]:
        """Of thread and head, middle and standard deviation [-]: what it is to the joint."""
        return (*self.middle, self.thread_sd, self.head_sd)

    def at(self, deviations: float) -> tuple[float, float]:
        """Friction of thread and head so many standard deviations above the middle [-].

        Not beyond what is believed of any, as in the draws.
        """
        low, high = FRICTIONS
        sds = self.thread_sd, self.head_sd
        thread, head = (
            min(max(friction + deviations * sd, low), high)
            for friction, sd in zip(self.middle, sds, strict=True)
        )
        return thread, head


def own_lubricant(engine: Engine) -> Lubricant:
    """The lubricant that the engine file states, or assumes, by its friction."""
    thread = engine.value("head_joint.thread_friction")
    head = engine.value("head_joint.head_friction")
    named = engine.given("head_joint.lubricant")
    said = "as stated" if thread.given else named or "not named, taken as oiled or slipperier"
    return Lubricant(
        name=OWN,
        thread_friction=thread.value,
        head_friction=head.value,
        thread_sd=thread.sd,
        head_sd=head.sd,
        words=f"{said}: friction {thread.value:.3g} in the thread, {head.value:.3g} under head or "
        "nut",
    )


def lubricant(engine: Engine, name: str) -> Lubricant:
    """The lubricant of a name: 'own', or what is on the tin."""
    key = name.strip().lower()
    if key == OWN:
        return own_lubricant(engine)
    row = LUBRICANTS.get(key)
    if row is None:
        raise InputError(
            f"lubricant is {name!r}, but must be 'own' (the engine file's friction) or one of: "
            f"{', '.join(LUBRICANTS)}."
        )
    return Lubricant(
        name=row.name, thread_friction=row.middle, head_friction=row.middle, thread_sd=row.sd,
        head_sd=row.sd, words=f"{row.name}, friction {row.low:.2f} to {row.high:.2f}: {row.where} "
        f"({row.source})",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class OilChange:
    """One fastener with another lubricant: the torque for its preload, or the preload of its
    torque."""

    oil: Lubricant
    torque: float
    """That gives the same preload in the middle [N*m]."""
    preload: float
    """That the same torque gives in the middle [N]."""
    preload_least: float
    """With friction two standard deviations up [N]."""
    preload_most: float
    """And down [N]; not cut at yield."""
    yield_share: float
    """Of the stated yield that the same torque may reach, at the most slippery [-]."""


def oil_changes(
    engine: Engine, fastener: Fastener, diameter: float, torque: float, present: Lubricant
) -> tuple[OilChange, ...]:
    """What a torque [N*m] and its preload become with each lubricant, the present one first.

    diameter: of the section that yields first [m].
    """
    thread = fastener.turned

    def preload(friction: tuple[float, float]) -> float:
        return float(preload_from_torque(torque, thread, *friction))

    middle = preload(present.at(0.0))

    def change(oil: Lubricant) -> OilChange:
        slippery = oil.at(-WIDE)
        least_yield = yield_preload(
            fastener, strength=fastener.strength.yield_strength, friction=slippery[0],
            diameter=diameter,
        )  # fmt: skip
        return OilChange(
            oil=oil,
            torque=float(torque_from_preload(middle, thread, *oil.middle)),
            preload=preload(oil.at(0.0)),
            preload_least=preload(oil.at(WIDE)),
            preload_most=preload(slippery),
            yield_share=preload(slippery) / float(least_yield),
        )  # fmt: skip

    return tuple(change(oil) for oil in (present, *other_lubricants(engine, present)))


def other_lubricants(engine: Engine, present: Lubricant) -> Iterator[Lubricant]:
    """Every kind by name that is not the present one under another name."""
    for name in LUBRICANTS:
        oil = lubricant(engine, name)
        if oil.frictions != present.frictions:
            yield oil
