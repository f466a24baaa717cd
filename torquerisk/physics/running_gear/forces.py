"""Forces in piston, connecting rod, big end and crankshaft over the four-stroke cycle.

The rod is two point masses at its centres plus, when its inertia is known, the couple that
corrects them to the real inertia: then the forces are exact for a rigid rod at constant speed.
Left out: friction of rings, skirt and bearings, speed ripple, and rod mass off the line of
centres. Signs as in `slider_crank`: axial forces are positive towards the crankshaft, rod
compression is positive, side thrust is positive when the piston leans on the major thrust side.
"""

from dataclasses import dataclass, fields

import numpy as np

from torquerisk.errors import InputError
from torquerisk.physics.arrays import Array, Floats, require, require_positive
from torquerisk.physics.running_gear import slider_crank
from torquerisk.physics.running_gear.slider_crank import Crank


@dataclass(frozen=True, kw_only=True, eq=False)
class RodMasses:
    """A connecting rod as point masses at its two centres plus a correcting inertia."""

    small_end: Floats
    """Reciprocates with the piston [kg]."""
    big_end: Floats
    """Turns with the crankpin [kg]."""
    surplus_inertia: Floats
    """Inertia of the two masses about the centre of gravity less the real one [kg m²]."""


def rod_masses(
    *,
    rod_mass: Floats,
    big_end_share: Floats,
    rod_length: Floats,
    rod_inertia: Floats | None = None,
) -> RodMasses:
    """Return the rod's point masses at its centres and the inertia they have too much.

    rod_mass: whole rod with cap, bolts and bearings m [kg]. big_end_share: share of it that
    rests at the big end s [-]: the centre of gravity lies s l from the small end.
    rod_length: between centres l [m]. rod_inertia: about the centre of gravity I [kg m²]; None
    takes the two masses as they are (no correcting couple).
    m s and m (1 - s); surplus = m s (1 - s) l² - I. Exact. Source: [KTM] ch. 15, example 15.18.
    """
    require_positive("rod mass", rod_mass, "kg")
    require("big-end share", big_end_share, "between 0 and 1", lambda x: (x > 0) & (x < 1))
    require_positive("rod length", rod_length, "m")
    big_end = np.asarray(rod_mass) * big_end_share
    small_end = np.asarray(rod_mass) - big_end
    if rod_inertia is None:
        surplus: Floats = 0.0
    else:
        require_positive("rod inertia", rod_inertia, "kg m²")
        surplus = big_end * (1 - np.asarray(big_end_share)) * np.square(rod_length) - rod_inertia
    return RodMasses(small_end=small_end, big_end=big_end, surplus_inertia=surplus)


def gas_force(*, pressure: Floats, crankcase_pressure: Floats, bore: Floats) -> Floats:
    """Return the gas force on the piston [N], positive towards the crankshaft.

    pressure, crankcase_pressure: absolute [Pa]. bore: D [m]. (p - p_c) π D² / 4. Exact for a
    piston sealed at the bore. Source: [HEYWOOD] ch. 2.
    """
    require("pressure", pressure, "0 Pa absolute or more", lambda x: (x >= 0) & np.isfinite(x))
    require_positive("crankcase pressure", crankcase_pressure, "Pa absolute")
    require_positive("bore", bore, "m")
    return (np.asarray(pressure) - crankcase_pressure) * np.pi / 4 * np.square(bore)


@dataclass(frozen=True, kw_only=True, eq=False)
class RunningGearForces:
    """Forces over the cycle, each shaped (T,) or (T, n); N and N m; see the module for signs."""

    angle: Array
    """Crank angle [rad], shaped (T,)."""
    gas: Array
    """On the piston, towards the crankshaft."""
    pin_axial: Array
    """Piston on pin along the cylinder axis, towards the crankshaft."""
    rod_link: Array
    """Along the rod with its whole small-end mass above, compression positive."""
    side_thrust: Array
    """Piston on cylinder wall, positive on the major thrust side."""
    big_end_radial: Array
    """Rod on crankpin along the throw, outwards positive; turns with the crank."""
    big_end_tangential: Array
    """Rod on crankpin across the throw, positive in the sense of rotation."""
    big_end: Array
    """Size of the load between rod and crankpin."""
    big_end_angle_on_rod: Array
    """Direction of the crankpin's push on the rod against the rod's line from big to small
    end [rad], -π..π: 0 presses the rod half of the bearing, ±π the cap."""
    rod_bolts: Array
    """All bolts together: force that opens the cap joint, negative while it is pressed shut."""
    main_bearing: Array
    """On one of two neighbouring mains: half the crankpin load, nothing from the next throw."""

    def __post_init__(self) -> None:
        for field in fields(self):
            getattr(self, field.name).setflags(write=False)


