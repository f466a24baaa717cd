"""What a logged ignition advance says of the burn, beside what else is known of phasing."""

import dataclasses

import numpy as np

from torquerisk.physics.cylinder import phasing
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.quantities import DEGREE, Array
from torquerisk.study.cycle.cylinder import burn_timing
from torquerisk.study.draws.cylinder_draws import cylinder_draws
from torquerisk.study.evidence.piece import Asked, Piece, few_speeds, state_at_index
from torquerisk.study.limits import place_of
from torquerisk.study.loads.demand import demand
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.run.run_on_grid import Prepared

CA50_MEAN_SD = 1.5 * DEGREE
"""Error of a run's mean CA50, measured, against the one that its advance gives with the right burn:
the encoder's degree and what the burn model errs by from speed to speed (stated choice)."""
HELD_MEAN_SD = phasing.UNKNOWN_PHASING_CA50_SD_SPARK * np.sqrt(1 - phasing.ALONG_SPEED_SHARE)
"""What one calibrator's phasing differs by from the assumed one at all speeds [rad]."""

LEFT_LATE = 0.5
"""Likelihood of a map far later than a calibrator would hold it, over that of one held so [-]: maps
are left so when a better fuel comes, none is left far earlier (stated choice)."""


def burns_later(prepared: Prepared) -> Array | None:
    """By how much CA50 was measured later than the median burn gives (S,) [rad]; None without both.

    What the burn model errs by in this engine, so that other runs' advances are read with it.
    """
    state, engine = prepared.state, prepared.engine
    if state.ca50 is None or state.ignition_advance is None:
        return None
    spec = cylinder_spec(engine, state.ethanol_share, float(state.speed.max()))
    load = np.asarray(bmep_from_torque(prepared.torque, engine.swept_volume_total))
    start, length = burn_timing(spec, state.speed, load, state.lambda_)
    by_median = phasing.ca50_from_ignition_advance(state.ignition_advance, start, length)
    return np.asarray(state.ca50 - by_median)


def _likelihood(asked: Asked) -> Array:
    """How well the burn that each draw gives the logged advance fits what else is known of it.

    Where CA50 is measured too, it tells how fast this engine burns, and so does for every other run
    whose advance alone was logged. Where it is not, a draw whose CA50 lies far from what a
    calibrator would hold has its burn wrong, or if later, its map. The mean over the run is
    compared.
    """
    prepared, draws = asked.prepared, asked.draws
    index = few_speeds(prepared.speed, prepared.torque)
    if prepared.state.ca50 is None:
        limited = asked.read(index, lambda loads: loads.knock_limited_ca50)
        best = cylinder_draws(prepared.engine, draws).best_phasing
        imep = asked.read(index, lambda x: np.broadcast_to(x.imep[:, None], x.torque.shape))
        held = phasing.assumed_ca50_spark(limited, imep, best)
        apart = np.mean(asked.read(index, lambda loads: loads.ca50) - held, axis=0)
        sd, least = HELD_MEAN_SD, np.where(apart > 0, LEFT_LATE, 0.0)
    else:
        state = state_at_index(prepared.state, index)
        inferred = dataclasses.replace(state, ca50=None)
        loads = demand(prepared.engine, inferred, draws, prepared.reading_sd[index])
        ca50 = place_of(loads.torque, prepared.torque[index]).read(loads.ca50)
        apart = np.mean(ca50 - prepared.state.ca50[index][:, None], axis=0)
        sd, least = CA50_MEAN_SD, np.zeros_like(apart)
    return np.asarray(least + (1 - least) * np.exp(-0.5 * (apart / sd) ** 2))


def _words(prepared: Prepared) -> str:
    if prepared.state.ca50 is None:
        return "phasing as calibrators hold it, beside the logged ignition advance"
    return "the burn that CA50 and ignition advance together stand for"


BURN = Piece(
    name="burn",
    applies=lambda prepared: prepared.state.ignition_advance is not None,
    likelihood=_likelihood,
    words=_words,
    check=lambda prepared: "ignition advance and CA50",
)
