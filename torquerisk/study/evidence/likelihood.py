"""How well simulated engines agree with all that is known, and which of them do."""

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.run.run_on_grid import Prepared

WORTH_LEAVING_OUT = 0.8
"""Share of the draws asked so far below which the rest of them is left out."""


def acceptance(draws: Draws) -> Array:
    """A uniform number per draw (N,), to keep it with a likelihood."""
    return np.asarray(ndtr(draws.deviates[spreads.ACCEPTANCE.name]))


def agreeing(prepared: Prepared, pieces: tuple[Piece, ...], draws: Draws) -> npt.NDArray[np.bool_]:
    """Which draws (N,) agree with all evidence."""
    uniform = acceptance(draws)
    return likelihood_of(prepared, pieces, draws, uniform) > uniform


def likelihood_of(
    prepared: Prepared, pieces: tuple[Piece, ...], draws: Draws, floor: Array
) -> Array:
    """Likelihood of all evidence given each draw (N,), where it is above a floor (N,).

    Once a piece has left few enough of the draws above it, the next are only asked of those.
    """
    likelihood, index = np.ones(draws.count), np.arange(draws.count)
    asked = Asked(prepared=prepared, draws=draws)
    for piece in reversed(pieces):
        left = np.flatnonzero(likelihood[index] > floor[index])
        if len(left) == 0:
            break
        if len(left) < WORTH_LEAVING_OUT * len(index):
            index, asked = index[left], asked.take(left)
        likelihood[index] *= piece.likelihood(asked)
    return likelihood
