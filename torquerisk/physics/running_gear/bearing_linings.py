"""Specific load that bearing linings and piston-pin bearings are held to: editable guidance.

A lining that is within its fatigue guidance can still be wiped by a film too thin: see `big_end`.
"""

from typing import NamedTuple

from torquerisk.quantities import MEGA


class LiningLimit(NamedTuple):
    """Guidance on the peak specific load F/(d b) of one lining or bush [Pa]."""

    low: float
    """Careful end."""
    high: float
    """Bold end."""

    @property
    def middle(self) -> float:
        """Middle of the guidance [Pa]."""
        return (self.low + self.high) / 2


def _limits(rows: dict[str, tuple[float, float]]) -> dict[str, LiningLimit]:
    return {name: LiningLimit(low * MEGA, high * MEGA) for name, (low, high) in rows.items()}


LININGS = _limits(
    {
        "tin white metal over 0.1 mm": (12, 14),
        "tin white metal up to 0.1 mm": (14, 17),
        "sintered copper-lead, overlay 0.05 mm": (21, 23),
        "sintered copper-lead, overlay 0.025 mm": (28, 31),
        "sintered lead-bronze, overlay": (28, 31),
        "cast copper-lead, overlay": (31, 31),
        "lead-bronze or tin-aluminium, small engines": (45, 51.7),
        "AlSn20": (40, 45),
        "AlSnSi": (55, 60),
        "trimetal, electroplated overlay": (60, 75),
        "polymer-coated bimetal": (80, 100),
        "sputtered overlay": (100, 120),
    }
)
"""Big-end and main bearing linings by trade name of their build. Source: [TRIBOLOGY-HANDBOOK] A11
(seen) for the first six, which it states for medium and large compression-ignition engines, and for
the 7,500 lbf/in² of small engines, whose lower end is common practice; [PRACTICE] for the rest."""

PIN_BEARINGS = _limits(
    {
        "aluminium piston boss": (60, 69),
        "aluminium piston boss, boosted petrol": (70, 100),
        "bushed piston boss, diesel": (100, 150),
        "bronze small-end bush": (60, 100),
        "bronze small-end bush, diesel": (110, 160),
    }
)
"""Piston-pin bearings, peak pressure on the projected area. Source: [TRIBOLOGY-HANDBOOK] B16 (seen)
for the first, 10,000 lbf/in² peak, the lower end common practice; [PRACTICE] for the rest."""
