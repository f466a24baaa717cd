"""Spreads that reach beyond the model: a notice where LEAST_CUT of the draws or more are held."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from torquerisk.case import Notice
from torquerisk.physics.cylinder.burn import PREMIXED_MOST
from torquerisk.physics.cylinder.burn_duration import DELAY_PRESSURES, DELAY_TEMPERATURES
from torquerisk.physics.cylinder.spread import cov_peak_pressure_spark
from torquerisk.quantities import DEGREE, RPM, Array
from torquerisk.study.assessment.ignition_delay import ignition_by_speed, median_state
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.cycle import cylinder
from torquerisk.study.draws.cylinder_draws import cylinder_draws
from torquerisk.study.draws.simulated_engines import CUT_DRAWS, LEAST_CUT, Draws
from torquerisk.study.limits import Place, place_of
from torquerisk.study.loads import demand
from torquerisk.study.loads.manifold import evaporation_beyond_petrol

EDGE = 1e-3 * DEGREE
"""CA50 this near an end of its range is held there [rad]."""


def cut_spreads(result: Assessment) -> Iterator[Notice]:
    """Spreads of the run's state that are cut, at the speeds whose middle lies inside."""
    draws = result.model.draws.first(CUT_DRAWS)
    place = place_of(result.model.demand.torque[:, : draws.count], result.torque)
    cut = _Cut(result, draws, place)
    yield from cut.charge()
    yield from cut.phasing()
    yield from cut.friction()
    if result.engine.compression_ignition:
        yield from cut.ignition()
    else:
        yield from cut.cyclic()


def outside(values: Array, low: float, high: float) -> npt.NDArray[np.bool_]:
    """Which values lie outside a range."""
    return np.asarray((values < low) | (values > high))


