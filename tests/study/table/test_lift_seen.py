"""Where a sign of lift was seen the head has nothing left, and no table or rung comes up to it."""

import dataclasses
from functools import cache

import numpy as np
import pytest
from small_case import SPEED, engine, hump
from table_case import careful

from torquerisk.case import Run, Rung
from torquerisk.quantities import BAR, RPM
from torquerisk.show.documents.studs import studs_document
from torquerisk.show.pictures.joint import lift_picture
from torquerisk.show.pictures.style import LIGHT
from torquerisk.show.report.studs import studs_part
from torquerisk.show.text.judged_table import judge_text
from torquerisk.show.text.limit_table import limit_text
from torquerisk.show.text.studs import stud_text
from torquerisk.show.words.in_short import assessment_in_short
from torquerisk.show.words.next_rung import in_words
from torquerisk.show.words.prose import Units
from torquerisk.show.words.stud_findings import findings, lifted
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.next_rung import next_rungs
from torquerisk.study.answers.over_known import over_known
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment, State
from torquerisk.study.limit_curve.curve import interpolated_limit
from torquerisk.study.run.seen_signs import (
    SHY_OF_SIGN,
    driven_quietly,
    lift_reached,
    lift_seen,
    seen_at,
)
from torquerisk.study.table.judge import judge_existing
from torquerisk.study.table.propose import propose_limit

MADE = hump(300.0)
ROSE = np.interp(SPEED / RPM, [3000, 4000], [1e5, 1.5e5])
THERE = (SPEED >= 3000 * RPM) & (SPEED <= 4000 * RPM)


def case(seen: str = "", times: float = 1.0, logged: bool = False) -> Assessment:
    """A run that the engine carries well, with a rung of it that saw a sign, or one in its log."""
    channels = {"coolant_pressure": ROSE} if logged else {}
    run = Run(name="run.csv", speed=SPEED, torque=MADE, channels=channels)
    rung = Rung(run="rung.csv", pulls=5, seen=seen or None,
                curve=Run(name="rung.csv", speed=SPEED, torque=times * MADE))  # fmt: skip
    rungs = (rung,) if seen else ()
    quick = engine(sweep_rate=300 * RPM)
    return assess(dataclasses.replace(quick, survived=rungs), run, careful())


@cache
def clean() -> Assessment:
    return case()


@cache
def rose() -> Assessment:
    return case("coolant pressure")


def test_the_head_has_nothing_to_spare_at_what_it_leaked_at() -> None:
    """Identity: a head that let gas out at a torque fails in every engine from just under it on,
    all load figures of it told by that; the same engine without the sign has some to spare."""
    found, item = rose(), rose().limits["head_lift"]
    assert clean().limits["head_lift"].margin.p05.min() > 0
    assert (item.chance == 1.0).all()
    assert (item.margin.p95 < 0).all()
    capacity = found.model.capacities["head_lift"]
    assert (capacity <= SHY_OF_SIGN * MADE[:, None] * (1 + 1e-5)).all()
    assert item.state(0.01, found.evidence.kept) == len(SPEED) * [State.EXCEEDS]
    assert (found.ceiling <= clean().ceiling + 1e-6).all()
    assert (found.ceiling <= SHY_OF_SIGN * MADE * (1 + 1e-5)).all()
    told = assessment_in_short(found)[0]
    assert told.startswith("Coolant pressure was seen in rung.csv, whose torque this run comes")
    over, free = (over_known(x) for x in (found, clean()))
    assert over is not None
    assert free is not None
    assert over.limits["head_lift"].p50.max() < 1.2 * free.limits["head_lift"].p50.max()


@pytest.mark.parametrize("seen", ["none", "there", "everywhere"])
def test_the_picture_draws_what_the_verdict_rests_on(seen: str) -> None:
    """Identity: an owner saw the ring let go at 241 bar, far above a cycle that lifts the head in
    every engine; where it was seen to lift the line lies under the cycle, as the verdict says."""
    found = {"none": clean, "there": lambda: case(logged=True), "everywhere": rose}[seen]()
    item, picture = found.limits["head_lift"], lift_picture(found, LIGHT, None)
    lines = {str(t.hovertemplate)[:12]: np.array(t.y, dtype=float) for t in picture.figure.data}
    where = np.isfinite(lines.get("seen to lift", np.full(len(SPEED), np.nan)))
    chosen = {"none": ~THERE & THERE, "there": THERE, "everywhere": THERE | ~THERE}[seen]
    assert where[chosen].all()
    assert where.any() == (seen != "none")
    drawn = np.where(where, lines.get("seen to lift", np.nan), lines.get("ring lets go", np.nan))
    np.testing.assert_allclose(drawn, item.strength.p50 / BAR, atol=0.06)
    cycle = lines["worst normal"]
    assert (cycle[where] > drawn[where]).all()
    names = [str(a.text) for a in picture.figure.layout.annotations]
    assert ("seen to lift" in names) == (seen != "none")
    assert any(name.startswith("ring lets go") for name in names) == (seen != "everywhere")
    assert ("it was seen to lift" in picture.alt) == (seen != "none")


