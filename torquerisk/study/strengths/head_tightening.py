"""How the head fasteners come to their preload, with the scatter of each way.

Each cause of scatter is drawn once: friction, strength and stiffness in the joint itself, here only
the tool and the hand. Fasteners tightened into yield are judged on breaking; the clamp that one
more stretch costs is counted in head clamping.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Notice
from torquerisk.case.joint_defaults import FRICTIONS
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.physics.head_joint import preload_loss, scatter, tightening
from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import LEAST_CUT, Draws, middle_draw
from torquerisk.study.strengths.fastener import Fastener, weakest_diameter, yield_preload

USUAL_YIELD_SHARE = 0.70
"""Tightening torque taken where none is given: to this share of yield at the stated friction."""
SNUG_YIELD_SHARE = 0.25
"""Snug torque of angle tightening where none is given, as a share of yield preload."""
USUAL_ANGLE_YIELD_SHARE = 0.95
"""Preload over yield that an angle method aims at where no angle is given."""
USUAL_STRETCH_YIELD_SHARE = 0.85
"""Preload over yield that a measured stretch aims at where none is given: it scatters by a few per
cent where torque, to 0.9, scatters by 25 (common practice, no source)."""
LOT_CORRELATION = 0.5
"""Of friction under the head with that in the thread: one lubricant, two faces (stated choice)."""
STRETCH_READING_SD = 0.008e-3
"""Of the mean stretch of a set, measured with a micrometer [m] (common practice, no source)."""
STRETCH_LENGTH_SD = 0.03
"""Of the stretch by the model at the right preload: ends and run-outs [-] (stated choice)."""
MOST_SNUG = 0.9
"""Preload of a snug torque over that at yield, at most [-]: an angle from there is no angle."""
LEAST_HARDENING = 0.01
"""Tensile strength over yield strength, less 1, at least [-]: of stated figures that are alike."""
TIGHTENED_FAR_TOO_LOW = "tightened-far-too-low"
LEAST_YIELD_SHARE = 0.2
"""Preload over that at yield, both in the middle, below which no head was ever tightened so."""
PLASTIC_FROM = 0.97
"""Preload over that at yield, both in the middle of the spreads, from which an angle is meant to
reach yield."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Untightened:
    """Fasteners in their joint by draw (N,), before they are tightened. SI."""

    fastener: Fastener
    friction: Array
    """In the thread that is turned."""
    head_friction: Array
    at_yield: Array
    """Preload at which tightening reaches yield."""
    borne: Array
    """Stretch past yield that a fastener bears before it necks."""
    soft: Array
    """Compliance of a fastener."""
    seats: float
    """What of that makes it no longer, end to end."""
    members: Array
    """Of what it clamps, gasket included."""
    around: float
    """Fasteners around one bore, which clamp its ring together."""
    usual_soft: float
    """Compliances in the middle of the spreads: an assumed angle or stretch rests on them, to be
    the same for whichever draws are asked."""
    usual_members: float
    relaxation: Array
    """Share of the preload that the gasket loses as it settles."""

    @property
    def lengthens(self) -> Array:
        """How much longer a fastener gets, end to end (N,) [m/N]."""
        return self.soft - self.seats

    @property
    def embedding_loss(self) -> Array:
        """Preload lost as surfaces flatten (N,) [N]."""
        return preload_loss.preload_loss_embedding(
            self.fastener.embedding,
            fastener_compliance=self.soft,
            member_compliance=self.members,
        )

    def in_service(self, assembly: Array, **more: Array) -> Array:
        """What is left of a preload as tightened once the joint has settled (N,) [N]."""
        return preload_loss.preload_in_service(
            assembly, embedding_loss=self.embedding_loss, gasket_relaxation=self.relaxation, **more
        )


def tightened_to_yield(engine: Engine, usual_preload: float, usual_at_yield: float) -> bool:
    """Whether the way of tightening brings fasteners to yield on purpose."""
    method = TighteningMethod(engine.word("head_joint.tightening"))
    if method is TighteningMethod.ANGLE or engine.has("head_joint.measured_stretch"):
        aimed = method in (TighteningMethod.ANGLE, TighteningMethod.YIELD)
        return aimed and usual_preload >= PLASTIC_FROM * usual_at_yield
    return method is TighteningMethod.YIELD


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


def assembly_preload(
    engine: Engine, draws: Draws, joint: Untightened, notices: list[Notice]
) -> tuple[Array, Array]:
    """Preload after tightening [N] and a fastener's length over its loose one [m], both (N,).

    Adds what was assumed to the notices. Preload is at most what the fastener bears while it is
    twisted; the length goes on past yield. A measured stretch goes before all that is known of the
    tightening.
    """
    if engine.has("head_joint.measured_stretch"):
        return _as_measured(engine, draws, joint, notices)
    return _as_tightened(engine, draws, joint, notices)


