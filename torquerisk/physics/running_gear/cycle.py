"""The 720-degree pressure trace for the running gear, extremes over it, and crossover speeds."""

from dataclasses import dataclass
from typing import Unpack

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.running_gear import slider_crank
from torquerisk.physics.running_gear.forces import gas_force
from torquerisk.physics.running_gear.slider_crank import Crank


@dataclass(frozen=True, kw_only=True, eq=False)
class CyclePressure:
    """Cylinder pressure over a whole four-stroke cycle."""

    angle: Array
    """Crank angle -2π..2π [rad], evenly spaced, both ends included, (T,)."""
    pressure: Array
    """Absolute [Pa], (T,) or (T, n). The first row is the end of the overlap at intake
    pressure, the last its start at exhaust pressure."""


def cycle_pressure(
    *,
    closed_angle: Array,
    closed_pressure: Array,
    intake_pressure: Floats,
    exhaust_pressure: Floats,
    steps: int = 721,
) -> CyclePressure:
    """Return the pressure over the whole cycle from its closed part and two manifold pressures.

    closed_angle: rising crank angles within -π..π [rad], (M,), 0 = firing top dead centre.
    closed_pressure: absolute [Pa], (M,) or (M, n). intake_pressure, exhaust_pressure: mean in
    the cylinder during the strokes, absolute [Pa], scalar or (n,). steps: number of angles.
    Intake pressure on -2π..-π, exhaust pressure on π..2π; if the closed part starts after -π or
    ends before π, pressure runs straight in angle from intake pressure to its first value and
    from its last value to exhaust pressure (the blowdown). Approximate: gas dynamics and flow
    losses are left out, which matters for pumping work, not for the extremes of force.
    Source: [PRACTICE].
    """
    theta = np.asarray(closed_angle, dtype=float)
    p = np.asarray(closed_pressure, dtype=float)
    if theta.ndim != 1 or theta.size < 2 or p.ndim not in (1, 2) or p.shape[0] != theta.size:
        raise InputError(
            f"closed pressure has shape {p.shape} for closed angles of shape {theta.shape}, but "
            "must be (M,) or (M, n) for M angles, M at least 2."
        )
    # A rounded π must not be refused.
    require("closed angle", theta, "within -π..π rad", lambda x: np.abs(x) <= np.pi * (1 + 1e-9))
    require("step of closed angle", np.diff(theta), "above 0 rad (rising)", lambda x: x > 0)
    require_positive("closed pressure", p, "Pa absolute")
    require_positive("intake pressure", intake_pressure, "Pa absolute")
    require_positive("exhaust pressure", exhaust_pressure, "Pa absolute")
    if steps < 73:
        raise InputError(f"steps is {steps}, but must be 73 or more (10 degrees).")

    one_row = p.ndim == 1 and np.ndim(intake_pressure) == 0 and np.ndim(exhaust_pressure) == 0
    table = p if p.ndim == 2 else p[:, None]
    lanes = np.broadcast_shapes(
        table.shape[1:], np.shape(intake_pressure), np.shape(exhaust_pressure)
    )
    intake = np.broadcast_to(np.asarray(intake_pressure, dtype=float), lanes)
    exhaust = np.broadcast_to(np.asarray(exhaust_pressure, dtype=float), lanes)
    table = np.broadcast_to(table, (theta.size, *lanes))
    if theta[0] > -np.pi:
        theta, table = np.r_[-np.pi, theta], np.vstack([intake, table])
    if theta[-1] < np.pi:
        theta, table = np.r_[theta, np.pi], np.vstack([table, exhaust])

    angle = np.linspace(-2 * np.pi, 2 * np.pi, steps)
    index = np.clip(np.searchsorted(theta, angle, side="right") - 1, 0, theta.size - 2)
    share = ((angle - theta[index]) / np.diff(theta)[index])[:, None]
    pressure = table[index] * (1 - share) + table[index + 1] * share
    pressure = np.where((angle < theta[0])[:, None], intake, pressure)
    pressure = np.where((angle > theta[-1])[:, None], exhaust, pressure)
    return CyclePressure(angle=angle, pressure=pressure[:, 0] if one_row else pressure)


