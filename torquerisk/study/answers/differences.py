"""What was not the same for two runs beside their curves: how they were measured, engine, fuel."""

from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.case.engine import SECTIONS
from torquerisk.study.assessment.result import Assessment

WARMER = 8.0
"""Charge temperature apart by this much is worth a word [K] (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One thing that was not the same for both runs, in words as people are shown it."""

    name: str
    label: str
    first: str
    second: str
    measuring: bool
    """True where it is about how the run was measured, False where about engine or fuel."""


def differences_of(first: Assessment, second: Assessment) -> tuple[Difference, ...]:
    """What was not the same for both: test facts, engine and fuel inputs, charge temperature."""
    one, two = first.engine, second.engine
    found = []
    for name in _names(one, two):
        texts = [_as_used(engine, name) for engine in (one, two)]
        if texts[0] != texts[1]:
            found.append(
                Difference(
                    name=name,
                    label=one.declaration(name).label,
                    first=texts[0],
                    second=texts[1],
                    measuring=name.startswith("test."),
                )
            )
    return (*found, *_charge(first, second))


def _names(one: Engine, two: Engine) -> list[str]:
    """Every input given for either engine, test facts first, but for what it is known to carry."""
    from_sections = [
        f"{section}.{key}"
        for section in ("test", *(s for s in SECTIONS if s not in ("test", "known_good")))
        for key in vars(getattr(one, section))
    ]
    own = [key for key in vars(one) if key not in (*SECTIONS, "name", "survived")]
    return [n for n in (*from_sections, *own) if one.has(n) or two.has(n)]


def _as_used(engine: Engine, name: str) -> str:
    """An input as people are shown it: given, assumed or not stated."""
    declaration = engine.declaration(name)
    given = engine.given(name)
    if given is not None:
        return declaration.in_words(given)
    raw = declaration.assumed(engine)
    return "not stated" if raw is None else f"{declaration.in_words(raw)} (assumed)"


def _charge(first: Assessment, second: Assessment) -> tuple[Difference, ...]:
    """Charge temperature, where it was logged or assumed at clearly different values."""
    means = [float(np.median(a.model.operating.intake_temperature)) for a in (first, second)]
    if abs(means[0] - means[1]) < WARMER:
        return ()
    texts = [f"{t - 273.15:.0f} °C" for t in means]
    return (
        Difference(
            name="intake_temperature",
            label="Charge temperature, median",
            first=texts[0],
            second=texts[1],
            measuring=True,
        ),
    )
