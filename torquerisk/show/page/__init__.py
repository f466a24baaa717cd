"""The page: one case, three ways in."""
