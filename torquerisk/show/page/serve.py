"""What the server does beside the page: headers that keep it to itself, and a warm start."""

import logging
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from starlette.datastructures import MutableHeaders
from starlette.middleware import Middleware
from starlette.types import ASGIApp, Message, Receive, Scope, Send

import torquerisk
from torquerisk.errors import InputError
from torquerisk.show.page import case_in
from torquerisk.show.page.panel import DEFAULT_SAMPLE
from torquerisk.show.page.policy_in import sample_policy
from torquerisk.show.page.result import assessments, cases
from torquerisk.show.page.waiting import say
from torquerisk.show.page.work import AssessKey, assessed

SECURITY = {
    "Content-Security-Policy": "default-src 'self'; script-src 'self' 'unsafe-inline' "
    "'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "font-src 'self' data:; connect-src 'self' ws: wss:; worker-src 'self' blob:; "
    "frame-ancestors 'none'; base-uri 'self'; form-action 'self'; object-src 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
}
"""Sent with every answer: nothing is loaded from elsewhere, nobody frames the page."""


class SecurityHeaders:
    """Puts `SECURITY` on every HTTP answer."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on; add the headers to what comes back."""

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SECURITY.items():
                    headers[name] = value
            await send(message)

        await self._app(scope, receive, with_headers if scope["type"] == "http" else send)


def sorry(error: Exception) -> bool:
    """An error of our own making: one sentence on the page, the rest in the server's log."""
    logging.getLogger("torquerisk").error("the page failed", exc_info=error)
    say(
        "Something went wrong inside torquerisk, not in your input; the server's log has the "
        "details. Reload the page, or undo the last change."
    )
    return True


MIDDLEWARE = [Middleware(SecurityHeaders)]


@asynccontextmanager
async def warm(app: Any) -> AsyncIterator[None]:
    """Assess the first case while the browser is still loading the page."""
    threading.Thread(target=_assess_first, name="warm", daemon=True).start()
    yield


def _assess_first() -> None:
    """The first case under the default sample; what cannot be read is said by the page."""
    try:
        source = case_in.first_source()
        if source is None:
            return
        case = cases().get(source.digest, lambda: case_in.read_case(source))
        sample = DEFAULT_SAMPLE
        key = AssessKey(
            digest=source.digest, edits=(), draws=sample.draws, seed=sample.seed,
            abnormal=sample.abnormal, version=torquerisk.__version__,
        )  # fmt: skip
        assessments().get(key, lambda: assessed(case, (), sample_policy(sample)))
    except InputError:
        return
