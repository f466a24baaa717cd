"""One fastening judged against a torque curve, by the same head model as the assessment."""

from dataclasses import replace

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.lubricants import LUBRICANTS
from torquerisk.physics.head_joint import preload_loss
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import at_share
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.limits import capacity_torque
from torquerisk.study.strengths.fastener import gasket_compliance
from torquerisk.study.strengths.head import HeadCapacity, head_capacity
from torquerisk.study.studs.fastener_loads import bearing_under_head
from torquerisk.study.studs.fastening import Change, Fastening
from torquerisk.study.studs.joint_draws import draws_for
from torquerisk.study.studs.results import (
    EDGE,
    Ask,
    JointState,
    Mode,
    StateResult,
    StudChoice,
    spread_of,
)

AGED_RELAXATION = 2.0
"""Gasket relaxation after many heat cycles over that after the first few.

Common practice, no source.
"""


def judge(ask: Ask, made: Fastening, was: Engine, draws: Draws) -> StudChoice:
    """A fastening at the curve asked. was: the engine as it is; draws: with its new fasteners."""
    own = draws_for(draws, was, made)
    head = head_capacity(made.engine, own)
    states = preloads_by_state(made.engine, head)
    past = _past_yield(made, head, own)
    plastic = head.to_yield
    lifts = {state: lift_of(head, preload) for state, preload in states.items()}
    new, aged = lifts[JointState.HOT_NEW], lifts[JointState.HOT_AGED]
    gives = head.pressure_at_fastener_load(head.yield_load)
    fastener, thread_load = loads_at_worst(ask, head)
    every = {
        Mode.LIFT: new,
        Mode.STRIP: head.strip_pressure(),
        Mode.YIELD: gives,
        Mode.BREAK: np.where(head.breaks, 0.0, np.inf),
    }
    chances = {mode: float(ask.chance(pressure).max()) for mode, pressure in every.items()}
    used, stripped = fastener / head.yield_load, thread_load / head.strip_load
    modes = {m: p for m, p in every.items() if not (plastic and m is Mode.YIELD)}
    bearing = bearing_under_head(made.engine, head)
    held = np.min(list(modes.values()), axis=0)
    fail = float(ask.chance(held).max())
    return StudChoice(
        fastening=made,
        preload=spread_of(head.assembly_preload),
        clamp=spread_of(head.preload),
        states={
            state: StateResult(
                preload=spread_of(preload), lift_chance=float(ask.chance(lifts[state]).max())
            )
            for state, preload in states.items()
        },
        clamp_to_spare=clamp_to_spare(ask, head),
        past_yield=past,
        yield_utilisation=float(np.median(used)),
        yield_chance=chances[Mode.YIELD],
        strip_utilisation=float(np.median(stripped)),
        strip_chance=chances[Mode.STRIP],
        fatigue_utilisation=_fatigue(ask, head),
        bearing_utilisation=bearing.utilisation,
        washer_diameter=bearing.washer,
        torque_held=torque_held(ask, held),
        torque_held_aged=torque_held(ask, np.minimum(held, aged)),
        torque_held_middle=torque_held(ask, held, 0.5),
        stretch=spread_of(head.stretch),
        holds=fail <= ask.accepted,
        holds_aged=float(ask.chance(np.minimum(held, aged)).max()) <= ask.accepted,
        first_to_fail=_first(chances, modes),
        fails=fails_of(ask, chances, modes),
        break_chance=chances[Mode.BREAK],
        into_gasket=_into_gasket(made, head, own),
        plastic=plastic,
        pressure_held=held,
        close=abs(fail - ask.accepted) <= ask.sampling,
        head=head,
        draws=own,
    )


def _past_yield(made: Fastening, head: HeadCapacity, draws: Draws) -> float:
    """Share of fasteners that tightening takes past yield [-].

    Where nobody said what was on the present ones they are taken as oiled: their maker's torque
    goes with his oil. That they may have been more slippery is left to breaking and to clamp.
    """
    past, friction = head.assembly_utilisation >= 1 - EDGE, "head_joint.thread_friction"
    given = made.engine.has(friction) or made.engine.has("head_joint.lubricant")
    if made.change is Change.NONE and not given:
        oiled = draws.of_value(made.engine.value(friction)) >= LUBRICANTS["engine oil"].low
        past = past[oiled] if oiled.any() else past
    return float(np.mean(past))


