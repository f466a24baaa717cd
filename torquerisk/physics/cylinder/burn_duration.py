"""How long the burn takes, in crank angle: flame development, 10-90 %, and ignition delay."""

import math

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.quantities import BAR, DEGREE, RPM

DURATION_SPARK_REFERENCE = 23.0 * DEGREE
"""10-90 % burned at 2,000 rpm, 10 bar BMEP, stoichiometric, 5 % residual, best phasing [rad]."""
DURATION_SPARK_LOG_SD = 0.22
DURATION_SPEED_EXPONENT = 0.25
"""Published exponents run from 0.20 to 0.35."""
FLAME_DEVELOPMENT_REFERENCE = 18.0 * DEGREE
"""Spark to 10 % burned in the same reference condition, sparked 20 degrees before TDC [rad]."""
FLAME_DEVELOPMENT_REFERENCE_ADVANCE = 20.0 * DEGREE
FLAME_DEVELOPMENT_PER_ADVANCE = 0.010 / DEGREE
"""Flame development grows 1 % for each degree of advance: the charge is colder [1/rad]."""
SPARK_SPEEDS = (500.0 * RPM, 16000.0 * RPM)
"""Engine speeds between which spark burns are taken, 500 to 16,000 rpm [rad/s]."""
SPARK_TREND_SPEED = 12000.0 * RPM
"""Engine speed up to which the trends of spark burns are taken as known [rad/s] (common practice):
most published engines turn half that. The same power of speed goes on above."""
DEVELOPMENT_ADVANCES = (-20.0 * DEGREE, 60.0 * DEGREE)
"""Ignition advances beyond which flame development is held at the nearer end [rad]."""
FLAME_DEVELOPMENT_LOG_SD = 0.18
"""With the duration's it makes CA50 at a given advance differ by 5 degrees, which is more than best
advances of like engines do (18 to 26 degrees at full load and 2,000 rpm, common practice)."""
FLAME_DEVELOPMENT_WITH_DURATION = 0.5
"""Exponent by which flame development follows the 10-90 % duration from engine to engine: the same
turbulence and dilution make both. Stands for a correlation of 0.6 (common practice, no source)."""
FLAME_DEVELOPMENT_OWN_LOG_SD = math.sqrt(
    FLAME_DEVELOPMENT_LOG_SD**2 - (FLAME_DEVELOPMENT_WITH_DURATION * DURATION_SPARK_LOG_SD) ** 2
)
"""What is left of FLAME_DEVELOPMENT_LOG_SD once the duration is known."""
FLAME_DEVELOPMENT_SPEED_EXPONENT = 0.30
LENGTHENING_PER_RADIAN_LATE = 0.015 / DEGREE
"""The burn grows 1.5 % longer for each degree that CA50 lies after best phasing [1/rad]."""
DURATION_COMPRESSION_REFERENCE = 21.0 * DEGREE
"""10-90 % burned, compression ignition, 1,600 rpm, 4.2 bar BMEP (measured once) [rad]."""
DURATION_COMPRESSION_LOG_SD = 0.25
COMPRESSION_SPEEDS = (300.0 * RPM, 7000.0 * RPM)
"""Engine speeds between which the compression-ignition fits hold, 300 to 7,000 rpm [rad/s]."""
DELAY_PRESSURES = (15.0 * BAR, 250.0 * BAR)
DELAY_TEMPERATURES = (600.0, 1300.0)
DELAY_PISTON_SPEEDS = (1.0, 25.0)
"""Compressed charge [Pa, K] and mean piston speed [m/s] for which the ignition delay is taken.

The paper is not at hand, so its own range is not known: the pressures start where the equation is
still well behaved (it has a pole at 12.4 bar) and all end where no engine has been seen."""
CETANE_NUMBERS = (20.0, 70.0)
DELAY_LOG_SD = 0.45
"""Spread of the ignition delay. One correlation scatters by about 30 %; correlations of the same
years, from memory, give two to three times as much as this one at light load."""
COMPRESSION_EXPONENT = 1.36
"""Polytropic exponent of a diesel's charge from intake closing to firing TDC [-]."""
_LAMINAR_EXPONENT = 0.67
_REFERENCE_RESIDUAL = 0.05


def laminar_speed_ratio(lambda_: Floats, residual_fraction: Floats) -> Floats:
    """Laminar flame speed over that of a stoichiometric charge with 5 % residual [-].

    lambda_: excess-air ratio, 0.7 to 1.4; residual_fraction: x_r, 0 to 0.30 by mass.
    S = (0.305 - 0.549 (phi - 1.21)^2)(1 - 2.06 x^0.77), phi = 1/lambda, x = x_r (taken as the mole
    fraction), divided by its value at phi = 1, x = 0.05. Fitted to gasoline at constant state.
    Source: [RHODES_KECK]
    """
    require_between("lambda", lambda_, 0.7, 1.4)
    require_between("residual_fraction", residual_fraction, 0, 0.3)
    phi = 1.0 / np.asarray(lambda_, float)
    mixture = (0.305 - 0.549 * (phi - 1.21) ** 2) / (0.305 - 0.549 * 0.21**2)
    dilution = (1.0 - 2.06 * np.asarray(residual_fraction, float) ** 0.77) / (
        1.0 - 2.06 * _REFERENCE_RESIDUAL**0.77
    )
    return mixture * dilution


