"""Answers as text of 80 columns, readable without colour.

In come results of the study; out come strings."""
