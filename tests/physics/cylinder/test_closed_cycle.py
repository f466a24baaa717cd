import cantera as ct
import numpy as np
import pytest
from cycle_examples import RPM, classic_burn, compression, spark, textbook
from independent_cycle import charge, solution
from oracles.gas import internal_energy, woschni_velocity
from oracles.kinematics import volume_rate
from scipy.integrate import simpson

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.cylinder import heat_loss
from torquerisk.physics.cylinder.burn import double_wiebe, wiebe
from torquerisk.physics.cylinder.closed_cycle import (
    closed_cycle,
    closed_cycle_at_imep,
)
from torquerisk.physics.cylinder.equilibrium import dissociation
from torquerisk.physics.cylinder.geometry import (
    CylinderGeometry,
    clearance_volume,
    swept_volume,
    wall_area,
)

BOTH = pytest.mark.parametrize("inputs", [spark(), compression()], ids=["spark", "compression"])


def test_finite_heat_release_worked_example():
    """Ferguson & Kirkpatrick example 2.2, engine 1 (statement seen, results recomputed).

    r 10, gamma 1.4, Q 20.214 P1 V1, burning from -20 over 40 degrees with a 5, n 3: Pmax/P1
    88.480, 10.87 +- 0.15 degrees, imep/P1 13.3802, efficiency 0.59574.
    """
    mass = 1e5 * 0.87266e-3 / (286.69 * 300)
    inputs = textbook(
        1.4, 286.69, 20.214 * 1e5 * 0.87266e-3 / mass, classic_burn(-20, 40, 5, 2), ratio=10.0
    )
    cycle = closed_cycle(inputs, 1e5, step=np.radians(0.25))
    assert cycle.peak_pressure[0] / 1e5 == pytest.approx(88.480, abs=2e-3)
    assert np.degrees(cycle.peak_angle[0]) == pytest.approx(10.87, abs=0.15)
    assert cycle.imep_gross[0] / 1e5 == pytest.approx(13.3802, abs=2e-4)
    assert cycle.indicated_efficiency[0] == pytest.approx(0.59574, abs=1e-5)


def test_constant_volume_limit():
    """Heywood table 5.2 (from memory), r 12, gamma 1.3: efficiency 0.525, imep/p1 16.3, p3/p1 128.

    The burn is 0.2 degrees long here instead of instant; digits as printed.
    """
    heat = 9.3 * 11 / 12 * 287.0 / 0.3 * 300.0
    inputs = textbook(1.3, 287.0, heat, wiebe(0.0, np.radians(0.2)), ratio=12.0)
    cycle = closed_cycle(inputs, 1e5, step=np.radians(0.05))
    assert cycle.indicated_efficiency[0] == pytest.approx(0.525, abs=6e-4)
    assert cycle.imep_gross[0] / 1e5 == pytest.approx(16.3, abs=0.05)
    assert cycle.peak_pressure[0] / 1e5 == pytest.approx(128, abs=0.5)


def test_otto_worked_example():
    """Pulkrabek example 3-1 (from memory): P2 1826, P3 10111 kPa, T3 3915 K, imep 1649 kPa.

    r 8.6, k 1.35, 1.949 kJ into 0.740 g; 0.3 % because the book's R, c_v and k agree to that.
    """
    inputs = textbook(
        1.35, 287.0, 0.000044 * 44300e3 / 0.00074, wiebe(0.0, np.radians(0.2)), ratio=8.6,
        temperature=333.0,
    )  # fmt: skip
    cycle = closed_cycle(inputs, 1e5, step=np.radians(0.05))
    assert cycle.peak_pressure[0] == pytest.approx(10111e3, rel=3e-3)
    assert cycle.kept.temperature.max() == pytest.approx(3915, rel=3e-3)
    assert cycle.imep_gross[0] == pytest.approx(1649e3, rel=3e-3)
    assert cycle.indicated_efficiency[0] == pytest.approx(0.529, abs=1e-3)
    motored = closed_cycle(
        textbook(1.35, 287.0, 1.0, wiebe(0.5, 0.3), ratio=8.6, temperature=333.0), 1e5
    )
    assert motored.kept.pressure.max() == pytest.approx(1826e3, rel=1e-3)


