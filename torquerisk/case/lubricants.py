"""What is put on fasteners, by the name on the tin, and the friction that it gives."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class LubricantKind:
    """A kind of lubricant: the range of its friction, in thread and under head alike [-]."""

    name: str
    low: float
    high: float
    where: str
    """What it is and where it goes."""
    source: str
    """Of the range, in words."""

    @property
    def middle(self) -> float:
        """Middle of the range [-]."""
        return (self.low + self.high) / 2

    @property
    def sd(self) -> float:
        """Standard deviation [-]: the range read as two standard deviations each way."""
        return (self.high - self.low) / 4


_SHIGLEY = "middle by Shigley's torque coefficients, width by VDI 2230 Table A5, from memory"

LUBRICANTS: dict[str, LubricantKind] = {
    row.name: row
    for row in (
        LubricantKind(
            name="engine oil", low=0.10, high=0.16,
            where="threads and faces wet with engine oil", source=_SHIGLEY,
        ),
        LubricantKind(
            name="molybdenum paste", low=0.06, high=0.12,
            where="molybdenum disulphide paste on threads and faces",
            source="middle between Shigley's torque coefficient of anti-seize, 0.12, and "
            "Bickford's of paste, 0.13, width by VDI 2230 Table A5, from memory",
        ),
        LubricantKind(
            name="thread sealant", low=0.10, high=0.18,
            where="liquid sealant in holes that reach the water jacket, oil under the head",
            source="common practice, no source",
        ),
        LubricantKind(
            name="dry", low=0.16, high=0.30, where="no lubricant, plain or phosphated steel",
            source=_SHIGLEY,
        ),
    )
}  # fmt: skip
"""Kinds by name. A maker's own friction figure is worth more than any of them."""
