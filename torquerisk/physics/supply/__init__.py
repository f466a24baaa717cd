"""Ceilings set by fuel, charge and spark supply."""
