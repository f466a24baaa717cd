"""Text blocks of the page. Everything foreign goes through `safe` before it meets markup."""

import html
import re
from collections.abc import Sequence

import streamlit as st

from torquerisk.files.exports import TableColumn
from torquerisk.show.page.layout import MARK, state_mark

_MARKDOWN = re.compile(r"([\\`*_{}\[\]()#+\-.!|~<>$:&^=@])")


def safe(text: object) -> str:
    """Text as HTML shows it: nothing in it is markup."""
    return html.escape(str(text), quote=True)


_COUNT = re.compile(r"[<>]?[\d,]+$")


_UNIT = re.compile(
    r"(?<=\d) (?=(?:N·m|lb·ft|kW|hp|rpm|bar|kPa|MPa|kN|lbf|mm|cm³|m/s|kg|g|°C|K|%)(?!\w))"
)


def pretty(text: str) -> str:
    """Units as people write them, on one line with their number."""
    return _UNIT.sub("\u00a0", text.replace("N*m", "N·m"))


_STATE = re.compile("|".join(MARK))


def marked(text: str) -> str:
    """A sentence as HTML, its state words with their shapes."""
    return _STATE.sub(lambda found: state_mark(found[0]), safe(pretty(text)))


class Terms:
    """Marks the first use of each term of a word list, to be explained on hover, focus or tap."""

    def __init__(self, words: Sequence[tuple[str, str]]) -> None:
        self._meant = {word.lower(): meaning for word, meaning in words}
        self._left = set(self._meant)

    def told(self, text: str) -> str:
        """A sentence as HTML with its terms marked."""
        every = "|".join(re.escape(word) for word in sorted(self._left, key=len, reverse=True))
        if not every:
            return safe(pretty(text))
        return re.sub(rf"\b({every})(s?)\b", self._mark, safe(pretty(text)), flags=re.IGNORECASE)

    def _mark(self, found: re.Match[str]) -> str:
        word = found[1].lower()
        if word not in self._left:
            return found[0]
        self._left.discard(word)
        return (
            f'<dfn class="tr-term" tabindex="0">{found[0]}<span class="tr-meant"> '
            f"({safe(self._meant[word].rstrip('.'))})</span></dfn>"
        )


def key_line(items: Sequence[str]) -> None:
    """A line of keys to shapes or shades; each item is our own HTML."""
    block('<div class="tr-key">' + "".join(f"<span>{i}</span>" for i in items) + "</div>")


def safe_markdown(text: object, limit: int = 120) -> str:
    """Text as Markdown shows it: one line, every mark escaped."""
    return _MARKDOWN.sub(r"\\\1", " ".join(str(text).split())[:limit])


def block(inner: str) -> None:
    """Put a piece of our own HTML on the page; foreign parts are escaped by the caller."""
    if inner:
        st.html(inner)


def heading(text: str, lead: str = "") -> None:
    """A view's question, or the name of a part of it, and one line under it."""
    under = f'<p class="tr-lead">{safe(lead)}</p>' if lead else ""
    block(f'<h2 class="tr-q">{safe(text)}</h2>{under}')


def paragraphs(texts: Sequence[str], css: str = "tr-text") -> None:
    """Sentences, one to a paragraph."""
    block("".join(f'<p class="{css}">{safe(pretty(t))}</p>' for t in texts))


def bullets(texts: Sequence[str]) -> None:
    """Sentences as a list."""
    block('<ul class="tr-list">' + "".join(f"<li>{safe(pretty(t))}</li>" for t in texts) + "</ul>")


def shown(value: float | int | str | None, decimals: int | None) -> str:
    """One cell for people: thousands marked, true minus, a dash where there is no value."""
    if value is None:
        return "–"
    if isinstance(value, str):
        return value
    text = f"{value:,.{decimals}f}" if decimals is not None else f"{value:,}"
    return text.replace("-", "−")


def table(columns: Sequence[TableColumn], caption: str, css: str = "") -> str:
    """A table as HTML that scrolls inside itself and can be reached by keyboard."""
    numeric = [all(not isinstance(v, str) or _COUNT.match(v) for v in c.values) for c in columns]
    head = "".join(
        f'<th scope="col" class="{"n" if n else "w"}">{safe(c.name)}'
        + (f'<span class="u"> [{safe(c.unit)}]</span>' if c.unit and c.unit != "1" else "")
        + "</th>"
        for c, n in zip(columns, numeric, strict=True)
    )
    rows = "".join(
        "<tr>"
        + "".join(
            f'<td class="{"n" if n else "w"}">{safe(shown(c.values[k], c.decimals))}</td>'
            for c, n in zip(columns, numeric, strict=True)
        )
        + "</tr>"
        for k in range(len(columns[0].values))
    )
    return (
        f'<div class="tr-scroll {css}" tabindex="0" role="region" aria-label="{safe(caption)}">'
        f"<table><caption>{safe(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{rows}</tbody></table></div>"
    )
