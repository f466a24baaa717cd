"""Where the burn sits: CA50 measured nowhere, so inferred or assumed, each with its spread.

CA50 is the crank angle at which half the fuel has burned [rad after firing TDC]. In order of
trust: measured; from ignition advance (`ca50_from_ignition_advance`); from efficiency
(`ca50_from_efficiency`), which bounds lateness only; assumed (`mbt_ca50`, or the later of it and
the knock-limited one).
"""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require_between, require_positive
from torquerisk.physics.cylinder.burn_duration import (
    DEVELOPMENT_ADVANCES,
    FLAME_DEVELOPMENT_OWN_LOG_SD,
    FLAME_DEVELOPMENT_PER_ADVANCE,
    FLAME_DEVELOPMENT_REFERENCE_ADVANCE,
    LENGTHENING_PER_RADIAN_LATE,
    development_factor,
    lengthening,
    require_compression_speed,
)
from torquerisk.quantities import BAR, DEGREE, RPM

MBT_CA50 = 8.5 * DEGREE
"""CA50 for best torque, spark ignition [rad]; published 8 to 10 degrees [HEYWOOD2018]."""
MBT_CA50_SD = 1.5 * DEGREE
FRACTION_CA10_TO_CA50 = 0.45
"""Share of the 10-90 % duration passed between CA10 and CA50: 0.40 measured once, 0.47-0.49 for
Wiebe burns with exponent 2."""
FRACTION_CA10_TO_CA50_SD = 0.04
IGNITION_REFERENCE_SD = 1.5 * DEGREE
"""Error of a logged ignition advance: timing reference, cylinder trims, logger rounding [rad]."""
EFFICIENCY_CURVATURE = 3.25e-4 / DEGREE**2
"""Relative loss per square of lateness near best phasing, k [1/rad^2]."""
EFFICIENCY_STRAIGHTENING = 0.0115 / DEGREE
"""How the loss straightens far from best phasing, c [1/rad]."""
EFFICIENCY_CURVE_RELATIVE_SD = 0.15
"""Spread of the loss at given lateness: compression ratio, burn duration and heat loss vary."""
UNKNOWN_PHASING_CA50_SD_SPARK = 4.3 * DEGREE
"""Spread of an assumed spark CA50 about the assumption; with that of the knock limit itself, 6
degrees, about -15/+25 % on peak pressure."""
ALONG_SPEED_SHARE = 0.35
"""Share of a phasing error's variance that changes along speed; the rest is common to all speeds.
Maps are drawn speed by speed and a burn model errs differently low and high (common practice)."""
ALONG_SPEED_FACTOR = 2.5
"""Ratio of two speeds at which the errors that change along speed know nothing of one another."""
KNOCK_MARGIN = 3.0 * DEGREE
"""What a calibrator leaves between a map and the edge of audible knock [rad]; usual 2 to 4."""
LATEST_HELD = 28.0 * DEGREE
"""CA50 that a map is not drawn later than for knock's sake: exhaust heat and lost torque [rad]."""
LATEST_DRIFTED = 34.0 * DEGREE
"""The same with what one map differs from another [rad]."""
CORNER = 1.5 * DEGREE
"""Width over which phasing goes from one bound to another: a map has no corner there [rad]."""
CA50_COMPRESSION_SD = 4.0 * DEGREE
"""Spread of `ca50_compression_ignition`; the early side is the one that loads the parts."""
PEAK_LIMIT_LOADS = (25.0 * BAR, 31.0 * BAR)
"""BMEP from which, and up to which, diesels are built for more than the usual peak pressure [Pa];
makers rate none higher."""
PEAK_LIMIT_PER_LOAD = 5.0
"""What they are built for more over that part of the BMEP [-]."""
PEAK_SLOPE_COMPRESSION = 0.029 / DEGREE
"""Relative fall of a diesel's peak pressure per angle of CA50 at equal work [1/rad]: 2.7 to 3.1 %
per degree in this package's closed cycle at 12 to 31 bar, 5 to 22 degrees."""
LATEST_INJECTED = 20.0 * DEGREE
"""Makers hold peak pressure by injecting later up to here, not past it [rad]: efficiency, smoke and
exhaust heat (common practice, no source)."""
HELD_BACK = 6.0 * DEGREE
"""How much later than best torque a boosted map stops where no knock stops it: the torque is flat
there, 1 % is lost, and peak pressure falls by an eighth. Timing is set to 1 to 2 % below best
torque in practice [HEYWOOD, section 9.1, from memory]; tuners stop where more advance shows no more
torque [rad]."""
HELD_BACK_LOADS = (14.0 * BAR, 20.0 * BAR)
"""Gross IMEP from which, and up to which, it goes there: what engines without boost reach, and
what boosted ones are sold with [Pa]."""
EARLIEST_BEFORE_MBT = 3.0 * DEGREE
"""Nobody gains from running earlier than best torque, so no bound goes further ahead [rad]."""


