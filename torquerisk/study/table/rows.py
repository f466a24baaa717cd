"""The rows of a torque-limit table: what governs each, its chance, its phasing, its boost."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Notice, Policy
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.cylinder import phasing
from torquerisk.physics.cylinder.mean_pressure import torque_from_bmep
from torquerisk.physics.supply.charge import (
    PRESSURE_FOR_TORQUE_RELATIVE_SD,
    manifold_pressure_for_torque,
)
from torquerisk.quantities import Array
from torquerisk.study.assessment.assess import accepted_rank
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limit_curve.ask import Binding, Shape
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.limits import Limit, place_of, quiet_ca50, quiet_later
from torquerisk.study.loads.demand import LATEST_SANE_CA50
from torquerisk.study.table.finer_grid import (
    binding_capacity,
    failing_at,
    governed_at,
    index_of,
    state_at,
)
from torquerisk.study.table.phasing_window import Quiet, Window, windows
from torquerisk.study.table.proof import Proof

PRESSURE_TRUSTED_WITHIN = 0.30
"""Share by which a manifold pressure may leave the run's at that speed, as its spread supposes."""


COARSE_STEP = 0.02
"""Step of the table over the largest torque measured above which it is called coarse [-]: about the
error of a dyno."""


@dataclass(frozen=True, kw_only=True)
class PressureTarget:
    """Manifold pressure that gives a row's limit at unchanged phasing, from the run [Pa]."""

    value: float
    sd: float
    low: float
    """Within low and high the proportion may be trusted: 30 % about the run's own pressure at that
    speed, and not above the highest that it logged anywhere."""
    high: float
    ambient: float
    """At the dyno [Pa]."""

    @property
    def boost(self) -> float:
        """Over ambient, as a gauge tells it [Pa]."""
        return self.value - self.ambient

    @property
    def trusted(self) -> bool:
        """True within the trusted range."""
        return self.low <= self.value <= self.high


@dataclass(frozen=True, kw_only=True)
class Retard:
    """Later phasing that gives a row's limit at the run's own manifold pressure. SI."""

    ca50_later: float
    """[rad]; 0 where the run made no more than the limit."""
    sd: float
    """From the spread of the efficiency curve [rad]."""
    ca50: float
    """Phasing that comes of it [rad after firing TDC]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitRow(Window):
    """One breakpoint of the table. SI. Beyond the run nothing is judged: chance, spare and phasing
    are None there, and `later` is empty."""

    speed: float
    limit: float
    made: float | None
    """What the engine can make there [N*m]; None for open."""
    governing: str
    """Limit with the least capacity torque at this speed, or at the one where the ceiling holds the
    row; beyond the run, at the run's end."""
    held_by: str
    """What keeps the row from being a step higher: ceiling, rise, reach ..."""
    held_at: float
    """Speed where it does [rad/s]: the row's own, or one between it and the next row."""
    chance: float | None
    """Chance that any strength limit is passed at this speed and limit [-]."""
    knock_chance: float | None
    """Share of simulated engines that knock at this limit with the ignition asked for [-]; None
    with compression ignition."""
    abnormal_chance: float | None
    """Chance of a heavy knock or pre-ignition near this speed in one pull at the limit, with the
    ignition asked for, that passes what head or rod carries [-], order of magnitude; None with
    compression ignition."""
    spare: float | None
    """Capacity torque at the accepted chance less the limit [N*m]; may be infinite."""
    sampling_error: float | None
    """Standard error of the torque at the accepted chance, of so many engines [N*m]; may be
    infinite."""
    ca50: float | None
    """Phasing that the row was judged at, median [rad]."""
    knock_later: float | None
    """How much later than that the middle engine burns without audible knock [rad]; below 0 where
    it may burn earlier. None with compression ignition."""
    pressure: PressureTarget | None
    """Manifold pressure that would give it; None where the run logged none."""
    retard: Retard | None
    """Later phasing that would give it without less pressure; None where that is more than anybody
    tunes, or with compression ignition."""
    lifted_by: str

    @property
    def assessed(self) -> bool:
        """True within the run."""
        return self.chance is not None

    @property
    def ca50_asked(self) -> float | None:
        """Phasing that the row is proved with, median [rad]: as judged, later where the middle
        engine knocks at that."""
        return None if self.ca50 is None else self.ca50 + max(self.knock_later or 0.0, 0.0)

    @property
    def power(self) -> float:
        """Power at the limit [W]."""
        return self.limit * self.speed

    @property
    def manifold_pressure(self) -> float | None:
        """Manifold pressure that would give it at unchanged phasing, from the run [Pa]."""
        return None if self.pressure is None else self.pressure.value


