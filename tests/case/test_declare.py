import math

import numpy as np
import pytest

from torquerisk.case import SECTIONS, Engine, Policy, TestFacts
from torquerisk.case.declare import Declaration, Kind, declarations
from torquerisk.case.sections import Charge, Fuel, HeadJoint, KnownGood, RunningGear, Supply
from torquerisk.case.sections import Valvetrain as Valves
from torquerisk.errors import InputError

OWNERS = (
    Engine,
    Fuel,
    Charge,
    RunningGear,
    HeadJoint,
    Valves,
    Supply,
    TestFacts,
    KnownGood,
    Policy,
)
ALL = [
    pytest.param(declaration, id=f"{owner.__name__}.{key}")
    for owner in OWNERS
    for key, declaration in declarations(owner).items()
]


@pytest.mark.parametrize("declaration", ALL)
def test_every_declaration_is_whole(declaration):
    """Identity: range, label and reason follow from one place, so none may be missing there."""
    assert declaration.label
    if declaration.kind is not None:
        assert math.isfinite(declaration.low)
        assert math.isfinite(declaration.high)
        assert declaration.low < declaration.high
    if isinstance(declaration.default, int | float):
        assert declaration.low <= declaration.default <= declaration.high
    if declaration.options and isinstance(declaration.default, str):
        assert declaration.default in declaration.options
    if declaration.default is not None:
        assert declaration.reason, "a default needs its reason"
    assert declaration.spread_given >= 0
    assert declaration.spread_assumed >= 0
    if declaration.default is not None and declaration.spread_given:
        assert declaration.spread_assumed >= declaration.spread_given, "assumed is never surer"


def test_the_engine_has_every_section_that_the_reader_knows():
    """Identity: SECTIONS names the sections of the dataclass, in order."""
    names = tuple(f for f in Engine.__dataclass_fields__ if f in SECTIONS)
    assert names == SECTIONS


@pytest.mark.parametrize("kind", list(Kind))
def test_shown_and_from_shown_are_inverse(kind):
    """Identity: what is shown leads back to the SI value."""
    for value in (0.0, 1.0, 293.15, 1e5):
        assert kind.from_shown(kind.shown(value)) == pytest.approx(value, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("kind", "shown", "si"),
    [
        (Kind.SPEED, 3000, 100 * math.pi),
        (Kind.TEMPERATURE, 25, 298.15),
        (Kind.PRESSURE, 101.325, 101325),
        (Kind.TORQUE_RISE, 60, 60 / (1000 * 2 * math.pi / 60)),
        (Kind.VOLUME_FLOW, 36, 1e-5),
        (Kind.MASS_FLOW, 36, 0.01),
        (Kind.STIFFNESS, 1, 1e6),
        (Kind.LINE_LOAD, 50, 5e4),
        (Kind.ANGLE, 180, math.pi),
    ],
)
def test_shown_units_have_the_right_size(kind, shown, si):
    """Source: definitions of the units (BIPM SI brochure, 9th edition)."""
    assert kind.from_shown(shown) == pytest.approx(si, rel=1e-12)


COUNT = Declaration(label="Things", kind=Kind.COUNT, low=1, high=16)
LENGTH = Declaration(label="Bore", kind=Kind.LENGTH, low=0.03, high=0.2)
WORD = Declaration(label="Way", kind=None, options=("torque", "angle"))


@pytest.mark.parametrize("value", [4, 4.0, np.int64(4), np.float64(4)])
def test_whole_numbers_of_any_type_count(value):
    """Identity: numpy's numbers are numbers."""
    COUNT.check("things", value)


def test_an_end_of_the_range_is_inside_whatever_its_unit_rounds_off():
    """Edge: 30 and 200 mm, one float up or down; a part in a billion beyond is refused."""
    for end in (LENGTH.low, LENGTH.high):
        LENGTH.check("x", float(np.nextafter(end, 0)))
        LENGTH.check("x", float(np.nextafter(end, 1)))
    with pytest.raises(InputError, match="must be from"):
        LENGTH.check("x", LENGTH.low * (1 - 1e-9))


@pytest.mark.parametrize(
    ("declaration", "value", "says"),
    [
        (COUNT, 4.5, "whole number"),
        (COUNT, True, "must be a number"),
        (COUNT, 0, "must be from 1 to 16"),
        (COUNT, 17, "must be from 1 to 16"),
        (LENGTH, 0.0299, "x is 29.9 mm, but must be from 30 mm to 200 mm"),
        (LENGTH, 86.0, "must be from 30 mm to 200 mm; check the number and its unit"),
        (LENGTH, math.nan, "must be from"),
        (LENGTH, math.inf, "must be from"),
        (LENGTH, "86 mm", "must be a number"),
        (WORD, "feel", "must be one of torque, angle"),
    ],
)
def test_values_outside_are_refused_in_one_sentence(declaration, value, says):
    """Identity: which input, what was given, what is allowed."""
    with pytest.raises(InputError, match=says) as caught:
        declaration.check("x", value)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("x is ")
