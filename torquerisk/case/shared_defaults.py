"""Defaults that the sections of an engine file share."""

from __future__ import annotations

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
