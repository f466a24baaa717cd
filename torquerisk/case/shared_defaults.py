"""Defaults that the sections of an engine file share."""

from __future__ import annotations

from typing import Any

PRACTICE = "(common practice, no source)"


def by_ignition(spark: float | str | None, compression: float | str) -> Any:
    """A default by kind of ignition."""
    return lambda engine: compression if engine.compression_ignition else spark


def bore_power(spark: float, compression: float, power: int) -> Any:
    """A default that scales with a power of the bore [m], by kind of ignition."""
    return lambda e: (compression if e.compression_ignition else spark) * e.bore**power
