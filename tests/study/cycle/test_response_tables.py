import dataclasses
import math

import numpy as np
import pytest

from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.physics.cylinder.knock import livengood_wu_integral
from torquerisk.study.cycle import (
    cylinder,
    diesel_tables,
    response_tables,
    spark_tables,
    table_grid,
)
from torquerisk.study.cycle.cylinder import CylinderSpec

DEG, RPM = math.pi / 180, math.pi / 30

SPARK = CylinderSpec(
    bore=0.082,
    stroke=0.085,
    rod_length=0.144,
    pin_offset=0.0,
    compression_ratio=9.6,
    compression_ignition=False,
    ethanol_share=0.3,
    burn_duration=None,
    residual_fraction=0.04,
    intake_closing=-132 * DEG,
    exhaust_opening=135 * DEG,
    speed_low=700 * RPM,
    speed_high=9000 * RPM,
)
FAST = dataclasses.replace(
    SPARK,
    bore=0.067,
    stroke=0.0425,
    rod_length=0.091,
    compression_ratio=12.8,
    speed_high=16000 * RPM,
)
DIESEL = CylinderSpec(
    bore=0.096,
    stroke=0.102,
    rod_length=0.158,
    pin_offset=0.0,
    compression_ratio=16.5,
    compression_ignition=True,
    ethanol_share=0.0,
    burn_duration=None,
    residual_fraction=0.04,
    intake_closing=-145 * DEG,
    exhaust_opening=135 * DEG,
    speed_low=700 * RPM,
    speed_high=6000 * RPM,
)
LARGE_DIESEL = dataclasses.replace(
    DIESEL,
    bore=0.108,
    stroke=0.130,
    rod_length=0.210,
    compression_ratio=18.0,
    cetane=44.0,
    residual_fraction=0.05,
    intake_closing=-150 * DEG,
)
GIVEN_BURN_DIESEL = dataclasses.replace(
    DIESEL,
    bore=0.076,
    stroke=0.081,
    rod_length=0.140,
    compression_ratio=15.5,
    cetane=56.0,
    intake_closing=-138 * DEG,
    burn_duration=30 * DEG,
)


