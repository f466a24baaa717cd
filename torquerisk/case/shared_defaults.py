"""Defaults that the sections of an engine file share."""

from __future__ import annotations

import math
from typing import Any

PRACTICE = "(common practice, no source)"


def by_ignition(spark: float | str | None, compression: float | str) -> Any:
    """A default by kind of ignition."""
    return lambda engine: compression if engine.compression_ignition else spark


DIESEL_BORE = 0.083
"""Bore of a usual car diesel [m], which the diesel's proportions below are of."""


def bore_power(spark: float, compression: float, power: int, growth: float = 0.0) -> Any:
    """A default that scales with a power of the bore [m], by kind of ignition.

    growth: further power of the bore over DIESEL_BORE with compression ignition. Large diesels run
    at more pressure and last longer, so their parts grow faster than the bore.
    """

    def default(engine: Any) -> float:
        size: float = engine.bore**power
        if engine.compression_ignition:
            return compression * size * (engine.bore / DIESEL_BORE) ** growth
        return spark * size

    return default


USUAL_ACCELERATION = 20e3
"""Of a crank pin at rated power, of cars: 86 mm of stroke at 6,500 rpm [m/s^2]."""


SHORT_STROKE = 1.35
"""Bore over stroke from which an engine is built for a motorcycle's speeds [-] (from memory:
motorcycles 1.35 to 1.7, cars to 1.33)."""
SHORT_STROKE_PISTON_SPEED = 21.0
"""Mean piston speed at rated power of such engines [m/s], 19 to 25 (from memory)."""


def piston_mass(engine: Any) -> float:
    """Piston with rings and pin [kg]: by the bore cubed, and of spark engines lighter where they
    are made for more speed than cars: 0.20 kg for 76 mm bore at 47,000 m/s^2 (from memory)."""
    usual: float = bore_power(660.0, 1350.0, 3, growth=0.5)(engine)
    speed = engine.rated.power_speed
    if speed is None and engine.bore >= SHORT_STROKE * engine.stroke:
        speed = math.pi * SHORT_STROKE_PISTON_SPEED / engine.stroke
    if engine.compression_ignition or speed is None:
        return usual
    acceleration = engine.stroke / 2 * speed**2
    return usual * max(acceleration / USUAL_ACCELERATION, 1.0) ** -0.43


CAR_CYLINDER, TRUCK_CYLINDER = 0.7e-3, 1.1e-3
"""Swept volume of the largest cylinder of a car diesel and of the smallest of a truck [m^3]."""


def by_size_of_diesel(car: float, truck: float, *, spark: float | None = None) -> Any:
    """A default by kind of diesel, which one cylinder's swept volume tells, and of spark."""
    width = math.log(TRUCK_CYLINDER / CAR_CYLINDER)

    def default(engine: Any) -> float | None:
        if not engine.compression_ignition:
            return spark
        place = math.log(engine.swept_volume / CAR_CYLINDER) / width
        value = car + (truck - car) * min(max(place, 0.0), 1.0)
        return float(f"{value:.3g}")

    return default
