"""The cylinder that response tables are made for, and the speeds that the model holds at."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.quantities import RPM
from torquerisk.study.cycle import cylinder
from torquerisk.study.draws import spreads

LOWEST_SPEED = 700 * RPM
"""Speed from which the burn correlations hold [rad/s]."""
SMALL_BORE, SMALL_BORE_EXPONENT = 0.05, 1.5
"""Bore of a diesel below which the lowest speed rises [m], and by which power of it: heat goes with
time and with wall for the charge, so such engines idle faster too (common practice)."""
TABLE_ENDS = {
    False: (9_000 * RPM, 12_000 * RPM, 16_000 * RPM),
    True: (6_000 * RPM, 9_000 * RPM, 12_000 * RPM),
}
"""Where response tables may end, by compression ignition [rad/s]: few places, so that a run, the
known-good run and the speeds that evidence is judged at share their tables."""


def lowest_speed(engine: Engine) -> float:
    """Lowest speed [rad/s] that the model holds at: higher in a diesel of less than SMALL_BORE.

    There the walls take most heat of a slow light load, and no trapped charge gives it.
    """
    small = SMALL_BORE / engine.bore if engine.compression_ignition else 1.0
    return LOWEST_SPEED * max(small, 1.0) ** SMALL_BORE_EXPONENT


def highest_speed(engine: Engine) -> float:
    """Highest speed [rad/s] that the model holds at."""
    return TABLE_ENDS[engine.compression_ignition][-1]


def cylinder_spec(engine: Engine, ethanol_share: float, fastest: float) -> cylinder.CylinderSpec:
    """The cylinder that the response surface is made for. fastest: speed wanted of it [rad/s]."""
    burn = engine.given("charge.burn_duration")
    diesel = engine.compression_ignition
    ends = TABLE_ENDS[diesel]
    return cylinder.CylinderSpec(
        bore=engine.bore,
        stroke=engine.stroke,
        rod_length=engine.rod_length,
        pin_offset=engine.value("pin_offset").value,
        compression_ratio=engine.compression_ratio,
        compression_ignition=engine.compression_ignition,
        ethanol_share=ethanol_share,
        burn_duration=None if burn is None else float(burn),
        residual_fraction=engine.value("charge.residual_fraction").value,
        intake_closing=-np.pi + engine.value("charge.intake_closing").value,
        exhaust_opening=np.pi - engine.value("charge.exhaust_opening").value,
        speed_low=lowest_speed(engine),
        speed_high=next((end for end in ends if fastest * 1.02 <= end), ends[-1]),
        **({"cetane": engine.value(spreads.CETANE).value} if diesel else {}),
    )
