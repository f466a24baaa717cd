"""Exact bounds (identities), mirror and Maxwell laws, and an independent finite-element beam."""

import numpy as np
import pytest
from scipy import integrate

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.head_beam import (
    HeadLayout,
    HeadStiffness,
    firings,
    ring_holds,
    section_stiffness,
)

USUAL = {"bending": 3.2e5, "shear": 1.24e8, "ring": 2e9, "fastener": 1e8}
RIGID = {"bending": 1e13, "shear": 1e13}


def layout(cylinders: int, row: float = 2.0) -> HeadLayout:
    return HeadLayout(cylinders=cylinders, pitch=0.094, sealing_diameter=0.09, fasteners_in_row=row)


def stiffness(**changed: float) -> HeadStiffness:
    return HeadStiffness(**{k: np.array([v]) for k, v in {**USUAL, **changed}.items()})


@pytest.mark.parametrize("changed", [{}, RIGID, {"bending": 1e3, "shear": 1e4}])
def test_one_cylinder_shares_by_stiffness(changed: dict[str, float]) -> None:
    """Identity: a rigid head over one bore is one spring beside another; a limp one hands over."""
    found = firings(layout(1), stiffness(**changed), (0,))[0]
    rigid = USUAL["ring"] / (USUAL["ring"] + 4 * USUAL["fastener"])
    if changed is RIGID:
        assert found.own_share == pytest.approx(rigid, rel=1e-4)
        assert found.fastener_gain == pytest.approx((1 - rigid) / 4, rel=1e-3)
        assert found.opening == pytest.approx(1 / (4 * USUAL["fastener"]), rel=1e-3)
    assert rigid - 1e-6 <= found.own_share[0] <= 1
    assert found.own_share + found.row_gain.sum(axis=1) == pytest.approx(1.0)
    assert found.row_gain_open.sum(axis=1) == pytest.approx(1.0)


def test_rigid_head_of_four_shares_by_place() -> None:
    """Identity: every spring rises by lift and tilt of a rigid bar; all rings hold alike."""
    place = layout(4)
    rings = place.ring_points.ravel()
    where = np.concatenate([rings, place.rows])
    spring = np.concatenate([np.full(12, USUAL["ring"] / 3), np.full(5, 2 * USUAL["fastener"])])
    arm = where - where.mean()
    inner, end = firings(place, stiffness(**RIGID), (1, 0))
    for found in (inner, end):
        load = place.ring_points[found.cylinder].mean() - where.mean()
        share = spring / spring.sum() + load * arm * spring / (spring @ arm**2)
        assert found.ring_relief[0] == pytest.approx(share[:12].reshape(4, 3).sum(axis=1), rel=1e-4)
        assert found.row_gain[0] == pytest.approx(share[12:], rel=1e-4, abs=1e-9)
    assert ring_holds(place, stiffness(**RIGID)) == pytest.approx(2 * 5 / 4, rel=1e-4)


def test_limp_head_gives_the_tributary_counts() -> None:
    """Identity: without stiffness in shear each row bears on its neighbours: r inner, 1.5 r end."""
    limp = stiffness(bending=1e9, shear=1e2)
    holds = ring_holds(layout(4, row=3.0), limp).mean(axis=2)[0]
    assert holds == pytest.approx([4.5, 3.0, 3.0, 4.5], rel=1e-3)
    place = layout(4)
    edge, row = place.sealing_diameter / 2 * np.sqrt(3) / 2, place.pitch / 2
    radius = place.sealing_diameter / 2

    def to_row(x: float) -> float:
        return 4 / (np.pi * radius**2) * np.sqrt(radius**2 - x**2) * (x - edge) / (row - edge)

    lost = integrate.quad(to_row, edge, radius)[0]
    inner = firings(place, limp, (1,))[0]
    # The disc's six points see the turn at the ring's edge a little late.
    assert inner.own_share == pytest.approx(1 - lost, abs=0.01)


