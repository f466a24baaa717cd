"""Running-gear forces: textbook examples, work identities, limiting and metamorphic cases."""

import numpy as np
import pytest
from oracles import kinematics

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.running_gear import cycle, forces, slider_crank

GEOMETRY = {"crank_radius": 0.043, "rod_length": 0.143}
ENGINE = GEOMETRY | {
    "bore": 0.086,
    "piston_mass": 0.42,
    "rod_mass": 0.60,
    "big_end_share": 0.70,
    "cap_mass": 0.12,
    "crankcase_pressure": 1.0e5,
}
ANGLE = np.linspace(-2 * np.pi, 2 * np.pi, 1441)


def firing_cycle(peak: float = 80e5) -> np.ndarray:
    """Return an invented pressure: a bell over a polytrope, intake 1.6 bar, exhaust 1.8 bar."""
    closed = np.linspace(-np.pi, np.pi, 721)
    x = kinematics.piston_position(angle=closed, **GEOMETRY)
    volume = 0.086 / 8.5 + x
    p = 1.6e5 * (volume[0] / volume) ** 1.3
    p = p + (peak - 40e5) * np.exp(-(((closed - 0.3) / 0.35) ** 2))
    return cycle.cycle_pressure(
        closed_angle=closed,
        closed_pressure=p,
        intake_pressure=1.6e5,
        exhaust_pressure=1.8e5,
        steps=ANGLE.size,
    ).pressure


def test_k4_inertia_force():
    """[KTM] example 15.6: 180 kg, r 100, l 400 mm, ω 52.4, 60 degrees: 18.53 kN.

    The book's two-term series is exact enough there (λ = 1/4: 0.1 %).
    """
    f = forces.running_gear_forces(
        angle=np.array([np.radians(60)]),
        pressure=np.array([1e5]),
        angular_speed=52.4,
        bore=0.1,
        crank_radius=0.1,
        rod_length=0.4,
        piston_mass=180.0,
        rod_mass=1e-9,
        big_end_share=0.5,
        crankcase_pressure=1e5,
    )
    assert -f.pin_axial[0] == pytest.approx(18530, rel=0.001)


def test_k9_surplus_inertia_and_couple():
    """[KTM] example 15.18: 2 kg, l 250 mm, pin to cg 100 mm, k 110 mm, 23,000 rad/s²: 133.4 N m."""
    masses = forces.rod_masses(
        rod_mass=2.0, big_end_share=0.4, rod_length=0.25, rod_inertia=2.0 * 0.11**2
    )
    # Couple T' = m (l1 l3 - k²) α with l3 the big end's distance from the centre of gravity.
    assert masses.surplus_inertia * 23000 == pytest.approx(133.4, abs=0.05)
    assert masses.small_end == pytest.approx(1.2)


def test_k11_reciprocating_force_at_top_dead_centre():
    """Derived: 0.60 kg at r ω² (1 + λ), 86 x 143 mm, 7,000 r/min: 18,032 N, hand calculation."""
    f = forces.running_gear_forces(
        angle=np.array([0.0]),
        pressure=np.array([1e5]),
        angular_speed=7000 * np.pi / 30,
        **ENGINE,
    )
    assert -f.rod_link[0] == pytest.approx(18032, abs=1)


@pytest.mark.parametrize("inertia", [None, 0.0016])
@pytest.mark.parametrize("offset", [0.0, 0.001])
def test_work_on_the_crank_is_indicated_work(inertia, offset):
    """Identity: the torque's work over a cycle is the gas's work on the piston, to 0.1 %.

    Both are summed on the same half-degree grid, but one as ∫ T dθ, the other as ∫ p dV.
    """
    p = firing_cycle()
    f = forces.running_gear_forces(
        angle=ANGLE,
        pressure=p,
        angular_speed=600.0,
        rod_inertia=inertia,
        pin_offset=offset,
        **ENGINE,
    )
    volume = (
        np.pi
        / 4
        * 0.086**2
        * kinematics.piston_position(angle=ANGLE, pin_offset=offset, **GEOMETRY)
    )
    indicated = np.trapezoid(p, volume)
    assert indicated > 100
    assert np.trapezoid(0.043 * f.big_end_tangential, ANGLE) == pytest.approx(indicated, rel=1e-3)


