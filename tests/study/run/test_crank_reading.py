"""From the dyno's figure to crank torque: what is undone, what is put back, how sure it is."""

import dataclasses

import numpy as np
import pytest

from torquerisk.case import Engine, Run
from torquerisk.errors import InputError
from torquerisk.quantities import RPM
from torquerisk.study.run.averaged import averaged
from torquerisk.study.run.crank_reading import (
    Reading,
    crank_reading,
    standing_alone,
    with_run_facts,
)

CRANK = {"correction": "none", "measured_at": "crank"}


def run(facts: dict[str, float | str], n: int = 5, **channels: np.ndarray) -> Run:
    """A run of 200 N*m at every speed."""
    speed = np.linspace(2000, 6000, n) * RPM
    return Run(name="r", speed=speed, torque=np.full(n, 200.0), facts=facts, channels=channels)


def test_j1349_undone_against_the_printed_factor(plain_engine: Engine) -> None:
    """[SAE_J1349] AUG2004: CF = 1.176 (990/p_d) sqrt((t + 273)/298) - 0.176, p_d in hPa.

    Dry air of 960 hPa at 32 degrees Celsius gives 1.0509 by hand.
    """
    by_hand = 1.176 * (990 / 960) * np.sqrt(305 / 298) - 0.176
    assert by_hand == pytest.approx(1.0509, abs=5e-4)
    facts = {"correction": "J1349", "measured_at": "crank", "humidity": 0.0,
             "ambient_pressure": 96_000.0, "ambient_temperature": 305.15}  # fmt: skip
    reading = crank_reading(plain_engine, run(facts))
    assert reading.torque == pytest.approx(200.0 / by_hand, rel=1e-6)
    assert any("J1349" in step for step in reading.steps)
    assert "ambient-assumed" not in {n.code for n in reading.notices}


def test_reference_air_leaves_a_j1349_reading_as_it_is(plain_engine: Engine) -> None:
    """Identity: at 99 kPa dry and 25 degrees Celsius the factor is 1."""
    facts = {"correction": "J1349", "measured_at": "crank", "humidity": 0.0,
             "ambient_pressure": 99_000.0, "ambient_temperature": 298.15}  # fmt: skip
    assert crank_reading(plain_engine, run(facts)).torque == pytest.approx(200.0, rel=1e-9)


def test_boost_that_is_held_is_over_corrected(plain_engine: Engine) -> None:
    """Common practice, no source: held boost loses less in thin air than a standard gives back."""
    facts = {"correction": "J1349", "measured_at": "crank", "humidity": 0.0,
             "ambient_pressure": 90_000.0, "ambient_temperature": 298.15}  # fmt: skip
    boosted = crank_reading(plain_engine, run(facts, manifold_pressure=np.full(5, 160e3)))
    assert "over-corrected" in {n.code for n in boosted.notices}
    drawn = crank_reading(plain_engine, run(facts, manifold_pressure=np.full(5, 89e3)))
    assert "over-corrected" not in {n.code for n in drawn.notices}
    assert boosted.torque == pytest.approx(drawn.torque)


@pytest.mark.parametrize(("place", "loss"), [("wheel", 0.15), ("hub", 0.12)])
def test_driveline_loss_is_put_back(plain_engine: Engine, place: str, loss: float) -> None:
    """Identity: crank torque is the reading over one less the share lost; assumed, so said."""
    reading = crank_reading(plain_engine, run({"correction": "none", "measured_at": place}))
    assert reading.torque == pytest.approx(200.0 / (1 - loss))
    assert "driveline-loss-assumed" in {n.code for n in reading.notices}


def test_a_given_loss_is_surer_than_an_assumed_one(plain_engine: Engine) -> None:
    """Metamorphic: giving the loss that would have been assumed narrows the spread."""
    facts = {"correction": "none", "measured_at": "wheel"}
    assumed = crank_reading(plain_engine, run(facts))
    given = crank_reading(plain_engine, run({**facts, "driveline_loss": 0.15}))
    assert given.torque == pytest.approx(assumed.torque)
    assert np.all(given.relative_sd < assumed.relative_sd)
    assert "driveline-loss-assumed" not in {n.code for n in given.notices}


