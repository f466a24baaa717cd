"""A diesel at part load takes in ambient air: lambda rises as load falls."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.ignition_delay import median_state
from torquerisk.study.cycle import cylinder
from torquerisk.study.loads import part_load

RPM = [1500, 2000, 2500, 3000]
LIGHT = [60.0, 90.0, 110.0, 90.0]


def test_the_charge_is_ambient_at_part_load_and_as_given_at_full(
    plain_diesel: Engine, few: Policy
) -> None:
    """Identity: the estimated trapped pressure is the least there is, or lambda as it was."""
    result = assess(plain_diesel, run_of(RPM, LIGHT), few)
    state, spec = result.model.operating, median_state(result).spec
    imep = np.geomspace(3e5, 30e5, 25)
    wanted = part_load.lambda_wanted(plain_diesel, spec, state, 1, imep)
    ca50 = cylinder.ca50_compression(float(state.speed[1]), imep)
    kelvin = float(part_load.trapped_temperature(plain_diesel, state)[1])
    charge = cylinder.charge_pressure(spec, imep, ca50, wanted, kelvin)
    least = 0.94 * plain_diesel.value("test.ambient_pressure").value
    assert charge.min() == pytest.approx(least)
    own = plain_diesel.value("fuel.lambda_").value
    raised = wanted > own
    assert raised[0]
    assert not raised[-1]
    assert np.all(np.diff(wanted) <= 0)
    assert charge[raised] == pytest.approx(least)
    assert np.all(wanted[~raised] == own)


def test_the_peak_is_no_lower_than_compression_alone(plain_diesel: Engine, few: Policy) -> None:
    """Identity: by hand, 0.94 of ambient and the polytrope of 1.36; every load and draw."""
    demand = assess(plain_diesel, run_of(RPM, LIGHT), few).model.demand
    ambient = plain_diesel.value("test.ambient_pressure").value
    spec = median_state(assess(plain_diesel, run_of(RPM, LIGHT), few)).spec
    geometry = cylinder.geometry_of(spec)
    shut, top = (float(cylinder.cylinder_volume(at, geometry)) for at in (spec.intake_closing, 0.0))
    motored = 0.94 * ambient * (shut / top) ** 1.36
    # The spread of the peak model is on top: 4 % a standard deviation.
    assert np.quantile(demand.peak[..., 0] / motored, 0.01) > 0.88
    assert np.median(demand.peak[..., 0] / motored) >= 0.99


def test_logged_lambda_or_boost_stands(plain_diesel: Engine, few: Policy) -> None:
    """Metamorphic: the same torque with 1.5 logged has a lower, impossible charge and peak."""
    own = assess(plain_diesel, run_of(RPM, LIGHT), few)
    logged = assess(plain_diesel, run_of(RPM, LIGHT, lambda_=np.full(4, 1.5)), few)
    assert np.all(own.peak_pressure.p50 > logged.peak_pressure.p50)
    assert part_load.least_peak(plain_diesel, median_state(own).spec,
                                  logged.model.operating, 0) == 0  # fmt: skip
    boosted = dataclasses.replace(own.model.operating, manifold_pressure=np.full(4, 1.2e5))
    wanted = part_load.lambda_wanted(
        plain_diesel, median_state(own).spec, boosted, 0, np.array([3e5])
    )
    assert wanted == plain_diesel.value("fuel.lambda_").value


def test_a_petrol_is_left_alone(plain_engine: Engine, few: Policy) -> None:
    """Identity: a throttled engine's lambda is the state's at any load."""
    result = assess(plain_engine, run_of(RPM, LIGHT), few)
    assert not part_load.breathes_freely(plain_engine, result.model.operating)
