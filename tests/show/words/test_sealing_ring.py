"""What is left on the ring, on every face: documents, texts, picture, report."""

import dataclasses
import json
import re

import numpy as np
import pytest
from stud_cases import BEYOND, bench_of, known, with_engine

from torquerisk.show.documents.assessed import assessment_document
from torquerisk.show.documents.studs import studs_document
from torquerisk.show.pictures.sealing_ring import ring_picture
from torquerisk.show.pictures.style import LIGHT, Stamp
from torquerisk.show.report.sealing_ring import ring_part
from torquerisk.show.text.sealing_ring import bench_ring_lines, run_ring_lines
from torquerisk.show.text.studs import stud_text
from torquerisk.show.words.sealing_ring import BENDING, fastener_sentences, name_of, ring_sentences
from torquerisk.study.studs.bench import stud_bench
from torquerisk.study.studs.fastener_loads import loads_of_run
from torquerisk.study.studs.ring_clamp import ring_of_ask, ring_of_run

pytestmark = pytest.mark.slow

POINTS = {"p05", "p50", "p95"}
HOLD = {
    "cylinders", "fasteners", "clamp_kn", "ring_clamp_left_kn", "ring_line_load_n_mm",
    "lift_utilisation", "lift_chance", "weep_chance", "own_share",
}  # fmt: skip


def plain_json(document):
    """As a reader of the document gets it; NaN and infinity are refused."""
    return json.loads(json.dumps(document, allow_nan=False))


def check_ring(keys, diameter, governing):
    """Keys; the weakest point has no more than force over the sealing circle, for either kind."""
    assert keys["ring_clamp_left_kn"].keys() == keys["ring_line_load_n_mm"].keys() == POINTS
    inner, end = keys["by_cylinder"]["inner"], keys["by_cylinder"]["end"]
    for hold in (inner, end):
        assert hold.keys() == HOLD
        force, line = hold["ring_clamp_left_kn"]["p50"], hold["ring_line_load_n_mm"]["p50"]
        assert 0 <= line <= 1.01e3 * force / (np.pi * diameter)
        assert hold["ring_line_load_n_mm"]["p05"] <= line <= hold["ring_line_load_n_mm"]["p95"]
        assert 0 <= hold["lift_chance"] <= hold["weep_chance"] <= 1
        assert 0 < hold["own_share"]["p50"] < 1
    assert keys["ring_line_load_n_mm"] == keys["by_cylinder"][governing]["ring_line_load_n_mm"]
    assert inner["fasteners"] < end["fasteners"]
    assert inner["own_share"]["p50"] < end["own_share"]["p50"]


def test_the_assessments_document():
    """The contract: keys by speed and for the joint, units as suffix; 18 fasteners, 4 cylinders."""
    document = plain_json(assessment_document(known()))
    ring = document["ring"]
    governing = ring["governing_cylinder"]
    assert "of its gas force" in ring["governing_text"]
    assert "beam" in ring["sharing_text"]
    assert ring["least_line_load_n_mm"].keys() == POINTS
    assert "least_line_load_n_mm" not in document["by_speed"][0]
    for keys in (ring, *document["by_speed"]):
        check_ring(keys, ring["sealing_diameter_mm"], governing)
    for k, at in enumerate(document["by_speed"]):
        kinds, limit = at["by_cylinder"].values(), at["limits"]["head_lift"]
        assert max(h["lift_utilisation"] for h in kinds) <= limit["utilisation"] + 1e-9, k
        assert max(h["lift_chance"] for h in kinds) <= limit["chance"] + 1 / 256 + 1e-9
        assert min(h["clamp_kn"]["p50"] for h in kinds) == pytest.approx(at["clamp_kn"], rel=0.01)
    worst = max(document["by_speed"], key=lambda s: s["by_cylinder"][governing]["lift_utilisation"])
    assert worst["speed_rpm"] == ring["speed_rpm"]
    fastener = ring["fastener"]
    assert fastener["gain_after_lift_kn_per_bar"] > fastener["gain_ring_closed_kn_per_bar"] > 0
    assert fastener["fatigue_by"] == "VDI 2230"
    assert fastener["load_state"] == "hot"
    assert fastener["load_firing_kn"]["p50"] > fastener["load_at_rest_kn"]["p50"]


def test_the_benchs_document():
    """The contract: every choice says what it leaves; chances agree with the bench's own."""
    document = plain_json(studs_document(bench_of()))
    diameter = document["ring"]["sealing_diameter_mm"]
    for choice in (document["present"], *document["choices"]):
        check_ring(choice, diameter, choice["governing_cylinder"])
        for hold in choice["by_cylinder"].values():
            assert hold["lift_chance"] <= choice["lift_chance"] + 1 / 256 + 1e-9
        assert choice["fastener"]["bearing_utilisation"] == pytest.approx(
            choice["bearing_utilisation"]
        )
    assert [s["ring_line_load_n_mm"] for s in document["by_speed"]]
    at = next(
        s for s in document["by_speed"] if s["speed_rpm"] == pytest.approx(
            document["worst_speed_rpm"])
    )  # fmt: skip
    assert at["ring_line_load_n_mm"] == document["present"]["ring_line_load_n_mm"]


