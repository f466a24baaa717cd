"""Columns of a run file: channels, units, and what a person says of them."""

import math

import numpy as np
import pytest
from plain_run import LB_FT, SPEED, TORQUE, read, refused

from torquerisk.case import CHANNELS, Run
from torquerisk.files.exports import run_csv
from torquerisk.files.headings import read_heading
from torquerisk.files.run_file import reading_of
from torquerisk.files.unit_table import PSI
from torquerisk.quantities import RPM
from torquerisk.study.run.log_signs import knock_sign

ROWS = "".join(f"{n:g};{t:g};{{}}\n" for n, t in zip(SPEED, TORQUE, strict=True))


@pytest.mark.parametrize(
    ("heading", "cell", "channel", "si"),
    [
        ("MAP [kPa]", "150", "manifold_pressure", 150e3),
        ("manifold pressure [bar abs]", "1.5", "manifold_pressure", 150e3),
        ("boost [bar]", "0.5", "manifold_pressure", 50e3 + 101325),
        ("Boost (psi)", "10", "manifold_pressure", 68947.57293 + 101325),
        ("boost [bar abs]", "1.5", "manifold_pressure", 150e3),
        ("MAP [barg]", "0.5", "manifold_pressure", 50e3 + 101325),
        ("exhaust back pressure [kPa gauge]", "50", "exhaust_pressure", 50e3 + 101325),
        ("ignition advance [deg]", "12", "ignition_advance", math.radians(12)),
        ("Spark timing (°BTDC)", "12", "ignition_advance", math.radians(12)),
        ("ignition [deg ATDC]", "-12", "ignition_advance", math.radians(12)),
        ("CA50 [deg]", "12", "ca50", math.radians(12)),
        ("MFB50 [° aTDC]", "12", "ca50", math.radians(12)),
        ("CA50 [deg before TDC]", "-12", "ca50", math.radians(12)),
        ("lambda", "0.88", "lambda_", 0.88),
        ("AFR (petrol)", "14.7", "lambda_", 1.0),
        ("IAT [°C]", "40", "intake_temperature", 313.15),
        ("Charge temperature / K", "313.15", "intake_temperature", 313.15),
        ("intake air temp (F)", "104", "intake_temperature", 313.15),
        ("coolant temp [degC]", "90", "coolant_temperature", 363.15),
        ("Coolant Pressure [bar]", "1.2", "coolant_pressure", 120e3),
        ("coolant pressure [kPa abs]", "220", "coolant_pressure", 220e3 - 101325),
        ("fuel pressure [bar]", "4", "fuel_pressure", 4e5),
        ("oil_pressure_kpa", "400", "oil_pressure", 4e5),
        ("oil temperature, °C", "110", "oil_temperature", 383.15),
        ("peak cylinder pressure [bar]", "90", "peak_pressure", 9e6),
        ("ethanol [%]", "30", "ethanol_share", 0.3),
        ("injector duty [%]", "85", "injector_duty", 0.85),
        ("KR [deg]", "4", "knock_retard", math.radians(4)),
        ("KR", "4", "knock_retard", math.radians(4)),
        ("Feedback Knock (deg)", "-3", "knock_retard", math.radians(-3)),
        ("Zündwinkel [°KW]", "14", "ignition_advance", math.radians(14)),
        ("Zündwinkel [°v.OT]", "14", "ignition_advance", math.radians(14)),
        ("Zündwinkel [Grad v. OT]", "14", "ignition_advance", math.radians(14)),
        ("ZZP (°KW v.OT)", "14", "ignition_advance", math.radians(14)),
        ("Zündwinkel vor dem OT [°]", "14", "ignition_advance", math.radians(14)),
        ("Zündzeitpunkt [°KWvOT]", "14", "ignition_advance", math.radians(14)),
        ("Zündwinkel [°KW n.OT]", "-14", "ignition_advance", math.radians(14)),
        ("Zündwinkel nach OT [Grad KW]", "-14", "ignition_advance", math.radians(14)),
        ("50% MFB [°n.OT]", "12", "ca50", math.radians(12)),
        ("Zündrücknahme Zyl. 1 [°KW]", "4", "knock_retard", math.radians(4)),
        ("KR1 [°]", "4", "knock_retard", math.radians(4)),
        ("KR10", "4", "knock_retard", math.radians(4)),
        ("Spark [degCA BTDC]", "14", "ignition_advance", math.radians(14)),
        ("Timing", "14", "ignition_advance", math.radians(14)),
        ("Feedback knock correction [deg]", "-3", "knock_retard", math.radians(-3)),
        ("time [ms]", "1500", "time", 1.5),
    ],
)
def test_channels_by_name_and_unit(heading, cell, channel, si):
    """Common practice, no source: what loggers call their channels. 101,325 Pa: ISO 2533."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', cell)}")
    assert run.channels[channel] == pytest.approx([si] * 4, rel=1e-9)
    assert any("read as" in line and heading.split("[")[0].strip() in line for line in run.record)


@pytest.mark.parametrize("with_lambda", [False, True])
def test_an_air_fuel_ratio_without_its_fuel_is_kept_and_told_how_to_write_it(with_lambda):
    """Identity: what it tells to write is read as lambda; beside lambda nothing is asked."""
    more = ";lambda" if with_lambda else ""
    rows = ROWS.replace("{}", "12.5;0.85" if with_lambda else "12.5")
    run = read(f"rpm;torque [N·m];AFR{more}\n{rows}")
    assert run.channels["afr"] == pytest.approx([12.5] * 4)
    assert ("lambda_" in run.channels) is with_lambda
    assert any("'AFR (petrol)'" in notice.text for notice in run.notices) is not with_lambda
    said = {"AFR": "AFR (petrol)"}
    by_hand = read(f"rpm;torque [N·m];AFR\n{ROWS.replace('{}', '14.7')}", columns=said)
    assert by_hand.channels["lambda_"] == pytest.approx([1.0] * 4)


def test_every_channel_of_a_run_has_a_heading_that_reads_back():
    """Identity: a channel that cannot be read from a file would be dead."""
    speed = np.array(SPEED) * RPM
    channels = {
        name: np.full(4, 0.5 * (max(d.low, -10.0) + min(d.high, 1e5 if d.high > 1e4 else d.high)))
        for name, d in CHANNELS.items()
        if name not in ("speed", "torque", "power")
    }
    run = Run(speed=speed, torque=np.array(TORQUE), channels=channels)
    again = read(run_csv(run))
    assert set(again.channels) == set(channels)


def test_stated_ambient_pressure_makes_boost_absolute():
    """Identity: absolute = gauge + ambient, the file's own ambient before the standard one."""
    text = "# barometer: 950 hPa\nrpm;torque [N·m];boost [kPa]\n" + ROWS.replace("{}", "50")
    assert read(text).channels["manifold_pressure"] == pytest.approx([145e3] * 4)


