"""One small run and how tests read it."""

import numpy as np
import pytest

from torquerisk.case import Run
from torquerisk.errors import InputError
from torquerisk.files.run_file import How, run_from_bytes
from torquerisk.quantities import RPM

LB_FT = 0.3048 * 0.45359237 * 9.80665
"""One pound-force foot [N*m]: NIST SP 811, from exact definitions."""

SPEED = [2000.0, 3000.0, 4000.0, 5000.0]
TORQUE = [200.5, 220.25, 230.0, 210.75]
PLAIN = "engine speed [rpm],torque [N·m],lambda\n" + "".join(
    f"{n:g},{t:g},0.9\n" for n, t in zip(SPEED, TORQUE, strict=True)
)

COMMA = PLAIN.replace(",", ";").replace(".", ",")
FACTS = """# correction: SAE J1349 (2004)
# measured at: rollers
# Drivetrain loss: 15 %
# sweep_rate = 300 rpm/s
# inertia: 0.2 kg*m^2
# ambient pressure: 100.1 kPa
# ambient temperature: 24 °C
# humidity: 40 %
# operator: nobody
"""


def read(text: str | bytes, **more) -> Run:
    return run_from_bytes(text.encode() if isinstance(text, str) else text, "run.csv", How(**more))


def refused(text: str | bytes, **more) -> str:
    with pytest.raises(InputError) as caught:
        read(text, **more)
    sentence = str(caught.value)
    assert sentence.startswith("run.csv")
    assert "\n" not in sentence
    assert len(sentence) < 500
    assert all(c.isprintable() for c in sentence)
    return sentence


def holds_the_plain_run(run: Run, lambdas: bool = True) -> None:
    assert run.speed == pytest.approx(np.array(SPEED) * RPM, rel=1e-12)
    assert run.torque == pytest.approx(TORQUE, rel=1e-12)
    if lambdas:
        assert run.channels["lambda_"] == pytest.approx([0.9] * 4, rel=1e-12)


T = "rpm;torque [N·m]\n"
