"""From the dyno's figure back to crank torque: correction factors, driveline loss, inertia.

Cylinder pressure follows the uncorrected crank torque. Corrected = observed x factor, so a reading
that was corrected is divided by the factor of the standard that the dyno used.
"""

from enum import Enum

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.quantities import KILO

INCH_OF_MERCURY = 3386.389


class CorrectionStandard(Enum):
    """The standard by which a reading was corrected."""

    NONE = "none"
    SAE_J1349_2004 = "SAE J1349 (2004)"
    ISO_1585 = "ISO 1585"
    ISO_1585_COMPRESSION = "ISO 1585, compression ignition"
    SAE_J1349_COMPRESSION = "SAE J1349, compression ignition"
    DIN_70020 = "DIN 70020"
    SAE_J607 = "SAE J607"


FACTOR_VALID = {
    CorrectionStandard.NONE: (1.0, 1.0),
    CorrectionStandard.SAE_J1349_2004: (0.93, 1.07),
    CorrectionStandard.ISO_1585: (0.93, 1.07),
    CorrectionStandard.ISO_1585_COMPRESSION: (0.9, 1.1),
    CorrectionStandard.SAE_J1349_COMPRESSION: (0.9, 1.1),
    CorrectionStandard.DIN_70020: (0.0, np.inf),
    CorrectionStandard.SAE_J607: (0.0, np.inf),
}
"""Range of factor in which each standard lets itself be used; the two old ones name none."""
UNKNOWN_CORRECTION_SD = 0.03
"""Least spread of a factor nobody wrote down: near sea level J607 reads 4 % above J1349."""
OF_COMPRESSION = (CorrectionStandard.ISO_1585_COMPRESSION, CorrectionStandard.SAE_J1349_COMPRESSION)
"""Standards that raise an atmospheric factor to the power of the engine factor."""
ENGINE_FACTOR_USUAL, ENGINE_FACTOR_SD = 0.66, 0.25
"""Engine factor f_m = 0.036 q_c - 1.14 of a diesel at full load whose fuel per cycle is not known:
fuel over boost ratio q_c is the air of a litre over lambda times 14.5, 50 mg at lambda 1.5; 58 at
1.3 and 44 at 1.7. f_m is 1.2 above 65 mg, 0.3 below 40 (ISO 1585) or 0.2 below 37.2 (J1349).
Source: [ISO_1585]; [SAE_J1349]."""


def water_vapour_pressure_buck(temperature: Floats, relative_humidity: Floats) -> Floats:
    """Partial pressure of water vapour in air [Pa].

    temperature: T [K], 233 to 333; relative_humidity: 0 to 1.
    p_w = RH 611.21 exp((18.678 - t/234.5) t/(257.14 + t)), t in degrees Celsius. Fitted to within
    0.1 % over water from 0 to 50 degrees.
    Source: [BUCK]
    """
    require_between("temperature", temperature, 233, 333, "K")
    require_between("relative_humidity", relative_humidity, 0, 1)
    t = np.asarray(temperature, float) - 273.15
    saturated = 611.21 * np.exp((18.678 - t / 234.5) * t / (257.14 + t))
    return np.asarray(relative_humidity, float) * saturated


def dry_pressure(pressure: Floats, temperature: Floats, relative_humidity: Floats) -> Floats:
    """Pressure of the dry part of the air [Pa]: p - p_w. Exact (partial pressures add).

    pressure: barometer reading at the engine, not sea-level reduced [Pa], 50 to 110 kPa;
    temperature: [K]; relative_humidity: 0 to 1.
    Source: Dalton's law; vapour by [BUCK]
    """
    require_between("pressure", pressure, 50, 110, "kPa", KILO)
    return np.asarray(pressure, float) - water_vapour_pressure_buck(temperature, relative_humidity)


def factor_sae_j1349_2004(dry: Floats, temperature: Floats) -> Floats:
    """Correction factor of SAE J1349 AUG2004, spark ignition [-].

    dry: dry air pressure p_d [Pa]; temperature: intake air T [K].
    CF = 1.176 (990 hPa/p_d) sqrt((t + 273)/298) - 0.176, t in degrees Celsius: 1/0.85 and 0.15/0.85
    (the edition of 1990 has 1.18 and 0.18). Reference 99 kPa dry, 25 C; assumes 85 % mechanical
    efficiency. Valid while 0.93 <= CF <= 1.07 (`within_validity`).
    Source: [SAE_J1349]
    """
    return (
        1.176 * _pressure_ratio(99e3, dry) * np.sqrt(_rounded_kelvin(temperature) / 298.0) - 0.176
    )


def factor_iso_1585(dry: Floats, temperature: Floats) -> Floats:
    """Correction factor alpha_a of ISO 1585, spark ignition [-].

    dry: dry air pressure p_s [Pa]; temperature: intake air T [K].
    alpha_a = (99 kPa/p_s)^1.2 (T/298)^0.6. Valid while 0.93 <= alpha_a <= 1.07. Turbocharged
    engines that hold their boost are over-corrected by it.
    Source: [ISO_1585]
    """
    return _pressure_ratio(99e3, dry) ** 1.2 * (_rounded_kelvin(temperature) / 298.0) ** 0.6


