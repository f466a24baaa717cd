"""The invented tow diesel, assessed once for the tests of the bench of fasteners."""

import dataclasses
from functools import lru_cache
from pathlib import Path

import torquerisk
from torquerisk.case import Engine, KnownGood, default_policy
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.strengths.parts import parts_of
from torquerisk.study.studs.bench import StudBench, stud_bench

CASE = Path(__file__).parents[1] / "sample_runs" / "tow_diesel"
TARGET = 526.0
BEYOND = 1375.0
"""Peak torque that no fastener judged holds [N*m]."""
DRAWS = 256


@lru_cache(maxsize=1)
def known() -> Assessment:
    """With the factory's curve as known-good."""
    engine = torquerisk.load_engine(CASE / "engine.toml")
    return torquerisk.assess(
        engine, torquerisk.load_run(CASE / "run.csv"), default_policy(draws=DRAWS)
    )


@lru_cache(maxsize=1)
def unknown() -> Assessment:
    """Without any evidence: no known-good curve, no manifold pressure, no part of a maker's."""
    engine = dataclasses.replace(
        torquerisk.load_engine(CASE / "engine.toml"), known_good=KnownGood()
    ).with_values(
        {
            "head_joint.original": "false",
            "running_gear.original_rods": "false",
            "running_gear.original_rod_bolts": "false",
        }
    )
    run = torquerisk.load_run(CASE / "run.csv")
    channels = {k: v for k, v in run.channels.items() if k != "manifold_pressure"}
    return torquerisk.assess(
        engine, dataclasses.replace(run, channels=channels), default_policy(draws=DRAWS)
    )


@lru_cache(maxsize=4)
def bench_of(target: float | None = TARGET) -> StudBench:
    """The bench of the known engine."""
    return stud_bench(known(), target)


def with_engine(assessment: Assessment, engine: Engine) -> Assessment:
    """The same loads and draws with another head joint."""
    parts = parts_of(engine, assessment.model.draws)
    model = dataclasses.replace(assessment.model, parts=parts)
    return dataclasses.replace(assessment, engine=engine, model=model)
