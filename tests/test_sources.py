"""The bibliography and what is cited: every key resolves, and none lies idle."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

import torquerisk
from torquerisk.sources import SOURCES
from torquerisk.study.limits import ALL_LIMITS

PACKAGE = Path(torquerisk.__file__).parent
TESTS = Path(__file__).parent
KEY = re.compile(r"\[([A-Z][A-Z0-9]+(?:[_.-][A-Z0-9.]+)*)\]")
WORDS = ("seen", "secondary", "from memory", "common practice, no source")
UNITS = {"SI"}
"""What stands in square brackets in docstrings and looks like a key."""


@cache
def parsed(path: Path) -> ast.Module:
    """A module as a tree, read once."""
    return ast.parse(path.read_text(encoding="utf-8"))


def texts_of(folder: Path) -> dict[str, list[str]]:
    """Docstrings of every module in a folder, those below constants and fields included."""
    found: dict[str, list[str]] = {}
    for path in sorted(folder.rglob("*.py")):
        found[str(path.relative_to(folder))] = [
            node.value.value
            for node in ast.walk(parsed(path))
            if isinstance(node, ast.Expr)
            and isinstance(node.value, ast.Constant)
            and isinstance(node.value.value, str)
        ]
    return found


def cited(texts: list[str]) -> set[str]:
    """Keys in square brackets."""
    return {key for text in texts for key in KEY.findall(text)} - UNITS


def named(folder: Path) -> set[str]:
    """Keys that stand alone in a string, as in the tables of published spreads."""
    paths = [path for path in folder.rglob("*.py") if path.name != "sources.py"]
    strings = {
        node.value
        for path in paths
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    return strings & SOURCES.keys()


def keys_of_limits() -> set[str]:
    """Keys that the limits show beside their results."""
    return {key.strip() for limit in ALL_LIMITS for key in limit.source.split(",")}


def test_the_search_finds_citations() -> None:
    """Identity: the search sees a key, a list of keys and no unit, so the tests below can fail."""
    assert cited(["Mass m [kg] at T [K]. Source: [HEYWOOD] eq 2; [SAE_J1349], [ASME-B1.1]."]) == {
        "HEYWOOD",
        "SAE_J1349",
        "ASME-B1.1",
    }
    assert cited(["Source: [NOT_THERE]"]) - SOURCES.keys() == {"NOT_THERE"}


@pytest.mark.parametrize(("module", "texts"), texts_of(PACKAGE).items())
def test_every_key_cited_in_the_package_resolves(module: str, texts: list[str]) -> None:
    """Identity: what a docstring cites can be looked up."""
    assert cited(texts) <= SOURCES.keys(), module


def test_every_key_cited_in_the_tests_resolves() -> None:
    """Identity: a test names its source by a key that exists."""
    texts = [text for name, some in texts_of(TESTS).items() if "test_sources" not in name
             for text in some]  # fmt: skip
    assert cited(texts) <= SOURCES.keys()


def test_every_key_that_a_limit_shows_resolves() -> None:
    """Identity: the source shown beside a limit can be looked up."""
    assert keys_of_limits() <= SOURCES.keys()


def test_no_key_lies_idle() -> None:
    """Identity: a work that nothing cites has nothing to do in the bibliography."""
    texts = [t for folder in (PACKAGE, TESTS) for some in texts_of(folder).values() for t in some]
    assert SOURCES.keys() - cited(texts) - keys_of_limits() - named(PACKAGE) == set()


@pytest.mark.parametrize("key", SOURCES)
def test_each_source_says_how_sure_we_are(key: str) -> None:
    """Identity: one of four words, and a title."""
    assert SOURCES[key].how_sure in WORDS
    assert len(SOURCES[key].title) > 10
