"""In which order the fasteners of one head are tightened: from the middle outwards, crosswise."""

from dataclasses import dataclass

from torquerisk.case import Engine
from torquerisk.physics.head_joint.fastener_rows import fasteners_where, usual_around
from torquerisk.study.strengths.head_rings import fasteners_given, fasteners_of_head

SAME_DISTANCE = 0.01
"""Places whose distance from the middle differs by less are as near [bore pitches]."""
OUTER = 0.75
"""How much farther out the second fastener on one side of a place stands than the first [-]."""
OWN_BETWEEN = 2
"""Fasteners of one bore on the side of the next, where each has its own."""
APART = 0.24
"""How far a bore's own fasteners stand from the middle between it and the next [bore pitches]."""


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where one fastener is in its head, seen from above, and when it is tightened."""

    along: float
    """From the first row [bore pitches]."""
    across: float
    """-1 on one side of the bores, 1 on the other, more farther out."""
    turn: int
    """1 is the first."""


@dataclass(frozen=True, kw_only=True)
class Order:
    """The order of one head; `assumed` where the count around a bore was not given."""

    places: tuple[Place, ...]
    cylinders: int
    assumed: bool


def tightening_sequence(engine: Engine) -> Order | None:
    """The order for one head of an engine; None where its count tells no pattern.

    Common practice, no source: nearest the middle first, each next one as far across as may be.
    The maker's own order comes first.
    """
    cylinders, fasteners = engine.cylinders_per_head, fasteners_of_head(engine)
    given = fasteners_given(engine)
    around = usual_around(fasteners, cylinders)
    if given is None and around is None:
        return None
    rows, beside = given or fasteners_where(fasteners, cylinders, around or 0)
    by_row = engine.has("head_joint.fasteners_by_row")
    spots = [
        spot
        for at, count in enumerate(rows)
        for spot in _spots(float(at), round(count), two=not by_row and 0 < at < cylinders)
    ] + [spot for at in range(cylinders) for spot in _spots(at + 0.5, beside)]
    return Order(
        places=tuple(
            Place(along=x, across=y, turn=k) for k, (x, y) in enumerate(_ordered(spots), 1)
        ),
        cylinders=cylinders,
        assumed=given is None,
    )


def _spots(along: float, count: int, two: bool = False) -> list[tuple[float, float]]:
    """Where some fasteners stand across a place: on both sides, an odd one on the near side.

    two: four are two for each of the bores beside the place.
    """
    if two and count == 2 * OWN_BETWEEN:
        return [spot for x in (-APART, APART) for spot in _spots(along + x, OWN_BETWEEN)]
    near, far = (count + 1) // 2, count // 2
    return [
        (along, side * (1 + OUTER * k))
        for side, many in ((-1.0, near), (1.0, far))
        for k in range(many)
    ]


def _ordered(spots: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Spots from the middle outwards; of those as near, the one farthest from the last."""
    middle = (min(x for x, _ in spots) + max(x for x, _ in spots)) / 2
    left, out = sorted(spots), [(middle, 1.0)]
    while left:
        nearest = min(abs(x - middle) for x, _ in left)
        as_near = [s for s in left if abs(s[0] - middle) < nearest + SAME_DISTANCE]
        last = out[-1]
        taken = max(as_near, key=lambda s: (s[0] - last[0]) ** 2 + (s[1] - last[1]) ** 2)
        left.remove(taken)
        out.append(taken)
    return out[1:]
