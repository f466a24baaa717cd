"""What lies outside the model's ranges and is held at their edge: one notice for each.

A correlation is never asked outside its range. Where a run, or the one cycle asked for, lies
outside, the nearer end stands in for it and a notice says which quantity, what it is, the range,
and what was held.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Engine, Notice
from torquerisk.physics.cylinder.burn import PREMIXED_LEAST, PREMIXED_MOST
from torquerisk.physics.cylinder.burn_duration import (
    COMPRESSION_SPEEDS,
    DELAY_PISTON_SPEEDS,
    DELAY_PRESSURES,
    DELAY_TEMPERATURES,
    DEVELOPMENT_ADVANCES,
)
from torquerisk.physics.cylinder.spread import cov_peak_pressure_spark
from torquerisk.study import cylinder, demand, manifold, spreads, surface
from torquerisk.study.assessment import Assessment
from torquerisk.study.cylinder import CylinderSpec, Ignition
from torquerisk.study.gear_capacity import (
    LENGTH_TO_DIAMETERS,
    RELATIVE_CLEARANCES,
    THINNEST_PIN,
)
from torquerisk.study.ignition import ignition_by_speed, median_state
from torquerisk.study.limits import place_of
from torquerisk.study.unthrottled import breathes_freely

Array = npt.NDArray[np.float64]
RPM = np.pi / 30
EDGE = 1e-3 * cylinder.DEG
"""CA50 this near an end of its range is held there [rad]."""
CUT_DRAWS = 1024
"""Draws looked at for that: enough to tell LEAST_CUT."""
LEAST_CUT = 0.01
"""Share of the simulated engines held at an edge that is worth a sentence [-]: less is no more than
the tail that every draw is cut at."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Held:
    """A quantity by speed (S,) and the range that the model holds it in. SI."""

    code: str
    what: str
    values: Array
    low: float
    high: float
    unit: str
    size: float
    """SI size of the shown unit, or 0 for degrees Celsius."""
    then: str
    """What is held, in words that end the sentence."""

    @property
    def outside(self) -> npt.NDArray[np.bool_]:
        """Where the value lies outside (S,), beyond rounding."""
        margin = 1e-9 * max(abs(self.low), abs(self.high))
        return (self.values < self.low - margin) | (self.values > self.high + margin)

    def shown(self, value: float) -> str:
        """A value in the shown unit, without it."""
        if self.size == 0:
            return f"{value - 273.15:,.0f}"
        number = value / self.size
        if abs(number) >= 100:
            return f"{number:,.0f}"
        return f"{number:.3g}" if abs(number) >= 1 else f"{number:.2g}"

    def told(self, speed: Array) -> Iterator[Notice]:
        """The notice, where any value lies outside. speed: (S,) [rad/s]."""
        out = self.outside
        if not out.any():
            return
        span = f"{self.shown(self.low)} to {self.shown(self.high)} {self.unit}".rstrip()
        far = self.values[out]
        beyond = np.where(far > self.high, far - self.high, self.low - far)
        worst = f"{self.shown(float(far[np.argmax(beyond)]))} {self.unit}".rstrip()
        if len(speed) == 1:
            text = f"{self.what} is {worst}, outside {span}: {self.then}."
        else:
            where = _where(speed[out])
            text = f"{self.what} lies outside {span} {where}, as far as {worst}: {self.then} there."
        yield Notice(self.code, text)


def _where(speed: Array) -> str:
    """'at 1,000 rpm', or 'at 4 speeds from 1,000 to 2,000 rpm', of some speeds [rad/s]."""
    first, last = speed[0] / RPM, speed[-1] / RPM
    if len(speed) == 1:
        return f"at {first:,.0f} rpm"
    return f"at {len(speed)} speeds from {first:,.0f} to {last:,.0f} rpm"