def ca50_from_ignition_advance(
    ignition_advance: Floats,
    flame_development: Floats,
    duration_at_mbt: Floats,
    mbt: Floats = MBT_CA50,
) -> Floats:
    """CA50 [rad after firing TDC] that follows from a spark at a known advance; median.

    ignition_advance: spark before firing TDC, positive before [rad], -40 to 70 degrees;
    flame_development: spark to CA10 for a spark 20 degrees before TDC, as `burn_duration` gives it
    [rad]; duration_at_mbt: 10-90 % duration D at best phasing [rad]; mbt: best-phasing CA50 [rad].
    CA50 = -advance + flame_development f + 0.45 D L, where f is `development_factor` of the advance
    and L the lengthening of a late burn (1 + c (CA50 - mbt) once CA50 is later than mbt); solved in
    closed form.
    Spread: `ca50_from_ignition_advance_sd`.
    Source: definition of the two durations, [HEYWOOD] section 9.2; [PRACTICE] for the lengthening
    """
    require_between(
        "ignition_advance", ignition_advance, -0.7, 1.23, "rad (40 degrees after to 70 before TDC)"
    )
    _require_duration("flame_development", flame_development)
    _require_duration("duration_at_mbt", duration_at_mbt)
    to_half = FRACTION_CA10_TO_CA50 * np.asarray(duration_at_mbt, float)
    start = np.asarray(flame_development, float) * development_factor(ignition_advance)
    unstretched = -np.asarray(ignition_advance, float) + start + to_half
    late = np.maximum(unstretched - mbt, 0.0)
    stretch = LENGTHENING_PER_RADIAN_LATE * to_half
    return unstretched + late * stretch / (1.0 - stretch)


def ignition_advance_from_ca50(
    ca50: Floats,
    flame_development: Floats,
    duration_at_mbt: Floats,
    mbt: Floats = MBT_CA50,
) -> Array:
    """Ignition advance [rad before firing TDC] whose burn has a CA50; median.

    ca50: [rad after firing TDC], at most 60 degrees from mbt; the others as
    `ca50_from_ignition_advance`, of which this is the exact inverse.
    Source: definition of the two durations, [HEYWOOD] section 9.2
    """
    _require_duration("flame_development", flame_development)
    _require_duration("duration_at_mbt", duration_at_mbt)
    start = np.asarray(flame_development, float)
    late = lengthening(np.asarray(ca50, float) - mbt)
    rest = FRACTION_CA10_TO_CA50 * np.asarray(duration_at_mbt, float) * late - ca50
    growth = FLAME_DEVELOPMENT_PER_ADVANCE
    advance = (start * (1 - growth * FLAME_DEVELOPMENT_REFERENCE_ADVANCE) + rest) / (
        1 - growth * start
    )
    low, high = DEVELOPMENT_ADVANCES
    held = start * development_factor(np.clip(advance, low, high)) + rest
    return np.where((advance < low) | (advance > high), held, advance)


def ca50_from_ignition_advance_sd(flame_development: Floats, duration: Floats) -> Floats:
    """Spread (one standard deviation) of `ca50_from_ignition_advance` at a known burn rate [rad].

    flame_development: spark to CA10 [rad]; duration: 10-90 % [rad], both as this engine burns.
    A slow burn makes both long, and CA50 late (FLAME_DEVELOPMENT_WITH_DURATION): that part belongs
    to the burn and is not in here. Root sum of squares of what flame development differs by on its
    own, of the share between CA10 and CA50 and of the logged advance: 2.9 degrees at 2,000 rpm, 3.7
    at 6,000; with the burn's 5 and 7. Exact for independent normal errors.
    Source: first-order propagation of the spreads stated in `burn_duration`
    """
    _require_duration("flame_development", flame_development)
    _require_duration("duration", duration)
    start = FLAME_DEVELOPMENT_OWN_LOG_SD * np.asarray(flame_development, float)
    share = FRACTION_CA10_TO_CA50_SD * np.asarray(duration, float)
    return np.sqrt(start**2 + share**2 + IGNITION_REFERENCE_SD**2)