def factor_atmospheric_iso_1585(dry: Floats, temperature: Floats) -> Floats:
    """Atmospheric factor f_a of ISO 1585, turbocharged compression ignition [-].

    dry: dry air pressure p_s [Pa]; temperature: intake air T [K], with or without an air-to-air
    cooler. (99/p_s)^0.7 (T/298)^1.2, p_s in kPa.
    Source: [ISO_1585]
    """
    return _pressure_ratio(99e3, dry) ** 0.7 * (_rounded_kelvin(temperature) / 298.0) ** 1.2


def factor_din_70020(pressure: Floats, temperature: Floats) -> Floats:
    """Correction factor of DIN 70020 [-].

    pressure: barometer as read, NOT dried [Pa]; temperature: intake air T [K].
    (1013 mbar/p) sqrt((273 + t)/293). Reference 1013 mbar, 20 C. No limit named.
    Source: [DIN_70020]
    """
    return _pressure_ratio(101.3e3, pressure) * np.sqrt(_rounded_kelvin(temperature) / 293.0)


def factor_sae_j607(dry: Floats, temperature: Floats) -> Floats:
    """Correction factor of SAE J607, often called standard [-].

    dry: dry air pressure [Pa]; temperature: intake air T [K].
    (29.92 inHg/(B - p_w)) sqrt((459.7 + F)/519.7). Reference 29.92 inHg dry, 60 F. Reads about 4 %
    above J1349. No limit named.
    Source: [SAE_J607]
    """
    fahrenheit = (np.asarray(temperature, float) - 273.15) * 1.8 + 32.0
    _require_temperature(temperature)
    return _pressure_ratio(29.92 * INCH_OF_MERCURY, dry) * np.sqrt((459.7 + fahrenheit) / 519.7)


def correction_factor(
    standard: CorrectionStandard,
    pressure: Floats,
    temperature: Floats,
    relative_humidity: Floats,
    engine_factor: Floats | None = None,
) -> Floats:
    """Factor [-] by which a standard multiplied the observed torque.

    standard: which; pressure: barometer as read at the engine [Pa]; temperature: [K];
    relative_humidity: 0 to 1; engine_factor: f_m, needed for compression ignition only. Computed
    also outside the standard's validity, because dynos do; ask `within_validity`.
    Source: the standard's own function in this module
    """
    dry = dry_pressure(pressure, temperature, relative_humidity)
    if standard is CorrectionStandard.NONE:
        return np.ones_like(np.asarray(dry, float))
    if standard is CorrectionStandard.DIN_70020:
        return factor_din_70020(pressure, temperature)
    if standard in OF_COMPRESSION:
        require(
            "engine_factor",
            np.nan if engine_factor is None else engine_factor,
            "given, between 0.19 and 1.2, with compression ignition",
            lambda x: (x >= 0.19) & (x <= 1.2),
        )
        atmospheric = factor_atmospheric_iso_1585(dry, temperature)
        return atmospheric ** np.asarray(engine_factor, float)
    return {
        CorrectionStandard.SAE_J1349_2004: factor_sae_j1349_2004,
        CorrectionStandard.ISO_1585: factor_iso_1585,
        CorrectionStandard.SAE_J607: factor_sae_j607,
    }[standard](dry, temperature)


def unknown_correction_sd(
    pressure: Floats, temperature: Floats, relative_humidity: Floats, *, compression_ignition: bool
) -> Array:
    """Spread of a correction factor that nobody wrote down, about 1 [-].

    pressure: barometer as read at the engine [Pa]; temperature: [K]; relative_humidity: 0 to 1.
    Half of the way to the farthest factor that any standard would have applied in that air, so
    that two standard deviations hold it; UNKNOWN_CORRECTION_SD at least. Torque is then taken as
    uncorrected, the safe side in thin air.
    Source: the standards' own functions in this module
    """
    state = (pressure, temperature, relative_humidity)
    spark = (CorrectionStandard.SAE_J1349_2004, CorrectionStandard.ISO_1585)
    own = OF_COMPRESSION if compression_ignition else spark
    both = (CorrectionStandard.DIN_70020, CorrectionStandard.SAE_J607)
    factors = [
        correction_factor(standard, *state, engine_factor=ENGINE_FACTOR_USUAL)
        for standard in (*own, *both)
    ]
    farthest = np.max(np.abs(np.stack(np.broadcast_arrays(*factors)) - 1.0), axis=0)
    return np.asarray(np.maximum(farthest / 2, UNKNOWN_CORRECTION_SD))


def within_validity(standard: CorrectionStandard, factor: Floats) -> np.ndarray:
    """Whether a factor lies where its standard lets itself be used (bool array).

    standard: which; factor: [-].
    Source: [SAE_J1349], [ISO_1585]
    """
    low, high = FACTOR_VALID[standard]
    value = np.asarray(factor, float)
    return np.asarray((value >= low) & (value <= high))