def held_burn(
    spec: CylinderSpec,
    *,
    speed: Array,
    imep: Array,
    lambda_: Array,
    ca50: Array,
    lit: Ignition | None,
    ca50_given: bool,
    burn_given: bool,
) -> Iterator[Held]:
    """Ranges of the burn correlations at states (S,); lit: with compression ignition."""
    both = {(False, False): "burn duration and CA50 are those", (True, False): "CA50 is that",
            (False, True): "burn duration is that"}  # fmt: skip
    asked = both.get((burn_given, ca50_given))
    if spec.compression_ignition and asked is not None:
        yield Held(
            code="speed-range", what="Engine speed", values=speed, unit="rpm", size=RPM,
            low=COMPRESSION_SPEEDS[0], high=COMPRESSION_SPEEDS[1],
            then=f"{asked} of the nearer end of the compression-ignition correlations",
        )  # fmt: skip
    if spec.compression_ignition and not ca50_given:
        low, high = cylinder.CA50_LOADS
        yield Held(
            code="ca50-load-range", what="The load that CA50 is taken from", unit="bar BMEP",
            values=cylinder.ca50_load_unheld(imep), low=low, high=high, size=1e5,
            then="CA50 is that of the nearer end",
        )  # fmt: skip
    if not burn_given:
        low, high = cylinder.BRAKE_ESTIMATES
        yield Held(
            code="burn-load-range", what="The load that burn duration is taken from",
            values=cylinder.brake_unheld(imep), low=low, high=high, unit="bar BMEP", size=1e5,
            then="burn duration is that of the nearer end",
        )  # fmt: skip
        yield Held(
            code="burn-range", what="Burn duration from 10 to 90 % by correlation",
            values=cylinder.burn_unheld(spec, speed, imep, lambda_, ca50), low=0.0,
            high=cylinder.LONGEST_BURN, unit="deg", size=cylinder.DEG,
            then="the longest that is modelled is taken",
        )  # fmt: skip
    if lit is not None:
        yield from _held_ignition(lit)


def _held_ignition(lit: Ignition) -> Iterator[Held]:
    nearer = "the ignition delay is that of the nearer end"
    yield Held(
        code="delay-range", what="Pressure of the compressed charge", values=lit.pressure,
        low=DELAY_PRESSURES[0], high=DELAY_PRESSURES[1], unit="bar", size=1e5, then=nearer,
    )  # fmt: skip
    yield Held(
        code="delay-range", what="Temperature of the compressed charge", values=lit.temperature,
        low=DELAY_TEMPERATURES[0], high=DELAY_TEMPERATURES[1], unit="°C", size=0.0, then=nearer,
    )  # fmt: skip
    yield Held(
        code="delay-range", what="Mean piston speed", values=lit.piston_speed,
        low=DELAY_PISTON_SPEEDS[0], high=DELAY_PISTON_SPEEDS[1], unit="m/s", size=1.0, then=nearer,
    )  # fmt: skip
    yield Held(
        code="premixed-range", what="The premixed share by correlation",
        values=lit.premixed_unheld, low=PREMIXED_LEAST, high=PREMIXED_MOST, unit="%", size=0.01,
        then="the nearer end is taken",
    )  # fmt: skip


def held_in_run(result: Assessment) -> Iterator[Notice]:
    """Notices of all that the median engine of an assessment is held at, then of cut spreads."""
    engine, state, at = result.engine, result.model.operating, median_state(result)
    low, high = at.spec.lambda_range
    for item in (
        *held_burn(
            at.spec,
            speed=at.speed,
            imep=at.imep,
            lambda_=np.clip(at.lambda_, low, high),
            ca50=at.ca50,
            lit=ignition_by_speed(result),
            ca50_given=state.ca50 is not None,
            burn_given=at.spec.burn_duration is not None,
        ),
        *_held_state(result),
    ):
        yield from item.told(result.speed)
    edge = float(result.model.demand.torque[..., 0].max())
    under = result.torque < edge
    if under.any():
        yield Notice(
            "load-range-low",
            f"Torque below {edge:.0f} N·m, {_where(result.speed[under])}, may lie below the loads "
            f"the model covers ({surface.IMEP_LOW / 1e5:.0f} bar gross IMEP) and is judged at "
            "its edge, where the gas loads are higher.",
        )
    for item in _held_gear(engine):
        yield from item.told(np.zeros(1))
    yield from _cut(result)
    if breathes_freely(engine, state):
        yield from Held(
            code="light-load-charge", what="Lambda of a charge at ambient pressure", unit="",
            values=np.maximum(at.lambda_, low), low=low, high=high, size=1.0,
            then=f"lambda is held at {high:g} and the peak is taken no lower than compression "
            "alone gives",
        ).told(result.speed)  # fmt: skip
    if state.manifold_pressure is None:
        least, most = manifold.ESTIMATED_PRESSURES
        yield from Held(
            code="manifold-pressure-range", what="Manifold pressure estimated from torque",
            values=manifold.estimated_unheld(engine, result.bmep), low=least, high=most, unit="bar",
            size=1e5, then="pumping work is that of the nearer end",
        ).told(result.speed)  # fmt: skip
    if state.ignition_advance is not None and not engine.compression_ignition:
        latest, earliest = DEVELOPMENT_ADVANCES
        yield from Held(
            code="advance-range", what="Ignition advance", values=state.ignition_advance,
            low=latest, high=earliest, unit="deg before TDC", size=cylinder.DEG,
            then="the flame develops as at the nearer end",
        ).told(result.speed)  # fmt: skip


