"""Sampling error of a table's ceiling: as told beside each row, and as 24 seeds differ.

Told over real, all rows: hill_climb 5.9 and 5.2 N*m, ratio 1.15; tow_diesel 12.5 and 10.2 N*m,
ratio 1.23. Rows of one table move together, so eight seeds tell it no better than within 27 %.

Run with `pytest -q -s tests/bench/bench_sampling.py`. Source: our own, it prints figures.
"""

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import torquerisk
from torquerisk.case import default_policy
from torquerisk.quantities import RPM
from torquerisk.study.table.engines_enough import judged_on
from torquerisk.study.table.finer_grid import binding_capacity, ceiling_at, index_of
from torquerisk.study.table.propose import ask_of
from torquerisk.study.table.rows import quantile_error

SAMPLES = Path(__file__).parents[2] / "sample_runs"
SEEDS = 24


@pytest.mark.parametrize("case", ["hill_climb", "tow_diesel"])
def test_told_against_real(case: str) -> None:
    """Prints by row the ceiling, its told standard error and its standard deviation over seeds."""
    engine = torquerisk.load_engine(SAMPLES / case / "engine.toml")
    run = torquerisk.load_run(SAMPLES / case / "run.csv")
    ceilings, told, kept, spent = [], [], [], time.process_time()
    for seed in range(1, SEEDS + 1):
        policy = replace(default_policy(), seed=1000 * seed)
        assessment = torquerisk.assess(engine, run, policy)
        breakpoints = ask_of(assessment, policy).breakpoints
        fine = judged_on(assessment, breakpoints, policy.chance)
        index = index_of(fine.speed, breakpoints)
        ceilings.append(ceiling_at(fine, policy.chance)[index])
        kept.append(fine.evidence.kept)
        told.append(
            quantile_error(binding_capacity(fine)[index], policy.chance, fine.evidence.kept)
        )
    real = np.std(ceilings, axis=0, ddof=1)
    told_rms = np.sqrt(np.mean(np.square(told), axis=0))
    print(f"\n{case}: {kept} engines, {(time.process_time() - spent) / SEEDS:.1f} s a seed")
    for k, speed in enumerate(breakpoints):
        print(
            f"{speed / RPM:6.0f} rpm {np.mean(ceilings, axis=0)[k]:6.1f} N*m"
            f" told {told_rms[k]:5.1f} real {real[k]:5.1f} ratio {told_rms[k] / real[k]:5.2f}"
        )
    all_told, all_real = (np.sqrt(np.mean(x**2)) for x in (told_rms, real))
    print(f"all rows: told {all_told:.1f} real {all_real:.1f} ratio {all_told / all_real:.2f}")