def far_too_low(engine: Engine, preload: float, at_yield: float) -> Iterator[Notice]:
    """A tightening that gives next to nothing, inputs in the middle [N]: a wrong unit mostly."""
    if preload >= LEAST_YIELD_SHARE * at_yield:
        return
    measured = engine.has("head_joint.measured_stretch")
    what = "measured_stretch" if measured else "tightening_torque"
    yield Notice(
        TIGHTENED_FAR_TOO_LOW,
        f"As described the head fasteners are tightened to {preload / at_yield:.0%} of what they "
        f"bear while tightened, where heads take 50 to 100 % (common practice, no source): [head_"
        f"joint] {what} is probably in another unit, or ten times too low.",
    )


def _as_measured(
    engine: Engine, draws: Draws, joint: Untightened, notices: list[Notice]
) -> tuple[Array, Array]:
    """Preload [N] and stretch [m] (N,) as tightened of fasteners that are longer by a stretch now
    that all has settled."""
    stretch = engine.given("head_joint.measured_stretch")
    sd = np.hypot(STRETCH_READING_SD / stretch, STRETCH_LENGTH_SD)
    cold = stretch * np.exp(sd * draws.deviates[spreads.TOOL.name]) / joint.lengthens
    assembly = (cold + joint.embedding_loss) / (1 - joint.relaxation)
    else_cold = joint.in_service(_as_tightened(engine, draws, joint, [])[0])
    over = float(np.mean(assembly > joint.at_yield))
    yielded = (
        f" In {over:.0%} of the simulated engines that is more than they bear without yielding: "
        "check it, its unit and their length."
        if over >= LEAST_CUT
        else ""
    )
    notices.append(
        Notice(
            "preload-measured",
            f"The measured stretch of {stretch * 1e3:.3f} mm sets the preload of the head "
            f"fasteners, {np.median(cold) / 1e3:.0f} kN each as they stand, cold, whatever torque, "
            f"angle and friction were (by them it would be {np.median(else_cold) / 1e3:.0f} kN); "
            "when tightened, before the joint settled, it was "
            f"{np.median(np.minimum(assembly, joint.at_yield)) / 1e3:.0f} kN. "
            f"It is as good as [head_joint] clamped_length and shank_diameter.{yielded}",
        )
    )
    return np.minimum(assembly, joint.at_yield), assembly * joint.lengthens


def _as_tightened(
    engine: Engine, draws: Draws, joint: Untightened, notices: list[Notice]
) -> tuple[Array, Array]:
    """Preload [N] and stretch [m] (N,) by the way of tightening."""
    method = TighteningMethod(engine.word("head_joint.tightening"))
    if method is TighteningMethod.ANGLE:
        return _by_angle(engine, draws, joint, notices)
    if method is TighteningMethod.STRETCH:
        return _by_stretch(engine, draws, joint, notices)
    if method is TighteningMethod.TORQUE:
        return _by_torque(engine, draws, joint, notices)
    preload = np.minimum(joint.at_yield * _tool(draws, joint, method), joint.at_yield)
    return preload, preload * joint.lengthens


def _tool(draws: Draws, joint: Untightened, method: TighteningMethod) -> Array:
    """What is reached over what is aimed at (N,), by tool and hand alone, mean over fasteners."""
    sd = scatter.relative_sd_of_mean(scatter.CONTROL_SD[method], effective_count=joint.around)
    return np.asarray(np.exp(sd * draws.deviates[spreads.TOOL.name]))


def usual_yield_preload(engine: Engine, fastener: Fastener) -> float:
    """Preload at the stated yield strength, with every input in the middle [N]."""
    return float(
        yield_preload(
            fastener,
            strength=fastener.strength.yield_strength,
            friction=engine.value("head_joint.thread_friction").value,
            diameter=weakest_diameter(engine, middle_draw(spreads.DRAWN), fastener)[0],
        )
    )


def torque_at(engine: Engine, fastener: Fastener, share: float) -> float:
    """Torque that brings a fastener to a share of its stated yield, inputs in the middle [N*m]."""
    preload = share * usual_yield_preload(engine, fastener)
    return float(
        tightening.torque_from_preload(preload, fastener.turned, *_middle_frictions(engine))
    )


def _middle_frictions(engine: Engine) -> tuple[float, float]:
    """Friction in the thread and under the head as given or assumed [-]."""
    thread, head = (engine.value(f"head_joint.{x}_friction").value for x in ("thread", "head"))
    return thread, head


def _torque(
    engine: Engine, draws: Draws, joint: Untightened, share: float, what: str, notices: list[Notice]
) -> Array:
    """Torque at the wrench (N,) [N*m]: as given with the wrench's error, or assumed."""
    if engine.has("head_joint.tightening_torque"):
        return draws.of_value(engine.value("head_joint.tightening_torque"))
    torque = torque_at(engine, joint.fastener, share)
    notices.append(
        Notice(
            "tightening-torque-assumed",
            Sentence(
                f"The head fasteners' {what} torque is assumed: ",
                Torque(torque),
                f", {share:.0%} of yield at the stated friction. Clamp follows it directly: give "
                "[head_joint] tightening_torque.",
            ),
        )
    )
    return torque * _tool(draws, joint, TighteningMethod.TORQUE)


