"""One closed cycle as text of 80 columns."""

from torquerisk.case import Engine
from torquerisk.quantities import BAR, DEGREE
from torquerisk.show.text.blocks import columns, paragraph, section
from torquerisk.show.text.tables import closing, displacement
from torquerisk.show.words import prose
from torquerisk.study.answers.results import OneCycle


def cycle_text(engine: Engine, one: OneCycle) -> str:
    """One closed cycle in words and numbers."""
    c = one.cycle
    angle = float(c.peak_angle[0]) / DEGREE
    rows = [
        ["gross IMEP", prose.plain(float(c.imep_gross[0]) / BAR, 2), "bar"],
        ["peak pressure", prose.plain(float(c.peak_pressure[0]) / BAR, 1), "bar"],
        ["at", prose.plain(angle, 1), "deg after firing TDC"],
        ["steepest rise", prose.plain(float(c.max_pressure_rise_rate[0]) / BAR * DEGREE, 2),
         "bar/deg"],
        ["trapped pressure at intake closing", prose.plain(float(c.trapped_pressure[0]) / BAR, 3),
         "bar"],
        ["indicated efficiency", prose.plain(100 * float(c.indicated_efficiency[0]), 1), "%"],
        ["CA50", prose.plain(one.ca50 / DEGREE, 1), "deg after firing TDC"],
        ["burn from 10 to 90 %", prose.plain(one.burn / DEGREE, 1), "deg"],
        ["lambda", prose.plain(one.lambda_, 3), ""],
    ]  # fmt: skip
    if one.ignition is not None:
        delay, angle = float(one.ignition.delay[0]), float(one.ignition.angle[0])
        rows += [
            ["ignition delay", prose.plain(1e3 * delay, 2), "ms"],
            ["the same", prose.plain(angle / DEGREE, 1), "deg"],
            ["burned premixed", prose.plain(100 * float(one.ignition.premixed[0])), "%"],
        ]
    return "\n".join(
        [
            section("Read", [paragraph(f"{engine.name}; {displacement(engine)}.")]),
            section(f"One cycle at {prose.speed_in_words(one.speed)}", [
                columns(["", "", ""], rows, left=(0, 2)).lstrip("\n")]),
            section("Trace", [paragraph("Pressure over crank angle: add --json.")]),
            closing(one.notices, None),
        ]
    )  # fmt: skip