def _into_gasket(made: Fastening, head: HeadCapacity, draws: Draws) -> float:
    if made.method is not TighteningMethod.ANGLE:
        return 0.0
    turned = head.fastener_compliance + head.member_compliance
    return float(np.median(gasket_compliance(made.engine, draws) / turned))


def lift_of(head: HeadCapacity, preload: Array) -> Array:
    """Lift pressure (N,) [Pa] at a preload (N,) [N]."""
    return replace(head, preload=preload).lift_pressure()


def aged_relaxation(engine: Engine) -> float:
    """Gasket relaxation of an aged joint in the middle [-], held at the most that is declared."""
    name = "head_joint.gasket_relaxation"
    return min(AGED_RELAXATION * engine.value(name).value, engine.declaration(name).high)


def preloads_by_state(engine: Engine, head: HeadCapacity) -> dict[JointState, Array]:
    """Preload per fastener (N,) [N] in every state.

    Aged: the gasket has relaxed AGED_RELAXATION times as much, up to the most that is declared, and
    what a fastener could not hold when it first got hot is lost when cold.
    """
    most = engine.declaration("head_joint.gasket_relaxation").high
    relaxed = np.minimum(AGED_RELAXATION * head.gasket_relaxation, most) - head.gasket_relaxation
    holds, gain = head.straight_yield, head.thermal_gain
    again = preload_loss.preload_cold_again(head.preload_cold, thermal_gain=gain, most=holds)
    aged = again - relaxed * head.assembly_preload
    return {
        JointState.COLD_NEW: head.preload_cold,
        JointState.HOT_NEW: head.preload_hot,
        JointState.COLD_AGED: np.maximum(aged, 0.0),
        JointState.HOT_AGED: np.clip(aged + gain, 0.0, holds),
    }


def loads_at_worst(ask: Ask, head: HeadCapacity) -> tuple[Array, Array]:
    """Load of a fastener and of its thread in the block at the worst speed (N,) [N]."""
    added = head.gain * ask.worst[ask.worst_speed] * head.sealing_area
    fastener = head.preload_cold + added
    return fastener, np.maximum(fastener, head.assembly_preload)


def clamp_to_spare(ask: Ask, head: HeadCapacity) -> float:
    """Clamp over what is needed at the accepted chance and the hardest speed, less 1 [-]."""
    used = head.preload_required(ask.worst[ask.hard]) / np.maximum(head.preload, 1.0)
    return float(1 / -at_share(-used, ask.accepted).min() - 1)


def torque_held(ask: Ask, pressure: Array, share: float | None = None) -> float:
    """Peak of the curve, scaled as a whole, that a pressure (N,) [Pa] carries [N*m].

    share: of simulated engines that carry less; when left out the accepted chance, so that it
    reaches the target where the verdict is that it holds. At the hardest speeds; 0 where no torque
    is carried.
    """
    scale, share = np.inf, ask.accepted if share is None else share
    for s in ask.hard:
        capacity = capacity_torque(ask.loads.worst[s], pressure, ask.loads.torque[s])
        scale = min(scale, float(at_share(capacity, share) / ask.torque[s]))
    return max(scale, 0.0) * ask.target


def _fatigue(ask: Ask, head: HeadCapacity) -> float:
    """Greatest median of mean peak pressure over the fatigue guidance's pressure [-]."""
    allowed = np.maximum(head.fatigue_pressure(), 1.0)
    return float(np.median(ask.peak[ask.hard] / allowed, axis=1).max())


def fails_of(ask: Ask, chances: dict[Mode, float], held: dict[Mode, Array]) -> tuple[Mode, ...]:
    """What passes the accepted chance alone; where nothing does, all that has any chance."""
    likely = sorted((m for m in held if chances[m] > 0), key=lambda mode: -chances[mode])
    alone = tuple(mode for mode in likely if chances[mode] > ask.accepted)
    return alone[:1] or tuple(likely) or (_first(chances, held),)


def _first(chances: dict[Mode, float], held: dict[Mode, Array]) -> Mode:
    """What fails first: the likeliest, or the one with the least pressure where none is likely."""
    if max(chances[mode] for mode in held) > 0:
        return max(held, key=lambda mode: chances[mode])
    return min(held, key=lambda mode: float(np.quantile(held[mode], 0.05, method="lower")))
