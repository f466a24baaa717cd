"""The JSON documents: the fixed keys, their types and units, and no number that JSON has not."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from cli_case import DRAWS, command, run_text, write_case

from torquerisk.show.documents import assessed
from torquerisk.show.documents.assessed import LIMITED, NOT_LIMITED, SPEED_LIMITED
from torquerisk.study.assessment.result import Band

pytestmark = pytest.mark.slow

VERBS = ("cycle", "assess", "limit", "studs", "explain", "compare")
BY_SPEED = {
    "speed_rpm", "torque_n_m", "bmep_bar", "imep_gross_bar", "peak_pressure_bar", "gas_force_kn",
    "clamp_kn", "clamp_ratio", "rod_compression_kn", "rod_tension_kn", "chance_any", "governing",
    "limits",
}  # fmt: skip
ROW = {
    "speed_rpm", "torque_limit_n_m", "power_kw", "governing", "chance", "ca50_deg",
    "ca50_not_before_deg", "manifold_pressure_kpa",
}  # fmt: skip
CYCLE = {
    "peak_pressure_bar", "peak_angle_deg", "imep_gross_bar", "trapped_pressure_bar", "ca50_deg",
    "trace",
}  # fmt: skip
CHOICE = {
    "thread", "property_class", "preload_kn", "tightening_torque_n_m", "lift_chance",
    "yield_utilisation", "strip_utilisation", "holds",
}  # fmt: skip
DIP_SPEEDS = tuple(range(2000, 6001, 200))
DIP_TORQUES = tuple(
    310.0 - 80 * ((n - 4200) / 2200) ** 2 - {0: 45.0, 200: 30.0}.get(abs(n - 4000), 0.0)
    for n in DIP_SPEEDS
)
DIP = {"from_rpm", "to_rpm", "depth_n_m", "would_be_torque_n_m", "protects", "text"}
LIMIT = {"table", "peak", "before", "after", "chance_pull", "chance_pulls", "pulls",
         "verified"}  # fmt: skip
UNITS = (
    "_rpm", "_n_m", "_bar", "_kn", "_kw", "_deg", "_kpa", "_k", "_mg", "_cm3", "_mpa", "_mm", "_s",
    "_kg_m2", "_m_s", "_m_s2", "_tdc_g", "_kw_rpm", "_per_deg", "_per_cycle", "_per_1000rpm",
    "_n_mm", "_kn_per_bar",
)  # fmt: skip
PURE = (
    "chance", "chance_any", "chance_max", "chance_pull", "chance_any_max", "pulls",
    "chance_accepted",
    "chance_event", "chance_harm", "clamp_ratio", "utilisation", "utilisation_p95", "lambda",
    "indicated_efficiency", "burned_fraction", "draws", "seed", "tried", "agreed", "kept", "points",
    "share",
    "knock_threshold", "knock_threshold_before", "chance_aged", "friction", "scale", "tributary",
    "tributary_end", "adjacent", "abnormal_chance", "knock_chance", "dots", "cylinders",
    "fasteners", "area_ratio", "octane", "times",
)  # fmt: skip
"""Ends of the keys of numbers that have no unit."""
POINTS = (
    "p05", "p50", "p95", "first", "second", "with", "without", "without_ignition_as_logged",
    "with_ignition_on_line", "low", "high",
)  # fmt: skip
"""Keys inside a quantity: its unit stands in the key above."""


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    return write_case(tmp_path_factory.mktemp("documents"))


PROVED = "0.2"
"""A chance that half of so many engines can prove, where evidence leaves no more."""


@pytest.fixture(scope="module")
def dipped(tmp_path_factory):
    return write_case(tmp_path_factory.mktemp("dip"), run=run_text(DIP_TORQUES, DIP_SPEEDS))


@pytest.fixture(scope="module")
def made(case, dipped):
    return {
        "cycle": command(
            "cycle", case, "--imep-gross", "22bar", "--speed", "3000rpm", "--json"
        ).json,
        "assess": command("assess", case, "--draws", DRAWS, "--json").json,
        "limit": command("limit", case, "--draws", DRAWS, "--chance", PROVED, "--json").json,
        "studs": command("studs", case, "--draws", DRAWS, "--json").json,
        "explain": command("explain", dipped, "--draws", DRAWS, "--json").json,
        "compare": command("compare", case, case / "run.csv", "--draws", DRAWS, "--json").json,
    }  # fmt: skip


@pytest.mark.parametrize("verb", VERBS)
def test_every_document_has_version_notices_and_cautions(made, verb):
    """The contract: version, notices of code and text, cautions of text."""
    document = made[verb]
    assert isinstance(document["version"], str)
    assert document["cautions"]
    assert all(isinstance(text, str) and text for text in document["cautions"])
    assert document["notices"]
    for notice in document["notices"]:
        assert set(notice) == {"code", "text"}
        assert notice["text"]


def numbers(node, key=""):
    """Every number of a document with the key that must name its unit."""
    if isinstance(node, dict):
        for name, value in node.items():
            yield from numbers(value, key if name in POINTS else name)
    elif isinstance(node, list):
        for value in node:
            yield from numbers(value, key)
    elif isinstance(node, int | float) and not isinstance(node, bool):
        yield key, node


@pytest.mark.parametrize("verb", VERBS)
def test_every_number_is_finite_and_names_its_unit(made, verb):
    """The contract: a key carries its unit as a suffix; only pure numbers have none."""
    found = list(numbers(made[verb]))
    assert found
    for key, value in found:
        assert math.isfinite(value), key
        assert key.endswith((*UNITS, *PURE)), key


def test_cycle_document(made):
    """The contract: keys of `cycle`; angles and pressures of equal length."""
    document = made["cycle"]
    assert document.keys() >= CYCLE
    assert len(document["trace"]["angle_deg"]) == len(document["trace"]["pressure_bar"]) > 100


def test_assessment_document(made):
    """The contract: keys of `assess` by speed and by limit; derived values agree."""
    document = made["assess"]
    for s in document["by_speed"]:
        assert s.keys() >= BY_SPEED
        assert s["peak_pressure_bar"].keys() == {"p05", "p50", "p95"}
        assert s["clamp_ratio"] == pytest.approx(s["clamp_kn"] / s["gas_force_kn"], rel=1e-9)
        assert 0 <= s["chance_any"] <= 1
        assert s["governing"] in s["limits"]
        assert s["rod_compression_kn"] > 0
        assert s["rod_tension_kn"] > 0
        for item in s["limits"].values():
            capacity = item["capacity_torque_n_m"]
            assert capacity.keys() >= {"p05", "p50", "p95"}
            nulls = {p for p in ("p05", "p50", "p95") if capacity[p] is None}
            assert nulls == set(capacity["states"])
            assert (capacity["state"] == LIMITED) == (not nulls)
            assert item["utilisation"] > 0
            assert 0 <= item["chance"] <= 1
    assert document["phasing"]["source"] == "assumed"
    assert len(document["phasing"]["ca50_deg"]) == len(document["by_speed"])
    assert document["draws"] == int(DRAWS)
    evidence = document["evidence"]
    assert 0 < evidence["kept"] <= int(DRAWS)
    assert evidence["kept"] <= evidence["tried"] >= evidence["agreed"]


IGNITION = {
    "ignition_delay_ms", "ignition_delay_deg", "premixed_share", "compressed_pressure_bar",
    "compressed_temperature_k",
}  # fmt: skip


def test_a_diesels_documents_show_its_ignition_delay(made):
    """Identity: degrees are 6 n times seconds; the same at the same state; a petrol has none."""
    assert not IGNITION & (made["cycle"].keys() | made["assess"]["by_speed"][0].keys())
    case = Path(__file__).parents[3] / "sample_runs" / "tow_diesel"
    diesel = command("assess", case, "--draws", DRAWS, "--json").json
    for s in diesel["by_speed"]:
        assert s.keys() >= IGNITION
        turned = 6 * s["speed_rpm"] * s["ignition_delay_ms"] / 1e3
        assert s["ignition_delay_deg"] == pytest.approx(turned)
        assert 0.02 <= s["premixed_share"] <= 0.7
    asked = ("cycle", case, "--imep-gross", "6bar", "--speed", "1500rpm")
    one = command(*asked, "--json").json
    assert one.keys() >= IGNITION
    text = command(*asked).out
    assert f"ignition delay {one['ignition_delay_ms']:.2f} ms" in " ".join(text.split())


def test_bmep_and_gas_force_follow_from_geometry(made):
    """identity: BMEP = 4 pi T / V; gas force = median peak pressure on the sealing area."""
    swept = 4 * math.pi / 4 * 0.08255**2 * 0.08636
    sealing = math.pi / 4 * (3.4 * 0.0254) ** 2
    for s in made["assess"]["by_speed"]:
        bmep = 4 * math.pi * s["torque_n_m"] / swept / 1e5
        assert s["bmep_bar"] == pytest.approx(bmep, rel=1e-9)
        force = s["peak_pressure_bar"]["p50"] * 1e5 * sealing / 1e3
        # The sealing diameter is drawn about 86.36 mm by 0.7 mm, so its area by 1.6 %: a median of
        # 128 lies within three times 1.25 x 1.6 %/sqrt(128).
        assert s["gas_force_kn"] == pytest.approx(force, rel=5e-3)


def test_limit_document(made):
    """The contract: keys of `limit` and of its rows; before is the run itself."""
    document, assessed = made["limit"], made["assess"]
    assert document.keys() >= LIMIT
    assert document["before"].keys() == document["after"].keys() == {
        "area_kw_rpm", "chance_any_max",
    }  # fmt: skip
    assert isinstance(document["verified"], bool)
    for row in document["table"]:
        assert row.keys() >= ROW
        assert row["governing"] in document["limits"]
        assert row["manifold_pressure_kpa"] is None
    power = np.array([s["power_kw"] for s in assessed["by_speed"]])
    speed = np.array([s["speed_rpm"] for s in assessed["by_speed"]])
    # Torque is a straight line between rows, so power is a parabola: area by Simpson's rule.
    torque = np.array([s["torque_n_m"] for s in assessed["by_speed"]])
    middle = (torque[1:] + torque[:-1]) / 2 * (speed[1:] + speed[:-1]) / 2 * math.pi / 30 / 1e3
    area = np.sum(np.diff(speed) * (power[1:] + 4 * middle + power[:-1]) / 6)
    assert document["before"]["area_kw_rpm"] == pytest.approx(area, rel=1e-9)
    worst = max(s["chance_any"] for s in assessed["by_speed"])
    assert document["before"]["chance_any_max"] == worst
    assert document["after"]["chance_any_max"] <= document["chance_accepted"]


def test_studs_document(made):
    """The contract: keys of `studs`; what holds keeps the accepted chance, the present first."""
    document = made["studs"]
    assert document["required_clamp_per_fastener_kn"] > 0
    assert len(document["choices"]) > 5
    for choice in [document["present"], *document["choices"]]:
        assert choice.keys() >= CHOICE
        assert isinstance(choice["holds"], bool)
        assert isinstance(choice["property_class"], str)
        if choice["holds"]:
            assert choice["lift_chance"] <= document["chance_accepted"]
            assert choice["strip_utilisation"] <= 1
    held = [c for c in (document["present"], *document["choices"]) if c["holds_aged"]]
    if held:
        now = document["present"]  # nobody changes what is too close to call
        assert document["mildest_that_holds"] == (now if now["close"] else held[0])


def test_explain_document(made):
    """The contract: keys of `explain`; the dip of the test run lies where it was put."""
    dips = made["explain"]["dips"]
    assert len(dips) == 1
    assert dips[0].keys() >= DIP
    assert 3000 < dips[0]["from_rpm"] < 3800
    assert 4200 < dips[0]["to_rpm"] < 5000
    assert dips[0]["deepest_rpm"] == pytest.approx(4000, abs=200)
    assert dips[0]["depth_n_m"] > 0


def test_compare_document(made):
    """The contract: keys of `compare`."""
    assert made["compare"].keys() >= {"by_speed", "area_kw_rpm", "sweep_time_s", "text"}


def _band(low, middle, high):
    return Band(p05=np.array([low]), p50=np.array([middle]), p95=np.array([high]))


def test_infinite_capacities_become_null_with_a_state():
    """The contract: speed-limited and not limited are words beside null, never NaN or 0."""
    speed = assessed._capacity(_band(-np.inf, -np.inf, -np.inf), 0)
    assert (speed["p05"], speed["p50"], speed["p95"]) == (None, None, None)
    assert speed["state"] == SPEED_LIMITED
    open_ = assessed._capacity(_band(400.0, np.inf, np.inf), 0)
    assert (open_["p05"], open_["p50"]) == (400.0, None)
    assert open_["state"] == NOT_LIMITED
    assert open_["states"] == {"p50": NOT_LIMITED, "p95": NOT_LIMITED}
    both = assessed._capacity(_band(-np.inf, 400.0, np.inf), 0)
    assert both["state"] == SPEED_LIMITED
    json.dumps([speed, open_, both], allow_nan=False)


def test_nan_is_our_fault_and_never_null():
    """common practice, no source: a NaN is an error of the program, not a missing value."""
    with pytest.raises(ArithmeticError, match="not a number"):
        assessed.finite(float("nan"))