def test_texts_fit_and_name_kinds_and_units():
    """Design section 5: 80 columns; both kinds of cylinder, force and line load."""
    for lines in (run_ring_lines(known()), bench_ring_lines(bench_of())):
        text = "\n".join(lines)
        assert max(len(line) for line in text.splitlines()) <= 80
        flat = " ".join(text.split())
        for word in ("N/mm", "kN", "inner", "end", "The head is a beam", "cylinders govern",
                     "weeps", "lifts"):  # fmt: skip
            assert word in flat
    assert any(line.startswith("With M") for line in bench_ring_lines(bench_of()))
    assert not any(line.startswith("With M") for line in bench_ring_lines(bench_of(BEYOND)))


def test_sentences_carry_the_numbers():
    """Identity: medians in the words are those of the result."""
    ring = ring_of_run(known())
    k = ring.worst
    first, second = ring_sentences(ring, 256)
    assert f"{ring.speed[k] * 30 / np.pi:,.0f} rpm" in first
    shown, low, high = map(int, re.search(r"(\d+) \((\d+) to (\d+)\) N/mm at", first).groups())
    line = ring.governs.line_load
    for told, value in ((shown, line.p50[k]), (low, line.p05[k]), (high, line.p95[k])):
        assert told == pytest.approx(value / 1e3, abs=0.05 * (high - low))
    for hold in ring.holds.values():
        assert f"{hold.fasteners:.3g}" in second
        assert f"{100 * hold.own_share.p50:.0f} %" in second
    loads = loads_of_run(known(), k)
    told = " ".join(fastener_sentences(loads, "cast aluminium"))
    assert f"{loads.gain_lifted * 1e3:.2f} kN for 10 bar" in told
    assert "VDI 2230" in told
    assert "at the highest pressure, hot: the greater preload" in told
    assert "Warm, the ring's weakest point has nothing left" in told
    turns = dataclasses.replace(loads, hot_share=0.3)
    assert "mostly cold: the greater preload" in " ".join(fastener_sentences(turns, "grey iron"))


def test_the_picture_tells_kinds_apart_without_colour():
    """People reference: dash and words say what colour says; the table has every speed."""
    bench = bench_of()
    ring = ring_of_ask(bench.ask, bench.present.head)
    made = ring_picture(ring, "as it stands", 256, LIGHT, Stamp(case="tow", digest="0" * 12))
    lines = [t for t in made.figure.data if t.line.dash]
    assert {t.line.dash for t in lines} == {"solid", "dash"}
    words = " ".join(a.text for a in made.figure.layout.annotations)
    assert "inner cylinders" in words
    assert "end cylinders" in words
    assert "fully tight" in words
    assert "lifts" in words
    assert "N/mm" in made.figure.layout.yaxis.title.text
    assert all(len(c.values) == len(bench.assessment.speed) for c in made.columns)
    names = [name_of(ring, kind) for kind in ring.holds]
    assert sorted(n.removesuffix(", governs") for n in names) == ["end", "inner"]
    assert sum(n.endswith("governs") for n in names) == 1


def test_a_single_cylinder_is_told_once():
    """Plain: with a head to each cylinder none is inner or at an end."""
    engine = known().engine
    joint = dataclasses.replace(engine.head_joint, fasteners=5 * engine.cylinders)
    engine = dataclasses.replace(engine, heads=engine.cylinders, head_joint=joint)
    one = with_engine(known(), engine)
    ring = ring_of_run(one)
    assert ring.single
    assert [name_of(ring, kind) for kind in ring.holds] == ["single"]
    bench = stud_bench(one)
    for lines in (run_ring_lines(one), bench_ring_lines(bench), [stud_text(bench)]):
        text = " ".join("\n".join(lines).split())
        assert "single" in text
        for word in ("end cylinder", "inner cylinder", "neighbours bear"):
            assert word not in text
    part = ring_part(bench)
    assert {row[0] for row in part["kinds"].rows} == {"single"}
    assert [name for name, _ in part["by_speed"].headings] == [
        "speed", "single", "single", "single lifts"
    ]  # fmt: skip
    keys = plain_json(assessment_document(one))["ring"]
    assert keys["by_cylinder"]["inner"] is None
    assert "neighbours" not in keys["sharing_text"]


def test_the_reports_part():
    """Identity: both kinds as it stands and with the mildest that holds; by speed."""
    bench = bench_of()
    part = ring_part(bench)
    told = [row[0].removesuffix(", governs") for row in part["kinds"].rows]
    assert told == ["inner", "end"] * 2
    assert len(part["by_speed"].rows) == len(bench.assessment.speed)
    assert part["note"].startswith(BENDING)
    assert "stroke-dasharray" in part["still"].drawn
    assert len(re.findall(r">[1-9][\d,]*</text>", part["still"].drawn)) >= 2
    assert len(ring_part(bench_of(BEYOND))["kinds"].rows) == 2