def relative_efficiency(ca50: Floats, mbt: Floats = MBT_CA50) -> Floats:
    """Gross indicated efficiency over that at best phasing [-].

    ca50: [rad after firing TDC]; mbt: best-phasing CA50 [rad]; at most 60 degrees apart.
    1 - k d^2/(1 + c |d|), d = ca50 - mbt, k = 3.25e-4/deg^2, c = 0.0115/deg: 1 % lost at 6 degrees,
    3 % at 10, 11 % at 20, 22 % at 30. Fitted to closed cycles at ratio 9-12, burn 22-26 degrees,
    with heat loss; spread of the loss EFFICIENCY_CURVE_RELATIVE_SD.
    Source: [PHASING_CYCLES]
    """
    apart = np.asarray(ca50, float) - mbt
    require_between("ca50 - mbt", apart, -1.05, 1.05, "rad (60 degrees)")
    distance = np.abs(apart)
    return 1.0 - EFFICIENCY_CURVATURE * distance**2 / (1.0 + EFFICIENCY_STRAIGHTENING * distance)


def lateness_from_efficiency(relative: Floats) -> Floats:
    """Lateness CA50 - mbt [rad] that gives a relative efficiency; inverse of the late branch.

    relative: gross indicated efficiency over that at best phasing [-], 0.55 to 1.6; 1 or more
    means no lateness can be seen and gives 0.
    d = (L c + sqrt(L^2 c^2 + 4 k L))/(2 k), L = 1 - relative. Exact inverse of
    `relative_efficiency`.
    Source: [PHASING_CYCLES]
    """
    require_between("relative efficiency", relative, 0.55, 1.6)
    loss = np.maximum(1.0 - np.asarray(relative, float), 0.0)
    k, c = EFFICIENCY_CURVATURE, EFFICIENCY_STRAIGHTENING
    return (loss * c + np.sqrt((loss * c) ** 2 + 4.0 * k * loss)) / (2.0 * k)


def held_back(imep_gross: Floats) -> Array:
    """How much later than best torque a map stops at a load where no knock stops it [rad].

    imep_gross: [Pa]. None up to HELD_BACK_LOADS, HELD_BACK from there on, a line between.
    Source: [PRACTICE]
    """
    return np.asarray(np.interp(imep_gross, HELD_BACK_LOADS, (0.0, HELD_BACK)))


def assumed_ca50_spark(
    knock_limited_ca50: Floats,
    imep_gross: Floats,
    mbt: Floats = MBT_CA50,
    deviation: Floats = 0.0,
) -> Array:
    """CA50 [rad] to assume when nothing is known: what a calibrator would hold.

    knock_limited_ca50: earliest CA50 free of audible knock [rad]; imep_gross: load [Pa]; mbt: for
    best torque [rad]; deviation: by how much this map is later than that [rad], spread
    UNKNOWN_PHASING_CA50_SD_SPARK.
    The later of best torque with `held_back` and KNOCK_MARGIN behind knock, but not later than
    LATEST_HELD; corners
    are rounded over CORNER. A map that is earlier still keeps a third of that margin as far as
    LATEST_HELD allows, stays within EARLIEST_BEFORE_MBT of best torque and before LATEST_DRIFTED.
    Earlier loads the parts more, so for a retarded engine the best-torque end is the cautious one.
    Source: [PRACTICE]
    """
    limited = np.asarray(knock_limited_ca50, float)
    free = mbt + held_back(imep_gross)
    wanted = _earlier(_later(limited + KNOCK_MARGIN, free), LATEST_HELD)
    quiet = np.minimum(limited + KNOCK_MARGIN / 3.0, LATEST_HELD)
    return np.clip(
        np.maximum(wanted + deviation, quiet),
        np.asarray(mbt, float) - EARLIEST_BEFORE_MBT,
        LATEST_DRIFTED,
    )


