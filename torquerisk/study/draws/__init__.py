"""Simulated engines: each one way that an engine could be.

Here lives what is drawn, how widely and why. In come an engine's inputs; out come deviates, a
column for each uncertain input."""
