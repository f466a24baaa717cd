"""What somebody's own fastening would do, in words."""

from collections.abc import Iterator

from torquerisk.show.words.prose import Units, chance_in_words, plain, torque_in_words
from torquerisk.show.words.target_sheet import (
    held_in_words,
    middle_in_words,
    state_in_words,
    tightened,
    torque_as_set,
)
from torquerisk.study.answers.results import StudBench, StudChoice

FAR = 2.0
"""Times the usual torque, or that part of it, from which a unit or a digit may be wrong (stated
choice)."""


def own_in_words(
    bench: StudBench, own: StudChoice, usual: StudChoice, units: Units
) -> Iterator[str]:
    """Whether it holds, in how many not and what it holds; what the usual tightening would do.

    usual: the same fasteners with the torque and angle that are usual for them.
    """
    made, draws = own.fastening, len(own.pressure_held)
    asked = torque_in_words(bench.target_torque, units)
    chances = {mode: own.chances.get(mode, 0.0) for mode in own.fails}
    why = " and ".join(f"{m.value} {chance_in_words(c, draws)}" for m, c in chances.items())
    held = f"They hold {held_in_words(own.torque_held, units)}"
    if own.torque_held > 0:
        held += f" new, after 1,000 heat cycles {held_in_words(own.torque_held_aged, units)}"
    if not own.holds:
        held += f"; {middle_in_words(own, units)}"
    yield f"{made.name}, at {asked}: {state_in_words(own)}; {why}. {held}."
    other = usual.fastening
    if made.how == other.how:
        return
    share = made.tightening_torque / other.tightening_torque
    if not 1 / FAR <= share <= FAR:
        yield (
            f"{torque_as_set(made.tightening_torque, units)} is {plain(share, 2)} of what is "
            f"usual, {torque_as_set(other.tightening_torque, units)}: check the number and its "
            "unit."
        )
    yield f"At the usual {tightened(other, units)} they are {state_in_words(usual)}."
    same = (c for c in bench.choices if c.fastening.fastener == made.fastener and c.holds)
    better = next((c for c in same if not c.close), None)
    if better is not None and not (own.holds or usual.holds):
        yield f"At {tightened(better.fastening, units)} they are estimated to hold."