def _held_state(result: Assessment) -> Iterator[Held]:
    """Ranges of the charge, of friction and of gas exchange."""
    engine, at = result.engine, median_state(result)
    low, high = cylinder.TRAPPED_TEMPERATURES
    yield Held(
        code="charge-temperature-range", what="Charge temperature at intake closing",
        values=at.temperature, low=low, high=high, unit="°C", size=0.0,
        then="the nearer end is taken",
    )  # fmt: skip
    yield Held(
        code="piston-speed-range", what="Mean piston speed", unit="m/s", size=1.0,
        values=manifold.piston_speed_unheld(engine, result.speed),
        low=manifold.SLOWEST_PISTON, high=manifold.FASTEST_PISTON,
        then="friction and pumping are those of the nearer end",
    )  # fmt: skip
    low, high = demand.FRICTION_PRESSURES
    yield Held(
        code="friction-range", what="Median peak pressure", values=result.peak_pressure.p50,
        low=low, high=high, unit="bar", size=1e5, then="friction is that of the nearer end",
    )  # fmt: skip


def _held_gear(engine: Engine) -> Iterator[Held]:
    """Proportions of bearing and pin that their models are held in, at the values used."""

    def of(name: str) -> float:
        return engine.value(f"running_gear.{name}").value

    journal, pin = of("big_end_diameter"), of("pin_diameter")
    nearer = "the oil film is that of the nearer end"
    for code, what, value, (low, high), size, unit, then in (
        ("clearance-range", "Big-end clearance over its diameter",
         of("big_end_clearance") / journal, RELATIVE_CLEARANCES, 1e-3, "per mille", nearer),
        ("bearing-width-range", "Big-end width over its diameter",
         of("big_end_width") / journal, LENGTH_TO_DIAMETERS, 1.0, "", nearer),
        ("pin-bore-range", "Inner over outer diameter of the piston pin",
         of("pin_bore_diameter") / pin, (0.0, THINNEST_PIN), 1.0, "",
         "the pin is taken as thick as that"),
    ):  # fmt: skip
        yield Held(
            code=code, what=what, values=np.array([value]), low=low, high=high, unit=unit,
            size=size, then=then,
        )  # fmt: skip


def _cut(result: Assessment) -> Iterator[Notice]:
    """Spreads that reach beyond the model, where LEAST_CUT of the draws or more are held."""
    state, spec = result.model.operating, median_state(result).spec
    draws = result.model.draws.take(np.arange(min(result.model.draws.count, CUT_DRAWS)))
    low, high = spec.lambda_range
    lambda_ = state.lambda_[:, None] * np.exp(state.lambda_sd * draws.deviates["fuel.lambda_"])
    inside = (state.lambda_ >= low) & (state.lambda_ <= high)
    share = ((lambda_ < low) | (lambda_ > high)).mean(axis=1)[inside]
    if share.size and share.max() >= LEAST_CUT:
        yield Notice(
            "lambda-spread-cut",
            f"Lambda is drawn beyond {low:g} to {high:g} in up to {share.max():.0%} of the "
            "simulated engines; the model holds it at the nearer end there.",
        )
    loads = result.model.demand
    place = place_of(loads.torque[:, : draws.count], result.torque)
    ca50 = place.read(loads.ca50[:, : draws.count])
    early, late = spec.ca50_range
    ends = ((early, ca50 <= early + EDGE, "earlier loads the parts more than shown"),
            (late, ca50 >= late - EDGE, "later would load them less"))  # fmt: skip
    given = np.full_like(result.speed, early + EDGE) if state.ca50 is None else state.ca50
    judged = (given >= early) & (given <= late)
    for edge, held, harm in ends:
        share = held.mean(axis=1) * judged
        if share.max() >= LEAST_CUT:
            at = result.speed[int(np.argmax(share))] / RPM
            yield Notice(
                "phasing-spread-cut",
                f"Up to {share.max():.0%} of the simulated engines, most at {at:,.0f} rpm, would "
                f"have a CA50 beyond {edge / cylinder.DEG:.0f} degrees and are judged at that; "
                f"{harm}.",
            )
    if result.engine.compression_ignition:
        return
    load = np.clip(result.bmep, *demand.SPREAD_LOADS)[:, None]
    cov = np.asarray(cov_peak_pressure_spark(ca50, load)) * draws.of_model(spreads.CYCLIC)
    share = (cov > demand.HIGHEST_COV).mean(axis=1)
    if share.max() >= LEAST_CUT:
        yield Notice(
            "cyclic-spread-cut",
            f"Cycle-to-cycle spread of peak pressure passes {demand.HIGHEST_COV:.0%} in up to "
            f"{share.max():.0%} of the simulated engines and is held there: nobody stays at a "
            "speed where an engine runs as roughly as that.",
        )
