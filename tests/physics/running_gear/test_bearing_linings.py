"""Bearing linings: possible values."""

import pytest

from torquerisk.physics.running_gear.bearing_linings import LININGS, PIN_BEARINGS


@pytest.mark.parametrize("name", [*LININGS, *PIN_BEARINGS])
def test_linings_are_ordered(name):
    """Identity: careful end at most bold end."""
    limit = {**LININGS, **PIN_BEARINGS}[name]
    assert 5e6 < limit.low <= limit.middle <= limit.high < 200e6


def test_handbook_pressures_in_their_own_unit():
    """[TRIBOLOGY-HANDBOOK] A11, B16: 7,500 and 10,000 lbf/in² (1 lbf/in² = 6,894.76 Pa)."""
    small = LININGS["lead-bronze or tin-aluminium, small engines"]
    assert small.high == pytest.approx(7500 * 6894.757, rel=0.001)
    assert PIN_BEARINGS["aluminium piston boss"].high == pytest.approx(1e4 * 6894.757, rel=0.001)
