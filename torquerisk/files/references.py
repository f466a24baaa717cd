"""What a heading says that its angle or pressure is counted from: dead centre, gauge, absolute."""

from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.headings import Heading
from torquerisk.files.text import quoted
from torquerisk.files.units import Unit, says_absolute, says_gauge, unit_of


def angle_sign(heading: Heading, after_in_unit: float, channel: str) -> float:
    """+1 where the heading counts the angle as the channel does, -1 where the other way round."""
    said = {after_in_unit} - {0.0}
    said |= {1.0 for w in heading.words if w in ("atdc", "after")}
    said |= {-1.0 for w in heading.words if w in ("btdc", "before")}
    if len(said) > 1:
        raise InputError(f"the heading {quoted(heading.text)} says both before and after TDC")
    after = said.pop() if said else 0.0
    return (-after if channel == "ignition_advance" else after) or 1.0


def counted_from(heading: Heading) -> set[str]:
    """What a heading says that its pressure is counted from: gauge, absolute."""
    marks = {"absolute": says_absolute, "gauge": says_gauge}
    return {name for name, says in marks.items() if name in heading.words or says(heading.unit)}


def pressure_unit(heading: Heading, kind: Kind, doubts: list[str]) -> tuple[Unit | None, float]:
    """The unit of a pressure, and how often ambient pressure is to be added."""
    text = heading.unit
    said = counted_from(heading)
    gauge = "gauge" in said
    if len(said) > 1:
        raise InputError(
            f"the heading {quoted(heading.text)} says both gauge and absolute pressure; keep one"
        )
    if not said:
        boost = "boost" in heading.words or any(
            {word, "pressure"} <= heading.words for word in ("charge", "turbo")
        )
        gauge = kind is Kind.GAUGE_PRESSURE or boost
        if heading.unit:
            doubts.append(
                f"{quoted(heading.text)} says neither gauge nor absolute pressure: it is taken as "
                f"{'gauge' if gauge else 'absolute'} pressure; if that is not so, say "
                f"'{'absolute' if gauge else 'gauge'}' in the heading."
            )
    unit = unit_of(text, Kind.GAUGE_PRESSURE) or unit_of(text, Kind.PRESSURE)
    if kind is Kind.PRESSURE:
        return unit, 1.0 if gauge else 0.0
    return unit, 0.0 if gauge else -1.0
