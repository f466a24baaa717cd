"""Lists that people type: units once or each, breakpoints inline and in files, refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.lists import axis_name, breakpoints_of, parse_quantities
from torquerisk.quantities import RPM


def test_the_last_unit_serves_all_and_own_units_count():
    """SI Brochure 9th ed.: 1 rpm is pi/30 rad/s; 25 rev/s are 1,500 rpm."""
    assert parse_quantities("1500, 2000;2500 rpm", Kind.SPEED, "x") == pytest.approx(
        [1500 * RPM, 2000 * RPM, 2500 * RPM]
    )
    assert parse_quantities("25 rev/s, 2000 rpm", Kind.SPEED, "x") == pytest.approx(
        [1500 * RPM, 2000 * RPM]
    )
    assert parse_quantities("0, 30, 85 %", Kind.SHARE, "x") == pytest.approx([0.0, 0.3, 0.85])
    assert parse_quantities("20, 60 °C", Kind.TEMPERATURE, "x") == pytest.approx([293.15, 333.15])


@given(st.lists(st.integers(1, 20000), min_size=2, max_size=40, unique=True))
def test_a_list_reads_back(rpms):
    """Identity: what is written in rpm is read in rad/s, in order."""
    rising = sorted(rpms)
    assert breakpoints_of(", ".join(map(str, rising)) + " rpm", "x") == pytest.approx(
        [n * RPM for n in rising]
    )


@pytest.mark.parametrize(
    "text",
    [
        "engine speed [rpm]\n1500\n2000\n3000\n",
        "1500\n2000\n3000 rpm\n",
        "engine speed [rpm],torque limit [N·m]\n1500,200\n2000,250\n3000,260\n",
        "# a note\nengine speed [rev/s]\n25\n33.333333333333336\n50\n",
    ],
)
def test_a_file_of_breakpoints(tmp_path, text):
    """Identity: a plain list, a headed list and a limit table give the same speeds."""
    file = tmp_path / "own.csv"
    file.write_text(text)
    assert breakpoints_of(str(file), "x") == pytest.approx([1500 * RPM, 2000 * RPM, 3000 * RPM])


@pytest.mark.parametrize(
    "text",
    ["", " , ", "1500, 2000", "1500 rpm", "1,500, 2,000 rpm", "2000, 1500 rpm", "1500, 1500 rpm",
     "many rpm", "1500, 2000 N*m", "-5, 100 rpm", ", ".join(["1"] * 65) + " rpm", "no/file.csv"],
)  # fmt: skip
def test_bad_breakpoints_are_refused_in_a_sentence(text):
    """common practice, no source: one sentence that names the input."""
    with pytest.raises(InputError, match=r"^--own") as caught:
        breakpoints_of(text, "--own")
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize("text", ["", "engine speed [rpm]\n", "engine speed [rpm]\nfast\n"])
def test_bad_files_are_refused(tmp_path, text):
    """common practice, no source: an empty or broken file is refused."""
    file = tmp_path / "own.csv"
    file.write_text(text)
    with pytest.raises(InputError):
        breakpoints_of(str(file), "--own")


def test_axis_by_its_first_letters():
    """Identity: a beginning that fits one name only is that name."""
    names = ("ethanol", "charge temperature", "coolant temperature", "gear")
    assert axis_name("Charge_Temperature", names, "x") == "charge temperature"
    assert axis_name("eth", names, "x") == "ethanol"
    for bad in ("", "c", "speed"):
        with pytest.raises(InputError, match="must be one of"):
            axis_name(bad, names, "--axis")
