"""Ranges of joint, gear and inputs: named once, told where they bind, never binding unseen."""

import numpy as np
import pytest
from plain_runs import SAMPLES, run_of

from torquerisk.case import Engine, Policy
from torquerisk.case.joint_defaults import FRICTIONS
from torquerisk.errors import InputError
from torquerisk.files.case_folder import load_case
from torquerisk.physics.head_joint.screw_thread import KNOWN_THREADS, screw_thread
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.part_ranges import held_joint
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import LEAST_CUT, Z_MOST, Draws, middle_draw
from torquerisk.study.run.run_on_grid import fuel_octane
from torquerisk.study.strengths.fastener import clamped_lengths, least_engagement, shank_diameters
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.studs.bench import stud_bench
from torquerisk.study.studs.judgement import aged_relaxation
from torquerisk.study.table.second_axis import BLEND_OCTANE_SD

pytestmark = pytest.mark.slow

M11 = screw_thread("M11x1.5")


def drawn(engine: Engine, count: int = 1024) -> Draws:
    """Draws of an engine."""
    kind = engine.compression_ignition
    return spreads.engine_draws(compression_ignition=kind, count=count, seed=1)


@pytest.mark.parametrize("ignition", ["spark", "compression"])
@pytest.mark.parametrize("bore", [0.030, 0.086, 0.200])
def test_assumed_values_with_an_absolute_spread_lie_in_their_ranges(
    plain_engine: Engine, ignition: str, bore: float
) -> None:
    """Identity: a middle is never cut at a declared range, so that only draws have to be told of.

    What is given is refused outside; this holds what is assumed to the same.
    """
    engine = plain_engine.with_values(
        {"bore": bore, "stroke": bore, "rod_length": max(1.6 * bore, 0.05), "ignition": ignition}
    )
    names = [n for n in (*spreads.DRAWN_INPUTS, spreads.CETANE) if engine.declaration(n).absolute]
    assert "head_joint.ring_share" in names
    for name in names:
        if name == spreads.CETANE and ignition == "spark":
            continue
        engine.declaration(name).check(name, engine.value(name).value)


def test_octane_stays_where_knock_is_modelled(plain_engine: Engine) -> None:
    """Identity: 60 to 130 is what the delay takes; no declared octane is drawn outside."""
    octane = plain_engine.declaration("fuel.octane")
    assert octane.low - Z_MOST * octane.spread_given > 60
    assert octane.high + Z_MOST * octane.spread_given < 130


@pytest.mark.parametrize("blend", ["E0", "E30", "E100"])
def test_octane_of_a_blend_stays_there_too(plain_engine: Engine, blend: str) -> None:
    """Identity: the same for what is assumed of a blend."""
    middle, sd = fuel_octane(plain_engine, blend, None)
    assert middle - Z_MOST * np.hypot(sd, BLEND_OCTANE_SD) > 60
    assert middle + Z_MOST * np.hypot(sd, BLEND_OCTANE_SD) < 130


@pytest.mark.parametrize("name", KNOWN_THREADS)
def test_engagement_is_cut_in_draws_alone(name: str, plain_engine: Engine) -> None:
    """Identity: two pitches of any thread known are no more than the least that may be given."""
    low = plain_engine.declaration("head_joint.engagement_length").low
    assert least_engagement(screw_thread(name)) <= low


@pytest.mark.parametrize(
    ("name", "value", "edges"),
    [
        ("shank_diameter", 0.0052, shank_diameters(M11)),
        ("clamped_length", 0.016, clamped_lengths(M11)),
        ("clamped_length", 0.300, clamped_lengths(M11)),
    ],
)
def test_a_length_outside_is_judged_as_the_nearer_end(
    plain_engine: Engine, name: str, value: float, edges: tuple[float, float]
) -> None:
    """Metamorphic: the stiffness is that of the edge told of, and the edge itself is not told."""
    edge = edges[0] if value < edges[0] else edges[1]
    middle = middle_draw(spreads.DRAWN)
    outside, at_edge = (plain_engine.with_values({f"head_joint.{name}": v}) for v in (value, edge))
    given, held = (head_capacity(e, middle).fastener_compliance for e in (outside, at_edge))
    np.testing.assert_allclose(given, held, rtol=1e-12)
    stem = name.replace("_", "-").removesuffix("-diameter")
    assert f"{stem}-range" in {n.code for n in held_joint(outside, middle)}
    assert f"{stem}-range" not in {n.code for n in held_joint(at_edge, middle)}


