"""Gas exchange: exhaust pressure, pumping, residual gas and volumetric efficiency."""

import numpy as np

from torquerisk.physics.arrays import Floats, require, require_between, require_positive
from torquerisk.quantities import BAR

SPECIFIC_GAS_CONSTANT_AIR = 287.05
"""Specific gas constant of dry air [J/(kg*K)]."""

EXHAUST_SYSTEM_LOSS_AT_20_M_PER_S = 25e3
"""Back pressure of an exhaust system at 20 m/s mean piston speed, unboosted [Pa], gauge."""
TURBINE_PRESSURE_RATIO_OVER_BOOST = 1.3
"""Median of exhaust gauge pressure before the turbine over boost gauge pressure: about 0.9 for a
large turbocharger at low speed, 1.8 and more for a small one near its flow limit."""
TURBINE_PRESSURE_LOG_SD = 0.25
TURBINE_REFERENCE_PISTON_SPEED = 12.0
"""Mean piston speed at which a fixed turbine stands at the median above [m/s]."""
TURBINE_SPEED_EXPONENT = 0.8
"""Growth of that ratio with mean piston speed, turbine of fixed size with a wastegate."""
VALVE_AREA_RATIO_INTAKE = 0.32
VALVE_AREA_RATIO_EXHAUST = 0.22
"""Valve head area over piston area: two valves of 0.40 and of 0.33 bore."""
VALVE_MEAN_FLOW_COEFFICIENT = 0.42
"""Flow area over head area, averaged over the lift; the value that reproduces [PATTON]."""
EXHAUST_GAS_DENSITY_TEMPERATURE = 1100.0
"""Temperature at which exhaust gas passes its valve during the exhaust stroke [K]."""
PMEP_RELATIVE_SD = 0.3
PMEP_ABSOLUTE_SD = 8e3
"""Spread of `pmep`: 30 % of it and 8 kPa, added in quadrature."""
EVAPORATED_IN_CHARGE = 0.4
"""Share of the fuel's heat of evaporation that the charge gives and no wall: 0.2 to 0.4 where it is
injected into the port, 0.6 to 0.8 into the cylinder (from memory)."""
EVAPORATED_IN_CHARGE_SD = 0.15
VOLUMETRIC_EFFICIENCY_PLAUSIBLE = (0.60, 1.15)
"""On manifold density; outside it, suspect units, correction, driveline loss or pressure."""


def exhaust_pressure_without_turbine(
    mean_piston_speed: Floats, intake_pressure: Floats, ambient_pressure: Floats
) -> Floats:
    """Exhaust manifold pressure [Pa] with no turbine in the way (unboosted or crank-driven boost).

    mean_piston_speed: S_p [m/s]; intake_pressure: intake manifold p_i [Pa]; ambient_pressure:
    p_a [Pa]. p_e = p_a + 25 kPa (S_p/20 * min(p_i/p_a, 1.6))^2: a flow loss grows with the square
    of mass flow; systems for more boost than 1.6 are built wider, so the growth stops there.
    Fitted to practice; relative spread of the gauge part 0.4.
    Range 0.5 to 30 m/s, pressures 10 to 600 kPa.
    Source: [PATTON] (0.18 kPa S_p^2 for older systems); [PRACTICE]
    """
    _require_manifold(mean_piston_speed, intake_pressure)
    _require_pressure("ambient_pressure", ambient_pressure)
    flow = np.asarray(mean_piston_speed, float) / 20.0
    ratio = np.minimum(np.asarray(intake_pressure, float) / ambient_pressure, 1.6)
    return ambient_pressure + EXHAUST_SYSTEM_LOSS_AT_20_M_PER_S * (flow * ratio) ** 2


