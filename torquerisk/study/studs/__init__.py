"""The builder's bench: which fasteners, tightened how, hold a torque.

Here fastenings are chosen and judged by the same head model as the assessment. In come an
assessment and a target; out come choices, findings and the loads in joint and ring."""
