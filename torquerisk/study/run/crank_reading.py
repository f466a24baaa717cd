"""From the dyno's figure to crank torque as it really was, with the spread of that step."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine, Notice, Run
from torquerisk.case.gearing import divisor
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.errors import InputError
from torquerisk.physics import dyno
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import Array

STANDARDS = {
    "none": dyno.CorrectionStandard.NONE,
    "J1349": dyno.CorrectionStandard.SAE_J1349_2004,
    "ISO1585": dyno.CorrectionStandard.ISO_1585,
    "DIN70020": dyno.CorrectionStandard.DIN_70020,
    "J607": dyno.CorrectionStandard.SAE_J607,
}
OF_DIESELS = {
    "J1349": dyno.CorrectionStandard.SAE_J1349_COMPRESSION,
    "ISO1585": dyno.CorrectionStandard.ISO_1585_COMPRESSION,
}
"""Standards that correct compression ignition by another formula."""
AMBIENT = ("ambient_pressure", "ambient_temperature", "humidity")
MOST_BMEP = 50e5
"""Brake mean pressure beyond which torque is not the engine's [Pa]; common practice, no source."""
LEAST_RISE = 0.9
"""Rank correlation of time with speed from which rows are of one rising sweep [1]."""
LEAST_SHARE = 0.25
"""Torque over the run's greatest below which an error in N*m is told as if at this share."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """Crank torque, uncorrected, and how sure it is."""

    speed: Array
    """(n,) [rad/s]."""
    torque: Array
    """(n,) at the crank as it really was [N*m]."""
    relative_sd: Array
    """Standard deviation over torque (n,), common to all speeds."""
    engine: Engine
    """The engine with the run's own test facts put in."""
    as_given: Engine
    """The engine before that: other runs are read by its facts, never by this run's."""
    steps: tuple[str, ...]
    """What was done to the figures, in words."""
    notices: tuple[Notice, ...]


OVER_CORRECTED, BOOSTED = 0.01, 1.1
"""Correction from which over-correction is told [1], and manifold over ambient pressure from which
an engine is under boost [1]."""


def with_run_facts(engine: Engine, run: Run) -> Engine:
    """The engine whose test facts are replaced by those that the run file states itself.

    Its known-good curve and survived rungs stay read by the engine file's facts.
    """
    curve = engine.known_good.curve
    rungs = tuple(
        dataclasses.replace(rung, curve=rung.curve and standing_alone(engine, rung.curve))
        for rung in engine.survived
    )
    if curve is not None:
        engine = engine.with_values({"known_good.curve": standing_alone(engine, curve)})
    engine = dataclasses.replace(engine, survived=rungs)
    return engine.with_values({f"test.{key}": value for key, value in run.facts.items()})


def standing_alone(engine: Engine, run: Run) -> Run:
    """The run with every test fact in it: what its file leaves out is as the engine file says.

    engine: as given, without another run's facts. A known-good curve that says nothing of a wheel
    must not get the wheel loss of the run that it is held against.
    """
    named = {f.name: engine.given(f"test.{f.name}") for f in dataclasses.fields(engine.test)}
    return dataclasses.replace(run, facts={**named, **run.facts})


def crank_reading(engine: Engine, run: Run) -> Reading:
    """Crank torque of a run: correction undone, loss put back, inertia added, each with its spread.

    Facts in the run file win over the engine file's. Source: [NEWTON], the standards in `dyno`.
    """
    facts = _with_logged_rate(with_run_facts(engine, run), run)
    factor, factor_sd, steps, notices = _correction(facts)
    notices += _over_corrected(facts, run, factor)
    place = facts.word("test.measured_at")
    loss_share, loss_sd = _loss(facts, steps, notices)
    divided = divisor(lambda name: facts.given(f"test.{name}"))
    if divided != 1.0:
        steps.append(f"torque at the {place} divided by {divided:.4g} turns of the crank")
    inertia, acceleration = _inertia(facts, run, steps, notices)
    torque = np.asarray(
        dyno.crank_torque(run.torque / divided, factor, loss_share, inertia, acceleration),
        dtype=float,
    )
    if place != "crank" and not facts.has("test.referred_to"):
        notices.append(_referred(facts, float(np.max(torque))))
    error = facts.value("test.torque_error").value
    inertia_part = np.abs(inertia * acceleration) * facts.declaration("test.inertia").spread_given
    # An error of inertia torque is one in N*m: where the run is near 0 N*m it says nothing of the
    # torques that the engine could carry there.
    size = np.maximum(np.abs(torque), LEAST_SHARE * float(np.abs(torque).max()))
    sd = np.sqrt(
        error**2
        + (factor_sd / factor) ** 2
        + (loss_sd / (1 - loss_share)) ** 2
        + (inertia_part / np.maximum(size, 1.0)) ** 2
    )
    return Reading(
        speed=run.speed,
        torque=torque,
        relative_sd=np.broadcast_to(sd, torque.shape),
        engine=facts,
        as_given=engine,
        steps=tuple(steps) or ("taken as read",),
        notices=tuple(notices),
    )