TWO = "rpm;torque [N·m];engine torque [N·m]\n2000;1;2\n3000;1;2\n4000;1;2\n"


@pytest.mark.parametrize(
    ("text", "said", "channel", "value"),
    [
        (TWO, {"engine torque [N·m]": "torque"}, "torque", 2.0),
        (TWO, {"3": "torque"}, "torque", 2.0),
        (TWO, {"torque [N·m]": ""}, "torque", 2.0),
        (TWO, {"torque [N·m]": "torque [lb*ft]"}, "torque", LB_FT),
        ("rpm;effort;x\n2;5;1\n3;5;1\n4;5;1\n", {"1": "speed [krpm]", "2": "torque [daNm]"},
         "torque", 50.0),
        ("rpm;Nm;boost [bar]\n2000;5;1\n3000;5;1\n4000;5;1\n",
         {"boost [bar]": "manifold pressure [bar abs]"}, "manifold_pressure", 1e5),
        ("rpm;Nm;boost [kPa]\n2000;5;100\n3000;5;100\n4000;5;100\n",
         {"boost [kPa]": "manifold pressure"}, "manifold_pressure", 201325.0),
    ],
)  # fmt: skip
def test_meaning_and_unit_are_as_said_by_hand(text, said, channel, value):
    """Identity: what a person says of a column wins over its heading; the rest stays as it was."""
    run = read(text, columns=said)
    values = run.torque if channel == "torque" else run.channels[channel]
    assert values == pytest.approx([value] * 3)
    assert any("as was said by hand" in line for line in run.record) == any(said.values())


