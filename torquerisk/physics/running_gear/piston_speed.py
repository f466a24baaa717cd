"""Published guidance on mean piston speed by kind of engine: an indicator, never a limit.

What loads piston and rod is acceleration times mass; two engines of equal mean piston speed differ
in it by stroke, rod length and the weight of their parts. See `slider_crank.piston_acceleration`.
"""

from dataclasses import dataclass

from torquerisk.physics.arrays import require

STANDARD_GRAVITY = 9.80665
"""One g [m/s²]."""


@dataclass(frozen=True, kw_only=True)
class PistonSpeedGuide:
    """Mean piston speed at rated speed that is published for one kind of engine."""

    kind: str
    """In the plural."""
    low: float
    """[m/s]"""
    high: float
    """[m/s], the same as low where one value is published."""
    source: str
    """Key of the bibliography."""


PAGE, TEXTBOOK = "PISTON-SPEED-PAGE", "HEYWOOD"


def _guide(kind: str, low: float, high: float | None = None) -> PistonSpeedGuide:
    return PistonSpeedGuide(kind=kind, low=low, high=low if high is None else high, source=PAGE)


SPARK_GUIDES = (
    _guide("petrol engines", 16.0),
    _guide("sport engines", 20.0, 25.0),
    _guide("competition engines", 25.0),
    _guide("extreme engines", 30.0),
)
"""By rising speed."""
COMPRESSION_GUIDES = (
    _guide("low-speed diesels", 8.5),
    _guide("medium-speed diesels", 11.0),
    _guide("high-speed diesels", 14.0),
)
"""By rising speed."""
TEXTBOOK_GUIDE = PistonSpeedGuide(
    kind="engines in general at rated speed", low=8.0, high=15.0, source=TEXTBOOK
)


def guides(compression_ignition: bool) -> tuple[PistonSpeedGuide, ...]:
    """Guidance by kind of ignition, by rising speed. Source: [PISTON-SPEED-PAGE]."""
    return COMPRESSION_GUIDES if compression_ignition else SPARK_GUIDES


def neighbours(
    mean_piston_speed: float, known: tuple[PistonSpeedGuide, ...]
) -> tuple[PistonSpeedGuide | None, PistonSpeedGuide | None]:
    """Return the guide at or next below a mean piston speed, and the one next above it.

    mean_piston_speed: S_p [m/s]. known: guides by rising speed. Twice the same guide within its
    range; None where there is none on that side. Source: [PISTON-SPEED-PAGE].
    """
    require("mean piston speed", mean_piston_speed, "0 m/s or more", lambda x: x >= 0)
    below = above = None
    for guide in known:
        if guide.low <= mean_piston_speed <= guide.high:
            return guide, guide
        if guide.high < mean_piston_speed:
            below = guide
        elif above is None:
            above = guide
    return below, above
