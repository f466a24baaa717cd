"""Burned fraction against crank angle: one Wiebe function (spark) or two (compression ignition)."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require_between, require_positive

WIEBE_EFFICIENCY = 6.908
"""Wiebe a: 99.9 % burned at the end of the nominal duration (-ln 0.001)."""
SPARK_SHAPE = 2.0
"""Wiebe m of a spark engine. Source: [HEYWOOD] section 9.2 (a = 5, m = 2)."""
PREMIXED_SHAPE = 3.0
"""Wiebe m of premixed burning. Source: [MIYAMOTO]."""
PREMIXED_DURATION = np.radians(7.0)
"""Nominal duration of premixed burning [rad]. Source: [MIYAMOTO]."""
DIFFUSION_SHAPE = 0.5
"""Wiebe m of diffusion burning with direct injection. Source: [MIYAMOTO]."""
PREMIXED_LEAST, PREMIXED_MOST = 0.02, 0.7
"""Share of premixed burning within which its correlation is used [-]."""
PREMIXED_BEND = 0.1
"""Width over which the correlation eases into PREMIXED_LEAST [-] (common practice, no source: some
fuel always burns premixed, a little more of it where the delay is longer)."""
INJECTED_DELAY_EXPONENT = -0.26
"""Of the ignition delay in the share that burns as it is injected [-]. Source: [WATSON]."""
INJECTED_LOG_SD = 0.25
"""Spread of the share that burns as it is injected, at a known delay (common practice, no source).
Pilot and split injection are not known and the correlation is of engines without them: at full load
it makes the premixed share 2 to 30 %."""
_BURNED_OUT = 40.0
"""Wiebe exponent past which what is left, e^-40, is less than a float resolves."""


@dataclass(frozen=True, kw_only=True, eq=False)
class BurnCurve:
    """Sum of Wiebe functions that start together, lane by lane.

    start: of burning, from firing top dead centre [rad], (n,).
    durations, shapes: nominal duration [rad] and m [-] of each part, (part, n).
    shares: share of the heat in each part [-], (part, n), summing to 1 over parts.
    x = sum_i share_i (1 - exp(-6.908 ((theta - start)/duration_i)^(m_i + 1))).
    Source: [HEYWOOD] eq. 9.1, [MIYAMOTO].
    """

    start: Array
    durations: Array
    shapes: Array
    shares: Array

    @property
    def lanes(self) -> int:
        """Number of lanes."""
        return self.start.size

    @property
    def end(self) -> Array:
        """Angle after which nothing is left to burn within a float's resolution [rad], (n,)."""
        stretch = (_BURNED_OUT / WIEBE_EFFICIENCY) ** (1 / (self.shapes + 1))
        return self.start + np.max(self.durations * stretch, axis=0)

    def burned_fraction(self, angle: Array) -> Array:
        """Burned share of what will burn [-], (angle, n). angle: (k,) or (k, n) [rad]."""
        since = np.asarray(angle, dtype=float)
        since = since[:, None] - self.start if since.ndim == 1 else since - self.start
        np.maximum(since, 0.0, out=since)
        total = np.zeros_like(since)
        for duration, shape, share in zip(self.durations, self.shapes, self.shares, strict=True):
            total -= share * np.expm1(-WIEBE_EFFICIENCY * _power(since / duration, shape + 1))
        return total

    def lane(self, selection: slice) -> "BurnCurve":
        """Return the curve of some lanes only."""
        return BurnCurve(
            start=self.start[selection],
            durations=self.durations[:, selection],
            shapes=self.shapes[:, selection],
            shares=self.shares[:, selection],
        )


def wiebe(ca50: Floats, duration_10_90: Floats, shape: Floats = SPARK_SHAPE) -> BurnCurve:
    """Single Wiebe curve with a given CA50 and 10-90 % duration; closed form, exact.

    ca50: angle of 50 % burned, from firing top dead centre [rad], (n,).
    duration_10_90: from 10 to 90 % burned [rad], (n,). shape: m [-], default 2 (spark).
    Source: [HEYWOOD] eq. 9.1.
    """
    require_positive("10-90 % burn duration", duration_10_90, "rad")
    require_positive("Wiebe shape", shape, "")
    middle, spread, m = np.broadcast_arrays(*np.atleast_1d(ca50, duration_10_90, shape))
    t10, t50, t90 = (_wiebe_time(x, m) for x in (0.1, 0.5, 0.9))
    duration = spread / (t90 - t10)
    return BurnCurve(
        start=middle - t50 * duration,
        durations=duration[None],
        shapes=np.asarray(m, dtype=float)[None],
        shares=np.ones((1, duration.size)),
    )


def premixed_share(lambda_: Floats, ignition_delay: Floats, injected_factor: Floats = 1.0) -> Array:
    """Share of the heat released by premixed burning in a diesel [-]; falls with load.

    lambda_: overall air-fuel equivalence ratio [-]. ignition_delay: tau [s], by
    `ignition_delay_hardenberg_hase`. injected_factor: on the share that burns as it is injected,
    0.926 phi^0.37 (tau/ms)^-0.26 [-], which 1 - beta is. Below 0 the correlation says that all
    burns as it is injected; beta eases into PREMIXED_LEAST over PREMIXED_BEND instead, and is held
    at PREMIXED_MOST. Spread INJECTED_LOG_SD.
    Fitted to direct-injection diesels of around 1980, so only a start; published a 0.8 to 0.95,
    b 0.25 to 0.45, c 0.25 to 0.5 for 0.926, 0.37 and 0.26.
    Source: [WATSON].
    """
    share = premixed_share_unheld(lambda_, ignition_delay, injected_factor)
    return np.minimum(share, PREMIXED_MOST)