@pytest.mark.parametrize("inertia", [None, 0.0016])
def test_power_balance_at_every_angle(inertia):
    """Identity: torque x ω = gas power - rate of change of all kinetic energy, at each angle.

    Kinetic energy of the true rigid rod (centre of gravity and own inertia), numerically
    differentiated (central differences of 1e-5 rad: 1e-7 of the largest power).
    """
    omega, offset, step = 700.0, 0.002, 1e-5
    angle = np.linspace(-3, 3, 41)
    share, mass = ENGINE["big_end_share"], ENGINE["rod_mass"]
    own = mass * share * (1 - share) * 0.143**2 if inertia is None else inertia

    def energy(theta):
        motion = {"angle": theta, "angular_speed": omega, "pin_offset": offset, **GEOMETRY}
        v = kinematics.piston_velocity(**motion)
        phi = slider_crank.rod_angle(angle=theta, pin_offset=offset, **GEOMETRY)
        swing = kinematics.rod_angular_velocity(**motion)
        down = v - share * 0.143 * np.sin(phi) * swing
        aside = share * 0.143 * np.cos(phi) * swing
        return (
            0.5 * ENGINE["piston_mass"] * v**2
            + 0.5 * mass * (down**2 + aside**2)
            + 0.5 * own * swing**2
        )

    p = np.full(angle.size, 30e5)
    f = forces.running_gear_forces(
        angle=angle,
        pressure=p,
        angular_speed=omega,
        rod_inertia=inertia,
        pin_offset=offset,
        **ENGINE,
    )
    v = kinematics.piston_velocity(angle=angle, angular_speed=omega, pin_offset=offset, **GEOMETRY)
    rate = (energy(angle + step) - energy(angle - step)) / (2 * step) * omega
    wanted = f.gas * v - rate
    assert 0.043 * f.big_end_tangential * omega == pytest.approx(
        wanted, abs=1e-6 * np.abs(wanted).max()
    )


def test_forces_on_the_rod_move_its_centre_of_gravity():
    """Identity: Newton's law for the whole rod, along and across, from numerical acceleration."""
    omega, step = 700.0, 1e-4
    angle = np.linspace(-6, 6, 61)
    f = forces.running_gear_forces(
        angle=angle, pressure=np.full(61, 20e5), angular_speed=omega, rod_inertia=0.0016, **ENGINE
    )

    def centre(theta):
        phi = slider_crank.rod_angle(angle=theta, **GEOMETRY)
        x = kinematics.piston_position(angle=theta, **GEOMETRY)
        return np.array([x + 0.7 * 0.143 * np.cos(phi), 0.7 * 0.143 * np.sin(phi)])

    a = (centre(angle + step) - 2 * centre(angle) + centre(angle - step)) / step**2 * omega**2
    r, t = f.big_end_radial, f.big_end_tangential
    crankpin = np.array(
        [
            -r * np.cos(angle) + t * np.sin(angle),
            r * np.sin(angle) + t * np.cos(angle),
        ]
    )
    pin = np.array([f.pin_axial, f.side_thrust])
    assert pin - crankpin == pytest.approx(0.60 * a, abs=1e-5 * np.abs(pin).max())


def test_static_forces_scale_with_pressure():
    """Metamorphic: with no speed, k times the gauge pressure gives k times every force."""
    p = firing_cycle()
    once = forces.running_gear_forces(angle=ANGLE, pressure=p, angular_speed=0.0, **ENGINE)
    more = forces.running_gear_forces(
        angle=ANGLE, pressure=1e5 + 1.7 * (p - 1e5), angular_speed=0.0, **ENGINE
    )
    for name in ("gas", "pin_axial", "rod_link", "side_thrust", "big_end", "rod_bolts"):
        scale = np.abs(getattr(once, name)).max() + 1e-9
        assert getattr(more, name) == pytest.approx(1.7 * getattr(once, name), abs=1e-9 * scale)


def test_inertia_forces_scale_with_speed_squared():
    """Metamorphic: without gas force, k times the speed gives k² times every force."""
    p = np.full(ANGLE.size, 1e5)
    case = ENGINE | {"rod_inertia": 0.0016}
    once = forces.running_gear_forces(angle=ANGLE, pressure=p, angular_speed=300.0, **case)
    more = forces.running_gear_forces(angle=ANGLE, pressure=p, angular_speed=750.0, **case)
    for name in ("pin_axial", "rod_link", "side_thrust", "big_end", "rod_bolts", "main_bearing"):
        scale = np.abs(getattr(more, name)).max()
        assert getattr(more, name) == pytest.approx(6.25 * getattr(once, name), abs=1e-9 * scale)


