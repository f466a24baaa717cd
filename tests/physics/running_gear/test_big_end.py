"""Big-end film index: published bearing tables, an own Reynolds solution, published examples."""

import csv
from pathlib import Path

import numpy as np
import pytest
from oracles.bearing import (
    film_index,
    short_bearing_attitude,
    short_bearing_load_number,
    sommerfeld_number,
)
from scipy import sparse
from scipy.sparse.linalg import spsolve

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.running_gear import big_end, cycle, forces

TABLE = Path(__file__).parents[2] / "reference" / "raimondi_boyd_1958.csv"
ROWS = [
    (float(row["length_ratio"]), float(row["eccentricity"]), float(row["sommerfeld"]))
    for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()[1:])
]


def reynolds_sommerfeld(eccentricity: float, length_ratio: float) -> float:
    """Return S of a full bearing by finite volumes on the half width, film free to rupture.

    ∂θ(H³ ∂θp) + (D/L)² ∂z(H³ ∂zp) = dH/dθ, H = 1 + ε cos θ, p ≥ 0; the ruptured region is found
    by repeating the linear solution on the cells that push (active set). S = 1 / (3 π W).
    """
    around, across = 200, 16
    squeeze = max(0.0, 1 - 1.5 * np.sqrt(1 - eccentricity))
    even = np.linspace(0, 2 * np.pi, around + 1)
    theta = even + squeeze * np.sin(even)
    z = np.sin(np.linspace(0, np.pi / 2, across + 1))
    step = np.diff(theta)
    film = 1 + eccentricity * np.cos((theta[1:] + theta[:-1]) / 2)
    length = (step + np.roll(step, 1)) / 2
    edges = np.r_[0, (z[1:] + z[:-1]) / 2]
    width = np.diff(edges)
    cells = np.arange(around * across).reshape(around, across)
    along = np.outer(film**3 / step, width)
    local = (1 + eccentricity * np.cos(theta[:-1])) ** 3 * length
    aside = np.outer(local, 1 / np.diff(z)) / length_ratio**2
    pairs = [
        (cells, np.roll(cells, -1, axis=0), along),
        (cells[:, :-1], cells[:, 1:], aside[:, :-1]),
    ]
    size = cells.size
    matrix = sparse.csr_matrix((size, size))
    for one, other, flow in pairs:
        i, j, f = one.ravel(), other.ravel(), flow.ravel()
        values = np.r_[f, f, -f, -f]
        matrix += sparse.csr_matrix((values, (np.r_[i, j, i, j], np.r_[i, j, j, i])), (size, size))
    rim = np.zeros(cells.shape)
    rim[:, -1] = aside[:, -1]
    matrix = (matrix + sparse.diags(rim.ravel())).tocsr()
    source = -np.outer(film - np.roll(film, 1), width).ravel()
    pushes = source > 0
    for _ in range(60):
        pressure = np.zeros(size)
        inside = np.flatnonzero(pushes)
        pressure[inside] = spsolve(matrix[inside][:, inside].tocsc(), source[inside])
        now = np.where(pushes, pressure > 0, matrix @ pressure < source)
        if (now == pushes).all():
            break
        pushes = now
    else:
        raise AssertionError("the ruptured region did not settle")
    area = 2 * np.outer(length, width).ravel()
    angle = np.repeat(theta[:-1], across)
    load = np.hypot(
        (pressure * area * np.cos(angle)).sum(), (pressure * area * np.sin(angle)).sum()
    )
    return 1 / (3 * np.pi * load)


def test_own_solution_reaches_the_short_bearing_limit():
    """[OCVIRK] as a check on the checker: at L/D 0.02, ε 0.5 the exact short bearing, to 1 %."""
    load = short_bearing_load_number(0.5)
    # S = μ N D L (R/c)² / W with W = load μ ω R L³ / c².
    wanted = 2 / (2 * np.pi * load * 0.02**2 * 4)
    assert reynolds_sommerfeld(0.5, 0.02) == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(("length_ratio", "eccentricity", "sommerfeld"), ROWS)
def test_published_table_against_reynolds(length_ratio, eccentricity, sommerfeld):
    """[RAIMONDI-BOYD] table against the own solution, and held unchanged by the shipped one.

    2.5 %, 4 % at ε 0.97: two numerical solutions, the one of 1958 on a grid that was coarse
    where the film is thinnest.
    """
    spread = 0.04 if eccentricity > 0.95 else 0.025
    assert reynolds_sommerfeld(eccentricity, length_ratio) == pytest.approx(sommerfeld, rel=spread)
    row = list(big_end.LENGTH_RATIOS).index(length_ratio)
    column = list(big_end.ECCENTRICITIES).index(eccentricity)
    assert big_end.SOMMERFELD_NUMBERS[row, column] == sommerfeld


