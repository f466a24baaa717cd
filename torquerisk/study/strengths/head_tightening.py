"""How the head fasteners come to their preload: by torque, angle or yield, with its scatter.

Fasteners tightened into yield are judged on breaking; the clamp that one more stretch costs is
counted in head clamping.
"""

import numpy as np

from torquerisk.case import Engine, Notice
from torquerisk.case.sections_joint import FRICTIONS
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.physics.head_joint import scatter, tightening
from torquerisk.physics.head_joint.property_class import StrengthClass
from torquerisk.physics.head_joint.screw_thread import ScrewThread
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import LEAST_CUT, Draws

USUAL_YIELD_SHARE = 0.70
"""Tightening torque taken where none is given: to this share of yield at the stated friction."""
SNUG_YIELD_SHARE = 0.25
"""Snug torque of angle tightening where none is given, as a share of yield preload."""
USUAL_ANGLE_YIELD_SHARE = 0.95
"""Preload over yield that an angle method aims at where no angle is given."""
LOT_CORRELATION = 0.5
"""Of friction under the head with that in the thread: one lubricant, two faces (stated choice)."""
MOST_SNUG = 0.9
"""Preload of a snug torque over that at yield, at most [-]: an angle from there is no angle."""
PLASTIC_FROM = 0.97
"""Preload over that at yield, both in the middle of the spreads, from which an angle is meant to
reach yield."""


def tightened_to_yield(engine: Engine, usual_preload: float, usual_at_yield: float) -> bool:
    """Whether the way of tightening brings fasteners to yield on purpose."""
    method = scatter.tightening_method(engine.word("head_joint.tightening"))
    if method is scatter.TighteningMethod.ANGLE:
        return usual_preload >= PLASTIC_FROM * usual_at_yield
    return method is scatter.TighteningMethod.YIELD


def head_friction_draws(engine: Engine, draws: Draws, friction: Array) -> Array:
    """Friction under the head (N,): half correlated with the thread's, one lot of lubricant.

    Spread as declared where both spreads are alike, between the two else.
    """
    return np.clip(head_friction_unheld(engine, draws, friction), *FRICTIONS)


def head_friction_unheld(engine: Engine, draws: Draws, friction: Array) -> Array:
    """Friction under the head (N,) before it is held within FRICTIONS."""
    value = engine.value("head_joint.head_friction")
    thread = engine.value("head_joint.thread_friction")
    own = draws.of_value(value) - value.value
    lot = friction - thread.value
    alone = np.sqrt(1 - LOT_CORRELATION**2)
    return np.asarray(value.value + alone * own + LOT_CORRELATION * lot)


def _tool_scatter(
    engine: Engine, draws: Draws, method: scatter.TighteningMethod, around: float
) -> Array:
    """Preload over its mean (N,) from tool and hand, friction apart, as a mean over fasteners.

    around: fasteners around one bore, which clamp its ring together.
    """
    one = scatter.PRELOAD_SCATTER[method]
    alone = one.control_sd if method is scatter.TighteningMethod.TORQUE else one.relative_sd
    sd = scatter.relative_sd_of_mean(alone, effective_count=around)
    return np.exp(sd * draws.deviates[spreads.TOOL.name])