def step_notices(assessment: Assessment, policy: Policy) -> tuple[Notice, ...]:
    """What a reader must be told of a torque step that is coarse for this engine."""
    most, step = float(assessment.torque.max()), policy.step
    if step <= COARSE_STEP * most * (1 + 1e-9):
        return ()
    return (
        Notice(
            "torque-step-coarse",
            Sentence(
                "The table's torque step of ",
                Torque(step, "g"),
                f" is {step / most:.0%} of the largest torque measured, ",
                Torque(most, ".1f"),
                ": limits are rounded down by up to as much. Set a finer one (--resolution, in "
                "Python the policy's resolution): ",
                Torque(_step_for(most), "g"),
                " or less.",
            ),
        ),
    )


def _step_for(torque: float) -> float:
    """Largest of 1, 2 or 5 times a power of ten that is no coarse step of a torque [N*m]."""
    most = COARSE_STEP * torque
    power = 10.0 ** np.floor(np.log10(most))
    return float(max(n * power for n in (1.0, 2.0, 5.0) if n * power <= most * (1 + 1e-9)))


def limit_rows(
    assessment: Assessment, policy: Policy, shape: Shape, proof: Proof, made: Array | None = None
) -> tuple[LimitRow, ...]:
    """The table's rows. assessment: on a grid that holds the breakpoints within the run; proof: on
    the same one, which tells what knock and abnormal cycles are left with the ignition asked for;
    made: what the engine can make at the breakpoints (R,) [N*m], None for open.
    """
    speed = np.clip(shape.breakpoints, assessment.speed[0], assessment.speed[-1])
    inside = np.isclose(speed, shape.breakpoints, rtol=1e-9)
    index = index_of(assessment.speed, speed)
    index = np.minimum(index, len(assessment.speed) - 1)
    model, limit = assessment.model, shape.limit
    ceiling, limits = governed_at(assessment, policy.chance)
    governing = _governing(assessment, shape, index, limits)
    least = ceiling[index]
    state = state_at(model.operating, assessment.speed[index])
    heard = state.heard_at
    error = quantile_error(
        np.minimum(binding_capacity(assessment)[index], heard[:, None]),
        policy.chance, assessment.evidence.kept,
    )  # fmt: skip
    on_grid = interpolated_limit(shape.breakpoints, limit, assessment.speed)
    failed = failing_at(assessment, on_grid)[index]
    place = place_of(model.demand.torque, on_grid)
    ca50 = np.median(place.read(model.demand.ca50), axis=1)[index]
    spark = not assessment.engine.compression_ignition
    knocks, harm = proof.knock[index], proof.fresh.abnormal.chance_harm[index]
    quiet = quiet_later(model.demand, place)[index]
    middle = quiet_ca50(model.demand, place)[index]
    if state.knock_heard is not None:
        # A knock limit that was too early at one speed is not handed out at another.
        quiet, middle = np.maximum(quiet, 0.0), np.maximum(middle, ca50)
    knock = Quiet(later=quiet, ca50=middle)
    window = windows(assessment, index, state, limit, ca50, knock, policy.chance)
    pressure = pressure_targets(assessment, index, limit)
    retard = retards(assessment, index, limit)
    return tuple(
        LimitRow(
            speed=float(shape.breakpoints[k]),
            limit=float(limit[k]),
            made=None if made is None else float(made[k]),
            governing=governing[k].name,
            held_by=shape.binding[k].value,
            held_at=float(shape.holding_speed[k]),
            chance=float(failed[k].mean()) if inside[k] else None,
            knock_chance=float(knocks[k]) if inside[k] and spark else None,
            abnormal_chance=float(harm[k]) if inside[k] and spark else None,
            spare=float(least[k] - limit[k]) if inside[k] else None,
            sampling_error=float(error[k]) if inside[k] else None,
            ca50=float(ca50[k]) if inside[k] else None,
            knock_later=float(quiet[k]) if inside[k] and spark else None,
            pressure=pressure[k] if inside[k] else None,
            retard=retard[k] if inside[k] else None,
            lifted_by=governing[k].lifted_by,
            **(vars(window[k]) if inside[k] else {}),
        )
        for k in range(len(speed))
    )


def _governing(
    assessment: Assessment, shape: Shape, index: npt.NDArray[np.intp], limits: list[Limit]
) -> list[Limit]:
    """The limit of each row: at its own speed, or where the ceiling at another one holds it."""
    held = [int(np.argmin(np.abs(assessment.speed - at))) for at in shape.holding_speed]
    ceiling = (binding is Binding.CEILING for binding in shape.binding)
    return [limits[h if c else k] for h, k, c in zip(held, index, ceiling, strict=True)]


