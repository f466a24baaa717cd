"""The sections of an engine file; every input declared once with its default, spread and reason."""

from torquerisk.case.sections_charge import Charge, Fuel
from torquerisk.case.sections_gear import RunningGear
from torquerisk.case.sections_joint import HeadJoint
from torquerisk.case.sections_run import KnownGood, Rated, Rung, TestFacts
from torquerisk.case.sections_supply import Supply, Valvetrain

__all__ = [
    "Charge",
    "Fuel",
    "HeadJoint",
    "KnownGood",
    "Rated",
    "Rung",
    "RunningGear",
    "Supply",
    "TestFacts",
    "Valvetrain",
]
