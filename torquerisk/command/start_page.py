"""Starts the page on this machine only, with a case to open where one is given."""

import os
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import torquerisk
from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.case_folder import case_paths, load_case
from torquerisk.files.units import parse_quantity

LOOPBACK = "127.0.0.1"
FIRST_PORT, PORTS = 8501, 50
LOWEST_PORT, HIGHEST_PORT = 1024, 65535
ENGINE_VARIABLE, RUN_VARIABLE = "TORQUERISK_ENGINE", "TORQUERISK_RUN"
OPTIONS = (
    f"--server.address={LOOPBACK}",
    "--server.headless=true",
    "--server.showEmailPrompt=false",
    "--browser.gatherUsageStats=false",
)


def start_page(
    engine: str | None, run: str | None, port: str | None, announce: Callable[[str], None]
) -> None:
    """Start the page and stay with it until it is stopped.

    engine, run: the case to open, or a case folder as engine; read first, so that a bad file is
    refused here. port: text of a port number, or None for the first free one from 8501.
    announce: is told the address.
    """
    app = app_path()
    variables = case_variables(engine, run)
    chosen = free_port() if port is None else asked_port(port)
    words = [sys.executable, "-m", "streamlit", "run", str(app), *OPTIONS]
    words.append(f"--server.port={chosen}")
    announce(f"The page is at http://{LOOPBACK}:{chosen} (stop it with Ctrl+C).")
    sys.stdout.flush()
    replace_process(words, {**os.environ, **variables}, app.parent)


def app_path() -> Path:
    """The page's script, which lies in the package; its folder holds the server's settings."""
    return Path(torquerisk.__file__).resolve().parent / "show" / "page" / "door" / "app.py"


def case_variables(engine: str | None, run: str | None) -> dict[str, str]:
    """Environment variables that tell the page which files to open."""
    if engine is None:
        return {}
    load_case(engine, run)
    paths = [str(path.resolve()) for path in case_paths(engine, run)]
    return dict(zip((ENGINE_VARIABLE, RUN_VARIABLE), paths, strict=True))


def asked_port(text: str) -> int:
    """The port that was asked for, refused where it is taken."""
    value = parse_quantity(text, Kind.COUNT, "--port")
    if not value.is_integer() or not LOWEST_PORT <= value <= HIGHEST_PORT:
        raise InputError(
            f"--port is {value:g}, but must be a whole number from {LOWEST_PORT} to {HIGHEST_PORT}."
        )
    if not is_free(int(value)):
        raise InputError(f"--port is {value:g}, which is in use; give another or leave it out.")
    return int(value)


def free_port() -> int:
    """The first free port from 8501 on."""
    for port in range(FIRST_PORT, FIRST_PORT + PORTS):
        if is_free(port):
            return port
    raise InputError(
        f"all ports from {FIRST_PORT} to {FIRST_PORT + PORTS - 1} are in use; give one with --port."
    )


def is_free(port: int) -> bool:
    """True where nothing listens on a port of this machine."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((LOOPBACK, port))
        except OSError:
            return False
    return True


def replace_process(words: list[str], variables: dict[str, str], folder: Path) -> None:
    """Become the page's server, so that stopping this process stops the page.

    Its own messages go to stderr: stdout holds the address only.
    """
    os.chdir(folder)
    if os.name == "nt":
        subprocess.run(words, env=variables, check=True)
        return
    os.dup2(2, 1)
    os.execve(words[0], words, variables)
