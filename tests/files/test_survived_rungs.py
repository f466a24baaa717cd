"""The engine file's ladder of survived rungs: read, refused, written and read back."""

import pytest

from torquerisk.errors import InputError
from torquerisk.files.case_folder import case_files, load_case
from torquerisk.files.engine_file import engine_from_text

ENGINE = """
ignition = "spark"
cylinders = 4
bore = "86 mm"
stroke = "86 mm"
rod_length = "145 mm"
compression_ratio = 9.5

[head_joint]
fasteners = 10
thread = "M11x1.5"
property_class = "10.9"
"""
RUN = b"engine speed [rpm], torque [N*m]\n2000, 180\n3000, 200\n4000, 210\n5000, 190\n"
RUNGS = """
[[survived]]
run = "first.csv"

[[survived]]
run = "first.csv"
years = 2
seen = "knock"
calibration = "another"
blend = "E10"
"""


def read(text: str):
    return engine_from_text(ENGINE + text, "engine.toml", None, {"first.csv": RUN})


def test_rungs_are_read_with_their_defaults():
    """Stated choice: one pull without a sign unless said otherwise; a year is 250 pulls."""
    first, second = read(RUNGS).survived
    assert (first.count, first.sign) == (1, "nothing")
    assert (second.count, second.sign, second.blend) == (500, "knock", "E10")
    assert first.curve is not None
    assert first.curve.torque.tolist() == [180.0, 200.0, 210.0, 190.0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[survived]\nrun = 'first.csv'\n", r"\[\[survived\]\]"),
        ("[[survived]]\npulls = 2\n", "survived 1.run is missing"),
        ("[[survived]]\nrun = 'first.csv'\npulls = 2\nyears = 1\n", "one of them"),
        ("[[survived]]\nrun = 'first.csv'\npulls = 0\n", "survived 1.pulls"),
        ("[[survived]]\nrun = 'first.csv'\nseen = 'smoke'\n", "one of nothing, coolant pressure"),
        ("[[survived]]\nrun = 'gone.csv'\n", "survived 1.run names 'gone.csv'"),
        ("[[survived]]\nrun = 'first.csv'\npull = 2\n", "the nearest is pulls"),
    ],
)
def test_bad_rungs_are_refused_in_one_sentence(text, says):
    """Common practice, no source: which rung, what was given and what is allowed."""
    with pytest.raises(InputError, match=says) as refused:
        read(text)
    assert str(refused.value).startswith("engine.toml: ")


def test_a_case_with_rungs_reads_back_equal(tmp_path):
    """Identity: written and read again, rungs and their runs are the same."""
    engine = read(RUNGS)
    for name, text in case_files(engine, engine.survived[0].curve).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    again, _ = load_case(tmp_path)
    assert [(r.count, r.sign, r.calibration, r.blend) for r in again.survived] == [
        (r.count, r.sign, r.calibration, r.blend) for r in engine.survived
    ]
    assert again.survived[1].curve.torque.tolist() == engine.survived[1].curve.torque.tolist()
