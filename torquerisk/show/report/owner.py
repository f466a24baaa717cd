"""The owner's pictures of a dip: the curve with the dip, and twenty dots with it and without."""

import numpy as np

from torquerisk.quantities import RPM, Array
from torquerisk.show.pictures import svg
from torquerisk.show.pictures.svg import Panel
from torquerisk.show.report.pictures import EDGE, SPEED, Still, still
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Assessment, Dip, LimitChange

MOST_RATIO = 1.6
"""Right end of the dots' ruler; what lies beyond is drawn at its edge."""


def dip_picture(assessment: Assessment, dip: Dip, number: int, units: Units) -> Still:
    """The measured torque with the dip shaded up to the line over it."""
    unit, size = prose.torque_unit(units)
    x, y = assessment.speed / RPM, assessment.torque / size
    ends = np.array([dip.from_speed, dip.to_speed]) / RPM
    over = np.array([dip.from_torque, dip.to_torque]) / size
    inside = (x >= ends[0]) & (x <= ends[1])
    line = np.interp(x[inside], ends, over)
    low, high = float(y.min()), float(max(y.max(), over.max()))
    span = max(high - low, 1.0)

    def draw(width: float) -> tuple[list[str], float]:
        panel = Panel(
            left=44, right=width - EDGE, top=26, bottom=176, x_low=float(x[0]), x_high=float(x[-1]),
            y_low=low - 0.05 * span, y_high=high + 0.14 * span,
        )  # fmt: skip
        at = panel.x(dip.speed / RPM)
        parts = [
            svg.axes(panel, SPEED, f"torque at the crank [{unit}]"),
            svg.band(panel, x[inside], y[inside], line, "close"),
            svg.line(panel, x, y, "measured"),
            svg.line(panel, ends, over, "close", "dash"),
            svg.word(at, panel.y(dip.would_be_torque / size) - 10, "without the dip", "close",
                     "middle"),
        ]  # fmt: skip
        return parts, panel.bottom + 40

    alt = (
        f"Measured torque over engine speed. The dip "
        f"{prose.speeds_in_words(dip.from_speed, dip.to_speed)} is shaded up to a straight line."
    )
    return still(f"dip-{number}", "The dip", alt, draw)


def dots_picture(change: LimitChange, number: int) -> Still:
    """Twenty dots along 'load = strength', with the dip and with the dip filled in."""
    title = change.limit.title
    rows = (
        ("with the dip", change.dots_with, "holds"),
        ("with the dip filled in", change.dots_without, "exceeds"),
    )

    def draw(width: float) -> tuple[list[str], float]:
        parts, top, at_one = [], 8.0, 0.0
        for name, dots, tone in rows:
            panel = Panel(
                left=8, right=width - 8, top=top + 18, bottom=top + 74, x_low=0.0,
                x_high=MOST_RATIO, y_low=0.0, y_high=1.0,
            )  # fmt: skip
            at_one = panel.x(1.0)
            parts.append(svg.straight(at_one, panel.top - 4, at_one, panel.bottom, "zero"))
            parts.append(svg.straight(panel.left, panel.bottom, panel.right, panel.bottom, "axis"))
            past = int(np.sum(dots >= 1.0))
            parts.append(
                svg.word(panel.left, top + 12, f"{name}: {past} of {len(dots)} past", tone)
            )
            parts += _dots(panel, dots, tone)
            top = panel.bottom + 6
        parts.append(svg.word(8, top + 14, "less load", kind="tick"))
        parts.append(svg.word(at_one, top + 14, "load = strength", "ink", "middle", "tick"))
        parts.append(svg.word(width - 8, top + 14, "more load", anchor="end", kind="tick"))
        return parts, top + 22

    counts = [int(np.sum(d >= 1.0)) for _, d, _ in rows]
    alt = (
        f"{title}: {counts[0]} of {len(change.dots_with)} dots lie past the limit with the dip, "
        f"{counts[1]} with the dip filled in."
    )
    return still(f"dots-{number}", f"{title} with the dip and without it", alt, draw)


def _dots(panel: Panel, dots: Array, tone: str) -> list[str]:
    """Dots stacked where they would lie on each other; filled ones are past the limit."""
    radius = 5.0
    placed: list[tuple[float, int]] = []
    parts = []
    for value in dots:
        at = panel.x(float(np.clip(value, 0.0, MOST_RATIO - 0.02)))
        level = 0
        while any(abs(at - x) < 2 * radius + 1 and level == k for x, k in placed):
            level += 1
        placed.append((at, level))
        shape = "circle" if value >= 1.0 else "ring"
        up = panel.bottom - 3 - radius - level * (2 * radius + 1)
        parts.append(svg.mark(at, up, tone, shape, radius))
    return parts
