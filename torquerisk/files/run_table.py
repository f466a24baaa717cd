"""Text made into a table: delimiter, decimal mark, headings, the rows below them, all else told.

Every delimiter is tried with every decimal and thousands mark on a sample of the lines; what
reads the most numbers in rows of equal width is taken, and then tried on the whole file.
"""

import numpy as np

from torquerisk.errors import InputError
from torquerisk.files.grid import DELIMITERS, Grid, Lines, split
from torquerisk.files.numbers_in_text import NumberStyle, styles_of
from torquerisk.files.one_reading import Reading
from torquerisk.files.table import Table
from torquerisk.quantities import Array

MAX_LINES = 2_000_000
_SAMPLE = 1000


def tables(text: str, name: str) -> list[Table]:
    """The readings of a text as a table, best first; more than one only where they rival.

    Raises InputError when no rows of numbers or no headings are found.
    """
    lines = Lines.of(text)
    if len(lines.texts) > MAX_LINES:
        raise InputError(f"{name} has more than {MAX_LINES} lines; export only the pull.")
    delimiters = _delimiters(lines, name)
    if not delimiters:
        raise InputError(
            f"{name} holds no table of numbers; it needs a row of headings with units, such as "
            "'engine speed [rpm], torque [N·m]', and a row of numbers for each speed."
        )
    found: list[Table] = []
    errors: list[InputError] = []
    for delimiter in delimiters:
        try:
            grid = split(lines.texts, delimiter, name)
            for style in _styles(grid, lines):
                found.append(Reading(grid, lines, delimiter, style, name).table())
        except InputError as error:
            errors.append(error)
    if not found:
        raise errors[0]
    return found


def _delimiters(lines: Lines, name: str) -> list[str]:
    """The delimiters under which a sample of the lines holds the most numbers, the best first."""
    texts = lines.texts
    if len(texts) > 3 * _SAMPLE:
        middle = np.linspace(_SAMPLE, len(texts) - 1, _SAMPLE).astype(int)
        texts = [*texts[:_SAMPLE], *(texts[i] for i in middle)]
    joined = "\n".join(texts)
    scores: dict[str, int] = {}
    error: InputError | None = None
    for delimiter in DELIMITERS:
        if len(delimiter) == 1 and delimiter not in joined:
            continue
        if len(delimiter) > 1 and any(d in joined for d in ";\t|"):
            continue
        try:
            grid = split(texts, delimiter, name)
        except InputError as refused:
            error = error or refused
            continue
        scores[delimiter] = max(_score(grid, style) for style in styles_of("\n".join(grid.texts)))
    if error is not None and not scores:
        raise error
    best = max(scores.values(), default=0)
    return [d for d, score in scores.items() if score >= 0.98 * best and score > 0]


def _score(grid: Grid, style: NumberStyle) -> int:
    """Numbers in rows of two or more, of those rows that have the commonest width."""
    counts = np.isfinite(grid.values(style)).sum(axis=1)
    rows = counts >= 2
    if not rows.any():
        return 0
    by_width = np.bincount(grid.widths[rows], weights=counts[rows])
    return int(by_width.max())


def _styles(grid: Grid, lines: Lines) -> list[NumberStyle]:
    """The styles that read the most cells of the whole grid; more than one where they rival."""
    styles = styles_of("\n".join(grid.texts))
    if len(styles) == 1:
        return styles
    rows = ~lines.comment[grid.numbers - 1]
    values = {s: grid.values(s)[rows] for s in styles}
    counts = {s: _in_rows(v) for s, v in values.items()}
    best = [s for s in styles if counts[s] == max(counts.values())]
    distinct: list[NumberStyle] = []
    for style in best:
        if not any(np.array_equal(values[style], values[d], equal_nan=True) for d in distinct):
            distinct.append(style)
    return distinct


def _in_rows(values: Array) -> int:
    counts = np.isfinite(values).sum(axis=1)
    return int(counts[counts >= 2].sum())
