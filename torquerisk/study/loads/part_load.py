"""What an unthrottled engine breathes at part load where neither lambda nor boost was logged.

The lambda of an engine file is that of full load. A diesel takes in at least ambient air at any
load, so that lambda rises as load falls.

Where neither is logged lambda rises row by row as load falls, until the trapped pressure is 0.94 of
ambient. Where the model's 2.5 ends that, a notice says so and the peak is no lower than that charge
compressed; the trace of such a speed stays at the cycle's own peak.
"""

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine
from torquerisk.physics.cylinder.burn_duration import compressed_charge
from torquerisk.physics.cylinder.geometry import cylinder_volume
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array
from torquerisk.study.cycle import cylinder
from torquerisk.study.cycle.cylinder import CylinderSpec
from torquerisk.study.loads.manifold import excess_heating
from torquerisk.study.run.operating_state import USUAL_VOLUMETRIC_EFFICIENCY, Operating


def breathes_freely(engine: Engine, state: Operating) -> bool:
    """True where the charge at part load is not known: a diesel, no lambda and no boost logged."""
    return (
        engine.compression_ignition and not state.lambda_logged and state.manifold_pressure is None
    )


def least_charge(engine: Engine) -> float:
    """Trapped pressure that an unthrottled engine has at least [Pa]."""
    return USUAL_VOLUMETRIC_EFFICIENCY * engine.value("test.ambient_pressure").value


def lambda_wanted(
    engine: Engine, spec: CylinderSpec, state: Operating, index: npt.ArrayLike, imep: Array
) -> Array:
    """Lambda (n,) at places of the state's grid and gross IMEPs (n,) [Pa], not yet held.

    As the state has it; where the engine `breathes_freely` it is raised until `charge_pressure` is
    `least_charge`. index: (n,) or one for all.
    """
    at = np.asarray(index)
    lambda_ = np.broadcast_to(state.lambda_[at], np.shape(imep))
    if not breathes_freely(engine, state):
        return np.asarray(lambda_)
    ca50 = cylinder.ca50_compression(state.speed[at], imep)
    temperature = held_temperature(engine, state)[at]
    # Of a diesel the charge is proportional to lambda.
    charge = cylinder.charge_pressure(spec, imep, ca50, lambda_, temperature)
    return np.asarray(lambda_ * np.maximum(least_charge(engine) / charge, 1.0))


def trapped_temperature(engine: Engine, state: Operating) -> Array:
    """Median charge temperature at intake closing (S,) [K] at the run's torque, not yet held."""
    still = state.intake_temperature + engine.value("charge.trapped_heating").value
    if state.run_torque is None:
        return still
    bmep = bmep_from_torque(state.run_torque[:, None], engine.swept_volume_total)
    return np.asarray(still + excess_heating(engine, state, bmep)[:, 0])


def held_temperature(engine: Engine, state: Operating) -> Array:
    """The same, held within the model's range."""
    return np.clip(trapped_temperature(engine, state), *cylinder.TRAPPED_TEMPERATURES)


def least_peak(engine: Engine, spec: CylinderSpec, state: Operating, s: int) -> float:
    """Pressure of `least_charge` compressed to firing TDC at place s of the grid [Pa].

    An unthrottled engine's peak is no lower, whatever it burns. 0 where lambda or boost is known.
    """
    if not breathes_freely(engine, state):
        return 0.0
    geometry = cylinder.geometry_of(spec)
    shut, top = (float(cylinder_volume(at, geometry)) for at in (spec.intake_closing, 0.0))
    temperature = float(held_temperature(engine, state)[s])
    return float(compressed_charge(least_charge(engine), temperature, shut / top)[0])