def test_inertia_of_a_stated_sweep_rate_is_added(plain_engine: Engine) -> None:
    """[NEWTON]: 0.25 kg*m^2 at 600 rpm/s takes 0.25 x 62.83 = 15.71 N*m."""
    facts = {**CRANK, "sweep_rate": 600 * RPM, "inertia": 0.25}
    assert crank_reading(plain_engine, run(facts)).torque - 200 == pytest.approx(15.71, abs=0.005)


def test_inertia_of_a_time_channel_is_added(plain_engine: Engine) -> None:
    """[NEWTON]: the same 600 rpm/s read off a logged time; it wins over a stated rate."""
    n = 201
    time = np.linspace(0, 4000 / 600, n)
    facts = {**CRANK, "inertia": 0.25, "sweep_rate": 50 * RPM}
    reading = crank_reading(plain_engine, run(facts, n, time=time))
    assert reading.torque - 200 == pytest.approx(15.71, abs=0.005)


def test_unknown_inertia_is_said_and_nothing_added(plain_engine: Engine) -> None:
    """Identity: no inertia, no correction, but a notice."""
    reading = crank_reading(plain_engine, run({**CRANK, "sweep_rate": 600 * RPM}))
    assert reading.torque == pytest.approx(200.0)
    assert "inertia-unknown" in {n.code for n in reading.notices}


def test_unknown_correction_widens(plain_engine: Engine) -> None:
    """Metamorphic: a run that does not say how it was corrected is less sure."""
    known = crank_reading(plain_engine, run(CRANK))
    unknown = crank_reading(plain_engine, run({"measured_at": "crank"}))
    assert unknown.torque == pytest.approx(known.torque)
    assert np.all(unknown.relative_sd > 1.3 * known.relative_sd)
    assert "correction-unknown" in {n.code for n in unknown.notices}


def test_a_stated_factor_wins_over_the_standard(plain_engine: Engine) -> None:
    """Identity: the factor printed on the sheet is what the dyno used."""
    facts = {**CRANK, "correction": "J1349", "correction_factor": 1.04}
    assert crank_reading(plain_engine, run(facts)).torque == pytest.approx(200 / 1.04)


def test_no_standard_knows_another_altitude(plain_engine: Engine) -> None:
    """Identity: unknown correction at 84 kPa is within 24 %, what J607 asks there; else 6 %."""
    thin = {"correction": "unknown", "measured_at": "crank", "humidity": 0.3, "torque_error": 0.0,
            "ambient_pressure": 84_000.0, "ambient_temperature": 298.15}  # fmt: skip
    sea = {**thin, "ambient_pressure": 101_325.0}
    high, low = (crank_reading(plain_engine, run(facts)) for facts in (thin, sea))
    assert 2 * high.relative_sd == pytest.approx(0.2398, abs=2e-4)
    assert 2 * low.relative_sd == pytest.approx(0.06, abs=1e-6)
    assert high.torque == pytest.approx(low.torque)
    assert any("24%" in n.text and "stated air" in n.text for n in high.notices)


@pytest.mark.parametrize("standard", ["ISO1585", "J1349"])
def test_standards_know_a_diesel(plain_engine: Engine, plain_diesel: Engine, standard: str) -> None:
    """[ISO_1585], [SAE_J1349]: compression ignition has a factor of its own, by f_m, here 0.66.

    Turbocharged: ((99/90)^0.7 (313/298)^1.2)^0.66 at 90 kPa dry and 40 degrees Celsius.
    """
    facts = {"correction": standard, "measured_at": "crank", "humidity": 0.0,
             "ambient_pressure": 90_000.0, "ambient_temperature": 313.15}  # fmt: skip
    by_hand = ((99 / 90) ** 0.7 * (313 / 298) ** 1.2) ** 0.66
    assert crank_reading(plain_diesel, run(facts)).torque == pytest.approx(200 / by_hand, rel=1e-6)
    spark = {
        "ISO1585": (99 / 90) ** 1.2 * (313 / 298) ** 0.6,
        "J1349": 1.176 * 99 / 90 * (313 / 298) ** 0.5 - 0.176,
    }[standard]
    reading = crank_reading(plain_engine, run(facts))
    assert reading.torque == pytest.approx(200 / spark, rel=1e-6)
    assert "correction-out-of-range" in {n.code for n in reading.notices}