def test_place_and_correction_stay_where_only_the_unit_is_said():
    """Identity: a unit says nothing of where torque was measured."""
    text = "rpm;SAE wheel torque [N·m]\n2000;1\n3000;1\n4000;1\n"
    run = read(text, columns={"2": "torque [lb*ft]"})
    assert (run.facts["measured_at"], run.facts["correction"]) == ("wheel", "J1349")


@pytest.mark.parametrize(
    ("said", "says"), [({"no": "torque"}, "no column has that"), ({"2": "effort"}, "no channel")]
)
def test_what_is_said_by_hand_must_be_known(said, says):
    """Identity: a misspelled heading or channel is refused, not passed over."""
    assert says in refused(TWO, columns=said)


@pytest.mark.parametrize(
    ("heads", "other", "torque"),
    [
        ("torque (Nm);torque (lb-ft)", 300 / LB_FT, 300),
        ("power [kW];power [PS]", 300 / 0.73549875, 1e6 / (3000 * RPM) * 0.3),
        ("engine torque [Nm];wheel torque [Nm]", 250, 300),
        ("torque corr. [Nm];torque uncorr. [Nm]", 291, 291),
    ],
)
def test_of_two_columns_the_clear_one_is_taken(heads, other, torque):
    """Identity: two units agree; crank beats wheel, uncorrected beats corrected."""
    rows = "".join(f"{n};300;{other:.4f}\n" for n in (2999, 3000, 3001))
    assert read(f"rpm;{heads}\n{rows}").torque[1] == pytest.approx(torque, rel=1e-6)


def test_of_what_is_not_needed_the_unclear_is_left_out():
    """Identity: power beside torque is a check only; two pressures are used where they agree."""
    head = "rpm;torque [Nm];SAE power [kW];wheel power [kW];MAP [kPa];boost [kPa gauge]\n"
    rows = "".join(f"{n};200;45;38;{{}};50\n" for n in (2000, 3000, 4000))
    run = read(head + rows.format(*[151.325] * 3))
    assert run.torque.tolist() == [200.0] * 3
    assert run.channels["manifold_pressure"] == pytest.approx([151325.0] * 3)
    apart = read(head + rows.format(*[190] * 3))
    assert "manifold_pressure" not in apart.channels
    assert any("stand for the same but differ" in notice.text for notice in apart.notices)


@pytest.mark.parametrize("heading", ["MAP", "Boost", "IAT", "ethanol", "Duty"])
def test_an_optional_channel_without_a_unit_costs_that_channel_only(heading):
    """Identity: the torque of a file is good without a channel that cannot be read, which is
    told."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', '30')}")
    assert run.torque.tolist() == TORQUE
    assert not run.channels
    assert [n.text for n in run.notices if f"'{heading}' has no unit" in n.text] == [
        notice.text for notice in run.notices if notice.code == "reading"
    ]


@pytest.mark.parametrize("heading", ["Zündwinkel n.OT [°v.OT]", "Zündwinkel v.OT/n.OT [°]"])
def test_ignition_that_is_counted_from_both_sides_of_dead_centre_is_left_out_and_told(heading):
    """Identity: either sign may be meant. 'not' and 'pivot' are no marks of dead centre."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', '14')}")
    assert not run.channels
    assert any("says both before and after TDC" in n.text for n in run.notices)
    assert read_heading(("torque NOT corrected [pivot]",)).words.isdisjoint({"atdc", "btdc"})


def test_grads_are_no_degrees():
    """NIST SP 811, B.8: a gon, also called grad, is 0.9 degrees; German 'Grad' is a degree."""
    run = read(f"rpm;torque [N·m];Zündwinkel [grad]\n{ROWS.replace('{}', '14')}")
    assert not run.channels
    assert any("'grad', which is no known unit" in n.text for n in run.notices)


@pytest.mark.parametrize(
    ("headings", "used", "whose"),
    [
        (("ignition cyl 1", "ignition cyl 2"), 0, "cylinder 1's"),
        (("ignition cyl 2", "ignition [deg]"), 1, "the engine's"),
    ],
)
def test_of_ignition_by_cylinder_one_is_read_and_the_other_says_whose(headings, used, whose):
    """Identity: the engine's own ignition, else that of the cylinder named first."""
    text = f"rpm;torque [N·m];{';'.join(headings)}\n{ROWS.replace('{}', '10;11')}"
    reading = reading_of(text.encode(), "run.csv")
    assert np.degrees(reading.run.channels["ignition_advance"]) == pytest.approx([10 + used] * 4)
    assert reading.columns[2 + used].channel == "ignition_advance"
    assert reading.columns[3 - used].note == f"cylinder 2, not used; {whose} is"
    assert any(f"'{headings[1 - used]}' was left out" in n.text for n in reading.run.notices)


