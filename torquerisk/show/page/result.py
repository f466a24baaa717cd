"""The one frozen result that every section draws, and where it is kept."""

import dataclasses
import uuid
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from dataclasses import dataclass
from typing import TypeVar

import streamlit as st

import torquerisk
from torquerisk.case import Engine
from torquerisk.show.page.case_in import Case
from torquerisk.show.page.desk import Desk
from torquerisk.show.page.work import AssessKey, Background
from torquerisk.show.pictures.curve import Limited
from torquerisk.show.pictures.style import DARK, LIGHT, Look, Picture, Stamp
from torquerisk.show.report.made_from import case_digest
from torquerisk.show.words.prose import Units, in_units
from torquerisk.study.answers.answers import Answers
from torquerisk.study.answers.results import Assessment, Proposal, Sketch, Wish
from torquerisk.study.answers.store import Store

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, eq=False)
class Result:
    """Everything under one set of inputs, at one accepted chance."""

    case: Case
    desk: Desk
    answers: Answers
    """At the accepted chance."""
    look: Look
    stamp: Stamp

    @property
    def key(self) -> AssessKey:
        """What the assessment is kept under."""
        return self.desk.key

    @property
    def assessment(self) -> Assessment:
        """Judged at the accepted chance."""
        return self.answers.assessment

    @property
    def engine(self) -> Engine:
        """The engine as judged, with the edits and the run's own facts."""
        return self.assessment.engine

    @property
    def chance(self) -> float:
        """Accepted chance at each speed."""
        return self.assessment.policy.chance

    @property
    def units(self) -> Units:
        """Units of torque and power on the page."""
        return self.look.units

    @property
    def tag(self) -> str:
        """Ends keys of widgets whose values belong to this case alone."""
        return self.desk.tag

    def told(self, text: str) -> str:
        """A sentence of the study, its torques in the page's units."""
        return in_units(text, self.units)

    def keep(self, what: Hashable, make: Callable[[], T]) -> T:
        """A result at hand or made now. what: its name, and all it depends on but the inputs."""
        return findings().get((what, self.key), make)

    def slow(self, what: str, by: Hashable, make: Callable[[], T]) -> Future[T]:
        """A slow result, under way or at hand. by: all that it depends on but the inputs."""
        return background().ask(session_name(), what, (self.key, by), make)

    def picture(self, name: str, make: Callable[[], Picture], *by: Hashable) -> Picture:
        """A picture at hand or drawn now. by: all that it depends on but inputs and look."""
        return pictures().get((name, self.key, self.look, self.chance, by), make)

    def with_table(self, wish: Wish) -> "Tabled":
        """The same with the table wished for: as proved, else as sketched. Raises InputError."""
        proof = background().ask(
            session_name(), "proof", (self.key, wish), lambda: self.answers.proposal(wish)
        )
        grid = ("finer", self.key, self.answers.table_speeds(wish))
        if proof.done() and not proof.cancelled() and proof.exception() is None:
            sketch: Sketch = proof.result()
            if sketch.speed_limit is None:
                findings().get(grid, lambda: sketch.finer)
        else:
            sketch = self.answers.sketch(wish, findings().peek(grid))
        given = {f.name: getattr(self, f.name) for f in dataclasses.fields(self)}
        return Tabled(**given, wish=wish, sketch=sketch, proof=proof)


@dataclass(frozen=True, kw_only=True, eq=False)
class Tabled(Result):
    """And the table that is wished for."""

    wish: Wish
    sketch: Sketch
    """The table: as proved, else as sketched from the draws at hand."""
    proof: Future[Proposal]

    @property
    def proposal(self) -> Proposal | None:
        """The proved table once it is there."""
        done = self.proof.done() and not self.proof.cancelled()
        return self.proof.result() if done and self.proof.exception() is None else None

    @property
    def limited(self) -> Limited:
        """The table as pictures draw it."""
        table, speed = self.sketch, self.assessment.speed
        return Limited(
            breakpoints=table.shape.breakpoints, limit=table.shape.limit,
            delivered=table.delivered(speed), ceiling=table.ceiling(speed),
        )  # fmt: skip


@st.cache_resource(show_spinner=False)
def assessments() -> Store:
    """Assessments by what went in; each holds some tens of megabytes."""
    return Store(6)


@st.cache_resource(show_spinner=False)
def pictures() -> Store:
    """Pictures by what they show."""
    return Store(240)


@st.cache_resource(show_spinner=False)
def findings() -> Store:
    """Smaller results of the views."""
    return Store(60)


@st.cache_resource(show_spinner=False)
def cases() -> Store:
    """Cases by the digest of their bytes."""
    return Store(16)


@st.cache_resource(show_spinner=False)
def background() -> Background:
    """Slow results under way."""
    return Background()


def session_name() -> str:
    """A name for this browser tab, to drop its outdated proofs."""
    return str(st.session_state.setdefault("who", uuid.uuid4().hex))


def look_now(units: Units = Units.SI) -> Look:
    """Colours of the theme that the reader sees, with the units chosen."""
    look = DARK if st.context.theme.type == "dark" else LIGHT
    return dataclasses.replace(look, units=units)


def stamp_of(assessment: Assessment) -> Stamp:
    """What ties pictures to their inputs, as the report does."""
    name, digest = assessment.engine.name, case_digest(assessment)
    return Stamp(case=name, digest=digest, version=torquerisk.__version__)


def file_stem(result: Result) -> str:
    """The engine's name as part of a file's name."""
    name = result.engine.name.lower().replace(" ", "-")[:40]
    return "".join(c for c in name if c.isalnum() or c == "-") or "engine"
