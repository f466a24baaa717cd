"""The command: verbs, exit codes, sentences, streams."""

import itertools
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from cli_case import DRAWS, ENGINE, FEW, METRIC, SPEEDS, command, run_text, write_case

import torquerisk
from torquerisk.command import verbs as command_module
from torquerisk.files.engine_file import ASKED

pytestmark = pytest.mark.slow
ROOT = Path(torquerisk.__file__).resolve().parent.parent
HILL_CLIMB = ROOT / "sample_runs" / "hill_climb"
ODD_DRAWS = "127"
VERBS = list(command_module.program.commands)


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    return write_case(tmp_path_factory.mktemp("case"))


@pytest.fixture(scope="module")
def assessed(case):
    return command("assess", case, "--draws", DRAWS, "--json").json


@pytest.fixture(scope="module")
def limited(case):
    return command("limit", case, *FEW, "--points", "8", "--json").json


def test_main_help_ends_with_the_caution():
    """common practice, no source: who reads only the help has read the caution."""
    shown = command("--help")
    assert shown.code == 0
    assert shown.err == ""
    assert "come first, and decide" in " ".join(shown.out.split())
    assert shown.out.rstrip().endswith("misfire.")
    for verb in VERBS:
        assert re.search(rf"^  {verb} ", shown.out, re.MULTILINE)


@pytest.mark.parametrize("verb", VERBS)
def test_help_of_every_verb_has_two_examples(verb):
    """common practice, no source: two lines to copy."""
    shown = command(verb, "--help")
    assert shown.code == 0
    assert len(re.findall(rf"^ +torquerisk {verb}", shown.out, re.MULTILINE)) == 2
    assert max(map(len, shown.out.splitlines())) <= 80


def test_the_options_that_an_engine_file_is_told_of_are_those_of_limit():
    """Identity: who moves a line of the file to the command line finds it there."""
    options = {word for one in command_module.limit.params for word in one.opts}
    assert set(ASKED.values()) <= options


def test_no_verb_shows_the_help():
    """common practice, no source: the bare command explains itself."""
    assert command().out == command("--help").out


def test_cycle_integral_is_the_gross_imep():
    """identity: gross IMEP is the integral of p dV from -180 to 180 degrees over swept volume."""
    import numpy as np

    d = command("cycle", HILL_CLIMB, "--imep-gross", "22bar", "--speed", "3000rpm",
                "--ca50", "12deg", "--burn", "24deg", "--lambda", "0.85",
                "--intake-temperature", "330K", "--json").json  # fmt: skip
    t = d["trace"]
    volume = np.array(t["volume_cm3"])
    work = np.trapezoid(t["pressure_bar"], volume) / (volume.max() - volume.min())
    assert d["imep_gross_bar"] == pytest.approx(22.0, rel=1e-6)
    assert work == pytest.approx(22.0, rel=1e-6)
    assert (t["angle_deg"][0], t["angle_deg"][-1]) == (-180.0, 180.0)
    assert d["ca50_deg"] == pytest.approx(12.0)
    assert d["burn_10_90_deg"] == pytest.approx(24.0)
    top = int(np.argmax(t["pressure_bar"]))
    before, most, after = t["pressure_bar"][
        top - 1 : top + 2
    ]  # a parabola's vertex lies in between
    assert 0 <= d["peak_pressure_bar"] - most <= 1.1 * (2 * most - before - after) / 8
    assert d["peak_angle_deg"] == pytest.approx(
        t["angle_deg"][int(np.argmax(t["pressure_bar"]))], abs=1.0
    )


