"""The JSON documents and CSV files of the command: fixed keys, unit as suffix.

In come results of the study; out come plain dictionaries and rows, unrounded."""
