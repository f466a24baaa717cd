"""Slider-crank, forces over the cycle, rod, pin, big-end bearing and valve spring."""