def test_cycle_burn_is_from_10_to_90_per_cent():
    """identity: the burned fraction passes 10 and 90 % of its end 24 degrees apart, 50 % at 12."""
    import numpy as np

    d = command("cycle", HILL_CLIMB, "--imep-gross", "22bar", "--speed", "3000rpm",
                "--ca50", "12deg", "--burn", "24deg", "--json").json  # fmt: skip
    burned = np.array(d["trace"]["burned_fraction"])
    at = np.interp([0.1, 0.5, 0.9], burned / burned[-1], d["trace"]["angle_deg"])
    # Wiebe's 99.9 % end and linear reading between whole degrees: a tenth of a degree.
    assert at[2] - at[0] == pytest.approx(24.0, abs=0.15)
    assert at[1] == pytest.approx(12.0, abs=0.1)


def test_cycle_names_its_defaults():
    """common practice, no source: no default without a label."""
    d = command("cycle", HILL_CLIMB, "--imep-gross", "22bar", "--speed", "3000rpm", "--json").json
    assert {"ca50-default", "burn-default", "trapped-heating"} <= {n["code"] for n in d["notices"]}
    assert d["ca50_deg"] == pytest.approx(8.5)


def test_later_burn_peaks_lower():
    """Heywood 1988 fig. 9-3 (from memory): at equal work later phasing lowers peak pressure."""
    peaks = [
        command("cycle", HILL_CLIMB, "--imep-gross", "20bar", "--speed", "3000rpm",
                "--ca50", f"{a}deg", "--json").json["peak_pressure_bar"]
        for a in (6, 12, 18, 24)
    ]  # fmt: skip
    assert peaks == sorted(peaks, reverse=True)


def test_units_of_the_option_do_not_matter():
    """metamorphic: the same pressure, speed and temperature in other units give the same cycle."""
    one = command("cycle", HILL_CLIMB, "--imep-gross", "22bar", "--speed", "3000rpm",
                  "--intake-temperature", "330K", "--json").json  # fmt: skip
    two = command("cycle", HILL_CLIMB, "--imep-gross", "2.2MPa", "--speed", "50rev/s",
                  "--intake-temperature", "56.85degC", "--json").json  # fmt: skip
    assert two["peak_pressure_bar"] == pytest.approx(one["peak_pressure_bar"], rel=1e-9)


def test_case_folder_stands_for_both_files(case, assessed):
    """identity: a folder and its two files are the same case; '-' reads the run from stdin."""
    two = command("assess", case / "engine.toml", case / "run.csv", "--draws", DRAWS, "--json")
    alone = command("assess", case / "engine.toml", "--draws", DRAWS, "--json")
    piped = command("assess", case, "-", "--draws", DRAWS, "--json", text=run_text())
    assert alone.json["by_speed"] == assessed["by_speed"]
    assert two.json["by_speed"] == assessed["by_speed"]
    assert piped.json["by_speed"] == assessed["by_speed"]


def test_inch_and_metric_files_agree(tmp_path, assessed):
    """metamorphic: the same engine and run in inches and lb·ft give the same numbers to 1e-9."""
    foot_pound = 0.3048 * 4.4482216152605
    torques = [t / foot_pound for t in (235.0, 300.0, 355.0, 370.0, 345.0, 352.0, 335.0, 305.0,
                                        270.0)]  # fmt: skip
    run = run_text(torques).replace("torque [N·m]", "torque [lb·ft]")
    other = command("assess", write_case(tmp_path, ENGINE, run), "--draws", DRAWS, "--json").json
    for a, b in zip(assessed["by_speed"], other["by_speed"], strict=True):
        assert_close(a, b)


def assert_close(a, b):
    """Two documents agree to 1e-9 in every number."""
    assert type(a) is type(b)
    if isinstance(a, dict):
        assert a.keys() == b.keys()
        for key in a:
            assert_close(a[key], b[key])
    elif isinstance(a, list):
        assert len(a) == len(b)
        for x, y in zip(a, b, strict=True):
            assert_close(x, y)
    elif isinstance(a, float):
        assert b == pytest.approx(a, rel=1e-9, abs=1e-12)
    else:
        assert a == b


