"""The spreads that belong to the models, each with its size and reason, and all that is drawn."""

from torquerisk.physics.cylinder import abnormal, gas_exchange, knock, phasing, spread
from torquerisk.physics.cylinder.burn import INJECTED_LOG_SD
from torquerisk.physics.cylinder.burn_duration import (
    DELAY_LOG_SD,
    DURATION_COMPRESSION_LOG_SD,
    DURATION_SPARK_LOG_SD,
)
from torquerisk.quantities import DEGREE
from torquerisk.study.draws.columns import COLUMNS
from torquerisk.study.draws.simulated_engines import Draws, ModelSpread, standard_draws
from torquerisk.study.run.operating_state import PhasingSource

READING = ModelSpread(
    "model.reading", "torque reading", 1.0,
    "calibration, correction, driveline loss and inertia, as stated for the run", logarithmic=False,
)  # fmt: skip
PHASING = {
    PhasingSource.GIVEN: ModelSpread(
        "model.ca50_reading", "phasing (CA50 given)", 1.0 * DEGREE,
        "an encoder's TDC is set to about half a degree, and cylinders differ", logarithmic=False,
    ),
    PhasingSource.IGNITION_ADVANCE: ModelSpread(
        "model.phasing", "phasing (from ignition advance)", 1.0,
        "burn delay, duration and timing reference, as stated in `phasing`", logarithmic=False,
    ),
    PhasingSource.EFFICIENCY: ModelSpread(
        "model.phasing", "phasing (bounded by torque, manifold pressure and lambda)",
        phasing.UNKNOWN_PHASING_CA50_SD_SPARK,
        "as assumed, then bounded by the charge that the engine took", logarithmic=False,
    ),
    PhasingSource.ASSUMED: ModelSpread(
        "model.phasing", "phasing (assumed)", phasing.UNKNOWN_PHASING_CA50_SD_SPARK,
        "together with the knock threshold about plus or minus 12 degrees, -15/+25 % of peak",
        logarithmic=False,
    ),
}  # fmt: skip
PHASING_ALONG = tuple(
    ModelSpread(
        f"model.phasing_along_{k}",
        f"phasing as it changes along speed, part {k}",
        1.0,
        "a third of the variance of phasing that nobody measured: maps and burn models err "
        "differently low and high",
        logarithmic=False,
    )
    for k in (1, 2)
)
PHASING_COMPRESSION = ModelSpread(
    "model.phasing", "phasing (assumed, compression ignition)", phasing.CA50_COMPRESSION_SD,
    "injection timing is not known", logarithmic=False,
)  # fmt: skip
BEST_PHASING = ModelSpread(
    "model.best_phasing", "CA50 for best torque", phasing.MBT_CA50_SD,
    "published 8 to 10 degrees", logarithmic=False,
)  # fmt: skip
BURN_SPARK = ModelSpread(
    "charge.burn_duration", "burn duration", DURATION_SPARK_LOG_SD,
    "correlation with speed and load",
)  # fmt: skip
BURN_COMPRESSION = ModelSpread(
    "charge.burn_duration", "burn duration", DURATION_COMPRESSION_LOG_SD,
    "correlation with speed and load",
)  # fmt: skip
IGNITION_DELAY = ModelSpread(
    "model.ignition_delay", "ignition delay", DELAY_LOG_SD,
    "correlations of the same years differ two- to threefold at light load",
)  # fmt: skip
PREMIXED = ModelSpread(
    "model.premixed_share", "premixed share (pilot and split injection unknown)", INJECTED_LOG_SD,
    "of what burns as it is injected, common practice, no source: 2 to 30 % premixed at full load",
)  # fmt: skip
PEAK_MODEL = ModelSpread(
    "model.peak_pressure", "peak-pressure model", 0.04,
    "two measured engines, given their work and phasing, read 4 to 5 % above the model",
)  # fmt: skip
PUMPING = ModelSpread(
    "model.pumping", "pumping work", 1.0,
    "30 % of it and 8 kPa: exhaust pressure is rarely logged", logarithmic=False,
)  # fmt: skip
KNOCK_THRESHOLD = ModelSpread(
    "model.knock_threshold", "knock threshold", knock.KNOCK_THRESHOLD_LOG_SD,
    "the integral at audible knock differs between engines by a quarter",
)  # fmt: skip
KNOCK_TREND = ModelSpread(
    "model.knock_trend", "trend of the knock threshold with speed",
    knock.KNOCK_THRESHOLD_SPEED_SD,
    "the delay is one slow engine's: the knock limit moves less with speed than it says",
    logarithmic=False,
)  # fmt: skip
EVAPORATION = ModelSpread(
    "model.evaporation", "share of the ethanol's evaporation that cools the charge",
    gas_exchange.EVAPORATED_IN_CHARGE_SD,
    "0.2 to 0.4 injected into the port, 0.6 to 0.8 into the cylinder (from memory)",
    logarithmic=False,
)  # fmt: skip
OCTANE_SENSITIVITY = ModelSpread(
    "model.octane_sensitivity", "weight of the ethanol's octane sensitivity",
    knock.SENSITIVITY_WEIGHT_SD, "published 0.3 to 1 in modern engines", logarithmic=False,
)  # fmt: skip
CYCLIC = ModelSpread(
    "model.cyclic", "cycle-to-cycle spread of peak pressure", spread.COV_PEAK_LOG_SD,
    "published 5 to 10 % at best phasing",
)  # fmt: skip
CYCLIC_COMPRESSION = ModelSpread(
    "model.cyclic", "cycle-to-cycle spread of peak pressure", spread.COV_COMPRESSION_LOG_SD,
    "about 1 % in diesel engines",
)  # fmt: skip
CYLINDERS = ModelSpread(
    "model.cylinders", "cylinder-to-cylinder spread", spread.CYLINDER_LOG_SD,
    "published plus or minus 5 to 8 % of peak",
)  # fmt: skip
TOOL = ModelSpread(
    "model.tool", "tightening tool and hand", 1.0, "as published for the tightening method",
    logarithmic=False,
)  # fmt: skip
STRENGTH = ModelSpread(
    "model.fastener_strength", "fastener strength over its usual excess", 0.035,
    "batches lie 1.0 to 1.2 of the class minimum",
)  # fmt: skip
BLOCK_STRENGTH = ModelSpread(
    "model.block_strength", "strength of the block's thread", 0.035,
    "the material's strength is taken at the low side of what is usual",
)  # fmt: skip
COMPLIANCE = ModelSpread(
    "model.compliance", "stiffness of the clamped parts", 0.30,
    "a cored head is no plate: the material around a fastener counts",
)  # fmt: skip
LINING = ModelSpread(
    "model.lining", "bearing lining and bush guidance", 0.12,
    "published guidance has a careful and a bold end",
)  # fmt: skip
EYE_STRESS = ModelSpread(
    "model.eye_stress", "stress concentration of the small-end eye", 0.15,
    "run-outs into the shank are cut with radii of all sizes",
)  # fmt: skip
CAP_STRESS = ModelSpread(
    "model.cap_stress", "stress concentration of the big-end cap", 0.15,
    "bolt seats and ribs are cut with radii of all sizes",
)  # fmt: skip
PRYING = ModelSpread(
    "model.prying", "prying on the rod bolts", 0.12,
    "1.1 to 1.8 by how freely the big end draws in",
)  # fmt: skip
ROD_ECCENTRICITY = ModelSpread(
    "model.rod_eccentricity", "eccentricity of the load on the rod", 0.25,
    "a tenth to a seventh off the ideal column",
)  # fmt: skip
VALVE_FLOAT = ModelSpread(
    "model.valve_float", "speed at which valves float", 0.08,
    "trains bend and springs surge: floating starts before or after the sum says",
)  # fmt: skip
KNOCK_RATE = ModelSpread(
    "model.knock_rate", "rate of heavy knock", abnormal.KNOCK_RATE_LOG_SD,
    "order of magnitude",
)  # fmt: skip
PREIGNITION_RATE = ModelSpread(
    "model.preignition_rate", "rate of pre-ignition", abnormal.PREIGNITION_LOG_SD,
    "published rates span a decade",
)  # fmt: skip
ABNORMAL = ModelSpread(
    "model.abnormal", "luck with abnormal cycles in one pull", 1.0,
    "a uniform number: in which pull one comes is chance", logarithmic=False,
)  # fmt: skip
HEARD = ModelSpread(
    "model.heard", "whether knock is heard in time", 1.0,
    "a uniform number: who listens hears most of it", logarithmic=False,
)  # fmt: skip
SUPPLY = ModelSpread(
    "model.supply", "brake efficiency", 0.06, "0.27 to 0.34 at full load (common practice)",
)  # fmt: skip
RATED_READING = ModelSpread(
    "model.rated_reading", "engines of a type against their data sheet", 1.0,
    "as stated for the rating", logarithmic=False,
)  # fmt: skip
RATED_PHASING = ModelSpread(
    "model.rated_phasing", "phasing at the rated curve", 1.0,
    "the maker's calibration is not the run's", logarithmic=False,
)  # fmt: skip
CLASS_RATING = ModelSpread(
    "model.class_rating", "rating of an engine of its kind", 1.0,
    "textbook ranges of mean pressure, as stated for the kind", logarithmic=False,
)  # fmt: skip
EARLIER_READING = ModelSpread(
    "model.earlier_reading", "torque reading of the known-good run", 1.0,
    "another dyno on another day", logarithmic=False,
)  # fmt: skip
EARLIER_PHASING = ModelSpread(
    "model.earlier_phasing", "phasing of the known-good run", 1.0,
    "where its phasing comes from another source than the run's", logarithmic=False,
)  # fmt: skip
ACCEPTANCE = ModelSpread(
    "model.acceptance",
    "acceptance by evidence",
    1.0,
    "a uniform number",
    logarithmic=False,
)

