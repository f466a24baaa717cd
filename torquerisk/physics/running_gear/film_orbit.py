"""The crankpin's orbit in its bearing over the cycle: film with squeeze, by the mobility method.

Where `big_end` asks what film a steady load would leave, this follows the journal through the
whole cycle, so that a short firing load meets oil that must first be squeezed away. Rigid, round,
fully flooded and of one temperature: still an index to compare states of one bearing, closer to a
thickness than the steady one. Bending of the big end and hot oil make the real film thinner.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.running_gear import big_end

_ITERATIONS = 40
_TOLERANCE = 1e-10


@dataclass(frozen=True, kw_only=True, eq=False)
class FilmOrbit:
    """Journal orbit over one cycle, on the angles given; (T, n) unless said otherwise."""

    film: Array
    """Film over radial clearance, 1 - ε [-]."""
    least_film: Array
    """Smallest film over radial clearance of the cycle [-], (n,)."""
    least_film_angle: Array
    """Crank angle of the smallest film [rad], (n,)."""
    closure: Array
    """How far film at the cycle's end is from film at its start [-], (n,): 0 once periodic."""


_GAPS = np.geomspace(0.899999, 0.005, 257)
"""Films 1 - ε at which the correction for length is tabulated, evenly in their logarithm."""


def _length_correction(length_to_diameter: Array) -> Array:
    """Return how much more mobile a bearing of that length is than the short-bearing formula.

    By `_GAPS` (257, n): the quotient of finite and short steady Sommerfeld numbers, so that the
    orbit under a steady load ends where the finite bearing does.
    """
    e = 1 - _GAPS[:, None]
    finite = big_end.steady_sommerfeld(eccentricity=e, length_to_diameter=length_to_diameter)
    root = np.sqrt(16 * e**2 + np.pi**2 * (1 - e**2))
    short = (1 - e**2) ** 2 / (np.pi * e * root * length_to_diameter**2)
    return np.asarray(finite / short)


def _looked_up(table: Array, film: Array) -> Array:
    """Return the correction at films (n,), held at its end values outside the table."""
    span = np.log(_GAPS[0] / _GAPS[-1])
    place = np.log(_GAPS[0] / np.clip(film, _GAPS[-1], _GAPS[0])) / span * (_GAPS.size - 1)
    low = np.minimum(place.astype(int), _GAPS.size - 2)
    lane = np.arange(table.shape[1])
    first = table[low, lane]
    return np.asarray(first + (place - low) * (table[low + 1, lane] - first))


def film_orbit(
    *,
    angle: Array,
    load: Array,
    load_angle_on_rod: Array,
    rod_angle_slope: Array,
    angular_speed: Floats,
    crankpin_diameter: Floats,
    bearing_width: Floats,
    relative_clearance: Floats,
    viscosity: Floats,
    cycles: int = 2,
) -> FilmOrbit:
    """Return the big-end film over the cycle and its least value.

    angle: evenly spaced over 4π, both ends included [rad], (T,), a degree or finer. load,
    load_angle_on_rod: `big_end` and `big_end_angle_on_rod` of the forces [N, rad], (T,) or
    (T, n). rod_angle_slope: dφ/dθ of `slider_crank` [-], (T,) or (T, n). angular_speed ω
    [rad/s], crankpin_diameter D, bearing_width L [m], relative_clearance c/R [-], viscosity at
    film temperature and shear μ [Pa s]: scalar or (n,). cycles: turned through before the last
    one is returned.
    In the rod's frame dε/dt = F (c/R)² / (μ L D) M + (ω + dφ/dt)/2 x ε, backward Euler; M the
    short bearing's (ξ along the load, η across: M_ξ = (1 - ξ)^2.5 / (π (L/D)²), M_η = -4 η
    (1 - ξ)^1.5 / (π² (L/D)²)) times the finite over the short bearing's steady Sommerfeld number.
    First order in the step: least film up to 4 % too high at half a degree, 8 % at a degree. That
    correction is our own. Source: [BOOKER]; [RAIMONDI-BOYD].
    """
    theta, force, direction, turning, lanes = _prepare(
        angle, load, load_angle_on_rod, rod_angle_slope, angular_speed, cycles
    )
    for name, value, unit in (
        ("angular speed", angular_speed, "rad/s"),
        ("crankpin diameter", crankpin_diameter, "m"),
        ("bearing width", bearing_width, "m"),
        ("viscosity", viscosity, "Pa s"),
        ("relative clearance", relative_clearance, "(clearance over diameter)"),
    ):
        require_positive(name, value, unit)
    ratio = np.broadcast_to(np.asarray(bearing_width) / crankpin_diameter, lanes).astype(float)
    pace = np.square(relative_clearance) / (
        np.asarray(viscosity) * bearing_width * crankpin_diameter * angular_speed
    )
    drive = np.broadcast_to(force * pace, (theta.size, *lanes))
    film = _turned(float(theta[1] - theta[0]), drive, direction, turning, ratio, cycles)
    least = film.argmin(axis=0)
    return FilmOrbit(
        film=film,
        least_film=film.min(axis=0),
        least_film_angle=theta[least],
        closure=np.abs(film[-1] - film[0]),
    )