class _Cut:
    """The first draws of an assessment at its own torque: (S, N) where not said otherwise."""

    def __init__(self, result: Assessment, draws: Draws, place: Place) -> None:
        self.result, self.draws, self.place = result, draws, place
        self.state, self.at = result.model.operating, median_state(result)
        self.spec = self.at.spec
        self.lanes = cylinder_draws(result.engine, draws)
        state = self.state
        self.lambda_ = state.lambda_[:, None] * np.exp(state.lambda_sd * self.lanes.lambda_z)
        temperature = state.intake_temperature_sd * self.lanes.temperature_z + self.lanes.heating
        cooling = evaporation_beyond_petrol(
            state.ethanol_share, state.lambda_, result.engine.compression_ignition
        )
        self.temperature = state.intake_temperature[:, None] + temperature
        self.temperature -= cooling[:, None] * self.lanes.evaporated
        self.ca50 = place.read(result.model.demand.ca50[:, : draws.count])

    def _worst(
        self, values: Array, middle: Array, low: float, high: float
    ) -> tuple[float, float] | None:
        """Greatest share held and its speed [rpm], of speeds whose middle (S,) lies inside."""
        share = outside(values, low, high).mean(axis=1) * ~outside(middle, low, high)
        k = int(np.argmax(share))
        if share[k] < LEAST_CUT:
            return None
        return float(share[k]), float(self.result.speed[k] / RPM)

    def charge(self) -> Iterator[Notice]:
        """Lambda and the temperature of the charge."""
        low, high = self.spec.lambda_range
        found = self._worst(self.lambda_, self.state.lambda_, low, high)
        if found:
            yield Notice(
                "lambda-spread-cut",
                f"Lambda is drawn beyond {low:g} to {high:g} in up to {found[0]:.0%} of the "
                "simulated engines; the model holds it at the nearer end there.",
            )
        low, high = cylinder.TRAPPED_TEMPERATURES
        found = self._worst(self.temperature, self.at.temperature, low, high)
        if found:
            yield Notice(
                "charge-temperature-spread-cut",
                f"Charge temperature at intake closing is drawn beyond {low - 273.15:.0f} to "
                f"{high - 273.15:.0f} °C in up to {found[0]:.0%} of the simulated engines, most "
                f"at {found[1]:,.0f} rpm; the model holds it at the nearer end there.",
            )

    def phasing(self) -> Iterator[Notice]:
        """CA50, which is held already as it is drawn."""
        state, ca50 = self.state, self.ca50
        early, late = self.spec.ca50_range
        ends = ((early, ca50 <= early + EDGE, "earlier loads the parts more than shown"),
                (late, ca50 >= late - EDGE, "later would load them less"))  # fmt: skip
        speed = self.result.speed
        given = np.full_like(speed, early + EDGE) if state.ca50 is None else state.ca50
        judged = ~outside(given, early, late)
        for edge, held, harm in ends:
            share = held.mean(axis=1) * judged
            if share.max() >= LEAST_CUT:
                at = speed[int(np.argmax(share))] / RPM
                yield Notice(
                    "phasing-spread-cut",
                    f"Up to {share.max():.0%} of the simulated engines, most at {at:,.0f} rpm, "
                    f"would have a CA50 beyond {edge / DEGREE:.0f} degrees and are judged at "
                    f"that; {harm}.",
                )

    def friction(self) -> Iterator[Notice]:
        """Peak pressure that friction is taken from."""
        low, high = demand.FRICTION_PRESSURES
        peak = self.place.read(self.result.model.demand.peak[:, : self.draws.count])
        found = self._worst(peak, self.result.peak_pressure.p50, low, high)
        if found:
            yield Notice(
                "friction-spread-cut",
                f"In up to {found[0]:.0%} of the simulated engines, most at {found[1]:,.0f} rpm, "
                f"peak pressure lies beyond {low / 1e5:.0f} to {high / 1e5:.0f} bar; their "
                "friction is that of the nearer end.",
            )

    def cyclic(self) -> Iterator[Notice]:
        """Cyclic spread of peak pressure, with spark ignition."""
        load = cylinder.brake_estimate(self.at.imep)[:, None]
        cov = np.asarray(cov_peak_pressure_spark(self.ca50, load)) * self.lanes.cyclic
        share = (cov > demand.HIGHEST_COV).mean(axis=1)
        if share.max() >= LEAST_CUT:
            yield Notice(
                "cyclic-spread-cut",
                f"Cycle-to-cycle spread of peak pressure passes {demand.HIGHEST_COV:.0%} in up to "
                f"{share.max():.0%} of the simulated engines and is held there: nobody stays at a "
                "speed where an engine runs as roughly as that.",
            )

    def ignition(self) -> Iterator[Notice]:
        """Ignition delay and premixed share, with compression ignition.

        The tables are fitted to cycles that are held one by one, so what is told is of the engines
        whose own charge would be held.
        """
        shape = self.ca50.shape
        at = self.at
        lit = cylinder.ignition(
            self.spec,
            speed=np.broadcast_to(at.speed[:, None], shape),
            imep=np.broadcast_to(at.imep[:, None], shape),
            ca50=self.ca50,
            lambda_=np.clip(
                at.lambda_[:, None] * (self.lambda_ / self.state.lambda_[:, None]),
                *self.spec.lambda_range,
            ),
            trapped_temperature=np.clip(self.temperature, *cylinder.TRAPPED_TEMPERATURES),
            ratio=self.spec.compression_ratio * self.lanes.other["ratio_factor"],
            injected_factor=np.exp(self.lanes.log_injected),
        )
        middle = ignition_by_speed(self.result)
        assert middle is not None
        nearer = "their ignition delay is that of the nearer end"
        for code, what, values, of, (low, high), shown, then in (
            ("delay-spread-cut", "Pressure of the compressed charge", lit.pressure,
             middle.pressure, DELAY_PRESSURES, lambda x: f"{x / 1e5:.0f} bar", nearer),
            ("delay-spread-cut", "Temperature of the compressed charge", lit.temperature,
             middle.temperature, DELAY_TEMPERATURES, lambda x: f"{x - 273.15:,.0f} °C", nearer),
            ("premixed-spread-cut", "The premixed share", lit.premixed_unheld,
             middle.premixed_unheld, (-np.inf, PREMIXED_MOST), lambda x: f"{x:.0%}",
             "the nearer end is taken for them"),
        ):  # fmt: skip
            found = self._worst(values, of, low, high)
            if found:
                span = f"{shown(low)} to {shown(high)}" if np.isfinite(low) else shown(high)
                yield Notice(
                    code,
                    f"{what} lies beyond {span} in up to {found[0]:.0%} of the simulated engines, "
                    f"most at {found[1]:,.0f} rpm; {then}.",
                )