def premixed_share_unheld(
    lambda_: Floats, ignition_delay: Floats, injected_factor: Floats = 1.0
) -> Array:
    """`premixed_share` before it is held at PREMIXED_MOST [-]; arguments as there."""
    require_positive("injected_factor", injected_factor, "")
    return eased_share(injected_share(lambda_, ignition_delay) * np.asarray(injected_factor))


def eased_share(injected: Floats) -> Array:
    """Premixed share [-] where a share burns as it is injected [-]: 1 less it, never below a floor.

    Eases into PREMIXED_LEAST over PREMIXED_BEND; see `premixed_share`.
    """
    over = (1 - np.asarray(injected) - PREMIXED_LEAST) / PREMIXED_BEND
    return np.asarray(PREMIXED_LEAST + PREMIXED_BEND * np.logaddexp(0.0, over))


def injected_share(lambda_: Floats, ignition_delay: Floats) -> Array:
    """Share that burns as it is injected by correlation [-]; above 1 at high load.

    lambda_: [-]; ignition_delay: [s]. Source: [WATSON].
    """
    require_positive("lambda", lambda_, "")
    require_positive("ignition_delay", ignition_delay, "s")
    delay = np.asarray(ignition_delay) * 1e3
    return np.asarray(0.926 * np.asarray(lambda_) ** -0.37 * delay**INJECTED_DELAY_EXPONENT)


def double_wiebe(ca50: Floats, duration_10_90: Floats, premixed: Floats) -> BurnCurve:
    """Premixed and diffusion burning whose sum has a given CA50 and 10-90 % duration.

    ca50, duration_10_90: of the sum [rad], (n,). premixed: share of the heat in the premixed part
    [-], 0 to 0.75, see `premixed_share`. That part lasts 7 degrees, but at most 0.35 of the 10-90 %
    duration, so that a short burn stays two-part. The diffusion part's duration is solved for.
    Source: [MIYAMOTO].
    """
    require_positive("10-90 % burn duration", duration_10_90, "rad")
    require_between("premixed share", premixed, 0, 0.75)
    part = np.minimum(PREMIXED_DURATION, 0.35 * np.asarray(duration_10_90))
    middle, spread, share, part = (
        np.array(x, dtype=float)
        for x in np.broadcast_arrays(*np.atleast_1d(ca50, duration_10_90, premixed, part))
    )
    ones = np.ones_like(share)
    shapes = np.stack([PREMIXED_SHAPE * ones, DIFFUSION_SHAPE * ones])
    shares = np.stack([share, 1 - share])

    def curve(diffusion: Array) -> BurnCurve:
        return BurnCurve(
            start=np.zeros_like(share),
            durations=np.stack([part, diffusion]),
            shapes=shapes,
            shares=shares,
        )

    def excess(diffusion: Array) -> Array:
        trial = curve(diffusion)
        return _angle_at(trial, 0.9) - _angle_at(trial, 0.1) - spread

    diffusion = _root(excess, 0.05 * spread, 8 * spread)
    start = middle - _angle_at(curve(diffusion), 0.5)
    return BurnCurve(
        start=start, durations=np.stack([part, diffusion]), shapes=shapes, shares=shares
    )


def _angle_at(curve: BurnCurve, fraction: float) -> Array:
    """Angle at which `fraction` is burned [rad], (n,)."""
    return _root(
        lambda angle: curve.burned_fraction(angle[None])[0] - fraction, curve.start, curve.end
    )


def _root(function: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Root of a function of every lane that rises through 0 between `low` and `high`.

    False position with the Illinois rule, to 1e-13 of the bracket.
    """
    a, b, tolerance = low, high, 1e-13 * np.max(np.abs(high - low))
    at_a, at_b = function(a), function(b)
    for _ in range(100):
        c = b - at_b * (b - a) / np.where(at_b == at_a, 1.0, at_b - at_a)
        at_c = function(c)
        crossed = at_c * at_b < 0
        a, at_a = np.where(crossed, b, a), np.where(crossed, at_b, 0.5 * at_a)
        moved = np.abs(c - b)
        b, at_b = c, at_c
        if np.all((moved <= tolerance) | (at_c == 0)):
            break
    return b


def _wiebe_time(fraction: float, shape: Array) -> Array:
    """Share of the nominal duration at which `fraction` is burned."""
    return (-np.log1p(-fraction) / WIEBE_EFFICIENCY) ** (1 / (shape + 1))


def _power(base: Array, exponent: Array) -> Array:
    """Power; the usual exponents are done by multiplication and square root, which is much faster.

    3 of a spark engine; 4 and 1.5 of premixed and diffusion burning.
    """
    usual = exponent.flat[0]
    if usual not in (1.5, 3.0, 4.0) or not np.all(exponent == usual):
        return base**exponent
    if usual == 1.5:
        return base * np.sqrt(base)
    square = base * base
    return square * (base if usual == 3.0 else square)
