"""The coolant's own pressure: what warming does to a closed system, and what gas in it does."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require_between

_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
EXPANSION = 1.5e3
"""Rise of pressure per kelvin as coolant swells into the air of its tank and warms it [Pa/K]
(common practice, no source: 1 to 2 kPa/K)."""


COOLANT_RISE = 15e3
"""Rise of coolant pressure within a run that is read as gas in the coolant [Pa]."""
RISING = (0.15, 0.85)
"""Shares of a rise or fall between which a line is laid through it to see where it begins [-]."""


def saturation_pressure_if97(temperature: Floats) -> Array:
    """Vapour pressure of water [Pa].

    temperature: T [K], 273.15 to 647. Equation 30 (region 4), fitted within 0.025 %. Coolant with
    glycol has less, so water is the most that warming explains.
    Source: [IAPWS_IF97] section 8
    """
    require_between("temperature", temperature, 273.15, 647, "K")
    t = np.asarray(temperature, float)
    theta = t + _N[8] / (t - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return np.asarray(1e6 * (2 * c / (-b + np.sqrt(b**2 - 4 * a * c))) ** 4)


def pressure_from_warming(temperature: Array) -> Array:
    """Pressure that a closed system gains by warming from its first temperature (n,) [Pa].

    temperature: of the coolant (n,) [K]. What its vapour gains and EXPANSION for each kelvin.
    Source: [IAPWS_IF97] for the vapour; [PRACTICE] for the rest
    """
    held = np.clip(np.asarray(temperature, float), 273.15, 647.0)
    vapour = saturation_pressure_if97(held)
    return np.asarray(vapour - vapour[0] + EXPANSION * (held - held[0]))


def coolant_sign(
    speed: Array, pressure: Array, temperature: Array | None = None
) -> tuple[float, float, float] | None:
    """Rise of coolant pressure [Pa] and the speeds [rad/s] between which it rose, or None.

    speed: (n,) [rad/s]; pressure: gauge or absolute (n,) [Pa]; temperature: of the coolant (n,)
    [K], where logged: what warming explains is taken off. The greatest rise over the least
    value so far counts when it is 15 kPa or more within the run (common practice, no source: gas in
    the coolant shows within seconds, warming alone is slower). Each value is the middle of three
    neighbours, so that one noisy sample is no sign.
    """
    if temperature is not None:
        pressure = pressure - pressure_from_warming(temperature)
    steady = calm(pressure, 1)
    rise = steady - np.minimum.accumulate(steady)
    top = int(np.argmax(rise))
    if rise[top] < COOLANT_RISE:
        return None
    start = beginning(rise, top)
    return float(rise[top]), float(speed[start]), float(speed[top])


def calm(values: Array, beside: int = 2) -> Array:
    """Each value as the middle one of itself and its neighbours on either side."""
    padded = np.pad(np.asarray(values, float), beside, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * beside + 1)
    return np.asarray(np.median(windows, axis=-1))


def beginning(change: Array, top: int) -> int:
    """The row where a change from 0 to its greatest begins.

    Where the line through its rows between 15 and 85 % comes from 0: the first few percent drown in
    noise, so that a share alone is passed late. Within 3.5 % of the run's range of speed in nine of
    ten planted rises of coolant pressure, 7 % in falls of oil pressure (own simulation).
    """
    low, high = (share * change[top] for share in RISING)
    start = int(np.flatnonzero(change[: top + 1] < low)[-1])
    rows = np.arange(start, start + 1 + int(np.argmax(change[start : top + 1] >= high)))
    if len(rows) < 3:
        return start
    slope, height = np.polyfit(rows, change[rows], 1)
    return int(np.clip(round(-height / slope), 0, start + 1)) if slope > 0 else start
