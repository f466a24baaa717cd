import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from torquerisk.case import CHANNELS, Run
from torquerisk.errors import InputError
from torquerisk.files.exports import run_csv
from torquerisk.files.run_file import load_run, run_from_bytes
from torquerisk.quantities import RPM

LB_FT = 0.3048 * 0.45359237 * 9.80665
"""One pound-force foot [N*m]: NIST SP 811, from exact definitions."""

SPEED = [2000.0, 3000.0, 4000.0, 5000.0]
TORQUE = [200.5, 220.25, 230.0, 210.75]
PLAIN = "engine speed [rpm],torque [N·m],lambda\n" + "".join(
    f"{n:g},{t:g},0.9\n" for n, t in zip(SPEED, TORQUE, strict=True)
)


def read(text: str | bytes, **more) -> Run:
    return run_from_bytes(text.encode() if isinstance(text, str) else text, "run.csv", **more)


def refused(text: str | bytes, **more) -> str:
    with pytest.raises(InputError) as caught:
        read(text, **more)
    sentence = str(caught.value)
    assert sentence.startswith("run.csv")
    assert "\n" not in sentence
    assert len(sentence) < 500
    assert all(c.isprintable() for c in sentence)
    return sentence


def holds_the_plain_run(run: Run, lambdas: bool = True) -> None:
    assert run.speed == pytest.approx(np.array(SPEED) * RPM, rel=1e-12)
    assert run.torque == pytest.approx(TORQUE, rel=1e-12)
    if lambdas:
        assert run.channels["lambda_"] == pytest.approx([0.9] * 4, rel=1e-12)


COMMA = PLAIN.replace(",", ";").replace(".", ",")


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(PLAIN, id="comma"),
        pytest.param(PLAIN.replace(",", ";"), id="semicolon"),
        pytest.param(COMMA, id="semicolon, decimal comma"),
        pytest.param(COMMA.replace(";", "\t"), id="tab, decimal comma"),
        pytest.param(PLAIN.replace(",", "\t"), id="tab"),
        pytest.param(PLAIN.replace(",", " | "), id="bar"),
        pytest.param(PLAIN.replace(",", "    "), id="aligned with spaces"),
        pytest.param(PLAIN.replace("\n", "\r\n"), id="carriage returns and line feeds"),
        pytest.param(PLAIN.replace("\n", "\r"), id="carriage returns"),
        pytest.param("\ufeff" + PLAIN, id="byte-order mark"),
        pytest.param(PLAIN.encode("cp1252"), id="Windows-1252"),
        pytest.param(PLAIN.encode("utf-16"), id="UTF-16 with mark"),
        pytest.param(PLAIN.encode("utf-16-le"), id="UTF-16 little-endian without mark"),
        pytest.param(PLAIN.encode("utf-16-be"), id="UTF-16 big-endian without mark"),
        pytest.param(PLAIN.replace("0.9\n", "0.9,\n"), id="rows end in a delimiter"),
        pytest.param(PLAIN.replace("\n", ",,\n"), id="all lines end in delimiters"),
        pytest.param(PLAIN.rstrip(), id="no last line end"),
        pytest.param(PLAIN.replace("\n", "\n\n"), id="blank lines"),
        pytest.param(
            "".join(
                ",".join(f'"{c}"' for c in line.split(",")) + "\n" for line in PLAIN.splitlines()
            ),
            id="quoted",
        ),
        pytest.param(
            "".join(
                ",".join(f'"{c}"' for c in line.split(";")) + "\n" for line in COMMA.splitlines()
            ),
            id="quoted, comma, decimal comma",
        ),
        pytest.param(
            PLAIN.replace("2000", '"2,000"').replace("4000", '"4,000"'), id="thousands comma"
        ),
        pytest.param(COMMA.replace("2000", "2.000").replace("4000", "4.000"), id="thousands point"),
        pytest.param(COMMA.replace("2000", "2 000").replace("4000", "4 000"), id="thousands space"),
        pytest.param(PLAIN.replace("2000", "+2.0e3"), id="exponents"),
        pytest.param("invented test bed\nrun 4, warm\n\n" + PLAIN, id="preamble"),
        pytest.param(PLAIN + "\nhighest torque,230\nend of log\n", id="footer"),
        pytest.param("sep=,\n" + PLAIN, id="a spreadsheet's separator line"),
        pytest.param(PLAIN + PLAIN.splitlines()[0] + "\n6000,190,0.9\n", id="repeated headings"),
        pytest.param(
            PLAIN.replace(
                "engine speed [rpm],torque [N·m],lambda",
                "engine speed,torque,lambda\nrpm,N·m,-",
            ),
            id="units row",
        ),
        pytest.param(
            PLAIN.replace(
                "engine speed [rpm],torque [N·m],lambda",
                "engine speed,torque,lambda\n[1/min],[Nm],[1]",
            ),
            id="units row in brackets",
        ),
        pytest.param(
            PLAIN.replace("[rpm]", "/ (1/min)").replace("[N·m]", "/ Nm"), id="units after a slash"
        ),
        pytest.param(
            PLAIN.replace("engine speed [rpm]", "n (min^-1)").replace("torque [N·m]", "Tq Nm"),
            id="short names",
        ),
        pytest.param(
            PLAIN.replace("engine speed [rpm]", "n [rpm]").replace("torque [N·m]", "T [N·m]"),
            id="symbols",
        ),
        pytest.param(
            PLAIN.replace("lambda", "lambda,50% burn angle [deg],2nd").replace(
                "0.9\n", "0.9,9,2\n"
            ),
            id="headings that start with numbers",
        ),
        pytest.param(PLAIN.replace("engine speed [rpm]", "RPM"), id="a heading that is its unit"),
    ],
)
def test_every_dress_of_one_run_reads_the_same(data):
    """Metamorphic: encoding, delimiter, decimal mark, quotes and frame change no number."""
    run = read(data)
    if len(run.speed) == 5:
        assert run.speed[-1] == pytest.approx(6000 * RPM)
        run = Run(
            speed=run.speed[:-1],
            torque=run.torque[:-1],
            channels={k: v[:-1] for k, v in run.channels.items()},
        )
    holds_the_plain_run(run)


