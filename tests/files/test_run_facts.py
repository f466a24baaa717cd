"""Facts about the test in a run file: on top, in headings, of gear and tyre."""

import numpy as np
import pytest
from plain_run import COMMA, FACTS, LB_FT, PLAIN, SPEED, TORQUE, read, refused

from torquerisk.quantities import RPM


def test_facts_on_top():
    """Source: design.md section 6: `# key: value` lines on top of the run."""
    run = read(FACTS + PLAIN)
    assert run.facts == {
        "correction": "J1349",
        "measured_at": "wheel",
        "driveline_loss": 0.15,
        "sweep_rate": pytest.approx(300 * RPM),
        "inertia": 0.2,
        "ambient_pressure": pytest.approx(100100.0),
        "ambient_temperature": pytest.approx(297.15),
        "humidity": pytest.approx(0.4),
    }
    assert any("'operator' is 'nobody'" in line for line in run.record)
    semicolons = FACTS.replace("\n", ";;\n") + COMMA
    assert read(semicolons).facts == run.facts
    quoted = "".join(f'"{line}",,\n' for line in FACTS.splitlines()) + PLAIN
    assert read(quoted).facts == run.facts


@pytest.mark.parametrize(
    ("fact", "says"),
    [
        ("# correction: magic", "correction in line 1 is 'magic', but must be one of none, J1349"),
        ("# driveline loss: 15", "driveline loss in line 1 is 15 without a unit, 1,500 %"),
        ("# ambient pressure: 100", "without a unit"),
        ("# ambient pressure: 100 °C", "no known unit of pressure"),
        ("# ambient pressure: 1 bar gauge", "absolute pressure is needed"),
        ("# measured at: moon", "one of crank, hub, wheel"),
        ("# correction: none\n# correction: J1349", "stated twice"),
    ],
)
def test_bad_facts_are_refused(fact, says):
    """Common practice, no source: a fact that cannot be used must not be passed over."""
    assert says in refused(f"{fact}\n{PLAIN}")


@pytest.mark.parametrize(
    ("remark", "facts"),
    [
        ("Korrektur: DIN 70020", {"correction": "DIN70020"}),
        ("# Korrektur: keine", {"correction": "none"}),
        ("Norme: ISO 1585", {"correction": "ISO1585"}),
        ("# Mesuré à la: roue", {"measured_at": "wheel"}),
        ("# gemessen an: Rad", {"measured_at": "wheel"}),
        ("# Luftdruck: 975 mbar", {"ambient_pressure": 97500.0}),
        ("# Température de l'air: 28 °C", {"ambient_temperature": 301.15}),
        ("# Luftfeuchtigkeit: 40 %", {"humidity": 0.4}),
        ("Correction Factor: STD 1.03", {"correction_factor": 1.03, "correction": "J607"}),
        ("# CF: 1.03 (SAE)", {"correction_factor": 1.03, "correction": "J1349"}),
    ],
)
def test_facts_in_other_languages_and_forms(remark, facts):
    """Common practice, no source: how dynos of other countries head the same facts."""
    assert read(f"{remark}\n{PLAIN}").facts == pytest.approx(facts)


@pytest.mark.parametrize(
    "remark",
    ["Zraku tlak: 975 mbar", "Faktor korrekce: 1.02", "# Teplota: 28 °C", "Luftdruck: 975"],
)
def test_a_remark_that_may_be_a_fact_is_told(remark):
    """Identity: a value in the unit of a fact, or a word of correction, is never passed over."""
    run = read(f"{remark}\n{PLAIN}")
    assert any(remark.split(":")[1].strip() in notice.text for notice in run.notices)


