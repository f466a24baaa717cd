"""Closed cycles against measured engines; errors are stated, nothing is tuned to them."""

import numpy as np
import pytest
from scipy.optimize import brentq

from torquerisk.physics.cylinder.burn import double_wiebe, premixed_share, wiebe
from torquerisk.physics.cylinder.burn_duration import (
    compressed_charge,
    ignition_delay_hardenberg_hase,
    time_from_crank_angle,
)
from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.physics.cylinder.cycle_data import CycleInputs
from torquerisk.physics.cylinder.gas import diesel, petrol_ethanol
from torquerisk.physics.cylinder.geometry import CylinderGeometry, cylinder_volume
from torquerisk.quantities import RPM


def petrol_case(imep=8.9e5, ca50=16.0):
    """Published petrol engine, 1200 rpm; charge temperature, residual and valves are assumed."""
    inputs = CycleInputs(
        geometry=CylinderGeometry(
            bore=0.07724, stroke=0.0743, rod_length=0.12329, compression_ratio=9.3
        ),
        fuel=petrol_ethanol(0.0),
        compression_ignition=False,
        speed=1200 * RPM,
        trapped_temperature=350.0,
        lambda_=1.0,
        residual_fraction=0.05,
        burn=wiebe(np.radians(ca50), np.radians(31.0)),
        intake_closing=np.radians(-125.0),
        exhaust_opening=np.radians(130.0),
        exhaust_pressure=1.02e5,
    )
    return closed_cycle_at_imep(inputs, imep)


def diesel_premixed(lam):
    """Premixed share of the published diesel by correlation: measured boost, assumed cetane 51."""
    geometry = CylinderGeometry(bore=0.0958, stroke=0.104, rod_length=0.158, compression_ratio=14.6)
    ratio = cylinder_volume(np.radians(-135.0), geometry) / cylinder_volume(0.0, geometry)
    pressure, temperature = compressed_charge(1.2e5, 345.0, ratio)
    angle = ignition_delay_hardenberg_hase(pressure, temperature, 2 * 0.104 * 1600 / 60, 51.0)
    return premixed_share(lam, time_from_crank_angle(angle, 1600 * RPM))


def diesel_case(lam, share):
    """Published diesel engine, 1600 rpm, a fifth recirculated; valves and heat loss assumed."""
    inputs = CycleInputs(
        geometry=CylinderGeometry(
            bore=0.0958, stroke=0.104, rod_length=0.158, compression_ratio=14.6
        ),
        fuel=diesel(),
        compression_ignition=True,
        speed=1600 * RPM,
        trapped_temperature=345.0,
        lambda_=lam,
        residual_fraction=0.2,
        burn=double_wiebe(
            np.radians(2.6), np.radians(21.4), diesel_premixed(lam) if share is None else share
        ),
        intake_closing=np.radians(-135.0),
        exhaust_opening=np.radians(130.0),
        exhaust_pressure=1.3e5,
        completeness=0.985,
    )
    return closed_cycle_at_imep(inputs, 5.82e5)


def test_measured_petrol_engine():
    """Case A: 1.39-litre four, imep 8.9 +- 0.3 bar, CA50 16 +- 1, 10-90 31 deg: 35.8 bar at 21 deg.

    The measurement's own spreads are worth 3.4 % by imep, 2.4 % by a degree of phasing, 0.6 % by
    pressure and 2 % by the other cylinders: 4.7 % in quadrature. The model reads 5 % low, more than
    that; allowed is twice it, the expanded uncertainty of [GUM].
    """
    cycle = petrol_case()
    error = cycle.peak_pressure[0] / 35.8e5 - 1
    low, high = (petrol_case(*c).peak_pressure[0] / 1e5 for c in ((8.6e5, 17.0), (9.2e5, 15.0)))
    angle = np.degrees(cycle.peak_angle[0])
    print(f"\ncase A: {cycle.peak_pressure[0] / 1e5:.1f} bar, {100 * error:+.1f} %, at {angle:.1f}")
    print(f"within the spreads of imep and phasing {low:.1f} to {high:.1f} bar")
    assert abs(error) < 2 * np.linalg.norm([0.034, 0.024, 0.006, 0.02])
    assert angle == pytest.approx(21.0, abs=1.0)


@pytest.mark.parametrize("share", [None, 0.5], ids=["by ignition delay", "half premixed"])
def test_measured_diesel_engine(share):
    """Case C: 3.0-litre turbo diesel, imep 5.82 bar, CA50 2.6, 10-90 21.4 deg: 69.7 bar at 5.8 deg.

    Within 10 % as asked. Lambda was not measured: it is the one whose trapped pressure is the
    measured boost of 1.20 bar. A half premixed burn is the one that meets the measured CA10; by
    the correlations next to nothing burns premixed, which hardly moves the peak.
    """
    lam = brentq(lambda x: diesel_case(x, share).trapped_pressure[0] - 1.2e5, 1.4, 4.0, xtol=1e-3)
    cycle = diesel_case(lam, share)
    error = cycle.peak_pressure[0] / 69.7e5 - 1
    print(f"\ncase C, premixed {share}: lambda {lam:.2f}, {cycle.peak_pressure[0] / 1e5:.1f} bar, "
          f"{100 * error:+.1f} %, at {np.degrees(cycle.peak_angle[0]):.1f} deg")  # fmt: skip
    assert abs(error) < 0.10
    assert np.degrees(cycle.peak_angle[0]) == pytest.approx(5.8, abs=2.0)
