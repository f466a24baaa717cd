"""How long an assessment and a proposal take, and how much memory; prints, asserts no times.

Run: python -m pytest -q -s tests/bench/bench_assess.py
"""

import resource
import time
from collections.abc import Callable

import numpy as np

from torquerisk.case import Engine, HeadJoint, Run, default_policy
from torquerisk.quantities import RPM
from torquerisk.study.assessment.assess import assess
from torquerisk.study.table.propose import propose_limit


def _engine() -> Engine:
    return Engine(
        ignition="spark", cylinders=4, bore=0.086, stroke=0.086, rod_length=0.145,
        compression_ratio=9.5,
        head_joint=HeadJoint(fasteners=10, thread="M11x1.5", property_class="10.9"),
    )  # fmt: skip


def _run(speeds: int = 25) -> Run:
    rpm = np.linspace(1800, 6600, speeds)
    torque = 330 - 90 * ((rpm - 4300) / 2500) ** 2
    return Run(
        name="bench", speed=rpm * RPM, torque=torque,
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip


def _median(work: Callable[[], object], times: int = 7) -> float:
    work()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return float(np.median(taken))


def test_assess_by_draws() -> None:
    """25 speeds with all limits, warm, for a rising number of draws."""
    engine, run = _engine(), _run()
    print()
    for draws in (512, 1024, 2048, 4096, 8192):
        policy = default_policy(draws=draws)
        taken = _median(lambda policy=policy: assess(engine, run, policy))
        print(f"assess, 25 speeds x {draws:5d} draws: {taken * 1e3:6.0f} ms, "
              f"{taken / draws * 1e6:.0f} us a draw")  # fmt: skip
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of the process: {peak:.0f} MB")


def test_assess_of_a_diesel() -> None:
    """25 speeds x 4,096 draws, warm: one coordinate of the surface more, no knock."""
    spark = _engine()
    engine = Engine(
        ignition="compression", cylinders=4, bore=0.096, stroke=0.103, rod_length=0.158,
        compression_ratio=16.5, head_joint=spark.head_joint,
    )  # fmt: skip
    rpm = np.linspace(1200, 4200, 25)
    run = Run(
        name="bench", speed=rpm * RPM, torque=450 - 90 * ((rpm - 2400) / 1800) ** 2,
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip
    policy = default_policy(draws=4096)
    taken = _median(lambda: assess(engine, run, policy))
    print(f"\nassess of a diesel, 25 speeds x 4096 draws: {taken * 1e3:.0f} ms")


def test_propose() -> None:
    """A proposal with its proof, warm, 1,024 draws."""
    assessment = assess(_engine(), _run())
    print(f"\npropose with proof: {_median(lambda: propose_limit(assessment), 5) * 1e3:.0f} ms")
