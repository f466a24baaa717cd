"""Invented and published cycles that several tests share."""

import numpy as np
from oracles.gas import constant_gamma_gas

from torquerisk.physics.cylinder.burn import WIEBE_EFFICIENCY, BurnCurve, double_wiebe, wiebe
from torquerisk.physics.cylinder.cycle_data import CycleInputs
from torquerisk.physics.cylinder.gas import diesel, petrol_ethanol
from torquerisk.physics.cylinder.geometry import CylinderGeometry
from torquerisk.quantities import RPM


def spark(**changes):
    """An invented boosted petrol cylinder on E30."""
    inputs = {
        "geometry": CylinderGeometry(
            bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=9.5
        ),
        "fuel": petrol_ethanol(0.3),
        "compression_ignition": False,
        "speed": 3000 * RPM,
        "trapped_temperature": 330.0,
        "lambda_": 0.88,
        "residual_fraction": 0.04,
        "burn": wiebe(np.radians(12.0), np.radians(24.0)),
        "intake_closing": np.radians(-130.0),
        "exhaust_opening": np.radians(130.0),
        "exhaust_pressure": 1.3e5,
    }
    return CycleInputs(**{**inputs, **changes})


def compression(**changes):
    """An invented boosted diesel cylinder."""
    inputs = {
        "geometry": CylinderGeometry(
            bore=0.082, stroke=0.09, rod_length=0.145, compression_ratio=16.5
        ),
        "fuel": diesel(),
        "compression_ignition": True,
        "speed": 2000 * RPM,
        "trapped_temperature": 340.0,
        "lambda_": 1.6,
        "residual_fraction": 0.03,
        "burn": double_wiebe(np.radians(10.0), np.radians(30.0), 0.1),
        "intake_closing": np.radians(-135.0),
        "exhaust_opening": np.radians(130.0),
        "exhaust_pressure": 1.8e5,
        "completeness": 0.985,
    }
    return CycleInputs(**{**inputs, **changes})


def textbook(gamma, constant, heat, burn, *, ratio, bore=0.1, stroke=0.1, temperature=300.0):
    """An air-standard cycle: constant gamma, no heat loss, valves shut from bottom to bottom."""
    return CycleInputs(
        geometry=CylinderGeometry(
            bore=bore, stroke=stroke, rod_length=1e6, compression_ratio=ratio
        ),
        fuel=petrol_ethanol(0.0),
        compression_ignition=False,
        speed=100.0,
        trapped_temperature=temperature,
        lambda_=1.0,
        residual_fraction=0.0,
        burn=burn,
        intake_closing=-np.pi,
        exhaust_opening=np.pi,
        exhaust_pressure=1e5,
        heat_loss_scale=0.0,
        completeness=1.0,
        gas=constant_gamma_gas(gamma, constant, heat),
    )


def classic_burn(start, duration, a, m):
    """Wiebe curve with the book's own a, m, start and duration (degrees)."""
    stretch = (WIEBE_EFFICIENCY / a) ** (1 / (m + 1))
    return BurnCurve(
        start=np.radians([start]),
        durations=np.radians([[duration * stretch]]),
        shapes=np.array([[m]]),
        shares=np.ones((1, 1)),
    )
