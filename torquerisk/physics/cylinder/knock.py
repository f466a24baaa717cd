"""End-gas knock: ignition delay, knock integral, its threshold, and octane of ethanol blends."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_between, require_positive
from torquerisk.physics.cylinder import gas

ATMOSPHERE = 101325.0
OCTANE_EXPONENT = 3.402
BURNED_FRACTION_LIMIT = 0.95
"""The integral stops here: the last of the end gas burns in the wall layer and does not knock."""
KNOCK_THRESHOLD_MEDIAN = 1.5
"""Knock integral to 95 % burned at the edge of audible knock, at KNOCK_THRESHOLD_SPEED. Not 1:
where knock limits, plausible full-load curves read 1.1 to 1.5 with this package's cycle and 343 K
trapped, and a calibrator holds them some 3 degrees off the edge, which is another 14 %."""
KNOCK_THRESHOLD_LOG_SD = 0.20
"""One standard deviation is 4.5 degrees of CA50: boosted calibrations on one pump fuel lie within
some 3 degrees of one another (common practice, no source), and the charge, the burn and the fuel
scatter beside it. Narrow it with known-good evidence."""
KNOCK_THRESHOLD_SPEED = 2500.0 * 2.0 * np.pi / 60.0
KNOCK_THRESHOLD_SPEED_EXPONENT = 0.4
"""Fall of the threshold with speed. The delay was fitted on one slow research engine and its
integral falls as 1/N: calibrators see the knock limit move by a few degrees between 2,500 and
5,500 rpm, where the integral alone says 14 (common practice, no source)."""
KNOCK_THRESHOLD_SPEED_SD = 0.2
"""Spread of that exponent: 0 leaves the integral as it is, 1 makes it one over crank angle."""
ETHANOL_OCTANE_RESEARCH = 109.0
SENSITIVITY_WEIGHT = 0.5
"""-K of the octane index RON - K S: an end gas as cool as in today's engines is delayed by more
than its research octane says where the fuel's sensitivity S = RON - MON is great. Published -K: 0.3
to 0.4 in cars without boost, 0.5 to 1 with it."""
SENSITIVITY_WEIGHT_SD = 0.3
ETHANOL_SENSITIVITY = 19.0
PETROL_SENSITIVITY = 9.0
"""Of petrol before ethanol is mixed in [-]; pump fuel of 95 octane has 10."""
ETHANOL_DENSITY = 789.0
ETHANOL_MOLAR_MASS = 46.07e-3
PETROL_DENSITY = 745.0
PETROL_MOLAR_MASS = 100e-3


def livengood_wu_integral(
    crank_angle: Array,
    pressure: Array,
    unburned_temperature: Array,
    speed: Floats,
    octane: Floats,
    burned_fraction: Array | None = None,
) -> Array:
    """Knock integral [-], one per lane: the share of the end gas's delay that is used up.

    crank_angle: theta (T,) increasing [rad]; pressure: p (T,) or (T, n) [Pa];
    unburned_temperature: T_u, same shape [K]; speed: omega, scalar or (n,) [rad/s]; octane: ON,
    scalar or (n,); burned_fraction: x_b, same shape as pressure, non-decreasing; the integral
    stops where it passes BURNED_FRACTION_LIMIT (interpolated inside the step). None integrates
    the whole trace.
    I = integral of dtheta/(omega tau), trapezoidal; converges with the square of the step.
    Source: [LIVENGOOD_WU]; delay [DOUAUD_EYZAT]
    """
    weight = _rate_steps(crank_angle, pressure, unburned_temperature, burned_fraction)
    return np.asarray(weight.sum(axis=0) / _scale(speed, octane))


def knock_threshold(
    speed: Floats,
    median: Floats = KNOCK_THRESHOLD_MEDIAN,
    exponent: Floats = KNOCK_THRESHOLD_SPEED_EXPONENT,
) -> Array:
    """Knock integral at the edge of audible knock, by speed [-]; median.

    speed: N [rad/s], 300 to 20,000 rpm; median: at KNOCK_THRESHOLD_SPEED [-]; exponent: e [-].
    median (N/2500 rpm)^-e. Assumed, not fitted: see KNOCK_THRESHOLD_SPEED_EXPONENT. Spread
    KNOCK_THRESHOLD_LOG_SD at that speed and KNOCK_THRESHOLD_SPEED_SD on the exponent.
    Source: [PRACTICE]
    """
    require_between("speed", speed, 31, 2095, "rad/s (300 to 20,000 rpm)")
    require_positive("median", median, "")
    rate = np.asarray(speed, float) / KNOCK_THRESHOLD_SPEED
    return np.asarray(median * rate ** -np.asarray(exponent, float))


def ethanol_mole_fraction(
    volume_fraction: Floats,
    petrol_density: Floats = PETROL_DENSITY,
    petrol_molar_mass: Floats = PETROL_MOLAR_MASS,
) -> Floats:
    """Mole fraction of ethanol in the liquid [-] from its volume fraction.

    volume_fraction: v, 0 to 1; petrol_density: [kg/m^3]; petrol_molar_mass: M_g [kg/mol].
    w = v rho_e/(v rho_e + (1 - v) rho_g); x = (w/M_e)/(w/M_e + (1 - w)/M_g). Exact but for the
    volume change on mixing (below 0.5 %) and the spread of M_g (95 to 110 g/mol).
    Source: definition; densities as blending practice, [BLEND_OCTANE]
    """
    require_between("volume_fraction", volume_fraction, 0, 1)
    require_positive("petrol_density", petrol_density, "kg/m^3")
    require_positive("petrol_molar_mass", petrol_molar_mass, "kg/mol")
    volume = np.asarray(volume_fraction, float)
    mass = gas.ethanol_mass_fraction(volume, petrol_density, ETHANOL_DENSITY)
    return gas.ethanol_mole_fraction(mass, petrol_molar_mass, ETHANOL_MOLAR_MASS)


def blend_octane(petrol_octane: Floats, ethanol_mole_fraction: Floats) -> Floats:
    """Research octane number [-] of petrol with ethanol, linear in mole fraction.

    petrol_octane: ON_g of the petrol before blending; ethanol_mole_fraction: x, 0 to 1.
    ON = (1 - x) ON_g + x ON_e with ON_e = 109 of neat ethanol. Fitted form; spread about 1.5
    octane: what the two do to one another beside it depends on the base fuel.
    Source: [BLEND_OCTANE]
    """
    require_between("ethanol_mole_fraction", ethanol_mole_fraction, 0, 1)
    _require_octane(petrol_octane)
    x = np.asarray(ethanol_mole_fraction, float)
    return (1.0 - x) * petrol_octane + x * ETHANOL_OCTANE_RESEARCH


def sensitivity_beyond(ethanol_mole_fraction: Floats, reference: Floats) -> Floats:
    """Sensitivity RON - MON of a blend over that of a reference blend of the same petrol [-].

    ethanol_mole_fraction, reference: x of either, 0 to 1. 10 (x - x_ref): molar-linear between
    petrol of 9 and ethanol of 19. SENSITIVITY_WEIGHT times it is what the blend's octane counts
    more for, beside that reference, than its RON.
    Source: [OCTANE_INDEX]; [BLEND_OCTANE] for the form; 19 from 108 to 109 RON, 89 to 90 MON
    """
    require_between("ethanol_mole_fraction", ethanol_mole_fraction, 0, 1)
    more = np.asarray(ethanol_mole_fraction, float) - reference
    return np.asarray((ETHANOL_SENSITIVITY - PETROL_SENSITIVITY) * more)


def _log_rate(pressure: Floats, temperature: Floats) -> Array:
    p = np.asarray(pressure, float) / ATMOSPHERE
    return np.asarray(1.7 * np.log(p) - 3800.0 / np.asarray(temperature, float))


def _scale(speed: Floats, octane: Floats) -> Array:
    require_positive("speed", speed, "rad/s")
    _require_octane(octane)
    strength = (np.asarray(octane, float) / 100.0) ** OCTANE_EXPONENT
    return np.asarray(17.68e-3 * strength * np.asarray(speed, float))


def _rate_steps(
    crank_angle: Array,
    pressure: Array,
    unburned_temperature: Array,
    burned_fraction: Array | None,
) -> Array:
    """Integral of p^1.7 exp(-3800/T) over each step of angle, cut where the burn is over."""
    angle = np.asarray(crank_angle, float)
    require(
        "crank_angle steps", np.diff(angle), "increasing: every step above 0 rad", lambda x: x > 0
    )
    require_positive("pressure", pressure, "Pa")
    require_between("unburned temperature", unburned_temperature, 200, 2000, "K")
    rate = np.exp(_log_rate(pressure, unburned_temperature))
    step = np.diff(angle).reshape(-1, *([1] * (rate.ndim - 1)))
    if burned_fraction is None:
        return np.asarray(0.5 * (rate[:-1] + rate[1:]) * step)
    burned = np.asarray(burned_fraction, float)
    rise = np.maximum(burned[1:] - burned[:-1], 1e-300)
    kept = np.clip((BURNED_FRACTION_LIMIT - burned[:-1]) / rise, 0.0, 1.0)
    end = rate[:-1] + kept * (rate[1:] - rate[:-1])
    return np.asarray(0.5 * (rate[:-1] + end) * kept * step)


def _require_octane(octane: Floats) -> None:
    require_between("octane", octane, 60, 130)
