"""One cylinder of an engine as the closed cycle wants it: geometry, fuel, burn and valve events."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from torquerisk.physics.cylinder.burn import (
    BurnCurve,
    double_wiebe,
    premixed_share,
    premixed_share_unheld,
    wiebe,
)
from torquerisk.physics.cylinder.burn_duration import (
    COMPRESSION_SPEEDS,
    DELAY_PISTON_SPEEDS,
    DELAY_PRESSURES,
    DELAY_TEMPERATURES,
    compressed_charge,
    duration_compression_ignition,
    duration_spark,
    flame_development,
    ignition_delay_hardenberg_hase,
    time_from_crank_angle,
)
from torquerisk.physics.cylinder.cycle_data import COMPLETENESS, CycleInputs
from torquerisk.physics.cylinder.gas import Fuel, diesel, petrol_ethanol, working_gas
from torquerisk.physics.cylinder.geometry import CylinderGeometry, cylinder_volume
from torquerisk.physics.cylinder.phasing import (
    MBT_CA50,
    ca50_compression_ignition,
    relative_efficiency,
)
from torquerisk.physics.running_gear.slider_crank import mean_piston_speed
from torquerisk.quantities import BAR, DEGREE, Array

LONGEST_BURN = 60 * DEGREE
"""Longest median 10-90 % duration that is modelled: beyond it engines misfire [rad]."""
EXHAUST_BASE = 1.3 * BAR
BRAKE_ESTIMATES = (0.6 * BAR, 39.0 * BAR)
"""Rough BMEP within which the burn-duration correlations are asked [Pa]."""
ADVANCE_LAMBDAS = (0.7, 1.3)
"""Lambda within which ignition advance and phasing are told from each other [-]: wider than what
the tables hold, whose notice says so."""
CA50_LOADS = (0.0, 40.0 * BAR)
"""Rough BMEP within which the correlation of a diesel's CA50 is asked [Pa]."""
TRAPPED_TEMPERATURES = (265.0, 480.0)
"""Charge temperatures at intake closing of the surface [K]."""
USUAL_EFFICIENCY = {False: 0.41, True: 0.46}
"""Gross indicated efficiency at best phasing, by compression ignition: what the closed cycle gives
at usual loads, within 10 %. Only for a first guess of the charge."""


@dataclass(frozen=True, kw_only=True)
class CylinderSpec:
    """What the surface depends on: one cylinder, its fuel and its valve events. SI, hashable."""

    bore: float
    stroke: float
    rod_length: float
    pin_offset: float
    compression_ratio: float
    compression_ignition: bool
    ethanol_share: float
    burn_duration: float | None
    """10-90 % duration where given [rad], else None for the correlation."""
    residual_fraction: float
    intake_closing: float
    """Angle of intake valve closing, negative, from firing TDC [rad]."""
    exhaust_opening: float
    """Angle of exhaust valve opening, positive, from firing TDC [rad]."""
    speed_low: float
    speed_high: float
    cetane: float = 51.0
    """Cetane number [-]; only of compression ignition."""

    @property
    def swept_volume(self) -> float:
        """Swept volume of one cylinder [m^3]."""
        return math.pi / 4 * self.bore**2 * self.stroke

    @property
    def ca50_range(self) -> tuple[float, float]:
        """CA50 range of the surface [rad]."""
        return (
            (-5 * DEGREE, 34 * DEGREE) if self.compression_ignition else (-2 * DEGREE, 44 * DEGREE)
        )

    @property
    def lambda_range(self) -> tuple[float, float]:
        """Air-fuel equivalence range of the surface [-]."""
        return (1.02, 2.5) if self.compression_ignition else (0.70, 1.12)

    @property
    def lambda_middle(self) -> float:
        """Air-fuel equivalence in the middle of the tables [-]."""
        return 1.5 if self.compression_ignition else 0.88

    @property
    def lambda_step(self) -> float:
        """Step of the logarithm of lambda."""
        return 0.19 if self.compression_ignition else 0.10

    @property
    def temperature_middle(self) -> float:
        """Trapped temperature in the middle of the tables [K]."""
        return 350.0


def completeness_of(spec: CylinderSpec) -> float:
    """Share of the charge that burns where air allows it [-]: the closed cycle's own default."""
    return COMPLETENESS["compression" if spec.compression_ignition else "spark"]


@lru_cache(maxsize=32)
def fuel_of(compression_ignition: bool, ethanol_share: float) -> Fuel:
    """The fuel of a cylinder spec."""
    return diesel() if compression_ignition else petrol_ethanol(ethanol_share)


