"""A table in a few sentences: what holds, what it costs, what decides."""

import dataclasses

import numpy as np
import pytest

from torquerisk import assess, default_policy, propose_limit
from torquerisk.case import Notice
from torquerisk.show.text import tables
from torquerisk.show.text.answers import explain_text
from torquerisk.show.words import prose
from torquerisk.show.words.in_short import GAS_IN_COOLANT, likely_in_words
from torquerisk.show.words.limit_columns import BY_KEY, shown_of
from torquerisk.show.words.limit_table import ignition_conditions
from torquerisk.show.words.prose import Units
from torquerisk.show.words.table_in_short import (
    answer_in_words,
    by_row,
    knocks_in_words,
    proposal_in_short,
)
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import TIGHTENED_FAR_TOO_LOW, Wish
from torquerisk.study.limits import knocking, place_of
from torquerisk.study.table.finer_grid import index_of

pytestmark = pytest.mark.slow


def test_proposal_says_what_holds_and_what_it_costs(loaded, proposal):
    """identity: peak and area in the sentences are the proposal's."""
    told = proposal_in_short(proposal)
    assert len(told) <= 5
    assert "is estimated to hold; it made" in told[0]
    lost = 100 * (1 - proposal.after.area / proposal.before.area)
    assert f"gives up {lost:.0f} % of the area under power" in told[0]
    assert told[0].startswith(f"{proposal.under.peak_torque:.0f} N·m at ")
    assert f"it made {loaded.torque.max():.0f} at " in told[0]
    us = proposal_in_short(proposal, Units.US)[0]
    assert us.startswith(f"{proposal.under.peak_torque / 1.3558179483314004:.0f} lb·ft at ")


def test_a_reason_to_stop_comes_before_the_answer(loaded, proposal):
    """common practice, no source: coolant pressure that rose is told first wherever one asks."""
    gas = Notice(GAS_IN_COOLANT, "Coolant pressure rose: stop. It may be gas.")
    told = dataclasses.replace(loaded, notices=(*loaded.notices, gas))
    stop = "Coolant pressure rose: stop."
    assert proposal_in_short(dataclasses.replace(proposal, assessment=told))[0] == stop
    text = explain_text(told)
    assert text.index(stop) < text.index("Dips\n")


def test_a_tightening_far_too_low_comes_before_the_answer(loaded, proposal):
    """common practice, no source: a head tightened to a tenth of yield is a wrong unit."""
    low = Notice(TIGHTENED_FAR_TOO_LOW, "Ten times too low.")
    told = dataclasses.replace(loaded, notices=(*loaded.notices, low))
    short = proposal_in_short(dataclasses.replace(proposal, assessment=told))
    assert short[0] == "Ten times too low."
    assert short[1:] == proposal_in_short(proposal)


def test_more_than_it_made_is_never_called_made(proposal):
    """identity: what the engine made stands beside a table that allows more."""
    made, proof = proposal.finer.torque, dataclasses.replace(proposal.proof, holds=True)
    under = dataclasses.replace(proposal.under, torque=1.2 * made)
    more = dataclasses.replace(proposal, proof=proof, under=under)
    told = answer_in_words(more)
    assert told.startswith(f"It made {made.max():.0f} at ")
    assert f"up to {1.2 * made.max():.0f} N·m" in told
    whole = dataclasses.replace(more, under=dataclasses.replace(under, torque=made))
    assert answer_in_words(whole).startswith(f"All that it made, {made.max():.0f} N·m")
    share = answers_of(proposal.assessment).ceilings.together
    assert (f"up to {share:.2f} times as much" in answer_in_words(whole)) is (share > 1.02)


def _number(cell):
    return float(cell.replace("−", "-"))


