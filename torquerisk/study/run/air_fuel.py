"""Lambda of a logged air-fuel ratio, which only the fuel that was burned tells."""

import dataclasses

import numpy as np

from torquerisk.case import CHANNELS, LEFT_OUT, Notice, Run
from torquerisk.physics.cylinder.gas import diesel, petrol_ethanol
from torquerisk.study.run.operating_state import ethanol_share

PETROL_SCALE = 14.7
"""What gauges on petrol's scale show at lambda 1, whatever is burned (common practice)."""
SAME_SCALE = 0.05
"""Difference of the two scales up to which no more than the spread of lambda is told [1]."""
SPARK_FULL_LOAD = (0.65, 1.1)
"""Lambda at which spark engines run under load (common practice, no source)."""


def with_lambda(run: Run, blend: str) -> Run:
    """The run with lambda from its air-fuel ratio, by the blend that it burned.

    Gauges show either the blend's own ratio or petrol's, 14.7 at lambda 1. The blend's is taken,
    the leaner of the two, unless it gives a lambda at which no engine runs under load and petrol's
    does not. A notice says which.
    """
    ratio = run.channel("afr")
    if ratio is None or run.channel("lambda_") is not None:
        return run
    fuel = diesel() if blend == "diesel" else petrol_ethanol(ethanol_share(blend))
    own = fuel.stoichiometric_air_fuel
    loaded = float(np.median(ratio[run.torque > 0.5 * run.torque.max()]))
    declared = CHANNELS["lambda_"]
    low, high = (declared.low, declared.high) if blend == "diesel" else SPARK_FULL_LOAD
    held = [scale for scale in (own, PETROL_SCALE) if low <= loaded / scale <= high]
    about = f"{run.name}: an air-fuel ratio of {loaded:.3g} under load"
    if not held:
        told = (
            f"{about} is no lambda of {low:g} to {high:g}, neither by the {own:.1f} of {blend} nor "
            "by petrol's 14.7: it is not used."
        )
        return _noticed(run, told, LEFT_OUT)
    told = f"{about} is read as lambda {loaded / held[0]:.2f}, divided by "
    told += f"the {own:.1f} of {blend}" if held[0] == own else "petrol's 14.7"
    if abs(own / PETROL_SCALE - 1) > SAME_SCALE:
        other = PETROL_SCALE if held[0] == own else own
        told += f"; by {other:.1f} it would be {loaded / other:.2f}"
        if held == [own, PETROL_SCALE]:
            told += ". If the gauge shows petrol's scale, head it 'AFR (petrol)'"
    lambda_ = ratio / held[0]
    inside = np.clip(lambda_, declared.low, declared.high)
    if np.any(inside != lambda_):
        told += f"; held within {declared.low:g} to {declared.high:g}"
    channels = {("lambda_" if n == "afr" else n): v for n, v in run.channels.items()}
    return _noticed(dataclasses.replace(run, channels={**channels, "lambda_": inside}), f"{told}.")


def _noticed(run: Run, text: str, code: str = "air-fuel-ratio") -> Run:
    return dataclasses.replace(run, notices=(*run.notices, Notice(code, text)))