def _loss(facts: Engine, steps: list[str], notices: list[Notice]) -> tuple[float, float]:
    """Driveline loss as a share of crank torque, and its standard deviation; 0 at the crank."""
    place, loss = facts.word("test.measured_at"), facts.value("test.driveline_loss")
    if place == "crank" and not facts.has("test.driveline_loss"):
        if not facts.has("test.measured_at"):
            notices.append(
                Notice(
                    "measured-at-assumed",
                    "The run does not say where torque was measured; it is taken as crank torque. "
                    "Wheel torque read as crank torque hides 10 to 20 % of the load.",
                )
            )
        return 0.0, 0.0
    steps.append(f"{loss.value:.0%} driveline loss ({place}) put back")
    if not loss.given:
        notices.append(
            Notice(
                "driveline-loss-assumed",
                f"Driveline loss is assumed: {loss.value:.0%} of crank torque, plus or minus "
                f"{2 * loss.sd:.0%}. Too small a loss is the unsafe side; a coast-down test "
                "would settle it.",
            )
        )
    return loss.value, loss.sd


def _referred(facts: Engine, torque: float) -> Notice:
    """Told where nobody said what wheel torque is referred to; refused where no engine makes it.

    torque: the greatest at the crank [N*m].
    """
    bmep = float(bmep_from_torque(torque, facts.swept_volume_total))
    place = facts.word("test.measured_at")
    if bmep > MOST_BMEP:
        raise InputError(
            f"torque at the {place}, taken as referred to engine speed, comes to {torque:.0f} N·m "
            f"at the crank, {bmep / 1e5:.0f} bar of mean pressure, which no engine makes; if it is "
            "as the wheel feels it, give referred_to: wheel, gear_ratio and final_drive."
        )
    return Notice(
        "referred-assumed",
        f"Torque at the {place} is taken as referred to engine speed, as most dynos print it; if "
        "it is as the wheel feels it, give referred_to: wheel, gear_ratio and final_drive.",
    )


def _correction(facts: Engine) -> tuple[float, float, list[str], list[Notice]]:
    """Factor that the dyno applied, its spread, what was done, and notices."""
    name = facts.word("test.correction")
    if facts.has("test.correction_factor"):
        factor = facts.value("test.correction_factor").value
        return factor, 0.002, [f"correction factor {factor:.4g} undone"], []
    if name == "none":
        return 1.0, 0.0, ["no correction to undo"], []
    if name == "unknown":
        return _unknown_correction(facts)
    standard = STANDARDS[name]
    if facts.compression_ignition:
        standard = OF_DIESELS.get(name, standard)
    ambient = [facts.value(f"test.{k}") for k in AMBIENT]
    usual = [*(v.value for v in ambient), dyno.ENGINE_FACTOR_USUAL]
    spreads = [-ambient[0].sd, ambient[1].sd, ambient[2].sd, dyno.ENGINE_FACTOR_SD]
    factor = _factor(standard, *usual)
    changes = []
    for k, spread in enumerate(spreads):
        moved = list(usual)
        moved[k] += spread
        moved[2] = min(moved[2], 1.0)
        changes.append(_factor(standard, *moved) - factor)
    sd = float(np.linalg.norm(changes))
    notices = []
    assumed = [v.declaration.words for v in ambient[:2] if not v.given]
    if assumed:
        notices.append(
            Notice(
                "ambient-assumed",
                f"The {name} correction was undone with an assumed {' and '.join(assumed)}; the "
                f"factor {factor:.3f} is good to plus or minus {2 * sd:.1%}.",
            )
        )
    if not dyno.within_validity(standard, factor):
        notices.append(
            Notice(
                "correction-out-of-range",
                f"The {name} factor for the stated air is {factor:.3f}, outside the range in which "
                "that standard may be used; check pressure, temperature and altitude.",
            )
        )
    return factor, sd, [f"{name} correction undone (factor {factor:.4f})"], notices


def _over_corrected(facts: Engine, run: Run, factor: float) -> list[Notice]:
    """Told where a spark engine under boost was corrected as if it breathed the ambient air.

    Boost that is held does not fall with the barometer, so that the standards for unboosted
    engines give back more than was lost (common practice, no source).
    """
    pressure = run.channel("manifold_pressure")
    if pressure is None or facts.compression_ignition or factor < 1.0 + OVER_CORRECTED:
        return []
    if float(np.max(pressure)) < BOOSTED * facts.value("test.ambient_pressure").value:
        return []
    return [
        Notice(
            "over-corrected",
            f"The dyno's figure was raised by {factor - 1:.1%} for the air, but manifold pressure "
            "shows boost: an engine that holds its boost loses less in thin air than that, so the "
            "corrected figure is too high. Judged here is the torque before the correction.",
        )
    ]


