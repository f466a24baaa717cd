"""What goes in: the case, and its inputs as widgets made from their declarations."""

import math
from collections.abc import Iterator
from typing import Any

import streamlit as st

from torquerisk.case import SECTIONS, Declaration, Engine, Kind, declarations
from torquerisk.errors import InputError
from torquerisk.show.page.html import safe_markdown

TITLES = {
    "": "Engine",
    "fuel": "Fuel",
    "charge": "Charge",
    "running_gear": "Rod, piston, bearing",
    "head_joint": "Head joint",
    "valvetrain": "Valves",
    "supply": "Supply",
    "test": "How the run was measured",
    "rated": "Data sheet",
    "known_good": "Known good",
}
MATTER = (
    "compression_ratio",
    "fuel.blend",
    "fuel.octane",
    "charge.intake_temperature",
    "head_joint.thread",
    "head_joint.property_class",
    "head_joint.fasteners",
    "head_joint.tightening",
    "head_joint.tightening_torque",
    "head_joint.tightening_angle",
    "head_joint.thread_friction",
    "head_joint.sealing_diameter",
    "head_joint.ring_share",
    "head_joint.sealing_line_load",
    "running_gear.piston_mass",
    "running_gear.rod_mass",
    "running_gear.rod_section_area",
    "running_gear.rod_yield_strength",
    "running_gear.pin_diameter",
    "test.correction",
    "test.measured_at",
    "test.driveline_loss",
    "test.ambient_pressure",
    "test.ambient_temperature",
    "test.sweep_rate",
    "test.inertia",
)
"""Inputs shown at once; every other one is a choice away."""
FILES_ONLY = ("known_good.run",)


def pretty_unit(unit: str) -> str:
    """A unit as people write it."""
    return (
        unit.replace("N*m/1000rpm", "N·m per 1,000 rpm")
        .replace("*", "·")
        .replace("^2", "²")
        .replace("^3", "³")
        .replace("um", "µm")
    )


def every_input(engine: Engine) -> Iterator[tuple[str, Declaration]]:
    """Names and declarations of all inputs, in order."""
    for section, owner in (("", Engine), *((s, type(getattr(engine, s))) for s in SECTIONS)):
        for key, declaration in declarations(owner).items():
            name = f"{section}.{key}" if section else key
            if name not in FILES_ONLY:
                yield name, declaration


def section_of(name: str) -> str:
    """Section of an input's name; empty for the engine itself."""
    return name.rpartition(".")[0]


def assumed_words(engine: Engine, name: str, declaration: Declaration) -> str:
    """What stands in for an input that was not given."""
    try:
        if declaration.kind is None:
            return f"assumed: {engine.word(name)}"
        value = engine.value(name).value
    except InputError:
        return "not given"
    return f"assumed: {_number(declaration.kind, value):g}"


def _number(kind: Kind, value: float) -> float:
    return float(f"{kind.shown(value):.6g}")


def label_of(declaration: Declaration) -> str:
    """Label with unit and range, as Markdown."""
    kind = declaration.kind
    if kind is None:
        return safe_markdown(declaration.label)
    unit = pretty_unit(kind.shown_unit)
    words = f"{declaration.label}, {unit}" if unit else declaration.label
    if math.isfinite(declaration.low) and math.isfinite(declaration.high):
        low, high = (_number(kind, v) for v in (declaration.low, declaration.high))
        words += f" ({low:,.4g} to {high:,.4g})".replace("-", "−")
    return safe_markdown(words)


def help_of(declaration: Declaration) -> str | None:
    """What the input is and why its default is what it is."""
    parts = [p for p in (declaration.help, declaration.reason) if p]
    return safe_markdown("; ".join(parts), 400) if parts else None


def widget(engine: Engine, name: str, declaration: Declaration, given: Any, key: str) -> Any:
    """One input as a widget; its value in SI, a word, or None where it is left to be assumed.

    engine: what assumed values follow from. given: the value as it stands, or None.
    """
    label, told = label_of(declaration), help_of(declaration)
    stands_in = assumed_words(engine, name, declaration)
    if declaration.options:
        options = list(declaration.options)
        return st.selectbox(
            label, options, index=options.index(given) if given in options else None,
            placeholder=stands_in, help=told, key=key,
        )  # fmt: skip
    if declaration.kind is None:
        text = st.text_input(
            label, value=None if given is None else str(given), placeholder=stands_in, help=told,
            key=key, max_chars=60,
        )  # fmt: skip
        return text.strip() or None if text is not None else None
    return _number_widget(declaration, given, stands_in, told, label, key)


def _number_widget(
    declaration: Declaration,
    given: float | None,
    stands_in: str,
    told: str | None,
    label: str,
    key: str,
) -> float | int | None:
    kind = declaration.kind
    assert kind is not None
    low, high = (float(f"{kind.shown(v):.12g}") for v in (declaration.low, declaration.high))
    if kind is Kind.COUNT:
        count = st.number_input(
            label, min_value=int(low), max_value=int(high), step=1,
            value=None if given is None else int(given), placeholder=stands_in, help=told, key=key,
        )  # fmt: skip
        return None if count is None else int(count)
    shown = None if given is None else _number(kind, given)
    number = st.number_input(
        label, min_value=low, max_value=high, value=shown, format="%.6g",
        step=_step(low, high), placeholder=stands_in, help=told, key=key,
    )  # fmt: skip
    if number is None:
        return None
    if number == shown:
        return given
    return min(max(kind.from_shown(float(number)), declaration.low), declaration.high)


def _step(low: float, high: float) -> float:
    """A round step of about a fiftieth of the range."""
    rough = (high - low) / 100 if math.isfinite(high - low) else 1.0
    return float(10.0 ** math.floor(math.log10(max(rough, 1e-6))))