def test_the_share_told_is_the_share_held(plain_engine: Engine) -> None:
    """Identity: of a ring share of 97 % with a spread of 4, P(z > 0.75) = 22.7 % is held at 100 %.

    Normal table: 1 - Phi(0.75) = 0.2266.
    """
    engine = plain_engine.with_values({"head_joint.ring_share": 0.97})
    draws = drawn(engine)
    share = (head_capacity(engine, draws).ring_share == 1.0).mean()
    assert share == pytest.approx(0.2266, abs=0.005)
    told = [n.text for n in held_joint(engine, draws)]
    assert told == [
        "Share of the clamp that reaches the combustion ring is drawn outside 20 to 100 % in 23% "
        "of the simulated engines: the nearer end is taken there."
    ]


def test_less_than_the_least_share_is_not_told(plain_engine: Engine) -> None:
    """Identity: 0.9 of a spread of 4 % is cut at 2.5 spreads, 0.6 % of engines: no sentence."""
    engine = plain_engine.with_values({"head_joint.ring_share": 0.90})
    held = (head_capacity(engine, drawn(engine)).ring_share == 1.0).mean()
    assert 0 < held < LEAST_CUT
    assert not list(held_joint(engine, drawn(engine)))


def test_a_shank_thicker_than_its_thread_is_refused(plain_engine: Engine) -> None:
    """Design: one sentence that says which input, what is allowed and what to do."""
    with pytest.raises(InputError, match=r"shank_diameter is 14 mm .* at most 11\.55 mm.*check"):
        plain_engine.with_values({"head_joint.shank_diameter": 0.014})
    plain_engine.with_values({"head_joint.shank_diameter": 1.05 * 0.011})


def test_a_given_tensile_strength_is_kept(plain_engine: Engine) -> None:
    """Metamorphic: an assumed yield strength gives way to a given tensile strength, not it to that.

    600 MPa of tensile strength lies below the 640 MPa of yield that are assumed without it.
    """
    name = "running_gear.rod_tensile_strength"
    engine = plain_engine.with_values({name: 600e6})
    assert engine.value("running_gear.rod_yield_strength").value == pytest.approx(600e6 / 1.35)
    assert plain_engine.value("running_gear.rod_yield_strength").value == 640e6
    assert engine.value(name).value == 600e6


@pytest.mark.parametrize(("stated", "taken"), [(0.07, 0.14), (0.20, 0.40), (0.30, 0.40)])
def test_an_aged_gasket_says_what_it_has_relaxed(
    plain_engine: Engine, few: Policy, stated: float, taken: float
) -> None:
    """Identity: twice the stated, and where that is beyond the input's 40 %, what is taken."""
    engine = plain_engine.with_values({"head_joint.gasket_relaxation": stated})
    assert aged_relaxation(engine) == pytest.approx(taken)
    bench = stud_bench(assess(engine, run_of([2000, 4000, 6000], [200, 230, 200]), few))
    told = next(n.text for n in bench.notices if n.code == "aged-joint")
    words = f"twice the stated {stated:.0%}, and" if 2 * stated <= 0.4 else "held at 40%, since"
    assert words in told


def test_the_bench_tells_what_is_held_in_its_choices(plain_engine: Engine, few: Policy) -> None:
    """Identity: 19 mm of grip are enough for M11 (16.5) but not for all of the larger threads."""
    engine = plain_engine.with_values({"head_joint.clamped_length": 0.019})
    bench = stud_bench(assess(engine, run_of([2000, 4000, 6000], [200, 230, 200]), few))
    larger = [n.text for n in bench.notices if n.code == "clamped-length-range"]
    short = {
        c.fastening.thread.designation for c in bench.choices
        if 1.5 * c.fastening.thread.nominal_diameter > 0.019
    }  # fmt: skip
    assert short
    assert len(larger) == len(short)
    assert all(any(text.startswith(f"With {name}: ") for text in larger) for name in short)
    assert len(bench.notices) == len(set(bench.notices))


@pytest.mark.parametrize(
    ("case", "expected"),
    [
        ("hill_climb", {"input-spread-cut", "cycles-range"}),
        ("tow_diesel", {"cycles-range"}),
    ],
)
def test_what_the_samples_are_held_at(case: str, expected: set[str]) -> None:
    """Design: 15 K of heating less a spread of 8 K goes below 0, slow cycles are few; no more."""
    result = assess(*load_case(SAMPLES / case))
    found = {n.code for n in result.notices if n.code.endswith(("-range", "-cut"))}
    assert found == expected
    assert all(code == code.lower() and " " not in code for code in found)


def test_frictions_are_those_declared(plain_engine: Engine) -> None:
    """Identity: the clip of head friction and both declared ranges are one."""
    for name in ("head_joint.thread_friction", "head_joint.head_friction"):
        declaration = plain_engine.declaration(name)
        assert (declaration.low, declaration.high) == FRICTIONS