def test_metric_and_inch_runs_are_equal():
    """Metamorphic: a change of units changes no answer. Factors: NIST SP 811, exact."""
    psi, hp = 0.45359237 * 9.80665 / 0.0254**2, 550 * LB_FT
    metric = ["rpm,torque [N·m],power [kW],MAP [kPa abs],IAT [°C],coolant pressure [kPa gauge]"]
    inch = ["rpm,torque [lb·ft],power [hp],MAP [psia],IAT [°F],coolant pressure [psig]"]
    for n, t in zip(SPEED, TORQUE, strict=True):
        p = n * RPM * t
        metric.append(f"{n},{t},{p / 1e3!r},150,40,100")
        inch.append(f"{n},{t / LB_FT!r},{p / hp!r},{150e3 / psi!r},104,{100e3 / psi!r}")
    a, b = read("\n".join(metric)), read("\n".join(inch))
    assert b.torque == pytest.approx(a.torque, rel=1e-12)
    for name, values in a.channels.items():
        assert b.channels[name] == pytest.approx(values, rel=1e-12), name
    assert set(a.channels) == set(b.channels)
    assert {"manifold_pressure", "intake_temperature", "coolant_pressure"} <= set(a.channels)


@pytest.mark.parametrize(
    ("unit", "watts"), [("kW", 1e3), ("PS", 735.49875), ("hp", 745.69987), ("W", 1.0)]
)
def test_torque_comes_from_power(unit, watts):
    """Source: P = T*omega; PS 735.49875 W, mechanical hp 745.69987 W (NIST SP 811)."""
    rows = "".join(f"{n},{n * RPM * t / watts!r}\n" for n, t in zip(SPEED, TORQUE, strict=True))
    run = read(f"rpm,power [{unit}]\n{rows}")
    assert run.torque == pytest.approx(TORQUE, rel=1e-8)
    assert any("worked out from power" in line for line in run.record)