def uncorrected(reading: Floats, factor: Floats) -> Floats:
    """Observed torque or power, same unit as the reading: reading/factor. Exact.

    reading: corrected figure; factor: the correction that was applied [-], 0.5 to 1.5.
    Source: definition of the correction factor, [SAE_J1349]
    """
    require_between("factor", factor, 0.5, 1.5)
    return np.asarray(reading, float) / factor


def torque_before_driveline(torque: Floats, loss_fraction: Floats) -> Floats:
    """Crank torque [N*m] from torque measured behind the driveline, gearing already taken out.

    torque: at hub or wheel, referred to crank speed [N*m]; loss_fraction: share of crank torque
    lost on the way [-], 0 to 0.4. T/(1 - loss). Exact for that definition.
    Source: [PRACTICE]
    """
    require_between("loss_fraction", loss_fraction, 0, 0.4)
    return np.asarray(torque, float) / (1.0 - np.asarray(loss_fraction, float))


def inertia_torque(inertia: Floats, angular_acceleration: Floats) -> Floats:
    """Torque [N*m] that turns into speed instead of reaching the sensor: J d omega/dt. Exact.

    inertia: everything upstream of the sensor, referred to the crank J [kg*m^2];
    angular_acceleration: crank d omega/dt [rad/s^2]. Add it to the sensor's torque when
    accelerating.
    Source: [NEWTON]
    """
    require("inertia", inertia, "0 or more kg*m^2", lambda x: (x >= 0) & np.isfinite(x))
    return np.asarray(inertia, float) * angular_acceleration


LEAST_SAMPLES = 5
"""Samples that a straight-line fit to a logged speed goes through at least (common practice)."""


def angular_acceleration(time: Array, speed: Array, window: float = 0.4) -> Array:
    """Crank angular acceleration [rad/s^2] from a logged speed, smoothed before differentiating.

    time: (T,) [s], in any order; speed: (T,) [rad/s]; window: width of the moving straight-line fit
    [s]. At each sample the slope of the least-squares line through all samples within half a
    window either side (one-sided at the ends), and through LEAST_SAMPLES about it at least, so that
    slow logs and dropouts widen the window. Speeds of one time count as one sample, their mean.
    Exact for a linear ramp, and for a parabola where the window is symmetric. Quantised speeds
    differentiated directly are noise. Raises OutOfRangeError below LEAST_SAMPLES different times.
    Source: least squares; [PRACTICE] for smoothing first
    """
    require_positive("window", window, "s")
    t, sample = np.unique(np.asarray(time, float), return_inverse=True)
    n = len(t)
    require("different times", n, f"{LEAST_SAMPLES} or more", lambda x: x >= LEAST_SAMPLES)
    w = np.bincount(sample, weights=np.asarray(speed, float)) / np.bincount(sample)
    t, base = t - t[0], w.mean()
    half = 0.5 * window * (1.0 + 1e-9)
    start = np.clip(np.arange(n) - LEAST_SAMPLES // 2, 0, n - LEAST_SAMPLES)
    first = np.minimum(np.searchsorted(t, t - half, side="left"), start)
    last = np.maximum(np.searchsorted(t, t + half, side="right"), start + LEAST_SAMPLES)
    count = (last - first).astype(float)
    sum_t, sum_w = _window_sum(t, first, last), _window_sum(w - base, first, last)
    sum_tw, sum_tt = _window_sum(t * (w - base), first, last), _window_sum(t * t, first, last)
    slope = (sum_tw - sum_t * sum_w / count) / (sum_tt - sum_t * sum_t / count)
    return np.asarray(slope[sample])


def crank_torque(
    reading: Floats,
    factor: Floats,
    loss_fraction: Floats,
    inertia: Floats,
    angular_acceleration: Floats,
) -> Floats:
    """Crank torque as it really was [N*m]: correction undone, loss put back, inertia added.

    reading: referred to crank speed [N*m]; factor: correction applied [-]; loss_fraction: [-];
    inertia: J upstream of the sensor [kg*m^2], 0 if the reading holds it already;
    angular_acceleration: [rad/s^2]. T = reading/factor/(1 - loss) + J d omega/dt.
    Source: [NEWTON]; definitions of its parts
    """
    observed = uncorrected(reading, factor)
    return torque_before_driveline(observed, loss_fraction) + inertia_torque(
        inertia, angular_acceleration
    )


def _window_sum(values: Array, first: np.ndarray, last: np.ndarray) -> Array:
    running = np.concatenate([[0.0], np.cumsum(values)])
    return np.asarray(running[last] - running[first])


def _pressure_ratio(reference: float, pressure: Floats) -> Array:
    require_between("pressure", pressure, 45, 110, "kPa", KILO)
    return np.asarray(reference / np.asarray(pressure, float))


def _rounded_kelvin(temperature: Floats) -> Array:
    """Kelvin as the standards write it, degrees Celsius plus 273."""
    _require_temperature(temperature)
    return np.asarray(np.asarray(temperature, float) - 0.15)


def _require_temperature(temperature: Floats) -> None:
    require_between("temperature", temperature, 233, 333, "K")
