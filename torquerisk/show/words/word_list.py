"""Words that readers who are new to engines are told."""

from collections.abc import Iterable

WORD_LIST: tuple[tuple[str, str], ...] = (
    ("Clamp", "the force with which the tightened fasteners press the head onto the block."),
    ("Lift", "gas pressure pushes the head up until its gasket no longer seals."),
    ("Knock", "the last of the mixture burns all at once instead of in a flame, and rings."),
    ("Pre-ignition", "the mixture lights before the spark: rare, sudden and hard on the parts."),
    ("Phasing", "when in the stroke the mixture burns; CA50 is the angle at which half is burned."),
    ("Retard", "to light the mixture later: less pressure, less torque, hotter exhaust."),
    ("Boost", "pressure above the outside air's, made by a turbocharger or supercharger."),
    ("Lambda", "air over the air that the fuel needs: below 1 is rich, above 1 is lean."),
    ("Rod", "the bar between piston and crankshaft; it carries the gas force and can bend."),
    ("Oil film", "the oil that keeps a bearing's faces apart; speed feeds it, load thins it."),
    ("Margin", "strength less load: what is left before a part gives."),
    (
        "Simulated engine",
        "one way that your engine could be, drawn from the ranges of what is not known exactly.",
    ),
)
"""Short word list for readers who are new to engines: one plain sentence each."""


def words_used(texts: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Of the word list, what some texts use."""
    said = " ".join(texts).lower()
    return tuple((word, meaning) for word, meaning in WORD_LIST if word.lower() in said)
