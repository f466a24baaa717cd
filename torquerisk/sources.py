"""One bibliography: every source key used in a docstring, a test or a result lives here."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Source:
    """A published work or a named practice, and how sure we are of what we took from it."""

    title: str
    how_sure: str
    """One of 'seen', 'secondary', 'from memory', 'common practice, no source'."""


SOURCES: dict[str, Source] = {
    "HEYWOOD": Source(
        title="J. B. Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, 1988",
        how_sure="from memory",
    ),
    "PRACTICE": Source(title="Common practice in the trade", how_sure="common practice, no source"),
}
