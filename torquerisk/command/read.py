"""The verb `read`: how a run file is read, and the run written as the package would."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from torquerisk.command.limit import Answer
from torquerisk.command.request import (
    STDIN,
    hows_of,
    inputs_of,
    named,
    stdin_bytes,
    writable,
)
from torquerisk.files.exports import run_csv, write_atomically
from torquerisk.files.parquet import run_parquet
from torquerisk.files.run_file import reading_of
from torquerisk.files.text import MAX_RUN_BYTES, read_bytes
from torquerisk.show.documents.reading import reading_document
from torquerisk.show.text.reading import reading_text


def read_answer(file: str, given: Mapping[str, Any], output: str | None, as_json: bool) -> Answer:
    """The answer to `read`; writes the run where an output is wanted."""
    named(file, "FILE")
    writable(output, "--output", inputs_of({"run": file}))
    data, name = stdin_bytes(), "standard input"
    if file != STDIN:
        data, name = read_bytes(file, "a run file such as run.csv", MAX_RUN_BYTES), Path(file).name
    reading = reading_of(data, name, hows_of(given, {})[0])
    if output is not None:
        parquet = output.casefold().endswith(".parquet")
        write_atomically(
            output, run_parquet(reading.run) if parquet else run_csv(reading.run).encode()
        )
    if as_json:
        return Answer(shown={**reading_document(reading), "file": output})
    return Answer(shown=reading_text(reading, output))
