"""What to measure next, another run beside this one, the same torque later, what was assumed."""

from collections.abc import Sequence
from functools import partial

import numpy as np
import streamlit as st

from torquerisk.case import CAUTIONS
from torquerisk.errors import InputError
from torquerisk.files.exports import TableColumn
from torquerisk.files.run_file import run_from_bytes
from torquerisk.show.page.alone import alone
from torquerisk.show.page.case_in import TABLE_FILES
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import block, bullets, heading, paragraphs, pretty, safe, table
from torquerisk.show.page.inputs import pretty_unit
from torquerisk.show.page.result import Result
from torquerisk.show.page.units_in import torque_slider
from torquerisk.show.page.waiting import say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.words.comparison import compare_in_words
from torquerisk.show.words.drivers import subject_in_words
from torquerisk.show.words.notices import MOST_NAMED, not_assessed_in_words
from torquerisk.show.words.prose import percent, rounded, speed_in_words
from torquerisk.show.words.same_torque_later import later_in_short
from torquerisk.study.answers.edits import assessed
from torquerisk.study.answers.results import ORDINALS, Comparison, LimitKind, Sensitivity

MOST_DRIVERS = 8
MOST_MEASURES = 4


def measure_next(result: Result) -> None:
    """What drives the torque that limits allow where it is tightest, and what would narrow it."""
    heading("What should I measure next?", "next")
    when_ready(
        result.slow("sensitivity", result.chance, lambda: result.answers.sensitivity),
        "Looking at what drives the answer.",
        lambda found: _measure_next(result, found),
        result.told,
    )


def _measure_next(result: Result, found: Sensitivity) -> None:
    a = result.assessment
    place = speed_in_words(found.speed)
    subject = subject_in_words(a, found)
    paragraphs([f"What would narrow {subject}, where least is to spare."])
    if not found.measures:
        paragraphs(["Nothing stands out: no single measurement would narrow the range clearly."])
    else:
        told = [
            f"{m.label[0].upper() + m.label[1:]}: the range would shrink by about "
            f"{percent(m.narrowing)}{' (rough)' if m.rough else ''}."
            for m in found.measures[:MOST_MEASURES]
        ]
        if found.pair is not None:
            told.append(
                f"Best two together: {found.pair.label}, by about {percent(found.pair.narrowing)}."
            )
        bullets(told)
    shown = [s for s in found.shares if s.resolved][:MOST_DRIVERS]
    if not shown:
        paragraphs(["No single input's share can be told from noise."])
        return
    picture(
        result.picture(
            "drivers",
            lambda: gallery.drivers_picture(
                shown, f"the torque that limits allow at {place}", result.look, result.stamp
            ),
            result.chance,
        )
    )
    paragraphs(
        [
            f"Each bar: share of the spread that follows one input alone; {percent(found.rest)} "
            "follows none alone. Open rings are assumed so far."
        ],
        "tr-lead",
    )


def later(result: Result) -> None:
    """One torque made at every speed."""
    heading(
        "Is the same torque kinder later?", "later",
        "One torque at every speed, burned as early as the fuel allows there.",
    )  # fmt: skip
    alone(_later)(result)


def _later(result: Result) -> None:
    a = result.assessment
    loads = a.model.demand.torque
    low = 5 * int(np.ceil(max(float(loads[..., 0].max()), 20.0) / 5))
    high = 5 * int(np.floor(min(float(loads[..., -1].min()), 1.3 * float(a.torque.max())) / 5))
    start = int(min(max(5 * round(float(a.torque.max()) / 5), low), high))
    torque = torque_slider(
        "Torque made at every speed", range(low, high + 1, 5), start, "same", result.units
    )
    made = result.answers.same_torque(float(torque))
    names = [
        i.limit.name
        for i in gallery.worst_first(a)
        if i.limit.kind in (LimitKind.STRENGTH, LimitKind.COMBUSTION)
    ][:4]
    paragraphs([later_in_short(made, result.units)])
    picture(
        result.picture(
            f"later_{torque}",
            lambda: gallery.later_picture(made, names, result.look, result.stamp),
        ),
        key="fig_later",
    )