def _factor(
    standard: dyno.CorrectionStandard,
    pressure: float,
    temperature: float,
    humidity: float,
    engine_factor: float,
) -> float:
    """Factor of a standard in some air [Pa, K, -]; the engine factor is of diesels."""
    return float(
        dyno.correction_factor(
            standard, pressure, temperature, humidity, engine_factor=engine_factor
        )
    )


def _unknown_correction(facts: Engine) -> tuple[float, float, list[str], list[Notice]]:
    """What `_correction` gives where nobody said whether the run was corrected."""
    air = [facts.value(f"test.{k}") for k in AMBIENT]
    kind = facts.compression_ignition
    sd = float(dyno.unknown_correction_sd(*(v.value for v in air), compression_ignition=kind))
    notice = Notice(
        "correction-unknown",
        "The run does not say whether it was corrected; it is taken as uncorrected, plus or minus "
        f"{2 * sd:.0%}, which holds what any standard would have applied in the "
        f"{'stated' if air[0].given else 'assumed'} air. The correction standard in the file "
        "would take this away.",
    )
    return 1.0, sd, [], [notice]


def _logged_acceleration(run: Run) -> Array | None:
    """Acceleration of the crank (n,) [rad/s^2] from a logged time that rises with speed, or None.

    Rows stand in order of speed, so jitter puts times of neighbours out of order, not of the run.
    """
    time = run.channel("time")
    if time is None:
        return None
    different = len(np.unique(time))
    if different < dyno.LEAST_SAMPLES or _rises(time) < LEAST_RISE:
        return None
    step = float(np.ptp(time)) / (different - 1)
    # Ten samples of a slow log calm its jitter, but over more than 1 s acceleration changes.
    window = max(0.4, min(10 * step, 1.0), 4 * step)
    return np.asarray(dyno.angular_acceleration(time, run.speed, window))


def _rises(time: Array) -> float:
    """Correlation of the order of times with the order of rows, by Spearman."""
    # Loaded here: it takes a while, and only logs in time ask for it.
    from scipy.stats import spearmanr

    return float(spearmanr(time, np.arange(len(time))).statistic)


def _with_logged_rate(facts: Engine, run: Run) -> Engine:
    """The facts with the sweep rate that steady points or a logged time tell, if none is stated."""
    acceleration = _logged_acceleration(run)
    if facts.given("test.dyno_kind") == "steady":
        if facts.given("test.sweep_rate"):
            raise InputError(
                "the dyno is said to hold each speed, but a sweep rate is given; correct dyno_kind "
                "or sweep_rate."
            )
        return facts.with_values({"test.sweep_rate": 0.0})
    if facts.has("test.sweep_rate") or acceleration is None:
        return facts
    # Faster than any sweep counts as that fast: no speed is held for long either way.
    fastest = facts.declaration("test.sweep_rate").high
    rate = min(float(np.median(np.abs(acceleration))), fastest)
    return facts.with_values({"test.sweep_rate": rate})


def _inertia(
    facts: Engine, run: Run, steps: list[str], notices: list[Notice]
) -> tuple[float, Array | float]:
    """Inertia [kg*m^2] and acceleration [rad/s^2] to add for an accelerating sweep."""
    kind, logged = facts.given("test.dyno_kind"), _logged_acceleration(run)
    rate: Array | float = 0.0
    timed = run.channel("time") is not None
    if timed and logged is None and kind != "steady":
        notices.append(
            Notice(
                "time-unusable",
                f"The logged time has fewer than {dyno.LEAST_SAMPLES} different readings or does "
                "not rise with speed, so the sweep's rate is not read from it.",
            )
        )
    if logged is not None and kind != "steady":
        rate = logged
    elif facts.has("test.sweep_rate"):
        rate = facts.value("test.sweep_rate").value
    elif kind is not None or timed:
        notices.append(
            Notice(
                "sweep-unknown",
                "The run was a sweep, but neither its rate nor a usable time is given, so the "
                "torque that went into gaining speed is left out: crank torque is under-stated. "
                "Give [test] sweep_rate and inertia.",
            )
        )
    fastest = float(np.max(np.abs(np.asarray(rate))))
    if fastest == 0.0:
        return 0.0, 0.0
    if not facts.has("test.inertia"):
        notices.append(
            Notice(
                "inertia-unknown",
                "The engine gained speed during the run but the rotating inertia is not given, so "
                "the torque that went into it is left out: crank torque is under-stated. Give "
                "[test] inertia, or 0 if the dyno has added it already.",
            )
        )
        return 0.0, rate
    inertia = facts.value("test.inertia").value
    if inertia > 0:
        steps.append(
            Sentence("up to ", Torque(inertia * fastest, ".1f"), " added for gaining speed")
        )
    return inertia, rate
