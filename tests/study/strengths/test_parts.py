"""Strength of all parts of simulated engines, and of some of them."""

import dataclasses
from collections.abc import Iterator
from typing import Any

import numpy as np
from table_case import with_advance

from torquerisk.study.strengths.parts import parts_of


def _arrays(value: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, np.ndarray):
        yield name, value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _arrays(item, f"{name}.{key}")
    elif dataclasses.is_dataclass(value):
        for f in dataclasses.fields(value):
            yield from _arrays(getattr(value, f.name), f"{name}.{f.name}")


def test_parts_of_some_engines_are_those_worked_out_for_them_alone() -> None:
    """Identity: what is taken of the parts of many is what the few have by themselves, in every
    array of head, rings and running gear."""
    engine, draws = with_advance().engine, with_advance().model.draws
    index = np.array([3, 17, 40, 41, 200])
    some, alone = parts_of(engine, draws).take(index), parts_of(engine, draws.take(index))
    for part in ("head", "gear"):
        taken, own = dict(_arrays(getattr(some, part))), dict(_arrays(getattr(alone, part)))
        assert taken.keys() == own.keys()
        assert len(taken) > 15
        for name, values in own.items():
            assert np.allclose(taken[name], values, rtol=1e-12, atol=0), name
    assert some.draws.count == len(index)
