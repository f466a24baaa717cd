"""One cylinder of an engine as the closed cycle wants it: geometry, fuel, burn and valve events."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from torquerisk.physics.cylinder.burn import BurnCurve, double_wiebe, premixed_share, wiebe
from torquerisk.physics.cylinder.burn_duration import (
    duration_compression_ignition,
    duration_spark,
)
from torquerisk.physics.cylinder.closed_cycle import COMPLETENESS, CycleInputs
from torquerisk.physics.cylinder.gas import Fuel, diesel, petrol_ethanol
from torquerisk.physics.cylinder.geometry import CylinderGeometry, cylinder_volume
from torquerisk.physics.cylinder.phasing import MBT_CA50, relative_efficiency

Array = npt.NDArray[np.float64]

BAR = 1e5
DEG = math.pi / 180
RPM = math.pi / 30

LONGEST_BURN = 60 * DEG
"""Longest median 10-90 % duration that is modelled: beyond it engines misfire [rad]."""
EXHAUST_BASE = 1.3 * BAR


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

    @property
    def swept_volume(self) -> float:
        """Swept volume of one cylinder [m^3]."""
        return math.pi / 4 * self.bore**2 * self.stroke

    @property
    def ca50_range(self) -> tuple[float, float]:
        """CA50 range of the surface [rad]."""
        return (-5 * DEG, 34 * DEG) if self.compression_ignition else (-2 * DEG, 44 * DEG)

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
    return np.clip(0.93 * imep - 0.8 * BAR, 0.6 * BAR, 39.0 * BAR)


def burn_duration(
    spec: CylinderSpec, speed: Array, imep: Array, lambda_: Array, ca50: Array
) -> Array:
    """Median 10-90 % burn duration [rad]: given, else by correlation; late burns lengthened."""
    if spec.burn_duration is not None:
        return np.broadcast_to(np.float64(spec.burn_duration), np.shape(imep)).copy()
    if spec.compression_ignition:
        speed = np.clip(speed, 300 * RPM, 7000 * RPM)
        duration = duration_compression_ignition(speed, brake_estimate(imep))
    else:
        lateness = np.clip(ca50 - MBT_CA50, -1.0, 1.0)
        bmep = brake_estimate(imep)
        duration = duration_spark(speed, bmep, lambda_, spec.residual_fraction, lateness)
    return np.minimum(duration, LONGEST_BURN)


def burn_curve(spec: CylinderSpec, ca50: Array, duration: Array, lambda_: Array) -> BurnCurve:
    """The burn by kind of ignition: one Wiebe function for spark, two for compression ignition."""
    if spec.compression_ignition:
        return double_wiebe(ca50, duration, premixed_share(lambda_))
    return wiebe(ca50, duration)


def cycle_inputs(
    spec: CylinderSpec,
    *,
    speed: Array | float,
    ca50: Array,
    duration: Array,
    lambda_: Array,
    trapped_temperature: Array | float,
    ratio: Array | float | None = None,
    heat_loss_scale: Array | float = 1.0,
    exhaust_pressure: Array | float = EXHAUST_BASE,
) -> CycleInputs:
    """Inputs of the closed cycle for lanes (n,) of one cylinder spec."""
    lam = np.asarray(lambda_, dtype=float)
    return CycleInputs(
        geometry=geometry_of(spec, ratio),
        fuel=fuel_of(spec.compression_ignition, spec.ethanol_share),
        compression_ignition=spec.compression_ignition,
        speed=speed,
        trapped_temperature=trapped_temperature,
        lambda_=lam,
        residual_fraction=spec.residual_fraction,
        burn=burn_curve(spec, np.asarray(ca50, float), np.asarray(duration, float), lam),
        heat_loss_scale=heat_loss_scale,
        intake_closing=spec.intake_closing,
        exhaust_opening=spec.exhaust_opening,
        exhaust_pressure=exhaust_pressure,
        completeness=completeness_of(spec),
    )


def trapped_guess(spec: CylinderSpec, inputs: CycleInputs, imep: Array, ca50: Array) -> Array:
    """Trapped pressure [Pa] likely to give a gross IMEP [Pa]; near is enough for the design."""
    fuel = fuel_of(spec.compression_ignition, spec.ethanol_share)
    lam = np.asarray(inputs.lambda_, dtype=float)
    air_fuel = lam * fuel.stoichiometric_air_fuel
    fuel_share = (1 - spec.residual_fraction) / (air_fuel + (not spec.compression_ignition))
    apart = np.clip(ca50 - MBT_CA50, -0.8, 0.8)
    efficiency = 0.41 * np.asarray(relative_efficiency(apart + MBT_CA50)) * np.minimum(lam, 1.0)
    mass = imep * spec.swept_volume / (efficiency * fuel.lower_heating_value * fuel_share)
    closing = cylinder_volume(spec.intake_closing, geometry_of(spec))
    return mass * 288.0 * np.asarray(inputs.trapped_temperature) / closing
