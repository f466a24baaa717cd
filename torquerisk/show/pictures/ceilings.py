"""The run's torque under every ceiling that is near it, each a line with its name."""

import numpy as np

from torquerisk.files.exports import speed_column
from torquerisk.quantities import Array
from torquerisk.show.pictures.drawing import new_figure, speed_axis
from torquerisk.show.pictures.placing import apart
from torquerisk.show.pictures.style import READING, Look, Picture, Stamp, plain, rpm, torque_column
from torquerisk.show.words.ceilings import TITLE, sentences, shown
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Assessment, Ceiling, LimitKind

MOST_LINES = 6
"""Ceilings drawn: more lines than that are no picture."""
TOP = 1.6
"""Top of the axis over the run's peak torque [-]."""
DASHES = ("solid", "dash", "dashdot", "dot", "solid", "dash")


def ceilings_picture(assessment: Assessment, look: Look, stamp: Stamp | None) -> Picture:
    """Measured torque, and what each of the nearest ceilings allows at the accepted chance.

    A sign marks where the run comes nearest to it; lines end where a ceiling is beyond the model.
    """
    a, (unit, size) = assessment, look.torque
    found = answers_of(a).ceilings
    x, top = rpm(a.speed), TOP * float(a.torque.max()) / size
    near = [one for one in shown(found) if one.torque / size < top][:MOST_LINES]
    figure = new_figure(look, 420, stamp)
    figure.line(x, a.torque / size, look.measured, f"measured %{{y:.0f}} {unit}", name="measured")
    for one, dash in zip(near, DASHES, strict=False):
        allowed = _finite(one) / size
        title, colour = plain(one.limit.title.lower()), _colour(one, look)
        hover = f"{title} %{{y:.0f}} {unit}"
        figure.line(
            x, np.where(allowed < top, allowed, np.nan), colour, hover, dash=dash, width=1.8
        )
        if np.isfinite(one.torque):
            figure.signs([float(rpm(one.speed))], [one.torque / size], READING, colour, size=8)
    heights = apart([max(one.torque, 0.0) / size for one in near], 0.055 * top)
    for one, height in zip(near, heights, strict=True):
        left = one.index > len(x) // 2
        figure.word(
            float(rpm(one.speed)), height, plain(one.limit.title.lower()), _colour(one, look),
            "left" if left else "right", 9,
        )  # fmt: skip
    peak = int(np.argmax(a.torque))
    figure.word(float(x[peak]), a.torque[peak] / size, "measured", look.measured, "below", 6)
    speed_axis(figure, float(a.speed[0]), float(a.speed[-1]))
    figure.update_yaxes(range=[0, top], title_text=f"crank torque [{unit}]")
    return Picture(
        name="ceilings",
        title=TITLE,
        figure=figure.done(),
        alt="Measured torque over engine speed, and what each ceiling allows. "
        + " ".join(sentences(found, look.units)),
        columns=(
            speed_column(a.speed),
            torque_column("measured", a.torque, look),
            *(torque_column(one.limit.title.lower(), _finite(one), look) for one in near),
        ),
    )


def _finite(one: Ceiling) -> Array:
    """Torque that a ceiling allows (S,) [N*m]; no number where it allows none or any."""
    return np.where(np.isfinite(one.allowed), one.allowed, np.nan)


def _colour(one: Ceiling, look: Look) -> str:
    """By what a ceiling is made of: parts, or fuel, spark and air."""
    return look.capacity if one.limit.kind is LimitKind.STRENGTH else look.limit