def test_tables_keep_under_it_and_are_proved() -> None:
    """common practice, no source: nobody runs again what pushed coolant before the head is tested;
    limit and judge alike."""
    made = propose_limit(rose(), careful())
    speed = made.finer.speed
    limit = interpolated_limit(made.shape.breakpoints, made.shape.limit, speed)
    assert (limit <= SHY_OF_SIGN * np.interp(speed, SPEED, MADE) + 1e-3).all()
    assert made.verified
    bound = [row.governing for row in made.rows]
    assert "lift_seen" in bound, "the sign caps it, not clamp"
    assert "sign of lift" in limit_text(made).lower()
    judged = judge_existing(rose(), SPEED, MADE, careful())
    assert set(judged.state) == {State.EXCEEDS}
    assert not judged.holds
    told = judge_text(judged)
    assert "\n- Coolant pressure was seen in rung.csv" in told
    k = int(np.argmax(judged.judgement.unsafe_excess))
    assert (
        f"at {judged.assessment.speed[k] / RPM:,.0f} rpm a part gives way in all"
        in told.replace("\n ", "")
    ), "of speeds at which all fail, the one that asks most too much"
    assert State.EXCEEDS not in judge_existing(clean(), SPEED, MADE, careful()).state


def test_a_logged_sign_counts_where_it_rose() -> None:
    """Identity: where pressure rose in the log and 250 rpm beside, and at no other speed."""
    found = case(logged=True)
    seen = found.model.operating.lift_seen
    assert seen is not None
    wide = (SPEED >= 2750 * RPM) & (SPEED <= 4250 * RPM)
    assert np.isfinite(seen)[THERE].all()
    assert np.isinf(seen)[~wide].all()
    chance = found.limits["head_lift"].chance
    assert (chance[THERE] == 1.0).all()
    assert (chance[~wide] < 0.5).all()


@pytest.mark.parametrize("logged", [False, True])
def test_no_rung_until_the_head_was_tested(logged: bool) -> None:
    """common practice, no source: a head that let gas out is tested before another pull."""
    over = case("" if logged else "coolant pressure", 1.0, logged)
    hungry = dataclasses.replace(over, ceiling=0.7 * over.ceiling)
    assert next_rungs(dataclasses.replace(clean(), ceiling=0.7 * MADE))
    assert next_rungs(hungry) == ()
    assert in_words(hungry, ()) == [
        "No further rung until the head was tested: coolant pressure was seen to rise."
    ]


def test_no_rung_comes_up_to_a_noise_and_one_at_knock_says_so() -> None:
    """Identity: 5 % under the torque that made a noise; knock is told where it is met again."""
    low = 0.7 * MADE
    noise = dataclasses.replace(case("noise"), ceiling=low)
    assert next_rungs(noise)
    for rung in next_rungs(noise):
        assert (rung.torque <= SHY_OF_SIGN * MADE + 1e-9).all()
    rungs = next_rungs(dataclasses.replace(case("knock", 0.9), ceiling=low))
    for rung in rungs:
        quiet = SHY_OF_SIGN * driven_quietly(engine(), SPEED)
        again = (rung.torque >= 0.9 * MADE - 0.5) & (quiet < 0.9 * MADE)
        assert (rung.knocks == again).all()
    assert any(rung.knocks.any() for rung in rungs)


def test_a_sign_below_what_was_driven_quietly_tells_no_speed() -> None:
    """Identity: at speeds where more was driven without a sign the sign was somewhere else."""
    curve = Run(name="bad.csv", speed=SPEED, torque=np.where(THERE, MADE, 0.5 * MADE))
    quiet = Run(name="good.csv", speed=SPEED, torque=0.8 * MADE)
    rungs = (Rung(run="bad.csv", seen="coolant pressure", curve=curve),
             Rung(run="good.csv", pulls=9, curve=quiet))  # fmt: skip
    known = dataclasses.replace(engine().known_good, curve=None)
    one = dataclasses.replace(engine(), survived=rungs, known_good=known)
    seen = seen_at(one, "coolant pressure", SPEED)
    assert np.array_equal(np.isfinite(seen), THERE)
    assert seen[THERE] == pytest.approx(MADE[THERE])
    run = Run(name="run.csv", speed=SPEED, torque=MADE)
    assert lift_seen(dataclasses.replace(one, survived=rungs[1:]), run, SPEED, MADE) is None


def test_a_sign_after_quiet_pulls_of_the_same_curve_counts() -> None:
    """Identity: 20 quiet pulls and then coolant pressure at the same torque: the head lifts there,
    whichever is named first."""
    curve = Run(name="run.csv", speed=SPEED, torque=MADE)
    rungs = (Rung(run="run.csv", pulls=20, curve=curve),
             Rung(run="run.csv", seen="coolant pressure", curve=curve))  # fmt: skip
    known = dataclasses.replace(engine().known_good, curve=None)
    for order in (rungs, rungs[::-1]):
        one = dataclasses.replace(engine(), survived=order, known_good=known)
        assert seen_at(one, "coolant pressure", SPEED) == pytest.approx(MADE)
        assert lift_reached(one, SPEED, MADE) == ("run.csv",)


def test_fastenings_are_answered_by_what_was_seen_too() -> None:
    """Identity: an owner read 'lifts in 379 of 1,035' of a head that had lifted in every engine of
    another view. Behind that count every face says that it has lifted, and at which peak: the
    run's own, or that of a rung that saw it, whatever torque is asked."""
    for found, peak in ((case(logged=True), 300.0), (case("coolant pressure", times=0.9), 270.0)):
        bench = answers_of(found).bench(330.0)
        (told,) = lifted(bench)
        assert f"the head has lifted at a peak of {peak:.0f} N·m" in told
        assert findings(bench)[1] == told
        assert " ".join(told.split()) in " ".join(stud_text(bench).split())
        document = studs_document(bench)
        assert {"code": "lift-seen", "text": told} in document["notices"]
        assert document["findings"][1] == told
        assert studs_part(bench, Units.SI)["findings"][1] == told
        assert f"{peak / 1.35582:.0f} lb·ft" in studs_part(bench, Units.US)["findings"][1]
    quiet = answers_of(clean()).bench()
    assert findings(quiet) == tuple(quiet.findings)