@lru_cache(maxsize=32)
def charge_gas_constant(spec: CylinderSpec) -> float:
    """Gas constant of the trapped charge in the middle of the tables [J/(kg K)].

    Of petrol vapour, air and residual about 273, of a diesel's air and residual 287.
    """
    fuel = fuel_of(spec.compression_ignition, spec.ethanol_share)
    gas = working_gas(
        fuel, spec.lambda_middle, spec.residual_fraction, spec.compression_ignition, False
    )
    return float(gas.unburned_gas_constant[0])


def geometry_of(spec: CylinderSpec, ratio: Array | float | None = None) -> CylinderGeometry:
    """The cylinder's geometry, with another compression ratio where given."""
    return CylinderGeometry(
        bore=spec.bore,
        stroke=spec.stroke,
        rod_length=spec.rod_length,
        compression_ratio=spec.compression_ratio if ratio is None else ratio,
        pin_offset=spec.pin_offset,
    )


def brake_estimate(imep: Array) -> Array:
    """Rough BMEP [Pa] of a gross IMEP [Pa], for the burn-duration correlations only."""
    return np.clip(brake_unheld(imep), *BRAKE_ESTIMATES)


def brake_unheld(imep: Array) -> Array:
    """Rough BMEP [Pa] of a gross IMEP [Pa] before it is held within BRAKE_ESTIMATES."""
    return 0.93 * imep - 0.8 * BAR


def imep_estimate(bmep: Array | float) -> Array:
    """Rough gross IMEP [Pa] of a BMEP [Pa]; inverse of `brake_unheld`."""
    return np.asarray((np.asarray(bmep) + 0.8 * BAR) / 0.93)


def ca50_load_unheld(imep: Array) -> Array:
    """Rough BMEP [Pa] of a gross IMEP [Pa] for a diesel's CA50, before it is held."""
    return imep - 2 * BAR


def ca50_compression(speed: Array | float, imep: Array) -> Array:
    """Median CA50 [rad] of a diesel whose phasing nobody knows, held within its correlation."""
    load = np.clip(ca50_load_unheld(imep), *CA50_LOADS)
    return np.asarray(ca50_compression_ignition(np.clip(speed, *COMPRESSION_SPEEDS), load))


def burn_duration(
    spec: CylinderSpec, speed: Array, imep: Array, lambda_: Array, ca50: Array
) -> Array:
    """Median 10-90 % burn duration [rad]: given, else by correlation, then LONGEST_BURN at most.

    Late burns are lengthened.
    """
    if spec.burn_duration is not None:
        return np.broadcast_to(np.float64(spec.burn_duration), np.shape(imep)).copy()
    return np.minimum(burn_unheld(spec, speed, imep, lambda_, ca50), LONGEST_BURN)


def burn_unheld(
    spec: CylinderSpec, speed: Array, imep: Array, lambda_: Array, ca50: Array
) -> Array:
    """Median 10-90 % burn duration by correlation [rad] before it is held at LONGEST_BURN."""
    if spec.compression_ignition:
        speed = np.clip(speed, *COMPRESSION_SPEEDS)
        return np.asarray(duration_compression_ignition(speed, brake_estimate(imep)))
    lateness = np.clip(ca50 - MBT_CA50, -1.0, 1.0)
    bmep = brake_estimate(imep)
    return np.asarray(duration_spark(speed, bmep, lambda_, spec.residual_fraction, lateness))


def burn_timing(
    spec: CylinderSpec, speed: Array | float, load: Array, lambda_: Array | float
) -> tuple[Array, Array]:
    """Median flame development and 10-90 % duration at best phasing [rad] of a spark engine.

    load: BMEP [Pa]; the duration as given where it is. All that broadcasts together.
    """
    lam, residual = np.clip(lambda_, *ADVANCE_LAMBDAS), spec.residual_fraction
    held = np.clip(load, *BRAKE_ESTIMATES)
    start = np.asarray(flame_development(speed, held, lam, residual))
    if spec.burn_duration is not None:
        return start, np.full_like(start, spec.burn_duration)
    return start, np.asarray(duration_spark(speed, held, lam, residual))


@dataclass(frozen=True, kw_only=True, eq=False)
class Ignition:
    """How a diesel's charge lights, lane by lane (n,). SI."""

    pressure: Array
    """Of the compressed charge at firing TDC, were nothing to burn [Pa]."""
    temperature: Array
    """The same [K]."""
    piston_speed: Array
    """Mean [m/s]."""
    angle: Array
    """Ignition delay [rad]."""
    delay: Array
    """Ignition delay [s]."""
    premixed: Array
    """Share of the heat released by premixed burning [-]."""
    premixed_unheld: Array
    """The same before it is held at its highest [-]."""


