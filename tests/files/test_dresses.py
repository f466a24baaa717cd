"""Readings of one pull in hundreds of dresses: none silently wrong, hardly a good one refused."""

from collections import Counter

import numpy as np
import pytest
from dress_frames import dresses
from dresses import SPEED, TRUTH, Dress

from torquerisk.case import Run
from torquerisk.errors import InputError
from torquerisk.files.run_file import run_from_bytes

FACTS = ("measured_at", "correction")


def outcome(dress: Dress) -> str:
    """'right', 'refused', 'told' or 'wrong', and for a wrong one why."""
    try:
        run = run_from_bytes(dress.data, "run.csv")
    except InputError:
        return "refused"
    fault = difference(run, dress)
    if not fault:
        return "right"
    said = " ".join(run.record).casefold()
    if not dress.good and any(word.casefold() in said for word in dress.told):
        return "told"
    return f"wrong: {fault}"


def difference(run: Run, dress: Dress) -> str:
    """What a reading says otherwise than the truth; '' where it says the same."""
    for name in FACTS:
        if run.facts.get(name) != dress.facts.get(name):
            return f"{name} is {run.facts.get(name)}, not {dress.facts.get(name)}"
    if set(run.channels) - {*dress.channels, "time"}:
        return f"channels {sorted(run.channels)}"
    if len(run.speed) < 0.9 * len(SPEED):
        return f"{len(run.speed)} rows"
    arrays = {"torque": run.torque, **run.channels}
    for name in dress.channels:
        if name not in arrays:
            return f"{name} is missing"
        wanted = np.interp(run.speed, TRUTH["speed"], TRUTH[name])
        if not np.allclose(arrays[name], wanted, rtol=0.006, atol=1e-3):
            return f"{name} differs"
    return ""


@pytest.fixture(scope="module")
def read() -> list[tuple[Dress, str]]:
    return [(dress, outcome(dress)) for dress in dresses()]


def listed(found: list[tuple[Dress, str]]) -> str:
    return "\n".join(f"{dress.label}: {what}" for dress, what in found[:60])


@pytest.mark.slow
def test_no_dress_is_silently_misread(read):
    """Identity: the pull is known, so a reading is right, refused, told of, or wrong."""
    wrong = [(d, w) for d, w in read if w.startswith("wrong")]
    counts = Counter(w.split(":")[0] for _, w in read)
    print(f"{len(read)} dresses: {dict(counts)}")
    assert len(read) >= 400
    assert not wrong, f"{len(wrong)} of {len(read)}\n{listed(wrong)}"


@pytest.mark.slow
def test_hardly_a_good_dress_is_refused(read):
    """Identity: at most 2 % of the good files are refused."""
    good = [(d, w) for d, w in read if d.good]
    refused = [(d, w) for d, w in good if w == "refused"]
    print(f"{len(good)} good dresses, {len(refused)} refused")
    assert len(good) >= 400
    assert len(refused) <= 0.02 * len(good), f"{len(refused)} of {len(good)}\n{listed(refused)}"
