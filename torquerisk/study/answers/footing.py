"""What makes two runs fit to be held side by side: what was known of each, and how each began."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics import dyno
from torquerisk.quantities import Array
from torquerisk.study.answers.edits import assessed
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.run.crank_reading import AMBIENT, OF_DIESELS, STANDARDS

JUDGED_BY = (
    "manifold_pressure",
    "exhaust_pressure",
    "ignition_advance",
    "ca50",
    "lambda_",
    "intake_temperature",
    "coolant_pressure",
    "coolant_temperature",
    "peak_pressure",
)
"""Channels that pressures and chances rest on."""
BOOSTED = 20e3
"""Least boost over the outside air that counts as boost [Pa]."""
THERE = 0.5
"""Share of a run's greatest boost from which it is there at the run's start (common practice, no
source)."""
BUILT = 0.9
"""Share of its greatest boost from which a run has built it (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Boost:
    """How a boosted run began."""

    there: bool
    """Boost was there at its start already, or each of its points was held."""
    built: float
    """Speed at which it had built its boost [rad/s]."""


def boost_of(assessment: Assessment) -> Boost | None:
    """How the run began; None where manifold pressure was not logged or never was boost."""
    pressure = assessment.model.operating.manifold_pressure
    if pressure is None:
        return None
    engine = assessment.engine
    boost = pressure - engine.value("test.ambient_pressure").value
    top = float(boost.max())
    if top < BOOSTED:
        return None
    held = engine.given("test.sweep_rate") == 0.0
    k = int(np.flatnonzero(boost >= BUILT * top)[0])
    built = float(assessment.speed[k])
    if k > 0:
        ends = boost[k - 1 : k + 1], assessment.speed[k - 1 : k + 1]
        built = float(np.interp(BUILT * top, *ends))
    return Boost(there=held or float(boost[0]) >= THERE * top, built=built)


def comparable_from(low: float, runs: Sequence[Assessment]) -> float:
    """Speed [rad/s] from which runs can be compared, not below their common lowest speed.

    Where one began with boost already there and another had to build it, no speed before the other
    had built it says anything of the hardware: how each was loaded before decides.
    """
    starts = [found for found in map(boost_of, runs) if found is not None]
    if len({found.there for found in starts}) < 2:
        return low
    return max(low, *(found.built for found in starts if not found.there))


def on_common_channels(
    runs: Sequence[Assessment],
) -> tuple[tuple[Assessment, ...], tuple[tuple[str, ...], ...]]:
    """The runs judged by what was logged in all of them, and what was left out of each.

    A run that was known better is assessed anew without what the others lack.
    """
    held = [{n for n in JUDGED_BY if a.run.channel(n) is not None} for a in runs]
    common = set.intersection(*held)
    left = tuple(tuple(n for n in JUDGED_BY if n in names - common) for names in held)
    return tuple(_without(a, names) for a, names in zip(runs, left, strict=True)), left


def _without(assessment: Assessment, names: tuple[str, ...]) -> Assessment:
    if not names:
        return assessment
    run = assessment.run
    channels = {n: values for n, values in run.channels.items() if n not in names}
    bare = dataclasses.replace(run, channels=channels)
    return assessed(assessment.reading.as_given, bare, assessment.policy)


def air_factor(engine: Engine) -> float | None:
    """Factor [-] of SAE J1349 that brings torque to its standard air; None where the air of the
    test was not stated. engine: with the run's own facts."""
    if not all(engine.has(f"test.{name}") for name in AMBIENT):
        return None
    standard = (OF_DIESELS if engine.compression_ignition else STANDARDS)["J1349"]
    pressure, temperature, humidity = (engine.value(f"test.{name}").value for name in AMBIENT)
    return float(
        dyno.correction_factor(
            standard, pressure, temperature, humidity, engine_factor=dyno.ENGINE_FACTOR_USUAL
        )
    )


def torque_at_pressure(assessment: Assessment, speed: Array, pressure: Array) -> Array | None:
    """Torque (S,) [N*m] at other manifold pressures; None where its own was not logged.

    speed (S,) [rad/s] within the run; pressure (S,) [Pa]. Gross IMEP goes with the charge, and that
    with manifold pressure; friction and pumping stay. Exact for a charge of the same temperature,
    mixture and phasing: a first approximation for steps of boost.
    """
    own = assessment.model.operating.manifold_pressure
    if own is None:
        return None
    ratio = pressure / np.interp(speed, assessment.speed, own)
    gross = np.interp(speed, assessment.speed, assessment.imep_gross)
    torque = np.interp(speed, assessment.speed, assessment.torque)
    swept = assessment.engine.swept_volume_total
    return np.asarray(torque + gross * (ratio - 1) * swept / (4 * np.pi))
