"""One cylinder and its closed cycle.

Here direct cycles become response tables that stand for millions of them. In comes an engine's
cylinder; out come peak pressure, its angle, trapped pressure and knock over load, phasing and
speed."""