@pytest.mark.parametrize(
    ("torque_size", "power_size", "says"),
    [
        (1 / LB_FT, 1.0, "torque looks like lb·ft headed N·m"),
        (LB_FT, 1.0, "torque looks like N·m headed lb·ft"),
        (1.0, 1e3 / 745.69987, "within 3 %; power looks like hp headed kW"),
        (1.0, 1e3 / 735.49875, "power like PS headed kW"),
        (1.0, 1e3, "power looks like W headed kW"),
        (1 / 9.80665, 1.0, "torque looks like kgf·m headed N·m"),
        (1.7, 1.0, "check the units of torque, power and speed"),
    ],
)
def test_power_and_torque_name_a_mix_up(torque_size, power_size, says):
    """Identity: P = T*omega tells wrong units by itself."""
    rows = "".join(
        f"{n},{t * torque_size},{n * RPM * t / 1e3 * power_size}\n"
        for n, t in zip(SPEED, TORQUE, strict=True)
    )
    assert says in refused(f"rpm,torque [N·m],power [kW]\n{rows}")


def test_one_bad_row_of_power_is_named():
    """Identity: P = T*omega within 3 %, the first row off named by its line."""
    rows = [
        f"{n},{t},{n * RPM * t / 1e3 * (1.2 if n == 3000 else 1.02)}"
        for n, t in zip(SPEED, TORQUE, strict=True)
    ]
    sentence = refused("\n".join(["rpm,torque [N·m],power [kW]", *rows]))
    assert "line 3 reads 220.2 N·m" in sentence or "line 3 reads 220.3 N·m" in sentence
    assert "1 row of 4" in sentence


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
        ("time [ms]", "1500", "time", 1.5),
    ],
)
def test_channels_by_name_and_unit(heading, cell, channel, si):
    """Common practice, no source: what loggers call their channels. 101,325 Pa: ISO 2533."""
    run = read(f"rpm;torque [N·m];{heading}\n{ROWS.replace('{}', cell)}")
    assert run.channels[channel] == pytest.approx([si] * 4, rel=1e-9)
    assert any("read as" in line and heading.split("[")[0].strip() in line for line in run.record)


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


FACTS = """# correction: SAE J1349 (2004)
# measured at: rollers
# Drivetrain loss: 15 %
# sweep_rate = 300 rpm/s
# inertia: 0.2 kg*m^2
# ambient pressure: 100.1 kPa
# ambient temperature: 24 °C
# humidity: 40 %
# operator: nobody
"""


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
        ("# driveline loss: 15", "driveline loss in line 1 is 1500 %"),
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
    assert horses.facts == {"measured_at": "wheel"}
    assert horses.torque == pytest.approx([50 * 745.69987 / (2000 * RPM)] * 3, rel=1e-8)


