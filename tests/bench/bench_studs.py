"""How long the bench of fasteners takes, and how finely its small chances are resolved."""

import time

import numpy as np
import pytest

import torquerisk
from torquerisk.case import default_policy
from torquerisk.study.studs.bench import stud_bench

CASE = "sample_runs/tow_diesel"


def assessed(seed: int) -> torquerisk.study.assessment.result.Assessment:
    engine = torquerisk.load_engine(f"{CASE}/engine.toml")
    run = torquerisk.load_run(f"{CASE}/run.csv")
    return torquerisk.assess(engine, run, default_policy(seed=seed))


def test_time():
    """Printed; the aim is a second for 1,024 draws and about fifty choices."""
    assessment = assessed(1)
    took = []
    for _ in range(5):
        start = time.perf_counter()
        bench = stud_bench(assessment, 526.0)
        took.append(time.perf_counter() - start)
    print(
        f"\n{len(bench.choices)} choices, {assessment.model.draws.count} draws: {min(took):.2f} s"
    )


def test_seeds():
    """How the answer moves with the seed: needed clamp and lift chances of the first choices."""
    needed, lifts = [], []
    for seed in (1, 2, 3):
        bench = stud_bench(assessed(seed), 526.0)
        needed.append(bench.required_clamp_per_fastener / 1e3)
        lifts.append([c.lift_chance for c in bench.choices[:6]])
    print("\nneeded clamp by seed [kN]:", np.round(needed, 1))
    print("lift chance of the first six choices by seed:\n", np.round(lifts, 3))
    assert np.ptp(needed) / np.mean(needed) == pytest.approx(0.0, abs=0.10)
