"""Small diesels: their walls take so much heat that a coarse march lost its way."""

import numpy as np
import pytest

from torquerisk.case import Engine, HeadJoint, Run, default_policy
from torquerisk.errors import InputError
from torquerisk.quantities import RPM
from torquerisk.study.assessment.assess import assess

pytestmark = pytest.mark.slow


def engine(bore: float, ratio: float = 20.0) -> Engine:
    return Engine(
        ignition="compression", cylinders=2, bore=bore, stroke=1.05 * bore, rod_length=1.8 * bore,
        compression_ratio=ratio,
        head_joint=HeadJoint(fasteners=6, thread="M8x1.25", property_class="8.8"),
    )  # fmt: skip


def run(one: Engine, rpm: list[float], bmep: float = 8e5) -> Run:
    torque = bmep * one.swept_volume_total / (4 * np.pi)
    return Run(
        speed=np.array(rpm) * RPM, torque=np.full(len(rpm), torque),
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("bore", "ratio"), [(0.03, 22.0), (0.03, 25.0), (0.04, 20.0), (0.054, 20.0), (0.06, 25.0)]
)
def test_every_bore_that_is_allowed_has_pressures(bore: float, ratio: float) -> None:
    """Identity: compression alone makes 30 bar and more, and no published diesel 300: at 8 bar of
    BMEP every size allowed lies between, finite in all engines."""
    one = engine(bore, ratio)
    result = assess(one, run(one, [1800, 2400, 3000, 3600]), default_policy(draws=128))
    peaks = np.array([result.peak_pressure.p05, result.peak_pressure.p95])
    assert np.isfinite(peaks).all()
    assert np.all((peaks > 30e5) & (peaks < 300e5))


def test_a_tiny_diesel_below_its_lowest_speed_is_refused() -> None:
    """Edge: 30 mm from 1,506 rpm; the sentence names both ends of the run and of the model."""
    one = engine(0.03)
    with pytest.raises(InputError, match="1000 to 3000 rpm, but the model holds from 1506"):
        assess(one, run(one, [1000, 2000, 3000]), default_policy(draws=128))