def test_same_seed_same_answer_and_another_seed_another(case, assessed):
    """identity: the seed fixes every digit; another one moves them."""
    again = command("assess", case, "--draws", DRAWS, "--json").json
    assert again == assessed
    other = command("assess", case, "--draws", DRAWS, "--seed", "7", "--json").json
    assert other["seed"] == 7
    assert other["by_speed"] != assessed["by_speed"]


@pytest.mark.parametrize("limit", ["head_lift", "rod_compression"])
def test_capacity_fed_back_gives_utilisation_one(tmp_path, limit):
    """identity: at a limit's median capacity torque the median load equals the median strength.

    An odd number of simulated engines has one middle engine, the same for both medians. The
    tolerance of 0.1 % is that of reading between load rows. Of half the tightening torque, at which
    the head lifts at torques that are modelled.
    """
    case = write_case(tmp_path / "loose", ENGINE.replace("70 lb*ft", "35 lb*ft"))
    first = command("assess", case, "--draws", ODD_DRAWS, "--json").json
    capacity = {
        s["speed_rpm"]: s["limits"][limit]["capacity_torque_n_m"]["p50"] for s in first["by_speed"]
    }
    finite = {n: t for n, t in capacity.items() if t is not None}
    assert len(finite) >= 5
    (tmp_path / "at.csv").write_text(run_text(finite.values(), finite.keys()))
    again = command("assess", case, tmp_path / "at.csv", "--draws", ODD_DRAWS, "--json").json
    for s in again["by_speed"]:
        assert s["limits"][limit]["utilisation"] == pytest.approx(1.0, abs=1e-3)
        assert s["limits"][limit]["chance"] == pytest.approx(0.5, abs=2 / int(ODD_DRAWS))


def test_limit_table_read_back_keeps_the_accepted_chance(tmp_path, case):
    """identity: the written table, assessed as a run with the same seed and facts, is within the
    accepted chance at every speed of it."""
    file = tmp_path / "limit.csv"
    made = command(
        "limit", case, "--draws", "256", "--chance", "0.05", "--csv", file, "--json"
    ).json
    assert made["verified"]
    again = command("assess", case, file, "--draws", "256", "--json").json
    limits = {round(r["speed_rpm"]): r["torque_limit_n_m"] for r in made["table"]}
    for s in again["by_speed"]:
        assert s["torque_n_m"] == pytest.approx(limits[round(s["speed_rpm"])], abs=1e-3)
        assert s["chance_any"] <= 0.05


def test_written_table_is_the_table(tmp_path, case):
    """identity: the CSV reads back as a limit table with the speeds and torques of the JSON."""
    from torquerisk.files.run_file import read_limit_table

    file = tmp_path / "limit.csv"
    made = command("limit", case, *FEW, "--points", "9", "--csv", file, "--json").json
    speed, torque = read_limit_table(file)
    rows = made["table"]
    assert speed * 30 / 3.141592653589793 == pytest.approx([r["speed_rpm"] for r in rows], rel=1e-9)
    assert torque == pytest.approx([r["torque_limit_n_m"] for r in rows], rel=1e-9)
    lines = file.read_text().splitlines()
    assert "# measured at: crank" in lines
    assert "# correction: none" in lines
    assert list(tmp_path.iterdir()) == [file]


def test_limit_table_keeps_its_rules(limited):
    """identity: rise within 60 N*m per 1,000 rpm to the peak, none after; power is torque x w."""
    rows = limited["table"]
    assert len(rows) == 8
    top = max(range(8), key=lambda k: rows[k]["torque_limit_n_m"])
    for a, b in itertools.pairwise(rows):
        rise = b["torque_limit_n_m"] - a["torque_limit_n_m"]
        if b["speed_rpm"] <= rows[top]["speed_rpm"]:
            assert rise <= 60 * (b["speed_rpm"] - a["speed_rpm"]) / 1000 + 1e-6
        else:
            assert rise <= 1e-6
    for r in rows:
        power = r["torque_limit_n_m"] * r["speed_rpm"] * 3.141592653589793 / 30 / 1000
        assert r["power_kw"] == pytest.approx(power, rel=1e-9)


