"""Another run of the same engine beside this one; the same torque made at every speed."""

from collections.abc import Sequence
from functools import partial

import numpy as np
import streamlit as st

from torquerisk.errors import InputError
from torquerisk.files.run_file import run_from_bytes
from torquerisk.show.page.case_in import TABLE_FILES
from torquerisk.show.page.draw import picture
from torquerisk.show.page.html import bullets, heading, paragraphs
from torquerisk.show.page.layout import SIDE_BY_SIDE
from torquerisk.show.page.result import Result
from torquerisk.show.page.units_in import torque_slider
from torquerisk.show.page.waiting import say, when_ready
from torquerisk.show.pictures import gallery
from torquerisk.show.words.comparison import compare_in_words
from torquerisk.show.words.same_torque_later import later_in_words
from torquerisk.study.answers.edits import assessed
from torquerisk.study.answers.results import ORDINALS, Comparison, LimitKind


def another(result: Result) -> None:
    """The view."""
    paragraphs(["Only what is larger than both readings' spread counts as a difference."],
               "tr-lead")  # fmt: skip
    st.fragment(_compare)(result)
    heading(
        "Is the same torque kinder later?",
        "One torque at every speed, burned as early as the fuel allows there.",
    )
    st.fragment(_later)(result)


def _later(result: Result) -> None:
    a = result.assessment
    loads = a.model.demand.torque
    low = float(np.ceil(max(float(loads[..., 0].max()), 20.0)))
    high = min(float(loads[..., -1].min()), 1.3 * float(a.torque.max()))
    start = min(max(float(a.torque.max()), low), high)
    torque = torque_slider(
        "Torque made at every speed [{unit}]", high, start, "same", result.units, low=low
    )
    made = result.answers.same_torque(torque)
    names = [
        i.limit.name
        for i in gallery.worst_first(a)
        if i.limit.kind in (LimitKind.STRENGTH, LimitKind.COMBUSTION)
    ][:4]
    first, *rest = later_in_words(made, result.units)
    paragraphs([first])
    left, right = st.columns(SIDE_BY_SIDE, gap="medium")
    with left:
        picture(
            result.picture(
                "later",
                lambda: gallery.later_picture(made, names, result.look, result.stamp),
                torque,
            ),
            key="fig_later",
        )
    with right:
        bullets(rest)


def _compare(result: Result) -> None:
    sent = st.file_uploader(
        "Other runs", type=TABLE_FILES, key=f"second_{result.tag}", accept_multiple_files=True
    )
    if not sent:
        return
    most = len(ORDINALS) - 1
    if len(sent) > most:
        say(f"{len(sent)} runs were sent in; compare at most {most} with this one: remove some.")
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