def _turned(
    step: float, drive: Array, direction: Array, turning: Array, ratio: Array, cycles: int
) -> Array:
    """Return the film (T, n) over the last of some cycles, from one that is begun anywhere."""
    table = _length_correction(ratio)
    x, y = np.full(ratio.shape, 0.3), np.zeros(ratio.shape)
    film = np.empty(drive.shape)
    for cycle in range(cycles):
        for i in range(0 if cycle == 0 else 1, len(drive)):
            cos, sin = np.cos(direction[i]), np.sin(direction[i])
            speed = drive[i] * _looked_up(table, 1 - np.hypot(x, y))
            along, across = _implicit_step(
                x * cos + y * sin, y * cos - x * sin, step, speed, turning[i], ratio
            )
            x, y = along * cos - across * sin, along * sin + across * cos
            film[i] = 1 - np.hypot(x, y)
        if cycle == cycles - 2:
            film[0] = film[-1]
    return film


def _prepare(
    angle: Array,
    load: Array,
    load_angle: Array,
    slope: Array,
    angular_speed: Floats,
    cycles: int,
) -> tuple[Array, Array, Array, Array, tuple[int, ...]]:
    theta = np.asarray(angle, dtype=float)
    even = np.linspace(theta.flat[0], theta.flat[0] + 4 * np.pi, theta.size)
    if theta.ndim != 1 or theta.size < 721 or np.abs(theta - even).max() > 1e-9:
        raise InputError(
            f"Crank angles have shape {theta.shape}, but must be 721 or more even steps over the "
            "whole cycle of 4π rad, both ends included."
        )
    if cycles < 2:
        raise InputError(f"cycles is {cycles}, but must be 2 or more.")
    columns = []
    for name, value in (("load", load), ("load angle", load_angle), ("rod angle slope", slope)):
        table = np.asarray(value, dtype=float)
        if table.ndim not in (1, 2) or table.shape[0] != theta.size:
            raise InputError(f"{name} has shape {table.shape}, but needs {theta.size} rows.")
        require(name, table, "finite", np.isfinite)
        columns.append(table if table.ndim == 2 else table[:, None])
    force, direction, turn = columns
    lanes = np.broadcast_shapes(
        *(column.shape[1:] for column in columns), np.shape(np.atleast_1d(angular_speed))
    )
    shape = (theta.size, *lanes)
    # Half of journal speed less bush speed, per crank speed: the rod turns by -dφ/dθ.
    turning = np.broadcast_to((1 + turn) / 2, shape)
    return theta, np.abs(force), np.broadcast_to(direction, shape), turning, lanes


def _implicit_step(
    along: Array, across: Array, step: float, speed: Array, turning: Array, ratio: Array
) -> tuple[Array, Array]:
    """Return the eccentricity after one backward-Euler step, in the frame of the new load."""
    push = step * speed / (np.pi * ratio**2)
    side = push * 4 / np.pi
    turn = step * turning
    u, v = along, across
    for _ in range(_ITERATIONS):
        # A guard for trial values only: the solution itself cannot leave the clearance.
        gap = np.maximum(1 - u, 1e-9)
        root = np.sqrt(gap)
        first = u - along - push * gap**2 * root + turn * v
        second = v - across + side * v * gap * root - turn * u
        a, b = 1 + 2.5 * push * gap * root, turn
        c, d = -1.5 * side * v * root - turn, 1 + side * gap * root
        determinant = a * d - b * c
        du = (first * d - b * second) / determinant
        dv = (a * second - c * first) / determinant
        u, v = u - du, v - dv
        if max(np.abs(du).max(), np.abs(dv).max()) < _TOLERANCE:
            return u, v
    raise InputError(
        "The journal's orbit does not settle within one step; give crank angles in finer steps."
    )
