"""Runs as Parquet, in and out."""

import io

import numpy as np
import pyarrow
import pyarrow.parquet
import pytest

from torquerisk.case import Run
from torquerisk.errors import InputError
from torquerisk.files.exports import run_csv
from torquerisk.files.parquet import run_parquet
from torquerisk.files.run_file import run_from_bytes
from torquerisk.quantities import RPM

SPEED, TORQUE = np.array([2003.4, 3000, 4100.7]) * RPM, np.array([200.1, 230.2, 220.3])
RUN = Run(
    speed=SPEED,
    torque=TORQUE,
    channels={"manifold_pressure": np.array([1.5e5, 1.61e5, 1.62e5]), "lambda_": np.full(3, 0.9)},
    facts={"measured_at": "wheel", "driveline_loss": 0.14, "ambient_pressure": 98400.0},
)


def written(table: pyarrow.Table) -> bytes:
    out = io.BytesIO()
    pyarrow.parquet.write_table(table, out)
    return out.getvalue()


def test_a_run_reads_back_bit_for_bit():
    """Identity: Parquet and CSV of one run give the same numbers, units and facts."""
    one, two = run_from_bytes(run_parquet(RUN), "run"), run_from_bytes(run_csv(RUN).encode(), "run")
    for run in (one, two):
        assert run.speed.tolist() == RUN.speed.tolist()
        assert run.torque.tolist() == RUN.torque.tolist()
        assert {k: v.tolist() for k, v in run.channels.items()} == {
            k: v.tolist() for k, v in RUN.channels.items()
        }
        assert run.facts == RUN.facts


def test_units_may_stand_in_the_field_or_in_its_name():
    """Identity: a unit in a field's metadata counts as one in its heading."""
    fields = [
        pyarrow.field("EngineRPM", pyarrow.int32()),
        pyarrow.field("wheel torque", pyarrow.float32(), metadata={b"unit": b"lb-ft"}),
        pyarrow.field("note", pyarrow.string()),
    ]
    columns = [[2000, 3000, None, 4000], [100.0, 110.0, 120.0, 115.0], ["a", None, "b", "c"]]
    arrays = [pyarrow.array(c, f.type) for c, f in zip(columns, fields, strict=True)]
    table = pyarrow.Table.from_arrays(arrays, schema=pyarrow.schema(fields))
    run = run_from_bytes(written(table), "log.parquet")
    assert run.facts == {"measured_at": "wheel"}
    assert run.speed / RPM == pytest.approx([2000, 3000, 4000])
    assert run.torque == pytest.approx(np.array([100, 110, 115]) * 1.3558179483314, rel=1e-6)
    assert any("'note'" in line for line in run.record)


def test_a_damaged_file_is_refused_in_one_sentence():
    """Common practice, no source: a cut file is named, with what to do."""
    data = run_parquet(RUN)
    with pytest.raises(InputError, match=r"log\.parquet is a damaged Parquet file"):
        run_from_bytes(data[: len(data) // 2], "log.parquet")
    without = written(pyarrow.table({"rpm": [2000.0, 3000], "torque": [1.0, 2]}))
    with pytest.raises(InputError, match="no unit"):
        run_from_bytes(without, "log.parquet")
