"""The sections of the page, each a question, drawn from one frozen result."""

from collections.abc import Callable

import streamlit as st

from torquerisk.case import CAUTIONS
from torquerisk.show import figures
from torquerisk.show.in_short import assessment_in_short, proposal_in_short
from torquerisk.show.page.case_in import Case
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import block, bullets, heading, paragraphs, safe
from torquerisk.show.page.layout import state_mark
from torquerisk.show.page.limit_view import before_after, table_view
from torquerisk.show.page.result import Result
from torquerisk.show.page.work import Edits
from torquerisk.study.reading import crank_reading


def read(case: Case, edits: Edits) -> None:
    """What was read, before any result."""
    run = case.run
    reading = crank_reading(case.engine, run)
    low, high = run.speed[0] * 9.5493, run.speed[-1] * 9.5493
    logged = ", ".join(name.replace("_", " ").strip() for name in run.channels)
    lines = [
        f"Read: {run.name}, {len(run.speed)} rows from {low:,.0f} to {high:,.0f} rpm; "
        f"{'; '.join(reading.steps)}.",
        f"Logged beside torque: {logged or 'nothing'}. Engine: {case.engine.name}, "
        f"{case.engine.cylinders} cylinders, {case.engine.swept_volume_total * 1e6:,.0f} cm³.",
    ]
    if edits:
        lines.append(f"{len(edits)} inputs differ from the file.")
    block('<div class="tr-read">' + "".join(f"<p>{safe(t)}</p>" for t in lines) + "</div>")
    with st.expander("How each line was read", type="compact"):
        bullets(run.record)


def short(result: Result) -> None:
    """The answer in a few sentences."""
    heading("What does it come to?", "short")
    proposal = result.proposal
    told = (
        proposal_in_short(proposal)
        if proposal is not None
        else assessment_in_short(result.assessment)
    )
    paragraphs(told, "tr-short")


def curve_heading() -> None:
    """The question above the curve and its widgets."""
    heading(
        "What limit would hold?", "curve",
        "Torque at the crank as it really was; the band is what the weakest part carries.",
    )  # fmt: skip


def curve(result: Result) -> None:
    """Curve, table, before and after."""
    a, s = result.assessment, result.sketch
    picture(
        result.picture(
            "curve",
            lambda: figures.curve_picture(a, s.limited, result.look, result.stamp),
            asks=True,
        ),
        titled=False,
    )
    table_view(result)
    before_after(result)


def room(result: Result) -> None:
    """Least margin by speed."""
    a = result.assessment
    heading(
        "Where is it tight?", "room", "Torque to spare before the weakest part, with its range."
    )
    block(
        '<div class="tr-key">'
        + "".join(
            state_mark(w) for w in ("estimated to hold", "too close to call", "estimated to exceed")
        )
        + "</div>"
    )
    picture(
        result.picture(
            "room",
            lambda: figures.room_picture(a, result.look, result.stamp, result.wish.policy.chance),
            asks=True,
        ),
        titled=False,
    )


def risk_map(result: Result) -> None:
    """Chance over speed and torque."""
    a, s, look = result.assessment, result.sketch, result.look
    heading(
        "What if it made more, or less?", "map",
        "Share of simulated engines that pass a strength limit at that speed and torque.",
    )  # fmt: skip
    from torquerisk.show.figures_risk import CHANCE_NAMES

    keys = "".join(
        f'<span><span class="tr-swatch" style="background:{c}"></span>{safe(n)}</span>'
        for c, n in zip(look.chance, CHANCE_NAMES, strict=True)
    )
    block(f'<div class="tr-key">{keys}</div>')
    picture(
        result.picture(
            "map",
            lambda: figures.map_picture(
                a, s.limited, look, result.stamp, result.wish.policy.chance
            ),
            asks=True,
        ),
        titled=False,
    )


def parts(result: Result) -> None:
    """One small chart per limit, worst first."""
    a, chance = result.assessment, result.wish.policy.chance
    heading(
        "How close is each part?", "parts",
        "Load over strength by speed, worst first. The line at 1 is where it is reached.",
    )  # fmt: skip
    with st.container(horizontal=True, gap="medium"):
        for item in figures.worst_first(a):
            with st.container(width=330):
                worst = max(item.state(chance), key=lambda s: list(type(s)).index(s))
                kind = "" if item.limit.kind.value != "index" else " Guidance only, not counted."
                block(
                    f'<p class="tr-part">{safe(item.limit.title)} {state_mark(worst.value)}'
                    f"<small>{safe(item.limit.protects)}.{kind}</small></p>"
                )
                picture(
                    result.picture(
                        f"part_{item.limit.name}",
                        lambda item=item: figures.part_picture(a, item, result.look, chance),
                        asks=True,
                    ),
                    titled=False,
                )


def cylinder(result: Result) -> None:
    """Peak pressure and rod forces."""
    a = result.assessment
    heading("What happens in the cylinder?", "cylinder")
    picture(
        result.picture("pressure", lambda: figures.pressure_picture(a, result.look, result.stamp))
    )
    picture(result.picture("rod", lambda: figures.rod_picture(a, result.look, result.stamp)))


def studs(result: Result) -> None:
    """Clamp against gas force."""
    a = result.assessment
    heading("Which studs would hold it?", "studs")
    picture(result.picture("clamp", lambda: figures.clamp_picture(a, result.look, result.stamp)))


def dips(result: Result) -> None:
    """Why the curve dips."""
    heading("Why is there a dip?", "dips")


def measure_next(result: Result) -> None:
    """What to measure."""
    heading("What should I measure next?", "next")


def assumed(result: Result) -> None:
    """Notices, assumed inputs, what was left out."""
    heading("What was assumed?", "assumed")
    bullets([n.text for n in result.assessment.notices])
    bullets(CAUTIONS)


def foot(result: Result) -> None:
    """Version, seed, draws and the digest of the inputs."""
    p = result.wish.policy
    block(
        f'<p class="tr-foot">torquerisk {safe(result.stamp.version)}, seed {p.seed}, '
        f"{p.draws:,} simulated engines, inputs {safe(result.key.digest[:16])}</p>"
    )


DRAW: dict[str, Callable[[Result], None]] = {
    "short": short,
    "curve": curve,
    "room": room,
    "map": risk_map,
    "parts": parts,
    "cylinder": cylinder,
    "studs": studs,
    "dips": dips,
    "next": measure_next,
    "assumed": assumed,
}