def duration_spark(
    speed: Floats,
    bmep: Floats,
    lambda_: Floats = 1.0,
    residual_fraction: Floats = _REFERENCE_RESIDUAL,
    lateness: Floats = 0.0,
) -> Floats:
    """10-90 % burn duration of a spark-ignition engine [rad]; median.

    speed: [rad/s], 500 to 16,000 rpm; bmep: [Pa], 0.5 to 50 bar; lambda_: excess-air ratio;
    residual_fraction: x_r [-]; lateness: CA50 minus best-phasing CA50 [rad] (negative counts as 0).
    D = 23 deg (N/2000 rpm)^0.25 (bmep/10 bar)^-0.1 S^-0.67 (1 + 0.015/deg lateness), S from
    `laminar_speed_ratio`. Assembled from published trends, not one fit: 18-25 deg is typical for
    four-valve engines at full throttle; a 1970s-style two-valve engine measured 31 deg at
    1,200 rpm, where this gives 23. Lognormal spread DURATION_SPARK_LOG_SD.
    Source: [HEYWOOD] chapter 9; [RHODES_KECK]; [COMBUSTION_DATA_A]
    """
    _require_spark_state(speed, bmep)
    slow = laminar_speed_ratio(lambda_, residual_fraction) ** -_LAMINAR_EXPONENT
    rate = (np.asarray(speed, float) / (2000.0 * RPM)) ** DURATION_SPEED_EXPONENT
    load = (np.asarray(bmep, float) / (10.0 * BAR)) ** -0.10
    return DURATION_SPARK_REFERENCE * rate * load * slow * lengthening(lateness)


def lengthening(lateness: Floats) -> Array:
    """Factor by which a late burn is longer than one at best phasing [-].

    lateness: CA50 minus best-phasing CA50 [rad]; negative counts as 0; up to 60 degrees.
    1 + 0.015/deg lateness. Trend read from retarded full-load burns; spread a third of itself.
    Source: [PRACTICE]
    """
    require_between("lateness", lateness, -1.05, 1.05, "rad (60 degrees)")
    late = np.maximum(np.asarray(lateness, float), 0.0)
    return np.asarray(1.0 + LENGTHENING_PER_RADIAN_LATE * late)


def flame_development(
    speed: Floats,
    bmep: Floats,
    lambda_: Floats = 1.0,
    residual_fraction: Floats = _REFERENCE_RESIDUAL,
) -> Floats:
    """Crank angle from a spark 20 degrees before TDC to 10 % burned [rad]; median.

    speed: [rad/s]; bmep: [Pa]; lambda_: excess-air ratio; residual_fraction: x_r [-]; ranges as
    `duration_spark`. For another advance multiply by `development_factor`.
    D = 18 deg (N/2000 rpm)^0.30 (bmep/10 bar)^-0.15 S^-0.67. Assembled from published trends
    (10-30 deg at part and full load) and from usual best-torque advances (about 20 deg at 2,000 rpm
    and 33 at 6,000 at full load, 40 at light load); one engine at 1,200 rpm and 7.85 bar, sparked
    8 deg before TDC, measured 11.6 deg where this gives 14.1. Lognormal spread
    FLAME_DEVELOPMENT_LOG_SD.
    Source: [HEYWOOD] chapter 9; [COMBUSTION_DATA_A]
    """
    _require_spark_state(speed, bmep)
    slow = laminar_speed_ratio(lambda_, residual_fraction) ** -_LAMINAR_EXPONENT
    rate = (np.asarray(speed, float) / (2000.0 * RPM)) ** FLAME_DEVELOPMENT_SPEED_EXPONENT
    load = (np.asarray(bmep, float) / (10.0 * BAR)) ** -0.15
    return FLAME_DEVELOPMENT_REFERENCE * rate * load * slow


def development_factor(ignition_advance: Floats) -> Array:
    """Factor on `flame_development` for a spark at another advance than 20 degrees [-].

    ignition_advance: spark before firing TDC, positive before [rad].
    1 + 1 %/deg (advance - 20 deg), held between 0.6 and 1.4: an earlier spark meets a colder, less
    dense charge. Trend of laminar flame speed with temperature squared; spread half of itself.
    Source: [RHODES_KECK]; [PRACTICE]
    """
    earlier = np.asarray(ignition_advance, float) - FLAME_DEVELOPMENT_REFERENCE_ADVANCE
    return np.asarray(np.clip(1.0 + FLAME_DEVELOPMENT_PER_ADVANCE * earlier, 0.6, 1.4))


