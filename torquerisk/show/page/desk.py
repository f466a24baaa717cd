"""The case on the desk: named by the link and kept by the server.

A reload, a second window and the browser's back button find it by its name again. A case is a
sample, the one that the command line names, or what was sent in or changed here, which is kept in
memory under a digest of all of it until the server is stopped.
"""

import hashlib
from dataclasses import dataclass, replace

import streamlit as st

import torquerisk
from torquerisk.case import default_policy
from torquerisk.errors import InputError
from torquerisk.show.page import case_in
from torquerisk.show.page.case_in import Source
from torquerisk.show.page.work import AssessKey
from torquerisk.study.answers.edits import Edits
from torquerisk.study.answers.store import Store

CASE = "case"
"""Key of the case in the link."""
GONE = (
    "The case that this link names is no longer in memory: files and changes live only until the "
    "page's server is stopped. Send them again, or open an example."
)


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


@dataclass(frozen=True, kw_only=True)
class Desk:
    """What is judged: files, changes to them, and how much is simulated."""

    source: Source
    edits: Edits = ()
    sample: Sample = DEFAULT_SAMPLE
    before: str | None = None
    """Name of the case that this one was changed from."""

    @property
    def name(self) -> str:
        """The case's name in a link."""
        if self.source.name and not self.edits and self.sample == DEFAULT_SAMPLE:
            return self.source.name
        told = f"{self.source.digest} {self.edits!r} {self.sample!r}"
        return hashlib.sha256(told.encode()).hexdigest()[:16]

    @property
    def tag(self) -> str:
        """Ends keys of widgets whose values belong to these files alone."""
        return self.source.digest[:8]

    @property
    def key(self) -> AssessKey:
        """What its assessment is kept under."""
        s = self.sample
        return AssessKey(
            digest=self.source.digest, edits=self.edits, draws=s.draws, seed=s.seed, pulls=s.pulls,
            abnormal=s.abnormal, version=torquerisk.__version__,
        )  # fmt: skip


@st.cache_resource(show_spinner=False)
def _kept() -> Store:
    """Desks by name."""
    return Store(200)


def on_desk() -> Desk:
    """The case that the link names, or the first one. Raises InputError where it is gone."""
    name = st.query_params.get(CASE, "")
    if not name:
        source = case_in.first_source()
        if source is None:
            raise InputError("No case is open: send in an engine file and a run file.")
        return Desk(source=source)
    desk: Desk | None = _kept().peek(name)
    if desk is not None:
        return desk
    named = case_in.source_named(name)
    if named is None:
        raise InputError(GONE)
    return Desk(source=named)


def keep(desk: Desk) -> str:
    """Keep a case; its name for a link."""
    _kept().get(desk.name, lambda: desk)
    return desk.name


def put(desk: Desk) -> None:
    """Have the link name this case from now on."""
    st.query_params[CASE] = keep(desk)


def change(desk: Desk, edits: Edits, sample: Sample) -> None:
    """The same files with other inputs, or another number of simulated engines."""
    put(replace(desk, edits=edits, sample=sample, before=keep(desk)))


def undo(desk: Desk) -> None:
    """Back to the case before the last change."""
    if desk.before is not None:
        st.query_params[CASE] = desk.before