def exhaust_pressure_before_turbine(
    mean_piston_speed: Floats,
    intake_pressure: Floats,
    ambient_pressure: Floats,
    pressure_over_boost: Floats = TURBINE_PRESSURE_RATIO_OVER_BOOST,
) -> Floats:
    """Exhaust manifold pressure [Pa] ahead of a turbine, when nobody has measured it.

    mean_piston_speed: S_p [m/s]; intake_pressure: p_i [Pa]; ambient_pressure: p_a [Pa];
    pressure_over_boost: exhaust over intake gauge pressure k [-], lognormal about its default with
    TURBINE_PRESSURE_LOG_SD; `turbine_pressure_over_boost` has its trend with speed.
    p_e = p_e0 + k max(p_i - p_a, 0), p_e0 the back pressure of the system
    behind the turbine by `exhaust_pressure_without_turbine` at atmospheric intake or below.
    Assumed, not fitted. A measured exhaust pressure is worth far more.
    Source: [PRACTICE]
    """
    require_positive("pressure_over_boost", pressure_over_boost, "")
    boost = np.maximum(np.asarray(intake_pressure, float) - ambient_pressure, 0.0)
    unboosted = np.minimum(np.asarray(intake_pressure, float), ambient_pressure)
    base = exhaust_pressure_without_turbine(mean_piston_speed, unboosted, ambient_pressure)
    return base + pressure_over_boost * boost


def turbine_pressure_over_boost(mean_piston_speed: Floats) -> Floats:
    """Exhaust gauge pressure before a fixed turbine over boost gauge pressure [-]; median.

    mean_piston_speed: S_p [m/s], 0.5 to 30. k = 1.3 (S_p/12)^0.8. At given boost the compressor's
    work grows with the flow, while a wastegated turbine of fixed size takes more flow only at more
    pressure: balancing the two (shaft power, Stodola's ellipse for the turbine) over boost of 1.5
    to 2.8 gives exponents of 0.81 to 0.87 and 0.9 to 1.5 at 12 m/s, by where the wastegate starts
    to open. Lognormal spread TURBINE_PRESSURE_LOG_SD. Not for variable turbines.
    Source: [HEYWOOD] section 6.8 (work of compressor and turbine); [PRACTICE] for the level
    """
    _require_piston_speed(mean_piston_speed)
    rate = np.asarray(mean_piston_speed, float) / TURBINE_REFERENCE_PISTON_SPEED
    return np.asarray(TURBINE_PRESSURE_RATIO_OVER_BOOST * rate**TURBINE_SPEED_EXPONENT)


def valve_flow_loss(
    mean_piston_speed: Floats, gas_density: Floats, valve_area_ratio: Floats
) -> Floats:
    """Mean pressure lost over a stroke across open valves [Pa].

    mean_piston_speed: S_p [m/s]; gas_density: density rho at the valve [kg/m^3];
    valve_area_ratio: total head area of these valves over piston area A_v/A_p [-].
    dp = (pi^2/16) rho (S_p A_p/(C A_v))^2, C the VALVE_MEAN_FLOW_COEFFICIENT: the incompressible
    loss 1/2 rho w^2 averaged over a sinusoidal stroke, whose mean square speed is (pi^2/8) S_p^2.
    The form is exact for that flow, C is fitted; good to 30 % while the Mach number stays low
    (S_p A_p/(C A_v) below 0.6 sound).
    Source: [PATTON] pumping terms (4.12e-3 kPa S_p^2/r^4 at sea level fixes C)
    """
    _require_piston_speed(mean_piston_speed)
    require_positive("gas_density", gas_density, "kg/m^3")
    require_between("valve_area_ratio", valve_area_ratio, 0.05, 0.6)
    speed_at_valve = np.asarray(mean_piston_speed, float) / (
        VALVE_MEAN_FLOW_COEFFICIENT * valve_area_ratio
    )
    return (np.pi**2 / 16.0) * gas_density * speed_at_valve**2


def pmep(
    intake_pressure: Floats,
    exhaust_pressure: Floats,
    mean_piston_speed: Floats,
    intake_temperature: Floats = 320.0,
) -> Floats:
    """Pumping mean effective pressure [Pa]; positive when gas exchange costs work.

    intake_pressure: intake manifold p_i [Pa]; exhaust_pressure: exhaust manifold p_e [Pa];
    mean_piston_speed: S_p [m/s]; intake_temperature: manifold gas T_i [K].
    pmep = p_e - p_i + dp_intake + dp_exhaust. The first two terms are exact for valves that open
    and close at the dead centres. Negative (a gain) when the intake is at higher pressure than the
    exhaust and the engine turns slowly. Spread PMEP_RELATIVE_SD and PMEP_ABSOLUTE_SD.
    Source: [PATTON]; [HEYWOOD] section 13.4
    """
    _require_manifold(mean_piston_speed, intake_pressure)
    _require_pressure("exhaust_pressure", exhaust_pressure)
    _require_temperature("intake_temperature", intake_temperature)
    p_i = np.asarray(intake_pressure, float)
    p_e = np.asarray(exhaust_pressure, float)
    density_in = p_i / (SPECIFIC_GAS_CONSTANT_AIR * np.asarray(intake_temperature, float))
    density_out = p_e / (SPECIFIC_GAS_CONSTANT_AIR * EXHAUST_GAS_DENSITY_TEMPERATURE)
    loss_in = valve_flow_loss(mean_piston_speed, density_in, VALVE_AREA_RATIO_INTAKE)
    loss_out = valve_flow_loss(mean_piston_speed, density_out, VALVE_AREA_RATIO_EXHAUST)
    return p_e - p_i + loss_in + loss_out