def require_compression_speed(speed: Floats) -> None:
    """Raise OutOfRangeError where a speed [rad/s] is outside the compression-ignition fits."""
    low, high = COMPRESSION_SPEEDS
    require(
        "speed",
        speed,
        f"between {low:.0f} and {high:.0f} rad/s (300 to 7,000 rpm) for compression ignition",
        lambda x: (x >= low) & (x <= high),
    )


def duration_compression_ignition(speed: Floats, bmep: Floats) -> Floats:
    """10-90 % burn duration of a direct-injection compression-ignition engine [rad]; median.

    speed: [rad/s], 300 to 7,000 rpm; bmep: [Pa], 0.5 to 40 bar.
    D = 21 deg (N/1600 rpm)^0.3 (bmep/4.2 bar)^0.3: injection lasts longer with load and, at given
    injection pressure, takes more angle with speed. One measured point (21 deg, 1,600 rpm,
    4.2 bar) and practice (30-45 deg at full load). Lognormal spread DURATION_COMPRESSION_LOG_SD.
    Source: [COMBUSTION_DATA_C]; [PRACTICE]
    """
    require_compression_speed(speed)
    require_between("bmep", bmep, 0.5, 40, "bar", BAR)
    rate = (np.asarray(speed, float) / (1600.0 * RPM)) ** 0.3
    load = (np.asarray(bmep, float) / (4.2 * BAR)) ** 0.3
    return DURATION_COMPRESSION_REFERENCE * rate * load


def compressed_charge(
    pressure: Floats, temperature: Floats, volume_ratio: Floats
) -> tuple[Array, Array]:
    """Pressure [Pa] and temperature [K] of a charge at firing TDC, were nothing to burn.

    pressure, temperature: p, T at intake closing [Pa], [K]; volume_ratio: r, volume there over that
    at TDC [-]. p r^n and T r^(n - 1): a polytropic compression, exact for a given n.
    COMPRESSION_EXPONENT is what the closed cycle's own gas and heat loss make of a diesel's charge
    (1.357 to 1.366 from 1,300 to 4,000 rpm at ratio 16.5). Spread 0.02, which is 5 % of T.
    Source: [HEYWOOD] chapter 5
    """
    require_positive("pressure", pressure, "Pa")
    require_positive("temperature", temperature, "K")
    require("volume_ratio", volume_ratio, "1 or more", lambda x: x >= 1)
    ratio, n = np.asarray(volume_ratio, float), COMPRESSION_EXPONENT
    return np.asarray(pressure) * ratio**n, np.asarray(temperature) * ratio ** (n - 1.0)


def ignition_delay_hardenberg_hase(
    pressure: Floats, temperature: Floats, mean_piston_speed: Floats, cetane: Floats = 50.0
) -> Floats:
    """Ignition delay of a diesel spray in crank angle [rad]; median.

    pressure: p at firing TDC without combustion [Pa], 15 to 250 bar; temperature: T there [K], 600
    to 1,300; mean_piston_speed: S_p [m/s], 1 to 25; cetane: cetane number CN, 20 to 70.
    tau[deg] = (0.36 + 0.22 S_p) exp[E_A (1/(R T) - 1/17190)(21.2/(p - 12.4))^0.63],
    E_A = 618840/(CN + 25), R = 8.3143, p in bar. Fitted to direct-injection engines of about 1980,
    without exhaust gas recirculation, which lengthens the delay. Spread DELAY_LOG_SD: at light load
    other correlations of those years read two to three times as long.
    Source: [HARDENBERG_HASE]
    """
    low, high = DELAY_PRESSURES
    require_between("pressure", pressure, low / BAR, high / BAR, "bar", BAR)
    require_between("temperature", temperature, *DELAY_TEMPERATURES, "K")
    require_between("mean_piston_speed", mean_piston_speed, *DELAY_PISTON_SPEEDS, "m/s")
    require_between("cetane", cetane, *CETANE_NUMBERS)
    p = np.asarray(pressure, float) / BAR
    activation = 618840.0 / (np.asarray(cetane, float) + 25.0)
    inverse = 1.0 / (8.3143 * np.asarray(temperature, float)) - 1.0 / 17190.0
    scale = 0.36 + 0.22 * np.asarray(mean_piston_speed, float)
    return scale * np.exp(activation * inverse * (21.2 / (p - 12.4)) ** 0.63) * DEGREE


def time_from_crank_angle(crank_angle: Floats, speed: Floats) -> Floats:
    """Time [s] that a crank angle [rad] lasts at a speed [rad/s]: angle/speed. Exact.

    crank_angle: [rad]; speed: [rad/s].
    Source: definition of angular speed, [HEYWOOD]
    """
    require_positive("speed", speed, "rad/s")
    return np.asarray(crank_angle, float) / speed


def _require_spark_state(speed: Floats, bmep: Floats) -> None:
    require_between("speed", speed, *SPARK_SPEEDS, "rad/s (500 to 16,000 rpm)")
    require_between("bmep", bmep, 0.5, 50, "bar", BAR)
