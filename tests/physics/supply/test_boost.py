"""Checks of boost: spring and valve, a compressor's work and map."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.supply import boost


def test_work_of_a_compressor() -> None:
    """Cengel & Boles, Thermodynamics, chapter 7, from memory: air from 12 °C, 100 to 800 kPa, at
    80 % and 0.2 kg/s takes 58.0 kW by tables of air, within 1 %."""
    power = 0.2 * boost.compressor_work(8.0, 285.15, 0.80)
    assert power == pytest.approx(58.0e3, rel=0.01)
    assert boost.compressor_work(0.8, 300.0, 0.6) == 0.0


def test_outlet_of_an_ideal_compressor() -> None:
    """Identity: work over c_p is the rise of temperature, T_2 = T_1 r^(2/7) for air."""
    rise = boost.compressor_work(3.0, 300.0, 1.0) / boost.CP_AIR
    assert 300 + rise == pytest.approx(300 * 3 ** (2 / 7), rel=1e-12)


def test_spring_opens_early_and_a_valve_doubles_it() -> None:
    """Common practice, no source: 70 kPa of spring that opens 7 kPa early, alone and doubled."""
    assert boost.boost_from_spring(70e3, 7e3, 1.0, 100e3) == pytest.approx(163e3)
    assert boost.boost_from_spring(70e3, 7e3, 2.0, 100e3) == pytest.approx(226e3)
    assert boost.boost_from_spring(5e3, 7e3, 2.0, 100e3) == 100e3


def test_corrected_flow_at_the_reference_and_on_a_mountain() -> None:
    """Identity: at the reference nothing changes; at 80 kPa the same mass is 1/0.8 of it."""
    assert boost.corrected_flow(0.3, 100e3, 298.15) == pytest.approx(0.3)
    assert boost.corrected_flow(0.3, 80e3, 298.15) == pytest.approx(0.375)
    assert boost.corrected_flow(0.3, 100e3, 4 * 298.15) == pytest.approx(0.6)


MAP = (0.30, 2.0, 3.0, 0.20)


@pytest.mark.parametrize(
    ("flow", "ratio", "share"),
    [
        (0.30, 2.0, 1.0), (0.20, 3.0, 1.0), (0.25, 2.5, 1.0),
        (0.30, 1.2, 1.0), (0.05, 3.0, 1.0),
        (0.15, 1.5, 0.5), (0.125, 1.75, 0.5), (0.60, 3.0, 2.0), (0.0, 1.0, 0.0),
    ],
)  # fmt: skip
def test_corners_edges_and_rays_of_a_map(flow: float, ratio: float, share: float) -> None:
    """Identity: 1 on both corners, between them and on both straight edges; in proportion on rays
    from no flow at a ratio of 1."""
    assert boost.share_of_map(flow, ratio, *MAP) == pytest.approx(share)


def test_a_square_map() -> None:
    """Edge: corners above each other leave an upright and a level edge."""
    assert boost.share_of_map(0.1, 2.5, 0.3, 2.0, 3.0, 0.3) == pytest.approx(0.75)
    assert boost.share_of_map(0.1, 2.0, 0.2, 3.0, 3.0, 0.2) == pytest.approx(0.5)


def test_refusals_name_the_argument() -> None:
    """Edge: an efficiency in percent, corners the wrong way round."""
    with pytest.raises(OutOfRangeError, match="efficiency is 60"):
        boost.compressor_work(2.0, 300.0, 60.0)
    with pytest.raises(OutOfRangeError, match="flow_there"):
        boost.share_of_map(np.array(0.1), 2.0, 0.2, 2.0, 3.0, 0.3)
