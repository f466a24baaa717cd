"""The stud bench: what clamp the curve needs, which fasteners give it, and the sheet for one."""

from collections.abc import Sequence

import numpy as np
import streamlit as st

from torquerisk.errors import InputError
from torquerisk.show import figures
from torquerisk.show.figures_joint import choice_columns, choice_name
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import block, bullets, heading, paragraphs, pretty, safe, table
from torquerisk.show.page.result import Result
from torquerisk.study.stud_results import StudChoice
from torquerisk.study.studs import StudBench, stud_bench

KILO = 1e3
BAR = 1e5
MOST_DRAWN = 14
"""Choices drawn; the table has them all."""


def studs(result: Result) -> None:
    """Everything for the builder; a slider here redraws only this section."""
    heading(
        "Which studs would hold it?", "studs",
        "Clamp that the curve needs at the accepted chance, and the fastenings that give it, the "
        "mildest change first.",
    )  # fmt: skip
    st.fragment(_bench)(result)


def _bench(result: Result) -> None:
    a = result.assessment
    peak = float(a.torque.max())
    low, high, now = (round(v / 5) * 5 for v in (0.5 * peak, 1.25 * peak, peak))
    kept = st.session_state.get("hold")
    if kept is not None and not low <= kept <= high:
        del st.session_state["hold"]
    target = st.slider(
        "Peak torque to hold, same shape of curve [N·m]", low, high, now, 5, key="hold",
        bind="query-params",
    )  # fmt: skip
    exact = None if target == now else float(target)
    try:
        bench = result.keep(
            ("bench", target, result.chance),
            lambda: stud_bench(a, exact, result.chance),
        )
    except InputError as error:
        block(f'<div class="tr-said" role="alert"><p>{safe(error)}</p></div>')
        return
    paragraphs(bench.findings)
    every = [bench.present, *bench.choices]
    names = [choice_name(bench, c) for c in every]
    best = bench.mildest
    chosen = st.selectbox(
        "Look at one fastening", names, index=every.index(best) if best is not None else 0,
        key=f"fastening_{target}_{result.chance:g}",
    )  # fmt: skip
    choice = every[names.index(chosen)]
    about = f"{target}_{result.chance:g}_{names.index(chosen)}"
    look, stamp = result.look, result.stamp
    picture(
        result.picture(f"clamp_{about}", lambda: figures.clamp_picture(bench, choice, look, stamp)),
        key="fig_clamp",
    )
    picture(
        result.picture(
            f"choices_{target}_{result.chance:g}",
            lambda: figures.choices_picture(bench, _worth_drawing(bench), look, stamp),
        ),
        key="fig_choices", numbers=False,
    )  # fmt: skip
    with st.expander(f"Numbers: all {len(bench.choices)} choices", type="compact"):
        block(table(choice_columns(bench, every), "Fastenings, the mildest change first"))
    _joint(result, bench, choice, about)
    _sheet(bench, choice, names[names.index(chosen)])
    with st.expander("What the bench takes for granted", type="compact"):
        bullets([*(pretty(n.text) for n in bench.notices), *bench.cautions[:2]])


def _worth_drawing(bench: StudBench) -> list[StudChoice]:
    """The present fastening, and the choices that hold or come nearest, mildest first."""
    ranked = sorted(bench.choices, key=lambda c: (not c.holds_aged, not c.holds, -c.torque_held))[
        : MOST_DRAWN - 1
    ]
    return [bench.present, *(c for c in bench.choices if c in ranked)]


def _joint(result: Result, bench: StudBench, choice: StudChoice, about: str) -> None:
    """What one firing does to the chosen joint."""
    worst = float(np.median(result.assessment.worst_pressure.p50.max())) * bench.scale
    most = round(1.3 * float(np.quantile(choice.head.lift_pressure(), 0.95)) / BAR)
    start = int(min(max(round(worst / BAR), 0), most))
    fire = st.slider(
        "Firing pressure in the cylinder [bar]", 0, most, start, 1, key=f"fire_{about}"
    )
    picture(
        result.picture(
            f"joint_{about}_{fire}",
            lambda: figures.joint_picture(choice.head, fire * BAR, result.look, result.stamp),
        ),
        key="fig_joint",
    )


def _sheet(bench: StudBench, choice: StudChoice, name: str) -> None:
    """The target sheet of one fastening: what to fit, how to tighten it, what to check."""
    made, draws = choice.fastening, len(choice.head.preload)
    thread = made.thread
    lines: list[tuple[str, str]] = [
        ("Fit", f"{thread.designation}, class {made.class_word}"),
        ("To be done", made.change.words),
        ("Lubricant", made.lubricant.words),
        ("Tighten", made.how),
        ("Preload aimed at", _three(choice.preload, KILO, "kN")),
        ("Clamp in service", _three(choice.clamp, KILO, "kN")),
        ("Clamp needed", f"{bench.required_clamp_per_fastener / KILO:.0f} kN per fastener"),
        ("Head lifts", f"in {_count(choice.lift_chance, draws)} of {draws:,} simulated joints new, "
                       f"{_count(choice.lift_chance_aged, draws)} after many heat cycles"),
        ("Fastener yield", _ratio(choice.yield_utilisation, choice.yield_utilisation_p95)),
        ("Thread in the block", _ratio(choice.strip_utilisation, choice.strip_utilisation_p95)),
        ("Brought past yield while tightening", "on purpose" if choice.plastic
         else f"{_percent(choice.past_yield)} of the fasteners"),
        ("Hardened washer", f"at least {choice.washer_diameter * 1e3:.0f} mm across"),
        ("Peak torque held", f"{choice.torque_held:.0f} N·m, same shape of curve"),
        ("First to fail", choice.first_to_fail.value),
    ]  # fmt: skip
    verdict = (
        "Estimated to hold, new and after many heat cycles."
        if choice.holds_aged
        else "Estimated to hold new; not after many heat cycles unless tightened again."
        if choice.holds
        else "Not estimated to hold this curve."
    )
    rows = "".join(
        f'<tr><th scope="row">{safe(a)}</th><td>{safe(pretty(b))}</td></tr>' for a, b in lines
    )
    block(
        f'<div class="tr-sheet"><h3>Sheet for {safe(name)}</h3><p>{safe(verdict)} The maker\'s '
        "tightening procedure comes first.</p>"
        f'<div class="tr-scroll" tabindex="0" role="region" aria-label="Target sheet"><table>'
        f"<tbody>{rows}</tbody></table></div></div>"
    )


def _three(values: object, size: float, unit: str) -> str:
    low, middle, high = (getattr(values, p) / size for p in ("p05", "p50", "p95"))
    return f"{middle:.0f} {unit} ({low:.0f} to {high:.0f})"


def _count(chance: float, draws: int) -> str:
    count = round(chance * draws)
    return (
        "fewer than 1" if count <= 0 else f"over {draws - 1:,}" if count >= draws else f"{count:,}"
    )


def _percent(share: float) -> str:
    return "fewer than 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def _ratio(middle: float, high: float) -> str:
    return f"load is {middle:.2f} of strength (up to {high:.2f})"


__all__: Sequence[str] = ["studs"]
