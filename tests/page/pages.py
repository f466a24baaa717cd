"""Helpers that read a page under test: what it says, in what order, and what it asks."""

import html
import json
import math
import re
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import pandas as pd
from google.protobuf.message import Message
from streamlit.testing.v1 import AppTest
from streamlit.testing.v1.element_tree import Block, Node
from streamlit.util import calc_hash

from torquerisk.show.page.case_in import source_named
from torquerisk.show.page.desk import DEFAULT_SAMPLE, Desk, keep
from torquerisk.show.page.serve import SCRIPT
from torquerisk.show.page.waiting import PROVING

ROOT = Path(__file__).resolve().parents[2]
HILL = ROOT / "sample_runs" / "hill_climb"
DRAWS = 256
"""Simulated engines in tests of what the page shows, not of how much is known."""


def opened(view: str = "", case: str = "hill_climb", draws: int = DRAWS, **link: str) -> AppTest:
    """A view, run once, opened with what a link carries."""
    page = AppTest.from_file(SCRIPT, default_timeout=120)
    source = source_named(case)
    if source is not None:
        case = keep(Desk(source=source, sample=replace(DEFAULT_SAMPLE, draws=draws)))
    if case:
        page.query_params["case"] = case
    for key, value in link.items():
        page.query_params[key] = value
    return to(page, view)


def to(page: AppTest, view: str) -> AppTest:
    """Another view of the same visit, all that is asked carried along."""
    page._page_hash = calc_hash(view)
    page.run()
    page._page_hash = ""  # what follows stays on this view, and keeps its widgets
    return page


def finished(page: AppTest) -> AppTest:
    """The page once nothing on it is waiting any more, but for the proof of the table."""
    end = time.monotonic() + 240
    while [w for w in re.findall(r'class="tr-wait"[^>]*>(.*?)<', markup(page)) if w != PROVING]:
        assert time.monotonic() < end, "the page never finished"
        time.sleep(0.3)
        page.run()
    return page


def unfolded(page: AppTest, *names: str) -> AppTest:
    """The page with these folds opened, or all whose contents come only then."""
    for one in page.expander:
        _, mark, name = one.proto.id.partition("-fold_")
        if mark and (not names or name in names):
            page.session_state[f"fold_{name}"] = True
    return finished(page.run())


def markup(page: AppTest) -> str:
    """All HTML blocks of the page as one text.

    Spaces that keep a unit with its number are plain ones here.
    """
    return "\n".join(block.proto.body for block in page.get("html")).replace("\u00a0", " ")


def words(page: AppTest) -> str:
    """What the HTML blocks say, without markup and style."""
    bare = re.sub(r"<(style|script)>.*?</\1>", "", markup(page), flags=re.S)
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


def shown(page: AppTest) -> dict[str, str]:
    """Every text beside the left column by its place: blocks, pictures, widgets, folds, options.

    Left out are the switch itself and what stays in SI: how files were read, what is saved.
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
    return child.key == "units" or child.type == "download_button"


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
