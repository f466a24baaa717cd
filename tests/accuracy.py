"""Table of predicted against measured or published values, as the README prints it.

Run `python tests/accuracy.py` to print the table; `tests/test_accuracy.py` holds the README to it.
Every row names its source; nothing here is tuned to a row.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

sys.path.insert(0, str(Path(__file__).parent / "physics" / "cylinder"))

import cycle_examples
import test_closed_cycle_measured as measured
from oracles.bearing import film_index
from oracles.joint import pair_stiffness_shigley

from torquerisk.physics import dyno
from torquerisk.physics.cylinder.closed_cycle import closed_cycle
from torquerisk.physics.cylinder.mean_pressure import bmep_from_torque
from torquerisk.physics.head_joint.compliance import rod_compliance
from torquerisk.physics.head_joint.head_beam import HeadLayout, HeadStiffness, firings
from torquerisk.physics.head_joint.property_class import strength_class
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.head_joint.tightening import preload_at_yield, torque_from_preload
from torquerisk.physics.running_gear.forces import gas_force
from torquerisk.physics.running_gear.rod import PINNED, secant_stress
from torquerisk.physics.running_gear.rod_ends import curved_bar_stress
from torquerisk.physics.running_gear.slider_crank import piston_acceleration
from torquerisk.study.strengths.running_gear import ROD_ECCENTRICITY, ROD_MODULUS

INCH, POUND_FORCE, PSI = 0.0254, 4.4482216, 6894.757


@dataclass(frozen=True)
class Row:
    """One comparison."""

    what: str
    source: str
    kind: str
    """measured, published, read off a chart, recomputed (a published case that we worked out
    apart) or another formula (of the trade, for the same thing)."""
    reference: float
    ours: float
    unit: str
    digits: int

    @property
    def error(self) -> float:
        """Relative difference [%]."""
        return 100 * (self.ours / self.reference - 1)

    def line(self) -> str:
        """The row in Markdown."""
        d = self.digits
        return (
            f"| {self.what} | {self.source} | {self.kind} | {self.reference:.{d}f} | "
            f"{self.ours:.{d}f} | {self.unit} | {self.error:+.1f} % |"
        )


def rows() -> list[Row]:
    """All comparisons, cylinder first."""
    return [*_cylinder(), *_joint(), *_running_gear()]


def _cylinder() -> list[Row]:
    petrol = measured.petrol_case()
    lam = brentq(
        lambda x: measured.diesel_case(x, None).trapped_pressure[0] - 1.2e5, 1.4, 4.0, xtol=1e-3
    )
    diesel = measured.diesel_case(lam, None)
    mass = 1e5 * 0.87266e-3 / (286.69 * 300)
    book = closed_cycle(
        cycle_examples.textbook(
            1.4,
            286.69,
            20.214 * 1e5 * 0.87266e-3 / mass,
            cycle_examples.classic_burn(-20, 40, 5, 2),
            ratio=10.0,
        ),
        1e5,
        step=np.radians(0.25),
    )
    j607 = dyno.correction_factor(
        dyno.CorrectionStandard.SAE_J607, 28.85 * dyno.INCH_OF_MERCURY, 302.594, 0.85
    )
    return [
        Row("Peak pressure, 1.4-litre petrol four, 1,200 rpm, measured work and phasing",
            "open laboratory data (case A)", "measured", 35.8,
            float(petrol.peak_pressure[0]) / 1e5, "bar", 1),
        Row("Angle of that peak", "same", "measured", 21.0,
            float(np.degrees(petrol.peak_angle[0])), "deg", 1),
        Row("Peak pressure, 3.0-litre turbo diesel, 1,600 rpm, measured work and phasing",
            "open laboratory data (case C)", "measured", 69.7,
            float(diesel.peak_pressure[0]) / 1e5, "bar", 1),
        Row("Finite heat release, peak over start pressure",
            "Kirkpatrick, worked example 2.2", "recomputed", 88.480,
            float(book.peak_pressure[0]) / 1e5, "", 2),
        Row("Same, mean effective over start pressure", "same", "recomputed", 13.3802,
            float(book.imep_gross[0]) / 1e5, "", 3),
        Row("Brake mean effective pressure, 230 N·m, 2.2 litres",
            "published worked example", "published", 13.13,
            float(bmep_from_torque(230.0, 4 * np.pi / 4 * 0.085**2 * 0.097)) / 1e5, "bar", 2),
        Row("Correction factor J607, 85 °F, 85 % humidity, 28.85 inHg",
            "published worked example", "published", 1.1005, float(j607), "", 4),
    ]  # fmt: skip


def _joint() -> list[Row]:
    fine, coarse = screw_thread("M10x1.25"), screw_thread("M12x1.75")
    out = []
    for thread, preload, torque in ((fine, 46.4, 75.0), (coarse, 63.2, 123.0)):
        grade = strength_class("10.9", thread.nominal_diameter)
        force = preload_at_yield(
            thread=thread, yield_strength=grade.yield_strength, thread_friction=0.12,
            utilisation=0.9,
        )  # fmt: skip
        moment = torque_from_preload(force, thread=thread, thread_friction=0.12, head_friction=0.12)
        name = f"{thread.designation}, class 10.9, friction 0.12"
        source = "VDI 2230 table"
        out.append(Row(f"Preload, {name}", source, "published", preload, float(force) / 1e3,
                       "kN", 1))  # fmt: skip
        out.append(Row(f"Tightening torque, {name}", source, "published", torque, float(moment),
                       "N·m", 0))  # fmt: skip
    bolt = sum(
        rod_compliance(0.75 * INCH, area=area * INCH**2, elastic_modulus=30e6 * PSI)
        for area in (0.3068, 0.226)
    )
    members = pair_stiffness_shigley(
        grip=1.5 * INCH, nominal_diameter=0.625 * INCH, elastic_modulus=14e6 * PSI
    )
    one = HeadLayout(cylinders=1, pitch=0.1, sealing_diameter=0.08, fasteners_in_row=0.5)
    springs = {"ring": members, "fastener": 1 / bolt, "bending": 1e15, "shear": 1e15}
    stiffness = HeadStiffness(**{name: np.array([value]) for name, value in springs.items()})
    (fired,) = firings(one, stiffness, (0,))
    out.append(Row("Joint constant C", "Shigley, example 8-4", "published", 0.368,
                   float(fired.row_gain.sum()), "", 3))  # fmt: skip
    return out


def _running_gear() -> list[Row]:
    acceleration = piston_acceleration(
        angle=np.radians(60.0), angular_speed=450 * np.pi / 30, crank_radius=0.15, rod_length=0.6
    )
    force = gas_force(pressure=3.15e6 + 1e5, crankcase_pressure=1e5, bore=0.115)
    hook, _ = curved_bar_stress(
        force=5000 * POUND_FORCE, moment=-20000 * POUND_FORCE * INCH, inner_radius=2 * INCH,
        thickness=4 * INCH, width=0.75 * INCH,
    )  # fmt: skip
    column = secant_stress(
        slenderness=0.38 / (1.78 * 0.007), eccentricity_ratio=ROD_ECCENTRICITY,
        yield_strength=320e6, elastic_modulus=ROD_MODULUS, end_condition=PINNED,
    )  # fmt: skip
    return [
        Row("Piston acceleration, r 0.15 m, l 0.6 m, 450 rpm, 60°",
            "Khurmi, Gupta, Theory of Machines, example 15.5", "published", 124.91,
            float(acceleration), "m/s²", 2),
        Row("Gas force, 115 mm bore, 3.15 MPa", "Khurmi, Gupta, Machine Design, ch. 32",
            "published", 32.702, float(force) / 1e3, "kN", 2),
        Row("Rod column stress, 380 mm, t 7 mm", "Khurmi, Gupta, Rankine's formula",
            "another formula", 284.7, float(column) / 1e6, "MPa", 1),
        Row("Least film over clearance, L/D 1, Sommerfeld number 0.135",
            "Shigley, example 12-1 (from memory)", "read off a chart", 0.42,
            float(film_index(sommerfeld_number=0.135, length_to_diameter=1.0)), "", 2),
        Row("Crane hook, inner face, 0.75 in x 4 in", "Shigley, example 3-15 (from memory)",
            "published", 116.5, float(hook) / 1e6, "MPa", 1),
    ]  # fmt: skip


def table() -> str:
    """The table in Markdown."""
    head = "| what | source | kind | reference | torquerisk | unit | difference |"
    return "\n".join([head, "|---|---|---|---|---|---|---|", *(row.line() for row in rows())])


if __name__ == "__main__":
    print(table())
