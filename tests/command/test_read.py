"""The verb `read`, and what the command does with files that it reads and writes."""

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from cli_case import command, write_case

from torquerisk.files.run_file import load_run

RUN = "engine speed [rpm],wheel torque [N·m],turbo speed [rpm]\n" + "".join(
    f"{2000 + 200 * i},{300 + i}.5,90000\n" for i in range(12)
)


@pytest.fixture
def run(tmp_path) -> Path:
    path = tmp_path / "run.csv"
    path.write_text(RUN)
    return path


def test_a_reading_is_shown_as_text_and_as_json(run):
    """Identity: every column, its meaning and unit, what was left out, and the first rows."""
    shown = command("read", run)
    assert shown.code == 0
    assert max(map(len, shown.out.splitlines())) <= 80
    said = " ".join(shown.out.split())
    for words in ("wheel torque [N·m] Torque N*m", "not used", "'turbo'", "300.5"):
        assert words in said, words
    d = command("read", run, "--json").json
    assert d["columns"][0] == {
        "heading": "engine speed [rpm]", "read_as": "Engine speed", "unit": "rpm"
    }  # fmt: skip
    assert d["columns"][2]["read_as"] is None
    assert d["facts"] == {"measured at": "wheel"}
    assert d["first_rows"]["torque [N·m]"] == [300.5, 301.5, 302.5, 303.5, 304.5]
    assert any("'turbo'" in n["text"] for n in d["notices"])
    assert (d["rows"], d["from_rpm"], d["to_rpm"]) == (12, pytest.approx(2000), pytest.approx(4200))


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_the_run_is_written_as_the_package_would(run, ending):
    """Identity: what is written reads back to the same run."""
    out = run.parent / f"clean.{ending}"
    assert command("read", run, "--output", out).code == 0
    one, two = load_run(run), load_run(out)
    assert two.torque.tolist() == one.torque.tolist()
    assert two.facts == one.facts


def test_an_input_is_never_overwritten(run, tmp_path):
    """Common practice, no source: an output that names an input, also by a link, is refused."""
    link = tmp_path / "link.csv"
    link.symlink_to(run)
    for out in (run, link):
        refused = command("read", run, "--output", out)
        assert refused.code == 2
        assert "is one of the files that are read" in refused.err
    assert run.read_text() == RUN
    case = write_case(tmp_path / "case")
    for name in ("engine.toml", "run.csv"):
        before = (case / name).read_bytes()
        refused = command("limit", case, "--csv", case / name)
        assert refused.code == 2
        assert "is one of the files that are read" in refused.err
        refused = command("report", case, "--output", case / name)
        assert refused.code == 2
        assert (case / name).read_bytes() == before


def test_an_unwritable_output_is_refused_before_anything_is_computed(tmp_path):
    """Common practice, no source: no minute of work for a folder that is not there."""
    case = write_case(tmp_path / "case")
    for verb, option in (("limit", "--csv"), ("report", "--output")):
        refused = command(verb, case, option, tmp_path / "none" / "out", "--draws", "65536")
        assert refused.code == 2
        assert "cannot be written" in refused.err


def test_a_pipe_is_written_into(run, tmp_path):
    """Common practice, no source: a named pipe or a device stays what it is."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got: list[bytes] = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()))
    reader.start()
    assert command("read", run, "--output", pipe).code == 0
    reader.join(10)
    assert b"engine speed [rpm]" in got[0]
    assert pipe.is_fifo()
    assert command("read", run, "--output", "/dev/null").code == 0
    assert Path("/dev/null").is_char_device()


@pytest.mark.parametrize("words", [("read", "x" * 5000), ("assess", "x" * 5000, "run.csv"),
                                   ("read", "RUN", "--output", "x" * 5000)])  # fmt: skip
def test_a_path_too_long_is_no_fault_of_the_program(run, words):
    """Common practice, no source: the blame lies with the path, in one sentence."""
    refused = command(*(run if w == "RUN" else w for w in words))
    assert refused.code == 2
    assert "fault of the program" not in refused.err
    assert len(refused.err.splitlines()) == 1


def test_a_closed_standard_output_is_named(run):
    """Common practice, no source: the blame lies with the shell's >&-, or with a full device."""
    words = [sys.executable, "-m", "torquerisk", "read", str(run)]
    for end, says in ((">&-", "standard output is closed"), ("> /dev/full", "No space left")):
        done = subprocess.run(
            ["sh", "-c", " ".join(words) + " " + end], capture_output=True, text=True, check=False
        )
        assert done.returncode == 2, done.stderr
        assert says in done.stderr


def test_standard_input_is_read_up_to_the_cap(run, monkeypatch):
    """Identity: '-' reads a run; more than the largest run file is refused."""
    words = [sys.executable, "-m", "torquerisk", "read", "-"]
    done = subprocess.run(words, input=RUN.encode(), capture_output=True, check=False)
    assert done.returncode == 0
    done = subprocess.run(words, input=b"1,2\n" * 15_000_001, capture_output=True, check=False)
    assert done.returncode == 2
    assert b"larger than 60 MB" in done.stderr
