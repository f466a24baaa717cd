"""Mean effective pressures: torque to BMEP, friction models, and BMEP to gross IMEP.

Definitions used everywhere in this package: gross IMEP is the work of the compression and
expansion strokes over the displaced volume; PMEP is gross minus net; FMEP is net IMEP minus BMEP.
So FMEP here is rubbing plus auxiliaries and never holds pumping. The two motored totals
(`motored_total_barnes_moss`, `motored_total_millington_hartles`) do hold pumping: they are bounds
to check against, not inputs to `gross_imep`.
"""

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_positive
from torquerisk.quantities import BAR

KILOREVOLUTIONS_PER_MINUTE = 1000.0 * 2.0 * np.pi / 60.0
"""1,000 rev/min in rad/s."""

FMEP_SPARK_RELATIVE_SD = 0.20
"""Spread of `fmep_spark`: build, oil, temperature and belt-driven auxiliaries differ that much."""
FMEP_COMPRESSION_RELATIVE_SD = 0.20
"""Spread of `fmep_compression_ignition`; the injection pump's share alone is worth half of it."""
MOTORED_TOTAL_MODERN_REDUCTION = (0.20, 0.40)
"""How far `motored_total_barnes_moss` overstates engines designed since about 1995."""


def bmep_from_torque(
    torque: Floats, displacement: Floats, revolutions_per_cycle: int = 2
) -> Floats:
    """Brake mean effective pressure [Pa].

    torque: crank torque T [N*m], any sign; displacement: whole engine V_d [m^3];
    revolutions_per_cycle: n_R, 2 for four-stroke, 1 for two-stroke. Shapes broadcast.
    bmep = 2 pi n_R T / V_d. Exact (a definition).
    Source: [HEYWOOD] eq. 2.20
    """
    require_positive("displacement", displacement, "m^3")
    _require_revolutions(revolutions_per_cycle)
    return 2.0 * np.pi * revolutions_per_cycle * np.asarray(torque, float) / displacement


def torque_from_bmep(bmep: Floats, displacement: Floats, revolutions_per_cycle: int = 2) -> Floats:
    """Crank torque [N*m] that a mean effective pressure stands for; inverse of `bmep_from_torque`.

    bmep: mean effective pressure [Pa]; displacement: whole engine V_d [m^3];
    revolutions_per_cycle: n_R. T = bmep V_d / (2 pi n_R). Exact (a definition).
    Source: [HEYWOOD] eq. 2.20
    """
    require_positive("displacement", displacement, "m^3")
    _require_revolutions(revolutions_per_cycle)
    return np.asarray(bmep, float) * displacement / (2.0 * np.pi * revolutions_per_cycle)


def fmep_chen_flynn(
    peak_pressure: Floats,
    mean_piston_speed: Floats,
    constant: float = 0.137 * BAR,
    per_peak_pressure: float = 0.005,
    per_piston_speed: float = 0.162 * BAR,
    per_piston_speed_squared: float = 0.0,
) -> Floats:
    """Friction mean effective pressure [Pa] by the form of Chen and Flynn; no pumping in it.

    peak_pressure: p_max [Pa]; mean_piston_speed: S_p [m/s]; constant A [Pa];
    per_peak_pressure B [-]; per_piston_speed C [Pa*s/m]; per_piston_speed_squared D [Pa*s^2/m^2].
    fmep = A + B p_max + C S_p + D S_p^2. Fitted; the defaults are those of the paper, for one
    single-cylinder compression-ignition research engine, and read too high for modern spark
    engines (3.3 bar at 17 m/s and 80 bar). Range here: 0.5 to 30 m/s, 0.1 to 30 MPa.
    Source: [CHEN_FLYNN]
    """
    _require_running(peak_pressure, mean_piston_speed)
    piston_speed = np.asarray(mean_piston_speed, float)
    return (
        constant
        + per_peak_pressure * np.asarray(peak_pressure, float)
        + per_piston_speed * piston_speed
        + per_piston_speed_squared * piston_speed**2
    )


def fmep_spark(peak_pressure: Floats, mean_piston_speed: Floats) -> Floats:
    """Friction mean effective pressure [Pa] of a warm spark-ignition engine, no pumping in it.

    peak_pressure: mean peak cylinder pressure p_max [Pa]; mean_piston_speed: S_p [m/s].
    fmep = 0.4 bar + 0.005 p_max + 0.09 bar*s/m S_p. Median of a documented estimate: each term
    lies inside published re-fits (0.3-0.5 bar; 0.004-0.006; 0.09-0.10 bar*s/m). Anchors: a
    1.4-litre four at 1,200 rpm measured 0.94 +/- 0.3 bar, this gives 0.85; at full load without
    boost it stays under the motored total of `motored_total_barnes_moss`, as it must.
    Relative spread FMEP_SPARK_RELATIVE_SD (one standard deviation). Range 0.5 to 30 m/s,
    0.1 to 30 MPa; above 20 m/s it is an extrapolation.
    Source: [CHEN_FLYNN] form; [FMEP_REFITS] coefficients; [COMBUSTION_DATA_A] anchor
    """
    return fmep_chen_flynn(peak_pressure, mean_piston_speed, 0.4 * BAR, 0.005, 0.09 * BAR)


