"""Main bearings: throws side by side add up, throws opposite each other cancel."""

import numpy as np
import pytest

from torquerisk.errors import InputError
from torquerisk.physics.running_gear import forces
from torquerisk.physics.running_gear.main_bearing import firing_angles, main_loads

ANGLE = np.linspace(-2 * np.pi, 2 * np.pi, 721)


def inertia_alone(speed: float) -> forces.RunningGearForces:
    """Forces without gas."""
    return forces.running_gear_forces(
        angle=ANGLE, pressure=np.full((721, 1), 1e5), angular_speed=np.array([speed]), bore=0.086,
        crank_radius=0.043, rod_length=0.145, piston_mass=0.4, rod_mass=0.6, big_end_share=0.7,
        crankcase_pressure=1e5,
    )  # fmt: skip


def test_firing_angles_of_a_four() -> None:
    """Common practice, no source: 1-3-4-2 fires 2 at 540, 3 at 180, 4 at 360 degrees."""
    assert np.degrees(firing_angles("1-3-4-2", 4)) == pytest.approx([0, 540, 180, 360])
    assert np.degrees(firing_angles("1, 2, 3", 3)) == pytest.approx([0, 240, 480])


def test_middle_main_of_a_four_bears_both_throws() -> None:
    """Identity: throws 2 and 3 stand side by side, so without gas the middle main gets the whole
    load of one crankpin; throws 1 and 2 stand opposite, so what turns with them cancels there."""
    f = inertia_alone(600.0)
    mains = main_loads(
        angle=ANGLE, radial=f.big_end_radial, tangential=f.big_end_tangential,
        firing=firing_angles("1-3-4-2", 4),
    )  # fmt: skip
    assert mains.shape == (3, 1)
    assert mains[1] == pytest.approx(f.big_end.max(axis=0), rel=1e-9)
    assert np.all(mains[[0, 2]] < 0.5 * mains[1])


def test_turning_masses_of_opposite_throws_cancel() -> None:
    """Limiting case: a load fixed in the throw cancels at 180 degrees and keeps half of 2 cos 60
    of itself at 120 degrees."""
    radial, tangential = np.full((721, 1), 1000.0), np.zeros((721, 1))
    for order, count, wanted in (("1-3-4-2", 4, [0, 1000, 0]), ("1-2-3", 3, [500, 500])):
        found = main_loads(
            angle=ANGLE, radial=radial, tangential=tangential, firing=firing_angles(order, count)
        )
        assert found[:, 0] == pytest.approx(wanted, abs=1e-6)


def test_two_rods_of_a_vee_add_by_their_angle() -> None:
    """Identity: a pull along each cylinder's axis that stands still adds by half the bank angle's
    cosine between two cylinders; without a bank angle they are throws of their own."""
    steady = 1000.0
    radial, tangential = steady * np.cos(ANGLE)[:, None], -steady * np.sin(ANGLE)[:, None]
    for bank in (60, 90, 180):
        found = main_loads(
            angle=ANGLE, radial=radial, tangential=tangential, bank_angle=np.radians(bank),
            firing=firing_angles("1-2-3-4", 4),
        )  # fmt: skip
        assert found.shape == (1, 1)
        wanted = 2 * steady * np.cos(np.radians(bank / 2))
        assert found[0, 0] == pytest.approx(wanted, abs=1e-6 * steady)


def test_cross_plane_eight_and_flat_plane_eight() -> None:
    """Identity: without gas and reciprocating parts, two rods on one throw turn together; next
    throws at 90 degrees leave cos 45 of the pair, at 0 or 180 all of it or nothing."""
    radial, tangential = np.full((721, 1), 1000.0), np.zeros((721, 1))
    crossed = main_loads(
        angle=ANGLE, radial=radial, tangential=tangential, bank_angle=np.pi / 2,
        firing=np.radians([0, 90, 270, 360, 450, 540, 180, 630]),
    )  # fmt: skip
    wanted = 2000 * np.cos(np.pi / 4)
    assert crossed[:, 0] == pytest.approx([wanted, 0, wanted], abs=1e-6)
    flat = main_loads(
        angle=ANGLE,
        radial=radial,
        tangential=tangential,
        bank_angle=np.pi / 2,
        firing=np.radians([0, 90, 180, 270, 540, 630, 360, 450]),
    )
    assert flat[:, 0] == pytest.approx([0, 2000, 0], abs=1e-6)


def test_counterweights_take_off_what_turns() -> None:
    """Identity: as heavy as the rods' turning mass they leave the reciprocating parts alone."""
    f = inertia_alone(600.0)
    turning = 0.6 * 0.7 * 0.043 * 600.0**2
    given = {"angle": ANGLE, "firing": firing_angles("1-3-4-2", 4)}
    bare = main_loads(radial=f.big_end_radial, tangential=f.big_end_tangential, **given)
    other = main_loads(
        radial=f.big_end_radial, tangential=f.big_end_tangential, counterweight=turning, **given
    )
    taken = main_loads(radial=f.big_end_radial - turning, tangential=f.big_end_tangential, **given)
    assert other == pytest.approx(taken)
    assert other[1] == pytest.approx(bare[1] - turning, rel=1e-9)


@pytest.mark.parametrize("order", ["1-3-4", "1-3-4-4", "1-3-x-2", ""])
def test_orders_that_are_none_are_refused(order: str) -> None:
    """Contract: one sentence that says what was given and what is allowed."""
    with pytest.raises(InputError, match=r"firing_order is .* 1 to 4 once each"):
        firing_angles(order, 4)