T = "rpm;torque [N·m]\n"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        pytest.param("", "is empty", id="empty"),
        pytest.param(" \r\n\n", "is empty", id="blank"),
        pytest.param(b"\xff\xfe", "is empty", id="only a mark"),
        pytest.param(b"PK\x03\x04" + b"x" * 99, "spreadsheet workbook", id="workbook"),
        pytest.param(b"%PDF-1.7 ...", "PDF document", id="document"),
        pytest.param(bytes(range(256)) * 9, "not text", id="binary"),
        pytest.param(PLAIN.replace("0.9", "\x07\x1b"), "not text", id="control characters"),
        pytest.param(b"\x00" * 5000 + b"1", "not text", id="nulls"),
        pytest.param(b"1,2\n" * 15_000_001, "larger than 60 MB", id="huge"),
        pytest.param("1\n" * 2_000_001, "more than 2000000 lines", id="long"),
        pytest.param("hello world\nno numbers here\n", "no table of numbers", id="prose"),
        pytest.param("rpm\n2000\n3000\n4000\n", "no table of numbers", id="one column"),
        pytest.param("2000,200\n3000,210\n4000,220\n", "no headings", id="no headings"),
        pytest.param("foo,bar\n2000,200\n3000,210\n", "no headings", id="unknown headings"),
        pytest.param(
            T.replace(" [N·m]", "") + "2000;200\n3000;1\n", "'torque' has no unit", id="u"
        ),
        pytest.param("speed;torque [N·m]\n2000;200\n3000;2\n", "'speed' has no unit", id="speed"),
        pytest.param("rpm;power\n2000;200\n3000;2\n", "'power' has no unit", id="power"),
        pytest.param("rpm;torque [N·m];MAP\n2;3;4\n5;6;7\n", "'MAP' has no unit", id="pressure"),
        pytest.param("rpm;torque [N·m];IAT\n2;3;4\n5;6;7\n", "'IAT' has no unit", id="temperature"),
        pytest.param("rpm;torque [rpm]\n2000;200\n3000;2\n", "no known unit of torque", id="kind"),
        pytest.param("rpm;torque [foo]\n2000;200\n3000;2\n", "no known unit of torque", id="foo"),
        pytest.param(
            "rpm;lambda\n2000;1\n3000;1\n", "no column of torque or power", id="no torque"
        ),
        pytest.param(
            "torque [N·m];lambda\n2000;1\n3000;1\n", "no column of engine speed", id="no n"
        ),
        pytest.param(T + "2000;200\n3000;210\n", "2 usable rows", id="two rows"),
        pytest.param(T + "2000;0x10\n3000;210\n4000;2\n5000;3\n", "'0x10' in line 2", id="hex"),
        pytest.param(
            T + "2000;2\n3000;2_10\n4000;2\n5000;3\n", "'2_10' in line 3", id="underscore"
        ),
        pytest.param(T + "2000;2\n3000;3\n4000;2\n5000;inf\n", "'inf' in line 5", id="infinite"),
        pytest.param(T + "4000;2\n3000;3\n2000;2\n", "falls from 4000 to 2000", id="falling"),
        pytest.param(T + "2000;2\n3000;3\n2900;2\n4000;3\n", "from 3000 to 2900 rpm", id="back"),
        pytest.param(T + "2000;2\n3000;3\n40000;2\n", "40000 rpm in line 4", id="out of range"),
        pytest.param(T + "2000;2\n3000;99999\n4000;2\n", "99999 N*m in line 3", id="torque range"),
        pytest.param(T + "2000;2\n3000;3;4\n4000;2\n", "line 3 has 3 cells", id="ragged, more"),
        pytest.param(
            "rpm;torque [N·m];lambda\n2000;2;1\n3000;3\n4000;2;1\n", "line 3 has 2", id="less"
        ),
        pytest.param(T + "2000;1.250\n3000;1.250\n4000;1.250\n", "in two ways", id="ambiguous"),
        pytest.param(
            "rpm;torque [N·m];engine torque [N·m]\n2000;1;2\n3000;1;2\n4000;1;2\n",
            "2 columns stand for torque: 'torque [N·m]' and 'engine torque [N·m]'",
            id="twice",
        ),
        pytest.param(T + '2000;2\n3000;3\n4000;"2\n5000;3\n', "quotation mark", id="open quote"),
        pytest.param(
            "rpm;torque [N·m];ethanol\n2000;1;30\n3000;1;30\n4000;1;30\n",
            "'ethanol' has no unit",
            id="share",
        ),
        pytest.param(
            "rpm;torque [N·m];lambda\n2000;1;9\n3000;1;9\n4000;1;9\n",
            "equivalence is 9 in line 2",
            id="lambda range",
        ),
        pytest.param(T + "2000;-2\n3000;-3\n4000;-2\n", "negative in every row", id="negative"),
        pytest.param(
            "rpm;" + "x" * 5000 + "\x85;torque [N·m" + "y" * 500 + "]\n2000;1;2\n3000;1;2\n",
            "speaks of torque",
            id="long foreign text",
        ),
    ],
)
def test_bad_files_are_refused_in_one_sentence(data, says):
    """Common practice, no source: what people send, and what each sentence must name."""
    assert says in refused(data)


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        ("2250", "line 7 has 1 cells"),
        ("2250;200;1", "line 7 has 3 cells"),
        ("2250;200,5", "'200,5' in line 7"),
        ("broken", "line 7 has 1 cells"),
    ],
)
def test_one_bad_row_near_the_top_is_named(bad, says):
    """Identity: the rows above a damaged one are neither lost nor taken for a preamble."""
    rows = [f"{n};{200 + n / 100}" for n in range(2000, 6000, 50)]
    rows.insert(5, bad)
    assert says in refused(T + "\n".join(rows))


