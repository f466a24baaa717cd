"""Designations in an engine file held against the tables that will be asked for them later."""

from collections.abc import Callable
from typing import TypeVar

from torquerisk.case import Engine
from torquerisk.errors import InputError
from torquerisk.physics.head_joint.fastener_rows import fasteners_by_row
from torquerisk.physics.head_joint.property_class import strength_class
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.running_gear.bearing_linings import LININGS
from torquerisk.physics.running_gear.main_bearing import firing_angles
from torquerisk.physics.running_gear.oil import high_shear_of

SPECIAL = "special"
OWN = (
    ' For fasteners outside these write property_class = "special" and give yield_strength and '
    'tensile_strength, such as "170 ksi" and "190 ksi".'
)

T = TypeVar("T")


def check_designations(engine: Engine) -> None:
    """Refuse a thread, class, lining or oil grade that no table knows, in one sentence."""
    _thread_and_class(engine, "head_joint.thread", "head_joint.property_class")
    makers = engine.head_joint
    if makers.original_thread or makers.original_class:
        thread = "original_thread" if makers.original_thread else "thread"
        size = _known(f"head_joint.{thread}", screw_thread, engine.word(f"head_joint.{thread}"))
        if makers.original_class:
            _known(
                "head_joint.original_class",
                lambda name: strength_class(name, size.nominal_diameter),
                makers.original_class,
            )
    _thread_and_class(engine, "running_gear.rod_bolt_thread", "running_gear.rod_bolt_class")
    if engine.has("running_gear.oil_grade"):
        _known("running_gear.oil_grade", high_shear_of, engine.word("running_gear.oil_grade"))
    order = engine.given("running_gear.firing_order")
    if order is not None:
        firing_angles(str(order), engine.cylinders)
    if engine.has("running_gear.bank_angle") and engine.cylinders % 2:
        raise InputError(
            f"running_gear.bank_angle is given for {engine.cylinders} cylinders, but two rows that "
            "share main bearings need an even number: leave it out."
        )
    rows = engine.given("head_joint.fasteners_by_row")
    if rows is not None:
        each = engine.head_joint.fasteners // int(engine.value("heads").value)
        fasteners_by_row(str(rows), each, engine.cylinders_per_head)
    lining = engine.given("running_gear.big_end_lining")
    if lining is not None and lining not in LININGS:
        raise InputError(
            f"running_gear.big_end_lining is {lining!r}, but must be one of {'; '.join(LININGS)}."
        )


def _thread_and_class(engine: Engine, thread: str, strength: str) -> None:
    size = _known(thread, screw_thread, engine.word(thread)).nominal_diameter
    word = engine.word(strength)
    of_head = strength == "head_joint.property_class"
    if not of_head or word.casefold() != SPECIAL:
        _known(strength, lambda name: strength_class(name, size), word, OWN if of_head else "")
        return
    own = ("head_joint.yield_strength", "head_joint.tensile_strength")
    if not all(engine.has(name) for name in own):
        raise InputError(f"{strength} is 'special', which needs {' and '.join(own)} as well.")


def _known(name: str, table: Callable[[str], T], word: str, otherwise: str = "") -> T:
    try:
        return table(word)
    except InputError as error:
        raise InputError(f"{name}: {error}{otherwise}") from None
