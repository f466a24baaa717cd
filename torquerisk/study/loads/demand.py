"""What torque asks of the parts: torque -> mean pressures -> cylinder pressure -> forces.

Everything is an array over speed (S), draw (N) and load row (I), where the rows are the fixed gross
IMEPs of the response surface. A limit reads its load from here; solving load = strength along the
rows and reading torque off at that place gives the capacity torque.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import gas_exchange, mean_pressure, phasing, spread
from torquerisk.physics.cylinder.burn_duration import FLAME_DEVELOPMENT_WITH_DURATION
from torquerisk.physics.cylinder.knock import OCTANE_EXPONENT, knock_threshold
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque, torque_from_bmep
from torquerisk.physics.running_gear.slider_crank import piston_acceleration
from torquerisk.quantities import DEGREE, RPM, Array
from torquerisk.study.cycle import (
    cylinder,
    diesel_tables,
    response_tables,
    spark_tables,
    table_grid,
)
from torquerisk.study.draws import spreads
from torquerisk.study.draws.cylinder_draws import CylinderDraws, cylinder_draws
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.loads import injection, manifold, part_load
from torquerisk.study.loads.cycles_spent import cycles_per_speed
from torquerisk.study.loads.load_rows import ALL_ROWS
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.loads.past_run import later_past_run, with_a_row
from torquerisk.study.run.operating_state import Operating, PhasingSource, octane_counts_more

EARLIEST_BEFORE_BEST = 7 * DEGREE
"""Nobody gains from phasing earlier than best torque, but a logged advance may say so: from there
on it is the burn model that is wrong (practice)."""
LATEST_SANE_CA50 = 36 * DEGREE
"""Nobody tunes later than this: exhaust heat, misfire (common practice, no source)."""
FRICTION_PRESSURES = (1e5, 30e6)
"""Peak pressures between which the friction correlations are asked [Pa]."""
NO_KNOCK = -50.0
"""Logarithm of a knock integral that is none."""
BLOCK = 2048
"""Draws worked on at once with all load rows: enough that calls cost little beside the work."""
HIGHEST_COV = 0.25
"""Cyclic spread of peak pressure beyond which no engine is held at (common practice)."""
_POOL = ThreadPoolExecutor(max_workers=2)
"""Works on blocks; its threads are started once."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Demand:
    """Loads by speed (S), draw (N) and load row (I). SI."""

    speed: Array
    """(S,) [rad/s]."""
    spec: cylinder.CylinderSpec
    """The cylinder whose response surface this is read from."""
    state: Operating
    torque: Array
    """Crank torque that a row stands for (S, N, I) [N*m]; rising along I."""
    rows: slice
    """Which load rows of the response surface these are."""
    imep: Array
    """(S, I) [Pa]."""
    ca50: Array
    """(S, N, I) [rad]."""
    peak: Array
    """Mean-cycle peak pressure (S, N, I) [Pa]."""
    worst: Array
    """Peak of the worst normal cycle of the strongest cylinder in all pulls (S, N, I) [Pa]."""
    knock_excess: Array
    """Logarithm of the knock integral over its threshold (S, N, I); NO_KNOCK without a spark."""
    knock_limited_ca50: Array
    """Earliest CA50 without audible knock (S, N, I) [rad]; the latest column where none is, and
    with compression ignition, where it means nothing."""
    cycles: Array
    """Cycles of one cylinder spent about each speed in all pulls (S,)."""
    pulls: int
    strongest: Array
    """Mean peak pressure of the strongest cylinder over that of all (N,) [-]."""
    acceleration_share: Array
    """Piston acceleration at the peak angle over r w^2 (S, N, I)."""

    def take(self, index: npt.NDArray[np.intp]) -> "Demand":
        """The loads of some of the draws."""
        some = {name: getattr(self, name)[:, index] for name in _FIELDS}
        return replace(self, strongest=self.strongest[index], **some)

    def in_one_pull(self) -> "Demand":
        """The same engines in one pull instead of all: fewer cycles, so a milder worst one."""
        if self.pulls == 1:
            return self
        cycles = self.cycles / self.pulls
        milder = spread.median_maximum(cycles) / spread.median_maximum(self.cycles)
        mean = self.peak * self.strongest[:, None]
        worst = mean + (self.worst - mean) * np.asarray(milder)[:, None, None]
        return replace(self, worst=worst, cycles=cycles, pulls=1)


