import numpy as np
import pytest

from torquerisk.physics.head_joint.thermal import (
    ExpandingLayer,
    free_growth,
    thermal_preload_change,
)

INCH = 0.0254
STUD_STIFFNESS = 72.3e-6 * 205e9 / 0.110


def _stud(change, length=0.100):
    return [ExpandingLayer(length=length, expansion=11.7e-6, temperature_change=change)]


def _head(change, length=0.100):
    return [ExpandingLayer(length=length, expansion=23e-6, temperature_change=change)]


def test_free_growth_wentzell_6_3():
    """Wentzell Ex 6.3: 5 in at 6.5e-6/F grows 0.01204 in over 370.46 F."""
    growth = free_growth(length=5 * INCH, expansion=6.5e-6 * 1.8, temperature_change=370.46 / 1.8)
    assert growth / INCH == pytest.approx(0.01204, abs=0.0000051)


def test_rigid_and_compliant_members():
    """Derived from Bickford eq 11.13: +12.18 kN with rigid members, +9.74 kN with k_m = 4 k_b.

    Aluminium head 100 mm, M11x1.5 stud of 110 mm, 80 K: an order of magnitude for head joints.
    """
    compliance = 1 / STUD_STIFFNESS
    rigid = thermal_preload_change(
        fastener=_stud(80.0),
        members=_head(80.0),
        fastener_compliance=compliance,
        member_compliance=0.0,
    )
    soft = thermal_preload_change(
        fastener=_stud(80.0),
        members=_head(80.0),
        fastener_compliance=compliance,
        member_compliance=compliance / 4,
    )
    assert rigid == pytest.approx(12.18e3, abs=6)
    assert soft == pytest.approx(9.74e3, abs=6)


def test_hotter_aluminium_head_never_less_clamp():
    """Metamorphic: preload rises with the head's temperature; a cold engine has less than warm."""
    change = np.linspace(-60, 120, 37)
    gain = thermal_preload_change(
        fastener=_stud(change),
        members=_head(change),
        fastener_compliance=7e-9,
        member_compliance=2e-9,
    )
    assert np.all(np.diff(gain) > 0)
    assert gain[0] < 0 < gain[-1]
    hot_head = thermal_preload_change(
        fastener=_stud(60.0),
        members=_head(change),
        fastener_compliance=7e-9,
        member_compliance=2e-9,
    )
    assert np.all(np.diff(hot_head) > 0)