def fmep_compression_ignition(peak_pressure: Floats, mean_piston_speed: Floats) -> Floats:
    """Friction mean effective pressure [Pa] of a warm compression-ignition engine, no pumping.

    peak_pressure: mean peak cylinder pressure p_max [Pa]; mean_piston_speed: S_p [m/s].
    fmep = 0.5 bar + 0.005 p_max + 0.10 bar*s/m S_p. Median of a documented estimate: the paper's
    term in p_max, a constant raised for the injection pump, and a piston-speed term below the
    paper's. Anchor: a 3.0-litre turbocharged four at 1,600 rpm measured 1.49 +/- 0.3 bar, this
    gives 1.40. Relative spread FMEP_COMPRESSION_RELATIVE_SD. Range as `fmep_chen_flynn`.
    Source: [CHEN_FLYNN] form; [COMBUSTION_DATA_C] anchor
    """
    return fmep_chen_flynn(peak_pressure, mean_piston_speed, 0.5 * BAR, 0.005, 0.10 * BAR)


def peak_pressure_for_friction(bmep: Floats, ignition_by_spark: bool = True) -> Floats:
    """Rough peak cylinder pressure [Pa], good enough for the friction models only.

    bmep: brake mean effective pressure [Pa], -5 to 60 bar; ignition_by_spark: False for
    compression ignition. p_max = 10 bar + 4 bmep (spark), 45 bar + 6 bmep (compression), with
    bmep counted from 0. Why: the friction models need p_max before the cycle is solved; 20 bar of
    error moves FMEP by 0.1 bar. Never use it as a load on a part. Spread about 25 %.
    Source: [COMBUSTION_DATA_A], [COMBUSTION_DATA_C]; [PRACTICE]
    """
    require("bmep", bmep, "between -5 and 60 bar", lambda x: (x >= -5 * BAR) & (x <= 60 * BAR))
    load = np.maximum(np.asarray(bmep, float), 0.0)
    if ignition_by_spark:
        return 10.0 * BAR + 4.0 * load
    return 45.0 * BAR + 6.0 * load


def motored_total_barnes_moss(speed: Floats) -> Floats:
    """Motored friction INCLUDING pumping and accessories [Pa]: an upper bound, spark ignition.

    speed: engine speed [rad/s], 500 to 9,000 rpm.
    tfmep = 0.97 + 0.15 n + 0.05 n^2 bar with n in 1,000 rpm. Fitted to four-cylinder four-stroke
    engines of 845 to 2,000 cm^3 at full throttle, before 1975; overstates modern engines by
    MOTORED_TOTAL_MODERN_REDUCTION. Do not add pumping to it.
    Source: [BARNES_MOSS]; [HEYWOOD] eq. 13.6
    """
    _require_speed(speed)
    n = np.asarray(speed, float) / KILOREVOLUTIONS_PER_MINUTE
    return (0.97 + 0.15 * n + 0.05 * n**2) * BAR


def motored_total_millington_hartles(
    speed: Floats, mean_piston_speed: Floats, constant: float = 75e3
) -> Floats:
    """Motored friction INCLUDING pumping and accessories [Pa]: a bound, compression ignition.

    speed: engine speed [rad/s]; mean_piston_speed: S_p [m/s]; constant: C1 [Pa], 75 kPa direct
    injection, 110 kPa swirl chamber, 144 kPa small swirl chamber.
    tfmep = C1 + 48 kPa n + 0.4 kPa S_p^2 with n in 1,000 rpm. Fitted to engines before 1968.
    Do not add pumping to it.
    Source: [MILLINGTON_HARTLES]; [HEYWOOD] eq. 13.7
    """
    _require_speed(speed)
    n = np.asarray(speed, float) / KILOREVOLUTIONS_PER_MINUTE
    return constant + 48e3 * n + 0.4e3 * np.asarray(mean_piston_speed, float) ** 2


def net_imep(bmep: Floats, fmep: Floats) -> Floats:
    """Net indicated mean effective pressure [Pa], over all four strokes.

    bmep: brake [Pa]; fmep: rubbing and auxiliaries [Pa]. net = bmep + fmep. Exact (definition).
    Source: [HEYWOOD] section 2.7
    """
    return np.asarray(bmep, float) + fmep


def gross_imep(bmep: Floats, fmep: Floats, pmep: Floats) -> Floats:
    """Gross indicated mean effective pressure [Pa], over compression and expansion only.

    bmep: brake [Pa]; fmep: rubbing and auxiliaries, without pumping [Pa]; pmep: pumping, positive
    when gas exchange costs work [Pa]. gross = bmep + fmep + pmep. Exact (definition).
    Source: [HEYWOOD] section 2.7
    """
    return net_imep(bmep, fmep) + pmep


def bmep_from_gross_imep(imep_gross: Floats, fmep: Floats, pmep: Floats) -> Floats:
    """Brake mean effective pressure [Pa]; inverse of `gross_imep`.

    imep_gross, fmep, pmep [Pa] as in `gross_imep`. bmep = gross - fmep - pmep. Exact (definition).
    Source: [HEYWOOD] section 2.7
    """
    return np.asarray(imep_gross, float) - fmep - pmep


def _require_revolutions(revolutions_per_cycle: int) -> None:
    require(
        "revolutions_per_cycle",
        float(revolutions_per_cycle),
        "1 (two-stroke) or 2 (four-stroke)",
        lambda x: (x == 1) | (x == 2),
    )


def _require_speed(speed: Floats) -> None:
    require(
        "speed",
        speed,
        "between 52 and 943 rad/s (500 to 9,000 rpm)",
        lambda x: (x >= 52.0) & (x <= 943.0),
    )


def _require_running(peak_pressure: Floats, mean_piston_speed: Floats) -> None:
    require(
        "peak_pressure",
        peak_pressure,
        "between 1e5 and 3e7 Pa (1 to 300 bar, absolute)",
        lambda x: (x >= 1e5) & (x <= 3e7),
    )
    require(
        "mean_piston_speed",
        mean_piston_speed,
        "between 0.5 and 30 m/s",
        lambda x: (x >= 0.5) & (x <= 30.0),
    )