def ignition(
    spec: CylinderSpec,
    *,
    speed: Array | float,
    imep: Array,
    ca50: Array,
    lambda_: Array,
    trapped_temperature: Array | float,
    ratio: Array | float | None = None,
    injected_factor: Array | float = 1.0,
) -> Ignition:
    """Ignition delay and premixed share of lanes (n,), from the charge alone, not from its burn.

    injected_factor: on the share that burns as it is injected [-]. The trapped pressure is
    `charge_pressure`, so that nothing has to be solved for: within about 10 % of the cycle's own,
    which moves the delay by 3 %. The compressed charge and the piston speed are held within the
    correlation's range; who shows a result says so where that binds.
    """
    trapped = charge_pressure(spec, imep, ca50, lambda_, trapped_temperature)
    geometry = geometry_of(spec, ratio)
    volumes = [np.asarray(cylinder_volume(at, geometry)) for at in (spec.intake_closing, 0.0)]
    pressure, temperature = compressed_charge(trapped, trapped_temperature, volumes[0] / volumes[1])
    piston = np.asarray(mean_piston_speed(stroke=spec.stroke, angular_speed=speed))
    angle = np.asarray(
        ignition_delay_hardenberg_hase(
            np.clip(pressure, *DELAY_PRESSURES),
            np.clip(temperature, *DELAY_TEMPERATURES),
            np.clip(piston, *DELAY_PISTON_SPEEDS),
            spec.cetane,
        )
    )
    delay = np.asarray(time_from_crank_angle(angle, speed))
    shape = np.shape(delay)
    return Ignition(
        pressure=np.broadcast_to(pressure, shape),
        temperature=np.broadcast_to(temperature, shape),
        piston_speed=np.broadcast_to(piston, shape),
        angle=np.broadcast_to(angle, shape),
        delay=delay,
        premixed=premixed_share(lambda_, delay, injected_factor),
        premixed_unheld=premixed_share_unheld(lambda_, delay, injected_factor),
    )


def cycle_inputs(
    spec: CylinderSpec,
    *,
    speed: Array | float,
    imep: Array,
    ca50: Array,
    duration: Array,
    lambda_: Array,
    trapped_temperature: Array | float,
    ratio: Array | float | None = None,
    heat_loss_scale: Array | float = 1.0,
    exhaust_pressure: Array | float = EXHAUST_BASE,
    injected_factor: Array | float = 1.0,
    burn: BurnCurve | None = None,
) -> CycleInputs:
    """Inputs of the closed cycle for lanes (n,) of one cylinder spec.

    imep: gross IMEP that the lanes are to reach [Pa]; injected_factor: as in `ignition`. Both
    matter to compression ignition only: one Wiebe function for spark, two for compression ignition.
    burn: where it is not to follow from ca50, duration and `ignition`.
    """
    lam, at = np.asarray(lambda_, dtype=float), np.asarray(ca50, dtype=float)
    length = np.asarray(duration, dtype=float)
    if burn is None and spec.compression_ignition:
        lit = ignition(
            spec, speed=speed, imep=imep, ca50=at, lambda_=lam, ratio=ratio,
            trapped_temperature=trapped_temperature, injected_factor=injected_factor,
        )  # fmt: skip
        burn = double_wiebe(at, length, lit.premixed)
    elif burn is None:
        burn = wiebe(at, length)
    return CycleInputs(
        geometry=geometry_of(spec, ratio),
        fuel=fuel_of(spec.compression_ignition, spec.ethanol_share),
        compression_ignition=spec.compression_ignition,
        speed=speed,
        trapped_temperature=trapped_temperature,
        lambda_=lam,
        residual_fraction=spec.residual_fraction,
        burn=burn,
        heat_loss_scale=heat_loss_scale,
        intake_closing=spec.intake_closing,
        exhaust_opening=spec.exhaust_opening,
        exhaust_pressure=exhaust_pressure,
        completeness=completeness_of(spec),
    )


def charge_pressure(
    spec: CylinderSpec,
    imep: Array,
    ca50: Array,
    lambda_: Array,
    trapped_temperature: Array | float,
) -> Array:
    """Trapped pressure [Pa] likely to give a gross IMEP [Pa], by a usual efficiency."""
    fuel = fuel_of(spec.compression_ignition, spec.ethanol_share)
    air_fuel = lambda_ * fuel.stoichiometric_air_fuel
    fuel_share = (1 - spec.residual_fraction) / (air_fuel + (not spec.compression_ignition))
    apart = np.clip(ca50 - MBT_CA50, -0.8, 0.8)
    best = USUAL_EFFICIENCY[spec.compression_ignition]
    efficiency = best * np.asarray(relative_efficiency(apart + MBT_CA50)) * np.minimum(lambda_, 1.0)
    mass = imep * spec.swept_volume / (efficiency * fuel.lower_heating_value * fuel_share)
    closing = cylinder_volume(spec.intake_closing, geometry_of(spec))
    return np.asarray(mass * charge_gas_constant(spec) * trapped_temperature / closing)
