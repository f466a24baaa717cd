"""What stops the run first, in words: rows, sentences and the document say the same."""

import dataclasses
import json

import numpy as np
import pytest

from torquerisk.case import Engine, HeadJoint, Run, default_policy
from torquerisk.quantities import RPM
from torquerisk.show.documents.ceilings import ceilings_document
from torquerisk.show.documents.json_numbers import document_text
from torquerisk.show.words.ceilings import COLUMNS, FAR, ROW, sentences, shown
from torquerisk.show.words.columns import Shown, chosen, in_words
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Ceilings
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment, State


@pytest.fixture(scope="module")
def case() -> Assessment:
    """An invented engine on E50 whose springs float at the top of an invented run."""
    engine = Engine(
        ignition="spark", cylinders=4, bore=0.086, stroke=0.086, rod_length=0.145,
        compression_ratio=9.5,
        head_joint=HeadJoint(fasteners=10, thread="M11x1.5", property_class="10.9"),
    ).with_values(
        {"fuel.blend": "E50", "supply.fuel_pump_flow": 2.2e-5,
         "valvetrain.valve_effective_mass": 0.08, "valvetrain.valve_deceleration": 0.02,
         "valvetrain.spring_force_at_nose": 70.0}
    )  # fmt: skip
    run = Run(
        speed=np.linspace(2000, 5300, 7) * RPM,
        torque=np.array([180.0, 250, 290, 300, 285, 260, 230]),
        facts={"correction": "none", "measured_at": "crank"},
    )
    return assess(engine, run, default_policy(draws=128))


def rows(found: Ceilings, units: Units) -> list[list[str]]:
    """Cells as every face shows them."""
    return in_words(chosen(COLUMNS, ROW), shown(found), Shown(units=units))


def test_rows_sentences_and_document_agree(case: Assessment) -> None:
    """Identity: the same ceilings in the same order; none beyond three times the run has a row."""
    found = answers_of(case).ceilings
    table, document = rows(found, Units.SI), ceilings_document(case)
    titles = [row[0] for row in table]
    assert titles == [one["title"] for one in document["in_order"]][: len(titles)]
    assert all(one.share <= FAR for one in shown(found))
    told = sentences(found)
    assert told == document["text"]
    assert titles[0].lower() in told[0]
    assert titles[1].lower() in told[1]
    assert json.loads(document_text(document))["in_order"]


def test_a_ceiling_of_speed_alone_is_said_in_words(case: Assessment) -> None:
    """Contract: no infinite number is shown; null in the document has its reason beside it."""
    found = answers_of(case).ceilings
    first = ceilings_document(case)["in_order"][0]
    assert first["limit"] == "valve_float"
    assert first["torque_n_m"] is None
    assert "speed" in first["state"]
    assert rows(found, Units.SI)[0][3:6] == ["none", "none", "none"]
    assert "no torque is acceptable" in sentences(found)[0]


def test_units_change_rows_and_sentences(case: Assessment) -> None:
    """Identity: lb·ft and hp in place of N·m and kW."""
    found = answers_of(case).ceilings
    si, us = rows(found, Units.SI)[1], rows(found, Units.US)[1]
    assert float(si[3]) / float(us[3]) == pytest.approx(1.3558, rel=0.01)
    assert "lb·ft" in sentences(found, Units.US)[1]


def test_other_blends_are_told_where_fuel_is_a_ceiling(case: Assessment) -> None:
    """Arithmetic: E85 in place of E50 takes 15 % of what the pump feeds."""
    told = " ".join(sentences(answers_of(case).ceilings))
    assert "E85 −15 % power, 4 octane" in told
    assert "E50 " not in told.split("another blend")[1]


@pytest.mark.parametrize(
    ("share", "told"), [(0.7, "past it"), (0.99, "about there"), (1.3, "made less")]
)
def test_a_run_is_past_a_ceiling_only_where_that_can_be_told(
    case: Assessment, share: float, told: str
) -> None:
    """Contract: within what so few simulated engines tell apart it is neither past nor below."""
    found = answers_of(case).ceilings
    one = dataclasses.replace(found.in_order[1], share=share, within_error=False)
    assert f"the run {'is' if share < 1.2 else ''} {told}".replace("  ", " ") in " ".join(
        sentences(dataclasses.replace(found, in_order=(one,)))
    )


def test_a_run_that_keeps_the_accepted_chance_is_at_its_ceiling(case: Assessment) -> None:
    """Identity: as accepted a share passes as may, so only the error taken off lies between: never
    'past it' beside 'holds'; of two that leave no torque the one more engines pass is first."""
    found = answers_of(case).ceilings
    for one in found.in_order:
        item = case.limits[one.limit.name]
        keeps = item.state(case.policy.chance, case.evidence.kept)[one.index] is State.HOLDS
        assert one.within_error == (one.share < 1 and keeps)
    chances = [case.limits[c.limit.name].chance.max() for c in found.in_order if c.share == -np.inf]
    assert chances == sorted(chances, reverse=True)
    near = dataclasses.replace(found.in_order[1], share=0.83, within_error=True)
    told = sentences(dataclasses.replace(found, in_order=(near,)))
    assert (
        told[0]
        .split(". ")[0]
        .endswith("0.83 times the run: too close to call, within the sampling error")
    )


def test_no_thread_is_said_to_strip_by_speed(case: Assessment) -> None:
    """Common practice, no source: speed floats valves, but a tightening strips threads."""
    found = answers_of(case).ceilings
    limits = {limit.name: limit for limit in (*found.beyond, *(c.limit for c in found.in_order))}
    none = [
        dataclasses.replace(found.in_order[0], limit=limits[name], torque=-np.inf, share=-np.inf)
        for name in ("thread_strip", "valve_float")
    ]
    told = sentences(dataclasses.replace(found, in_order=tuple(none)))
    assert "passed before any gas force" in told[0]
    assert "speed" not in told[0]
    assert "speed alone" in told[1]