def test_peak_from_and_reach(case, limited):
    """identity: the peak is no earlier than asked; an open reach gives no less area."""
    common = (*FEW, "--points", "8", "--json")
    later = command("limit", case, "--peak-from", "4500rpm", *common).json
    assert later["peak"]["speed_rpm"] >= 4500 - 1e-6
    open_ = command("limit", case, "--reach", "open", *common).json
    run = command("limit", case, "--reach", case / "run.csv", *common).json
    assert open_["after"]["area_kw_rpm"] >= limited["after"]["area_kw_rpm"] - 1e-6
    assert run["table"] == limited["table"]


def test_a_target_of_the_peak_is_the_run_itself(case, assessed):
    """identity: studs for the run's own peak torque are studs for the run."""
    peak = max(s["torque_n_m"] for s in assessed["by_speed"])
    one = command("studs", case, "--draws", DRAWS, "--json").json
    two = command(
        "studs", case, "--target-torque", f"{peak!r} N*m", "--draws", DRAWS, "--json"
    ).json
    more = command("studs", case, "--target-torque", "450 N*m", "--draws", DRAWS, "--json").json
    oiled = command("studs", case, "--lubricant", "dry", "--draws", DRAWS, "--json").json
    assert {c["lubricant"] for c in oiled["choices"]} == {"dry"}
    required = "required_clamp_per_fastener_kn"
    assert oiled[required] == one[required]
    assert two[required] == pytest.approx(one[required], rel=1e-9)
    assert more[required] > one[required]


def test_a_run_compared_with_itself_is_too_close_to_call(case):
    """identity: no difference of a run from itself; the folder's own run comes first."""
    same = command("compare", case, case / "run.csv", "--draws", DRAWS, "--json").json
    assert {s["more_torque"] for s in same["by_speed"]} == {"too close to call"}
    assert all(s["torque_difference_n_m"] == 0 for s in same["by_speed"])
    assert same["area_kw_rpm"]["first"] == same["area_kw_rpm"]["second"]


def test_wheel_torque_option_puts_the_loss_back(case, assessed):
    """identity: with 20 % lost on the way, crank torque is wheel torque over 0.8."""
    other = command("assess", case, "--measured-at", "wheel", "--driveline-loss", "20 %",
                    "--draws", DRAWS, "--json").json  # fmt: skip
    for a, b in zip(assessed["by_speed"], other["by_speed"], strict=True):
        assert b["torque_n_m"] == pytest.approx(a["torque_n_m"] / 0.8, rel=1e-9)
    assert "option-over-file" in {n["code"] for n in other["notices"]}


def test_abnormal_cycles_add_to_the_chance(case):
    """identity: chances combine, so none falls and none rises by more than that of harm, but for

    the sampling of one pull, three standard errors."""
    once = ("--draws", DRAWS, "--pulls", "1", "--json")
    assessed = command("assess", case, *once).json
    other = command("assess", case, "--count-abnormal", *once).json
    assert other["abnormal"]["counted_in_chances"]
    harm = [s["chance_harm"] for s in other["abnormal"]["by_speed"]]
    for a, b, h in zip(assessed["by_speed"], other["by_speed"], harm, strict=True):
        error = (max(h * (1 - h), 1e-3) / int(DRAWS)) ** 0.5
        assert a["chance_any"] <= b["chance_any"] <= a["chance_any"] + h + 3 * error


