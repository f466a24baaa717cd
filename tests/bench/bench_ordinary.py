"""How ordinary engines fare at their own full-load curve; prints, asserts nothing.

Run: python tests/bench/bench_ordinary.py [part of a name ...] [--draws 256]
With parts of names only the engines that hold one of them, and their limits one by one.

Evidence: 0, only what is required; r, with what a data sheet says; k, the curve known good.
"""

import argparse
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from ordinary import RPM, Ordinary, has_rated, ordinary_engines

from torquerisk import assess, default_policy, propose_limit
from torquerisk.case import Policy
from torquerisk.errors import TorqueRiskError
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import LimitKind

EVIDENCE = {"0": {}, "r": {"rated": True}, "k": {"known_good": True}}
TUNED = 2.2
"""Multiple of its curve at which no boosted engine holds (common practice, no source)."""
CHANCES = (0.01, 0.10, 0.50, 0.90)
TIMES = np.array([1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0])


def multiples(a: Assessment) -> Array:
    """Least multiple of the curve that fails, by speed and engine (S, N)."""
    strength = [
        a.model.capacities[name] for name, x in a.limits.items()
        if x.limit.kind is LimitKind.STRENGTH
    ]  # fmt: skip
    return np.min(strength, axis=0) / a.torque[:, None]


def at_chance(times: Array, chance: float) -> float:
    """Multiple of the curve at which the worst speed has this chance [-]."""
    rank = min(int(np.ceil(chance * times.shape[1])), times.shape[1]) - 1
    return float(np.partition(times, rank, axis=1)[:, rank].min())


def plateau(times: Array) -> str:
    """Where the chance at the worst speed stands still between 5 and 95 %; empty where it rises."""
    chance = [float((times < k).mean(axis=1).max()) for k in TIMES]
    flat = [
        f"{a:g}-{b:g}" for a, b, p, q in zip(TIMES, TIMES[1:], chance, chance[1:], strict=False)
        if q < p or (0.05 < p < 0.95 and q - p < 0.01)
    ]  # fmt: skip
    return "flat " + " ".join(flat) if flat else ""


@dataclass
class Row:
    """What is printed of one engine, by evidence."""

    one: Ordinary
    chance: dict[str, float] = field(default_factory=dict)
    worst: dict[str, str] = field(default_factory=dict)
    tuned: dict[str, float] = field(default_factory=dict)
    table: dict[str, str] = field(default_factory=dict)
    times: str = ""
    peak: str = ""
    kept: str = ""
    limits: dict[str, str] = field(default_factory=dict)


def limit_chances(a: Assessment) -> tuple[int, str]:
    """Index of the worst speed and the limits that fail there, in percent."""
    k = int(np.argmax(a.chance_any))
    found = sorted(
        ((float(x.chance[k]), name, x.limit.kind) for name, x in a.limits.items()), reverse=True
    )
    marks = {LimitKind.STRENGTH: "", LimitKind.INDEX: " (index)", LimitKind.SUPPLY: " (supply)"}
    return k, ", ".join(
        f"{name} {p:.1%}{marks.get(kind, '')}" for p, name, kind in found if p >= 0.001
    )


def table_ratio(a: Assessment) -> str:
    """Least ratio of the 1 % ceiling and of the 1 % table to the curve."""
    ceiling = float(np.min(a.ceiling / a.torque))
    try:
        proposal = propose_limit(a)
    except TorqueRiskError as error:
        return f"{ceiling:5.2f} none: {error}"[:60]
    rows = [(r.limit, np.interp(r.speed, a.speed, a.torque)) for r in proposal.rows]
    return f"{ceiling:5.2f} {min(t / c for t, c in rows):5.2f}"


