"""Limits of combustion: knock at the phasing judged at, and at any that a tuner would use."""

import numpy as np

from torquerisk.case import Engine
from torquerisk.study.limits.limit import Limit, LimitKind
from torquerisk.study.loads.demand import LATEST_SANE_CA50


def _spark_only(engine: Engine) -> tuple[str, ...]:
    return ("spark ignition",) if engine.compression_ignition else ()


KNOCK = Limit(
    name="knock",
    title="Knock",
    protects="pistons and bearings: above this the fuel knocks at the phasing judged at",
    kind=LimitKind.KNOCK,
    quantity="knock integral over that of audible knock",
    unit="",
    load=lambda d, _: np.exp(d.knock_excess),
    strength=lambda *_: np.asarray(1.0),
    lifted_by="a later burn, fuel of higher octane, more ethanol, cooler charge, the same torque "
    "at higher speed",
    source="DOUAUD_EYZAT, LIVENGOOD_WU, PRACTICE",
    missing=_spark_only,
)
OCTANE = Limit(
    name="octane",
    title="Octane of the fuel",
    protects="pistons and bearings: above this the fuel knocks at any phasing a tuner would use",
    kind=LimitKind.COMBUSTION,
    quantity="earliest CA50 without audible knock",
    unit="deg",
    load=lambda d, _: d.knock_limited_ca50,
    strength=lambda *_: np.asarray(LATEST_SANE_CA50),
    lifted_by="fuel of higher octane, more ethanol, cooler charge, the same torque at higher speed",
    source="DOUAUD_EYZAT, LIVENGOOD_WU, PRACTICE",
    missing=_spark_only,
)
LIMITS = (KNOCK, OCTANE)
