"""For who is here for the first time: what to look at, in which order, in under a minute."""

import streamlit as st

from torquerisk.show.page.html import block, safe

Step = tuple[str, str, str]
"""A section's anchor (empty for none), the words of its link, what to do there."""

FILES: Step = (
    "", "Left column (behind the arrow on a phone).",
    "Start from an example, or send in your engine file and run. Grey words stand in for what "
    "was not given. Change what you know better, then press “Work it out”.",
)  # fmt: skip
SHORT: Step = (
    "short", "What does it come to?",
    "The answer, worst first. Check above it that your run was read as you meant it.",
)  # fmt: skip
NEXT: Step = (
    "next", "What should I measure next?", "What would narrow the ranges most, for your effort."
)  # fmt: skip
WALKS: dict[str, tuple[Step, ...]] = {
    "tuner": (
        FILES, SHORT,
        ("curve", "What limit would hold?",
         "Move the accepted chance and the earliest peak: the dashed limit follows at once and is "
         "proved a moment later. Save the table or a report to print under it."),
        ("map", "What if it made more, or less?",
         "How the chance grows with torque at every speed."),
        NEXT,
    ),
    "builder": (
        FILES, SHORT,
        ("studs", "Which studs would hold it?",
         "Set the torque to hold; the mildest fastening that holds it is chosen, with a sheet of "
         "how to tighten it. Pick another to compare."),
        ("parts", "How close is each part?", "What gives next once the head holds."),
        NEXT,
    ),
    "owner": (
        FILES, SHORT,
        ("dips", "Why is there a dip?",
         "What the torque would have been and what that would have loaded. Dotted words explain "
         "themselves when touched."),
        ("room", "Where is it tight?", "At which speeds little is to spare."),
        ("assumed", "What was assumed?", "And what to mind before anybody acts on this."),
    ),
}  # fmt: skip


def walk(entrance: str) -> None:
    """The walk of an entrance, folded: who knows the page does not see it."""
    with st.expander("First time here? Five steps, under a minute", key="walk"):
        steps = "".join(f"<li>{_link(step)} {safe(step[2])}</li>" for step in WALKS[entrance])
        block(f'<ol class="tr-list">{steps}</ol>')


def _link(step: Step) -> str:
    anchor, words, _ = step
    if not anchor:
        return f"<b>{safe(words)}</b>"
    return f'<a href="#tr-{anchor}" target="_self">{safe(words)}</a>'
