"""Numbers of the JSON documents: what is infinite is null, no result may be not a number, and what
is written has twelve significant digits (identities among written numbers are tested to 1e-9). The
documents themselves are unrounded, as are CSV files of runs, which must read back bit for bit.
"""

import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from torquerisk.files.exports import to_json
from torquerisk.show.words.columns import Column, Row
from torquerisk.study.answers.results import Band, Spread

Document = dict[str, Any]
POINTS = ("p05", "p50", "p95")
DIGITS = 12
"""Significant digits written: no digits of conversion, and identities among written numbers still
hold to 1e-9, as the tests ask (torque times speed is power, clamp over gas force its ratio)."""


def document_text(document: Mapping[str, Any]) -> str:
    """A document as the JSON text that command and page give: every number rounded to DIGITS."""
    return to_json(_rounded(document))


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if isinstance(value, Mapping):
        return {key: _rounded(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(v) for v in value]
    if isinstance(value, np.ndarray | np.generic):
        return _rounded(value.tolist())
    return value


def finite(value: float) -> float | None:
    """The value, or None where it is infinite; a NaN is an error of ours."""
    if math.isnan(value):
        raise ArithmeticError("a result is not a number")
    return value if math.isfinite(value) else None


def points(values: Band, k: int, size: float) -> dict[str, float | None]:
    """The three points of a band at one speed, in a unit of that SI size."""
    return {p: finite(float(getattr(values, p)[k]) / size) for p in POINTS}


def spread_points(values: Spread, size: float) -> dict[str, float | None]:
    """The three points of a spread, in a unit of that SI size."""
    return {p: finite(float(getattr(values, p)) / size) for p in POINTS}


def keyed(columns: Iterable[Column[Row]], row: Row) -> dict[str, Any]:
    """The columns of a row that JSON has, by their keys."""
    return {c.key: _value(c.value(row), c.size) for c in columns if c.json}


def _value(value: Any, size: float) -> Any:
    if value is None or isinstance(value, str | bool | dict | list):
        return value
    if isinstance(value, tuple):
        return {p: finite(float(v) / size) for p, v in zip(POINTS, value, strict=True)}
    return finite(float(value) / size)
