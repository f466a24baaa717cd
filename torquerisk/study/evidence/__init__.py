"""What is known of an engine beside its inputs, one object a piece, listed in `pieces`.

In come a run on its grid and simulated engines; out come those that agree with every piece, in
equal weight, and what the pieces were, in words."""
