"""Mean effective pressures: torque to BMEP, friction models, and BMEP to gross IMEP.

Definitions used everywhere in this package: gross IMEP is the work of the compression and
expansion strokes over the displaced volume; PMEP is gross minus net; FMEP is net IMEP minus BMEP.
So FMEP here is rubbing plus auxiliaries and never holds pumping.
"""

from typing import TypeVar

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require_between
from torquerisk.quantities import BAR

F = TypeVar("F", float, Array)


def bmep_from_torque(torque: F, displacement: float) -> F:
    """Mean effective pressure [Pa] of a four-stroke engine: 4 pi T/V_d. Exact (a definition).

    torque: at the crank T [N*m], any shape and sign; displacement: whole engine V_d [m^3].
    Source: [HEYWOOD] eq. 2.20
    """
    return torque * 4 * np.pi / displacement


def torque_from_bmep(bmep: F, displacement: float) -> F:
    """Crank torque [N*m] that a mean effective pressure stands for; inverse of `bmep_from_torque`.

    bmep: [Pa]; displacement: whole engine V_d [m^3].
    Source: [HEYWOOD] eq. 2.20
    """
    return bmep * displacement / (4 * np.pi)


def fmep_chen_flynn(
    peak_pressure: Floats,
    mean_piston_speed: Floats,
    constant: float = 0.137 * BAR,
    per_peak_pressure: float = 0.005,
    per_piston_speed: float = 0.162 * BAR,
) -> Floats:
    """Friction mean effective pressure [Pa] by the form of Chen and Flynn; no pumping in it.

    peak_pressure: p_max [Pa]; mean_piston_speed: S_p [m/s]; constant A [Pa];
    per_peak_pressure B [-]; per_piston_speed C [Pa*s/m].
    fmep = A + B p_max + C S_p. Fitted; the defaults are those of the paper, for one
    single-cylinder compression-ignition research engine, and read too high for modern spark
    engines (3.3 bar at 17 m/s and 80 bar). Range here: 0.5 to 30 m/s, 0.1 to 30 MPa.
    Source: [CHEN_FLYNN]
    """
    _require_running(peak_pressure, mean_piston_speed)
    by_pressure = constant + per_peak_pressure * np.asarray(peak_pressure, float)
    return by_pressure + per_piston_speed * np.asarray(mean_piston_speed, float)


def fmep_spark(peak_pressure: Floats, mean_piston_speed: Floats) -> Floats:
    """Friction mean effective pressure [Pa] of a warm spark-ignition engine, no pumping in it.

    peak_pressure: mean peak cylinder pressure p_max [Pa]; mean_piston_speed: S_p [m/s].
    fmep = 0.4 bar + 0.005 p_max + 0.09 bar*s/m S_p. Median of a documented estimate: each term
    lies inside published re-fits (0.3-0.5 bar; 0.004-0.006; 0.09-0.10 bar*s/m). Anchors: a
    1.4-litre four at 1,200 rpm measured 0.94 +/- 0.3 bar, this gives 0.85; at full load without
    boost it stays under a published motored total, which holds pumping too, as it must.
    Relative spread 0.20: build, oil, temperature and auxiliaries differ that much. Range 0.5 to
    30 m/s, 0.1 to 30 MPa; above 20 m/s it is an extrapolation.
    Source: [CHEN_FLYNN] form; [FMEP_REFITS] coefficients; [COMBUSTION_DATA_A] anchor
    """
    return fmep_chen_flynn(peak_pressure, mean_piston_speed, 0.4 * BAR, 0.005, 0.09 * BAR)


def fmep_compression_ignition(peak_pressure: Floats, mean_piston_speed: Floats) -> Floats:
    """Friction mean effective pressure [Pa] of a warm compression-ignition engine, no pumping.

    peak_pressure: mean peak cylinder pressure p_max [Pa]; mean_piston_speed: S_p [m/s].
    fmep = 0.5 bar + 0.005 p_max + 0.10 bar*s/m S_p. Median of a documented estimate: the paper's
    term in p_max, a constant raised for the injection pump, and a piston-speed term below the
    paper's. Anchor: a 3.0-litre turbocharged four at 1,600 rpm measured 1.49 +/- 0.3 bar, this
    gives 1.40. Relative spread 0.20, half of it the injection pump. Range as `fmep_chen_flynn`.
    Source: [CHEN_FLYNN] form; [COMBUSTION_DATA_C] anchor
    """
    return fmep_chen_flynn(peak_pressure, mean_piston_speed, 0.5 * BAR, 0.005, 0.10 * BAR)


def _require_running(peak_pressure: Floats, mean_piston_speed: Floats) -> None:
    require_between("peak_pressure", peak_pressure, 1, 300, "bar absolute", BAR)
    require_between("mean_piston_speed", mean_piston_speed, 0.5, 30, "m/s")
