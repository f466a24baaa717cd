"""What goes in: the case, and its inputs as widgets made from their declarations."""

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from typing import Any, get_type_hints

import streamlit as st

from torquerisk.case import SECTIONS, Declaration, Engine, Kind, declarations
from torquerisk.errors import InputError
from torquerisk.quantities import INCH, POUND, POUND_FORCE, PSI
from torquerisk.show.page.html import safe_markdown
from torquerisk.show.words.prose import Units, power_unit, torque_unit

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
FILES_ONLY = ("known_good.run",)
YES_OR_NO = {"true": "yes", "false": "no"}
LINE = 120
"""Letters of a group told in one line."""
US_UNITS = {
    Kind.TORQUE: torque_unit(Units.US),
    Kind.POWER: power_unit(Units.US),
    Kind.LENGTH: ("in", INCH),
    Kind.AREA: ("in²", INCH**2),
    Kind.VOLUME: ("in³", INCH**3),
    Kind.MASS: ("lb", POUND),
    Kind.FORCE: ("lbf", POUND_FORCE),
    Kind.PRESSURE: ("psi", PSI),
    Kind.GAUGE_PRESSURE: ("psi gauge", PSI),
    Kind.STRESS: ("ksi", 1e3 * PSI),
}
"""Names and SI sizes of the units that inputs are typed in beside the SI ones."""


def pretty_unit(unit: str) -> str:
    """A unit as people write it."""
    return (
        unit.replace("N*m/1000rpm", "N·m per 1,000 rpm")
        .replace("*", "·")
        .replace("^2", "²")
        .replace("^3", "³")
        .replace("um", "µm")
    )


def every_declaration() -> Iterator[tuple[str, Declaration]]:
    """Names and declarations of all inputs that an engine file may have, in order."""
    kinds = get_type_hints(Engine)
    for section in ("", *SECTIONS):
        owner = kinds[section] if section else Engine
        for key, declaration in declarations(owner).items():
            name = f"{section}.{key}" if section else key
            if name not in FILES_ONLY:
                yield name, declaration


def section_of(name: str) -> str:
    """Section of an input's name; empty for the engine itself."""
    return name.rpartition(".")[0]


def assumed_words(
    engine: Engine, name: str, declaration: Declaration, units: Units = Units.SI
) -> str:
    """What stands in for an input that was not given."""
    try:
        if declaration.kind is None:
            return f"assumed: {engine.word(name)}"
        value = engine.value(name).value
    except InputError:
        return "not given"
    shown = _number(declaration.kind, value) / unit_of(declaration.kind, units)[1]
    return f"assumed: {in_figures(shown, 4)}"


def _number(kind: Kind, value: float) -> float:
    return float(f"{kind.shown(value):.6g}")


def label_of(declaration: Declaration, units: Units, ranged: bool) -> str:
    """Label with unit and, where asked, range: our own words, which need no escape.

    An escaped mark would be read out as part of the accessible name.
    """
    kind = declaration.kind
    if kind is None:
        return declaration.label
    name, size = unit_of(kind, units)
    words = f"{declaration.label}, {name}" if name else declaration.label
    if ranged and math.isfinite(declaration.low) and math.isfinite(declaration.high):
        low, high = (_number(kind, v) / size for v in (declaration.low, declaration.high))
        words += f" ({in_figures(low, 3, math.ceil)} to {in_figures(high, 3, math.floor)})"
    return words


def in_figures(value: float, figures: int, towards: Callable[[float], int] = round) -> str:
    """A number with so many figures and no exponent. towards: how what is beyond them is rounded.

    What needs no more figures than a conversion leaves is not rounded.
    """
    if value == 0.0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = figures - 1 - math.floor(math.log10(abs(value)))
    scaled = value * 10.0**decimals
    kept = round(scaled) if abs(scaled - round(scaled)) < 1e-6 else towards(scaled)
    told = f"{kept / 10.0**decimals:,.{max(decimals, 0)}f}"
    return (told.rstrip("0").rstrip(".") if "." in told else told).replace("-", "−")


