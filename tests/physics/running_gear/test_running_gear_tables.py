"""Default materials and linings: possible values, resolvable sources."""

import pytest

from torquerisk.physics.running_gear.bearing_linings import LININGS, PIN_BEARINGS
from torquerisk.physics.running_gear.rod_materials import ROD_MATERIALS
from torquerisk.sources import SOURCES

DEGREES = {"seen", "secondary", "from memory", "common practice, no source"}


@pytest.mark.parametrize("name", ROD_MATERIALS)
def test_rod_materials_are_possible(name):
    """Identity: fatigue < yield < ultimate for rod metals; sources resolve."""
    material = ROD_MATERIALS[name]
    assert material.fatigue_strength < material.yield_strength < material.ultimate_strength
    assert 0.2 < material.fatigue_strength / material.ultimate_strength < 0.55
    assert 0 < material.spread < 0.2
    assert material.source in SOURCES
    assert material.how_sure in DEGREES


@pytest.mark.parametrize(
    ("name", "published"),
    [
        ("forged micro-alloyed steel", (700e6, 938e6, 423e6)),
        ("powder-forged steel", (588e6, 866e6, 339e6)),
    ],
)
def test_published_rod_steels(name, published):
    """[AFZAL-FATEMI] (numbers from memory): yield, ultimate, fatigue strength."""
    material = ROD_MATERIALS[name]
    got = (material.yield_strength, material.ultimate_strength, material.fatigue_strength)
    assert got == pytest.approx(published)


@pytest.mark.parametrize("name", [*LININGS, *PIN_BEARINGS])
def test_linings_are_ordered_and_sourced(name):
    """Identity: careful end at most bold end; sources resolve."""
    limit = {**LININGS, **PIN_BEARINGS}[name]
    assert 5e6 < limit.low <= limit.middle <= limit.high < 150e6
    assert limit.source in SOURCES
    assert limit.how_sure in DEGREES


def test_handbook_pressures_in_their_own_unit():
    """[TRIBOLOGY-HANDBOOK] A11, B16: 7,500 and 10,000 lbf/in² (1 lbf/in² = 6,894.76 Pa)."""
    small = LININGS["lead-bronze or tin-aluminium, small engines"]
    assert small.high == pytest.approx(7500 * 6894.757, rel=0.001)
    assert PIN_BEARINGS["aluminium piston boss"].high == pytest.approx(1e4 * 6894.757, rel=0.001)