def peak_at(a: Assessment, rpm: float) -> str:
    """Median peak pressure with its band [bar] and median CA50 at the speed nearest."""
    k = int(np.argmin(np.abs(a.speed - rpm * RPM)))
    low, middle, high = (getattr(a.peak_pressure, p)[k] / 1e5 for p in ("p05", "p50", "p95"))
    return f"{middle:3.0f} ({low:.0f}-{high:.0f}) at {np.degrees(a.ca50.p50[k]):2.0f}°"


def examine(one: Ordinary, policy: Policy) -> Row:
    """One engine with every kind of evidence."""
    row = Row(one)
    for key, evidence in EVIDENCE.items():
        if key == "r" and not has_rated():
            continue
        try:
            a = assess(*one.case(**evidence), policy)
            tuned = assess(*one.case(**evidence, times=TUNED), policy)
        except TorqueRiskError as error:
            row.worst[key] = f"refused: {error}"
            continue
        k, row.limits[key] = limit_chances(a)
        row.chance[key] = float(a.chance_any.max())
        row.worst[key] = f"{a.speed[k] / RPM:5.0f} {a.governing[k]}"
        row.tuned[key] = float(tuned.chance_any.max())
        row.table[key] = table_ratio(a)
        times = multiples(a)
        if key == "0":
            at = [at_chance(times, c) for c in CHANCES]
            row.times = " ".join(f"{t:5.2f}" for t in at) + " " + plateau(times)
            row.peak = ", ".join(peak_at(a, one.rated[k]) for k in ("torque_speed", "power_speed"))
        if key == "k":
            row.kept = f"{a.evidence.kept}/{a.evidence.tried}"
    return row


def show(row: Row, every_limit: bool) -> None:
    """Print one engine."""

    def percent(values: dict[str, float]) -> str:
        return " ".join(f"{100 * values[k]:5.1f}" if k in values else "    -" for k in EVIDENCE)

    print(
        f"{row.one.name:28s} {percent(row.chance)} | {percent(row.tuned)} | "
        f"{row.table.get('0', '-'):11s} | {row.table.get('k', '-'):11s} | {row.times:24s} | "
        f"{row.peak:40s} | {row.kept:10s} | {row.worst['0']}"
    )
    for key, words in row.limits.items():
        if every_limit or key == "0":
            print(f"      {key}: {words}")
    for key, words in row.worst.items():
        if words.startswith("refused"):
            print(f"      {key}: {words}")


def summary(rows: list[Row]) -> None:
    """Median and greatest chance by evidence, and the least at a tuner's torque."""
    for key in EVIDENCE:
        found = {r.one.name: r.chance[key] for r in rows if key in r.chance}
        if not found:
            continue
        worst = max(found, key=lambda name: found[name])
        boosted = [r.tuned[key] for r in rows if key in r.tuned and r.one.boosted]
        print(
            f"{key}: median {np.median(list(found.values())):.1%}, greatest {found[worst]:.1%} "
            f"({worst}); at {TUNED} times least of boosted {min(boosted, default=np.nan):.0%}"
        )


def main() -> None:
    """Print the engines asked for."""
    asked = argparse.ArgumentParser(description="Ordinary engines at their own curve.")
    asked.add_argument("names", nargs="*", help="parts of names; every engine when left out")
    asked.add_argument("--draws", type=int, default=256)
    given = asked.parse_args()
    chosen = [
        one for one in ordinary_engines()
        if not given.names or any(name in one.name for name in given.names)
    ]  # fmt: skip
    policy = default_policy(draws=given.draws)
    start = time.perf_counter()
    print(
        f"{'':28s} chance % 0  r    k | at {TUNED} x 0  r    k | ceiling, table over curve, "
        "0 | k | times rated torque at 1 10 50 90 % (0) | peak at rated torque, power [bar] | "
        "kept | worst speed, least ceiling"
    )
    rows = []
    for one in chosen:
        rows.append(examine(one, policy))
        show(rows[-1], every_limit=bool(given.names))
    summary(rows)
    print(f"{len(rows)} engines, {given.draws} draws, {time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
