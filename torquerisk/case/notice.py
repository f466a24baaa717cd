"""Notices and cautions: what a reader must know beside the numbers."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Notice:
    """A caveat that belongs to a result, so that every face shows the same one."""

    code: str
    text: str


LIFTS = "lifts"
"""Code of the notice of a run whose curve leaves out where torque fell away within the pull."""
GAS_ELSEWHERE = "coolant-elsewhere"
"""Code of the notice that coolant pressure rose in another pull of the log than the one read."""
LEFT_OUT = "left-out"
"""Code of the notice of columns that a verdict may turn on and that a run was read without."""
CAUTIONS: tuple[str, ...] = (
    "Every number here is an estimate from a model and from the inputs you gave, not a promise "
    "that an engine holds.",
    "The maker's data and tightening procedure, local codes and a qualified engine builder come "
    "first, and decide.",
    "Stop the run at signs of coolant pressure, knock, a loss of oil or fuel pressure, or a "
    "misfire; keep people clear of a loaded engine and of rotating parts.",
    "A torque limit protects only with the fuel, ignition, temperatures and hardware it was "
    "judged at; judge it again when one of them changes.",
)
