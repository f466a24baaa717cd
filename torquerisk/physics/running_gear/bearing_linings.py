"""Specific load that bearing linings and piston-pin bearings are held to: editable guidance.

A lining that is within its fatigue guidance can still be wiped by a film too thin: see `big_end`.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class LiningLimit:
    """Guidance on the peak specific load F/(d b) of one lining or bush."""

    low: float
    """Careful end of the guidance [Pa]."""
    high: float
    """Bold end of the guidance [Pa]."""
    source: str
    """Key of the bibliography."""
    how_sure: str
    """One of the bibliography's degrees."""
    remark: str = ""
    """What it was stated for."""

    @property
    def middle(self) -> float:
        """Middle of the guidance [Pa]."""
        return (self.low + self.high) / 2


def _limit(low: float, high: float, source: str, how_sure: str, remark: str = "") -> LiningLimit:
    return LiningLimit(
        low=low * 1e6, high=high * 1e6, source=source, how_sure=how_sure, remark=remark
    )


HANDBOOK, SEEN = "TRIBOLOGY-HANDBOOK", "seen"
PRACTICE, NO_SOURCE = "PRACTICE", "common practice, no source"
LARGE = "medium and large compression-ignition engines"

LININGS: dict[str, LiningLimit] = {
    "tin white metal over 0.1 mm": _limit(12, 14, HANDBOOK, SEEN, LARGE),
    "tin white metal up to 0.1 mm": _limit(14, 17, HANDBOOK, SEEN, LARGE),
    "sintered copper-lead, overlay 0.05 mm": _limit(21, 23, HANDBOOK, SEEN, LARGE),
    "sintered copper-lead, overlay 0.025 mm": _limit(28, 31, HANDBOOK, SEEN, LARGE),
    "sintered lead-bronze, overlay": _limit(28, 31, HANDBOOK, SEEN, LARGE),
    "cast copper-lead, overlay": _limit(31, 31, HANDBOOK, SEEN, LARGE),
    "lead-bronze or tin-aluminium, small engines": _limit(
        45, 51.7, HANDBOOK, SEEN, "small engines: 7,500 lbf/in²; the lower is common practice"
    ),
    "AlSn20": _limit(40, 45, PRACTICE, NO_SOURCE),
    "AlSnSi": _limit(55, 60, PRACTICE, NO_SOURCE),
    "trimetal, electroplated overlay": _limit(60, 75, PRACTICE, NO_SOURCE),
    "polymer-coated bimetal": _limit(80, 100, PRACTICE, NO_SOURCE),
    "sputtered overlay": _limit(100, 120, PRACTICE, NO_SOURCE),
}
"""Big-end and main bearing linings by trade name of their build."""

PIN_BEARINGS: dict[str, LiningLimit] = {
    "aluminium piston boss": _limit(
        60, 69, HANDBOOK, SEEN, "upper value 10,000 lbf/in² peak; the lower is common practice"
    ),
    "aluminium piston boss, boosted petrol": _limit(70, 100, PRACTICE, NO_SOURCE),
    "bushed piston boss, diesel": _limit(100, 150, PRACTICE, NO_SOURCE),
    "bronze small-end bush": _limit(60, 100, PRACTICE, NO_SOURCE),
    "bronze small-end bush, diesel": _limit(110, 160, PRACTICE, NO_SOURCE),
}
"""Piston-pin bearings, peak pressure on the projected area."""
