"""From the driven wheel to the crank: turns, and what torque at the wheel is to be divided by."""

from collections.abc import Callable

from torquerisk.errors import InputError

FACTS = ("referred_to", "gear_ratio", "final_drive", "tyre_radius")
"""What is told of gear and tyre, by TestFacts field."""
Given = Callable[[str], object]
"""A fact about the test as it was given, by TestFacts field, or None."""


def turns_of_crank(given: Given) -> float | None:
    """Turns of the crank for one of the driven wheel [-]; None where the gear is not given.

    Raises InputError where half of it is.
    """
    gear, final = given("gear_ratio"), given("final_drive")
    if gear is None and final is None:
        return None
    if not isinstance(gear, float) or not isinstance(final, float):
        raise InputError(
            "gear_ratio and final_drive belong together, but only one is given; give both, with a "
            "final_drive of 1 where gear_ratio is that of the whole driveline."
        )
    return gear * final


def divisor(given: Given) -> float:
    """What torque as read is to be divided by to be referred to engine speed [-].

    Most roller and hub dynos print torque that is referred to engine speed already, so that
    dividing it would count the gear twice. Raises InputError where that is not clear.
    """
    place, referred, turns = given("measured_at"), given("referred_to"), turns_of_crank(given)
    if referred == "wheel":
        if place is None:
            raise InputError(
                "torque is said to be referred to wheel speed, but not where it was measured; give "
                "measured_at: wheel or hub."
            )
        if turns is None and place != "crank":
            raise InputError(
                "torque is said to be referred to wheel speed, but the gear is not given; give "
                "gear_ratio and final_drive."
            )
        return 1.0 if turns is None or place == "crank" else turns
    if referred is None and turns is not None and place in ("wheel", "hub"):
        raise InputError(
            f"gear_ratio is given, but not whether torque at the {place} is referred to engine "
            "speed already, as most dynos print it, or is as the wheel feels it; give referred_to: "
            "engine or wheel."
        )
    return 1.0
