import pytest

from torquerisk.errors import InputError
from torquerisk.files.case_folder import case_files, load_case

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
RUN = "engine speed [rpm],torque [N·m]\n2000,200\n3000,220\n4000,210\n"


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "engine.toml").write_text(ENGINE, encoding="utf-8")
    (tmp_path / "run.csv").write_text(RUN, encoding="utf-8")
    (tmp_path / "other.csv").write_text(RUN.replace("220", "230"), encoding="utf-8")
    return tmp_path


def test_a_folder_stands_for_both_files(folder):
    """Source: design.md section 5: a case folder may stand in place of ENGINE RUN."""
    engine, run = load_case(folder)
    assert engine.cylinders == 4
    assert run.torque.tolist() == [200.0, 220.0, 210.0]
    assert load_case(folder, folder / "other.csv")[1].torque.tolist() == [200.0, 230.0, 210.0]
    assert load_case(folder / "engine.toml")[1].torque.tolist() == [200.0, 220.0, 210.0]
    assert load_case(folder / "engine.toml", folder)[1].torque.tolist() == [200.0, 220.0, 210.0]
    assert load_case(str(folder / "engine.toml"), str(folder / "run.csv"))[0] == engine


@pytest.mark.parametrize(
    ("engine", "run", "remove", "says"),
    [
        ("", None, "engine.toml", "holds no engine.toml"),
        ("", None, "run.csv", "holds no run.csv"),
        ("engine.toml", None, "run.csv", "has no run.csv beside it; give an engine file and a run"),
        ("other.csv", None, "", "other.csv is no engine file; give an engine file and a run file"),
        ("nowhere", None, "", "does not exist; give an engine file and a run file"),
        ("nowhere.toml", None, "", "does not exist; give an engine file and a run file"),
        ("engine.toml", "nowhere.csv", "", "does not exist; give the path of a run file"),
        ("nowhere.toml", "run.csv", "", "does not exist; give the path of an engine file"),
    ],
)
def test_missing_files_are_refused_in_one_sentence(folder, engine, run, remove, says):
    """Common practice, no source: each sentence says which file and what to give."""
    if remove:
        (folder / remove).unlink()
    with pytest.raises(InputError, match=says) as caught:
        load_case(folder / engine, None if run is None else folder / run)
    assert "\n" not in str(caught.value)


def test_a_written_case_reads_back(folder):
    """Identity: a saved case gives the same engine and the same numbers, known-good run and all."""
    with (folder / "engine.toml").open("a") as file:
        file.write('[known_good]\nrun = "other.csv"\nblend = "E0"\n')
    engine, run = load_case(folder)
    (saved := folder / "saved").mkdir()
    for name, text in case_files(engine, run).items():
        (saved / name).write_text(text, encoding="utf-8")
    again, run_again = load_case(saved)
    assert run_again.torque.tolist() == run.torque.tolist()
    assert engine.known_good.curve is not None
    assert again.known_good.curve is not None
    assert again.known_good.curve.torque.tolist() == engine.known_good.curve.torque.tolist()
    changes = {"known_good.curve": None, "known_good.run": "x"}
    assert again.with_values(changes) == engine.with_values(changes)