def test_heavy_pistons_at_speed_are_speed_limited(tmp_path):
    """identity: where inertia alone opens the big-end cap no torque is acceptable, in words."""
    engine = METRIC.replace("[running_gear]", '[running_gear]\npiston_mass = "2.6 kg"')
    speeds = (5000, 6500, 8000, 9500)
    folder = write_case(tmp_path, engine, run_text((150.0, 150.0, 145.0, 120.0), speeds))
    document = command("assess", folder, "--draws", DRAWS, "--json").json
    bolts = document["by_speed"][-1]["limits"]["rod_bolts"]
    assert bolts["capacity_torque_n_m"]["p50"] is None
    assert bolts["capacity_torque_n_m"]["state"] == "speed-limited: no torque is acceptable"
    assert bolts["chance"] == 1.0
    assert bolts["state"] == "more than is accepted"
    assert "speed-limited" in {n["code"] for n in document["notices"]}
    shown = command("assess", folder, "--draws", DRAWS)
    assert "Rod bolts more than is accepted" in " ".join(shown.out.split())
    assert f"in all {DRAWS} simulated engines" in " ".join(shown.out.split())


def test_known_good_option_is_evidence(case, assessed):
    """identity: a survived run leaves no draw that would have failed on it many times over."""
    other = command("assess", case, "--known-good", case / "run.csv", "--draws", DRAWS, "--json")
    document = other.json
    assert any("survived" in text for text in document["evidence"]["used"])
    assert "known-good-option" in {n["code"] for n in document["notices"]}
    assert document["chance_pulls"] <= assessed["chance_pulls"]


@pytest.mark.slow
def test_large_numbers_still_fit(case, tmp_path):
    """common practice, no source: an engine far beyond its limits does not break the table."""
    (tmp_path / "big.csv").write_text(run_text((1000.0, 1450.0, 1400.0), (2000, 3000, 4000)))
    for verb, few in (("assess", ("--draws", "1024")), ("limit", FEW), ("explain", FEW[:2])):
        shown = command(verb, case / "engine.toml", tmp_path / "big.csv", *few)
        assert shown.code == 0, shown.err
        assert max(map(len, shown.out.splitlines())) <= 80


@pytest.mark.parametrize("verb", ["assess", "limit", "explain", "studs", "compare"])
@pytest.mark.parametrize("units", ["si", "us"])
def test_readable_output_fits_80_columns(case, verb, units):
    """common practice, no source: 80 columns, no colour codes, no verdict words, no warnings."""
    files = (case / "engine.toml", *[case / "run.csv"] * (2 if verb == "compare" else 1))
    few = FEW if verb == "limit" else FEW[:2]
    shown = command(verb, *files, *few, "--units", units)
    assert shown.code == 0, shown.err
    assert shown.err == ""
    assert max(map(len, shown.out.splitlines())) <= 80
    assert "\x1b" not in shown.out
    plain = " ".join(shown.out.split())
    for word in (r"\bsafe\b", r"\bOK\b", r"\bpass\b", r"\b100 ?%", r"\b1 in \d", "nan", r"\binf\b"):
        assert not re.search(word, plain, re.IGNORECASE), word
    assert "Cautions" in shown.out
    assert "seed 20240229" in shown.out
    assert ("lb·ft" in shown.out) == (units == "us" or verb == "studs")


