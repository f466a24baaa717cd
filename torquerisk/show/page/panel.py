"""The left column: which case, its inputs, how many engines to simulate, saving."""

from dataclasses import dataclass

import streamlit as st

import torquerisk
from torquerisk.case import COMPRESSION_ONLY, Engine, default_policy
from torquerisk.errors import InputError
from torquerisk.show.page import case_in
from torquerisk.show.page.case_in import Case, Source
from torquerisk.show.page.html import safe_markdown
from torquerisk.show.page.inputs import MATTER, TITLES, every_input, section_of, widget
from torquerisk.show.page.link import linked
from torquerisk.show.page.work import AssessKey
from torquerisk.study.answers.edits import Edits, edited

OWN_LABEL = "files sent in"


@dataclass(frozen=True, kw_only=True)
class Sample:
    """How much to simulate."""

    draws: int
    seed: int
    pulls: int
    abnormal: bool


DEFAULT_SAMPLE = Sample(
    draws=int(default_policy().draws),
    seed=int(default_policy().seed),
    pulls=int(default_policy().pulls),
    abnormal=False,
)


def assess_key(case: Case, edits: Edits, sample: Sample) -> AssessKey:
    """What the assessment of a case with its edits is kept under."""
    return AssessKey(
        digest=case.source.digest, edits=edits, draws=sample.draws, seed=sample.seed,
        pulls=sample.pulls, abnormal=sample.abnormal, version=torquerisk.__version__,
    )  # fmt: skip


def choose_source() -> Source:
    """The case to read, from the choice and the files sent in. Raises InputError."""
    samples = case_in.samples()
    given = case_in.given_case()
    options = ([case_in.GIVEN] if given is not None else []) + list(samples)
    if not options:
        options = [OWN_LABEL]
    choice = linked(
        "case", options, options[0],
        lambda: st.selectbox(
            "Start from", options, format_func=_case_name, key="case", on_change=forget_edits
        ),
    )  # fmt: skip
    turn = st.session_state.setdefault("uploads", 0)
    with st.expander("Files of your own"):
        engine = st.file_uploader(
            "Engine file, or a saved case", type=["toml", "zip"], key=f"up_engine_{turn}",
            on_change=forget_edits,
        )  # fmt: skip
        run = st.file_uploader(
            "Run file", type=case_in.TABLE_FILES, key=f"up_run_{turn}", on_change=forget_edits
        )
        good = st.file_uploader(
            "Known-good run, if there is one", type=case_in.TABLE_FILES, key=f"up_good_{turn}",
            on_change=forget_edits,
        )  # fmt: skip
        st.caption(
            "Files stay on this computer, in memory, until the page's server is stopped. A run "
            "alone is judged on the engine chosen above."
        )
    if choice == case_in.GIVEN and given is not None:
        base: Source | None = case_in.source_from_paths(*given, label=case_in.GIVEN_LABEL)
    elif choice in samples:
        base = case_in.source_from_paths(
            samples[choice], samples[choice], label=f"example {choice}"
        )
    else:
        base = None
    return case_in.with_files(
        base,
        None if engine is None else (engine.name, engine.getvalue()),
        None if run is None else (run.name, run.getvalue()),
        None if good is None else (good.name, good.getvalue()),
    )


def _case_name(name: str) -> str:
    if name == case_in.GIVEN:
        return "the case on the command line"
    if name == OWN_LABEL:
        return "files sent in below"
    return f"example: {name.replace('_', ' ')} (invented)"


def forget_edits() -> None:
    """Back to the inputs as loaded."""
    st.session_state["edits"] = ()
    st.session_state["turn"] = st.session_state.get("turn", 0) + 1


def undo_button(edits: Edits) -> None:
    """Take the edits back, all at once."""
    told = (
        f"Undo {len(edits)} change{'s' if len(edits) > 1 else ''}" if edits else "Nothing to undo"
    )
    st.button(told, on_click=forget_edits, disabled=not edits, key="undo", width="stretch")


def save_button(case: Case, edits: Edits) -> None:
    """Save the case as one file."""
    engine, run = edited(case.engine, case.run, edits)
    stem = "".join(c if c.isalnum() else "-" for c in engine.name.lower()).strip("-")[:40]
    st.download_button(
        "Save this case", lambda: case_in.case_zip(engine, run), f"{stem or 'case'}.zip",
        "application/zip", on_click="ignore", key="save_case", width="stretch",
    )  # fmt: skip


def _judged(engine: Engine, edits: dict[str, float | int | str | None]) -> Engine:
    """The engine with the edits, or without where they contradict each other."""
    try:
        return engine.with_values(edits)
    except InputError:
        return engine


def inputs_form(engine: Engine, digest: str) -> tuple[Edits, Sample]:
    """The inputs that matter, in one form; their edits against the loaded case, and the sample."""
    form_place, more_place = st.container(), st.container()
    with more_place:
        more = st.selectbox(
            "Show also all inputs of",
            [s for s in TITLES if s != "known_good"],
            index=None,
            format_func=lambda s: TITLES[s],
            placeholder="nothing more",
            key="more",
        )
    turn = st.session_state.setdefault("turn", 0)
    old: dict[str, float | int | str | None] = dict(st.session_state.setdefault("edits", ()))
    edits = dict(old)
    now = _judged(engine, old)
    with form_place, st.form("inputs", border=False):
        section = None
        for name, declaration in every_input(engine):
            if name in (("fuel.octane",) if engine.compression_ignition else COMPRESSION_ONLY):
                continue
            if name not in MATTER and (more is None or section_of(name) != more):
                continue
            if section_of(name) != section:
                section = section_of(name)
                st.markdown(f"**{safe_markdown(TITLES[section])}**")
            value = widget(
                now, name, declaration, old.get(name, engine.given(name)),
                f"in_{name}_{digest[:8]}_{turn}_{more}",
            )  # fmt: skip
            if value != engine.given(name):
                edits[name] = value
            else:
                edits.pop(name, None)
        st.markdown("**How much to simulate**")
        draws = st.number_input(
            "Simulated engines (64 to 65,536)",
            64,
            65536,
            DEFAULT_SAMPLE.draws,
            step=64,
            key="draws",
        )
        seed = st.number_input(
            "Seed (0 to 2,147,483,647)", 0, 2**31 - 1, DEFAULT_SAMPLE.seed, key="seed"
        )
        pulls = st.number_input(
            "Pulls that the tune must last (1 to 100,000)",
            1,
            100_000,
            DEFAULT_SAMPLE.pulls,
            key="pulls",
        )
        abnormal = st.checkbox("Count knock and pre-ignition in the chance", key="abnormal")
        sent = st.form_submit_button("Work it out", type="primary", width="stretch")
    if sent:
        st.session_state["edits"] = tuple(sorted(edits.items()))
    return (
        st.session_state["edits"],
        Sample(draws=int(draws), seed=int(seed), pulls=int(pulls), abnormal=bool(abnormal)),
    )
