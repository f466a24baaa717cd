"""Text and units in, SI out; SI in, files out."""