def unit_of(kind: Kind, units: Units) -> tuple[str, float]:
    """Unit that an input is typed in, and its size in the unit that people are shown in SI."""
    if units is Units.US and kind in US_UNITS:
        name, size = US_UNITS[kind]
        return name, size / kind.shown_size
    return pretty_unit(kind.shown_unit), 1.0


def in_a_line(engine: Engine, names: Sequence[tuple[str, Declaration]], units: Units) -> str:
    """The given values of a group of inputs in one line, each after its name, as Markdown."""
    told = []
    for name, declaration in names:
        given = engine.given(name)
        if given is None:
            continue
        shown, kind = str(given), declaration.kind
        if kind is not None:
            unit, size = unit_of(kind, units)
            shown = f"{in_figures(_number(kind, given) / size, 5 if size == 1.0 else 4)} {unit}"
        told.append(f"{name.rpartition('.')[2].replace('_', ' ')} {shown}".strip())
    if not told:
        return "all usual for this kind"
    fit = sum(total <= LINE for total in accumulate(len(one) + 2 for one in told))
    more = f", and {len(told) - fit} more" if fit < len(told) else ""
    return safe_markdown(", ".join(told[:fit]) + more, LINE + 20)


def help_of(declaration: Declaration) -> str | None:
    """What the input is and why its default is what it is."""
    parts = [p for p in (declaration.help, declaration.reason) if p]
    return safe_markdown("; ".join(parts), 400) if parts else None


def widget(
    engine: Engine, name: str, declaration: Declaration, given: Any, key: str,
    units: Units = Units.SI,
) -> Any:  # fmt: skip
    """An input of an engine: what stands in for it follows from that. given: as it stands."""
    stands_in = assumed_words(engine, name, declaration, units)
    return input_box(declaration, given, stands_in, key, units)


def input_box(
    declaration: Declaration, given: Any, stands_in: str, key: str, units: Units = Units.SI,
    *, ranged: bool = True,
) -> Any:  # fmt: skip
    """One input as a widget; its value in SI, a word, or None where it is left to be assumed.

    given: the value as it stands, or None. stands_in: said in grey where there is none. ranged:
    the label says between what it must lie.
    """
    label, told = label_of(declaration, units, ranged), help_of(declaration)
    if declaration.options:
        options = list(declaration.options)
        return st.selectbox(
            label, options, index=options.index(given) if given in options else None,
            placeholder=stands_in, help=told, key=key, format_func=lambda o: YES_OR_NO.get(o, o),
        )  # fmt: skip
    if declaration.kind is None:
        text = st.text_input(
            label, value=None if given is None else str(given), placeholder=stands_in, help=told,
            key=key, max_chars=60,
        )  # fmt: skip
        return text.strip() or None if text is not None else None
    return _number_widget(declaration, given, stands_in, told, label, key, units)


def _number_widget(
    declaration: Declaration,
    given: float | None,
    stands_in: str,
    told: str | None,
    label: str,
    key: str,
    units: Units,
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
    size = unit_of(kind, units)[1]
    low, high = low / size, high / size
    shown = None if given is None else float(f"{_number(kind, given) / size:.6g}")
    number = st.number_input(
        label, min_value=low, max_value=high, value=shown, format="%.6g",
        step=_step(low, high), placeholder=stands_in, help=told, key=key,
    )  # fmt: skip
    if number is None:
        return None
    if number == shown:
        return given
    return min(max(kind.from_shown(float(number) * size), declaration.low), declaration.high)


def _step(low: float, high: float) -> float:
    """A round step of about a fiftieth of the range."""
    rough = (high - low) / 100 if math.isfinite(high - low) else 1.0
    return float(10.0 ** math.floor(math.log10(max(rough, 1e-6))))
