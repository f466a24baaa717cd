"""What the server sends beside the page, and the memory that results are kept in."""

import asyncio
import re
import socket
import threading
import time
import urllib.request
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest

from torquerisk.errors import InputError
from torquerisk.show.page import first_case, serve, waiting
from torquerisk.show.page.serve import SECURITY, SOON
from torquerisk.show.page.work import DELAY, Background, Dropped
from torquerisk.study.answers.store import Store


@pytest.mark.browser
@pytest.mark.slow
def test_every_answer_carries_the_security_headers(server: str) -> None:
    """OWASP Secure Headers Project: policy, nosniff, no referrer, no framing."""
    for path in ("/", "/_stcore/health", "/static/index.html"):
        with urllib.request.urlopen(f"{server}{path}", timeout=10) as answer:
            for name, value in SECURITY.items():
                assert answer.headers[name] == value, (path, name)


@pytest.mark.browser
@pytest.mark.slow
def test_the_page_asks_early_for_what_it_will_need(server: str) -> None:
    """RFC 8288, Link header: every script named is there; no other answer names any."""
    with urllib.request.urlopen(f"{server}/", timeout=10) as answer:
        links = re.findall(r"<\./(\S+)>; rel=modulepreload", answer.headers["Link"])
    assert len(links) == len(SOON)
    for path in links:
        with urllib.request.urlopen(f"{server}/{path}", timeout=10) as answer:
            assert "javascript" in answer.headers["Content-Type"]
            assert answer.headers["Link"] is None


def test_the_server_answers_before_the_first_case_is_worked_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """identity: the first case is worked out beside the server, by the page's own key."""
    begun, go = threading.Event(), threading.Event()

    def slowly(*_: object) -> None:
        begun.set()
        go.wait(timeout=20)
        raise InputError("enough")

    monkeypatch.setattr(first_case, "assessed", slowly)
    monkeypatch.setattr(first_case, "assessments", lambda: Store(1))

    async def start() -> None:
        async with serve.warm(None):
            assert begun.wait(timeout=20)
            assert not go.is_set(), "the server is up while the case is under way"

    with ThreadPoolExecutor(1) as aside:  # a browser's loop may run in this thread
        aside.submit(asyncio.run, start()).result()
    go.set()


@pytest.mark.browser
@pytest.mark.slow
def test_listens_on_this_machine_only(server: str) -> None:
    """identity: the address is loopback; the configuration says so."""
    assert server.startswith("http://127.0.0.1:")


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.parametrize(
    ("origin", "answer"),
    [("http://example.org", b"403"), ("null", b"403"), ("http://127.0.0.1.example.org", b"403"),
     ("http://localhost:1", b"101"), ("", b"101")],
)  # fmt: skip
def test_a_socket_from_another_site_is_refused(server: str, origin: str, answer: bytes) -> None:
    """RFC 6455 section 10.2: a server that is not for all sites checks the origin."""
    port = int(server.rpartition(":")[2])
    lines = ["GET /_stcore/stream HTTP/1.1", f"Host: 127.0.0.1:{port}", "Upgrade: websocket",
             "Connection: Upgrade", "Sec-WebSocket-Version: 13",
             "Sec-WebSocket-Key: MDEyMzQ1Njc4OWFiY2RlZg==",
             *([f"Origin: {origin}"] if origin else [])]  # fmt: skip
    with socket.create_connection(("127.0.0.1", port), timeout=20) as line:
        line.sendall(("\r\n".join(lines) + "\r\n\r\n").encode())
        assert line.recv(64).split()[1] == answer


def test_a_foreign_call_never_reaches_the_framework() -> None:
    """Identity: what is refused before the framework is asked can make it look nothing up."""
    sent: list[str] = []

    async def app(*_: object) -> None:
        raise AssertionError("the framework was asked")

    async def send(message: Any) -> None:
        sent.append(message["type"])

    for kind in ("websocket", "http"):
        scope = {"type": kind, "headers": [(b"origin", b"https://example.org")]}
        with ThreadPoolExecutor(1) as aside:
            aside.submit(asyncio.run, serve.OwnPageOnly(app)(scope, app, send)).result()
    assert sent == ["websocket.close", "http.response.start", "http.response.body"]


def test_store_makes_once_for_all_who_ask_at_once() -> None:
    """identity: eight threads, one making."""
    store, made = Store(4), []

    def make() -> int:
        time.sleep(0.05)
        made.append(1)
        return 7

    threads = [threading.Thread(target=lambda: store.get("k", make)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert made == [1]
    assert store.get("k", make) == 7


def test_store_forgets_the_least_used_and_keeps_no_error() -> None:
    """identity."""
    store = Store(2)
    for key in ("a", "b"):
        store.get(key, lambda key=key: key)
    store.get("a", lambda: "again")
    store.get("c", lambda: "c")
    assert store.has("a")
    assert not store.has("b")
    with pytest.raises(ValueError, match="no"):
        store.get("d", lambda: (_ for _ in ()).throw(ValueError("no")))
    assert store.get("d", lambda: 4) == 4


def _result(future: "Future[int]") -> int:
    return future.result(timeout=20)


def test_background_drops_what_nobody_waits_for() -> None:
    """identity: of a slider's many positions only the last is worked out."""
    background, made = Background(), []
    futures = [background.ask("me", "proof", k, lambda k=k: made.append(k) or k) for k in range(6)]
    assert _result(futures[-1]) == 5
    assert made == [5]
    for future in futures[:-1]:
        with pytest.raises(Dropped):
            future.result(timeout=20)


def test_background_waits_from_the_asking_not_from_its_turn() -> None:
    """Arithmetic: three asked for at once begin after one delay, not one after another's."""
    kept, begun = Background(), []
    start = time.monotonic()
    for k in range(3):
        kept.ask(f"me {k}", "proof", k, lambda: begun.append(time.monotonic() - start))
    kept.settle()
    assert len(begun) == 3
    assert begun[0] >= DELAY
    assert begun[2] < 2 * DELAY


def test_background_begins_the_first_of_a_kind_at_once() -> None:
    """identity: only what is asked for again may be one of a slider's many positions."""
    kept, begun = Background(), []
    start = time.monotonic()
    for k in range(2):
        _result(kept.ask("me", "bench", k, lambda: begun.append(time.monotonic() - start) or 1))
    assert begun[0] < DELAY <= begun[1] - begun[0]


def test_background_works_for_two_at_once_and_again_after_a_drop() -> None:
    """identity: one tab's new wish leaves another tab's alone; an old wish may come back."""
    background = Background()
    mine = background.ask("me", "proof", "x", lambda: 1)
    yours = background.ask("you", "proof", "y", lambda: 2)
    assert (_result(mine), _result(yours)) == (1, 2)
    first = background.ask("me", "proof", "p", lambda: 3)
    background.ask("me", "proof", "q", lambda: 4)
    with pytest.raises(Dropped):
        first.result(timeout=20)
    assert _result(background.ask("me", "proof", "p", lambda: 5)) == 5


def test_an_error_of_our_own_leaves_one_sentence_and_a_log(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """identity: no trace of code on the page, all of it in the log."""
    said: list[str] = []
    monkeypatch.setattr(waiting, "say", said.append)
    assert serve.sorry(KeyError("secret detail")) is True
    assert len(said) == 1
    assert "secret" not in said[0]
    assert "the page failed" in caplog.text
