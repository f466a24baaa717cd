"""From the mean cycle to the worst one of a pull: cyclic and cylinder spread, and extremes.

One coefficient of variation (COV) is one standard deviation over the mean.
"""

import numpy as np
from scipy.special import ndtri

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.quantities import BAR, DEGREE

BEST_CA50 = 8.5 * DEGREE
CA50_CYCLIC_SD_AT_BEST_PHASING = 2.5 * DEGREE
"""Cycle-to-cycle standard deviation of CA50 at best phasing, 10 bar BMEP [rad]."""
CA50_CYCLIC_SD_GROWTH = 0.08
"""Growth of that deviation per angle of retard [-]."""
PEAK_SLOPE_STEEPEST = 0.032 / DEGREE
"""Steepest relative fall of peak pressure per angle of CA50, same charge [1/rad]."""
PEAK_SLOPE_CA50 = 22.0 * DEGREE
"""CA50 at which the fall is steepest [rad]."""
CHARGE_CYCLIC_SD = 0.010
"""Cycle-to-cycle relative deviation of the trapped charge [-]."""
COV_PEAK_LOG_SD = 0.35
"""Spread of `cov_peak_pressure_spark`; published 5 to 10 % at best phasing."""
COV_PEAK_HIGHEST = 0.14
"""`cov_peak_pressure_spark` levels off here: very late, compression sets the peak."""
COV_PEAK_COMPRESSION = 0.012
COV_COMPRESSION_LOG_SD = 0.40
CYLINDER_SD_PEAK_SPARK = 0.033
"""The same for peak pressure; published +/-5 to 8 %."""
CYLINDER_SD_PEAK_COMPRESSION = 0.020
CYLINDER_LOG_SD = 0.30


def ca50_cyclic_sd(ca50: Floats, bmep: Floats) -> Array:
    """Cycle-to-cycle standard deviation of CA50, spark ignition [rad]; median.

    ca50, bmep: as `cov_imep_spark`. (2.5 deg + 0.08 d)(bmep/10 bar)^-0.15. Spread COV_PEAK_LOG_SD.
    Source: [MATEKUNAS]; [PRACTICE]
    """
    _require_state(ca50, bmep)
    late = np.maximum(np.asarray(ca50, float) - BEST_CA50, 0.0)
    sd = CA50_CYCLIC_SD_AT_BEST_PHASING + CA50_CYCLIC_SD_GROWTH * late
    return np.asarray(sd * (np.asarray(bmep, float) / (10.0 * BAR)) ** -0.15)


def peak_pressure_slope(ca50: Floats) -> Array:
    """Relative fall of peak pressure per angle of CA50 from cycle to cycle, same charge [1/rad].

    ca50: [rad after firing TDC], -10 to 60 degrees.
    3.2 %/deg at 22 degrees, less by 20 % of ((CA50 - 22)/w)^2 with w = 14 degrees before and 24
    after, not below 1.5 %/deg early and 2.8 late: 2.6 at best phasing, 2.8 at 40 degrees.
    Steeper than at equal work (2.3), since a late cycle also loses work. Fitted to this package's
    closed cycle at ratio 9.5, 10 to 30 bar, 2,500 to 5,500 rpm, 8 to 40 degrees; good to 8 %.
    Source: [PHASING_CYCLES]
    """
    require_between("ca50", ca50, -0.175, 1.05, "rad (-10 to 60 degrees after firing TDC)")
    apart = np.asarray(ca50, float) - PEAK_SLOPE_CA50
    width = np.where(apart < 0, 14.0 * DEGREE, 24.0 * DEGREE)
    least = np.where(apart < 0, 1.5 / 3.2, 2.8 / 3.2)
    share = np.maximum(1.0 - 0.2 * (apart / width) ** 2, least)
    return np.asarray(PEAK_SLOPE_STEEPEST * share)


def cov_peak_pressure_spark(ca50: Floats, bmep: Floats) -> Array:
    """Coefficient of variation of peak pressure, spark ignition [-]; median.

    ca50, bmep: as `cov_imep_spark`.
    v = sqrt((slope sd_CA50)^2 + 0.010^2), slope from `peak_pressure_slope`, sd_CA50 from
    `ca50_cyclic_sd`, levelled smoothly: v/(1 + (v/0.14)^4)^(1/4). Phasing scatter dominates. About
    6 % at best phasing and 10 % at CA50 20 (10 bar), levelling towards COV_PEAK_HIGHEST. In fact it
    falls again very late, where compression sets the peak; here it keeps rising to its level, which
    errs to the safe side. Lognormal spread COV_PEAK_LOG_SD.
    Source: [MATEKUNAS]; [PHASING_CYCLES] for the slope
    """
    by_phasing = peak_pressure_slope(ca50) * ca50_cyclic_sd(ca50, bmep)
    raw = np.hypot(by_phasing, CHARGE_CYCLIC_SD)
    return np.asarray(raw / (1.0 + (raw / COV_PEAK_HIGHEST) ** 4) ** 0.25)


def expected_maximum(cycles: Floats) -> Array:
    """Expected largest of N independent standard normal values [standard deviations].

    cycles: N, 1 or more, need not be whole.
    E = integral of Phi^-1(exp(-t/N)) e^-t dt over t > 0, after t = e^-g by the trapezoidal rule:
    exact for normal cycles (checked to 5 digits against printed tables).
    Source: [ORDER_STATISTICS]
    """
    _require_cycles(cycles)
    g = np.linspace(-4.5, 40.0, 446)
    t = np.exp(-g)
    count = np.asarray(cycles, float)[..., None]
    below = t / count
    value = np.where(below > 1.0, ndtri(np.exp(-below)), -ndtri(-np.expm1(-np.minimum(below, 1.0))))
    return np.asarray((value * t * np.exp(-t)).sum(axis=-1) * (g[1] - g[0]))


def median_maximum(cycles: Floats) -> Array:
    """Median of the largest of N independent standard normal values [standard deviations].

    cycles: N, 1 or more. z = Phi^-1(0.5^(1/N)). Exact for normal cycles.
    Source: [ORDER_STATISTICS]
    """
    _require_cycles(cycles)
    tail = -np.expm1(np.log(0.5) / np.asarray(cycles, float))
    return np.asarray(-ndtri(tail))


def cycles_in_band(speed: Floats, speed_band: Floats, sweep_rate: Floats) -> Array:
    """Number of four-stroke cycles of a cylinder while a sweep crosses a speed band [-].

    speed: at the middle of the band [rad/s]; speed_band: its width [rad/s]; sweep_rate: d omega/dt
    [rad/s^2], sign ignored. omega/(4 pi) (band/rate). Exact at constant sweep rate.
    Source: definition of angular speed, [NEWTON]
    """
    require_positive("speed", speed, "rad/s")
    require_positive("speed_band", speed_band, "rad/s")
    rate = np.abs(np.asarray(sweep_rate, float))
    require_positive("sweep_rate", rate, "rad/s^2")
    time = np.asarray(speed_band, float) / rate
    return np.asarray(np.asarray(speed, float) / (4.0 * np.pi) * time)


def _require_state(ca50: Floats, bmep: Floats) -> None:
    require_between("ca50", ca50, -0.175, 1.05, "rad (-10 to 60 degrees after firing TDC)")
    require_between("bmep", bmep, 0.5, 50, "bar", BAR)


def _require_cycles(cycles: Floats) -> None:
    require("cycles", cycles, "1 or more", lambda x: (x >= 1) & np.isfinite(x))
