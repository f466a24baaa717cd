"""Draws of what the cylinder model needs, from an engine's inputs and the models' spreads."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder import gas_exchange, knock, phasing
from torquerisk.physics.cylinder.burn import INJECTED_DELAY_EXPONENT
from torquerisk.physics.cylinder.burn_duration import ignition_delay_hardenberg_hase
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.run.operating_state import PhasingSource

DELAY_STATE = (60e5, 900.0, 8.0)
"""Compressed charge [Pa, K] and mean piston speed [m/s] at which a cetane number's effect on the
ignition delay is taken."""


@dataclass(frozen=True, kw_only=True, eq=False)
class CylinderDraws:
    """Draws (N,) of what the cylinder model needs."""

    other: dict[str, Array]
    log_injected: Array
    """Logarithm of what burns as it is injected over the correlation's; 0 for spark."""
    peak_model: Array
    peak_limit: Array
    """Peak pressure that the maker's injection timing holds [Pa]; infinite for spark."""
    friction: Array
    pumping_z: Array
    reading_z: Array
    phasing_z: tuple[Array, Array, Array]
    """What is common to all speeds and two that change along them, see `phasing.along_speed`."""
    ca50_reading: Array
    """Error of a CA50 that was measured [rad]."""
    best_phasing: Array
    octane_z: Array
    sensitivity_weight: Array
    """What a blend's sensitivity beyond pump fuel's counts for beside its RON [-]."""
    log_threshold: Array
    """At `knock.KNOCK_THRESHOLD_SPEED`."""
    threshold_exponent: Array
    cyclic: Array
    cylinders: Array
    lambda_z: Array
    temperature_z: Array
    heating: Array
    evaporated: Array
    """Share of the fuel's heat of evaporation that the charge gives [-]."""

    @property
    def count(self) -> int:
        """Number of draws."""
        return len(self.peak_model)

    def take(self, part: slice) -> "CylinderDraws":
        """Some of the draws."""
        values = {f.name: getattr(self, f.name) for f in dataclasses.fields(self)}
        other = {name: value[part] for name, value in values.pop("other").items()}
        common, first, second = values.pop("phasing_z")
        return CylinderDraws(
            other=other,
            phasing_z=(common[part], first[part], second[part]),
            **{name: v[part] for name, v in values.items()},
        )


def cylinder_draws(engine: Engine, draws: Draws) -> CylinderDraws:
    """Draws of the cylinder model for an engine."""
    burn = engine.declaration("charge.burn_duration")
    if engine.has("charge.burn_duration"):
        burn_factor = np.exp(burn.spread_given * draws.deviates["charge.burn_duration"])
    else:
        model = spreads.BURN_COMPRESSION if engine.compression_ignition else spreads.BURN_SPARK
        burn_factor = draws.of_model(model)
    ratio = engine.value("compression_ratio")
    cyclic = spreads.CYCLIC_COMPRESSION if engine.compression_ignition else spreads.CYCLIC
    return CylinderDraws(
        other={
            "burn_factor": burn_factor,
            "ratio_factor": draws.of_value(ratio) / ratio.value,
            "heat": draws.of_value(engine.value("charge.heat_loss_scale")),
        },
        log_injected=np.log(_injected_factor(engine, draws)),
        peak_model=draws.of_model(spreads.PEAK_MODEL),
        peak_limit=draws.of_value(engine.value(spreads.PEAK_LIMIT))
        if engine.compression_ignition
        else np.full(draws.count, np.inf),
        friction=draws.of_value(engine.value("charge.friction_scale")),
        pumping_z=draws.deviates[spreads.PUMPING.name],
        reading_z=draws.deviates[spreads.READING.name],
        phasing_z=(
            draws.deviates["model.phasing"],
            draws.deviates[spreads.PHASING_ALONG[0].name],
            draws.deviates[spreads.PHASING_ALONG[1].name],
        ),
        ca50_reading=draws.of_model(spreads.PHASING[PhasingSource.GIVEN]),
        best_phasing=phasing.MBT_CA50 + draws.of_model(spreads.BEST_PHASING),
        octane_z=draws.deviates[spreads.OCTANE],
        sensitivity_weight=knock.SENSITIVITY_WEIGHT + draws.of_model(spreads.OCTANE_SENSITIVITY),
        log_threshold=np.log(knock.KNOCK_THRESHOLD_MEDIAN)
        + np.log(draws.of_model(spreads.KNOCK_THRESHOLD)),
        threshold_exponent=knock.KNOCK_THRESHOLD_SPEED_EXPONENT
        + draws.of_model(spreads.KNOCK_TREND),
        cyclic=draws.of_model(cyclic),
        cylinders=draws.of_model(spreads.CYLINDERS),
        lambda_z=draws.deviates["fuel.lambda_"],
        temperature_z=draws.deviates["charge.intake_temperature"],
        heating=draws.of_value(engine.value("charge.trapped_heating")),
        evaporated=np.clip(
            gas_exchange.EVAPORATED_IN_CHARGE + draws.of_model(spreads.EVAPORATION), 0.0, 1.0
        ),
    )


def _injected_factor(engine: Engine, draws: Draws) -> Array:
    """Draws (N,) of what burns as it is injected over the correlation's; 1 for spark.

    From the ignition delay, longer or shorter than its correlation, and from the split itself. The
    cetane number's part is that of DELAY_STATE: it enters an exponent that load changes little.
    """
    if not engine.compression_ignition:
        return np.ones(draws.count)
    cetane = engine.value(spreads.CETANE)
    drawn, middle = (
        np.asarray(ignition_delay_hardenberg_hase(*DELAY_STATE, number))
        for number in (draws.of_value(cetane), cetane.value)
    )
    delay = draws.of_model(spreads.IGNITION_DELAY) * drawn / middle
    split = draws.of_model(spreads.PREMIXED)
    return np.asarray(delay**INJECTED_DELAY_EXPONENT / split)