def test_of_knock_retard_by_cylinder_the_greatest_in_each_row_is_read():
    """Identity: one cylinder that knocks is enough; common practice, no source: angles of ignition
    are in degrees."""
    rows = "2000;200;0;0\n3000;200;-1;3\n4000;200;-4;0\n"
    text = "rpm;torque [N·m];KR1;knock retard cyl 2\n" + rows
    reading = reading_of(text.encode(), "run.csv")
    run = reading.run
    for seen in reading.columns[2:]:
        assert seen.channel == "knock_retard"
        assert seen.note == "the greatest of 2 columns in each row"
    assert np.degrees(run.channels["knock_retard"]) == pytest.approx([0, 3, -4])
    assert any("of these the greatest in each row is used" in n.text for n in run.notices)
    assert run.most_retard_in == "'KR1'"
    sign = knock_sign(run)
    assert sign is not None
    assert "4.0 degrees, most in 'KR1', from" in sign.text
    alone = read("rpm;torque [N·m];knock retard\n2000;200;0\n3000;200;3\n4000;200;0\n")
    assert alone.most_retard_in == ""


def test_a_total_beats_its_parts():
    """Identity: the engine's power is that of both axles."""
    rows = "".join(f"{n};40;60;100\n" for n in (2000, 3000, 4000))
    run = read("rpm;Front Power [kW];Rear Power [kW];Total Power [kW]\n" + rows)
    assert run.torque[0] == pytest.approx(1e5 / (2000 * RPM))
    assert any("'Front Power [kW]' was left out" in notice.text for notice in run.notices)


def test_one_quantity_in_two_units_must_agree():
    """Identity: columns that cannot both be right are refused, with the option that chooses."""
    text = "rpm;torque (Nm);torque (lb-ft)\n2000;300;300\n3000;300;300\n4000;300;300\n"
    assert '--column "torque (lb-ft)=torque"' in refused(text)
    assert "which one to use with --column" in refused(TWO)


