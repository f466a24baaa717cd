"""The JSON document of how a run file was read."""

from typing import Any

from torquerisk.files.exports import run_columns, run_facts
from torquerisk.files.run_file import FIRST, Reading
from torquerisk.quantities import RPM
from torquerisk.show.documents.assessed import envelope


def reading_document(reading: Reading) -> dict[str, Any]:
    """The document of one reading."""
    run = reading.run
    return {
        **envelope(run.notices),
        "run": run.name,
        "digest": run.digest,
        "rows": len(run.speed),
        "from_rpm": float(run.speed[0]) / RPM,
        "to_rpm": float(run.speed[-1]) / RPM,
        "columns": [
            {"heading": c.heading, "read_as": c.meaning or None, "unit": c.unit or None}
            | ({"note": c.note} if c.note else {})
            for c in reading.columns
        ],
        "facts": run_facts(run),
        "pulls": [
            {
                "number": number,
                "first_line": lines[0],
                "last_line": lines[1],
                "from_rpm": pull.low / RPM,
                "to_rpm": pull.high / RPM,
                "peak_torque_n_m": pull.peak,
            }
            for number, (pull, lines) in enumerate(reading.pulls, 1)
        ],
        "first_rows": {c.heading: list(c.values[:FIRST]) for c in run_columns(run, exact=False)},
        "record": list(run.record),
    }