def test_what_holds_hangs_on_a_later_ignition_where_the_runs_knocks(loaded):
    """common practice, no source: knock is heard and ignition taken back; the answer says so first,
    and what is proved is the table with that ignition."""
    n = len(loaded.run.speed)

    def made(advance):
        channels = {"ignition_advance": np.full(n, np.radians(advance))}
        run = dataclasses.replace(loaded.run, channels=channels, torque=0.5 * loaded.run.torque)
        poor = loaded.reading.as_given.with_values({"fuel.octane": 86.0})
        policy = default_policy(draws=256, chance=0.05)
        return propose_limit(assess(poor, run, policy))

    early, late = made(40.0), made(8.0)
    asked = " with ignition later than this run's "
    assert asked in answer_in_words(early)
    assert asked not in answer_in_words(late)
    loads, limit = early.finer.model.demand, early.under.limit
    assert knocking(loads, place_of(loads.torque, limit)).max() > 0.65, "with the run's own"
    worst = max(row.knock_chance for row in early.rows)
    assert worst < 0.6, "with the ignition asked for"
    assert f"with that ignition, in {prose.percent(worst)} at " in knocks_in_words(early)
    assert worst == max(early.proof.knock[index_of(early.fresh.speed, early.shape.breakpoints)])
    asks = ignition_conditions(early)[0]
    column = BY_KEY["advance_not_above_deg"]
    cells = [column.in_words(row, shown_of(early, Units.SI)) for row in early.rows]
    least, most = min(cells, key=_number), max(cells, key=_number)
    assert f"'{column.name}' ({least} to {most} degrees" in asks
    assert column.text.replace("\n", " ") == column.name
    rows = [row for row in early.rows if row.knock_later > 0]
    assert rows
    assert all(row.advance_not_above < row.ignition_advance for row in rows)
    advance = BY_KEY["ignition_advance_deg"]  # what goes into the map is never above the most
    assert all(advance.value(row) == column.value(row) for row in rows)
    assert all(column.value(row) <= row.advance_not_above for row in rows), "a most is cut down"
    assert all(advance.value(row) <= row.advance_not_above for row in early.rows)
    assert likely_in_words(early.assessment)[0].startswith("As measured, ")


def test_table_that_failed_its_check_says_so(proposal):
    """common practice, no source: a table that is not verified is never said to hold."""
    proof = dataclasses.replace(proposal.proof, holds=False)
    failed = dataclasses.replace(proposal, proof=proof)
    told = " ".join(proposal_in_short(failed))
    assert "is not proved and must not be used" in told


def test_a_row_is_told_by_what_holds_it(light, loaded):
    """identity: a limit has no say where a step more holds; what is made, where that is less."""
    sketch = answers_of(light).sketch(Wish(policy=light.policy, reach="measured"))
    assert all(spare > light.policy.resolution for _, spare in sketch.governing())
    told = np.array(by_row(light, sketch))
    made = np.interp(sketch.shape.breakpoints, light.speed, light.torque)
    assert set(told[made < sketch.shape.limit - 1]) == {"what it makes"}
    assert set(told) <= {"what it makes", "an even curve"}
    sketch = answers_of(loaded).sketch(Wish(policy=loaded.policy, reach="measured"))
    told = np.array(by_row(loaded, sketch))
    made = np.interp(sketch.shape.breakpoints, loaded.speed, loaded.torque)
    assert (made[told == "what it makes"] < sketch.shape.limit[told == "what it makes"] + 2).all()
    titles = {item.limit.title.lower() for item in loaded.limits.values()}
    assert titles & set(by_row(loaded, sketch))


def test_where_all_holds_the_table_says_so(light):
    """Contract: no second figure beside the one that was made."""
    made = propose_limit(light, default_policy(draws=256, chance=0.05))
    assert made.verified
    peak = f"{light.torque.max():.1f} N·m"
    assert answer_in_words(made).startswith(f"All that it made, {peak}")
    assert "What decides" not in " ".join(proposal_in_short(made))


def test_every_face_says_the_same_of_what_limits_a_row(light, loaded):
    """Identity: page, text, report and saved file name one thing for a row; where all rows allow
    what is made with room to their ceilings, nothing that was assessed would raise the limit."""
    for a, words in ((light, {"What it makes", "An even curve"}), (loaded, None)):
        made = propose_limit(a, default_policy(draws=256, chance=0.05))
        shown = shown_of(made, Units.SI)
        cells = [BY_KEY["governing"].in_words(row, shown) for row in made.rows]
        assert [c.lower() for c in cells] == by_row(a, made)
        assert words is None or set(cells) <= words
        lifted = tables.proposal_text(made).partition("What would raise the limit")[2]
        first = lifted.strip(" -\n").splitlines()[0]
        assert first.startswith("What it makes: nothing that was assessed") is (words is not None)
        decides = " ".join(proposal_in_short(made))
        assert all(c.lower() in decides for c in set(cells)) or "What decides" not in decides
