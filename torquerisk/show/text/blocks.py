"""Blocks of text of 80 columns: paragraphs, sections, tables and lists, without colour."""

import textwrap
from collections.abc import Iterable, Sequence

from torquerisk.show.words.columns import Column, Row, Shown, in_words

WIDTH = 80


def paragraph(text: str, first: str = "", rest: str | None = None) -> str:
    """Text wrapped to the width; `first` opens its first line, `rest` the others."""
    return textwrap.fill(
        text.replace("N*m", "N·m"),
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_on_hyphens=False,
    )


def section(title: str, lines: Iterable[str]) -> str:
    """A titled block, or nothing where there are no lines."""
    body = [line for line in lines if line]
    return "\n".join([title, *body]) + "\n" if body else ""


def columns(
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    left: Sequence[int],
    wrap: int | None = None,
) -> str:
    """Rows under headings, numbers to the right, the columns named in `left` to the left.

    Columns stand closer where the table would be too wide; wrap: the one whose words then go on
    over more lines.
    """
    widths = [
        max(len(line) for cell in (h, *(row[i] for row in rows)) for line in cell.split("\n"))
        for i, h in enumerate(headings)
    ]
    over = sum(widths) + len(widths) - 1 - WIDTH
    if wrap is not None and over > 0:
        widths[wrap] = max(widths[wrap] - over, 8)
        rows = [
            [textwrap.fill(c, widths[i]) if i == wrap else c for i, c in enumerate(row)]
            for row in rows
        ]
    gap = "  " if sum(widths) + 2 * (len(widths) - 1) <= WIDTH else " "
    tall = max(h.count("\n") for h in headings) + 1
    heads = ["\n" * (tall - 1 - h.count("\n")) + h for h in headings]
    lines = [line for row in (heads, *rows) for line in _lines(row)]
    return "\n".join(
        gap.join(
            cell.ljust(width) if i in left else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    )


def table(chosen: Sequence[Column[Row]], rows: Sequence[Row], shown: Shown, wrap: str = "") -> str:
    """The described columns of some rows. wrap: key of the column that `columns` may wrap."""
    keys = [column.key for column in chosen]
    return columns(
        [column.headed(shown) for column in chosen],
        in_words(chosen, rows, shown),
        [k for k, column in enumerate(chosen) if column.words],
        keys.index(wrap) if wrap else None,
    )


def joined(*blocks: str) -> str:
    """The blocks that say something, below each other."""
    return "\n".join(block for block in blocks if block)


def _lines(row: Sequence[str]) -> list[list[str]]:
    """The printed lines of a row whose cells may hold several."""
    cells = [cell.split("\n") for cell in row]
    tall = max(len(cell) for cell in cells)
    return [[cell[k] if k < len(cell) else "" for cell in cells] for k in range(tall)]


def bullets(texts: Iterable[str]) -> list[str]:
    """Each text as a wrapped list item."""
    return [paragraph(text, "- ", "  ") for text in texts]


def shown_rows(count: int, worst: Sequence[int], most: int) -> list[int]:
    """Indices of rows to show: all of a table of `most`, else every second or so with the worst."""
    step = -(-count // most)
    return sorted({*range(0, count, step), count - 1, *worst})