@BOTH
def test_energy_is_conserved(inputs):
    """First law: within 0.1 % of the fuel's heat at 1 degree.

    Work by Simpson's rule on the trace with dV/dtheta, not by the march's own sum.
    """
    cycle = closed_cycle(inputs, 2.2e5)
    trace = cycle.kept
    closed = np.abs(np.degrees(trace.angle)) <= 130.001
    closed &= np.degrees(trace.angle) >= np.degrees(inputs.intake_closing) - 1e-6
    angle, pressure = trace.angle[closed], trace.pressure[closed, 0]
    work = simpson(pressure * volume_rate(angle, inputs.geometry), x=angle)
    ends = np.flatnonzero(closed)[[0, -1]]
    burned, temperature = trace.burned_fraction[ends, 0], trace.temperature[ends, 0]
    energy = [
        (1 - x) * internal_energy(trace.gas.unburned_energy[:, 0], t)
        + x * internal_energy(trace.gas.burned_energy[:, 0], t)
        for x, t in zip(burned, temperature, strict=True)
    ]
    split, _ = dissociation(trace.gas.dissociation[:, 0], temperature[1], pressure[-1])
    energy[1] += burned[1] * split
    change = cycle.trapped_mass[0] * (energy[1] - energy[0])
    heat = cycle.fuel_mass[0] * inputs.fuel.lower_heating_value
    assert abs(change + work + cycle.heat_lost[0]) < 1e-3 * heat
    assert abs(cycle.energy_residual[0]) < 1e-4


def test_heat_lost_is_the_integral_of_the_correlation():
    """Identity: heat lost equals the correlation integrated over the trace afterwards, to 0.2 %."""
    inputs = spark()
    cycle = closed_cycle(inputs, 2e5, step=np.radians(0.5))
    rows = np.abs(np.degrees(cycle.kept.angle)) < 130.01
    p, t, v = (x[rows, 0] for x in (cycle.kept.pressure, cycle.kept.temperature, cycle.kept.volume))
    piston = 0.086 * inputs.speed / np.pi
    motored = 2e5 * (v / v[0]) ** -1.32
    excess = np.where(cycle.kept.burned_fraction[rows, 0] > 0, np.maximum(p - motored, 0), 0)
    displaced = swept_volume(inputs.geometry) * 330.0 / (2e5 * v[0])
    close = clearance_volume(inputs.geometry) / v
    squeeze = heat_loss.squeeze_factor(close, cycle.imep_gross[0])
    velocity = woschni_velocity(piston, displaced, excess, 0.0, squeeze)
    coefficient = heat_loss.woschni_coefficient(0.086, p, t, velocity)
    flow = coefficient * wall_area(v, inputs.geometry) * (t - inputs.wall_temperature)
    lost = simpson(flow, x=cycle.kept.angle[rows]) / inputs.speed
    assert cycle.heat_lost[0] == pytest.approx(lost, rel=2e-3)


@BOTH
def test_second_order_convergence(inputs):
    """Identity of the trapezium rule: halving the step quarters the error; 0.1 % at 1 degree.

    Peak pressure and mean effective pressure against a step of 1/16 degree.
    """
    fine = closed_cycle(inputs, 2e5, step=np.radians(1 / 16))
    errors = []
    for degrees in (4, 2, 1, 0.5):
        cycle = closed_cycle(inputs, 2e5, step=np.radians(degrees))
        errors.append(cycle.imep_gross[0] / fine.imep_gross[0] - 1)
        if degrees <= 1:
            assert cycle.peak_pressure[0] == pytest.approx(fine.peak_pressure[0], rel=1e-3)
    order = np.log2(np.abs(errors[:-1]) / np.abs(errors[1:]))
    assert abs(errors[2]) < 1e-3
    assert np.all(order > 1.5)


@BOTH
def test_reported_imep_is_the_trace(inputs):
    """Identity: the trapezium sum of p dV over the trace, to the last digit."""
    cycle = closed_cycle(inputs, 2e5)
    work = np.trapezoid(cycle.kept.pressure[:, 0], cycle.kept.volume[:, 0])
    assert cycle.imep_gross[0] == pytest.approx(work / swept_volume(inputs.geometry), rel=1e-12)
    assert cycle.kept.angle[0] == pytest.approx(-np.pi)
    assert cycle.kept.angle[-1] == pytest.approx(np.pi)
    assert cycle.kept.pressure[-1, 0] == pytest.approx(inputs.exhaust_pressure)


@BOTH
def test_asked_imep_is_met(inputs):
    """Identity: the solve returns the mean effective pressure that was asked, to 1e-6."""
    target = np.array([4e5, 12e5, 25e5, 38e5])
    cycle = closed_cycle_at_imep(inputs, target)
    assert np.allclose(cycle.imep_gross, target, rtol=1e-6)
    again = closed_cycle(inputs, cycle.trapped_pressure)
    assert np.allclose(again.peak_pressure, cycle.peak_pressure, rtol=1e-12)
    assert np.all(np.diff(cycle.peak_pressure) > 0)