def test_headings_tell_facts_and_contradictions_are_refused():
    """Common practice, no source: 'wheel torque' says where, 'uncorrected' says how."""
    wheel = PLAIN.replace("torque [N·m]", "wheel torque [N·m]")
    assert read(wheel).facts == {"measured_at": "wheel"}
    assert "a heading says wheel" in refused("# measured at: crank\n" + wheel)
    raw = PLAIN.replace("torque [N·m]", "torque (uncorrected) [N·m]")
    assert read(raw).facts == {"correction": "none"}
    assert "heading says uncorrected" in refused("# correction: J1349\n" + raw)
    corrected = PLAIN.replace("torque [N·m]", "corrected torque [N·m]")
    assert any("not by which standard" in line for line in read(corrected).record)
    assert "heading says corrected" in refused("# correction: none\n" + corrected)
    assert read("# correction: DIN 70020\n" + corrected).facts == {"correction": "DIN70020"}
    sae = PLAIN.replace("torque [N·m]", "SAE torque (ft-lbs)")
    assert read(sae).facts == read("# correction: SAE\n" + sae).facts == {"correction": "J1349"}
    assert "heading says J1349" in refused("# correction: STD\n" + sae)
    assert read(sae).torque == pytest.approx(np.array(TORQUE) * LB_FT, rel=1e-12)
    horses = read("rpm,WHP\n2000,50\n3000,75\n4000,100\n")
    assert horses.facts == {"measured_at": "wheel", "referred_to": "engine"}
    assert horses.torque == pytest.approx([50 * 745.69987 / (2000 * RPM)] * 3, rel=1e-8)


@pytest.mark.parametrize(
    "title",
    ["Wheel power run, corrected to SAE J1349", "Dyno run 3, rear wheels, SAE corrected"],
)
def test_a_title_with_commas_is_no_heading(title):
    """Identity: a row of words above the headings that would spoil them is a remark."""
    run = read(
        f"{title}\nEngine speed (rpm),Torque (Nm),IAT (K)\n2000,1.5,300\n3000,2,300\n4000,2,300"
    )
    assert run.speed == pytest.approx(np.array([2000, 3000, 4000]) * RPM)
    assert run.facts == {"measured_at": "wheel", "correction": "J1349"}


def test_columns_of_the_air_and_of_the_factor_become_facts():
    """Identity: what every row repeats is what a line on top would state, which wins over it."""
    head = "rpm;Nm;CF;Baro (inHg);Air Temp (F);Humidity (%);boost [kPa];door\n"
    text = head + "".join(f"{n};200;1.04;28.9;86;40;50;1\n" for n in SPEED)
    run = read(text)
    pressure = 28.9 * 25.4 * 133.322387415
    assert run.facts == {
        "correction_factor": pytest.approx(1.04),
        "ambient_pressure": pytest.approx(pressure),
        "ambient_temperature": pytest.approx(303.15),
        "humidity": pytest.approx(0.4),
    }
    assert run.channels["manifold_pressure"] == pytest.approx([pressure + 50e3] * 4)
    assert any("taken from 'Baro (inHg)'" in notice.text for notice in run.notices)
    assert any("not known as a channel: 'door'." in line for line in run.record)
    stated = read("# barometer: 950 hPa\n# correction: none\n" + text)
    assert stated.facts["ambient_pressure"] == pytest.approx(95e3)
    assert "correction_factor" not in stated.facts
    for said in ("'Baro (inHg)' holds", "factor of 1.04"):
        assert any(said in notice.text for notice in stated.notices)
    assert "humidity" not in read(text, columns={"Humidity (%)": ""}).facts


@pytest.mark.parametrize("heading", ["Baro", "Baro (kPa)", "Air Temp (F)"])
def test_a_column_that_cannot_be_the_fact_is_told(heading):
    """Identity: a barometer of 300 kPa, air of 300 °F or a number without a unit is no fact."""
    run = read(f"rpm;Nm;{heading}\n" + "".join(f"{n};200;300\n" for n in SPEED))
    assert not run.facts
    assert any(f"'{heading}' was left out" in notice.text for notice in run.notices)


GEAR = "# gear ratio: 1.25\n# final drive: 4\n"
"""Five turns of the crank for one of the wheel."""
TYRE = GEAR + "# tyre radius: 300 mm\n"


