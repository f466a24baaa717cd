import csv
import io
import json
import math
import os
import signal
import stat
import subprocess
import sys
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from torquerisk.case import Run
from torquerisk.errors import InputError
from torquerisk.files.exports import (
    TableColumn,
    csv_cell,
    limit_table_csv,
    run_csv,
    table_csv,
    to_json,
    write_text_atomically,
)
from torquerisk.files.run_file import read_limit_table, run_from_bytes
from torquerisk.quantities import RPM


def limit_table(**more: str) -> str:
    return limit_table_csv(
        [
            TableColumn(name="engine speed", unit="rpm", values=[2000, 3000, 4000], decimals=0),
            TableColumn(name="torque limit", unit="N·m", values=[200.0, 250.5, 300], decimals=1),
            TableColumn(name="power", unit="kW", values=[41.9, 78.7, 125.7], decimals=1),
            TableColumn(name="CA50 judged at", unit="deg", values=[12.5, None, 15.0], decimals=1),
            TableColumn(
                name="governed by", unit="", values=["head lift", "=cmd|' /C calc'!A0", ""]
            ),
        ],
        more,
    )


def test_a_written_limit_table_reads_back():
    """Identity: an existing table can be judged again."""
    speeds, torques = read_limit_table(limit_table(engine="invented, four").encode())
    assert speeds / RPM == pytest.approx([2000, 3000, 4000])
    assert torques.tolist() == [200.0, 250.5, 300.0]


@pytest.mark.parametrize(
    ("text", "torques"),
    [
        ("rpm,limit [lb·ft]\n2000,100\n3000,110\n", [135.58179483, 149.13997432]),
        ("speed [rpm];torque [N·m]\n2000;100,5\n3000;110\n", [100.5, 110.0]),
        ("rpm,torque [N·m],torque limit [N·m]\n2000,190,100\n3000,190,110\n", [100.0, 110.0]),
        ("rpm,power [kW]\n3000,31.41592653589793\n6000,31.41592653589793\n", [100.0, 50.0]),
    ],
)
def test_limit_tables_of_others_read_as_well(text, torques):
    """Identity: P = T*omega; lb·ft 1.3558179483 N·m (NIST SP 811). Two rows are enough."""
    assert read_limit_table(text.encode())[1] == pytest.approx(torques, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("rpm,torque limit\n2000,100\n3000,110\n", "has no unit"),
        ("rpm,lambda\n2000,1\n3000,1\n", "no column of torque or power"),
        ("rpm,torque limit [N·m]\n3000,1\n2000,1\n2500,1\n", "must rise"),
        ("rpm,torque limit [N·m]\n3000,1\n", "at least 2 speeds"),
        ("", "is empty"),
    ],
)
def test_bad_limit_tables_are_refused(text, says):
    """Common practice, no source: one sentence each."""
    with pytest.raises(InputError, match=says) as caught:
        read_limit_table(text.encode())
    assert "\n" not in str(caught.value)


def test_a_limit_table_without_its_columns_is_our_own_fault():
    """Identity: a table that could not be read back must not leave."""
    with pytest.raises(ValueError, match="torque limit"):
        limit_table_csv([TableColumn(name="engine speed", unit="rpm", values=[1, 2])])


def test_a_run_does_not_take_a_limit_for_its_torque():
    """Identity: a logged limit is what was asked, not what was measured."""
    with pytest.raises(InputError, match="no column of torque"):
        run_from_bytes(b"rpm,torque limit [N*m]\n2000,1\n3000,1\n4000,1\n", "run.csv")


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", " ="])
def test_formulas_are_made_harmless(start):
    """Source: OWASP ASVS 1.2.10: such a cell gets a leading quote."""
    cell = next(csv.reader([csv_cell(f"{start}1+1|cmd")]))[0]
    assert cell.startswith("'")


def test_numbers_keep_their_sign_and_their_digits():
    """Source: OWASP ASVS 1.2.10 excepts numbers."""
    assert csv_cell(-12.5) == "-12.5"
    assert csv_cell("-12.5") == "-12.5"
    assert csv_cell(np.float64(0.1)) == "0.1"
    assert csv_cell(np.int64(7)) == "7"
    assert csv_cell(2.345, 1) == "2.3"
    assert csv_cell(None) == ""
    assert csv_cell(True) == "yes"
    for wrong in (math.nan, math.inf):
        with pytest.raises(ValueError, match="no value"):
            csv_cell(wrong)


def test_facts_cannot_break_out_of_their_line():
    """Source: RFC 4180 section 2: fields with delimiters stand in quotes; no injection by facts."""
    text = limit_table(engine="a,=1+1;=2\n=3", other='say "hi", you')
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows[0] == ["# engine: a,=1+1;=2 =3"]
    assert rows[1] == ['# other: say "hi", you']
    for delimiter in ",;\t":
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            for cell in row:
                assert not cell.startswith(("=", "+", "@")), (delimiter, cell)


def test_semicolons_and_tabs_stand_in_quotes():
    """Common practice, no source: spreadsheets of many countries split cells at semicolons."""
    for text in ("a;=1+1", "a\t=1+1", "a|=1+1"):
        assert csv_cell(text) == f'"{text}"'


def test_the_text_is_on_the_disk_before_it_takes_the_place(tmp_path, monkeypatch):
    """Identity: a name must not point at bytes that a power cut can still lose."""
    calls: list[str] = []
    sync, replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda fd: (calls.append("sync"), sync(fd))[1])
    monkeypatch.setattr(os, "replace", lambda a, b: (calls.append("replace"), replace(a, b))[1])
    write_text_atomically(tmp_path / "t.csv", "x")
    assert calls == ["sync", "replace", "sync"]


