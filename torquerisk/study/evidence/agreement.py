"""The draws that agree with what is known of an engine: survived, logged, measured, lifted.

Each piece of evidence gives a draw a likelihood; a draw is kept with the product of all of them, by
one uniform number of its own. So what is left has equal weight and its number is the effective
sample size. Where few agree, they are drawn from where such engines are likely (see `likely`), or
moved about among those that would (see `moved`).
"""

from dataclasses import dataclass, replace

import numpy as np

from torquerisk.case import Policy
from torquerisk.errors import InputError
from torquerisk.physics.cylinder import knock
from torquerisk.quantities import Array
from torquerisk.study.draws.simulated_engines import Draws, standard_draws
from torquerisk.study.draws.spreads import KNOCK_THRESHOLD, engine_draws
from torquerisk.study.evidence.likelihood import acceptance, agreeing, likelihood_of
from torquerisk.study.evidence.likely import Likely, likely_of
from torquerisk.study.evidence.moved import moved
from torquerisk.study.evidence.piece import Asked, Piece
from torquerisk.study.evidence.pieces import PIECES
from torquerisk.study.evidence.rated import USUAL
from torquerisk.study.run.run_on_grid import Prepared

MOST_TRIED = 32
"""Draws tried for each draw wanted before evidence is declared to leave too few."""
BLOCK = 16_384
"""Draws tried at once: so memory does not grow with their number."""
ENOUGH_KEPT = 400
"""Independent engines from which small chances can be read."""
TEMPERS = (2.0, 4.0, 8.0, 16.0)
"""Powers 1/t by which evidence is weakened at first where next to no engine agrees."""
SELDOM = 0.1
"""Share of engines as drawn that agrees below which they are sought where they are likely."""
PILOT = 4096
"""Engines as drawn that tell where that is, roughly, and as many from there that tell it well."""
WORTH_TELLING = 0.05
"""Likelihood above which one of those tells it [-]."""
MOST_PILOTS = 6
"""Times as many are drawn for that at most, each from where the ones before tell."""
QUICKER, QUICK = 2.0, 10.0
"""Times as many engines that are kept there, of as many drawn, from which it is worth it, and from
which it is not told any better."""
RARE, RARE_DRAWS = 0.02, 1024
"""Mean likelihood of a piece of evidence by itself, below which it is what strains, and by how many
engines that is told."""
FEW_AGREE = 0.001
"""Share of engines as drawn that agrees, below which what is known contradicts itself."""
FEWEST_KEPT = 16
"""Draws that must agree for there to be an answer."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """What is known of the engine beside its inputs, and how much it narrowed the draws."""

    names: tuple[str, ...]
    """Of the pieces."""
    used: tuple[str, ...]
    """In plain words, of each piece that has any."""
    tried: int
    agreed: int
    """Of those, how many agree with the evidence."""
    share: float
    """That would agree of many [-]."""
    kept: int
    """The effective sample: independent engines that those used are worth, all of equal weight."""
    likely: Likely | None
    """From where engines were drawn, agreeing ones being likely there; None where as ever."""
    strained: str
    """What to check where next to no engine as drawn agrees; empty where enough do."""
    knock_threshold: tuple[float, float, float]
    """5, 50 and 95 % points of the knock threshold after evidence [-]."""
    knock_threshold_before: tuple[float, float, float]

    @property
    def sought(self) -> bool:
        """True where engines were drawn from where agreeing ones are likely."""
        return self.likely is not None

    @property
    def contradicted(self) -> str:
        """How few agree, in words, where what is known contradicts itself; else ''."""
        if not self.used or self.agreed >= FEW_AGREE * self.tried:
            return ""
        return (
            f"{_only(self.agreed)} of {self.tried:,} simulated engines agree with all that is known"
        )

    def holds_all_of(self, draws: Draws, names: tuple[str, ...]) -> bool:
        """True where draws are all that these pieces agree with so far, none of them moved."""
        return self.names == names and draws.count == self.agreed == self.kept


def _only(count: int) -> str:
    return f"only {count:,}" if count else "none"


def select_draws(
    prepared: Prepared,
    policy: Policy,
    begun: tuple[Draws, Evidence] | None = None,
    known: Evidence | None = None,
) -> tuple[Draws, Evidence]:
    """Draws that agree with all evidence, and what the evidence was.

    begun: what this gave for fewer draws of the same case and seed, to go on from. known: what it
    found for the same case and another seed, which tells from where to draw.
    """
    pieces = tuple(piece for piece in PIECES if piece.applies(prepared))
    if known is not None and known.names != tuple(piece.name for piece in pieces):
        known = None
    if known is not None and known.likely is not None:
        fresh = _from_there(prepared, pieces, policy, known.likely, 0, known.agreed)
        if fresh is not None:
            chosen, worth, share = fresh
            return chosen, replace(
                known, kept=int(worth), share=share, knock_threshold=_threshold(chosen)
            )
    try:
        return _selected(prepared, policy, pieces, begun, seek=known is None)
    except InputError:
        if USUAL not in pieces:
            raise
    others = tuple(piece for piece in pieces if piece is not USUAL)
    chosen, evidence = _selected(prepared, policy, others)
    return chosen, replace(evidence, strained=USUAL.check(prepared))


def _selected(
    prepared: Prepared,
    policy: Policy,
    pieces: tuple[Piece, ...],
    begun: tuple[Draws, Evidence] | None = None,
    seek: bool = True,
) -> tuple[Draws, Evidence]:
    """As `select_draws`, by these pieces; an InputError where too few agree.

    seek: where few agree, look for where they are likely.
    """
    wanted, diesel = policy.draws, prepared.engine.compression_ignition
    names = tuple(piece.name for piece in pieces)
    found: list[Draws] = []
    tried, agreed, of_pilot, sought, likely = 0, 0, 0, None, None
    if begun is not None and begun[1].holds_all_of(begun[0], names):
        found, tried, agreed = [begun[0]], begun[1].tried, begun[1].agreed
    while agreed < wanted and tried < MOST_TRIED * wanted and sought is None:
        need = (wanted - agreed) * (tried / agreed * 1.05 if agreed else MOST_TRIED)
        count = int(np.ceil(min(need, MOST_TRIED * wanted - tried))) if tried else wanted
        draws = engine_draws(
            compression_ignition=diesel, count=min(count, BLOCK), seed=policy.seed, start=tried
        )
        found.append(draws.take(np.flatnonzero(agreeing(prepared, pieces, draws))))
        tried, agreed = tried + draws.count, agreed + found[-1].count
        if seek and len(found) == 1 and agreed < SELDOM * tried:
            pilot, level = _pilot(prepared, pieces, policy)
            if tried < PILOT:
                found = [pilot.take(np.flatnonzero(level > acceptance(pilot)))]
                tried, agreed = PILOT, found[0].count
            of_pilot = int((level > acceptance(pilot)).sum())
            sought = _sought(prepared, pieces, policy, pilot, level, of_pilot)
    chosen = found[0].and_more(found[1:]).first(wanted)
    few = agreed < FEWEST_KEPT and sought is None
    worth, share = float(chosen.count), agreed / tried
    at_once = min(tried, BLOCK)
    if sought is not None:
        chosen, worth, share, likely = sought
        tried, agreed = PILOT, of_pilot
    elif few:
        draws = engine_draws(compression_ignition=diesel, count=at_once, seed=policy.seed)
        chosen, worth = _tempered(prepared, pieces, draws, policy, agreed)
    elif chosen.count < min(wanted, ENOUGH_KEPT):
        chosen, worth = moved(prepared, pieces, chosen, policy)
    evidence = Evidence(
        names=names,
        used=tuple(filter(None, (piece.words(prepared) for piece in pieces))),
        tried=tried,
        agreed=agreed,
        share=share,
        kept=int(worth),
        likely=likely,
        strained=_checks(prepared, pieces, draws) if few else "",
        knock_threshold=_threshold(chosen),
        knock_threshold_before=_threshold(
            standard_draws((KNOCK_THRESHOLD.name,), at_once, policy.seed)
        ),
    )
    return chosen, evidence


def _pilot(prepared: Prepared, pieces: tuple[Piece, ...], policy: Policy) -> tuple[Draws, Array]:
    """The first engines as drawn, and their likelihood (N,) where it tells or is accepted."""
    pilot = engine_draws(
        compression_ignition=prepared.engine.compression_ignition, count=PILOT, seed=policy.seed
    )
    floor = np.minimum(acceptance(pilot), WORTH_TELLING)
    return pilot, likelihood_of(prepared, pieces, pilot, floor)


def _sought(
    prepared: Prepared,
    pieces: tuple[Piece, ...],
    policy: Policy,
    pilot: Draws,
    level: Array,
    agreed: int,
) -> tuple[Draws, float, float, Likely] | None:
    """Engines from where agreeing ones are likely, worth as many independent ones as are wanted.

    With their worth, the share that would agree of many, and the place. None where that is not
    known, or no quicker. pilot, level, agreed: engines as drawn, their likelihood (N,), and how
    many of them agree.
    """
    diesel, places = prepared.engine.compression_ignition, list[Likely | None]([None])
    likely, drawn = likely_of(pilot, _telling(level), places), PILOT
    while drawn < MOST_PILOTS * PILOT and (likely is None or likely.weight > 1 / QUICK):
        draw = engine_draws if likely is None else likely.draws
        more = draw(compression_ignition=diesel, count=PILOT, seed=policy.seed, start=drawn)
        places.append(likely)
        floor = np.full(PILOT, WORTH_TELLING)
        level = np.concatenate([level, likelihood_of(prepared, pieces, more, floor)])
        pilot, drawn = pilot.and_more([more]), drawn + PILOT
        likely = likely_of(pilot, _telling(level), places)
    if likely is None or likely.weight > 1 / QUICKER:
        return None
    found = _from_there(prepared, pieces, policy, likely, drawn, agreed)
    return None if found is None else (*found, likely)


def _telling(level: Array) -> Array:
    """The likelihoods (N,) that are worth telling where engines are likely, 0 for the others."""
    return np.where(level > WORTH_TELLING, level, 0.0)


def _from_there(
    prepared: Prepared,
    pieces: tuple[Piece, ...],
    policy: Policy,
    likely: Likely,
    start: int,
    agreed: int,
) -> tuple[Draws, float, float] | None:
    """The engines of `_sought`, their worth and share, from the `start` of the sequence on."""
    wanted, diesel = policy.draws, prepared.engine.compression_ignition
    found: list[Draws] = []
    kept, worth, drawn, squares = 0, 0.0, 0, 0
    rate = max(agreed, 1) / PILOT / likely.weight
    while worth < wanted and drawn < MOST_TRIED * wanted:
        draws = likely.draws(
            compression_ignition=diesel, seed=policy.seed, start=start + drawn,
            count=int(np.clip(1.1 * (wanted - worth) / rate, PILOT, BLOCK)),
        )  # fmt: skip
        weight, uniform = likely.stands(draws) / likely.weight, acceptance(draws)
        floor = np.where(weight > 0, uniform / np.maximum(weight, 1e-300), np.inf)
        level = likelihood_of(prepared, pieces, draws, floor)
        copies = np.where(level > floor, np.floor(level * weight + 1 - uniform), 0).astype(int)
        found.append(draws.take(np.repeat(np.arange(draws.count), copies)))
        drawn, kept = drawn + draws.count, kept + found[-1].count
        squares += int((copies**2).sum())
        worth = kept**2 / max(squares, 1)
    if worth < min(wanted, ENOUGH_KEPT):
        return None
    used = int(np.ceil(min(wanted * kept / worth, kept)))
    # Any part of them must be like the whole, so no stretch of the sequence comes first.
    order = np.random.default_rng(policy.seed + 3).permutation(kept)[:used]
    chosen = found[0].and_more(found[1:]).take(order)
    return chosen, min(worth, wanted), likely.weight * kept / drawn


def _tempered(
    prepared: Prepared, pieces: tuple[Piece, ...], draws: Draws, policy: Policy, agreed: int
) -> tuple[Draws, float]:
    """Engines that agree where next to none was drawn: evidence is let in by degrees.

    A likelihood to the power t agrees with more draws; t doubles up to 1, and engines are moved at
    each. So evidence that weights engines is heard out; what rules them out still rules.
    """
    level = likelihood_of(prepared, pieces, draws, np.zeros(draws.count))
    uniform = acceptance(draws)
    for power in TEMPERS:
        index = np.flatnonzero(level > level.max() * uniform**power)[: policy.draws]
        if level.max() > 0 and len(index) >= FEWEST_KEPT:
            break
    else:
        raise InputError(
            f"{_only(agreed)} of {draws.count} simulated engines agree with the evidence"
            + _contradiction(prepared, pieces, draws)
        )
    found, least, random = draws.take(index), np.inf, np.random.default_rng(policy.seed + 2)
    while True:
        found, worth = moved(prepared, pieces, found, policy, power)
        least = min(least, worth)
        if power <= 1:
            return found, least
        level = likelihood_of(prepared, pieces, found, np.zeros(found.count))
        # From t to 2 t the likelihood counts once more to the power t.
        agree = level > level.max() * random.random(found.count) ** power
        found, power = found.take(np.flatnonzero(agree)), power / 2


def _threshold(draws: Draws) -> tuple[float, float, float]:
    values = knock.KNOCK_THRESHOLD_MEDIAN * draws.of_model(KNOCK_THRESHOLD)
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return float(low), float(middle), float(high)


def _contradiction(prepared: Prepared, pieces: tuple[Piece, ...], draws: Draws) -> str:
    """The rest of the sentence where next to no simulated engine agrees with the evidence."""
    for piece in pieces:
        told = piece.mismatch(prepared)
        if told:
            return f": {told[0].lower()}{told[1:]}"
    return f", so the inputs contradict it: check {_checks(prepared, pieces, draws)}."


def _checks(prepared: Prepared, pieces: tuple[Piece, ...], draws: Draws) -> str:
    """What to check: of the pieces with which next to no engine agrees, else of all."""
    asked = Asked(prepared=prepared, draws=draws.first(RARE_DRAWS))
    rare = [piece for piece in pieces if piece.likelihood(asked).mean() < RARE] or pieces
    return "; ".join(filter(None, (piece.check(prepared) for piece in rare)))