def running_gear_forces(
    *,
    angle: Array,
    pressure: Array,
    angular_speed: Floats,
    bore: Floats,
    crank_radius: Floats,
    rod_length: Floats,
    pin_offset: Floats = 0.0,
    piston_mass: Floats,
    rod_mass: Floats,
    big_end_share: Floats,
    rod_inertia: Floats | None = None,
    cap_mass: Floats = 0.0,
    crankcase_pressure: Floats,
) -> RunningGearForces:
    """Return every force of the running gear at each crank angle and lane.

    angle: crank angle θ [rad], (T,), 0 at firing top dead centre; -2π..2π for the whole cycle.
    pressure: in the cylinder, absolute [Pa], (T,) or (T, n). All others scalar or (n,):
    angular_speed ω [rad/s]; bore, crank_radius, rod_length, pin_offset [m] as in `slider_crank`;
    piston_mass with rings and pin [kg]; rod_mass, big_end_share, rod_inertia as in `rod_masses`;
    cap_mass: bearing cap with its half bearing [kg], 0 over-states the bolt load;
    crankcase_pressure absolute [Pa].
    Exact for a rigid rod at constant speed when rod_inertia is given. Source: [KTM] ch. 15.
    """
    theta, p = _angle_and_pressure(
        angle, pressure, (angular_speed, bore, crank_radius, rod_length, pin_offset, piston_mass,
                          rod_mass, big_end_share, rod_inertia, cap_mass, crankcase_pressure),
    )  # fmt: skip
    require_positive("piston mass", piston_mass, "kg")
    require("angular speed", angular_speed, "0 rad/s or more", lambda x: (x >= 0) & np.isfinite(x))
    require("cap mass", cap_mass, "0 kg or more", lambda x: (x >= 0) & np.isfinite(x))
    masses = rod_masses(
        rod_mass=rod_mass, big_end_share=big_end_share,
        rod_length=rod_length, rod_inertia=rod_inertia,
    )  # fmt: skip
    crank = Crank(crank_radius=crank_radius, rod_length=rod_length, pin_offset=pin_offset)
    phi = slider_crank.rod_angle(angle=theta, **crank)
    sine, cosine = np.sin(phi), np.cos(phi)
    a = slider_crank.piston_acceleration(angle=theta, angular_speed=angular_speed, **crank)
    swing = slider_crank.rod_angular_acceleration(angle=theta, angular_speed=angular_speed, **crank)
    gas = gas_force(pressure=p, crankcase_pressure=crankcase_pressure, bore=bore)
    pin_axial = gas - piston_mass * a
    link_axial = pin_axial - masses.small_end * a
    thrust = (link_axial * sine + masses.surplus_inertia * swing / rod_length) / cosine
    pull = crank_radius * np.square(angular_speed)
    turn = masses.big_end * crank_radius * np.square(angular_speed)
    out = {
        "gas": gas,
        "pin_axial": pin_axial,
        "rod_link": link_axial * cosine + thrust * sine,
        "side_thrust": thrust,
        **_on_crankpin(theta, phi, (link_axial, thrust), turn, cap_mass, pull),
    }
    shape = np.broadcast_shapes(*(np.shape(value) for value in out.values()))
    return RunningGearForces(
        angle=np.array(angle, dtype=float),
        **{name: np.broadcast_to(value, shape).copy() for name, value in out.items()},
    )


def _on_crankpin(
    theta: Array,
    phi: Floats,
    passed_on: tuple[Floats, Floats],
    turn: Floats,
    cap_mass: Floats,
    pull: Floats,
) -> dict[str, Array]:
    """Forces between rod and crankpin, by name.

    phi: the rod's angle. passed_on: by the rod's small end, along the cylinder and across it.
    turn: what turning the big-end mass takes. pull: acceleration of the throw.
    """
    link_axial, thrust = passed_on
    radial = -link_axial * np.cos(theta) + thrust * np.sin(theta) + turn
    tangential = link_axial * np.sin(theta) + thrust * np.cos(theta)
    # Along the rod from big end to small end; the throw accelerates towards the crank axis.
    sine, cosine = np.sin(phi), np.cos(phi)
    cos_between = np.cos(theta) * cosine - np.sin(theta) * sine
    sin_between = np.sin(theta) * cosine + np.cos(theta) * sine
    push = -(radial * cos_between) + tangential * sin_between
    across = -(radial * sin_between) - tangential * cos_between
    centripetal = -pull * cos_between
    return {
        "big_end_radial": radial,
        "big_end_tangential": tangential,
        "big_end": np.hypot(radial, tangential),
        "big_end_angle_on_rod": np.arctan2(across, push),
        "rod_bolts": np.maximum(-push, 0.0) + cap_mass * centripetal,
        "main_bearing": np.hypot(radial, tangential) / 2,
    }


def _angle_and_pressure(
    angle: Array, pressure: Array, lanes: tuple[Floats | None, ...]
) -> tuple[Array, Array]:
    theta, p = np.asarray(angle, dtype=float), np.asarray(pressure, dtype=float)
    if theta.ndim != 1 or p.ndim not in (1, 2) or p.shape[0] != theta.size:
        raise InputError(
            f"pressure has shape {p.shape} for crank angles of shape {theta.shape}, but must be "
            "(T,) or (T, n) for T angles in one row."
        )
    if p.ndim == 2 or any(lane is not None and np.ndim(lane) > 0 for lane in lanes):
        return theta[:, None], p if p.ndim == 2 else p[:, None]
    return theta, p
