"""The report: one printable HTML file that asks nothing of any network.

In come an assessment, a proposal and the answers beside them; out comes one file."""
