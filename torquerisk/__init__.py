"""torquerisk."""