@pytest.mark.parametrize("length_ratio", [0.25, 0.5, 1.0])
@pytest.mark.parametrize("eccentricity", [0.99, 0.995])
def test_own_part_of_the_table(length_ratio, eccentricity):
    """[REYNOLDS-FD]: the entries beyond the published table, solved again, to 0.5 %."""
    row = list(big_end.LENGTH_RATIOS).index(length_ratio)
    column = list(big_end.ECCENTRICITIES).index(eccentricity)
    assert reynolds_sommerfeld(eccentricity, length_ratio) == pytest.approx(
        big_end.SOMMERFELD_NUMBERS[row, column], rel=0.005
    )


@pytest.mark.parametrize("length_ratio", [0.3, 0.42, 0.7])
@pytest.mark.parametrize("eccentricity", [0.15, 0.5, 0.85, 0.98, 0.993])
def test_index_between_the_points(length_ratio, eccentricity):
    """[REYNOLDS-FD]: off the table's points the film is within 2 % of the own solution."""
    s = reynolds_sommerfeld(eccentricity, length_ratio)
    got = film_index(sommerfeld_number=s, length_to_diameter=length_ratio)
    assert got == pytest.approx(1 - eccentricity, rel=0.02)


def test_table_fed_back():
    """Round trip: every point of the table is returned at its own eccentricity."""
    got = big_end.steady_sommerfeld(
        eccentricity=big_end.ECCENTRICITIES, length_to_diameter=big_end.LENGTH_RATIOS[:, None]
    )
    assert got == pytest.approx(big_end.SOMMERFELD_NUMBERS, rel=0.002)


def test_index_rises_with_sommerfeld_from_none_to_one():
    """Limiting cases: no speed, no film; huge S, centred; strictly rising between, no jump."""
    s = np.geomspace(1e-6, 1e4, 4001)
    for ratio in (0.25, 0.4, 1.0):
        index = film_index(sommerfeld_number=s, length_to_diameter=ratio)
        assert (np.diff(index) > 0).all()
        assert np.abs(np.diff(np.log(index))).max() < 1.5 * np.log(s[1] / s[0])
    ends = film_index(sommerfeld_number=np.array([0.0, 1e9]), length_to_diameter=0.5)
    assert ends == pytest.approx([0, 1], abs=1e-6)


def test_b1_short_bearing():
    """[OCVIRK] values seen in published notes: ε 0.5: 0.750381081812, 53.6802006 degrees."""
    load = short_bearing_load_number(0.5)
    assert load == pytest.approx(0.750381081812, abs=1e-12)
    attitude = short_bearing_attitude(0.5)
    assert np.degrees(attitude) == pytest.approx(53.6802006, abs=1e-7)


def test_b2_short_bearing():
    """[OCVIRK] published notes: R 50, L 25 mm, c 100 µm, 20 mPa s, 1 kN, 3,000 r/min: ε 0.67579."""
    wanted = 1000 * 100e-6**2 / (0.02 * 100 * np.pi * 0.05 * 0.025**3)
    got = short_bearing_load_number(0.6757879254)
    assert got == pytest.approx(wanted, rel=1e-9)
    attitude = short_bearing_attitude(0.6757879254)
    assert np.degrees(attitude) == pytest.approx(40.58502, abs=1e-5)


def test_b3_machine_design_example():
    """[SHIGLEY] examples 12-1 to 12-4 (from memory): S 0.135, h0/c 0.42 read from a chart."""
    s = sommerfeld_number(
        specific_load=2224.1 / (0.0381 * 0.0381),
        viscosity=4e-6 * 6894.757,
        effective_speed=30 * 2 * np.pi,
        relative_clearance=0.0015 / 0.75,
    )
    assert s == pytest.approx(0.135, abs=0.0005)
    index = film_index(sommerfeld_number=s, length_to_diameter=1.0)
    assert index == pytest.approx(0.42, abs=0.01)


