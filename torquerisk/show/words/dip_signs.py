"""What a log shows in a dip of the torque curve, what it leaves open, and what to ask of it."""

from collections.abc import Sequence

from torquerisk.quantities import DEGREE
from torquerisk.show.words import prose
from torquerisk.study.answers.results import GREATER_PART, Dip, Sign

TAKES = ("manifold_pressure", "ignition_advance", "ca50", "lambda_")
"""Channels that tell what took torque out."""
ACROSS = {
    "manifold_pressure": "manifold pressure",
    "exhaust_pressure": "exhaust pressure",
    "ignition_advance": "ignition",
    "ca50": "phasing",
    "lambda_": "lambda",
    "intake_temperature": "charge temperature",
    "peak_pressure": "peak pressure",
}


def unsaid(dip: Dip) -> str:
    """What was logged in a dip without a sign of what took torque out, and what was not."""
    if any(sign_and_question(dip, sign)[1] for sign in dip.signs):
        return ""
    level = [name for name in dip.level if name in TAKES]
    told = []
    if level:
        told.append(f"{listed(level)} {'runs' if len(level) == 1 else 'run'} straight through it")
    if dip.unlogged:
        told.append(f"{listed(dip.unlogged)} {'was' if len(dip.unlogged) == 1 else 'were'} not "
                    "logged, so what took torque out is not seen")  # fmt: skip
    else:
        told.append("look at throttle, cam switching, slip and the dyno first")
    text = "; ".join(told)
    return f"{text[0].upper()}{text[1:]}."


def sign_and_question(dip: Dip, sign: Sign) -> tuple[str, str]:
    """What a channel did in a dip, and what to ask of it: '' where it took no torque out."""
    size, more, where = abs(sign.change), sign.change > 0, where_in_short(dip)
    place = prose.speeds_in_words(sign.from_speed, sign.to_speed)
    if sign.channel == "coolant_pressure":
        if not dip.lifted:
            return "Coolant pressure rose there: the head may have lifted.", ""
        return "Coolant pressure rose: the head lifts there even with the dip.", ""
    if sign.channel in ("ignition_cut", "fuel_cut"):
        what = sign.channel.removesuffix("_cut")
        return (
            f"{what.capitalize()} was cut {place}: a protection or a torque limit acted.",
            f"What cut {what} near {where}?",
        )
    if sign.channel == "manifold_pressure":
        return _pressure(dip, sign)
    if sign.channel in ("ignition_advance", "ca50", "knock_retard"):
        return _ignition(dip, sign)
    if sign.channel == "lambda_":
        told = f"The mixture is {size:.2f} lambda {'leaner' if more else 'richer'} there"
        if not more:
            return f"{told}.", f"Is the mixture richer near {where} on purpose?"
        return (
            f"{told}: less fuel came, or some did not burn (a cut, a misfire); look at the fuel "
            "supply first.",
            f"What makes the mixture leaner near {where}: pump, filter, injectors, a cut?",
        )
    if sign.channel == "fuel_pressure":
        told = f"Fuel pressure is {prose.plain(size / 1e3)} kPa {'higher' if more else 'lower'}"
        return f"{told} there.", "" if more else f"Why does fuel pressure sag near {where}?"
    told = f"The charge is {prose.plain(size)} K {'hotter' if more else 'cooler'} there"
    if not more:
        return f"{told}.", ""
    return f"{told}, so thinner.", f"What heats the charge near {where}?"


def _pressure(dip: Dip, sign: Sign) -> tuple[str, str]:
    size = f"{prose.plain(abs(sign.change) / 1e3)} kPa ({prose.percent(abs(sign.share))})"
    if sign.change > 0:
        return f"Manifold pressure is {size} higher there: it is not boost that is missing.", ""
    share = dip.depth / dip.would_be_torque
    told = f"Manifold pressure is {size} lower there, torque {prose.percent(share)}"
    # Torque goes about as the charge does: Heywood 1988, section 2.14, from memory.
    if abs(sign.share) <= GREATER_PART * share:
        return f"{told}: that is not all of it.", ""
    return (
        f"{told}: lowered on purpose, or by its own control.",
        f"Was boost lowered near {where_in_short(dip)} on purpose, or does its control let it "
        "fall?",
    )


def _ignition(dip: Dip, sign: Sign) -> tuple[str, str]:
    """Ignition, the burning that follows it, or what knock control took back of it."""
    size, where = f"{abs(sign.change) / DEGREE:.1f} degrees", where_in_short(dip)
    if sign.channel == "knock_retard":
        if sign.change < 0:
            return f"Knock control took back {size} less there than beside it.", ""
        return (
            f"Knock control took back {size} there, as logged.",
            f"Knock control took ignition back near {where}: did it hear knock, or noise?",
        )
    told = f"{'Burning' if sign.channel == 'ca50' else 'Ignition'} is {size}"
    if (sign.change > 0) == (sign.channel == "ignition_advance"):
        why = "" if dip.early_ignition_costs else ", as a lower charge allows"
        return f"{told} earlier there{why}.", ""
    if by_knock_control(dip):
        return f"{told} later there.", ""
    return (
        f"{told} later there: by the tuner's table, or the knock control pulled it back.",
        f"Is ignition later near {where} by your table, or did the knock control do it?",
    )


def by_knock_control(dip: Dip) -> bool:
    """True where the log shows that knock control took more ignition back in a dip."""
    return any(s.channel == "knock_retard" and s.change > 0 for s in dip.signs)


def where_in_short(dip: Dip) -> str:
    """Where a dip is deepest, as '4,000 rpm'."""
    return prose.about_speed(dip.speed).removeprefix("about ")


def listed(channels: Sequence[str]) -> str:
    """Channels by their names, as 'ignition and lambda'."""
    names = [ACROSS.get(n, n.replace("_", " ")) for n in channels]
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
