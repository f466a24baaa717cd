"""Default sizes of piston, pin, rod and big end against what such engines have.

From memory, rounded, no real engine: the range of sizes that engines of that bore are built with.
"""

import pytest

from torquerisk.case import Engine, HeadJoint
from torquerisk.quantities import RPM

# ignition, bore, stroke, rod length [mm]: mass of piston with pin and rings and of the rod [kg],
# shank [mm^2], diameters of pin and crankpin and width of the big end [mm], rod bolts
USUAL = [
    ("spark", 71, 82, 137, (0.19, 0.30), (0.33, 0.48), (105, 160), (17, 20), (38, 44), (14, 21),
     ("M7x1", "M8x1")),
    ("spark", 86, 86, 146, (0.36, 0.48), (0.50, 0.68), (150, 230), (20, 23), (45, 54), (16, 24),
     ("M8x1", "M9x1")),
    ("spark", 102, 88, 145, (0.58, 0.82), (0.60, 0.95), (200, 330), (23, 27), (50, 60), (20, 28),
     ("M10x1.25", "M11x1.25")),
    ("compression", 76, 80.5, 134, (0.50, 0.70), (0.60, 0.85), (220, 330), (24, 27), (43, 49),
     (18, 24), ("M8x1", "M9x1")),
    ("compression", 81, 95.5, 144, (0.60, 0.82), (0.72, 0.98), (260, 380), (25, 29), (47, 54),
     (19, 25), ("M8x1", "M9x1")),
    ("compression", 107, 124, 192, (1.6, 2.3), (1.7, 2.4), (480, 720), (38, 43), (67, 74), (28, 37),
     ("M11x1.25", "M12x1.25")),
    ("compression", 131, 158, 267, (3.2, 4.8), (3.6, 5.2), (800, 1200), (50, 60), (88, 100),
     (36, 48), ("M14x1.5", "M16x1.5")),
]  # fmt: skip


@pytest.mark.parametrize("usual", USUAL, ids=lambda u: f"{u[0]} {u[1]}")
def test_gear_left_out_is_of_usual_size(usual: tuple) -> None:
    """From memory: parts that are left out are taken as large as such an engine has them."""
    ignition, bore, stroke, rod, piston, rod_mass, shank, pin, journal, width, bolts = usual
    engine = Engine(
        ignition=ignition,
        cylinders=4,
        bore=bore * 1e-3,
        stroke=stroke * 1e-3,
        rod_length=rod * 1e-3,
        compression_ratio=10.0 if ignition == "spark" else 17.0,
        head_joint=HeadJoint(fasteners=10, thread="M11x1.5", property_class="10.9"),
    )
    for name, size, (low, high) in (
        ("piston_mass", 1.0, piston),
        ("rod_mass", 1.0, rod_mass),
        ("rod_section_area", 1e-6, shank),
        ("pin_diameter", 1e-3, pin),
        ("big_end_diameter", 1e-3, journal),
        ("big_end_width", 1e-3, width),
    ):
        assert low <= engine.value(f"running_gear.{name}").value / size <= high, name
    assert engine.word("running_gear.rod_bolt_thread") in bolts


@pytest.mark.parametrize(
    ("bore", "stroke", "rpm", "mass"),
    [(86, 86, 6500, 0.42), (76, 55, 12500, 0.20), (67, 42.5, 13500, 0.14), (87, 84, 8300, 0.35)],
)
def test_pistons_of_engines_for_more_speed_are_lighter(
    bore: float, stroke: float, rpm: float, mass: float
) -> None:
    """From memory: with rings and pin, of a car, two motorcycles and a sports car; none is lighter
    for a rating of less speed, nor a diesel's; and a motorcycle's is within a
    third without a rating."""
    for ignition, ratio in (("spark", 10.0), ("compression", 17.0)):
        engine = Engine(
            ignition=ignition, cylinders=4, bore=bore * 1e-3, stroke=stroke * 1e-3,
            rod_length=1.7 * stroke * 1e-3, compression_ratio=ratio,
            head_joint=HeadJoint(fasteners=10, thread="M10x1.5", property_class="10.9"),
        )  # fmt: skip
        usual = engine.value("running_gear.piston_mass").value
        sheet = {"rated.torque": 100.0, "rated.torque_speed": 2500 * RPM, "rated.power": 30e3}
        told = [
            engine.with_values({**sheet, "rated.power_speed": n * RPM}).value(
                "running_gear.piston_mass"
            )
            for n in (rpm, 3000.0)
        ]
        if ignition == "spark":
            assert told[0].value == pytest.approx(mass, rel=0.1)
            if bore > 1.35 * stroke:
                assert usual == pytest.approx(mass, rel=0.35)
            assert told[1].value >= usual
        else:
            assert {told[0].value, told[1].value} == {usual}


@pytest.mark.parametrize(
    ("block", "diameters"), [("grey iron", 1.7), ("cast aluminium", 2.5), (None, 1.7)]
)
def test_engagement_follows_the_block(block: str | None, diameters: float) -> None:
    """Common practice, no source: threads sit deeper in aluminium, whatever the ignition."""
    for ignition in ("spark", "compression") if block else ("compression",):
        engine = Engine(
            ignition=ignition, cylinders=4, bore=0.086, stroke=0.086, rod_length=0.145,
            compression_ratio=12.0,
            head_joint=HeadJoint(
                fasteners=10, thread="M12x1.75", property_class="10.9", block_material=block
            ),
        )  # fmt: skip
        depth = engine.value("head_joint.engagement_length").value
        assert depth == pytest.approx(diameters * 12e-3, rel=1e-12)
        strong = engine.with_values({"head_joint.property_class": "12.9"})
        deeper = strong.value("head_joint.engagement_length").value
        assert deeper >= depth * 1220 / 1040, "ISO 898-1: tensile strength of 12.9 over 10.9"