WIDE = 1.5
"""Binomial standard deviations to either side over which a quantile's slope is read: of one alone
what is told scatters much more, of two it lies a third above what rows differ by."""


def quantile_error(capacity: Array, chance: float, worth: int) -> Array:
    """Standard error (R,) [N*m] of what `at_accepted` gives of capacity torques (R, N) [N*m].

    worth: how many independent engines the N stand for. By the slope between the places WIDE
    binomial standard deviations either side of the rank that is read, linear between ranks;
    infinite where either place is without a limit. `tests/bench/bench_sampling.py` prints what
    rows differ by beside it.
    Source: [ORDER_STATISTICS]
    """
    count = capacity.shape[-1]
    rank = accepted_rank(count, chance)
    share = (rank + 0.5) / count
    deviation = count * np.sqrt(share * (1 - share) / worth)
    places = np.clip(rank + WIDE * deviation * np.array([-1, 1]), 0, count - 1)
    with np.errstate(invalid="ignore"):
        low, high = np.quantile(capacity, places / max(count - 1, 1), axis=-1)
        error = (high - low) * deviation / max(places[1] - places[0], 1e-9)
    return np.where(np.isfinite(error), error, np.inf)


def lost_torque(assessment: Assessment) -> Array:
    """Torque that friction and pumping cost (S,) [N*m]."""
    volume = assessment.engine.swept_volume_total
    return torque_from_bmep(np.maximum(assessment.imep_gross - assessment.bmep, 0.0), volume)


def pressure_targets(
    assessment: Assessment, index: npt.NDArray[np.intp], torque: Array
) -> tuple[PressureTarget | None, ...]:
    """Manifold pressures that give torques (R,) at speeds `index` of the grid."""
    logged = assessment.model.operating.manifold_pressure
    if logged is None:
        return (None,) * len(torque)
    own = logged[index]
    ambient = assessment.engine.value("test.ambient_pressure").value
    target = manifold_pressure_for_torque(
        np.maximum(torque, 0.0), own, assessment.torque[index], lost_torque(assessment)[index]
    )
    low = own * (1 - PRESSURE_TRUSTED_WITHIN)
    high = np.minimum(own * (1 + PRESSURE_TRUSTED_WITHIN), logged.max())
    return tuple(
        PressureTarget(
            value=float(target[k]),
            sd=float(target[k]) * PRESSURE_FOR_TORQUE_RELATIVE_SD,
            low=float(low[k]),
            high=float(high[k]),
            ambient=ambient,
        )
        for k in range(len(torque))
    )


def retards(
    assessment: Assessment, index: npt.NDArray[np.intp], torque: Array
) -> tuple[Retard | None, ...]:
    """Later phasings that give torques (R,) at the run's own charge, at speeds `index`.

    Gross work goes with the efficiency of `phasing.relative_efficiency`, so
    efficiency(new) = efficiency(run) (T + T_f)/(T_run + T_f); its late branch is inverted. The
    run's phasing is its median. Spread: of the curve's loss, EFFICIENCY_CURVE_RELATIVE_SD.
    Source: [PHASING_CYCLES]
    """
    if assessment.engine.compression_ignition:
        return (None,) * len(torque)
    run, lost = assessment.torque[index], lost_torque(assessment)[index]
    before = assessment.ca50.p50[index]
    share = (np.maximum(torque, 0.0) + lost) / np.maximum(run + lost, 1e-9)
    wanted = np.asarray(phasing.relative_efficiency(before)) * share
    found: list[Retard | None] = []
    for k in range(len(torque)):
        if share[k] >= 1.0:
            found.append(Retard(ca50_later=0.0, sd=0.0, ca50=float(before[k])))
            continue
        found.append(_retard(float(before[k]), float(wanted[k])))
    return tuple(found)


def _retard(before: float, wanted: float) -> Retard | None:
    """Retard from a phasing to a relative efficiency, or None where no tuner would go."""
    spread = 1 + phasing.EFFICIENCY_CURVE_RELATIVE_SD
    if wanted < 0.55:
        return None
    after = phasing.MBT_CA50 + float(phasing.lateness_from_efficiency(wanted))
    if after > LATEST_SANE_CA50:
        return None
    least = phasing.MBT_CA50 + float(phasing.lateness_from_efficiency(1 - (1 - wanted) / spread))
    return Retard(
        ca50_later=max(after - before, 0.0), sd=abs(after - least), ca50=max(after, before)
    )
