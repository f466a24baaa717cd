"""What would keep a run that knocks quiet: a later burn, or fuel of higher octane."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from torquerisk.physics.cylinder import knock
from torquerisk.quantities import Array
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import place_of, quiet_later
from torquerisk.study.loads.demand import LATEST_SANE_CA50
from torquerisk.study.run.operating_state import octane_counts_more


@dataclass(frozen=True, kw_only=True, eq=False)
class Quiet:
    """What the middle engine takes to burn without audible knock at the run's torque, each alone,
    by speed (S,)."""

    later: Array
    """Burn later than the run's [rad]; below 0 where it may be earlier."""
    tuned: npt.NDArray[np.bool_]
    """True where that is a phasing that tuners use."""
    octane: Array
    """RON: the fuel's own, raised by what the delay of the end gas lacks. Source: [DOUAUD_EYZAT]"""


def quiet_of(assessment: Assessment) -> Quiet | None:
    """What a run takes to be quiet; None with compression ignition."""
    if assessment.engine.compression_ignition:
        return None
    loads = assessment.model.demand
    place = place_of(loads.torque, assessment.torque)
    later, excess = quiet_later(loads, place), place.read(loads.knock_excess)
    state = assessment.model.operating
    more = knock.SENSITIVITY_WEIGHT * octane_counts_more(state.ethanol_share)
    return Quiet(
        later=later,
        tuned=assessment.ca50.p50 + later <= LATEST_SANE_CA50,
        octane=(state.octane + more) * np.exp(np.median(excess, axis=1) / knock.OCTANE_EXPONENT)
        - more,
    )
