"""Ignition delay and premixed share of an assessed diesel, at the medians, by speed."""

from dataclasses import dataclass

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder
from torquerisk.study.cycle.cylinder import CylinderSpec, Ignition
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.loads.part_load import lambda_wanted, trapped_temperature


@dataclass(frozen=True, kw_only=True, eq=False)
class MedianState:
    """What the median engine burns, by speed (S,). SI."""

    spec: CylinderSpec
    speed: Array
    imep: Array
    """Gross [Pa]."""
    ca50: Array
    lambda_: Array
    """As logged, assumed or raised (`part_load`), not yet held within the model's range [-]."""
    temperature: Array
    """At intake closing [K], not yet held within the model's range."""


def median_state(result: Assessment) -> MedianState:
    """The median engine at every speed of an assessment."""
    engine, state = result.engine, result.model.operating
    spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
    own = np.arange(len(state.speed))
    return MedianState(
        spec=spec,
        speed=result.speed,
        imep=result.imep_gross,
        ca50=result.ca50.p50,
        lambda_=lambda_wanted(engine, spec, state, own, result.imep_gross),
        temperature=trapped_temperature(engine, state),
    )


def ignition_by_speed(result: Assessment) -> Ignition | None:
    """How the median engine's charge lights at every speed (S,); None with spark ignition."""
    if not result.engine.compression_ignition:
        return None
    at = median_state(result)
    return cylinder.ignition(
        at.spec,
        speed=at.speed,
        imep=at.imep,
        ca50=at.ca50,
        lambda_=np.clip(at.lambda_, *at.spec.lambda_range),
        trapped_temperature=np.clip(at.temperature, *cylinder.TRAPPED_TEMPERATURES),
    )