def assembly_preload(
    engine: Engine,
    draws: Draws,
    thread: ScrewThread,
    strength: StrengthClass,
    around: float,
    friction: Array,
    head_friction: Array,
    at_yield: Array,
    give: Array,
    usual_give: float,
    notices: list[Notice],
) -> Array:
    """Preload after tightening (N,) [N], by torque, angle or yield; capped at yield.

    around: fasteners around one bore. usual_give: compliance of fastener and parts in the middle of
    the spreads [m/N]; an assumed angle rests on it, to be the same for whichever draws are asked.
    """
    method = scatter.tightening_method(engine.word("head_joint.tightening"))
    tool = _tool_scatter(engine, draws, method, around)
    nominal = engine.value("head_joint.thread_friction").value
    nominal_head = engine.value("head_joint.head_friction").value
    middle_yield = float(
        tightening.preload_at_yield(
            thread=thread, yield_strength=strength.yield_strength, thread_friction=nominal
        )
    )

    def torque_for(preload: float) -> float:
        return float(
            tightening.torque_from_preload(
                preload, thread=thread, thread_friction=nominal, head_friction=nominal_head
            )
        )

    if method is scatter.TighteningMethod.YIELD:
        return at_yield * tool
    angle = scatter.TighteningMethod.ANGLE
    share = SNUG_YIELD_SHARE if method is angle else USUAL_YIELD_SHARE
    torque = (
        draws.of_value(engine.value("head_joint.tightening_torque"))
        if engine.has("head_joint.tightening_torque")
        else np.full(draws.count, torque_for(share * middle_yield))
    )
    if not engine.has("head_joint.tightening_torque"):
        notices.append(
            Notice(
                "tightening-torque-assumed",
                Sentence(
                    f"The head fasteners' {'snug' if method is angle else 'tightening'} torque is "
                    "assumed: ",
                    Torque(float(torque[0])),
                    f", {share:.0%} of yield at the stated friction. Clamp follows it directly: "
                    "give [head_joint] tightening_torque.",
                ),
            )
        )
    by_torque = tightening.preload_from_torque(
        torque, thread=thread, thread_friction=friction, head_friction=head_friction
    )
    if method is scatter.TighteningMethod.TORQUE:
        wanted = by_torque * tool
        over = float(np.mean(wanted > at_yield))
        if over > 0.05:
            notices.append(
                Notice(
                    "tightened-past-yield",
                    f"In {over:.0%} of the simulated engines the stated torque takes the head "
                    "fasteners past yield while tightening; their preload is held at yield. Check "
                    "the torque, its unit and the lubricant.",
                )
            )
        return np.minimum(wanted, at_yield)
    named = engine.given("head_joint.tightening_torque") or torque_for(share * middle_yield)
    usual_snug = float(
        tightening.preload_from_torque(
            named, thread=thread, thread_friction=nominal, head_friction=nominal_head
        )
    )
    angle_gain = USUAL_ANGLE_YIELD_SHARE * middle_yield - usual_snug
    usual_angle = angle_gain * usual_give * 2 * np.pi / thread.pitch
    return _by_angle(engine, thread, by_torque, usual_angle, at_yield, give, tool, notices)


def _by_angle(
    engine: Engine,
    thread: ScrewThread,
    snug: Array,
    usual_angle: float,
    at_yield: Array,
    give: Array,
    tool: Array,
    notices: list[Notice],
) -> Array:
    """Preload after a snug torque and an angle (N,) [N], capped at yield."""
    over = float(np.mean(snug > MOST_SNUG * at_yield))
    if over >= LEAST_CUT:
        notices.append(
            Notice(
                "snug-torque-range",
                f"In {over:.0%} of the simulated engines the snug torque alone brings the head "
                f"fasteners past {MOST_SNUG:.0%} of yield; they are taken to start their angle "
                "from there. Check that [head_joint] tightening_torque is the snug torque, its "
                "unit and the friction.",
            )
        )
    snug = np.minimum(snug, MOST_SNUG * at_yield)
    if engine.has("head_joint.tightening_angle"):
        angle = engine.value("head_joint.tightening_angle").value
    else:
        if usual_angle <= 0:
            raise InputError(
                "head_joint.tightening is 'angle' without a tightening_angle, but its torque alone "
                f"brings the fasteners past {USUAL_ANGLE_YIELD_SHARE:.0%} of yield; give the "
                "angle, or a snug torque that is lower."
            )
        angle = usual_angle
        notices.append(
            Notice(
                "tightening-angle-assumed",
                f"The tightening angle is assumed: {np.degrees(angle):.0f} degrees, which brings "
                f"the fasteners to about {USUAL_ANGLE_YIELD_SHARE:.0%} of yield. Give [head_joint] "
                "tightening_angle.",
            )
        )
    preload, _ = tightening.preload_from_angle(
        angle,
        thread=thread,
        snug_preload=snug,
        fastener_compliance=give,
        member_compliance=np.zeros_like(give),
        yield_preload=at_yield,
    )
    return np.minimum(preload * tool, at_yield)