def _population(spec: CylinderSpec, count: int = 1200, row: int | None = None) -> dict:
    """Cycles as an assessment draws them; row: one load row, or any within the usual loads."""
    rng = np.random.default_rng(11)
    rows = table_grid.imep_nodes()
    low, high = (6e5, 42e5) if not spec.compression_ignition else (8e5, 32e5)
    usable = np.flatnonzero((rows > low) & (rows < high)) if row is None else [row]
    z = rng.standard_normal((count, 6)).clip(-2.5, 2.5)
    middle, sd = (17, 6.5) if not spec.compression_ignition else (11, 4)
    lambda_ = (0.86 if not spec.compression_ignition else 1.5) * np.exp(0.05 * z[:, 4])
    speeds = np.array([1400.0, 2600, 4100, 6200] if not spec.compression_ignition
                      else [1300.0, 2000, 3000, 4300])  # fmt: skip
    chosen = rng.choice(usable, count)
    return {
        "row": chosen,
        "ca50": (middle + sd * z[:, 5]) * DEG,
        "burn": np.exp(0.18 * z[:, 0]),
        "ratio": np.exp(0.01 * z[:, 1]),
        "temperature": 345.0 + 12.0 * z[:, 2],
        "heat": np.exp(0.2 * z[:, 3]),
        "lambda": lambda_,
        "injected": np.exp(0.28 * rng.standard_normal(count).clip(-2.5, 2.5)),
        "speed": np.repeat(speeds, count // 4) * RPM,
    }


def _direct(spec: CylinderSpec, p: dict[str, np.ndarray], keep_trace: bool = False):
    imep = table_grid.imep_nodes()[p["row"]]
    duration = cylinder.burn_duration(spec, p["speed"], imep, p["lambda"], p["ca50"]) * p["burn"]
    inputs = cylinder.cycle_inputs(
        spec,
        speed=p["speed"],
        imep=imep,
        ca50=p["ca50"],
        duration=duration,
        lambda_=p["lambda"],
        trapped_temperature=p["temperature"],
        ratio=spec.compression_ratio * p["ratio"],
        heat_loss_scale=p["heat"],
        injected_factor=p["injected"],
    )
    return closed_cycle_at_imep(inputs, imep, keep_trace=keep_trace)


def _coordinates(spec: CylinderSpec, p: dict[str, np.ndarray]) -> np.ndarray:
    return table_grid.other_coordinates(
        spec,
        burn_factor=p["burn"],
        ratio_factor=p["ratio"],
        temperature=p["temperature"],
        heat=p["heat"],
        lambda_=p["lambda"],
    )


def _from_surface(spec: CylinderSpec, p: dict[str, np.ndarray], metric: int = 0) -> np.ndarray:
    """A metric of spark, or of a diesel (whatever the metric) the logarithm of peak pressure."""
    speeds = np.unique(p["speed"])
    fitted = response_tables.fit_surface(spec)
    tables, z = fitted.at_speeds(speeds), _coordinates(spec, p)
    result = np.empty(len(p["speed"]))
    for k, speed in enumerate(speeds):
        mine = p["speed"] == speed
        column, share = table_grid.place(
            spec, np.repeat(p["ca50"][mine, None], table_grid.IMEP_NODES, axis=1)
        )
        if spec.compression_ignition:
            premixed, factor = fitted.premixed_at_speeds(speeds)[k], np.log(p["injected"][mine])
            groups = [(slice(None), z[mine])]
            values = diesel_tables.log_peak(tables[k], premixed, groups, factor, column, share)
        else:
            collapsed = table_grid.collapse(tables[k, metric], spark_tables.other_terms(z[mine]))
            values = table_grid.look_up(collapsed, column, share)
        result[mine] = values[np.arange(mine.sum()), p["row"][mine]]
    return result


def _points_are_near(spec: CylinderSpec, p: dict[str, np.ndarray], within: float) -> None:
    """The 5, 50 and 95 % points of peak at every speed are those of direct cycles."""
    direct, fitted = _direct(spec, p).peak_pressure, np.exp(_from_surface(spec, p))
    for speed in np.unique(p["speed"]):
        mine = p["speed"] == speed
        points = [np.quantile(x[mine], [0.05, 0.5, 0.95]) for x in (direct, fitted)]
        assert points[1] == pytest.approx(points[0], rel=within)


@pytest.mark.slow
@pytest.mark.parametrize("row", [6, 8, 10], ids=["9 bar", "14 bar", "24 bar"])
@pytest.mark.parametrize("spec", [SPARK, DIESEL], ids=["spark", "diesel"])
def test_points_of_the_band_against_direct_cycles(spec: CylinderSpec, row: int) -> None:
    """Direct integration is the reference: 5, 50 and 95 % points of peak within 0.3 %.

    1,200 cycles a speed: of 300 an end point moves by that much with one cycle's error.
    """
    _points_are_near(spec, _population(spec, count=4800, row=row), 3e-3)


@pytest.mark.slow
@pytest.mark.parametrize("row", [6, 8, 10], ids=["9 bar", "14 bar", "24 bar"])
def test_points_of_the_band_of_an_engine_to_16_000_rpm(row: int) -> None:
    """Direct integration is the reference: within 0.3 %, with as many nodes over a wider span.

    4,800 cycles a speed: of 1,200 the 5 % point at 9 bar is 0.4 % out with a table to 9,000 rpm
    too, which is 0.06 % of 4,800.
    """
    speeds = np.array([2600.0, 6200, 10000, 14000, 15900])
    p = _population(FAST, count=4800 * len(speeds), row=row)
    _points_are_near(FAST, {**p, "speed": np.repeat(speeds, 4800) * RPM}, 3e-3)


@pytest.mark.slow
@pytest.mark.parametrize("row", [4, 5], ids=["5 bar", "7 bar"])
def test_points_of_the_band_of_a_lightly_loaded_diesel(row: int) -> None:
    """Direct integration is the reference: within 0.3 %.

    There the premixed share leaves its floor within its spread, and whether compression or burning
    sets the peak hangs on it.
    """
    _points_are_near(DIESEL, _population(DIESEL, row=row), 3e-3)


@pytest.mark.slow
@pytest.mark.parametrize(
    "row", [4, 5, 6, 8, 10], ids=["5 bar", "7 bar", "9 bar", "14 bar", "24 bar"]
)
@pytest.mark.parametrize("spec", [LARGE_DIESEL, GIVEN_BURN_DIESEL], ids=["large", "given burn"])
def test_points_of_the_band_of_other_diesels(spec: CylinderSpec, row: int) -> None:
    """Direct integration is the reference: within 0.3 %, of other engines than the one tuned on.

    Of 1,024 cycles a speed, as many as an assessment draws: with 300 the points hang on single
    cycles, whose own peaks of a parabola through three nodes are up to 0.5 % out.
    """
    _points_are_near(spec, _population(spec, 4096, row=row), 3e-3)


@pytest.mark.slow
@pytest.mark.parametrize("row", [4, 5, 6], ids=["5 bar", "7 bar", "9 bar"])
@pytest.mark.parametrize("spec", [DIESEL, LARGE_DIESEL], ids=["diesel", "large"])
def test_points_of_the_band_of_an_unthrottled_diesel(spec: CylinderSpec, row: int) -> None:
    """Direct integration is the reference: within 0.5 % at a lambda of 2.2 (regression: 0.42).

    Where neither lambda nor boost is logged, part load breathes freely. That is two steps of lambda
    from the middle of the tables, and compression sets the peak of late burns.
    """
    p = _population(spec, 4096, row=row)
    _points_are_near(spec, {**p, "lambda": p["lambda"] * (2.2 / 1.5)}, 5e-3)


@pytest.mark.slow
def test_single_cycles_of_a_spark_engine_stay_near_direct_ones() -> None:
    """Direct integration is the reference: half of all cycles within 0.15 %, 95 % within 0.6 %."""
    p = _population(SPARK)
    error = np.abs(np.exp(_from_surface(SPARK, p, 0)) / _direct(SPARK, p).peak_pressure - 1)
    assert np.quantile(error, 0.5) < 1.5e-3
    assert np.quantile(error, 0.95) < 6e-3


@pytest.mark.slow
def test_knock_integral_against_direct_cycles() -> None:
    """Direct Livengood-Wu integrals are the reference: 95 % within 1 %."""
    p = _population(SPARK, 400)
    trace = _direct(SPARK, p, keep_trace=True).kept
    near = np.abs(trace.angle) < spark_tables.KNOCK_WINDOW
    direct = livengood_wu_integral(
        trace.angle[near],
        trace.pressure[near],
        trace.unburned_temperature[near],
        p["speed"],
        100.0,
        trace.burned_fraction[near] / cylinder.completeness_of(SPARK),
    )
    error = np.abs(np.exp(_from_surface(SPARK, p, 3)) / direct - 1)
    assert np.quantile(error, 0.95) < 1e-2


def test_ca50_where_inverts_the_look_up() -> None:
    """Identity: the metric read back at the CA50 found is the target."""
    tables = response_tables.fit_surface(SPARK).at_speeds(np.array([3000 * RPM]))
    knock = table_grid.collapse(tables[0, 3], spark_tables.other_terms(np.zeros((3, 5))))
    target = np.broadcast_to(knock[:, :, 6:8].mean(axis=-1), knock.shape[:2])
    ca50 = table_grid.ca50_where(SPARK, knock, target)
    back = table_grid.look_up(knock, *table_grid.place(SPARK, ca50))
    assert back == pytest.approx(target, rel=1e-9, abs=1e-9)


def test_surface_does_not_depend_on_the_run() -> None:
    """Identity: the same cylinder gives the same tables, bit for bit, from the cache or anew."""
    first = response_tables.fit_surface(SPARK).tables
    response_tables.fit_surface.cache_clear()
    assert np.array_equal(first, response_tables.fit_surface(SPARK).tables)


def test_late_burn_lowers_peak_pressure_and_knock() -> None:
    """Metamorphic: at equal work a later burn has a lower peak (until compression sets it)."""
    tables = response_tables.fit_surface(SPARK).at_speeds(np.array([3000 * RPM]))[0]
    peak, knock = tables[0, 0], tables[3, 0]
    assert np.all(np.diff(peak[5:, :9], axis=1) < 0)
    assert np.all(np.diff(knock, axis=1) < 0)


def test_a_warmed_table_is_the_table_of_a_warmer_charge() -> None:
    """Identity: rows warmed by so much read at the middle what the table reads that much warmer."""
    table = response_tables.fit_surface(SPARK).tables[2]
    rise = np.linspace(-20.0, 40.0, table.shape[2])
    z = np.array([[0.4, -0.3, 0.2, 0.5, -0.6]])
    moved = table_grid.collapse(spark_tables.warmed(table, rise)[0], spark_tables.other_terms(z))[0]
    for row, kelvin in enumerate(rise):
        warmer = z + np.array([[0.0, 0.0, kelvin / 25.0, 0.0, 0.0]])
        there = table_grid.collapse(table[0], spark_tables.other_terms(warmer))[0]
        assert moved[row] == pytest.approx(there[row], abs=1e-12)