MODEL_SPREADS: tuple[ModelSpread, ...] = (
    READING, PHASING[PhasingSource.ASSUMED], PHASING[PhasingSource.GIVEN], BEST_PHASING,
    BURN_SPARK, PEAK_MODEL, PUMPING,
    KNOCK_THRESHOLD, CYCLIC, CYLINDERS, TOOL, STRENGTH, BLOCK_STRENGTH, COMPLIANCE, LINING,
    EYE_STRESS, CAP_STRESS, PRYING, ROD_ECCENTRICITY, VALVE_FLOAT, KNOCK_RATE, PREIGNITION_RATE,
    SUPPLY, ABNORMAL, HEARD, KNOCK_TREND, *PHASING_ALONG,
    EVAPORATION, OCTANE_SENSITIVITY,
    EARLIER_READING, EARLIER_PHASING, RATED_READING, RATED_PHASING, CLASS_RATING, ACCEPTANCE,
)  # fmt: skip
"""One of each name; sizes may differ by kind of engine and by channel."""
MODEL_SPREADS_COMPRESSION: tuple[ModelSpread, ...] = (IGNITION_DELAY, PREMIXED)
"""Those that only a compression-ignition engine has."""

OPTIONAL_INPUTS: tuple[str, ...] = (
    "head_joint.tightening_torque",
    "running_gear.rod_bolt_stretch",
    "running_gear.ring_land_height",
    "valvetrain.valve_effective_mass",
    "valvetrain.valve_deceleration",
    "valvetrain.spring_force_at_nose",
    "valvetrain.spring_force_on_seat",
    "supply.fuel_pump_flow",
    "supply.high_pressure_pump_volume",
    "supply.injector_flow",
    "supply.wastegate_spring",
    "supply.compressor_flow",
    "supply.pressure_sensor_limit",
    "supply.spark_reserve",
)
OCTANE = "fuel.octane"
CETANE = "fuel.cetane"
PEAK_LIMIT = "charge.peak_pressure_limit"
INPUTS_COMPRESSION = (CETANE, PEAK_LIMIT)
"""Inputs that only a compression-ignition engine has."""


DRAWN_COMPRESSION: tuple[str, ...] = (
    *(item.name for item in MODEL_SPREADS_COMPRESSION),
    *INPUTS_COMPRESSION,
)
"""What is drawn for compression ignition alone."""
DRAWN: tuple[str, ...] = tuple(n for n in COLUMNS if n and n not in DRAWN_COMPRESSION)
"""Everything that is drawn for any engine, given or not."""
DRAWN_INPUTS: tuple[str, ...] = tuple(
    name for name in DRAWN
    if name not in (*(item.name for item in MODEL_SPREADS), OCTANE, *OPTIONAL_INPUTS)
)  # fmt: skip
"""Inputs that always have a value, given or assumed."""


def drawn(*, compression_ignition: bool) -> tuple[str, ...]:
    """Everything that is drawn for an engine of a kind of ignition."""
    return (*DRAWN, *DRAWN_COMPRESSION) if compression_ignition else DRAWN


def engine_draws(*, compression_ignition: bool, count: int, seed: int, start: int = 0) -> Draws:
    """Deviates of everything that is drawn for a kind of ignition, (count,) each, from one on."""
    return standard_draws(drawn(compression_ignition=compression_ignition), count, seed, start)
