"""Notices in short: nothing that is judged is left out, and the long lists stay whole in JSON."""

import dataclasses
import re

import pytest
from cli_case import METRIC, run_text

from torquerisk import assess, default_policy
from torquerisk.case import Notice
from torquerisk.files.engine_file import engine_from_text
from torquerisk.files.run_file import run_from_bytes
from torquerisk.show.documents import assessed
from torquerisk.show.text import tables
from torquerisk.show.words.notices import (
    MOST_NAMED,
    assumed_in_words,
    by_run,
    not_assessed_in_words,
    notices_in_short,
)
from torquerisk.show.words.prose import Units, in_units
from torquerisk.study.answers.sensitivity import by_share, least_spare
from torquerisk.study.assessment.notices import assumed_and_used

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def plain():
    engine = engine_from_text(METRIC, "engine.toml")
    run = run_from_bytes(run_text().encode(), "run.csv")
    return assess(engine, run, default_policy(draws=256))


def test_only_the_two_long_lists_are_shortened(plain):
    """Contract: every other notice stays as it is and where it is; no code is lost."""
    short = notices_in_short(plain)
    assert [n.code for n in short] == list(dict.fromkeys(n.code for n in plain.notices))
    shortened = {"assumed", "not-assessed"}
    assert [n for n in short if n.code not in shortened] == [
        n for n in plain.notices if n.code not in shortened
    ]


def test_one_sentence_names_every_limit_left_out_and_what_it_wants(plain):
    """Contract: one notice; each wanted input's key stands in it beside its section."""
    (one,) = [n.text for n in notices_in_short(plain) if n.code == "not-assessed"]
    wanted = {m for names in plain.not_assessed.values() for m in names if "." in m}
    assert len(plain.not_assessed) >= 3
    assert len(wanted) >= 3
    for name in wanted:
        section, _, key = name.rpartition(".")
        assert re.search(rf"\[{section}\][^;)]*\b{key}\b", one), name


def test_the_first_of_the_assumed_inputs_drive_the_answer_most(plain):
    """Identity: an answer that follows one assumed input alone puts that one first."""
    names = assumed_and_used(plain)
    assert len(names) > MOST_NAMED
    ranked = by_share(plain, names)
    assert sorted(ranked) == sorted(names)
    driver, k = "running_gear.oil_temperature", least_spare(plain)
    assert driver in names[MOST_NAMED:]
    binding = plain.model.least.binding.copy()
    binding[k] = 300.0 + 20.0 * plain.model.draws.deviates[driver]
    least = dataclasses.replace(plain.model.least, binding=binding)
    bent = dataclasses.replace(plain, model=dataclasses.replace(plain.model, least=least))
    assert by_share(bent, names)[0] == driver
    told = assumed_in_words(bent)
    label = plain.engine.declaration(driver).label
    assert told.index(label[1:]) < told.index(";", told.index(": "))
    assert f"{len(names)} inputs were not given" in told


def test_json_keeps_every_notice(plain):
    """Contract: the document's notices are the study's own; the text has the short ones."""
    told = {n["text"] for n in assessed.assessment_document(plain)["notices"]}
    assert told == {n.text for n in plain.notices}
    text = " ".join(tables.assessment_text(plain).split())
    for notice in notices_in_short(plain):
        shown = in_units(notice.text, Units.SI).replace("N*m", "N·m")
        assert " ".join(shown.split()) in text


def test_the_page_names_inputs_as_its_own_panel_does(plain):
    """Contract: the same limits by the labels of their inputs, no keys of a file."""
    told = not_assessed_in_words(plain, by_label=True)
    wanted = [m for names in plain.not_assessed.values() for m in names if "." in m]
    assert all(plain.engine.declaration(m).label.lower() in told for m in wanted)
    assert "_" not in told


def test_what_all_runs_share_is_said_once() -> None:
    """Identity: nothing lost, nothing twice, and what is one run's own names it."""
    same = Notice("same", "The angle is assumed.")
    told = by_run([[Notice("a", "Cold."), same], [same, Notice("b", "Warm.")]])
    assert [str(n.text) for n in told] == [
        "The angle is assumed.", "First run: Cold.", "Second run: Warm.",
    ]  # fmt: skip
