"""Whether boost whose heading says neither is gauge or absolute pressure, by the file's own rows.

With hardly any load an engine is throttled below the atmosphere, a diesel is about there. Gauge
pressure is then below zero or near it, and absolute pressure is not. Shares and pressures: common
practice, no source.
"""

from dataclasses import replace

import numpy as np

from torquerisk.files.run_columns import Columns, as_words
from torquerisk.files.table import Table

ATMOSPHERE = 101325.0
"""[Pa]"""
LITTLE, MUCH = 0.25, 0.5
"""Shares of the greatest torque below which there is hardly any load, and above which the throttle
is open [1]."""
LEAST_ROWS = 10
"""Rows of hardly any load from which they tell."""
SUCKED = -5e3
"""Gauge pressure at hardly any load that no absolute pressure can be [Pa]."""
HELD = 25e3
"""Boost that no engine holds with hardly any load; rows behind a pull, while it dies away, are
left out by taking the tenth percentile [Pa]."""
THROTTLED = 0.75
"""Manifold over ambient pressure below which no engine pulls at full load [1]."""


def settle_zero(table: Table, columns: Columns) -> str:
    """Settle what boost is counted from where the rows tell; else what to ask, '' for nothing."""
    column = columns.used.get("manifold_pressure")
    load = columns.used.get("torque", columns.used.get("power"))
    if column is None or load is None or not column.unsaid or column.ambient == 0.0:
        return ""
    loads, raw = table.columns[load.index].values, table.columns[column.index].values
    there = np.isfinite(loads) & np.isfinite(raw)
    most = float(np.max(loads[there], initial=0.0))
    light = raw[there & (loads < LITTLE * most)] * column.unit.size
    loaded = raw[there & (loads > MUCH * most)] * column.unit.size
    if most <= 0.0 or len(light) < LEAST_ROWS:
        return f"is {column.label} absolute?"
    least = float(np.percentile(light, 10))
    told = f"{column.label} says neither gauge nor absolute pressure: "
    where = f"with hardly any load {least / column.unit.size:.4g} {column.unit.spelling}"
    doubts = [text for text in columns.doubts if not text.startswith(told)]
    if least < SUCKED:
        columns.doubts = doubts
        columns.record.append(f"{told}{where} or less tells that it is gauge pressure.")
        return ""
    if least <= HELD or float(np.percentile(loaded, 5)) < THROTTLED * ATMOSPHERE:
        return f"is {column.label} absolute?"
    settled = replace(column, ambient=0.0)
    columns.used["manifold_pressure"] = settled
    columns.doubts = [
        *doubts,
        f"{told}it is taken as absolute pressure, for 9 of 10 rows {where} or more, and no "
        "engine holds as much boost there.",
    ]
    was, now = as_words(column), as_words(settled)
    columns.record = [now[was.index(t)] if t in was else t for t in columns.record]
    return ""
