"""Response surface of the closed cycle: a few hundred direct cycles a speed stand for millions.

Peak pressure, its angle, trapped pressure and more are tabulated over gross IMEP and CA50 from
direct cycles at Chebyshev speeds; what else varies acts on them through polynomials about the
middle (`spark_tables`) and, in a diesel, through its premixed share (`diesel_tables`). Between
speeds the tables are interpolated by the polynomial through them. The tables depend on the engine
only, never on the run, so a run that is moved is judged on the same tables. The direct cycle stays
the reference: a test holds the difference below 0.3 % of peak at the 5, 50 and 95 % points.

Between load rows peak pressure is read linearly: up to 0.65 % low, 1.4 % high where phasing bends.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from torquerisk.quantities import Array
from torquerisk.study.cycle import diesel_cycles, spark_tables
from torquerisk.study.cycle.cylinder import CylinderSpec
from torquerisk.study.cycle.table_grid import SPEED_NODES, chebyshev_speeds, lagrange_weights


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """Tables of every metric over gross IMEP and CA50 at the Chebyshev speeds."""

    spec: CylinderSpec
    node_speed: Array
    """Chebyshev speeds (V,) [rad/s]."""
    tables: Array
    """(V, metrics, T terms of what else varies, I, J)."""
    premixed: Array | None = None
    """What a diesel's premixed share does (V, I, J, ...), see `diesel_tables`; None for spark."""

    def at_speeds(self, speed: Array) -> Array:
        """Tables (S, metrics, T, I, J) at speeds (S,) [rad/s]."""
        return self._interpolated(self.tables, speed)

    def premixed_at_speeds(self, speed: Array) -> Array:
        """What a diesel's premixed share does (S, I, J, ...) at speeds (S,) [rad/s]."""
        assert self.premixed is not None
        return self._interpolated(self.premixed, speed)

    def _interpolated(self, tables: Array, speed: Array) -> Array:
        weights = lagrange_weights(np.log(self.node_speed), np.log(speed))
        return np.einsum("sv,v...->s...", weights, tables)


@lru_cache(maxsize=8)
def fit_surface(spec: CylinderSpec) -> Surface:
    """Tables of a cylinder from direct cycles at every Chebyshev speed.

    Kept per spec: a moved input that does not touch the cylinder costs nothing here.
    """
    nodes = chebyshev_speeds(spec.speed_low, spec.speed_high, SPEED_NODES)
    if not spec.compression_ignition:
        return Surface(spec=spec, node_speed=nodes, tables=spark_tables.speed_tables(spec, nodes))
    tables, premixed = diesel_cycles.speed_tables(spec, nodes)
    return Surface(spec=spec, node_speed=nodes, tables=tables, premixed=premixed)