@pytest.mark.parametrize("bad", ["2225;oops", "oops;200", "2225;inf"])
def test_one_bad_cell_costs_one_cell(bad):
    """Identity: a cell that is no number is told and taken as empty; every other row is used."""
    rows = [f"{n};{200 + n / 100}" for n in range(2000, 6000, 50)]
    run = read(T + "\n".join([*rows[:5], bad, *rows[5:]]))
    assert len(run.speed) == len(rows)
    assert any("in line 7, which is no number" in line for line in run.record)


def test_a_gap_or_repeated_headings_near_the_top_lose_no_row():
    """Identity: every row of numbers between headings and footer is used."""
    rows = [f"{n};{200 + n / 100}" for n in range(2000, 6000, 50)]
    for extra in ("2225;", ";", "", T.strip(), "rpm;N·m", "-;-"):
        run = read(T + "\n".join([*rows[:5], extra, *rows[5:]]))
        assert len(run.speed) == len(rows), extra
        assert run.speed[0] == pytest.approx(2000 * RPM)


def test_one_of_two_columns_may_be_chosen():
    """Identity: 'two candidates: ask' needs a way to answer."""
    text = "rpm;torque [N·m];engine torque [N·m]\n2000;1;2\n3000;1;2\n4000;1;2\n"
    run = read(text, columns={"torque": "engine torque [N·m]"})
    assert run.torque.tolist() == [2.0, 2.0, 2.0]


def test_gaps_are_never_zero():
    """Identity: empty, NA and '-' are gaps: rows dropped, short gaps bridged, others left out."""
    text = (
        "rpm;torque [N·m];lambda;oil temp [°C];coolant pressure [kPa]\n"
        "2000;200;0.90;NA;10\n2500;;0.5;90;10\n3000;220;-;91;\n3500;230;n/a;92;\n"
        "4000;230;0.96;92;\n4500;230;0.96;92;\n5000;NaN;0.9;90;10\n5500;230;0.96;92;10\n"
    )
    run = read(text)
    assert run.speed / RPM == pytest.approx([2000, 3000, 3500, 4000, 4500, 5500])
    assert run.channels["lambda_"] == pytest.approx([0.90, 0.93, 0.945, 0.96, 0.96, 0.96])
    assert set(run.channels) == {"lambda_"}
    said = " ".join(run.record)
    assert "2 rows without speed or torque left out, the first in line 3" in said
    assert "Oil temperature was left out" in said
    assert "Coolant pressure, gauge was left out" in said


def test_equal_speeds_are_averaged_and_jitter_is_sorted():
    """Identity: mean of equal speeds; 25 rpm of jitter is put in order, and both are told."""
    run = read(T + "2000;200\n2000;210\n3000;220\n2980;240\n2980;260\n4000;230\n")
    assert run.speed / RPM == pytest.approx([2000, 2980, 3000, 4000])
    assert run.torque == pytest.approx([205, 250, 220, 230])
    said = " ".join(run.record)
    assert "jitter" in said
    assert "equal speed averaged" in said