def demand(
    engine: Engine,
    state: Operating,
    draws: Draws,
    reading_sd: Array,
    pulls: int = 1,
    rows: slice = ALL_ROWS,
    fastest: float = 0.0,
) -> Demand:
    """Loads of an engine in a state, for every draw and load row.

    reading_sd: relative standard deviation of the torque scale (S,). pulls: sweeps that there are.
    rows: load rows wanted, see `rows_about`. fastest: speed of the run that these speeds are some
    of, where it is higher: so they share its response surface [rad/s].
    """
    spec = cylinder_spec(engine, state.ethanol_share, max(fastest, float(state.speed.max())))
    if state.speed.min() < spec.speed_low or state.speed.max() > spec.speed_high * (1 + 1e-9):
        raise InputError(
            f"the run covers {state.speed.min() / RPM:.0f} to "
            f"{state.speed.max() / RPM:.0f} rpm, but the model holds from "
            f"{spec.speed_low / RPM:.0f} to {spec.speed_high / RPM:.0f} rpm; cut the "
            "run there."
        )
    fitted = response_tables.fit_surface(spec)
    lanes = cylinder_draws(engine, draws)
    counts = pulls * cycles_per_speed(engine, state.speed)
    work = _Work(engine, fitted, state, lanes, reading_sd, counts, rows)
    shape = (len(state.speed), draws.count, work.imep.shape[1])
    out = {name: np.empty(shape) for name in _FIELDS}
    block = BLOCK * table_grid.IMEP_NODES // shape[2]
    blocks = [
        (s, slice(start, min(start + block, draws.count)))
        for s in range(len(state.speed))
        for start in range(0, draws.count, block)
    ]
    list(_POOL.map(lambda one: work.fill(one[0], one[1], out), blocks))
    return Demand(speed=state.speed, spec=spec, state=state, rows=rows, imep=work.imep,
                  cycles=counts, pulls=pulls, strongest=work.strongest, **out)  # fmt: skip


_FIELDS = (
    "torque",
    "ca50",
    "peak",
    "worst",
    "knock_excess",
    "knock_limited_ca50",
    "acceleration_share",
)


