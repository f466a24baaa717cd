"""What the server does beside the page: headers that keep it to itself, and a warm start."""

import logging
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import streamlit
from starlette.datastructures import Headers, MutableHeaders
from starlette.middleware import Middleware
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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

LOOPBACK = ("127.0.0.1", "localhost", "::1")
"""Hosts of this machine, by which alone the page is served."""

SOON = ("Html", "PageLink", "Selectbox", "Slider", "NumberInput", "TextInput", "Checkbox",
        "Button", "ButtonGroup", "DownloadButton", "FileUploader")  # fmt: skip
"""Parts of the page framework's script that the first view needs before its live picture."""


def early_links() -> str:
    """A Link header that has the browser fetch `SOON` along with the page, not after it.

    The framework asks for each part only when it meets the first element of its kind. The plot
    library, much the largest, would hold up all others, and a still stands in for it. Empty if no
    part is found.
    """
    scripts = Path(streamlit.__file__).parent / "static" / "static" / "js"
    found = (next(scripts.glob(f"{name}.*.js"), None) for name in SOON)
    return ", ".join(
        f"<./static/js/{one.name}>; rel=modulepreload; crossorigin" for one in found if one
    )


class PageHeaders:
    """Puts `SECURITY` on every HTTP answer, and `early_links` on the page itself."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app
        self._links = early_links()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on; add the headers to what comes back."""

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SECURITY.items():
                    headers[name] = value
                if self._links and headers.get("content-type", "").startswith("text/html"):
                    headers["Link"] = self._links
            await send(message)

        await self._app(scope, receive, with_headers if scope["type"] == "http" else send)


class OwnPageOnly:
    """Refuses what another site's page asks for.

    The framework refuses it too, but looks up this machine's outside address before, to see whether
    that is meant.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on where it names no origin, or one on this machine."""
        origin = Headers(scope=scope).get("origin") if "headers" in scope else None
        if origin is None or urlsplit(origin).hostname in LOOPBACK:
            await self._app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await PlainTextResponse("Not for other sites.", 403)(scope, receive, send)


def sorry(error: Exception) -> bool:
    """An error of our own making: one sentence on the page, the rest in the server's log."""
    logging.getLogger("torquerisk").error("the page failed", exc_info=error)
    import_module("torquerisk.show.page.waiting").say(
        "Something went wrong inside torquerisk, not in your input; the server's log has the "
        "details. Reload the page, or undo the last change."
    )
    return True


MIDDLEWARE = [Middleware(PageHeaders), Middleware(OwnPageOnly)]


@asynccontextmanager
async def warm(app: Any) -> AsyncIterator[None]:
    """Work the first case out beside the server, which answers meanwhile."""
    threading.Thread(target=_first_case, daemon=True).start()
    yield


def _first_case() -> None:
    """What takes long to import is imported here, so that the server can answer before."""
    import_module("torquerisk.show.page.first_case").work_out()


SCRIPT = str(Path(__file__).parent / "door" / "app.py")
"""What the server runs for every visit."""
SERVED: dict[str, Any] = {"middleware": MIDDLEWARE, "lifespan": warm, "on_script_error": sorry}
"""How the page's script is served."""
