"""Foreign bytes and text made safe: sizes, encodings, strict numbers, short quotes for messages."""

import math
import re
from pathlib import Path

from torquerisk.errors import InputError

MAX_BYTES = 5_000_000
"""The largest file that is read, but for runs [bytes]."""

MAX_RUN_BYTES = 60_000_000
"""The largest run file that is read [bytes]."""

MAX_NUMBER_LENGTH = 24
"""The longest number that is read [characters]."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_LEADING_NUMBER = re.compile(rf"({_NUMBER.pattern})(.*)", re.DOTALL)
_ODD = re.compile(r"[\x00-\x08\x0b\x0e-\x19\x1b-\x1f]")
_MINUS_SIGNS = str.maketrans({"−": "-", "‐": "-", "‑": "-", "–": "-"})
_SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", "a zip archive or a spreadsheet workbook"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"\x7fELF", "a program"),
)


def brief(text: object, limit: int = 40) -> str:
    """Foreign text fit for a one-line message: no control characters, at most `limit` long."""
    clean = "".join(c if c.isprintable() else " " for c in str(text)[: 10 * limit])
    clean = " ".join(clean.split())
    return clean if len(clean) <= limit else clean[: limit - 1] + "…"


def quoted(text: object, limit: int = 40) -> str:
    """Foreign text as `brief` gives it, in quotation marks."""
    return f"'{brief(text, limit)}'"


def count_of(number: int, thing: str) -> str:
    """The number with its thing in singular or plural, as '1 row' and '3 rows'."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def strict_number(text: str) -> float | None:
    """The number that the whole text spells with a decimal point, or None.

    No hexadecimal, no underscores, no infinity, no NaN, no digits of other scripts.
    """
    if not _NUMBER.fullmatch(text):
        text = text.strip().translate(_MINUS_SIGNS)
        if not _NUMBER.fullmatch(text):
            return None
    if len(text) > MAX_NUMBER_LENGTH:
        return None
    value = float(text)
    return value if math.isfinite(value) else None


def split_number(text: str) -> tuple[float, str] | None:
    """A leading strict number and the text after it, or None where there is no such number."""
    match = _LEADING_NUMBER.fullmatch(text.strip().translate(_MINUS_SIGNS))
    if match is None:
        return None
    value = strict_number(match.group(1))
    return None if value is None else (value, match.group(2).strip())


def read_bytes(path: str | Path, what: str, limit: int = MAX_BYTES) -> bytes:
    """The bytes of a file; refused in one sentence when missing, unreadable, empty or too large."""
    shown = brief(path, 120)
    try:
        with Path(path).open("rb") as file:
            data = file.read(limit + 1)
    except FileNotFoundError:
        raise InputError(f"{shown} does not exist; give the path of {what}.") from None
    except IsADirectoryError:
        raise InputError(f"{shown} is a folder; give the path of {what}.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no valid path"
        raise InputError(f"{shown} cannot be read ({reason}); give the path of {what}.") from None
    check_size(data, brief(Path(path).name), limit)
    return data


def check_size(data: bytes, name: str, limit: int = MAX_BYTES) -> None:
    """Refuse an empty file and one above the limit."""
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise InputError(f"{name} is empty; export the run or save the engine file again.")
    if len(data) > limit:
        raise InputError(
            f"{name} is larger than {limit / 1e6:g} MB, but at most that is read; export only the "
            "pull, or fewer samples a second."
        )


def decode(data: bytes, name: str) -> tuple[str, str]:
    """The text of foreign bytes and the name of the encoding, found by rule.

    A byte-order mark decides; then NULs in every second place mean UTF-16; then strict UTF-8;
    then Windows-1252. Anything else is binary and refused.
    """
    for signature, kind in _SIGNATURES:
        if data.startswith(signature):
            raise InputError(f"{name} is {kind}, not text; export it as CSV text.")
    encoding = _encoding(data)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        if encoding != "utf-8":
            raise _binary(name) from None
        encoding = "cp1252"
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            raise _binary(name) from None
    if len(_ODD.findall(text)) > 0.001 * len(text):
        raise _binary(name)
    return text.replace("\x1a", "").replace("\f", "\n"), encoding


def _encoding(data: bytes) -> str:
    if data.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    if data.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        return "utf-32"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    head = data[:2000]
    if head[1::2].count(0) > 0.4 * len(head) / 2:
        return "utf-16-le"
    if head[0::2].count(0) > 0.4 * len(head) / 2:
        return "utf-16-be"
    return "utf-8"


def _binary(name: str) -> InputError:
    return InputError(f"{name} is not text; export it as CSV text in UTF-8.")
