"""The sections on what burns: fuel and charge."""

from __future__ import annotations

import math
from dataclasses import dataclass

from torquerisk.case.declare import Kind, declared
from torquerisk.case.shared_defaults import PRACTICE, by_ignition, by_size_of_diesel


@dataclass(frozen=True, kw_only=True)
class Fuel:
    """What burns."""

    blend: str | None = declared(
        "Fuel blend",
        default=by_ignition("E5", "diesel"),
        reason="petrol sold with a little ethanol, or diesel",
        help="E0 to E100 (ethanol by volume in petrol), or diesel",
    )
    octane: float | None = declared(
        "Research octane number of the fuel as it is burned",
        Kind.NUMBER.within(80.0, 125.0),
        spread=(1.0, 2.5),
        absolute=True,
        reason="pump fuel is sold by its least octane, 95 with its ethanol in it; stronger blends "
        "are taken as mixed from 95 E10",
    )
    cetane: float | None = declared(
        "Cetane number of the diesel",
        Kind.NUMBER.within(20.0, 70.0),
        default=by_ignition(None, 51.0),
        spread=(1.5, 3.5),
        absolute=True,
        reason="European diesel is sold with 51 at least, other markets have 40 to 55 (from "
        "memory)",
        help="how readily the spray lights: sets the ignition delay, compression ignition only",
    )
    lambda_: float | None = declared(
        "Air-fuel equivalence at full load",
        Kind.NUMBER.within(0.6, 6.0),
        default=by_size_of_diesel(1.35, 1.55, spark=0.87),
        spread=(0.02, 0.05),
        reason="boosted spark engines run rich at full load; diesels as lean as smoke asks, 1.2 to "
        "1.5 in cars and 1.4 to 1.8 in trucks (from memory of handbooks)",
    )


@dataclass(frozen=True, kw_only=True)
class Charge:
    """What is trapped in the cylinder, and when."""

    intake_temperature: float | None = declared(
        "Charge temperature in the intake manifold",
        Kind.TEMPERATURE.within(243.15, 423.15),
        default=by_ignition(318.15, 323.15),
        spread=(5.0, 12.0),
        absolute=True,
        reason=f"20 to 30 K above ambient behind an intercooler at full load {PRACTICE}",
    )
    trapped_heating: float | None = declared(
        "Heating of the charge on its way into the cylinder",
        Kind.TEMPERATURE_RISE.within(0.0, 120.0),
        default=by_ignition(25.0, 35.0),
        spread=(8.0, 10.0),
        absolute=True,
        reason="kelvin gained from port walls and residual gas at full load; Heywood ch. 6 gives "
        "tens of kelvin (from memory)",
        help="as with petrol: what more ethanol cools as it evaporates is taken off",
    )
    residual_fraction: float | None = declared(
        "Residual gas share",
        Kind.SHARE.within(0.0, 0.30),
        default=0.04,
        reason="3 to 7 % at wide-open throttle (cylinder references 7.4, from memory)",
    )
    exhaust_pressure: float | None = declared(
        "Exhaust manifold pressure, absolute",
        Kind.PRESSURE.within(8e4, 8e5),
        help="assumed from the intake manifold pressure when not given",
    )
    intake_closing: float | None = declared(
        "Intake valve closing after bottom dead centre",
        Kind.ANGLE.within(math.radians(-40), math.radians(110)),
        default=by_ignition(math.radians(50), math.radians(35)),
        reason=f"usual effective timing at 1 mm lift {PRACTICE}",
    )
    exhaust_opening: float | None = declared(
        "Exhaust valve opening before bottom dead centre",
        Kind.ANGLE.within(math.radians(0), math.radians(90)),
        default=math.radians(45),
        reason=f"usual effective timing at 1 mm lift {PRACTICE}",
    )
    burn_duration: float | None = declared(
        "Burn duration from 10 to 90 % burned",
        Kind.ANGLE.within(math.radians(6), math.radians(90)),
        spread=(0.06, 0.14),
        reason="a correlation with speed and load when not given",
    )
    peak_pressure_limit: float | None = declared(
        "Peak pressure that the maker's injection timing holds at full load",
        Kind.PRESSURE.within(60e5, 350e5),
        default=by_size_of_diesel(180e5, 200e5),
        spread=(0.02, 0.08),
        reason="about 180 bar is usual in cars (160 to 210 published), 170 to 230 in trucks; more "
        "where the load is above 25 bar",
        help="of the mean cycle, compression ignition only: makers inject later as load rises to "
        "hold it, up to the torque that they rate",
    )
    heat_loss_scale: float | None = declared(
        "Heat loss over the correlation's",
        Kind.NUMBER.within(0.3, 2.5),
        default=1.0,
        spread=(0.15, 0.25),
        reason="heat-transfer correlations differ by about a quarter between engines",
    )
    friction_scale: float | None = declared(
        "Engine friction over the correlation's",
        Kind.NUMBER.within(0.3, 2.5),
        default=1.0,
        spread=(0.10, 0.20),
        reason="published friction correlations scatter by about 20 % (from memory)",
    )
