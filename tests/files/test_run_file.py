"""The run file: one run in many dresses, gaps and order, written and read back, damaged."""

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_run import (
    COMMA,
    FACTS,
    LB_FT,
    PLAIN,
    SPEED,
    TORQUE,
    T,
    holds_the_plain_run,
    read,
    refused,
)

from torquerisk.case import CHANNELS, Run
from torquerisk.errors import InputError
from torquerisk.files.exports import run_csv
from torquerisk.files.run_file import load_run, run_from_bytes
from torquerisk.quantities import RPM


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
    assert "2 rows left out, the first in line 3: without speed or torque" in said
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
        "rpm;torque [N·m];note;clock;GPS;MAP [°C];time;speed [km/h]\n"
        "2000;200;ok;12:00:01;12.5;30;1;50\n3000;210;;12:00:02;12.5;30;2;60\n"
        "4000;220;hm;12:00:03;12.5;30;3;70\n"
    )
    run = read(text)
    assert run.channels == {}
    said = " ".join(run.record)
    for word in ("'note'", "'clock'", "'GPS'", "'MAP [°C]'", "'time'", "'speed [km/h]'"):
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


@pytest.mark.slow
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
