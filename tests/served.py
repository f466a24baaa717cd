"""The page as people meet it: one server and one browser, each ended by its own process."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(address: str, process: "subprocess.Popen[bytes]") -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        assert process.poll() is None, "the page's server ended by itself"
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=2):
                return
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.2)
    raise AssertionError("the page's server did not start within 60 s")


@contextmanager
def page_server() -> Iterator[str]:
    """Address of the page, served as people serve it."""
    port = _free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "streamlit", "run", "app.py", f"--server.port={port}"],
        cwd=ROOT, env={**os.environ, "TORQUERISK_ENGINE": ""},
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(address, process)
        yield address
    finally:
        process.terminate()
        try:
            process.wait(timeout=15)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(timeout=15)


@contextmanager
def headless_browser() -> Iterator[Browser]:
    """A headless browser; one that is missing is a failure, never a skip."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found is not None, "no chromium on this machine: install it, these tests must run"
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        yield opened
        opened.close()