def along_speed(speed: Floats, common: Floats, first: Floats, second: Floats) -> Array:
    """One phasing error by speed, in standard deviations, from three independent normal deviates.

    speed: N [rad/s]; common, first, second: deviates, shapes that broadcast with speed.
    sqrt(1 - q) common + sqrt(q) (first cos a + second sin a), a = (pi/2) ln(N/2500
    rpm)/ln 2.5, q = ALONG_SPEED_SHARE: variance 1 at every speed, and a correlation of
    1 - q + q cos(a - b) between two speeds. Exact for that correlation, which is assumed.
    Source: [PRACTICE]
    """
    require_positive("speed", speed, "rad/s")
    turn = np.log(np.asarray(speed, float) / (2500.0 * RPM)) / np.log(ALONG_SPEED_FACTOR)
    angle = 0.5 * np.pi * turn
    changing = np.asarray(first) * np.cos(angle) + np.asarray(second) * np.sin(angle)
    return np.asarray(
        np.sqrt(1.0 - ALONG_SPEED_SHARE) * common + np.sqrt(ALONG_SPEED_SHARE) * changing
    )


def _later(one: Floats, other: Floats) -> Array:
    """The later of two angles, its corner rounded over CORNER."""
    apart = (np.asarray(one, float) - other) / CORNER
    return np.asarray(other + CORNER * np.logaddexp(0.0, apart))


def _earlier(one: Floats, other: Floats) -> Array:
    """The earlier of two angles, its corner rounded over CORNER."""
    return -_later(-np.asarray(one, float), -np.asarray(other, float))


def ca50_compression_ignition(speed: Floats, bmep: Floats) -> Floats:
    """CA50 [rad after firing TDC] of a compression-ignition engine when nothing is known; median.

    speed: [rad/s], 300 to 7,000 rpm; bmep: [Pa], 0 to 40 bar.
    CA50[deg] = 3 + 0.4 bmep[bar] + 1.0 (N - 1600)/1000: early at light load, 8-15 at full load. One
    measured point (2.6 at 1,600 rpm and 4.2 bar, where this gives 4.7) and practice, for an engine
    that no peak pressure limits: `lateness_to_hold` says what a limit adds. Spread
    CA50_COMPRESSION_SD. Never use spark defaults here: at light load they under-read peak pressure
    by a fifth or more.
    Source: [COMBUSTION_DATA_C]; [PRACTICE]
    """
    require_compression_speed(speed)
    require_between("bmep", bmep, 0, 40, "bar", BAR)
    rate = (np.asarray(speed, float) / RPM - 1600.0) / 1000.0
    return (3.0 + 0.4 * np.asarray(bmep, float) / BAR + rate) * DEGREE


def limit_at_load(limit: Floats, bmep: Floats) -> Array:
    """Peak pressure [Pa] that an engine is built for whose maker lets it reach a load.

    limit: usual one of its kind [Pa]; bmep: that load [Pa]. 5 bar more for each bar of BMEP from 25
    to 31: of the 180 bar that are usual in cars, 210 at 31.
    Source: [PISTON-MAKER]; 180 bar also [FUEL_413]
    """
    low, high = PEAK_LIMIT_LOADS
    return np.asarray(limit + PEAK_LIMIT_PER_LOAD * (np.clip(bmep, low, high) - low))


def lateness_to_hold(ca50: Floats, peak_over_limit: Floats) -> Array:
    """How much later than a CA50 a maker lets a diesel burn to hold its peak pressure [rad].

    ca50: without a limit [rad]; peak_over_limit: peak pressure there over the limit [-].
    ln(peak/limit)/slope where it is above 1, but never past LATEST_INJECTED: from there on peak
    pressure rises with load. Good to 1 % of peak pressure within 6 degrees, 3 % within 12.
    Source: [PHASING_CYCLES] for the slope; [PRACTICE]
    """
    require_positive("peak_over_limit", peak_over_limit, "")
    wanted = np.log(np.asarray(peak_over_limit, float)) / PEAK_SLOPE_COMPRESSION
    return np.asarray(np.clip(wanted, 0.0, np.maximum(LATEST_INJECTED - np.asarray(ca50), 0.0)))


def _require_duration(argument: str, value: Floats) -> None:
    require_between(argument, value, 0.017, 1.75, "rad (1 to 100 degrees)")