def test_what_is_not_known_is_left_out_and_told():
    """Identity: every decision lands in the record."""
    text = (
        "rpm;torque [N·m];note;clock;AFR;MAP [°C];time;speed [km/h]\n"
        "2000;200;ok;12:00:01;12.5;30;1;50\n3000;210;;12:00:02;12.5;30;2;60\n"
        "4000;220;hm;12:00:03;12.5;30;3;70\n"
    )
    run = read(text)
    assert run.channels == {}
    said = " ".join(run.record)
    for word in ("'note'", "'clock'", "'AFR'", "'MAP [°C]'", "'time'", "'speed [km/h]'"):
        assert word in said, word


def test_foreign_text_is_cut_and_stripped_in_the_record():
    """Identity: what a file says reaches no message longer than 40 characters, or with controls."""
    text = (
        f"# {'k' * 300}: {'v' * 300}\nrpm;torque [N·m];{'h' * 300}\u202e<b>\n2000;1;2\n3000;1;2\n"
    )
    text += "4000;1;2\n"
    for line in read(text).record:
        assert all(c.isprintable() for c in line)
        assert "kkkkk" * 9 not in line
        assert "vvvvv" * 9 not in line
        assert "hhhhh" * 9 not in line


def test_the_digest_is_that_of_the_bytes(tmp_path):
    """Source: FIPS 180-4 by way of hashlib; the digest names the input in every report."""
    import hashlib

    path = tmp_path / "run.csv"
    path.write_bytes(PLAIN.encode())
    run = load_run(path)
    assert run.digest == hashlib.sha256(PLAIN.encode()).hexdigest()
    assert run.name == "run.csv"
    with pytest.raises(InputError, match="does not exist"):
        load_run(tmp_path / "none.csv")
    with pytest.raises(InputError, match="is a folder"):
        load_run(tmp_path)


@st.composite
def runs(draw):
    """Runs with a random choice of channels, each anywhere in its range, torque not all below 0."""
    rows = draw(st.integers(3, 12))
    speeds = draw(
        st.lists(st.integers(2010, 199_990), min_size=rows, max_size=rows, unique=True).map(sorted)
    )
    arrays = {}
    for name, declaration in CHANNELS.items():
        if name not in ("speed", "power") and (name == "torque" or draw(st.booleans())):
            low, high = declaration.low, declaration.high
            values = st.floats(low, high, allow_subnormal=False)
            arrays[name] = np.array(draw(st.lists(values, min_size=rows, max_size=rows)))
    torque = arrays.pop("torque")
    torque[0] = abs(torque[0])
    return Run(speed=np.array(speeds) * 0.1 * RPM, torque=torque, channels=arrays)


@settings(max_examples=60, deadline=None)
@given(runs())
def test_a_written_run_reads_back_equal(run):
    """Identity: a saved case gives the same answer, so every bit comes back."""
    again = read(run_csv(run))
    assert again.speed.tolist() == run.speed.tolist()
    assert again.torque.tolist() == run.torque.tolist()
    assert set(again.channels) == set(run.channels)
    for name, values in run.channels.items():
        assert again.channels[name].tolist() == values.tolist(), name


def test_damaged_files_give_a_run_or_one_sentence():
    """Metamorphic: 400 random edits of a good file raise nothing but InputError."""
    chance = random.Random(20240229)
    good = (FACTS + PLAIN).encode()
    outcomes = {"read": 0, "refused": 0}
    for _ in range(400):
        data = bytearray(good)
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(data))
            edit = chance.randrange(3)
            if edit == 0:
                data[at] = chance.randrange(256)
            elif edit == 1:
                del data[at : at + chance.randint(1, 20)]
            else:
                data[at:at] = bytes(chance.choice(b',;"\n\t 0123456789.-#:[]') for _ in range(3))
        try:
            run_from_bytes(bytes(data), "run.csv")
            outcomes["read"] += 1
        except InputError as error:
            outcomes["refused"] += 1
            sentence = str(error)
            if "\n" in sentence or len(sentence) > 500:
                pytest.fail(sentence)
    assert outcomes["read"] > 20
    assert outcomes["refused"] > 20