def test_unreachable_imep_is_refused():
    """Identity: the error names the input and what was asked."""
    with pytest.raises(OutOfRangeError, match=r"imep_gross is 400 bar"):
        closed_cycle_at_imep(spark(), 400e5)


def test_motored_charge_is_isentropic():
    """Cantera entropies: without burning and heat loss the entropy at top is that at closing.

    Within 0.05 % of R, which is 0.02 K; the gas not yet burned follows the same line.
    """
    inputs = spark(completeness=0.0, heat_loss_scale=0.0)
    cycle = closed_cycle(inputs, 1e5, step=np.radians(0.25))
    top = cycle.kept.angle.size // 2
    case = {"diesel": False, "ethanol": 0.3, "lam": 0.88, "residual": 0.04}
    moles, gas = charge(case)["start"], solution()
    entropy = []
    for row in (0, top):
        gas.TPX = cycle.kept.temperature[row, 0], cycle.kept.pressure[row, 0], moles
        entropy.append(gas.entropy_mole / ct.gas_constant)
    assert entropy[1] == pytest.approx(entropy[0], abs=5e-4)
    assert cycle.kept.unburned_temperature[top, 0] == pytest.approx(
        cycle.kept.temperature[top, 0], rel=1e-5
    )
    assert np.degrees(cycle.peak_angle[0]) == pytest.approx(0.0, abs=0.05)


def test_size_does_not_matter_without_heat_loss():
    """Metamorphic: twice the bore area, or twice all lengths, at equal imep: equal pressures."""
    small = CylinderGeometry(bore=0.08, stroke=0.09, rod_length=0.15, compression_ratio=10.0)
    wide = CylinderGeometry(
        bore=0.08 * np.sqrt(2), stroke=0.09, rod_length=0.15, compression_ratio=10.0
    )
    large = CylinderGeometry(bore=0.16, stroke=0.18, rod_length=0.3, compression_ratio=10.0)
    peaks = [
        closed_cycle_at_imep(spark(geometry=g, heat_loss_scale=0.0), 20e5).peak_pressure[0]
        for g in (small, wide, large)
    ]
    assert peaks[1:] == pytest.approx([peaks[0]] * 2, rel=1e-9)


def test_speed_does_not_matter_without_heat_loss():
    """Metamorphic: only heat loss knows the time."""
    inputs = spark(speed=np.array([1000.0, 9000.0]) * RPM, heat_loss_scale=0.0)
    peaks = closed_cycle_at_imep(inputs, 20e5).peak_pressure
    assert peaks[1] == pytest.approx(peaks[0], rel=1e-12)


def test_directions():
    """Metamorphic: later burning lowers the peak at equal work; more loss needs more charge."""
    later = closed_cycle_at_imep(
        spark(burn=wiebe(np.radians([5.0, 10.0, 20.0, 30.0]), np.radians(24.0))), 20e5
    )
    assert np.all(np.diff(later.peak_pressure) < 0)
    loss = closed_cycle_at_imep(spark(heat_loss_scale=np.array([0.0, 1.0, 2.0])), 20e5)
    assert np.all(np.diff(loss.trapped_pressure) > 0)
    assert np.all(np.diff(loss.indicated_efficiency) < 0)
    ratio = CylinderGeometry(
        bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=np.array([8.0, 10.0, 12.0])
    )
    assert np.all(np.diff(closed_cycle_at_imep(spark(geometry=ratio), 20e5).peak_pressure) > 0)


def test_one_degree_of_phasing_moves_the_peak_by_about_two_percent():
    """Design note: at equal torque a degree of CA50 moves peak pressure by about 2 % (+-1)."""
    cycle = closed_cycle_at_imep(
        spark(burn=wiebe(np.radians([12.0, 13.0]), np.radians(24.0))), 20e5
    )
    assert -0.03 < cycle.peak_pressure[1] / cycle.peak_pressure[0] - 1 < -0.01


