"""Where a diesel burns that nobody measured: later as load rises, so as to hold its peak pressure.

A maker lets the burn start as early as peak pressure allows, up to the torque that he rates. Past
that torque nobody has moved the start of injection, so that the burn starts where it did, lasts
longer for its fuel and is half done that much later: peak pressure rises with load, a little less
than in proportion. Where the rated torque is not known, the engine is taken as its maker's at any
load, and phasing is held until it is as late as makers go.
"""

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.cylinder import phasing
from torquerisk.quantities import Array
from torquerisk.study.cycle import cylinder
from torquerisk.study.cycle.cylinder import CylinderSpec
from torquerisk.study.draws import spreads
from torquerisk.study.run.operating_state import Operating

LOWEST_LIMITED = 13e5
"""Gross IMEP below which no diesel's peak pressure comes near its limit [Pa]."""
LEAST_KNOWN = 2e5
"""Gross IMEP of an idling engine [Pa]: a known curve that falls below it knows no less."""
HIGHEST_RATED = phasing.PEAK_LIMIT_LOADS[1]
"""BMEP to which phasing follows load where the rated one is not known [Pa]."""


def known_imep(state: Operating, s: int) -> float | None:
    """Rough gross IMEP up to which the injection is the maker's, at place s [Pa]; None: not known.

    At least LEAST_KNOWN.
    """
    if state.known_bmep is None:
        return None
    return float(np.maximum(cylinder.imep_estimate(state.known_bmep[s]), LEAST_KNOWN))


def unlimited(
    spec: CylinderSpec, speed: float, imep: Array, known: float | None, z: Array
) -> Array:
    """CA50 (N, I) [rad] were no peak pressure held. z: deviates of phasing (N,)."""
    top = cylinder.imep_estimate(HIGHEST_RATED) if known is None else known
    middle = cylinder.ca50_compression(speed, np.minimum(imep, top))
    return np.clip(middle + spreads.PHASING_COMPRESSION.sd * z[:, None], *spec.ca50_range)


def judged_rows(imep: Array, known: float | None) -> slice:
    """Load rows whose peak pressure decides how late the injection is: about the known load."""
    if known is None:
        highest = float(cylinder.imep_estimate(HIGHEST_RATED))
        first, last = np.searchsorted(imep, np.array([LOWEST_LIMITED, highest]))
        return slice(int(first), int(last) + 1)
    above = int(np.clip(np.searchsorted(imep, known), 1, len(imep) - 1))
    return slice(above - 1, above + 1)


def rows_of(groups: list[tuple[slice, Array]], rows: slice) -> list[tuple[slice, Array]]:
    """Groups of load rows with their coordinates, of some neighbouring rows only."""
    found = []
    for group, z in groups:
        first, last = max(group.start, rows.start), min(group.stop, rows.stop)
        if first < last:
            found.append((slice(first - rows.start, last - rows.start), z))
    return found


def limits(engine: Engine, imep: Array, known: float | None, peak_limit: Array) -> Array:
    """Peak pressure that is held (N, I) [Pa]. peak_limit: draws of the input (N,)."""
    limit = np.broadcast_to(peak_limit[:, None], (len(peak_limit), len(imep)))
    if engine.has(spreads.PEAK_LIMIT):
        return limit
    load = imep if known is None else np.full_like(imep, known)
    return phasing.limit_at_load(limit, cylinder.brake_unheld(load))


def prolonged(spec: CylinderSpec, speed: float, imep: Array, known: float) -> Array:
    """How much later (I,) [rad] than at the known load a burn that starts alike is half done.

    The share of the burn up to there, of what it lasts longer by the correlation: 1 to 1.5 degrees
    for a third more load. Nothing where the duration is given, or below the known load.
    Source: a diffusion burn lasts as long as its injection, [HEYWOOD] chapter 10; how much of that
    longer pressure in the rail takes back is not known (from memory)
    """
    loads = np.append(np.maximum(imep, known), known)
    lasts = cylinder.burn_duration(
        spec, np.full_like(loads, speed), loads, np.full_like(loads, np.nan), loads
    )
    return np.asarray(phasing.FRACTION_CA10_TO_CA50 * (lasts[:-1] - lasts[-1]))


def held(
    spec: CylinderSpec, speed: float, imep: Array, known: float | None, free: Array, over: Array,
    rows: slice,
) -> Array:  # fmt: skip
    """CA50 (N, I) [rad] with peak pressure held.

    free: without that (N, I); over: logarithm of peak over limit there, of the judged rows.
    """
    ca50 = free.copy()
    if known is None:
        ca50[:, rows] += phasing.lateness_to_hold(free[:, rows], np.exp(over))
        ca50[:, rows.stop :] = ca50[:, rows.stop - 1 : rows.stop]
        return np.minimum(ca50, spec.ca50_range[1])
    near, far = rows.start, rows.stop - 1
    share = np.clip(np.log(known / imep[near]) / np.log(imep[far] / imep[near]), 0.0, 1.0)
    # What the row below would read at the known load's own, later phasing.
    shift = phasing.PEAK_SLOPE_COMPRESSION * (free[:, far] - free[:, near])
    there = (1 - share) * (over[:, 0] - shift) + share * over[:, -1]
    later = phasing.lateness_to_hold(free[:, far], np.exp(there))
    ca50 += later[:, None] * np.minimum(imep / known, 1.0) + prolonged(spec, speed, imep, known)
    return np.minimum(ca50, spec.ca50_range[1])
