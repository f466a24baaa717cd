"""Puts this folder on the path, so that tests in the folders below share `cli_case`."""
