"""An invented engine and runs for the tests of the study layer: no real engine or person."""

import dataclasses

import numpy as np

from torquerisk.case import (
    Charge,
    Engine,
    Fuel,
    HeadJoint,
    KnownGood,
    Run,
    RunningGear,
    TestFacts,
    default_policy,
)
from torquerisk.quantities import RPM
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment

SPEED = np.linspace(2000.0, 6500.0, 19) * RPM
DRAWS = 256


def engine(**test: float | str) -> Engine:
    """An invented 1.8-litre four, factory torque 250 N*m."""
    plateau = 250 - 18 * ((SPEED / RPM - 3800) / 2000) ** 2
    return Engine(
        name="Invented four",
        ignition="spark",
        cylinders=4,
        bore=0.082,
        stroke=0.085,
        rod_length=0.144,
        compression_ratio=9.6,
        fuel=Fuel(blend="E30", octane=100.0),
        charge=Charge(),
        running_gear=RunningGear(piston_mass=0.375, rod_mass=0.56, rod_section_area=172e-6),
        head_joint=HeadJoint(
            sealing_diameter=0.0855,
            fasteners=10,
            thread="M11x1.5",
            property_class="10.9",
            tightening="torque",
            tightening_torque=92.0,
            thread_friction=0.12,
        ),
        test=TestFacts(**{"correction": "none", "measured_at": "crank", "sweep_rate": 0.0, **test}),
        known_good=KnownGood(
            blend="E5", octane=97.0, curve=Run(name="factory", speed=SPEED, torque=plateau)
        ),
    )


def hump(top: float = 360.0, speed: np.ndarray = SPEED) -> np.ndarray:
    """A torque curve that rises and falls once, greatest at 4,200 rpm [N*m]."""
    return top - 45 * ((speed / RPM - 4200) / 2000) ** 2


def notch(depth: float, at: float = 4200.0, width: float = 350.0, speed: np.ndarray = SPEED):
    """A smooth notch of a depth [N*m] about a speed [rpm]."""
    return depth * np.exp(-0.5 * ((speed / RPM - at) / width) ** 2)


def assessed(torque: np.ndarray, channels: dict | None = None, **test: float | str) -> Assessment:
    """The invented engine assessed on a torque curve at SPEED."""
    run = Run(name="test run", speed=SPEED, torque=torque, channels=channels or {})
    return assess(engine(**test), run, default_policy(draws=DRAWS))


def assessed_alone(torque: np.ndarray, channels: dict | None = None) -> Assessment:
    """As `assessed`, of an engine of its owner's parts that nothing is known of."""
    alone = dataclasses.replace(engine(), known_good=KnownGood()).with_values(
        {
            "head_joint.original": "false",
            "running_gear.original_rods": "false",
            "running_gear.original_rod_bolts": "false",
        }
    )
    run = Run(name="test run", speed=SPEED, torque=torque, channels=channels or {})
    return assess(alone, run, default_policy(draws=DRAWS))
