"""The verb `read`, and what the command does with files that it reads and writes."""

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from cli_case import command, write_case

from torquerisk.command.limit import _place
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


def test_a_reading_is_shown_in_the_units_of_people(tmp_path):
    """Identity: degrees, kPa and Celsius, also where smoothing leaves numbers of many digits."""
    path = tmp_path / "log.csv"
    path.write_text("engine speed [rpm],torque [N*m],ignition advance [deg],MAP [psi],IAT [degC]\n"
                    + "".join(f"{2000 + 5 * i},300,{10 + i / 70},{20 + i / 30},{30 + i / 300}\n"
                              for i in range(500)))  # fmt: skip
    said = command("read", path).out
    for heading in ("ignition advance [deg]  ", "pressure [kPa abs]  ", "temperature [°C]  "):
        assert heading in said, heading
    rows = command("read", path, "--json").json["first_rows"]
    assert rows["ignition advance [deg]"][0] == pytest.approx(10, abs=0.3)


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


def test_a_marked_table_never_replaces_an_input(tmp_path):
    """Common practice, no source: the name that a table for a test gets is an output too."""
    case = write_case(tmp_path / "case")
    run = tmp_path / "in.TEST-ONLY.csv"
    run.write_bytes((case / "run.csv").read_bytes())
    refused = command("limit", case / "engine.toml", run, "--csv", tmp_path / "in.csv")
    assert refused.code == 2
    assert "is one of the files that are read" in refused.err


@pytest.mark.slow
def test_redirected_input_is_never_overwritten(run):
    """Common practice, no source: `read - -o FILE < FILE` would leave the log in pieces."""
    words = [sys.executable, "-m", "torquerisk", "read", "-", "--output", str(run)]
    with run.open() as same:
        done = subprocess.run(words, stdin=same, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "is one of the files that are read" in done.stderr
    assert run.read_text() == RUN


def test_a_table_for_a_test_goes_into_a_pipe_as_it_is(tmp_path):
    """Common practice, no source: a pipe has no other name; the mark is in header and rows."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert _place(str(pipe), ("a reason",)) == str(pipe)
    assert _place(str(tmp_path / "new.csv"), ("a reason",)).endswith("new.TEST-ONLY.csv")
    assert _place(str(tmp_path / "new.csv"), ()).endswith("new.csv")


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


@pytest.mark.slow
def test_a_closed_standard_output_is_named(run):
    """Common practice, no source: the blame lies with the shell's >&-, or with a full device."""
    words = [sys.executable, "-m", "torquerisk", "read", str(run)]
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    for end, says in ((">&-", "standard output is closed"), ("> /dev/full", "No space left")):
        done = subprocess.run(
            ["sh", "-c", " ".join(words) + " " + end], capture_output=True, text=True, check=False,
            env=plain,
        )  # fmt: skip
        assert done.returncode == 2, done.stderr
        assert says in done.stderr


@pytest.mark.slow
def test_standard_input_is_read_up_to_the_cap(run, monkeypatch):
    """Identity: '-' reads a run; more than the largest run file is refused."""
    words = [sys.executable, "-m", "torquerisk", "read", "-"]
    done = subprocess.run(words, input=RUN.encode(), capture_output=True, check=False)
    assert done.returncode == 0
    done = subprocess.run(words, input=b"1,2\n" * 15_000_001, capture_output=True, check=False)
    assert done.returncode == 2
    assert b"larger than 60 MB" in done.stderr


def log_of_two_pulls() -> str:
    """A log with a pull to 5,500 rpm and one to 4,500 rpm at less torque, idle between."""
    rows = [(900.0, 5.0)] * 20
    for torque, top in ((300.0, 5500), (240.0, 4500)):
        rows += [(float(n), torque) for n in range(2000, top, 50)] + [(900.0, 5.0)] * 20
    return "# measured at: crank\n# correction: none\nrpm,Tq 1 [Nm],Tq 2 [Nm]\n" + "".join(
        f"{n},{t},{0.5 * t}\n" for n, t in rows
    )


@pytest.mark.slow
def test_every_verb_reads_the_pull_and_the_column_that_is_asked_for(tmp_path):
    """Identity: one option for all verbs; of several runs each may have its own pull."""
    case, log = write_case(tmp_path / "case"), tmp_path / "log.csv"
    log.write_text(log_of_two_pulls())
    few = ("--draws", "128", "--json")
    assert "--column" in command("assess", case / "engine.toml", log, *few).err
    one = ("--column", "Tq 1 [Nm]=torque", "--column", "3=")
    first = command("assess", case / "engine.toml", log, *one, *few).json
    assert max(r["torque_n_m"] for r in first["by_speed"]) == pytest.approx(300.0)
    second = command("assess", case / "engine.toml", log, *one, "--pull", "2", *few).json
    assert max(r["torque_n_m"] for r in second["by_speed"]) == pytest.approx(240.0)
    both = ("compare", case / "engine.toml", log, log, *one)
    compared = command(*both, "--pull", "1, 2", *few).json["by_speed"]
    assert compared[0]["torque_n_m"] == pytest.approx({"first": 300.0, "second": 240.0})
    for words, says in ((("--pull", "3"), "holds 2 pulls"), (("--pull", "0"), "from 1"),
                        (("--column", "torque"), "a heading, '='")):  # fmt: skip
        refused = command("assess", case / "engine.toml", log, *one, *words, *few)
        assert refused.code == 2
        assert says in refused.err


@pytest.mark.slow
def test_gear_and_tyre_may_come_from_options_or_the_engine_file(tmp_path):
    """Identity: options, the engine file's [test] and the run's own lines say the same."""
    case, run = write_case(tmp_path / "case"), tmp_path / "wheel.csv"
    rows = "".join(f"{n / 50},{5 * t}\n" for n, t in ((2000, 200), (3000, 300), (4000, 250)))
    text = "road speed [km/h],wheel torque [Nm]\n" + rows
    told = {"referred_to": "wheel", "gear_ratio": "1.25", "final_drive": "4",
            "tyre_radius": f"{5 / 3.6 * 60 / 50 / 2 / 3.141592653589793} m"}  # fmt: skip
    run.write_text(text)
    few = ("--draws", "128", "--driveline-loss", "0 %", "--json")
    options = [w for k, v in told.items() for w in (f"--{k.replace('_', '-')}", v)]
    engine = case / "engine.toml"
    made = [command("assess", engine, run, *options, *few).json]
    run.write_text("".join(f"# {k}: {v}\n" for k, v in told.items()) + text)
    made.append(command("assess", engine, run, *few).json)
    refused = command("assess", engine, run, "--gear-ratio", "3", *few)
    assert "gear ratio 1.25, but the option says 3" in refused.err
    run.write_text(text)
    plain = ("gear_ratio", "final_drive")
    lines = [f"{k} = {v if k in plain else repr(v)}" for k, v in told.items()]
    engine.write_text("\n".join([engine.read_text(), "[test]", *lines]) + "\n")
    made.append(command("assess", engine, run, *few).json)
    for one in made:
        speeds = [row["speed_rpm"] for row in one["by_speed"]]
        assert speeds[:: len(speeds) - 1] == pytest.approx([2000, 4000], rel=1e-6)
        assert max(r["torque_n_m"] for r in one["by_speed"]) == pytest.approx(300, rel=1e-6)
