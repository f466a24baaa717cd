"""What boost is counted from where its heading does not say."""

import numpy as np
import pytest
from plain_run import read

from torquerisk.case import Run

AMBIENT = 101325.0


def log(light: list[float], loaded: tuple[float, float], unit: str = "mbar", head: str = "Boost"):
    """A log with rows of hardly any load before and behind a pull, boost as written in it."""
    sweep = np.linspace(2000, 6500, 90)
    rows = [(2000.0, 30.0, value) for value in light]
    rows += list(zip(sweep, np.full(90, 380.0), np.linspace(*loaded, 90), strict=True))
    rows += [(6000.0 - 40 * i, -20.0, value) for i, value in enumerate(light)]
    body = "".join(f"{n:.1f};{t:.1f};{p:.2f}\n" for n, t, p in rows)
    return f"rpm;torque [Nm];{head} [{unit}]\n{body}"


def first_pressure(run: Run) -> float:
    return float(run.channels["manifold_pressure"][0])


@pytest.mark.parametrize(
    ("light", "loaded", "unit", "size", "added", "doubt"),
    [
        ([461.0] * 20, (1430.0, 2300.0), "mbar", 100.0, 0.0, False),
        ([0.95, 1.02] * 10, (1.1, 2.4), "bar", 1e5, 0.0, False),
        ([-8.0] * 20, (6.0, 18.0), "psi", 6894.757, AMBIENT, False),
        ([60.0, 90.0] * 10, (400.0, 1500.0), "mbar", 100.0, AMBIENT, True),
        ([300.0] * 20, (350.0, 700.0), "mbar", 100.0, AMBIENT, True),
        ([], (1430.0, 2300.0), "mbar", 100.0, AMBIENT, True),
    ],
    ids=["throttled, absolute", "diesel, absolute", "vacuum, gauge", "diesel, gauge or not known",
         "no boost at full load as absolute", "no rows of little load"],
)  # fmt: skip
def test_rows_of_hardly_any_load_tell_what_boost_is_counted_from(
    light, loaded, unit, size, added, doubt
):
    """Common practice, no source: with a shut throttle an engine holds no boost and, as absolute
    pressure, lies below the atmosphere; a diesel lies about there."""
    run = read(log(light, loaded, unit))
    assert first_pressure(run) == pytest.approx(loaded[0] * size + added, rel=0.02)
    assert bool(run.pressure_doubt) is doubt
    told = [n.text for n in run.notices if "neither gauge nor absolute" in n.text]
    assert len(told) == (0 if unit == "psi" else 1)
    assert all(("absolute pressure, for" in t) == (added == 0.0) for t in told)


@pytest.mark.parametrize(("head", "unit"), [("Boost gauge", "mbar"), ("Boost", "mbar gauge")])
def test_what_a_heading_says_is_not_asked_of_the_rows(head, unit):
    """Identity: a word for it wins over what the rows look like."""
    run = read(log([461.0] * 20, (1430.0, 2300.0), unit, head))
    assert first_pressure(run) == pytest.approx(143000 + AMBIENT, rel=0.02)
    assert run.pressure_doubt == ""