def test_another_run_is_not_read_by_this_runs_facts(plain_engine: Engine) -> None:
    """Identity: a known-good curve that says nothing gets no wheel loss from the run beside it."""
    plain = dataclasses.replace(run({}), name="factory")
    engine = plain_engine.with_values({"known_good.curve": plain, "test.correction": "none"})
    wheel = run({"correction": "J1349", "measured_at": "wheel", "inertia": 0.2,
                 "sweep_rate": 600 * RPM})  # fmt: skip
    merged = with_run_facts(engine, wheel)
    assert merged.word("test.measured_at") == "wheel"
    curve = merged.known_good.curve
    assert curve is not None
    assert crank_reading(merged, curve).torque == pytest.approx(200.0)
    assert standing_alone(merged, curve).facts == curve.facts


def test_spread_stays_sane_where_torque_is_nearly_nothing(plain_engine: Engine) -> None:
    """Identity: an error of 1.6 N*m of inertia torque is 1.6 N*m, also where the engine idles."""
    facts = {**CRANK, "sweep_rate": 600 * RPM, "inertia": 0.25}
    low = Run(name="r", speed=np.linspace(2000, 6000, 5) * RPM, facts=facts,
              torque=np.array([-15.0, 100.0, 200.0, 200.0, 150.0]))  # fmt: skip
    reading = crank_reading(plain_engine, low)
    assert reading.torque[0] == pytest.approx(0.71, abs=0.01)
    assert reading.relative_sd.max() < 0.1


def test_a_logged_time_tells_the_sweep_rate(plain_engine: Engine) -> None:
    """Identity: 4,000 rpm in 10 s is 400 rpm/s, unless the file states the rate itself."""
    n = 201
    logged = run(CRANK, n, time=np.linspace(0, 10, n))
    rate = crank_reading(plain_engine, logged).engine.given("test.sweep_rate")
    assert rate / RPM == pytest.approx(400, rel=1e-6)
    stated = run({**CRANK, "sweep_rate": 300 * RPM}, n, time=np.linspace(0, 10, n))
    assert crank_reading(plain_engine, stated).engine.given("test.sweep_rate") == 300 * RPM


def test_fast_logs_are_averaged_and_slow_ones_are_not() -> None:
    """Identity: means over even bands keep a straight line and lose a single wild row."""
    n = 961
    speed = np.linspace(2000, 6000, n) * RPM
    torque = np.full(n, 200.0)
    torque[500] = 400.0
    reading = Reading(
        speed=speed, torque=torque, relative_sd=np.full(n, 0.02), engine=None, as_given=None,
        steps=(), notices=(),
    )  # fmt: skip
    grid = averaged(reading)
    assert len(grid.speed) == 48
    assert grid.torque.max() == pytest.approx(200 + 200 / 20, rel=0.005)
    assert [n.code for n in grid.notices] == ["rows-averaged"]
    few = dataclasses.replace(
        reading, speed=speed[:40], torque=torque[:40], relative_sd=np.full(40, 0.02)
    )
    assert averaged(few).torque is few.torque
    assert averaged(few).notices == ()


