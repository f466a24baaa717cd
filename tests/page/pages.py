"""Helpers that read a page under test: what it says, in what order, and what it asks."""

import html
import json
import math
import re
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

import pandas as pd
from google.protobuf.message import Message
from streamlit.testing.v1 import AppTest
from streamlit.testing.v1.element_tree import Block, FileUploader, Node

ROOT = Path(__file__).resolve().parents[2]
APP = ROOT / "app.py"
HILL = ROOT / "sample_runs" / "hill_climb"


def opened(**link: str) -> AppTest:
    """The page, run once, opened with what a link carries."""
    page = AppTest.from_file(str(APP), default_timeout=120)
    for key, value in link.items():
        page.query_params[key] = value
    return page.run()


def finished(page: AppTest) -> AppTest:
    """The page once nothing on it is waiting any more."""
    end = time.monotonic() + 90
    while 'class="tr-wait"' in markup(page):
        assert time.monotonic() < end, "the page never finished"
        time.sleep(0.3)
        page.run()
    return page


def unfolded(page: AppTest) -> AppTest:
    """The page with every fold opened whose contents come only then."""
    for one in page.expander:
        _, mark, name = one.proto.id.partition("-fold_")
        if mark:
            page.session_state[f"fold_{name}"] = True
    return finished(page.run())


def markup(page: AppTest) -> str:
    """All HTML blocks of the page as one text, still pictures left out.

    Spaces that keep a unit with its number are plain ones here.
    """
    return "\n".join(_bodies(page, still=False)).replace("\u00a0", " ")


def stills(page: AppTest) -> list[str]:
    """Still pictures of the page as HTML, in order."""
    return _bodies(page, still=True)


def _bodies(page: AppTest, *, still: bool) -> list[str]:
    bodies = [block.proto.body for block in page.get("html")]
    return [b for b in bodies if b.startswith('<div class="tr-still"') == still]


def words(page: AppTest) -> str:
    """What the HTML blocks say, without markup and style."""
    bare = re.sub(r"<style>.*?</style>", "", markup(page), flags=re.S)
    return html.unescape(re.sub(r"<[^>]+>", " ", bare))


def questions(page: AppTest) -> list[str]:
    """Headings in order of place on the page."""
    return re.findall(r'<h2 class="tr-q"[^>]*>(.*?)</h2>', markup(page))


def charts(page: AppTest) -> list[str]:
    """Text alternatives of the charts, in order."""
    return [c.proto.alt for c in page.get("plotly_chart")]


def refusal(page: AppTest) -> list[str]:
    """The sentences that stand where a result cannot."""
    return [
        html.unescape(t)
        for t in re.findall(r'class="tr-said" role="alert"><p>(.*?)</p>', markup(page))
    ]


def captions(page: AppTest) -> str:
    """Small print beside the widgets."""
    return "\n".join(c.value for c in page.caption)


def shown(page: AppTest) -> dict[str, str]:
    """Every text beside the left column by its place: blocks, pictures, widgets, folds, options.

    Left out is what stays in SI, and the switch itself: how files were read, in which units they
    are saved, and the table to edit, which is an input.
    """
    found: dict[str, str] = {}
    _gather(page.main, "", found)
    return found


def _gather(block: Block, place: str, found: dict[str, str]) -> None:
    here = [c for c in block.children.values() if not _left_out(c)]
    for number, child in enumerate(here):
        at = f"{place}/{number}"
        if isinstance(child, Block):
            if label := getattr(child, "label", ""):
                found[f"{at} fold"] = label
            _gather(child, at, found)
        elif child.type == "dataframe":
            found[f"{at} html"] = _as_html(child.value)
        else:
            found[f"{at} {child.type}"] = "\n".join(_strings(child.proto))


def _as_html(frame: pd.DataFrame) -> str:
    """A sortable table in the form of the others, with four decimals."""

    def cell(value: object) -> str:
        if isinstance(value, float):
            return "–" if math.isnan(value) else f"{value:.4f}"
        return "–" if value is None else html.escape(str(value))

    def row(cells: Iterable[object], tag: str) -> str:
        shown = map(cell, cells)
        return "<tr>" + "".join(f"<{tag}>{c}</{tag}>" for c in shown) + "</tr>"

    rows = "".join(row(r, "td") for r in frame.itertuples(index=False))
    return f"<thead>{row(frame.columns, 'th')}</thead><tbody>{rows}</tbody>"


def _left_out(child: Node) -> bool:
    """True for what `shown` leaves out."""
    if child.key is not None and child.key.startswith("own_cells"):
        return True
    if child.type == "caption":
        return "stay in SI" in child.value
    return getattr(child, "label", "") == "How the files were read" or child.key == "units"


def _strings(message: Message) -> Iterator[str]:
    """All texts of an element, as it is sent to the browser; JSON in them written out."""
    for field, value in message.ListFields():
        for one in value if field.is_repeated else [value]:
            if isinstance(one, Message):
                yield from _strings(one)
            elif isinstance(one, str):
                yield json.dumps(json.loads(one), ensure_ascii=False) if one[:1] == "{" else one


def specs(page: AppTest) -> list[str]:
    """The pictures of the page as they are sent, in order."""
    return ["\n".join(_strings(c.proto)) for c in page.get("plotly_chart")]


def own_table(page: AppTest) -> FileUploader:
    """The field for a limit table of one's own."""
    return page.file_uploader(key=f"own_table_{page.session_state['own_turn']}")
