"""The best torque-limit curve under a ceiling: a convex program on plain numbers.

Here live its rules, objectives, search, rounding and the check that shares nothing with them. In
come speeds, a ceiling and an ask; out comes a table, or the rule that cannot hold."""
