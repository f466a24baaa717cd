"""Hetényi, Beams on Elastic Foundation, 1946, and Timoshenko, Strength of Materials II: closed
forms, from memory; statics of rigid beams; equilibrium and reciprocity (identities)."""

import math

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.beam_on_springs import spring_forces

BENDING, FOUNDATION = 3.0e5, 2.0e10
BETA = (FOUNDATION / (4 * BENDING)) ** 0.25
SLENDER = np.array([np.inf])


def deflection(places: np.ndarray, loads: np.ndarray, *, shear: np.ndarray = SLENDER) -> np.ndarray:
    """Deflection [m] at each of evenly spaced springs that stand for an elastic foundation."""
    gap = places[1] - places[0]
    stiffness = FOUNDATION * gap
    borne = spring_forces(
        springs=places,
        compliances=np.full((1, len(places)), 1 / stiffness),
        load_places=places,
        loads=loads[:, None],
        bending=np.array([BENDING]),
        shear=shear,
    )
    return borne[0, :, 0] / stiffness


def cells(length: float, count: int) -> np.ndarray:
    """Middles of equal cells of a beam: each spring stands for the foundation of its cell."""
    return (np.arange(count) + 0.5) * length / count


def at(places: np.ndarray, index: int) -> np.ndarray:
    """A unit load on one spring."""
    loads = np.zeros(len(places))
    loads[index] = 1.0
    return loads


def test_infinite_beam_under_a_point_load() -> None:
    """Hetényi: P beta/(2 k) under the load, and exp(-beta x)(cos + sin) beside it."""
    places = cells(16 / BETA, 321)
    found = deflection(places, at(places, 160))
    x = BETA * np.abs(places - places[160])
    expected = BETA / (2 * FOUNDATION) * np.exp(-x) * (np.cos(x) + np.sin(x))
    # Springs beta x/20 apart stand for the foundation within the square of that.
    assert found == pytest.approx(expected, abs=2e-3 * expected.max())


def test_half_infinite_beam_with_a_load_at_its_end() -> None:
    """Hetényi: 2 P beta/k at the loaded end, exp(-beta x) cos(beta x) along it."""
    places = cells(9 / BETA, 300)
    found = deflection(places, at(places, 0))
    x = BETA * places
    expected = 2 * BETA / FOUNDATION * np.exp(-x) * np.cos(x)
    # The load stands half a cell from the end: beta x of 0.015, which turns it by as much.
    assert found == pytest.approx(expected, abs=0.035 * expected.max())


@pytest.mark.parametrize("beta_length", [0.5, 2.0, 4.0])
def test_finite_beam_with_a_load_in_its_middle(beta_length: float) -> None:
    """Hetényi: P beta/(2 k) (2 + cosh + cos)/(sinh + sin) of beta l in the middle, free ends."""
    places = cells(beta_length / BETA, 201)
    found = deflection(places, at(places, 100))[100]
    b = beta_length
    ratio = (2 + math.cosh(b) + math.cos(b)) / (math.sinh(b) + math.sin(b))
    assert found == pytest.approx(BETA / (2 * FOUNDATION) * ratio, rel=1e-3)


@pytest.mark.parametrize("beta_half", [0.25, 0.5, 1.0])
def test_uniform_load_over_a_part_of_an_infinite_beam(beta_half: float) -> None:
    """Timoshenko II: middle deflection over a limp beam's is 1 - exp(-beta a) cos(beta a)."""
    count = 41
    gap = 2 * beta_half / BETA / count
    ends = round(7 / (BETA * gap))
    places = gap * np.arange(2 * ends + count)
    loads = np.zeros(len(places))
    loads[ends : ends + count] = 1.0
    middle = deflection(places, loads)[ends + count // 2]
    limp = 1 / (FOUNDATION * gap)
    assert middle / limp == pytest.approx(1 - math.exp(-beta_half) * math.cos(beta_half), rel=2e-3)


def test_shear_adds_to_the_deflection_of_an_infinite_beam() -> None:
    """Derived: the Fourier integral of (1 + a s^2)/(EI s^4 + k a s^2 + k) with a = EI/(GA)."""
    shear = 1.2e8
    a, b, c = BENDING / shear, FOUNDATION / (2 * shear), math.sqrt(FOUNDATION / BENDING)
    expected = (1 / c + a) / (2 * BENDING * math.sqrt(2 * (b + c)))
    # Shear turns the beam sharply under a point load: the springs must be close.
    places = cells(10 / BETA, 801)
    found = deflection(places, at(places, 400), shear=np.array([shear]))[400]
    assert found == pytest.approx(expected, rel=5e-3)
    assert expected > 1.2 * BETA / (2 * FOUNDATION)


def test_rigid_beam_shares_by_statics() -> None:
    """Identity: a rigid bar on springs tilts as statics says."""
    springs, load = np.array([0.0, 0.1, 0.3]), 0.22
    stiffness = np.array([1e8, 3e8, 2e8])
    borne = spring_forces(
        springs=springs,
        compliances=1 / stiffness[None],
        load_places=np.array([load]),
        loads=np.ones((1, 1)),
        bending=np.array([1e14]),
        shear=np.array([1e14]),
    )[0, :, 0]
    middle = springs @ stiffness / stiffness.sum()
    arm = springs - middle
    tilt = (load - middle) * arm * stiffness / (stiffness @ arm**2)
    assert borne == pytest.approx(stiffness / stiffness.sum() + tilt, rel=1e-4)


@pytest.mark.parametrize("shear", [np.inf, 1e8])
def test_equilibrium_and_reciprocity(shear: float) -> None:
    """Identity (Maxwell): A's deflection under a load at B is B's under the same load at A."""
    springs = np.array([0.0, 0.05, 0.12, 0.2, 0.33])
    compliances = np.array([[1e-9, 4e-9, 0.0, 2e-9, 7e-9]])
    borne = spring_forces(
        springs=springs,
        compliances=compliances,
        load_places=springs,
        loads=np.eye(5),
        bending=np.array([1e5]),
        shear=np.array([shear]),
    )[0]
    assert borne.sum(axis=0) == pytest.approx(np.ones(5), rel=1e-9)
    assert springs @ borne == pytest.approx(springs, abs=1e-9)
    give = compliances[0][:, None] * borne
    assert give == pytest.approx(give.T, abs=1e-15)


def test_refuses_a_limp_beam() -> None:
    """Edge: no stiffness, no answer."""
    with pytest.raises(OutOfRangeError, match="bending"):
        spring_forces(
            springs=np.array([0.0, 1.0]),
            compliances=np.full((1, 2), 1e-9),
            load_places=np.array([0.5]),
            loads=np.ones((1, 1)),
            bending=np.zeros(1),
            shear=SLENDER,
        )
