"""Threads, strength classes, tightening and the clamped head joint."""
