"""What lies outside the model's ranges and is held at their edge: one notice for each.

A correlation is never asked outside its range. Where a run, or the one cycle asked for, lies
outside, the nearer end stands in for it and a notice says which quantity, what it is, the range,
and what was held.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.case import Notice
from torquerisk.case.sentence import Sentence, Torque
from torquerisk.physics.cylinder.burn import PREMIXED_LEAST, PREMIXED_MOST
from torquerisk.physics.cylinder.burn_duration import (
    COMPRESSION_SPEEDS,
    DELAY_PISTON_SPEEDS,
    DELAY_PRESSURES,
    DELAY_TEMPERATURES,
    DEVELOPMENT_ADVANCES,
    SPARK_TREND_SPEED,
)
from torquerisk.quantities import DEGREE, RPM, Array
from torquerisk.study.assessment.ignition_delay import ignition_by_speed, median_state
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder, table_grid
from torquerisk.study.cycle.cylinder import CylinderSpec, Ignition
from torquerisk.study.loads import cycles_spent, demand, manifold
from torquerisk.study.loads.part_load import breathes_freely


@dataclass(frozen=True, kw_only=True, eq=False)
class Held:
    """A quantity by speed (S,) and the range that the model holds it in; an end may be open. SI."""

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
        margin = 1e-9 * max(abs(end) for end in (self.low, self.high) if np.isfinite(end))
        return (self.values < self.low - margin) | (self.values > self.high + margin)

    def shown(self, value: float) -> str:
        """A value in the shown unit, without it."""
        if self.size == 0:
            return f"{value - 273.15:,.0f}"
        number = value / self.size
        if abs(number) >= 100:
            return f"{number:,.0f}"
        return f"{number:.3g}" if abs(number) >= 1 else f"{number:.2g}"

    @property
    def beyond(self) -> str:
        """The range that is left, as 'outside 1 to 2 mm', 'below 1 mm' or 'above 2 mm'."""
        if np.isinf(self.high):
            told = f"below {self.shown(self.low)}"
        elif np.isinf(self.low):
            told = f"above {self.shown(self.high)}"
        else:
            told = f"outside {self.shown(self.low)} to {self.shown(self.high)}"
        return f"{told} {self.unit}".rstrip()

    def told(self, speed: Array) -> Iterator[Notice]:
        """The notice, where any value lies outside. speed: (S,) [rad/s]."""
        out = self.outside
        if not out.any():
            return
        far = self.values[out]
        beyond = np.where(far > self.high, far - self.high, self.low - far)
        worst = f"{self.shown(float(far[np.argmax(beyond)]))} {self.unit}".rstrip()
        if len(speed) == 1:
            text = f"{self.what} is {worst}, {self.beyond}: {self.then}."
        else:
            where = where_in_rpm(speed[out])
            text = f"{self.what} lies {self.beyond} {where}, as far as {worst}: {self.then} there."
        yield Notice(self.code, text)


def where_in_rpm(speed: Array) -> str:
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
    also: tuple[str, ...] = (),
) -> Iterator[Held]:
    """Ranges of the burn correlations at states (S,); lit: with compression ignition.

    also: what else is taken from the rough brake load, in words.
    """
    both = {(False, False): "burn duration and CA50 are those", (True, False): "CA50 is that",
            (False, True): "burn duration is that"}  # fmt: skip
    asked = both.get((burn_given, ca50_given))
    if spec.compression_ignition and asked is not None:
        yield Held(
            code="speed-range", what="Engine speed", values=speed, unit="rpm", size=RPM,
            low=COMPRESSION_SPEEDS[0], high=COMPRESSION_SPEEDS[1],
            then=f"{asked} of the nearer end of the compression-ignition correlations",
        )  # fmt: skip
    if not spec.compression_ignition and not burn_given:
        yield Held(
            code="speed-range", what="Engine speed", values=speed, unit="rpm", size=RPM,
            low=-np.inf, high=SPARK_TREND_SPEED,
            then="burn duration and flame development follow the trend of slower engines",
        )  # fmt: skip
    if spec.compression_ignition and not ca50_given:
        low, high = cylinder.CA50_LOADS
        yield Held(
            code="ca50-load-range", what="The load that CA50 is taken from", unit="bar BMEP",
            values=cylinder.ca50_load_unheld(imep), low=low, high=high, size=1e5,
            then="CA50 is that of the nearer end",
        )  # fmt: skip
    behind = (*(() if burn_given else ("burn duration",)), *also)
    if behind:
        low, high = cylinder.BRAKE_ESTIMATES
        yield Held(
            code="burn-load-range", what=f"The load behind {_listed(behind)}",
            values=cylinder.brake_unheld(imep), low=low, high=high, unit="bar BMEP", size=1e5,
            then="the nearer end is taken for it",
        )  # fmt: skip
    if not burn_given:
        yield Held(
            code="burn-range", what="Burn duration from 10 to 90 % by correlation",
            values=cylinder.burn_unheld(spec, speed, imep, lambda_, ca50), low=0.0,
            high=cylinder.LONGEST_BURN, unit="deg", size=DEGREE,
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


def _listed(names: tuple[str, ...]) -> str:
    """'one', 'one and two' or 'one, two and three'."""
    return " and ".join(x for x in (", ".join(names[:-1]), names[-1]) if x)


def _of_load(result: Assessment) -> tuple[str, ...]:
    """What else than burn duration follows the rough brake load of the rows, in words."""
    logged = result.model.operating.manifold_pressure is not None
    pumping = () if logged else ("pumping work",)
    diesel = result.engine.compression_ignition
    return pumping if diesel else (*pumping, "cycle-to-cycle spread")


def _beyond_tables(result: Assessment, spec: CylinderSpec) -> Iterator[Notice]:
    """Lambda, CA50 and torque of the run itself beyond what response tables cover."""
    state = result.model.operating
    low, high = spec.lambda_range
    outside = (state.lambda_ < low) | (state.lambda_ > high)
    if outside.any():
        yield Notice(
            "lambda-range",
            f"Lambda leaves {low:g} to {high:g} at {int(outside.sum())} speeds; the model holds it "
            "at the nearer end there.",
        )
    if state.ca50 is not None:
        early, late = spec.ca50_range
        outside = (state.ca50 < early) | (state.ca50 > late)
        if outside.any():
            yield Notice(
                "phasing-range",
                f"CA50 leaves {np.degrees(early):.0f} to {np.degrees(late):.0f} degrees at "
                f"{int(outside.sum())} speeds and is judged at the nearer end there; earlier than "
                "that loads the parts more than shown.",
            )
    edge = float(result.model.demand.torque[..., -1].min())
    if result.torque.max() > edge:
        yield Notice(
            "load-range",
            Sentence(
                "Torque above ",
                Torque(edge),
                " lies beyond the loads the model covers (64 bar gross IMEP) and is judged at its "
                "edge: check its unit, and the displacement.",
            ),
        )


def held_in_run(result: Assessment) -> Iterator[Notice]:
    """Notices of all that the median engine of an assessment is held at."""
    state, at = result.model.operating, median_state(result)
    low, high = at.spec.lambda_range
    yield from _beyond_tables(result, at.spec)
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
            also=_of_load(result),
        ),
        *_held_state(result),
    ):
        yield from item.told(result.speed)
    edge = float(result.model.demand.torque[..., 0].max())
    under = result.torque < edge
    if under.any():
        yield Notice(
            "load-range-low",
            Sentence(
                "Torque below ",
                Torque(edge),
                f", {where_in_rpm(result.speed[under])}, may lie below the loads the model covers "
                f"({table_grid.IMEP_LOW / 1e5:.0f} bar gross IMEP) and is judged at its edge, "
                "where the gas loads are higher.",
            ),
        )
    for item in _held_at_run(result):
        yield from item.told(result.speed)


def _held_at_run(result: Assessment) -> Iterator[Held]:
    """Ranges of a free-breathing charge, the estimated manifold, cycles spent and advance."""
    engine, state, at = result.engine, result.model.operating, median_state(result)
    low, high = at.spec.lambda_range
    if breathes_freely(engine, state):
        yield Held(
            code="light-load-charge", what="Lambda of a charge at ambient pressure", unit="",
            values=np.maximum(at.lambda_, low), low=low, high=high, size=1.0,
            then=f"lambda is held at {high:g} and the peak is taken no lower than compression "
            "alone gives",
        )  # fmt: skip
    if state.manifold_pressure is None:
        least, most = manifold.ESTIMATED_PRESSURES
        yield Held(
            code="manifold-pressure-range", what="Manifold pressure estimated from torque",
            values=manifold.estimated_unheld(engine, result.bmep), low=least, high=most, unit="bar",
            size=1e5, then="pumping work is that of the nearer end",
        )  # fmt: skip
    yield Held(
        code="cycles-range", unit="", size=1.0, low=cycles_spent.HELD_CYCLES, high=np.inf,
        what="The number of cycles that one cylinder runs within "
        f"{cycles_spent.SPEED_BAND / RPM:.0f} rpm in a pull",
        values=cycles_spent.cycles_unheld(engine, result.speed),
        then=f"at least {cycles_spent.HELD_CYCLES:.0f} are counted",
    )  # fmt: skip
    if state.ignition_advance is not None and not engine.compression_ignition:
        latest, earliest = DEVELOPMENT_ADVANCES
        yield Held(
            code="advance-range", what="Ignition advance", values=state.ignition_advance,
            low=latest, high=earliest, unit="deg before TDC", size=DEGREE,
            then="the flame develops as at the nearer end",
        )  # fmt: skip


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
