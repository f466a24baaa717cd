"""Ceilings set by charge: manifold pressure a torque needs, sensor range, wastegate, air flow."""

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive

PRESSURE_FOR_TORQUE_RELATIVE_SD = 0.04
"""Spread of torque at another manifold pressure by proportion: volumetric efficiency, pumping and
phasing change too; for a pressure within 30 % of the reference."""


def torque_at_manifold_pressure(
    manifold_pressure: Floats,
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
) -> Array:
    """Crank torque [N*m] at another manifold pressure, from a run at the same speed and phasing.

    manifold_pressure, reference_pressure: absolute [Pa]; reference_torque: crank torque in the run
    [N*m]; friction_torque: torque that friction and pumping cost [N*m], positive.
    T = (T_ref + T_f) p/p_ref - T_f: gross work goes with trapped mass, at the same charge
    temperature. Proportion, not a fit; spread PRESSURE_FOR_TORQUE_RELATIVE_SD.
    Source: [HEYWOOD] eq. 2.38 (torque from volumetric efficiency and inlet density)
    """
    gross = _gross(reference_pressure, reference_torque, friction_torque)
    require_positive("manifold_pressure", manifold_pressure, "Pa")
    ratio = np.asarray(manifold_pressure, float) / reference_pressure
    return np.asarray(gross * ratio - friction_torque)


def manifold_pressure_for_torque(
    torque: Floats,
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
) -> Array:
    """Manifold pressure [Pa] that a torque needs; inverse of `torque_at_manifold_pressure`.

    torque: wanted crank torque [N*m]; reference_pressure: [Pa] and reference_torque: [N*m] of the
    run; friction_torque: [N*m], positive. p = p_ref (T + T_f)/(T_ref + T_f).
    Source: [HEYWOOD] eq. 2.38
    """
    gross = _gross(reference_pressure, reference_torque, friction_torque)
    wanted = np.asarray(torque, float) + friction_torque
    require_positive("torque + friction_torque", wanted, "N*m")
    return np.asarray(reference_pressure * wanted / gross)


def _gross(
    reference_pressure: Floats,
    reference_torque: Floats,
    friction_torque: Floats,
) -> Array:
    require_positive("reference_pressure", reference_pressure, "Pa")
    require("friction_torque", friction_torque, "0 or more N*m", lambda x: x >= 0)
    gross = np.asarray(reference_torque, float) + friction_torque
    require_positive("reference_torque + friction_torque", gross, "N*m")
    return gross