@pytest.mark.parametrize(
    ("facts", "heads", "size"),
    [
        (TYRE, "road speed [km/h]", 2 * np.pi * 0.3 / 5 * 60 / 1000),
        (TYRE, "speed [mph]", 2 * np.pi * 0.3 / 5 * 60 / 1609.344),
        (GEAR, "wheel speed [rpm]", 1 / 5),
        (GEAR, "hub speed [t/min]", 1 / 5),
    ],
)
def test_engine_speed_from_the_wheel(facts, heads, size):
    """Identity: a wheel of 2 pi r rolls that far a turn; the crank turns gear times axle more."""
    rows = "".join(f"{n * size:.8f};200\n" for n in SPEED)
    run = read(f"{facts}{heads};torque [N·m]\n{rows}")
    assert run.speed / RPM == pytest.approx(SPEED, rel=1e-6)
    assert any("slip" in notice.text for notice in run.notices)
    assert not any("eft out" in notice.text for notice in run.notices)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("road speed [km/h];Nm\n50;1\n60;1\n70;1\n", "gear_ratio and final_drive and tyre_radius"),
        (GEAR + "road speed [km/h];Nm\n50;1\n60;1\n70;1\n", "give tyre_radius"),
        ("roller speed [rpm];Nm\n500;1\n600;1\n700;1\n", "'roller'"),
        ("# gear ratio: 3\n# referred to: wheel\nwheel speed [rpm];wheel torque [Nm]\n"
         "500;1\n600;1\n700;1\n", "belong together"),
        (GEAR + "# referred to: wheel\nrpm;Nm\n2000;1\n3000;1\n4000;1\n", "give measured_at"),
    ],
)  # fmt: skip
def test_half_a_gear_is_refused(text, says):
    """Identity: what is needed is asked for by name, never guessed."""
    assert says in refused(text)


def test_power_shows_what_torque_is_referred_to():
    """Identity: P = T omega at the engine's speed, or T over the gear where the wheel feels it."""
    rows = "".join(f"{n};{{}};{200 * n * RPM / 1e3:.6f}\n" for n in SPEED)
    heads = "rpm;wheel torque [N·m];wheel power [kW]\n"
    engine = read(heads + rows.format(*[200] * 4))
    assert engine.facts == {"measured_at": "wheel", "referred_to": "engine"}
    felt = heads + rows.format(*[1000] * 4)
    assert "referred_to: wheel" in refused(felt)
    said = GEAR + "# referred to: wheel\n"
    assert read(said + felt).torque == pytest.approx([1000] * 4)
    assert read(said + felt).facts["referred_to"] == "wheel"
    alone = said + "rpm;wheel power [kW]\n" + "".join(
        f"{n};{200 * n * RPM / 1e3:.6f}\n" for n in SPEED
    )  # fmt: skip
    assert read(alone).torque == pytest.approx([200] * 4)
    assert read(alone).facts["referred_to"] == "engine"


@pytest.mark.parametrize(
    ("remark", "place"),
    [("speed in rad/s, angles in rad", None), ("Gemessen am Rad", "wheel"), ("am Prüfstand", None)],
)
def test_a_unit_in_a_remark_is_no_wheel(remark, place):
    """Identity: 'rad' is a unit, 'Rad' German for a wheel."""
    assert read(f"# {remark}\n{PLAIN}").facts.get("measured_at") == place


def test_one_of_two_lettered_columns_is_not_taken():
    """Identity: of columns A and B neither is the clear one."""
    text = "rpm;Torque A [Nm];Torque B [Nm]\n2000;1;2\n3000;1;2\n4000;1;2\n"
    assert "'a' beside it is not known" in refused(text)


def test_a_run_that_no_engine_can_be_assessed_with_is_told_so_when_it_is_read():
    """Identity: the reader says what `divisor` refuses later, unless the facts answer it."""
    text = "# measured at: wheel\n# gear ratio: 1.5\n# final drive: 4\n" + PLAIN
    [told] = [n.text for n in read(text).notices if "referred_to: engine or wheel" in n.text]
    assert "no engine can be assessed with it" in told
    answered = read(f"# referred to: engine\n{text}")
    assert not any("no engine can be assessed" in n.text for n in answered.notices)


def test_turns_in_a_second_may_be_called_hertz():
    """NIST SP 811, 5.1 table 3: 1 Hz is 1 in a second; of a speed it is told how it is taken."""
    text = "engine speed [Hz];torque [Nm]\n" + "".join(f"{n};200\n" for n in (40, 60, 80))
    run = read(text)
    assert run.speed == pytest.approx(2 * np.pi * np.array([40.0, 60.0, 80.0]))
    assert any("1 Hz being 60 rpm" in n.text for n in run.notices)