BAD_CASES = {
    "no such verb": ("fly",),
    "no arguments": ("assess",),
    "unknown option": ("assess", "{case}", "--wings"),
    "missing file": ("assess", "{case}/nothing.toml", "{case}/run.csv"),
    "missing folder": ("assess", "{case}/nothing"),
    "a run without an engine": ("assess", "{case}/run.csv"),
    "a run as engine": ("assess", "{case}/run.csv", "{case}/run.csv"),
    "an engine as run": ("assess", "{case}/engine.toml", "{case}/engine.toml"),
    "draws in words": ("assess", "{case}", "--draws", "many"),
    "draws too few": ("assess", "{case}", "--draws", "3"),
    "draws broken": ("assess", "{case}", "--draws", "256.5"),
    "seed negative": ("assess", "{case}", "--seed", "-1"),
    "chance too large": ("limit", "{case}", "--chance", "2"),
    "chance nothing": ("limit", "{case}", "--chance", ""),
    "chance nan": ("limit", "{case}", "--chance", "nan"),
    "empty engine": ("assess", ""),
    "empty run": ("assess", "{case}/engine.toml", ""),
    "empty reach": ("limit", "{case}", "--reach", "", "--draws", "64"),
    "empty csv": ("limit", "{case}", "--csv", ""),
    "csv to stdout": ("limit", "{case}", "--csv", "-"),
    "steps too coarse": ("limit", "{case}", "--resolution", "50 N*m", *FEW),
    "too fast for the correlation": ("cycle", "{case}", "--imep-gross", "10bar", "--speed",
                                     "17000rpm"),
    "rise without unit": ("limit", "{case}", "--rise", "60"),
    "rise in wrong unit": ("limit", "{case}", "--rise", "60 N*m"),
    "peak beyond the run": ("limit", "{case}", "--peak-from", "9000rpm", *FEW),
    "points one": ("limit", "{case}", "--points", "1"),
    "objective": ("limit", "{case}", "--objective", "glory"),
    "objective without reference": ("limit", "{case}", "--objective", "least change", *FEW),
    "reach": ("limit", "{case}", "--reach", "{case}/no.csv"),
    "csv nowhere": ("limit", "{case}", "--csv", "{case}/no/limit.csv", *FEW),
    "units": ("assess", "{case}", "--units", "imperial"),
    "place": ("assess", "{case}", "--measured-at", "sofa"),
    "standard": ("assess", "{case}", "--correction", "best"),
    "loss": ("assess", "{case}", "--driveline-loss", "80 %"),
    "sweep": ("assess", "{case}", "--sweep-rate", "250 rpm"),
    "inertia": ("assess", "{case}", "--inertia", "0.16"),
    "known good": ("assess", "{case}", "--known-good", "{case}/no.csv"),
    "imep missing": ("cycle", "{case}", "--speed", "3000rpm"),
    "imep negative": ("cycle", "{case}", "--imep-gross", "-3bar", "--speed", "3000rpm"),
    "imep huge": ("cycle", "{case}", "--imep-gross", "900bar", "--speed", "3000rpm"),
    "speed without unit": ("cycle", "{case}", "--imep-gross", "22bar", "--speed", "3000"),
    "speed slow": ("cycle", "{case}", "--imep-gross", "22bar", "--speed", "3rpm"),
    "ca50 far": ("cycle", "{case}", "--imep-gross", "22bar", "--speed", "3000rpm",
                 "--ca50", "200deg"),
    "burn zero": ("cycle", "{case}", "--imep-gross", "22bar", "--speed", "3000rpm",
                  "--burn", "0deg"),
    "lambda": ("cycle", "{case}", "--imep-gross", "22bar", "--speed", "3000rpm",
               "--lambda", "0.01"),
    "temperature": ("cycle", "{case}", "--imep-gross", "22bar", "--speed", "3000rpm",
                    "--intake-temperature", "9000K"),
    "target without unit": ("studs", "{case}", "--target-torque", "520"),
    "target below nothing": ("studs", "{case}", "--target-torque", "-5 N*m", "--draws", "64"),
    "unknown lubricant": ("studs", "{case}", "--lubricant", "grease", "--draws", "64"),
    "target beyond the model": ("studs", "{case}", "--target-torque", "9000 N*m", "--draws", "64"),
    "one run to compare": ("compare", "{case}/run.csv", "{case}/run.csv"),
    "no run to compare": ("compare", "{case}"),
    "nine runs to compare": ("compare", "{case}", *["{case}/run.csv"] * 9),
    "one end of a band": ("compare", "{case}", "{case}/run.csv", "--band", "3000 rpm"),
    "three ends of a band": ("compare", "{case}", "{case}/run.csv", "--band", "2, 3, 4 krpm"),
    "no inertia to pull": ("compare", "{case}", "{case}/run.csv", "--sweep-inertia", "0 kg*m^2"),
    "report without a file": ("report", "{case}"),
    "report nowhere": ("report", "{case}", "-o", "{case}/no/report.html", "--draws", "64"),
    "page with a missing case": ("page", "{case}/nothing"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_CASES)
def test_bad_input_is_one_sentence(case, name):
    """common practice, no source: exit 2, one line on stderr, nothing on stdout, no traceback."""
    shown = command(*(w.replace("{case}", str(case)) for w in BAD_CASES[name]))
    assert shown.code == 2, (shown.out[-300:], shown.err)
    assert shown.out == ""
    assert shown.err.startswith("torquerisk: ")
    assert shown.err.count("\n") == 1
    assert shown.err.rstrip().endswith(".")
    assert "Traceback" not in shown.err
    assert "rad/s" not in shown.err.replace("rad/s, rev/s", "").replace("rad/s^2", "")


def test_fault_of_ours_is_one_sentence(case, monkeypatch):
    """common practice, no source: exit 1, the fault named, no traceback unless asked for."""

    def broken(*args, **kwargs):
        raise ZeroDivisionError("a hole\nin the model")

    monkeypatch.setattr("torquerisk.command.request.assessed", broken)
    shown = command("assess", case)
    assert shown.code == 1
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert "TORQUERISK_DEBUG=1" in shown.err
    assert "ZeroDivisionError: a hole in the model" in shown.err
    monkeypatch.setenv("TORQUERISK_DEBUG", "1")
    assert "Traceback" in command("assess", case).err


def test_interrupt_is_no_traceback(case, monkeypatch):
    """POSIX shells: 128 + SIGINT is 130."""

    def stopped(*args, **kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr("torquerisk.command.request.assessed", stopped)
    shown = command("assess", case)
    assert (shown.code, shown.out) == (130, "")
    assert "interrupted" in shown.err
    assert "Traceback" not in shown.err


def _shell(*words, **more):
    return subprocess.run(
        [sys.executable, "-m", "torquerisk", *map(str, words)],
        capture_output=True, text=True, cwd=ROOT, timeout=120, check=False, **more,
    )  # fmt: skip


def test_real_process_help_and_codes(case):
    """common practice, no source: the installed command behaves as in this process."""
    for words in (("--help",), ("limit", "--help")):
        start = time.perf_counter()
        shown = _shell(*words)
        print(f"{' '.join(words)}: {time.perf_counter() - start:.2f} s")
        assert (shown.returncode, shown.stderr) == (0, "")
    bad = _shell("assess", case / "nothing")
    assert (bad.returncode, bad.stdout, bad.stderr.count("\n")) == (2, "", 1)


def test_help_does_not_load_the_science():
    """common practice, no source: help is quick because numpy is not read for it."""
    code = (
        "import sys; from click.testing import CliRunner;"
        "from torquerisk.command.verbs import program;"
        "CliRunner().invoke(program, ['assess', '--help']);"
        "sys.exit(any(m in sys.modules for m in ('numpy', 'scipy', 'pandas', 'streamlit')))"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def test_reader_may_leave_early(case):
    """POSIX pipes: a reader that closes the pipe gets no traceback and no error."""
    words = [sys.executable, "-m", "torquerisk", "cycle", str(case), "--imep-gross", "22bar",
             "--speed", "3000rpm", "--json"]  # fmt: skip
    read, write = os.pipe()
    os.close(read)
    shown = subprocess.run(words, stdout=write, stderr=subprocess.PIPE, cwd=ROOT, check=False)
    os.close(write)
    assert shown.returncode == 0
    assert shown.stderr == b""


def test_no_colour_and_no_progress_off_a_terminal(case):
    """NO_COLOR and common practice: piped output has no escape codes; stderr stays empty."""
    environment = {**os.environ, "FORCE_COLOR": "1", "PYTHONIOENCODING": "ascii"}
    shown = subprocess.run(
        [sys.executable, "-m", "torquerisk", "assess", str(case), "--draws", "64"],
        capture_output=True, cwd=ROOT, env=environment, check=False,
    )  # fmt: skip
    assert shown.returncode == 0, shown.stderr
    assert shown.stderr == b""
    assert b"\x1b" not in shown.stdout
    assert "N·m" in shown.stdout.decode("utf-8")


@pytest.mark.slow
def test_report_is_one_file_without_network(case, tmp_path):
    """The contract: one self-contained file; nothing in it is fetched from anywhere."""
    file = tmp_path / "report.html"
    shown = command("report", case, *FEW, "-o", file)
    assert shown.code == 0, shown.err
    assert str(file) in shown.out
    text = file.read_text(encoding="utf-8")
    assert text.lstrip().lower().startswith("<!doctype html")
    assert not re.search(r"""(?:src|href)\s*=\s*["']?(?:https?:)?//""", text)
    assert "url(http" not in text
    assert "Invented test four" in text
    assert list(tmp_path.iterdir()) == [file]
    again = command("report", case, *FEW, "-o", file, "--json").json
    assert again["file"] == str(file)


def test_page_starts_on_loopback_with_the_case(case, monkeypatch, tmp_path):
    """common practice, no source: loopback only, no usage statistics, absolute case paths."""
    from torquerisk.command import start_page

    app = tmp_path / "app.py"
    app.write_text("")
    seen = {}
    monkeypatch.setattr(start_page, "app_path", lambda: app)
    monkeypatch.setattr(
        start_page, "replace_process",
        lambda words, variables, folder: seen.update(words=words, variables=variables),
    )  # fmt: skip
    monkeypatch.chdir(case)
    shown = command("page", "engine.toml", "run.csv")
    assert shown.code == 0, shown.err
    port = re.search(r"http://127\.0\.0\.1:(\d+) ", shown.out)[1]
    assert f"--server.port={port}" in seen["words"]
    assert "--server.address=127.0.0.1" in seen["words"]
    assert "--browser.gatherUsageStats=false" in seen["words"]
    assert seen["variables"]["TORQUERISK_ENGINE"] == str(case / "engine.toml")
    assert seen["variables"]["TORQUERISK_RUN"] == str(case / "run.csv")


def test_the_page_and_its_example_lie_in_the_package():
    """identity: an installed package has the page's script, its settings and an invented case."""
    from torquerisk.command.start_page import app_path

    package = Path(torquerisk.__file__).parent
    assert app_path().is_relative_to(package.resolve())
    assert (app_path().parent / ".streamlit" / "config.toml").is_file()
    assert (package / "sample_runs" / "hill_climb" / "engine.toml").is_file()


def test_speeds_of_the_case_are_kept(assessed):
    """identity: a run of few rows is judged at its own speeds."""
    assert [round(s["speed_rpm"]) for s in assessed["by_speed"]] == list(SPEEDS)
    assert METRIC != ENGINE


@pytest.mark.parametrize("verb", ["assess", "limit", "explain"])
def test_us_units_leave_no_torque_in_si(verb):
    """Identity: tables, sentences and notices alike; what the engine makes is in lb·ft and hp."""
    few = FEW if verb == "limit" else FEW[:2]
    shown = command(verb, ROOT / "sample_runs" / "hill_climb", *few, "--units", "us")
    assert shown.code == 0
    assert "lb·ft" in shown.out
    assert "N·m" not in shown.out


@pytest.mark.slow
def test_an_owner_reads_the_dip_in_a_minute():
    """common practice, no source: what, what for and what to ask first; the rest when asked for."""
    short, full = (
        command("explain", ROOT / "sample_runs" / "hill_climb", *FEW[:2], *more).out
        for more in ((), ("--full",))
    )
    assert "Ask the tuner\n- Was boost lowered near 3,900 rpm on purpose, or" in short
    assert len(short.split()) < 0.5 * len(full.split())
    for part in ("How sure", "Notices\n"):
        assert part in full
        assert part not in short
