"""Helpers that read a page under test: what it says, in what order, and what it asks."""

import html
import re
import time
from pathlib import Path

from streamlit.testing.v1 import AppTest

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


def markup(page: AppTest) -> str:
    """All HTML blocks of the page as one text."""
    return "\n".join(block.proto.body for block in page.get("html"))


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