class _Work:
    """One assessment's constants, and the loads of one speed at a time."""

    def __init__(
        self,
        engine: Engine,
        fitted: response_tables.Surface,
        state: Operating,
        lanes: CylinderDraws,
        reading_sd: Array,
        cycles: Array,
        rows: slice,
    ) -> None:
        self.engine, self.spec, self.state, self.lanes = engine, fitted.spec, state, lanes
        self.reading_sd = reading_sd
        self.tables = fitted.at_speeds(state.speed)[:, :, :, rows]
        self.spark = not engine.compression_ignition
        self.premixed = None if self.spark else fitted.premixed_at_speeds(state.speed)[:, rows]
        imep = table_grid.imep_nodes()[rows]
        self.imep = np.broadcast_to(imep, (len(state.speed), len(imep)))
        logged = state.phasing_source is PhasingSource.IGNITION_ADVANCE
        self.logged_at = state.phased_to if logged else None
        if self.logged_at is not None:
            bmep = bmep_from_torque(self.logged_at, engine.swept_volume_total)
            self.tables, self.imep = with_a_row(self.tables, imep, bmep)
        self.rows = np.arange(self.imep.shape[1])
        rough = cylinder.brake_estimate(self.imep)
        self.pmep = manifold.pumping(engine, state, rough)
        if self.spark:
            rise = manifold.excess_heating(engine, state, rough)
            self.tables = np.stack(
                [spark_tables.warmed(table, r) for table, r in zip(self.tables, rise, strict=True)]
            )
        self.pmep_sd = np.hypot(
            gas_exchange.PMEP_ABSOLUTE_SD, gas_exchange.PMEP_RELATIVE_SD * self.pmep
        )
        self.piston_speed = manifold.piston_speed(engine, state.speed)
        cylinder_sd = (
            spread.CYLINDER_SD_PEAK_SPARK if self.spark else spread.CYLINDER_SD_PEAK_COMPRESSION
        )
        expected = float(spread.expected_maximum(float(engine.cylinders)))
        self.strongest = 1 + cylinder_sd * expected * lanes.cylinders
        self.extreme = np.asarray(spread.median_maximum(cycles))
        self._later = np.broadcast_to(state.later, np.shape(state.speed))
        octane = state.octane + state.octane_sd * lanes.octane_z
        octane += lanes.sensitivity_weight * octane_counts_more(state.ethanol_share)
        self.cooling = manifold.evaporation_beyond_petrol(
            state.ethanol_share, state.lambda_, engine.compression_ignition
        )
        self.log_octane = OCTANE_EXPONENT * np.log(octane / 100.0)
        self.cov = [self._cov_table(load) for load in rough]

    def fill(self, s: int, part: slice, out: dict[str, Array]) -> None:
        """Put the loads of speed s and of some draws into the arrays."""
        lanes = self.lanes.take(part)
        table = self.tables[s]
        groups = self._coordinates(s, lanes)
        terms = spark_tables.other_terms(groups[0][1]) if self.spark else None
        threshold = self._log_threshold(s, lanes)[:, None]
        knock, limited = None, np.full((lanes.count, len(self.rows)), self.spec.ca50_range[1])
        if terms is not None:
            knock = table_grid.collapse(table[3], terms) - self.log_octane[part, None, None]
            limited = table_grid.ca50_where(
                self.spec, knock, np.broadcast_to(threshold, knock.shape[:2])
            )
        if self.spark or self.state.ca50 is not None:
            ca50 = self._ca50(s, limited, lanes)
        else:
            ca50 = self._injected_ca50(s, groups, lanes)
        if np.any(self._later[s]):
            ca50 = np.clip(ca50 + self._later[s], *self.spec.ca50_range)
        collapsed = None if terms is None else table_grid.collapse(table[0], terms)

        def at(ca50: Array) -> tuple[npt.NDArray[np.intp], Array, Array, Array]:
            column, share = table_grid.place(self.spec, ca50)
            if collapsed is not None:
                peak = np.exp(table_grid.look_up(collapsed, column, share))
            else:
                peak = self._diesel_peak(s, groups, lanes, column, share)
            peak *= lanes.peak_model[:, None]
            return column, share, peak, self._torque(s, peak, lanes)

        column, share, peak, torque = at(ca50)
        if self.logged_at is not None:
            at_run = float(self.logged_at[s])
            past = later_past_run(ca50, limited, self.imep[s], lanes.best_phasing, torque, at_run)
            if past.any():
                ca50 = ca50 + past
                column, share, peak, torque = at(ca50)
        excess = np.full_like(peak, NO_KNOCK)
        if knock is not None:
            excess = table_grid.look_up(knock, column, share) - threshold
        relief = acceleration_share(self.engine, table[1, 0])
        cov = _from_middle(self.cov[s], self.rows, column, share) * lanes.cyclic[:, None]
        spread_up = 1 + np.minimum(cov, HIGHEST_COV) * self.extreme[s]
        out["torque"][s, part] = torque
        out["ca50"][s, part] = ca50
        out["peak"][s, part] = peak
        out["worst"][s, part] = peak * self.strongest[part, None] * spread_up
        out["knock_excess"][s, part] = excess
        out["knock_limited_ca50"][s, part] = limited
        out["acceleration_share"][s, part] = _from_middle(relief, self.rows, column, share)

    def _torque(self, s: int, peak: Array, lanes: CylinderDraws) -> Array:
        """Crank torque as the dyno reads it (N, I) [N*m], rising along the rows."""
        pmep = self.pmep[s] + self.pmep_sd[s] * lanes.pumping_z[:, None]
        bmep = self.imep[s] - self._friction(s, peak, lanes) - pmep
        scale = np.exp(self.reading_sd[s] * lanes.reading_z)
        torque = torque_from_bmep(bmep, self.engine.swept_volume_total)
        return np.asarray(np.maximum.accumulate(torque, axis=-1) / scale[:, None])

    def _diesel_peak(
        self,
        s: int,
        groups: list[tuple[slice, Array]],
        lanes: CylinderDraws,
        column: npt.NDArray[np.intp],
        share: Array,
    ) -> Array:
        """Mean-cycle peak pressure (N, I) [Pa] with compression ignition, before its spread."""
        assert self.premixed is not None
        peak = diesel_tables.log_peak(
            self.tables[s], self.premixed[s], groups, lanes.log_injected, column, share
        )
        least = part_load.least_peak(self.engine, self.spec, self.state, s)
        return np.maximum(np.exp(peak), least)

    def _injected_ca50(
        self, s: int, groups: list[tuple[slice, Array]], lanes: CylinderDraws
    ) -> Array:
        """Phasing judged at (N, I) [rad] of a diesel whose CA50 is not known: see `injection`."""
        assert self.premixed is not None
        imep = self.imep[s]
        known = injection.known_imep(self.state, s)
        rows = injection.judged_rows(imep, known)
        speed = float(self.state.speed[s])
        free = injection.unlimited(self.spec, speed, imep, known, lanes.phasing_z[0])
        peak = diesel_tables.log_peak(
            self.tables[s][:, :, rows],
            self.premixed[s][rows],
            injection.rows_of(groups, rows),
            lanes.log_injected,
            *table_grid.place(self.spec, free[:, rows]),
        )
        limit = injection.limits(self.engine, imep[rows], known, lanes.peak_limit)
        over = peak + np.log(lanes.peak_model[:, None] / limit)
        return injection.held(self.spec, speed, imep, known, free, over, rows)

    def _coordinates(self, s: int, lanes: CylinderDraws) -> list[tuple[slice, Array]]:
        """Coordinates (N, 5) of what else varies, by load rows that share a lambda, by load."""
        state, spec = self.state, self.spec
        wanted = part_load.lambda_wanted(self.engine, spec, state, s, self.imep[s])
        by_row = np.clip(wanted, *spec.lambda_range) if np.ptp(wanted) else wanted
        starts = [0, *(np.flatnonzero(np.diff(by_row)) + 1)]
        ends = [*starts[1:], len(by_row)]
        return [
            (slice(a, b), self._coordinates_at(s, lanes, float(by_row[a])))
            for a, b in zip(starts, ends, strict=True)
        ]

    def _coordinates_at(self, s: int, lanes: CylinderDraws, middle: float) -> Array:
        state, spec = self.state, self.spec
        temperature = state.intake_temperature[s] + lanes.heating
        temperature = temperature - self.cooling[s] * lanes.evaporated
        temperature = temperature + state.intake_temperature_sd * lanes.temperature_z
        lambda_ = middle * np.exp(state.lambda_sd * lanes.lambda_z)
        return table_grid.other_coordinates(
            spec,
            temperature=np.clip(temperature, *cylinder.TRAPPED_TEMPERATURES),
            lambda_=np.clip(lambda_, *spec.lambda_range),
            **lanes.other,
        )

    def _ca50(self, s: int, limited: Array, lanes: CylinderDraws) -> Array:
        """Phasing judged at (N, I) [rad]: from the most trusted source there is."""
        state = self.state
        low, high = self.spec.ca50_range
        z = lanes.phasing_z[0][:, None]
        if state.ca50 is not None:
            error = lanes.ca50_reading[:, None]
            return np.clip(state.ca50[s] + error + np.zeros_like(limited), low, high)
        best = lanes.best_phasing[:, None]
        z = phasing.along_speed(state.speed[s], *lanes.phasing_z)[:, None]
        if state.ignition_advance is not None:
            inferred, spread_here = self._from_advance(s, lanes)
            earliest = best - EARLIEST_BEFORE_BEST
            return np.clip(np.maximum(inferred + spread_here * z, earliest), low, high)
        drift = spreads.PHASING[PhasingSource.ASSUMED].sd * z
        return np.clip(phasing.assumed_ca50_spark(limited, self.imep[s], best, drift), low, high)

    def _log_threshold(self, s: int, lanes: CylinderDraws) -> Array:
        """Logarithm of the knock integral at audible knock (N,), at speed s."""
        middle = np.exp(lanes.log_threshold)
        return np.log(knock_threshold(self.state.speed[s], middle, lanes.threshold_exponent))

    def _from_advance(self, s: int, lanes: CylinderDraws) -> tuple[Array, Array]:
        """CA50 from ignition advance (N, I) and its spread (I,) at the draws' burn rates [rad].

        Where CA50 beside an advance told the burn, its own reading error is all that is left.
        """
        state = self.state
        assert state.ignition_advance is not None
        load = cylinder.brake_estimate(self.imep[s])
        start, length = cylinder.burn_timing(self.spec, state.speed[s], load, state.lambda_[s])
        advance = float(state.ignition_advance[s])
        if state.burns_later is not None:
            middle = phasing.ca50_from_ignition_advance(advance, start, length)
            measured = middle + state.burns_later[s] + lanes.ca50_reading[:, None]
            return measured, np.zeros_like(load)
        slow = lanes.other["burn_factor"][:, None]
        middle = phasing.ca50_from_ignition_advance(
            advance, start * slow**FLAME_DEVELOPMENT_WITH_DURATION, length * slow
        )
        return np.asarray(middle), np.asarray(phasing.ca50_from_ignition_advance_sd(start, length))

    def _friction(self, s: int, peak: Array, lanes: CylinderDraws) -> Array:
        pressure = np.clip(peak, *FRICTION_PRESSURES)
        model = mean_pressure.fmep_spark if self.spark else mean_pressure.fmep_compression_ignition
        return np.asarray(model(pressure, self.piston_speed[s])) * lanes.friction[:, None]

    def _cov_table(self, bmep: Array) -> Array:
        """Median cyclic spread of peak pressure by load row and CA50 column (I, J) [-]."""
        ca50 = table_grid.ca50_nodes(self.spec)
        if not self.spark:
            return np.full((len(bmep), len(ca50)), spread.COV_PEAK_COMPRESSION)
        return np.asarray(spread.cov_peak_pressure_spark(ca50[None, :], bmep[:, None]))


def acceleration_share(engine: Engine, angle: Array) -> Array:
    """Exact piston acceleration over r w^2 at crank angles [-]; 1 + r/l at TDC."""
    value = piston_acceleration(angle=angle, angular_speed=1.0, **engine.crank)
    return np.asarray(value) / (engine.stroke / 2)


def _from_middle(
    table: Array, rows: npt.NDArray[np.int_], column: npt.NDArray[np.intp], share: Array
) -> Array:
    """Metric (N, I) from a table (I, J) whose other effects are left out."""
    at = rows * table.shape[1] + column
    below, above = table.take(at), table.take(at + 1)
    return below + share * (above - below)
