"""Run files that cannot be used: one sentence each, and one bad cell costs one cell."""

import pytest
from plain_run import PLAIN, T, read, refused

from torquerisk.quantities import RPM


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
        pytest.param(
            "foo,bar\n2000,200\n3000,210\n", "no column of engine speed", id="unknown headings"
        ),
        pytest.param(
            T.replace(" [N·m]", "") + "2000;200\n3000;1\n", "'torque' has no unit", id="u"
        ),
        pytest.param("speed;torque [N·m]\n2000;200\n3000;2\n", "'speed' has no unit", id="speed"),
        pytest.param("rpm;power\n2000;200\n3000;2\n", "'power' has no unit", id="power"),
        pytest.param("rpm;torque [rpm]\n2000;200\n3000;2\n", "no known unit of torque", id="kind"),
        pytest.param("rpm;torque [foo]\n2000;200\n3000;2\n", "no known unit of torque", id="foo"),
        pytest.param(
            "rpm;lambda\n2000;1\n3000;1\n", "no column of torque or power", id="no torque"
        ),
        pytest.param(
            "torque [N·m];lambda\n2000;1\n3000;1\n", "no column of engine speed", id="no n"
        ),
        pytest.param(T + "2000;200\n3000;210\n", "2 usable rows", id="two rows"),
        pytest.param(T + "2000;200\n", "1 usable row,", id="one row"),
        pytest.param("rpm;toruqe [Nm]\n2000;200\n", "did you mean torque?", id="torque misspelled"),
        pytest.param(
            "rmp;torque [Nm]\n2000;200\n", "did you mean rpm by 'rmp'?", id="rpm misspelled"
        ),
        pytest.param(T + "2000;0x10\n3000;210\n4000;2\n5000;3\n", "'0x10' in line 2", id="hex"),
        pytest.param(
            T + "2000;2\n3000;2_10\n4000;2\n5000;3\n", "'2_10' in line 3", id="underscore"
        ),
        pytest.param(T + "2000;2\n3000;3\n4000;2\n5000;inf\n", "'inf' in line 5", id="infinite"),
        pytest.param(
            "time [s];" + T + "0;4000;2\n1;3000;3\n2;2000;2\n",
            "falls from 4000 to 2000",
            id="falling",
        ),
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
            "rpm;left hub torque [Nm];right hub torque [Nm]\n2000;1;2\n3000;1;2\n4000;1;2\n",
            "give one column of their sum",
            id="two hubs",
        ),
        pytest.param(
            "rpm;front power [kW];rear power [kW]\n2000;1;2\n3000;1;2\n4000;1;2\n",
            "give one column of their sum",
            id="two axles",
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