def residual_heating(
    intake_pressure: Floats,
    exhaust_pressure: Floats,
    compression_ratio: Floats,
    intake_temperature: Floats = 320.0,
    residual_temperature: Floats = 1100.0,
) -> Floats:
    """Rise of the fresh charge's temperature [K] by mixing with residual gas.

    intake_pressure: p_i [Pa]; exhaust_pressure: p_e [Pa]; compression_ratio: r_c;
    intake_temperature: T_i [K]; residual_temperature: T_r [K].
    Residual of density p_e/(R T_r) in the clearance volume shrinks to V_c p_e/p_i, fresh charge
    fills the rest at p_i, T_i: x_r = 1/(1 + (T_r/T_i)(r_c p_i/p_e - 1)).
    T_1 = x_r (r_c p_i/p_e) T_r for the mixture at the end of an ideal intake stroke; with that x_r
    T_1 - T_i = T_i (1 - t)/(r_c p_i/p_e - 1 + t), t = T_i/T_r. Exact for equal specific
    heats, no overlap flow and no heat from walls. 23 K at p_i = p_e and a ratio of 10, half as much
    again where the exhaust stands 40 % above the intake. What T_r is hardly matters: 3 % for 100 K.
    Raises OutOfRangeError where r_c p_i/p_e is not above 1.
    Source: [HEYWOOD] section 5.4
    """
    for name, pressure in (
        ("intake_pressure", intake_pressure), ("exhaust_pressure", exhaust_pressure),
    ):  # fmt: skip
        _require_pressure(name, pressure)
    require_between("compression_ratio", compression_ratio, 4, 30)
    _require_temperature("intake_temperature", intake_temperature)
    require_between("residual_temperature", residual_temperature, 500, 2000, "K")
    room = compression_ratio * np.asarray(intake_pressure, float) / exhaust_pressure
    require("compression_ratio x intake / exhaust pressure", room, "above 1", lambda x: x > 1.0)
    share = np.asarray(intake_temperature, float) / residual_temperature
    return np.asarray(intake_temperature * (1.0 - share) / (room - 1.0 + share))


def evaporation_cooling(latent_heat: Floats, air_fuel: Floats) -> Floats:
    """Fall of the charge's temperature [K] if it alone evaporates its fuel.

    latent_heat: of the fuel, h_fg [J/kg]; air_fuel: air over fuel by mass, A [-].
    h_fg/(1005 A + 1600): air and the fuel's vapour at constant pressure, liquid at the charge's
    temperature. Exact for these specific heats: petrol 21 K, ethanol 87 K, stoichiometric. What
    the walls evaporate does not cool it: EVAPORATED_IN_CHARGE.
    Source: [EVAPORATION]
    """
    require_positive("latent_heat", latent_heat, "J/kg")
    require_positive("air_fuel", air_fuel, "")
    return np.asarray(latent_heat / (1005.0 * np.asarray(air_fuel, float) + 1600.0))


def _require_manifold(mean_piston_speed: Floats, intake_pressure: Floats) -> None:
    _require_piston_speed(mean_piston_speed)
    _require_pressure("intake_pressure", intake_pressure)


def _require_piston_speed(value: Floats) -> None:
    require_between("mean_piston_speed", value, 0.5, 30, "m/s")


def _require_pressure(argument: str, value: Floats) -> None:
    require_between(argument, value, 0.1, 8, "bar absolute", BAR)


def _require_temperature(argument: str, value: Floats) -> None:
    require_between(argument, value, 220, 500, "K")
