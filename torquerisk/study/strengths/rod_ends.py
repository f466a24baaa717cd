"""What the ends of a rod stand when inertia pulls: small-end eye, big-end cap and its bolts."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from torquerisk.case import Engine
from torquerisk.physics.head_joint.fatigue import amplitude_limit_vdi2230
from torquerisk.physics.head_joint.property_class import strength_class
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.running_gear import rod_bolt, rod_ends
from torquerisk.quantities import Array
from torquerisk.study.draws import spreads
from torquerisk.study.draws.simulated_engines import Draws

EYE_BORE = 1.1
"""Bore of the eye over the pin: a bush of a twentieth of the pin (from memory)."""
EYE_CONCENTRATION, CAP_CONCENTRATION = 1.5, 1.6
"""Greatest stress where the eye runs into the shank, and at the cap's bolt seats and ribs, over the
curved bar's (from memory: fillets in bending 1.3 to 1.8)."""
HOUSING = 1.06
"""Bore of the big end over the crankpin: shells of 3 % of it (from memory)."""
CRUSH_PRESSURE = 8e6
"""Contact pressure of bearing shells in a steel rod [Pa], 8 to 10 MPa (from memory)."""
PRYING = 1.4
"""Bolt load over the pull on it. The ring's moment at the parting line is 0.095 of pull times
radius where the big end draws in and -0.035 where it cannot; half of the first acts 0.1 of the
radius off the bolt, which heels on 0.25 of it (stated choice)."""
ROD_BOLT_LOAD_FACTOR = 0.20
"""Share of the opening force that a rod bolt feels while the cap is shut (practice)."""
BOLT_MODULUS = 207e9


@dataclass(frozen=True, kw_only=True, eq=False)
class RodEnds:
    """Ends of one rod by draw; arrays (N,) in SI unless scalar."""

    eye_stress_per_force: Array
    """Greatest tension in the eye over the pull of the pin, concentration counted [1/m^2]."""
    cap_stress_per_force: Array
    """The same in the cap, over the pull on it [1/m^2]."""
    opening_force: Array
    """Pull on the cap at which it lifts, or at which its bolts yield if that is less [N]."""
    bolts: float
    bolt_area: float
    preload: Array
    """Of each bolt [N]."""
    prying: Array
    bolt_amplitude: float
    """Stress amplitude that a bolt endures for ever [Pa]."""

    def bolt_load(self, pull: Array) -> Array:
        """Tension in each bolt (S, N) [N] under a pull on the cap (S, N) [N]."""
        return np.asarray(
            rod_bolt.bolt_load(
                opening_force=pull, preload=self.preload, bolts=self.bolts,
                load_factor=ROD_BOLT_LOAD_FACTOR, prying=self.prying,
            )
        )  # fmt: skip


def rod_ends_capacity(engine: Engine, draws: Draws, of: Callable[[str], Array]) -> RodEnds:
    """Ends of the rod for every draw; of: draws of an input of the running gear by name."""
    bolt = screw_thread(engine.word("running_gear.rod_bolt_thread"))
    grade = strength_class(engine.word("running_gear.rod_bolt_class"), bolt.nominal_diameter)
    bolts = engine.value("running_gear.rod_bolts").value
    if engine.has("running_gear.rod_bolt_stretch"):
        stretched = rod_bolt.preload_from_stretch(
            stretch=of("rod_bolt_stretch"),
            length=engine.value("running_gear.rod_bolt_length").value,
            area=bolt.stress_area,
            elastic_modulus=BOLT_MODULUS,
        )
        preload = np.minimum(stretched, grade.yield_strength * bolt.stress_area)
    else:
        preload = of("rod_bolt_preload_share") * grade.proof_stress * bolt.stress_area
    prying = np.maximum(PRYING * draws.of_model(spreads.PRYING), 1.0)
    housing, width = HOUSING * of("big_end_diameter"), of("big_end_width")
    crush = rod_bolt.crush_force(contact_pressure=CRUSH_PRESSURE, diameter=housing, width=width)
    # Both faces of the joint share the crush, and all bolts share both faces.
    clamp = np.maximum(preload - 2 * np.asarray(crush) / bolts, 0.0)
    lifts = rod_bolt.separation_force(
        clamp=clamp, bolts=bolts, load_factor=ROD_BOLT_LOAD_FACTOR, prying=prying
    )
    yields = bolts * grade.yield_strength * bolt.stress_area / prying
    eye = rod_ends.greatest_stress(
        rod_ends.fixed_arc(fixed_at=rod_ends.EYE_FIXED_AT),
        inner_radius=EYE_BORE / 2 * of("pin_diameter"),
        thickness=of("small_end_wall"),
        width=of("small_end_width"),
    )
    cap = rod_ends.greatest_stress(
        rod_ends.free_arc(), inner_radius=housing / 2, thickness=of("cap_thickness"), width=width
    )
    return RodEnds(
        eye_stress_per_force=eye * EYE_CONCENTRATION * draws.of_model(spreads.EYE_STRESS),
        cap_stress_per_force=cap * CAP_CONCENTRATION * draws.of_model(spreads.CAP_STRESS),
        opening_force=np.minimum(lifts, yields),
        bolts=bolts,
        bolt_area=bolt.stress_area,
        preload=preload,
        prying=prying,
        bolt_amplitude=float(amplitude_limit_vdi2230(bolt.nominal_diameter)),
    )