def _preload(joint: Untightened, torque: Array) -> Array:
    return tightening.preload_from_torque(
        torque, joint.fastener.turned, joint.friction, joint.head_friction
    )


def _by_torque(
    engine: Engine, draws: Draws, joint: Untightened, notices: list[Notice]
) -> tuple[Array, Array]:
    """Preload [N] and stretch [m] (N,) by torque.

    A torque past yield stretches a fastener until it has hardened enough to bear it: in proportion,
    from none at yield to what is borne at tensile strength (stated choice). That little more
    preload is not counted.
    """
    torque = _torque(engine, draws, joint, USUAL_YIELD_SHARE, "tightening", notices)
    wanted = _preload(joint, torque)
    over = float(np.mean(wanted > joint.at_yield))
    if over > 0.05:
        notices.append(
            Notice(
                "tightened-past-yield",
                f"In {over:.0%} of the simulated engines the stated torque takes the head "
                "fasteners past yield while tightening; their preload is held at yield. Check "
                "the torque, its unit and the lubricant.",
            )
        )
    preload, strength = np.minimum(wanted, joint.at_yield), joint.fastener.strength
    hardens = max(strength.tensile_strength / strength.yield_strength - 1, LEAST_HARDENING)
    past = np.maximum(wanted / joint.at_yield - 1, 0.0) / hardens
    return preload, preload * joint.lengthens + past * joint.borne


def _by_stretch(
    engine: Engine, draws: Draws, joint: Untightened, notices: list[Notice]
) -> tuple[Array, Array]:
    """Preload and stretch of a fastener that is longer by a stretch, over how much it lengthens.

    Friction has no part in it, but for the twist that brings yield nearer.
    """
    stretch = engine.given("head_joint.tightening_stretch")
    if stretch is None:
        aim = USUAL_STRETCH_YIELD_SHARE * usual_yield_preload(engine, joint.fastener)
        stretch = aim * (joint.usual_soft - joint.seats)
        notices.append(
            Notice(
                "tightening-stretch-assumed",
                f"The stretch tightened to is assumed: {stretch * 1e3:.3f} mm, "
                f"{USUAL_STRETCH_YIELD_SHARE:.0%} of yield for this length. Give [head_joint] "
                "tightening_stretch.",
            )
        )
    reached = stretch * _tool(draws, joint, TighteningMethod.STRETCH)
    return np.minimum(reached / joint.lengthens, joint.at_yield), reached


def _by_angle(
    engine: Engine, draws: Draws, joint: Untightened, notices: list[Notice]
) -> tuple[Array, Array]:
    """Preload [N] and stretch [m] after a snug torque and an angle (N,).

    The fastener grows by all that the thread advances, less what its seat gives way.
    """
    snug = _preload(joint, _torque(engine, draws, joint, SNUG_YIELD_SHARE, "snug", notices))
    over = float(np.mean(snug > MOST_SNUG * joint.at_yield))
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
    angle = engine.given("head_joint.tightening_angle")
    if angle is None:
        angle = usual_angle(engine, joint.fastener, joint.usual_soft, joint.usual_members)
        notices.append(
            Notice(
                "tightening-angle-assumed",
                f"The tightening angle is assumed: {np.degrees(angle):.0f} degrees, which brings "
                f"the fasteners to about {USUAL_ANGLE_YIELD_SHARE:.0%} of yield. Give [head_joint] "
                "tightening_angle.",
            )
        )
    turned = angle * _tool(draws, joint, TighteningMethod.ANGLE)
    start = np.minimum(snug, MOST_SNUG * joint.at_yield)
    preload = tightening.preload_from_angle(
        turned,
        thread=joint.fastener.turned,
        snug_preload=start,
        fastener_compliance=joint.soft,
        member_compliance=joint.members,
        yield_preload=joint.at_yield,
    )
    advance = turned * joint.fastener.turned.pitch / (2 * np.pi)
    grown = joint.soft * start + advance - joint.members * (preload - start)
    return preload, grown - joint.seats * preload


def usual_angle(engine: Engine, fastener: Fastener, soft: float, members: float) -> float:
    """Angle from the snug torque to the usual share of yield, inputs in the middle [rad].

    soft, members: compliance of a fastener, and of all it clamps, in the middle [m/N].
    """
    torque = engine.given("head_joint.tightening_torque")
    snug = tightening.preload_from_torque(
        torque_at(engine, fastener, SNUG_YIELD_SHARE) if torque is None else torque,
        fastener.turned,
        *_middle_frictions(engine),
    )
    aim = USUAL_ANGLE_YIELD_SHARE * usual_yield_preload(engine, fastener)
    if aim <= snug:
        raise InputError(
            "head_joint.tightening is 'angle' without a tightening_angle, but its torque alone "
            f"brings the fasteners past {USUAL_ANGLE_YIELD_SHARE:.0%} of yield; give the "
            "angle, or a snug torque that is lower."
        )
    return float(
        tightening.angle_from_preload(
            aim,
            thread=fastener.turned,
            snug_preload=snug,
            fastener_compliance=soft,
            member_compliance=members,
        )
    )
