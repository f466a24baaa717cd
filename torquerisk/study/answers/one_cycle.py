"""One closed cycle of an engine at a gross IMEP, with every default labelled."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from torquerisk.case import CHANNELS, Engine, Notice
from torquerisk.case.declare import Kind
from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import gas_exchange
from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.physics.cylinder.cycle_data import ClosedCycle
from torquerisk.physics.cylinder.phasing import MBT_CA50, lateness_to_hold
from torquerisk.quantities import Array
from torquerisk.study.assessment.cycle_ranges import held_burn
from torquerisk.study.cycle.cylinder import (
    CylinderSpec,
    Ignition,
    burn_duration,
    ca50_compression,
    cycle_inputs,
    ignition,
)
from torquerisk.study.draws.spreads import PEAK_LIMIT
from torquerisk.study.loads.injection import limits
from torquerisk.study.loads.manifold import evaporation_beyond_petrol
from torquerisk.study.loads.modelled_cylinder import cylinder_spec
from torquerisk.study.run.operating_state import ethanol_share

LONGEST_BURN = np.radians(100.0)
"""Longest 10-90 % duration accepted [rad]."""
IMEP_RANGE = (0.5e5, 80e5)
"""Gross IMEP accepted [Pa]: from idle to beyond any published engine."""
INTAKE_RANGE = (250.0, 600.0)
"""Charge temperature in the manifold accepted [K]."""
CA50_RANGE = (np.radians(-20.0), np.radians(60.0))
QUANTITIES = {
    "imep_gross": Kind.PRESSURE,
    "speed": Kind.SPEED,
    "ca50": Kind.ANGLE,
    "burn": Kind.ANGLE,
    "lambda_": Kind.NUMBER,
    "intake_temperature": Kind.TEMPERATURE,
}
"""Kinds of the arguments of `one_cycle`."""


@dataclass(frozen=True, kw_only=True, eq=False)
class OneCycle:
    """A closed cycle with what it was run at. SI, angles in radians after firing TDC."""

    cycle: ClosedCycle
    speed: float
    ca50: float
    burn: float
    """10-90 % burn duration."""
    lambda_: float
    intake_temperature: float
    """Of the charge in the manifold [K]."""
    trapped_temperature: float
    """Of the charge at intake valve closing [K]."""
    ignition: Ignition | None
    """How the charge lights; None with spark ignition."""
    notices: tuple[Notice, ...]


def one_cycle(
    engine: Engine,
    imep_gross: float,
    speed: float,
    ca50: float | None = None,
    burn: float | None = None,
    lambda_: float | None = None,
    intake_temperature: float | None = None,
) -> OneCycle:
    """The cycle of one cylinder whose gross IMEP is the one given.

    imep_gross: [Pa]; speed: [rad/s]; ca50: angle of 50 % burned after firing TDC [rad]; burn: from
    10 to 90 % burned [rad]; lambda_: air-fuel equivalence [-]; intake_temperature: of the charge in
    the manifold [K]; the engine's `charge.trapped_heating` is added to it. What is left out takes
    its default and leaves a notice.
    Raises OutOfRangeError outside what the cycle models.
    """
    _require_within("imep_gross", imep_gross, *IMEP_RANGE, Kind.PRESSURE)
    CHANNELS["speed"].check("speed", speed)
    spec = cylinder_spec(engine, ethanol_share(engine.word("fuel.blend")), speed)
    notices: list[Notice] = []
    lambda_ = _charge_value(engine, "lambda_", lambda_, notices)
    intake_temperature = _charge_value(engine, "intake_temperature", intake_temperature, notices)
    _require_within("intake_temperature", intake_temperature, *INTAKE_RANGE, Kind.TEMPERATURE)
    trapped = intake_temperature + _heating(engine, intake_temperature, lambda_, notices)
    ca50_given, burn_given = ca50 is not None, bool(burn or spec.burn_duration)
    if ca50 is None:
        given = (burn, lambda_, intake_temperature)
        ca50, told = _default_ca50(
            engine, imep_gross, speed, lambda at: one_cycle(engine, imep_gross, speed, at, *given)
        )
        notices.append(Notice("ca50-default", told))
    _require_within("ca50", ca50, *CA50_RANGE, Kind.ANGLE)
    imep, phasing, lam = np.array([imep_gross]), np.array([ca50]), np.array([lambda_])
    if burn is None:
        burn, told = _default_burn(spec, speed, imep, lambda_, phasing)
        notices.append(Notice("burn-default", told))
    _require_within("burn", burn, np.radians(1.0), LONGEST_BURN, Kind.ANGLE)
    inputs = cycle_inputs(
        spec, speed=speed, imep=imep, ca50=phasing, duration=np.array([burn]), lambda_=lam,
        trapped_temperature=trapped,
        heat_loss_scale=engine.value("charge.heat_loss_scale").value,
    )  # fmt: skip
    lit = None
    if spec.compression_ignition:
        lit = ignition(
            spec, speed=speed, imep=imep, ca50=phasing, lambda_=lam, trapped_temperature=trapped
        )
        notices.append(Notice("ignition-delay", _told_of_delay(engine)))
    at = np.array([speed])
    for item in held_burn(
        spec, speed=at, imep=imep, lambda_=lam, ca50=phasing, lit=lit, ca50_given=ca50_given,
        burn_given=burn_given,
    ):  # fmt: skip
        notices.extend(item.told(at))
    return OneCycle(
        cycle=closed_cycle_at_imep(inputs, imep), speed=speed, ca50=ca50, burn=burn,
        lambda_=lambda_, intake_temperature=intake_temperature, trapped_temperature=trapped,
        ignition=lit, notices=tuple(notices),
    )  # fmt: skip


_CHARGE = {
    "lambda_": ("fuel.lambda_", "lambda-default", "Lambda is taken as {:g}."),
    "intake_temperature": (
        "charge.intake_temperature", "intake-temperature-default",
        "Charge temperature in the manifold is taken as {:g} K.",
    ),
}  # fmt: skip
"""Input that stands in for an argument, and the notice where that is assumed too."""


def _charge_value(
    engine: Engine, argument: str, given: float | None, notices: list[Notice]
) -> float:
    """An argument, or the engine's input in its place, with a notice where that is assumed."""
    if given is not None:
        return given
    name, code, told = _CHARGE[argument]
    used = engine.value(name)
    if not used.given:
        notices.append(Notice(code, told.format(used.value)))
    return used.value