@pytest.mark.parametrize(
    ("heading", "reference"),
    [("MAP (kPa)", "absolute"), ("Boost (kPa)", "gauge"), ("oil pressure [kPa]", "gauge")],
)
def test_a_pressure_without_its_reference_is_told(heading, reference):
    """Identity: what is taken as gauge or absolute without a word for it may be the other."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', '150')}")
    (told,) = [n.text for n in run.notices if f"it is taken as {reference}" in n.text]
    other = "absolute" if reference.startswith("gauge") else "gauge"
    assert f"say '{other}' in the heading" in told, "the other possibility, and what mends it"


def test_manifold_pressure_far_below_the_atmosphere_is_refused_or_told():
    """Common practice, no source: at full load no manifold stands at half an atmosphere."""
    rows = "rpm;Nm;MAP [{}]\n2000;200;{}\n3000;300;{}\n4000;310;{}\n"
    gauge = ("3.3", "9.8", "16")
    told = refused(rows.format("psi", *gauge))
    assert "neither gauge nor absolute" in told
    assert '--column "MAP [psi]=manifold pressure [psi gauge]"' in told
    for said, pressure in (("psi gauge", 16 * PSI + 101325), ("psi abs", 16 * PSI)):
        text = rows.format("psi", *gauge)
        by_hand = read(text, columns={"MAP [psi]": f"manifold pressure [{said}]"})
        assert by_hand.channels["manifold_pressure"][-1] == pytest.approx(pressure)
        headed = read(rows.format(said, *gauge))
        assert headed.channels["manifold_pressure"][-1] == pytest.approx(pressure)
        low = any("if it is gauge pressure" in notice.text for notice in headed.notices)
        assert low == (said == "psi abs")
    boosted = read(rows.format("psi", 14.2, 20, 30))
    assert any("neither gauge nor absolute" in notice.text for notice in boosted.notices)


@pytest.mark.parametrize(
    ("heading", "cell", "channel"),
    [("KM", "120345", None), ("Moc [KM]", "57", None), ("Oil temps [°C]", "95", "oil_temperature")],
)
def test_words_of_two_languages_mean_one_thing(heading, cell, channel):
    """Identity: an odometer is no power, and 'temps' are temperatures, not French times."""
    run = read(f"rpm;torque [Nm];{heading}\n" + "".join(
        f"{n};200;{cell}\n" for n in (2000, 2001, 2002)))  # fmt: skip
    assert list(run.channels) == ([channel] if channel else [])
    assert any("agrees" in line for line in run.record) == heading.startswith("Moc")


@pytest.mark.parametrize(
    ("headings", "cells", "channel", "expected"),
    [
        ("Lambda Bank 1;Lambda Bank 2", "0.82;0.86", "lambda_", 0.86),
        ("AFR 1 (petrol);AFR 2 (petrol)", "12.0;11.5", "lambda_", 12.0 / 14.7),
        ("Knock Count Cyl 1;Knock Count Cyl 2", "2;3", "knock_count", 5.0),
        ("Knock Count Cyl 1;Knock Sum", "2;7", "knock_count", 7.0),
    ],
)
def test_columns_of_banks_and_cylinders_are_made_into_one_and_told(
    headings, cells, channel, expected
):
    """Common practice, no source: knock anywhere counts, and the leanest bank knocks first; a sum
    that the file has beats its parts."""
    run = read(f"rpm;torque [N·m];{headings}\n{ROWS.replace('{}', cells)}")
    assert run.channels[channel] == pytest.approx([expected] * 4)
    assert any(headings.split(";")[0] in n.text for n in run.notices)
    assert run.most_retard_in == ""


@pytest.mark.parametrize(
    ("heading", "channel"),
    [
        ("Ign Adv [deg]", "ignition_advance"),
        ("Final Ignition [deg]", "ignition_advance"),
        ("Ignition Timing Total [deg]", "ignition_advance"),
        ("Ponto de ignição [°]", "ignition_advance"),
        ("Sonda lambda", "lambda_"),
        ("time_s", "time"),
    ],
)
def test_more_of_what_loggers_write(heading, channel):
    """Common practice, no source."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', '1.0')}")
    assert list(run.channels) == [channel]


TARGETS = (
    "Torque request [Nm]",
    "MAP target [kPa]",
    "Drehmoment Soll [Nm]",
    "boost_set_kpa",
    "lambda_target",
    "Desired Ignition (deg)",
    "Commanded Lambda",
    "Ciśnienie doładowania zadane [bar]",
    "Consigne pression suralimentation (mbar)",
    "Pressione turbo obiettivo [bar]",
    "MAP_SP [kPa]",
    "Boost Error (kPa)",
    "Ignition Base (deg)",
    "Max Torque (Nm)",
    "Driver Torque Demand (Nm)",
    "LambdaSP",
    "Laddtryck börvärde [bar]",
    "Laaddruk gewenst [bar]",
    "Presión de soplado objetivo [bar]",
)


@pytest.mark.parametrize("heading", TARGETS)
def test_what_was_asked_for_is_never_read_as_what_was_measured(heading):
    """Common practice, no source: loggers put targets beside what was measured."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', '1.0')}")
    assert run.torque.tolist() == TORQUE
    assert run.channels == {}
    assert any(heading[:12] in line for line in run.record)


def test_a_list_from_high_to_low_is_turned():
    """Metamorphic: a printed list says the same from either end; which one is told."""
    rows = [f"{n};{t}\n" for n, t in zip(SPEED, (150, 200, 210, 190), strict=True)]
    rising, falling = (read("rpm;Nm\n" + "".join(r)) for r in (rows, rows[::-1]))
    assert falling.torque.tolist() == rising.torque.tolist()
    assert any("turned" in notice.text for notice in falling.notices)


def test_what_becomes_of_time_without_a_unit_and_of_a_column_of_the_air():
    """Common practice, no source: what is left out is told before the record, with its mending."""
    text = "Time;rpm;Nm;ambient temperature [°C]\n" + "".join(
        f"{i};{n};200;25\n" for i, n in enumerate(SPEED)
    )
    seen = reading_of(text.encode(), "run.csv")
    assert any("write 'Time [s]'" in notice.text for notice in seen.run.notices)
    assert seen.columns[3].note == "Ambient temperature"