def test_lanes_equal_single_runs_and_chunks_join():
    """Identity: 5,000 lanes at once (two chunks) equal chosen lanes alone."""
    lanes = 5000
    speed, lam = np.linspace(1000, 9000, lanes) * RPM, np.linspace(0.75, 1.2, lanes)
    closing = np.radians(np.linspace(-150, -110, lanes))
    burn = wiebe(np.radians(np.linspace(5, 30, lanes)), np.radians(24.0))
    target = np.linspace(5e5, 35e5, lanes)
    together = closed_cycle_at_imep(
        spark(speed=speed, lambda_=lam, burn=burn, intake_closing=closing),
        target,
        step=np.radians(2),
        keep_trace=False,
        functionals={"hottest": lambda trace: trace.temperature.max(axis=0)},
    )
    assert together.trace is None
    for lane in (0, 4095, 4096, 4999):
        alone = closed_cycle_at_imep(
            spark(
                speed=speed[lane],
                lambda_=lam[lane],
                burn=burn.lane(slice(lane, lane + 1)),
                intake_closing=closing[lane],
            ),
            target[lane],
            step=np.radians(2),
        )
        assert together.peak_pressure[lane] == pytest.approx(alone.peak_pressure[0], rel=3e-6)
        assert together.functionals["hottest"][lane] == pytest.approx(
            alone.kept.temperature.max(), rel=3e-6
        )


@pytest.mark.parametrize("make", [spark, compression])
@pytest.mark.parametrize("degrees", [1, 4])
def test_every_corner_of_a_wide_domain_closes(make, degrees):
    """First law over 600 random cycles far beyond use: finite, energy closed to 0.1 %, imep met."""
    rng, n = np.random.default_rng(11), 600
    spread = lambda low, high: rng.uniform(low, high, n)  # noqa: E731
    is_spark = make is spark
    ca50, burn = np.radians(spread(-5, 45)), np.radians(spread(8, 60))
    target = spread(2e5, 22e5)
    cycle = closed_cycle_at_imep(
        make(
            speed=spread(600, 11000) * RPM,
            lambda_=spread(0.65, 1.5) if is_spark else spread(1.15, 4),
            residual_fraction=spread(0, 0.2),
            heat_loss_scale=spread(0, 2),
            wall_temperature=spread(350, 600),
            trapped_temperature=spread(290, 420),
            geometry=CylinderGeometry(
                bore=spread(0.06, 0.12),
                stroke=spread(0.06, 0.12),
                rod_length=spread(0.13, 0.2),
                compression_ratio=spread(7, 15) if is_spark else spread(13, 22),
            ),
            intake_closing=np.radians(spread(-160, -100)),
            exhaust_opening=np.radians(spread(100, 170)),
            burn=wiebe(ca50, burn) if is_spark else double_wiebe(ca50, burn, spread(0, 0.75)),
        ),
        target,
        step=np.radians(degrees),
    )
    assert np.isfinite(cycle.kept.pressure).all()
    assert np.isfinite(cycle.kept.unburned_temperature).all()
    assert np.max(np.abs(cycle.energy_residual)) < 1e-3
    assert np.allclose(cycle.imep_gross, target, rtol=1e-6)


def test_trace_not_kept():
    """Identity: the same numbers, and a clear error for the trace."""
    kept, light = (closed_cycle(spark(), 2e5, keep_trace=keep) for keep in (True, False))
    assert light.peak_pressure[0] == kept.peak_pressure[0]
    with pytest.raises(InputError, match="keep_trace"):
        _ = light.kept
    with pytest.raises(InputError, match="up to 4,096 lanes, but 5,000"):
        closed_cycle(spark(), np.full(5000, 2e5))


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"speed": 0.0}, "speed"),
        ({"trapped_temperature": 100.0}, "trapped_temperature"),
        ({"completeness": 1.2}, "completeness"),
        ({"intake_closing": 0.5}, "intake_closing"),
        ({"burn": wiebe(np.radians(-100.0), np.radians(60.0))}, "start of burning"),
        ({"exhaust_pressure": -1.0}, "exhaust_pressure"),
    ],
)
def test_bad_inputs_are_refused(change, name):
    """Identity: the error names the input."""
    with pytest.raises(OutOfRangeError, match=name):
        spark(**change)


def test_gas_beyond_its_data_is_refused():
    """Identity: a charge hotter than the data is an error, never an extrapolation."""
    with pytest.raises(OutOfRangeError, match="temperature"):
        closed_cycle(
            spark(
                trapped_temperature=900.0,
                dissociation=False,
                lambda_=1.0,
                heat_loss_scale=0.0,
                burn=wiebe(0.0, np.radians(5.0)),
                geometry=CylinderGeometry(
                    bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=20.0
                ),
            ),
            2e5,
        )
