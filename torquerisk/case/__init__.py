"""Frozen inputs: engine, run and policy, each field declared once."""

# ruff: noqa: F401

from torquerisk.case.declare import Declaration, Kind, Value, declarations
from torquerisk.case.engine import COMPRESSION_ONLY, SECTIONS, Engine
from torquerisk.case.notice import CAUTIONS, GAS_ELSEWHERE, LEFT_OUT, LIFTS, Notice
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