def test_lines_end_as_the_standard_says():
    """Source: RFC 4180 section 2.1 and 2.2: CR LF after every record."""
    text = limit_table()
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n") == 4


@given(st.lists(st.text(max_size=30), min_size=1, max_size=5))
def test_any_text_survives_a_spreadsheet_reader(words):
    """Source: RFC 4180 by way of Python's csv module: one row in, one row out."""
    text = table_csv([TableColumn(name="note", unit="", values=words)])
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert len(rows) == len(words) + 1
    for word, row in zip(words, rows[1:], strict=True):
        cell = row[0] if row else ""
        assert cell in (word, f"'{word}")


def test_json_has_no_nan_and_no_numpy():
    """Source: RFC 8259 section 6: NaN and infinity are not permitted."""
    document = {
        "a": np.float64(1.5),
        "b": np.arange(3),
        "c": (1, 2),
        "d": np.bool_(True),
        "e": None,
    }
    assert json.loads(to_json(document)) == {
        "a": 1.5,
        "b": [0, 1, 2],
        "c": [1, 2],
        "d": True,
        "e": None,
    }
    for wrong in (math.nan, np.array([1.0, np.inf]), np.float64("nan")):
        with pytest.raises(ValueError):
            to_json({"x": wrong})


def test_json_reads_back_the_same_on_few_lines():
    """Identity: whatever is nested comes back; lists and short objects take one line each."""
    document = {
        "empty": [], "nothing": {}, "word": "a \"b\", {c} [d]\nN·m", "list": list(range(200)),
        "band": {"p05": 1.5, "p50": None, "p95": True}, "rows": [{"x": [1, {"y": {}}]}, [[1], []]],
        "long": {f"key {k}": k for k in range(20)},
    }  # fmt: skip
    text = to_json(document)
    assert json.loads(text) == document
    assert list(json.loads(text)) == list(document)
    lines = text.split("\n")
    assert '  "band": {"p05": 1.5, "p50": null, "p95": true},' in lines
    assert any(line.startswith('  "list": [0, 1') and line.endswith("199],") for line in lines)
    assert "N·m" in text


def test_facts_of_a_run_are_written_and_read_back():
    """Identity: facts belong to the run and travel with it."""
    facts: dict[str, float | str] = {
        "correction": "ISO1585",
        "measured_at": "hub",
        "driveline_loss": 0.123,
        "ambient_pressure": 99_123.4,
        "ambient_temperature": 297.15,
        "sweep_rate": 31.4,
        "inertia": 0.21,
    }
    run = Run(speed=np.array([300.0, 400, 500]), torque=np.array([1.0, 2, 3]), facts=facts)
    assert run_from_bytes(run_csv(run).encode(), "x").facts == facts


def test_a_file_is_replaced_whole_and_keeps_its_permissions(tmp_path):
    """Identity: the text that was written is the text that is there; nothing else is left."""
    path = tmp_path / "table.csv"
    write_text_atomically(path, "a\r\nµ")
    assert path.read_bytes() == "a\r\nµ".encode()
    path.chmod(0o640)
    write_text_atomically(path, "b")
    assert path.read_text() == "b"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [p.name for p in tmp_path.iterdir()] == ["table.csv"]


def test_links_stay_links(tmp_path):
    """Identity: writing through a link changes the file, not the link."""
    (tmp_path / "real.csv").write_text("old")
    (tmp_path / "link.csv").symlink_to("real.csv")
    write_text_atomically(tmp_path / "link.csv", "new")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_text() == "new"


def test_only_stale_remains_are_removed(tmp_path):
    """Identity: another write in progress must not lose its file."""
    stale, fresh, other = (
        tmp_path / n for n in (".t.csv.a.part", ".t.csv.b.part", ".u.csv.c.part")
    )
    for path in (stale, fresh, other):
        path.write_text("x")
    for path in (stale, other):
        os.utime(path, (time.time() - 7200,) * 2)
    write_text_atomically(tmp_path / "t.csv", "x")
    assert sorted(p.name for p in tmp_path.iterdir()) == [fresh.name, other.name, "t.csv"]


def test_places_that_cannot_be_written_are_refused(tmp_path):
    """Common practice, no source: what a path on a command line may turn out to be."""
    with pytest.raises(InputError, match="is a folder"):
        write_text_atomically(tmp_path, "x")
    with pytest.raises(InputError, match="cannot be written"):
        write_text_atomically(tmp_path / "no" / "such" / "t.csv", "x")


@pytest.mark.slow
def test_a_kill_never_leaves_half_a_file(tmp_path):
    """Identity: old or new, never a part; killed at random moments, as in people.md's trial."""
    path = tmp_path / "t.csv"
    size = 2_000_000
    path.write_text("0" * size)
    code = (
        "import sys; from torquerisk.files.exports import write_text_atomically as w\n"
        f"print('ready', flush=True)\nfor i in range(10**6): w({str(path)!r}, str(i % 10) * {size})"
    )
    for trial in range(8):
        child = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(0.01 + 0.013 * trial)
        child.send_signal(signal.SIGKILL)
        child.wait()
        child.stdout.close()
        text = path.read_text()
        assert len(text) == size
        assert len(set(text)) == 1
