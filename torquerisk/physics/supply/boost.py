"""Ceilings set by boost: what spring and valve hold, what a compressor passes, what it takes."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

CP_AIR = 1005.0
"""Specific heat of air at constant pressure [J/(kg*K)]."""
ISENTROPIC_EXPONENT = 0.4 / 1.4
"""(gamma - 1)/gamma of air [-]."""
REFERENCE_PRESSURE, REFERENCE_TEMPERATURE = 100e3, 298.15
"""State that a compressor's flow is corrected to here [Pa, K]."""


def boost_from_spring(
    spring: Floats, opens_early: Floats, over_spring: Floats, ambient: Floats
) -> Array:
    """Manifold pressure that a wastegate holds, absolute [Pa].

    spring: rating of the actuator's spring, gauge [Pa]; opens_early: by how much less it opens,
    because exhaust pressure pushes at the flap [Pa]; over_spring: boost over what the spring alone
    holds [-], 1 without a valve, about 2 with a three-port one, which can keep the signal from the
    actuator; ambient: [Pa]. p_a + k max(p_s - dp, 0).
    Source: [PRACTICE]
    """
    require_positive("spring", spring, "Pa")
    require("opens_early", opens_early, "0 or more Pa", lambda x: x >= 0)
    require("over_spring", over_spring, "1 or more", lambda x: x >= 1)
    require_positive("ambient", ambient, "Pa")
    held = np.maximum(np.asarray(spring, float) - opens_early, 0.0)
    return np.asarray(ambient + over_spring * held)


def compressor_work(pressure_ratio: Floats, inlet_temperature: Floats, efficiency: Floats) -> Array:
    """Work of compressing one kilogram of air [J/kg].

    pressure_ratio: outlet over inlet [-], below 1 takes none; inlet_temperature: T_1 [K];
    efficiency: isentropic eta [-]. c_p T_1 (r^((gamma-1)/gamma) - 1)/eta, constant specific heat,
    within 1 % to a ratio of 8.
    Source: [HEYWOOD] section 6.8
    """
    require(
        "pressure_ratio", pressure_ratio, "above 0 and at most 10", lambda x: (x > 0) & (x <= 10)
    )
    require_positive("inlet_temperature", inlet_temperature, "K")
    require("efficiency", efficiency, "above 0 and at most 1", lambda x: (x > 0) & (x <= 1))
    ratio = np.maximum(np.asarray(pressure_ratio, float), 1.0)
    rise = ratio**ISENTROPIC_EXPONENT - 1
    return np.asarray(CP_AIR * np.asarray(inlet_temperature, float) * rise / efficiency)


def corrected_flow(mass_flow: Floats, inlet_pressure: Floats, inlet_temperature: Floats) -> Array:
    """Air flow as compressor maps have it, at REFERENCE_PRESSURE and REFERENCE_TEMPERATURE [kg/s].

    mass_flow: [kg/s]; inlet_pressure: [Pa]; inlet_temperature: [K].
    m sqrt(T/T_0)/(p/p_0): same Mach numbers. Exact for one gas.
    Source: [HEYWOOD] section 6.8
    """
    require_positive("inlet_pressure", inlet_pressure, "Pa")
    require_positive("inlet_temperature", inlet_temperature, "K")
    warm = np.sqrt(np.asarray(inlet_temperature, float) / REFERENCE_TEMPERATURE)
    pressure = np.asarray(inlet_pressure, float) / REFERENCE_PRESSURE
    return np.asarray(np.asarray(mass_flow, float) * warm / pressure)


def share_of_map(
    flow: Floats,
    pressure_ratio: Floats,
    largest_flow: Floats,
    ratio_there: Floats,
    largest_ratio: Floats,
    flow_there: Floats,
) -> Array:
    """How far out a point lies in a compressor's map [-]: 1 on its right and upper edge.

    flow, pressure_ratio: corrected flow [kg/s] and ratio [-] of the point; largest_flow at
    ratio_there and flow_there at largest_ratio: the two corners; the edge runs straight between
    them, upright below and level beyond. Along a ray from no flow at a ratio of 1.
    Source: identity of a convex polygon; [PRACTICE] for its being the map's edge
    """
    require_positive("largest_flow", largest_flow, "kg/s")
    require("ratio_there", ratio_there, "1 or more", lambda x: x >= 1)
    require("largest_ratio", largest_ratio, "above 1", lambda x: x > 1)
    across = np.asarray(flow, float) / largest_flow
    up = np.maximum(np.asarray(pressure_ratio, float) - 1, 0.0)
    fall = np.asarray(largest_ratio, float) - ratio_there
    back = np.asarray(largest_flow, float) - flow_there
    require("largest_ratio", fall, "at least ratio_there", lambda x: x >= 0)
    require("flow_there", back, "at most largest_flow", lambda x: x >= 0)
    edge = largest_flow * fall + (np.asarray(ratio_there, float) - 1) * back
    slant = (np.asarray(flow, float) * fall + up * back) / np.where(edge > 0, edge, np.inf)
    return np.maximum(np.maximum(across, up / (np.asarray(largest_ratio) - 1)), slant)
