"""Answers to the other questions about an assessed run.

Here live dips, two runs side by side, the same torque later, what to measure next, and direct
cycles of the median engine. In come assessments; out come frozen answers, each worked
out once by `answers`; `results` lists the rest of the study that faces may read."""