@dataclass(frozen=True, kw_only=True, eq=False)
class Extremes:
    """Largest compression and tension of one force over the cycle, each scalar or (n,)."""

    compression: Floats
    """Largest value, 0 if the force is never compressive [N]."""
    compression_angle: Floats
    """Crank angle of the largest value [rad]."""
    tension: Floats
    """Largest pull as a positive number, 0 if the force never pulls [N]."""
    tension_angle: Floats
    """Crank angle of the largest pull [rad]."""


def extremes(*, angle: Array, force: Array) -> Extremes:
    """Return compression and tension extremes of a force, compression positive [N], with angles.

    angle: crank angle [rad], (T,). force: (T,) or (T, n) [N]. Taken at the angles given: on a
    one-degree grid a smooth peak is low by less than 0.1 %. Source: identity.
    """
    f = np.asarray(force, dtype=float)
    theta = np.asarray(angle, dtype=float)
    require("force", f, "finite N", np.isfinite)
    top, bottom = f.argmax(axis=0), f.argmin(axis=0)
    return Extremes(
        compression=np.maximum(f.max(axis=0), 0.0),
        compression_angle=theta[top],
        tension=np.maximum(-f.min(axis=0), 0.0),
        tension_angle=theta[bottom],
    )


def _inertia(angle: Floats, moving_mass: Floats, **crank: Unpack[Crank]) -> Floats:
    """Return inertia force over angular speed squared [N s²]."""
    require_positive("moving mass", moving_mass, "kg")
    return moving_mass * slider_crank.position_curvature(angle=angle, **crank)


def speed_of_gas_relief(
    *,
    peak_pressure: Floats,
    peak_angle: Floats,
    crankcase_pressure: Floats,
    bore: Floats,
    moving_mass: Floats,
    **crank: Unpack[Crank],
) -> Floats:
    """Return the angular speed at which inertia cancels the gas force at peak pressure [rad/s].

    peak_pressure: absolute [Pa] at crank angle peak_angle [rad]. moving_mass: piston plus rod
    mass above the section [kg]; crank: as in `slider_crank.rod_angle`; the rest as in
    `running_gear_forces`.
    ω² = (p - p_c) A / (m x''), x'' = d²x/dθ² at the peak. Above it the rod is in tension even
    at firing. Exact at the given pressure and angle. Source: [KTM] ch. 15.
    """
    slope = _inertia(peak_angle, moving_mass, **crank)
    gas = gas_force(pressure=peak_pressure, crankcase_pressure=crankcase_pressure, bore=bore)
    require("gas force at peak pressure", gas, "above 0 N (no speed cancels it)", lambda x: x > 0)
    require(
        "acceleration at peak angle", slope, "towards the crank: |angle| too large", lambda x: x > 0
    )
    return np.sqrt(gas / slope)


def speed_of_equal_extremes(
    *,
    peak_pressure: Floats,
    peak_angle: Floats,
    overlap_pressure: Floats,
    crankcase_pressure: Floats,
    bore: Floats,
    moving_mass: Floats,
    **crank: Unpack[Crank],
) -> Floats:
    """Return the angular speed where pull at overlap overtakes push at firing [rad/s].

    overlap_pressure: in the cylinder at overlap top dead centre, absolute [Pa]; the rest as in
    `speed_of_gas_relief`. With pull T = m x''₀ ω² - (p_o - p_c) A at overlap and push
    C = ((p - p_c) A - m x'' ω²) / cos φ at peak pressure, the speed where T = C. Exact for
    compression taken at peak pressure (its true maximum lies a few degrees later).
    Source: [KTM] ch. 15.
    """
    slope, top = (_inertia(at, moving_mass, **crank) for at in (peak_angle, 0.0))
    cosine = np.cos(slider_crank.rod_angle(angle=peak_angle, **crank))
    gas = gas_force(pressure=peak_pressure, crankcase_pressure=crankcase_pressure, bore=bore)
    overlap = gas_force(pressure=overlap_pressure, crankcase_pressure=crankcase_pressure, bore=bore)
    square = (gas + overlap * cosine) / (slope + top * cosine)
    require("gas force against inertia", square, "above 0 at some speed", lambda x: x > 0)
    return np.sqrt(square)
