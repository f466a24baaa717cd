"""One server and one browser for all journeys and reports."""

from collections.abc import Iterator
from concurrent.futures import Future
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from served import headless_browser, page_server

from torquerisk.show.page.work import Background


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Address of the page, served as people serve it."""
    with page_server() as address:
        yield address


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A headless browser; one that is missing is a failure, never a skip."""
    with headless_browser() as opened:
        yield opened


@pytest.fixture
def unproved(monkeypatch: pytest.MonkeyPatch) -> None:
    """No table is proved, which takes longer than everything else: what is asked needs none."""
    ask = Background.ask

    def all_but_proofs(self: Background, who: str, what: str, *rest: Any) -> "Future[Any]":
        return Future() if what == "proof" else ask(self, who, what, *rest)

    monkeypatch.setattr(Background, "ask", all_but_proofs)


@pytest.fixture
def tab(browser: Browser) -> Iterator[Page]:
    """A fresh window of 1,440 by 900 in the light theme that reports what goes wrong in it."""
    context = browser.new_context(
        viewport={"width": 1440, "height": 900}, color_scheme="light", accept_downloads=True
    )
    page = context.new_page()
    page.set_default_timeout(90_000)
    yield page
    context.close()
