"""Frozen inputs: engine, run and policy, each field declared once."""