def _heating(
    engine: Engine, intake_temperature: float, lambda_: float, notices: list[Notice]
) -> float:
    """What the charge gains on its way into the cylinder [K], with its notice."""
    heating = engine.value("charge.trapped_heating")
    told = (
        f"The charge gains {heating.value:g} K ({'given' if heating.given else 'assumed'}) on "
        f"its way from the manifold at {intake_temperature:g} K into the cylinder."
    )
    cooling = gas_exchange.EVAPORATED_IN_CHARGE * float(
        evaporation_beyond_petrol(
            ethanol_share(engine.word("fuel.blend")), np.asarray(lambda_),
            engine.compression_ignition,
        )
    )  # fmt: skip
    if round(cooling):
        told += f" Its ethanol takes back {cooling:.0f} K as it evaporates."
    notices.append(Notice("trapped-heating", told))
    return heating.value - cooling


def _default_burn(
    spec: CylinderSpec, speed: float, imep: Array, lambda_: float, ca50: Array
) -> tuple[float, str]:
    """10-90 % burn duration [rad] where none is given, and where it comes from."""
    if speed > spec.speed_high * (1 + 1e-9) and spec.burn_duration is None:
        raise OutOfRangeError(
            "speed",
            f"{Kind.SPEED.shown(speed):.6g} rpm",
            f"at most {Kind.SPEED.shown(spec.speed_high):.0f} rpm where burn duration comes from "
            "the correlation",
            "Give burn, or a lower speed.",
        )
    burn = float(burn_duration(spec, np.asarray(speed), imep, np.array([lambda_]), ca50)[0])
    source = "given by the engine file" if spec.burn_duration is not None else "by correlation"
    return burn, f"Burn duration from 10 to 90 % is {np.degrees(burn):.1f} deg, {source}."


def _default_ca50(
    engine: Engine, imep_gross: float, speed: float, cycle: Callable[[float], OneCycle]
) -> tuple[float, str]:
    """CA50 [rad] where none is given, by kind of ignition, and what to say of it.

    cycle: that of a CA50 [rad].
    """
    if not engine.compression_ignition:
        return MBT_CA50, (
            f"CA50 is taken as {np.degrees(MBT_CA50):.1f} deg after TDC, the phasing of best "
            "torque. Knock may ask for later; later phasing lowers the peak."
        )
    imep = np.array([imep_gross])
    ca50 = float(ca50_compression(speed, imep)[0])
    limit = limits(engine, imep, None, np.array([engine.value(PEAK_LIMIT).value]))[0, 0]
    later = float(lateness_to_hold(ca50, cycle(ca50).cycle.peak_pressure[0] / limit))
    why = f", {np.degrees(later):.1f} deg later to hold {limit / 1e5:.0f} bar" if later else ""
    return ca50 + later, (
        f"CA50 is taken as {np.degrees(ca50 + later):.1f} deg after TDC: the median of "
        f"compression-ignition engines at this load and speed{why}."
    )


def _told_of_delay(engine: Engine) -> str:
    """Where the ignition delay and the premixed share come from."""
    cetane = engine.value("fuel.cetane")
    return (
        "The ignition delay comes from a correlation, with a cetane number of "
        f"{cetane.value:g} ({'given' if cetane.given else 'assumed'}), and the premixed share from "
        "the delay. With pilot or split injection up to about 30 % may burn premixed."
    )


def _require_within(name: str, value: float, low: float, high: float, kind: Kind) -> None:
    margin = 1e-9 * max(abs(low), abs(high))
    if low - margin <= value <= high + margin:
        return
    unit = kind.shown_unit
    raise OutOfRangeError(
        name,
        f"{kind.shown(value):.6g} {unit}",
        f"from {kind.shown(low):.6g} to {kind.shown(high):.6g} {unit}",
        "Check the number and its unit.",
    )