def test_b5_machine_design_example():
    """[JINDAL] example 17-2: d = l = 60 mm, c 0.04, h0 0.008 mm, 6 kN, 21 rev/s: 6.293 mPa s."""
    s = sommerfeld_number(
        specific_load=6000.0 / (0.06 * 0.06),
        viscosity=6.293e-3,
        effective_speed=21 * 2 * np.pi,
        relative_clearance=0.04 / 30,
    )
    assert s == pytest.approx(0.0446, abs=0.00005)
    index = film_index(sommerfeld_number=s, length_to_diameter=1.0)
    assert index == pytest.approx(0.008 / 0.04, rel=0.005)


def test_effective_speed_of_turning_loads():
    """[BOOKER], standard cases: load at journal speed as good as fixed, at half speed none."""
    speed = big_end.effective_speed(
        journal_speed=300.0, bush_speed=0.0, load_speed=np.array([0.0, 150.0, 300.0])
    )
    assert speed == pytest.approx([300, 0, 300])
    firing = big_end.effective_speed_at_firing(
        angular_speed=300.0, crank_radius=0.043, rod_length=0.143
    )
    assert firing == pytest.approx(300 * (1 + 0.043 / 0.143))


def test_equal_torque_is_harder_on_the_film_at_low_speed():
    """Metamorphic: the same pressure trace at 2,000, 4,000 and 6,000 r/min: film index at peak
    load rises, more than in proportion to speed because inertia relieves the load as well."""
    closed = np.linspace(-np.pi, np.pi, 361)
    trace = cycle.cycle_pressure(
        closed_angle=closed,
        closed_pressure=2e5 + 78e5 * np.exp(-(((closed - 0.24) / 0.5) ** 2)),
        intake_pressure=2e5,
        exhaust_pressure=2e5,
    )
    speed = np.array([2000.0, 4000.0, 6000.0]) * np.pi / 30
    engine = {"bore": 0.086, "crank_radius": 0.043, "rod_length": 0.145}
    f = forces.running_gear_forces(
        angle=trace.angle,
        pressure=trace.pressure,
        angular_speed=speed,
        piston_mass=0.42,
        rod_mass=0.6,
        big_end_share=0.7,
        crankcase_pressure=1e5,
        **engine,
    )
    near_firing = np.abs(trace.angle) < 1.0
    load = f.big_end[near_firing].max(axis=0)
    assert (np.diff(load) < 0).all()
    s = sommerfeld_number(
        specific_load=load / (0.048 * 0.018),
        viscosity=5e-3,
        effective_speed=big_end.effective_speed_at_firing(
            angular_speed=speed, crank_radius=0.043, rod_length=0.145
        ),
        relative_clearance=0.001,
    )
    index = film_index(sommerfeld_number=s, length_to_diameter=0.375)
    assert (np.diff(index) > 0).all()
    assert (np.diff(s / speed) > 0).all()


@pytest.mark.parametrize("big_end_share", [0.55, 0.70, 0.80])
def test_effective_speed_at_overlap_by_the_forces(big_end_share):
    """Identity: the load's own turning about overlap, by difference of the exact forces."""
    step = 1e-4
    speed, ratio = 600.0, 0.043 / 0.145
    angle = 2 * np.pi + np.array([-step, step])
    f = forces.running_gear_forces(
        angle=angle, pressure=np.full(2, 1e5), angular_speed=speed, bore=0.086,
        crank_radius=0.043, rod_length=0.145, piston_mass=0.42, rod_mass=0.6,
        big_end_share=big_end_share, crankcase_pressure=1e5,
    )  # fmt: skip
    turned = np.diff(np.arctan2(f.big_end_tangential, f.big_end_radial))[0] + 2 * step
    wanted = abs(1 - ratio - 2 * turned / (2 * step)) * speed
    found = big_end.effective_speed_at_overlap(
        angular_speed=speed, crank_radius=0.043, rod_length=0.145,
        reciprocating_mass=0.42 + 0.6 * (1 - big_end_share), turning_mass=0.6 * big_end_share,
    )  # fmt: skip
    assert found == pytest.approx(wanted, rel=1e-5)
    assert found < 0.6 * speed


def test_bad_bearings_are_refused():
    with pytest.raises(
        OutOfRangeError, match=r"length / diameter is 0\.1, but must be between 0\.25 and 1"
    ):
        big_end.steady_sommerfeld(eccentricity=0.5, length_to_diameter=0.1)
    with pytest.raises(OutOfRangeError, match="eccentricity ratio is nan"):
        big_end.steady_sommerfeld(eccentricity=np.nan, length_to_diameter=0.4)