@pytest.mark.parametrize(
    ("given", "pressure_sd", "temperature_sd"),
    [
        ({}, 0.02, 8 / 298),
        ({"ambient_pressure": 101_325.0}, 0.0, 8 / 298),
        ({"ambient_temperature": 298.0}, 0.02, 0.0),
        ({"ambient_pressure": 101_325.0, "ambient_temperature": 298.0}, 0.0, 0.0),
    ],
)
def test_assumed_air_widens_the_reading(
    plain_engine: Engine, given: dict[str, float], pressure_sd: float, temperature_sd: float
) -> None:
    """[DIN_70020] (1013/p) sqrt(T/293): spread of p and half that of T, with 2 % of dyno."""
    facts = {"correction": "DIN70020", "measured_at": "crank", **given}
    reading = crank_reading(plain_engine, run(facts))
    by_hand = np.sqrt(0.02**2 + pressure_sd**2 + (temperature_sd / 2) ** 2)
    assert reading.relative_sd == pytest.approx(by_hand, rel=0.02)


GEAR = {"gear_ratio": 1.25, "final_drive": 4.0}


@pytest.mark.parametrize(
    ("facts", "torque"),
    [
        ({"referred_to": "wheel", **GEAR}, 40.0),
        ({"referred_to": "engine", **GEAR}, 200.0),
        ({"referred_to": "engine"}, 200.0),
    ],
)
def test_wheel_torque_is_divided_by_the_gear_once(plain_engine: Engine, facts, torque) -> None:
    """[NEWTON]: power passes the gear but for its loss, so torque falls as speed rises."""
    given = {"correction": "none", "measured_at": "wheel", "driveline_loss": 0.0, **facts}
    reading = crank_reading(plain_engine, run(given))
    assert reading.torque == pytest.approx(torque)
    assert "referred-assumed" not in {n.code for n in reading.notices}


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"measured_at": "wheel", **GEAR}, "referred_to: engine or wheel"),
        ({"measured_at": "wheel", "referred_to": "wheel"}, "the gear is not given"),
        ({"referred_to": "wheel", **GEAR}, "measured_at"),
        ({"measured_at": "hub", "gear_ratio": 3.0}, "belong together"),
    ],
)
def test_a_gear_that_is_not_clear_is_refused(plain_engine: Engine, facts, says) -> None:
    """Common practice, no source: most dynos have divided already; twice is wrong by the gear."""
    with pytest.raises(InputError, match=says):
        crank_reading(plain_engine, run({"correction": "none", **facts}))


def test_torque_that_no_engine_makes_is_refused_at_the_wheel(plain_engine: Engine) -> None:
    """Common practice, no source: no engine passes 50 bar of brake mean pressure."""
    wheel = run({"correction": "none", "measured_at": "wheel"})
    assert "referred-assumed" in {n.code for n in crank_reading(plain_engine, wheel).notices}
    felt = dataclasses.replace(wheel, torque=wheel.torque * 8)
    with pytest.raises(InputError, match="which no engine makes"):
        crank_reading(plain_engine, felt)
    clear = {**wheel.facts, **GEAR, "referred_to": "wheel"}
    crank_reading(plain_engine, dataclasses.replace(felt, facts=clear))


def test_the_kind_of_dyno_tells_of_the_sweep(plain_engine: Engine) -> None:
    """[NEWTON]: no speed is gained at steady points; in a sweep it is, and that takes torque."""
    given = {**CRANK, "inertia": 0.2}
    time = np.linspace(0, 10, 5)
    steady = crank_reading(plain_engine, run({**given, "dyno_kind": "steady"}, time=time))
    assert steady.torque == pytest.approx(200.0)
    assert steady.engine.given("test.sweep_rate") == 0.0
    swept = crank_reading(plain_engine, run({**given, "dyno_kind": "retarder"}, time=time))
    assert swept.torque == pytest.approx(200.0 + 0.2 * 4000 * RPM / 10, rel=1e-6)
    silent = crank_reading(plain_engine, run({**given, "dyno_kind": "inertia"}))
    assert "sweep-unknown" in {n.code for n in silent.notices}
    with pytest.raises(InputError, match="hold each speed"):
        crank_reading(plain_engine, run({**given, "dyno_kind": "steady", "sweep_rate": 5.0}))
