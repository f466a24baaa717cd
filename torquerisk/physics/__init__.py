"""Physics in SI floats and arrays: numpy and scipy only, no state, no input or output."""
