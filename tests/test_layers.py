"""The layers hold: a lower one never imports a higher one."""

from pathlib import Path

import pytest
from importlinter import configuration
from importlinter.application.use_cases import lint_imports

ROOT = Path(__file__).parents[1]


def test_import_contracts_hold(monkeypatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Identity: the contracts of pyproject.toml, run in this process."""
    monkeypatch.chdir(ROOT)
    configuration.configure()
    kept = lint_imports(
        config_filename=str(ROOT / "pyproject.toml"),
        cache_dir=None,
        is_debug_mode=True,
        no_logo=True,
    )
    assert kept, capsys.readouterr().out


def test_case_and_physics_do_not_know_each_other() -> None:
    """Identity: read from the source text, so that a wrong contract file can't hide it."""
    for inner, outer in (("physics", "case"), ("case", "physics"), ("study", "files")):
        for path in (ROOT / "torquerisk" / inner).rglob("*.py"):
            assert f"torquerisk.{outer}" not in path.read_text(encoding="utf-8"), path
