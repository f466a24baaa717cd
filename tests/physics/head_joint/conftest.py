import csv
from collections.abc import Callable
from pathlib import Path

import pytest

REFERENCE = Path(__file__).parents[2] / "reference"

Rows = list[dict[str, str]]


@pytest.fixture
def reference() -> Callable[[str], Rows]:
    """Reader of a published table: its first line is the source, then headings, then rows."""

    def read(name: str) -> Rows:
        lines = (REFERENCE / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        assert lines[0].startswith("# ")
        rows = list(csv.DictReader(lines[1:]))
        assert rows
        return rows

    return read
