"""How warm-up changes the preload: unequal expansion against the compliance of the joint."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array, Floats, require, require_positive


@dataclass(frozen=True, kw_only=True, eq=False)
class ExpandingLayer:
    """A part of the grip, or of the fastener over the same length."""

    length: Floats
    """Length at the assembly temperature [m]."""
    expansion: Floats
    """Mean linear expansion over the temperature change, alpha [1/K]."""
    temperature_change: Floats
    """From assembly to the state judged [K]; negative is colder."""


def free_growth(*, length: Floats, expansion: Floats, temperature_change: Floats) -> Array:
    """Return the growth of an unhindered part, alpha L dT [m].

    length: L [m]; expansion: alpha [1/K]; temperature_change: dT [K]. Exact for constant alpha.
    Source: [WENTZELL] 6.3.
    """
    return np.asarray(expansion, dtype=float) * np.asarray(length) * np.asarray(temperature_change)


def _growth(layers: Sequence[ExpandingLayer]) -> Array:
    """Return the summed free growth of layers [m]."""
    return sum(
        (
            free_growth(
                length=layer.length,
                expansion=layer.expansion,
                temperature_change=layer.temperature_change,
            )
            for layer in layers
        ),
        np.zeros(()),
    )


def thermal_preload_change(
    *,
    fastener: Sequence[ExpandingLayer],
    members: Sequence[ExpandingLayer],
    fastener_compliance: Floats,
    member_compliance: Floats,
) -> Array:
    """Return the change of preload per fastener with temperature, dF_th [N]; gain is positive.

    fastener: its parts over the grip; members: what it clamps, over the same length;
    fastener_compliance: delta_S [m/N]; member_compliance: delta_P, gasket included [m/N]
    (0 for rigid members, an upper bound).
    dF = (sum alpha_P t dT_P - sum alpha_S L dT_S)/(delta_S + delta_P). Exact while elastic; a
    gasket or a fastener in its plastic range yields instead and loses it again when cold.
    Source: [BOLT-TEMPERATURE] eq 4; rigid members [BICKFORD] eq 11.13.
    """
    require_positive("fastener_compliance", fastener_compliance, "m/N")
    require("member_compliance", member_compliance, "0 m/N or more", lambda x: x >= 0)
    give = np.asarray(fastener_compliance, dtype=float) + np.asarray(member_compliance)
    return (_growth(members) - _growth(fastener)) / give
