"""Runs as Parquet, in and out: units in the headings and in each field's own metadata."""

import io
from typing import Any

import numpy as np

from torquerisk.case import Run
from torquerisk.errors import InputError
from torquerisk.files.exports import run_columns, run_facts
from torquerisk.files.grid import MAX_CELLS
from torquerisk.files.table import Cells, Table
from torquerisk.files.text import brief

MARK = b"PAR1"
UNIT = b"unit"
"""Name under which a field's metadata holds its unit."""
_OTHERS = ("ARROW:schema", "pandas")


def is_parquet(data: bytes) -> bool:
    """True for the bytes of a Parquet file."""
    return data.startswith(MARK)


def parquet_table(data: bytes, name: str) -> Table:
    """The columns of a Parquet file as a table; its metadata count as `key: value` lines.

    Raises InputError where the file is damaged or too large.
    """
    import pyarrow
    import pyarrow.parquet

    try:
        file = pyarrow.parquet.ParquetFile(io.BytesIO(data))
        shape = file.metadata.num_rows, file.metadata.num_columns
        if shape[0] * shape[1] > MAX_CELLS:
            raise InputError(
                f"{name} has {shape[0]} rows of {shape[1]} columns, which is more than can be "
                "read; export only the pull and its channels."
            )
        table = file.read()
    except (pyarrow.ArrowException, OSError):
        raise InputError(f"{name} is a damaged Parquet file; export it again.") from None
    facts = {
        key.decode("utf-8", "replace"): value.decode("utf-8", "replace")
        for key, value in (table.schema.metadata or {}).items()
    }
    return Table(
        headings=[_heading(field) for field in table.schema],
        lines=np.arange(1, table.num_rows + 1),
        columns=[_cells(column) for column in table.columns],
        remarks=[(0, f"{k}: {v}", True) for k, v in facts.items() if k not in _OTHERS],
    )


def _heading(field: Any) -> tuple[str, ...]:
    unit = (field.metadata or {}).get(UNIT, b"").decode("utf-8", "replace")
    return (field.name, unit) if unit and unit not in field.name else (field.name,)


def _cells(column: Any) -> Cells:
    import pyarrow

    there = ~column.is_null().to_numpy()
    if pyarrow.types.is_floating(column.type) or pyarrow.types.is_integer(column.type):
        values = column.cast(pyarrow.float64(), safe=False).to_numpy()
        infinite = there & np.isinf(values)
        values = np.where(there & ~infinite, values, np.nan)
        return Cells(values=values, bad=infinite, first_bad="infinite", foreign=False)
    first = next((str(v) for v in column.slice(0, 1000).to_pylist() if v is not None), "")
    values = np.full(len(column), np.nan)
    return Cells(values=values, bad=there, first_bad=brief(first), foreign=False)


def run_parquet(run: Run) -> bytes:
    """A run as the bytes of a Parquet file that `load_run` reads back bit for bit."""
    import pyarrow
    import pyarrow.parquet

    columns = run_columns(run)
    fields = [
        pyarrow.field(c.heading, pyarrow.float64(), metadata={UNIT: c.unit.encode()})
        for c in columns
    ]
    facts = {k.encode(): v.encode() for k, v in run_facts(run).items()}
    schema = pyarrow.schema(fields, metadata=facts)
    arrays = [pyarrow.array(c.values, pyarrow.float64()) for c in columns]
    out = io.BytesIO()
    pyarrow.parquet.write_table(pyarrow.Table.from_arrays(arrays, schema=schema), out)
    return out.getvalue()
