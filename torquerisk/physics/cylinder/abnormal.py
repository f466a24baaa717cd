"""Abnormal cycles as a mixture beside the normal ones: how often, and how much higher.

Wide and labelled on purpose: rates are orders of magnitude. Shown apart from normal cycles, and
for spark ignition only.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, ndtr, ndtri

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.quantities import BAR, RPM

CYCLIC_KNOCK_LOG_SD = 0.25
"""Cycle-to-cycle scatter of the knock integral: early-burning cycles knock first."""
HEAVY_KNOCK_OVER_AUDIBLE = 3.0
"""Knock integral at heavy knock over that at the edge of audible knock."""
KNOCK_RATE_LOG_SD = 1.0
"""Spread of `heavy_knock_rate`: a factor of 2.7 either way."""
PREIGNITION_PLATEAU = 3e-5
"""Pre-ignitions per cycle in the middle of the risky field; published 1e-5 to 1e-4."""
PREIGNITION_LOG_SD = 1.15
"""Spread of `preignition_rate`: the published decade is one standard deviation either way."""
PREIGNITION_BMEP = 20.0 * BAR
PREIGNITION_BMEP_WIDTH = 1.5 * BAR
PREIGNITION_SPEED = 2500.0 * RPM
PREIGNITION_SPEED_WIDTH = 250.0 * RPM
PREIGNITION_OVER_RATED = 8.0 * BAR
"""How far over the load that a maker sells an engine with, at least, the middle of the risky field
lies: makers set low-speed torque by it, and engines sold at 20 to 25 bar see about one in their
lives, 2e-7 per cycle (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Amplitude:
    """Peak of an abnormal cycle over the normal peak, lognormal: 5 and 95 % points [-]."""

    low: float
    high: float

    @property
    def median(self) -> float:
        """Middle of it [-]."""
        return float(np.sqrt(self.low * self.high))

    @property
    def log_sd(self) -> float:
        """Spread of its logarithm [-]."""
        return float(np.log(self.high / self.low) / (2.0 * ndtri(0.95)))


PREIGNITION = Amplitude(low=1.2, high=2.0)
"""The charge burns while it is compressed; 2.0 was measured once."""
HEAVY_KNOCK = Amplitude(low=1.05, high=1.35)
"""What rod and head feel: the last 10 to 30 % burn at once. The waves on top are several times as
fast as either can follow; they erode pistons and heads, which takes many cycles (common practice,
no source)."""


def heavy_knock_rate(
    knock_integral: Floats, threshold: Floats, ignition_by_spark: bool = True
) -> Array:
    """Share of cycles that knock heavily [-], from the mean cycle's knock integral.

    knock_integral: I of the mean cycle [-], 0 or more; threshold: I at the edge of audible knock in
    this engine; ignition_by_spark: False gives zeros.
    Phi(ln(I/(3.0 threshold))/0.25): each cycle's integral is lognormal about the mean cycle's, and
    heavy knock starts at three times the audible edge. 5.6e-6 at the edge, 0.3 % at 1.5 times it,
    5 % at twice: a map that is held at the audible edge must live. Assumed, not fitted; spread
    KNOCK_RATE_LOG_SD on the rate.
    Source: [PRACTICE]
    """
    require("knock_integral", knock_integral, "0 or more", lambda x: x >= 0)
    require_positive("threshold", threshold, "")
    ratio = np.asarray(knock_integral, float) / (HEAVY_KNOCK_OVER_AUDIBLE * np.asarray(threshold))
    if not ignition_by_spark:
        return np.zeros_like(ratio)
    with np.errstate(divide="ignore"):
        return np.asarray(ndtr(np.log(ratio) / CYCLIC_KNOCK_LOG_SD))


def preignition_rate(
    bmep: Floats, speed: Floats, ignition_by_spark: bool = True, rated: Floats = 0.0
) -> Array:
    """Low-speed pre-ignitions per cycle [-]; median.

    bmep: [Pa], 0 to 60 bar; speed: [rad/s]; ignition_by_spark: False gives zeros; rated: BMEP that
    the engine is sold with [Pa], 0 where not known.
    3e-5 s((bmep - b)/1.5 bar) s((2500 rpm - N)/250 rpm) (1 + e), s the logistic function, b 20 bar
    or PREIGNITION_OVER_RATED where that is more, e = 10 %/bar above b + 2 bar (smoothed): half the
    plateau at b, rising with load, fading above 2,500 rpm. From memory, orders of magnitude only,
    and oil, fuel and calcium content matter as much: spread PREIGNITION_LOG_SD. Ethanol does not
    enter: it cools and resists knock, which `heavy_knock_rate` has by its octane, but wets the
    liner more and lights at hot spots more readily; which of both wins is not known (common
    practice, no source), and the spread holds it.
    Source: [ABNORMAL_CYCLES]
    """
    require_between("bmep", bmep, -5, 60, "bar", BAR)
    require_positive("speed", speed, "rad/s")
    middle = np.maximum(PREIGNITION_BMEP, np.asarray(rated, float) + PREIGNITION_OVER_RATED)
    load = (np.asarray(bmep, float) - middle) / PREIGNITION_BMEP_WIDTH
    slow = (PREIGNITION_SPEED - np.asarray(speed, float)) / PREIGNITION_SPEED_WIDTH
    if not ignition_by_spark:
        return np.zeros(np.broadcast_shapes(load.shape, slow.shape))
    beyond = np.logaddexp(0.0, load - 2.0 * BAR / PREIGNITION_BMEP_WIDTH)
    growth = 1.0 + 0.10 * beyond * PREIGNITION_BMEP_WIDTH / BAR
    return np.asarray(PREIGNITION_PLATEAU * expit(load) * expit(slow) * growth)


def either(first: Floats, second: Floats) -> Array:
    """Chance of at least one of two independent kinds of event [-].

    first, second: chances or rates per cycle, 0 to 1. 1 - (1 - first)(1 - second). Exact if
    independent.
    Source: probability of a union
    """
    _require_rate("first", first)
    _require_rate("second", second)
    one, two = np.asarray(first, float), np.asarray(second, float)
    return np.asarray(one + two - one * two)


def chance_in_pull(rate: Floats, cycles: Floats) -> Array:
    """Chance [-] of at least one abnormal cycle among N.

    rate: per cycle, 0 to 1; cycles: N, 0 or more. 1 - (1 - rate)^N. Exact for independent cycles;
    pre-ignitions come in bursts, so the chance of any is somewhat lower and of several higher.
    Source: binomial law
    """
    _require_rate("rate", rate)
    require("cycles", cycles, "0 or more", lambda x: (x >= 0) & np.isfinite(x))
    certain = np.asarray(rate, float) >= 1.0
    log_none = np.log1p(-np.where(certain, 0.0, rate))
    some = -np.expm1(np.asarray(cycles, float) * log_none)
    return np.asarray(np.where(certain & (np.asarray(cycles) > 0), 1.0, some))


def chance_amplitude_exceeds(ratio: Floats, amplitude: Amplitude = PREIGNITION) -> Array:
    """Chance [-] that an abnormal cycle's peak is more than `ratio` times the normal mean peak.

    ratio: capacity pressure over normal mean peak [-], above 0; amplitude: of its kind.
    Source: [ABNORMAL_CYCLES]
    """
    require_positive("ratio", ratio, "")
    over = np.log(np.asarray(ratio, float) / amplitude.median)
    return np.asarray(ndtr(-over / amplitude.log_sd))


def chance_of_harm(
    capacity_ratio: Floats, rate: Floats, cycles: Floats, amplitude: Amplitude = PREIGNITION
) -> Array:
    """Chance [-] that a pull holds an abnormal cycle whose peak passes a capacity.

    capacity_ratio: capacity pressure over normal mean peak [-]; rate: abnormal cycles per cycle
    [-]; cycles: N; amplitude: of its kind. 1 - (1 - rate P(amplitude > ratio))^N. Exact for the
    mixture as stated.
    Source: [ABNORMAL_CYCLES]
    """
    _require_rate("rate", rate)
    return chance_in_pull(
        np.asarray(rate, float) * chance_amplitude_exceeds(capacity_ratio, amplitude), cycles
    )


def worst_amplitude(
    rate: Floats, cycles: Floats, quantile: Floats, amplitude: Amplitude = PREIGNITION
) -> Array:
    """Peak of the worst of N cycles over the normal mean peak [-], by quantile; 1 if all normal.

    rate: abnormal cycles per cycle [-]; cycles: N, 1 or more; quantile: u of that worst, 0 to 1
    exclusive; amplitude: of its kind. The a with (1 - rate P(amplitude > a))^N = u, where rate is
    enough for one at all, and never below 1. Exact for the mixture as stated: the inverse of
    `chance_of_harm`.
    Source: [ABNORMAL_CYCLES]; [ORDER_STATISTICS]
    """
    _require_rate("rate", rate)
    require("cycles", cycles, "1 or more", lambda x: (x >= 1) & np.isfinite(x))
    require("quantile", quantile, "between 0 and 1, exclusive", lambda x: (x > 0) & (x < 1))
    each = -np.expm1(np.log(np.asarray(quantile, float)) / np.asarray(cycles, float))
    share = np.minimum(each / np.maximum(np.asarray(rate, float), 1e-300), 1.0)
    worst = amplitude.median * np.exp(-amplitude.log_sd * ndtri(share))
    return np.asarray(np.maximum(worst, 1.0))


def _require_rate(argument: str, value: Floats) -> None:
    require_between(argument, value, 0, 1, "per cycle")