@pytest.mark.parametrize("cylinders", [2, 3, 4, 6])
@pytest.mark.parametrize("ring", [0.5e9, 2e9, 8e9])
@pytest.mark.parametrize("bending", [1e5, 3e5, 1e6])
def test_own_share_lies_between_rigid_and_limp(cylinders: int, ring: float, bending: float) -> None:
    """Bounds: from a rigid head's share to all of it; the most loaded ring is the firing one."""
    given = stiffness(ring=ring, bending=bending, shear=400 * bending)
    kinds = (cylinders // 2, 0)
    rigid = firings(layout(cylinders), stiffness(ring=ring, **RIGID), kinds)
    for found, least in zip(firings(layout(cylinders), given, kinds), rigid, strict=True):
        assert least.own_share[0] < found.own_share[0] < 1
        assert found.ring_relief[0].argmax() == found.cylinder
        assert found.fastener_gain_open[0] > found.fastener_gain[0] > 0
        assert found.ring_relief.sum() + found.row_gain.sum() == pytest.approx(1.0)
        assert found.row_gain_open[0].sum() < 1.2


def test_all_clamp_reaches_the_rings_and_mirrors() -> None:
    """Identity: sums of the fasteners; both ends of a head are alike."""
    place = layout(5, row=2.4)
    holds = ring_holds(place, stiffness())[0]
    assert holds.mean(axis=1).sum() == pytest.approx(6 * 2.4)
    assert holds == pytest.approx(holds[::-1, ::-1])
    first, last = firings(place, stiffness(), (1, 3))
    assert first.ring_relief[0] == pytest.approx(last.ring_relief[0, ::-1])
    assert first.row_gain_open[0] == pytest.approx(last.row_gain_open[0, ::-1], abs=1e-12)


def test_neighbours_relieve_each_other_alike() -> None:
    """Maxwell: what ring 3 loses as cylinder 1 fires, ring 1 loses as cylinder 3 fires."""
    first, third = firings(layout(6), stiffness(ring=6e8), (1, 3))
    assert first.ring_relief[0, 3] == pytest.approx(third.ring_relief[0, 1], rel=0.02)


def beam_elements(bending: float, shear: float, size: float, count: int) -> np.ndarray:
    """Stiffness matrix of a free beam of Timoshenko elements, deflection and slope by node."""
    turn = 12 * bending / (shear * size**2)
    a, b = 6 * size, size**2
    element = np.array(
        [
            [12, a, -12, a],
            [a, (4 + turn) * b, -a, (2 - turn) * b],
            [-12, -a, 12, -a],
            [a, (2 - turn) * b, -a, (4 + turn) * b],
        ]
    )
    matrix = np.zeros((2 * count + 2, 2 * count + 2))
    for i in range(count):
        matrix[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += element
    return matrix * bending / (size**3 * (1 + turn))


def within(edges: np.ndarray, middle: float, radius: float) -> np.ndarray:
    """Edges of the nodes' cells in radii from a bore's middle, cut at the circle."""
    return np.clip((edges - middle) / radius, -1, 1)


def by_elements(place: HeadLayout, given: HeadStiffness, load: int) -> tuple[float, np.ndarray]:
    """Own share and row gains from finite elements, with each ring all along its circle."""
    steps, n, radius = 48, place.cylinders, place.sealing_diameter / 2
    size = place.pitch / steps
    matrix = beam_elements(float(given.bending[0]), float(given.shear[0]), size, n * steps)
    edges = size * (np.arange(n * steps + 2) - 0.5)
    circles = [within(edges, (c + 0.5) * place.pitch, radius) for c in range(n)]
    rings = np.array([np.diff(np.arcsin(u)) / np.pi for u in circles])
    u = circles[load]
    disc = np.diff((np.arcsin(u) + u * np.sqrt(1 - u**2)) / np.pi)
    spring = float(given.ring[0]) * rings.sum(axis=0)
    row = place.fasteners_in_row * float(given.fastener[0])
    spring[::steps] += row
    matrix[::2, ::2] += np.diag(spring)
    force = np.zeros(len(matrix))
    force[::2] = disc
    rise = np.linalg.solve(matrix, force)[::2]
    return float(given.ring[0] * rings[load] @ rise), row * rise[::steps]


@pytest.mark.parametrize("cylinder", [0, 1])
@pytest.mark.parametrize("ring", [0.5e9, 2e9, 6e9])
def test_agrees_with_finite_elements(cylinder: int, ring: float) -> None:
    """Independent method: beam elements with shear (matrix structural analysis, from memory).

    The elements have the whole circle where the model has three points, and its fasteners' gain
    may not be less than theirs.
    """
    given = stiffness(ring=ring)
    found = firings(layout(4), given, (cylinder,))[0]
    own, rows = by_elements(layout(4), given, cylinder)
    assert found.own_share == pytest.approx(own, rel=0.02)
    assert 0.99 < found.row_gain.max() / rows.max() < 1.13


def test_section_of_a_solid_bar() -> None:
    """Identity: E b h^3/12; shear as Timoshenko has it, and in proportion to what is left."""
    bending, shear = section_stiffness(elastic_modulus=72e9, width=0.15, height=0.1, share=1.0)
    assert bending == pytest.approx(72e9 * 0.15 * 1e-3 / 12)
    assert shear == pytest.approx(72e9 / 2.6 * 0.015 * 5 / 6)
    less = section_stiffness(elastic_modulus=72e9, width=0.15, height=0.1, share=0.3)
    assert less == pytest.approx((0.3 * bending, 0.3 * shear))


def test_refuses_rings_that_overlap() -> None:
    """Edge: bores further apart than their rings."""
    with pytest.raises(OutOfRangeError, match="pitch"):
        HeadLayout(cylinders=4, pitch=0.08, sealing_diameter=0.09, fasteners_in_row=2)
