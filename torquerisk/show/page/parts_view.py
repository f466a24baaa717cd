"""Part by part, and inside the cylinder."""

from functools import partial

import numpy as np
import streamlit as st

from torquerisk.files.exports import TableColumn, speed_column
from torquerisk.quantities import RPM
from torquerisk.show.page.alone import fold
from torquerisk.show.page.draw import picture
from torquerisk.show.page.grid import grid
from torquerisk.show.page.html import block, paragraphs, safe, table
from torquerisk.show.page.layout import state_mark
from torquerisk.show.page.result import Result
from torquerisk.show.pictures import gallery
from torquerisk.show.words import running_gear
from torquerisk.show.words.columns import Shown, numbers
from torquerisk.show.words.running_gear import FORCE, extreme_columns
from torquerisk.study.answers.results import (
    FORCES,
    Assessment,
    GearLoads,
    LimitKind,
    LimitResult,
    MedianCycle,
)

MOST_OPEN = 3
"""Pictures in sight; the rest is behind a fold."""


def parts(result: Result) -> None:
    """The nearest parts as pictures, all others behind; guidance apart from limits that count."""
    items = gallery.worst_first(result.assessment)
    counted = [i for i in items if i.limit.kind is not LimitKind.INDEX]
    guidance = [i for i in items if i.limit.kind is LimitKind.INDEX]
    paragraphs(
        [
            "Load over strength, the likeliest to give first; at 1 the limit is reached. "
            "Line: median. Shade: 5 to 95 % of the simulated engines."
        ],
        "tr-lead",
    )
    _cards(result, counted[:MOST_OPEN])
    rest = counted[MOST_OPEN:]
    if rest:
        fold(f"The other {len(rest)} parts", "rest", lambda: _cards(result, rest))
    if guidance:
        fold("Long-life guidance: shown, never counted", "guidance",
             lambda: _cards(result, guidance))  # fmt: skip
    fold("Numbers of every part", "parts", lambda: _all_numbers(result, items))


def _cards(result: Result, items: list[LimitResult]) -> None:
    a, chance = result.assessment, result.chance
    for first in range(0, len(items), MOST_OPEN):
        row = items[first : first + MOST_OPEN]
        for place, item in zip(st.columns(MOST_OPEN, gap="medium"), row, strict=False):
            one = result.picture(
                f"part_{item.limit.name}",
                partial(gallery.part_picture, a, item, result.look, chance),
                gallery.worst_state(a, item, chance),
            )
            with place:
                block(_card_words(a, item, chance))
                picture(one, titled=False, numbers=False)


def _card_words(a: Assessment, item: LimitResult, chance: float) -> str:
    limit = item.limit
    if limit.kind is LimitKind.INDEX:
        most = float(np.max(item.utilisation))
        state = "beyond guidance" if most > 1 else "within guidance"
        mark = f'<span class="tr-state tr-quiet">{state}</span>'
    else:
        mark = state_mark(gallery.worst_state(a, item, chance).value)
    return (
        f'<p class="tr-part"><b>{safe(limit.title)}</b> {mark}'
        f"<small>{safe(limit.protects[0].upper() + limit.protects[1:])}.</small></p>"
    )


def _all_numbers(result: Result, items: list[LimitResult]) -> None:
    a = result.assessment
    columns = [speed_column(a.speed)]
    for item in items:
        values = [float(v) if np.isfinite(v) else None for v in item.utilisation]
        columns.append(TableColumn(name=item.limit.title, unit="1", values=values, decimals=2))
    grid(columns, "Median of load over strength", "parts")


def cylinder(result: Result) -> None:
    """Peak pressure by speed, one cycle on demand; rod, piston and big end behind."""
    a, look, stamp = result.assessment, result.look, result.stamp
    gear = result.answers.gear
    picture(
        result.picture("pressure", lambda: gallery.pressure_picture(a, look, stamp)), height=320
    )
    st.fragment(_one_cycle)(result, gear)
    fold("Rod forces by engine speed", "rod", lambda: _rod(result, gear))
    fold("Piston speed and motion", "piston", lambda: _piston(result, gear))


def _rod(result: Result, gear: GearLoads) -> None:
    a, crossings = result.assessment, running_gear.crossings(gear)
    picture(
        result.picture("rod", lambda: gallery.rod_picture(a, result.look, result.stamp, crossings))
    )
    paragraphs(running_gear.crossover_sentences(gear))


def _piston(result: Result, gear: GearLoads) -> None:
    picture(
        result.picture("piston", lambda: gallery.piston_picture(gear, result.look, result.stamp))
    )
    paragraphs([running_gear.guidance_in_words(gear), running_gear.crown_in_words(gear)])
    paragraphs([*running_gear.film_in_words(gear), *running_gear.mains_in_words(gear)])


def _one_cycle(result: Result, gear: GearLoads) -> None:
    a, look = result.assessment, result.look
    speeds = [round(float(v) / RPM) for v in a.speed]
    kept = st.session_state.get("cycle_speed")
    if kept is not None and kept not in speeds:
        del st.session_state["cycle_speed"]
    tightest = speeds[int(np.argmax(a.peak_pressure.p50))]
    chosen = st.select_slider(
        "One cycle at [rpm]", speeds, tightest, key="cycle_speed",
        format_func=lambda v: f"{v:,}", persist_state="session",
    )  # fmt: skip
    k = speeds.index(chosen)
    cycle = result.answers.cycle(k)
    speed = float(a.speed[k])
    pressure_top = float(a.peak_pressure.p95.max())
    force_top = 1.25 * float(max(a.rod_compression.max(), a.rod_tension.max()))
    pictures = (
        result.picture(
            f"cycle_{k}",
            lambda: gallery.cycle_picture(cycle, speed, look, result.stamp, pressure_top),
        ),
        result.picture(
            f"forces_{k}",
            lambda: gallery.forces_picture(cycle, speed, look, result.stamp, force_top),
        ),
    )
    for place, one in zip(st.columns(2, gap="medium"), pictures, strict=True):
        with place:
            picture(one, key=f"fig_{one.name.split('_')[0]}")
    fold(
        "Big-end load and every greatest force at that speed", "big_end",
        lambda: _big_end(result, gear, k, cycle),
    )  # fmt: skip


def _big_end(result: Result, gear: GearLoads, k: int, cycle: MedianCycle) -> None:
    """Big-end load as seen from the throw, beside the extremes of every force."""
    reach, speed = gear.reach, float(gear.speed[k])
    if reach is None:
        return
    one = result.picture(
        f"polar_{k}",
        lambda: gallery.polar_picture(cycle, speed, result.look, result.stamp, reach),
    )
    left, right = st.columns(2, gap="medium")
    with left:
        picture(one, key="fig_polar")
    with right:
        block(
            f'<h3 class="tr-fig">Greatest forces over one cycle at {speed / RPM:,.0f} rpm</h3>'
            + table(
                [*numbers([FORCE, *extreme_columns(gear, k)], FORCES, Shown())],
                "Angles from firing top dead centre",
            )
        )
        paragraphs([running_gear.FRAME], css="tr-lead")
        with st.expander("What these forces are", type="compact"):
            paragraphs(
                [running_gear.SIGNS, running_gear.basis_in_words(gear.engine)], css="tr-lead"
            )