def test_gas_and_inertia_superpose():
    """Identity: forces are linear, so gas at standstill plus inertia alone give the whole."""
    p, still = firing_cycle(), np.full(ANGLE.size, 1e5)
    gas = forces.running_gear_forces(angle=ANGLE, pressure=p, angular_speed=0.0, **ENGINE)
    mass = forces.running_gear_forces(angle=ANGLE, pressure=still, angular_speed=500.0, **ENGINE)
    both = forces.running_gear_forces(angle=ANGLE, pressure=p, angular_speed=500.0, **ENGINE)
    for name in ("rod_link", "side_thrust", "big_end_radial", "big_end_tangential"):
        together = getattr(gas, name) + getattr(mass, name)
        assert getattr(both, name) == pytest.approx(together, abs=1e-6)


def test_bolts_at_overlap_top_dead_centre():
    """Hand formula: (m_rec) r ω² (1 + λ) + (m_rot - m_cap) r ω² - p A (from memory, standard)."""
    omega = 7000 * np.pi / 30
    f = forces.running_gear_forces(
        angle=np.array([2 * np.pi]), pressure=np.array([1.8e5]), angular_speed=omega, **ENGINE
    )
    turn = 0.043 * omega**2
    gas = 0.8e5 * np.pi / 4 * 0.086**2
    wanted = 0.60 * turn * (1 + 0.043 / 0.143) + (0.42 - 0.12) * turn - gas
    assert f.rod_bolts[0] == pytest.approx(wanted, rel=1e-12)
    assert f.rod_link[0] == pytest.approx(gas - 0.60 * turn * (1 + 0.043 / 0.143), rel=1e-12)
    assert np.abs(f.big_end_angle_on_rod[0]) == pytest.approx(np.pi)


def test_gas_side_thrust_leans_on_the_major_side_while_the_piston_goes_down():
    """Common practice, no source: gas pressure pushes to the major side after firing, to the
    minor side before it; exact size F tan φ."""
    angle = np.radians([-60.0, 60.0])
    f = forces.running_gear_forces(
        angle=angle, pressure=np.full(2, 20e5), angular_speed=0.0, **ENGINE
    )
    size = 19e5 * np.pi / 4 * 0.086**2 * np.tan(np.arcsin(0.043 * np.sin(np.pi / 3) / 0.143))
    assert f.side_thrust == pytest.approx([-size, size], rel=1e-12)


def test_lanes_equal_single_runs_and_are_read_only():
    """Broadcast: (T, n) lanes give column by column what single runs give."""
    p = np.stack([firing_cycle(70e5), firing_cycle(100e5)], axis=1)
    speed = np.array([200.0, 700.0])
    f = forces.running_gear_forces(angle=ANGLE, pressure=p, angular_speed=speed, **ENGINE)
    one = forces.running_gear_forces(angle=ANGLE, pressure=p[:, 1], angular_speed=700.0, **ENGINE)
    assert f.rod_link.shape == (ANGLE.size, 2)
    assert f.gas.shape == (ANGLE.size, 2)
    assert f.rod_link[:, 1] == pytest.approx(one.rod_link)
    assert one.rod_link.shape == ANGLE.shape
    assert not f.rod_link.flags.writeable


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"big_end_share": 1.2}, "big-end share is 1.2, but must be between 0 and 1"),
        ({"piston_mass": -0.4}, "piston mass is -0.4"),
        ({"bore": np.nan}, "bore is nan"),
        ({"cap_mass": -0.1}, "cap mass is -0.1"),
        ({"rod_length": 0.04}, "rod length"),
    ],
)
def test_bad_inputs_are_refused_by_name(change, words):
    case = ENGINE | {"angle": ANGLE, "pressure": firing_cycle(), "angular_speed": 500.0} | change
    with pytest.raises(OutOfRangeError, match=words):
        forces.running_gear_forces(**case)


def test_pressure_and_angle_must_match():
    with pytest.raises(InputError, match=r"pressure has shape \(3,\)"):
        forces.running_gear_forces(angle=ANGLE, pressure=np.ones(3), angular_speed=500.0, **ENGINE)
