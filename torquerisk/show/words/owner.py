"""For who owns the engine: what to say back to a friend, and what to ask the tuner."""

from collections.abc import Sequence

import numpy as np

from torquerisk.show.words import in_short, prose, table_in_short
from torquerisk.show.words.dips import dip_in_short, left_aside, others_in_short, to_ask
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Dip, PhasingSource, Proposal


def told_to_a_friend(proposal: Proposal, dips: Sequence[Dip], units: Units) -> tuple[str, ...]:
    """The deepest dip, what it is for, where others are; what gives way as it is, would hold."""
    a = proposal.assessment
    none = ("There is no dip in the torque curve to explain.",)
    dip = dip_in_short(max(dips, key=lambda d: d.depth), units) if dips else none
    others = others_in_short(dips, units) if dips else ()
    gives = in_short.gives_way(proposal.measured, a.model.every.count)
    doubt = table_in_short.too_little_known(a, proposal, units)
    now = " ".join((gives, *doubt, table_in_short.answer_in_words(proposal, units)))
    return (" ".join((*dip, *others, *left_aside(a))), now)


def questions(proposal: Proposal, dips: Sequence[Dip], units: Units) -> tuple[str, ...]:
    """What to ask the tuner: of the deepest dip, of the peak, of what is not known."""
    a = proposal.assessment
    asked = [*to_ask(max(dips, key=lambda d: d.depth), units)] if dips else []
    top = int(np.argmax(a.torque))
    if proposal.under.peak_torque < a.torque[top] - proposal.policy.step:
        asked.append(
            f"Would {prose.torque_in_words(proposal.under.peak_torque, units)} at "
            f"{prose.peak_speed_in_words(proposal.under.peak_speed)} do, instead of "
            f"{prose.torque_in_words(float(a.torque[top]), units)} at "
            f"{prose.speed_in_words(float(a.speed[top]))}?"
        )
    if a.phasing_source is not PhasingSource.GIVEN:
        asked.append("Can cylinder pressure or CA50 be logged? The answer leans on it.")
    blend = a.engine.word("fuel.blend")
    asked.append(
        f"Which fuel is the tune for? This was judged on {blend}, and holds with that only."
    )
    return tuple(asked)