def compare(result: Result) -> None:
    """Other runs of the same engine beside this one."""
    heading(
        "How does another run compare?", "compare",
        "Send in one or more runs of the same engine; only what is larger than both readings' "
        "spread counts as a difference.",
    )  # fmt: skip
    alone(_compare)(result)


def _compare(result: Result) -> None:
    sent = st.file_uploader(
        "Other runs", type=TABLE_FILES, key="second", accept_multiple_files=True
    )[: len(ORDINALS) - 1]
    if not sent:
        return
    a = result.assessment
    try:
        runs = [run_from_bytes(file.getvalue(), file.name) for file in sent]
    except InputError as error:
        say(str(error))
        return
    digest = "-".join(run.digest for run in runs)
    others = [partial(assessed, result.engine, run, a.policy) for run in runs]
    when_ready(
        result.slow("compared", digest, lambda: result.answers.against(*(o() for o in others))),
        "Assessing the other run." if len(runs) == 1 else "Assessing the other runs.",
        lambda compared: _compared(result, compared, [run.name for run in runs], digest),
        result.told,
    )


def _compared(
    result: Result, compared: Sequence[Comparison], names: Sequence[str], digest: str
) -> None:
    paragraphs([result.told(t) for t in compare_in_words(compared, result.units)])
    picture(
        result.picture(
            f"compare_{digest}",
            lambda: gallery.compare_picture(
                compared, (result.assessment.run.name, *names), result.look, result.stamp
            ),
        ),
        key="fig_compare",
    )


def assumed(result: Result) -> None:
    """Notices, assumed inputs with their reasons, what was left out, cautions."""
    a = result.assessment
    heading("What was assumed?", "assumed")
    proposal = result.proposal
    notices = [*a.notices, *(proposal.notices if proposal is not None else ())]
    bullets([result.told(n.text) for n in notices if n.code not in ("assumed", "not-assessed")])
    left = not_assessed_in_words(a, by_label=True)
    paragraphs([left] if left else [])
    names = result.answers.assumed_by_share
    first, more = names[:MOST_NAMED], names[MOST_NAMED:]
    block(f'<h3 class="tr-fig">{len(names)} inputs in use that were not given</h3>')
    paragraphs(["Those that seem to drive the answer most come first."] if more else [], "tr-lead")
    block(_assumed_table(result, first))
    if more:
        with st.expander(f"The other {len(more)} assumed inputs", type="compact"):
            block(_assumed_table(result, more))
    block('<h3 class="tr-fig">Before anybody acts on this</h3>')
    bullets(CAUTIONS)


def _assumed_table(result: Result, names: tuple[str, ...]) -> str:
    engine = result.assessment.engine
    rows = []
    for name in names:
        declaration = engine.declaration(name)
        if declaration.kind is None:
            rows.append((declaration.label, engine.word(name), "", declaration.reason))
            continue
        used, kind = engine.value(name), declaration.kind
        sd, unit = used.sd / kind.shown_size, pretty_unit(kind.shown_unit)
        value, spread = pretty(declaration.in_words(used.value)), "none"
        if sd:
            value = f"{rounded(kind.shown(used.value), sd)} {unit}".strip()
            spread = f"± {rounded(2 * sd, 2 * sd)} {unit.replace('°C', 'K')}".strip()
        rows.append((declaration.label, value, spread, declaration.reason))
    return table(
        [
            TableColumn(name="input", unit="", values=[r[0] for r in rows]),
            TableColumn(name="assumed", unit="", values=[r[1] for r in rows]),
            TableColumn(name="two standard deviations", unit="", values=[r[2] for r in rows]),
            TableColumn(name="why", unit="", values=[r[3] for r in rows]),
        ],
        "Assumed inputs; give one on the left to narrow the answer",
        "tr-prose",
    )


def foot(result: Result) -> None:
    """Version, seed, draws and the digest of the inputs."""
    p = result.wish.policy
    block(
        f'<p class="tr-foot">torquerisk {safe(result.stamp.version)}. Seed {p.seed}, '
        f"{p.draws:,} simulated engines. Inputs {safe(result.stamp.digest[:16])}.</p>"
    )
