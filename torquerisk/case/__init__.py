"""Frozen inputs: engine, run and policy, each field declared once."""

from torquerisk.case.declare import Declaration, Kind, Value, declarations
from torquerisk.case.engine import COMPRESSION, COMPRESSION_ONLY, SECTIONS, SPARK, Engine
from torquerisk.case.notice import CAUTIONS, Notice
from torquerisk.case.policy import Policy, default_policy
from torquerisk.case.run import CHANNELS, Run
from torquerisk.case.sections import (
    Charge,
    Fuel,
    HeadJoint,
    KnownGood,
    Rated,
    Rung,
    RunningGear,
    Supply,
    TestFacts,
    Valvetrain,
)

__all__ = [
    "CAUTIONS",
    "CHANNELS",
    "COMPRESSION",
    "COMPRESSION_ONLY",
    "SECTIONS",
    "SPARK",
    "Charge",
    "Declaration",
    "Engine",
    "Fuel",
    "HeadJoint",
    "Kind",
    "KnownGood",
    "Notice",
    "Policy",
    "Rated",
    "Run",
    "Rung",
    "RunningGear",
    "Supply",
    "TestFacts",
    "Value",
    "Valvetrain",
    "declarations",
    "default_policy",
]
