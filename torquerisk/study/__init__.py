"""Demand, capacity, limits, chance, evidence, shaping and answers."""
