"""How the fasteners of an inline head stand: in rows between the bores, and beside each bore."""

from torquerisk.errors import InputError, OutOfRangeError

AT_CORNERS = 4
"""Fasteners at the corners of a bore, two in each of the rows beside it."""


def fasteners_in_row(fasteners: int, cylinders_per_head: int) -> float:
    """Return the mean number of fasteners in one row across the head [-].

    fasteners: in one head (not in the whole of a vee engine); cylinders_per_head: n. One row stands
    between any two bores and one at each end, so that there are n + 1; real rows may differ.
    Source: [PRACTICE]. Raises OutOfRangeError on too few fasteners.
    """
    if cylinders_per_head < 1:
        raise OutOfRangeError("cylinders_per_head", cylinders_per_head, "1 or more")
    least = 2 * (cylinders_per_head + 1) if cylinders_per_head > 1 else 3
    if fasteners < least:
        raise OutOfRangeError(
            "fasteners",
            fasteners,
            f"at least {least} in a head of {cylinders_per_head}",
            "Give all fasteners of one head, not those of one cylinder.",
        )
    return fasteners / (cylinders_per_head + 1)


def fasteners_where(
    fasteners: int, cylinders_per_head: int, around: int
) -> tuple[tuple[float, ...], int]:
    """Return how many fasteners stand in each row (n + 1) and beside each bore [-].

    fasteners: in one head; cylinders_per_head: n; around: fasteners around one bore, 4 or more.
    Four are at its corners, the rest beside it, midway between the rows. Neighbours share those
    between them, F = 2 (n + 1) + n (around - 4), or each bore has its own, F = n around. A few more
    or fewer stand or lack in the rows at the ends, which keep 1 to 4 each, the fewer in the first.
    Identity (counting). Raises OutOfRangeError where neither fits.
    """
    n, beside = cylinders_per_head, around - AT_CORNERS
    shared, own = 2 * (n + 1) + n * beside, n * around
    left = fasteners - min(shared, own, key=lambda count: (abs(fasteners - count), count))
    odd_ends = n > 1 and -2 <= left <= 4
    if around < AT_CORNERS or not (left == 0 or odd_ends):
        raise OutOfRangeError(
            "fasteners_around",
            around,
            f"4 or more, and about {shared} (shared by neighbours) or {own} (each bore its own) "
            f"fasteners in a head of {n}, which has {fasteners}",
        )
    inner = 2.0 if fasteners - left == shared else 4.0
    return (2.0 + left // 2, *(inner for _ in range(n - 1)), 2.0 + left - left // 2), beside


def fasteners_by_row(
    text: str, fasteners: int, cylinders_per_head: int
) -> tuple[tuple[float, ...], int]:
    """Return how many fasteners stand in each row (n + 1) and beside each bore [-].

    text: of each row, such as "3 2 2 2 3"; fasteners: in one head; cylinders_per_head: n. What is
    in no row stands beside the bores, alike. Identity (counting). Raises InputError where it
    cannot be.
    """
    words, n = text.replace(",", " ").split(), cylinders_per_head
    rows = tuple(float(word) for word in words if word.isdecimal())
    beside, rest = divmod(fasteners - sum(rows), n)
    if len(rows) != len(words) or len(rows) != n + 1 or min(rows) < 1 or beside < 0 or rest:
        raise InputError(
            f"head_joint.fasteners_by_row is {text!r}, but must be {n + 1} numbers of 1 or more, "
            f"one for each row of a head of {n}, with as many left of its {fasteners} beside each "
            "bore."
        )
    return rows, int(beside)


def usual_around(fasteners: int, cylinders_per_head: int) -> int | None:
    """Return how many fasteners stand around one bore where that is usual; None for no fit.

    fasteners: in one head. Four of its own around each bore come first, as under heads of two
    air-cooled cylinders; else neighbours share those between them. Source: [PRACTICE], inverse of
    `fasteners_where`.
    """
    if fasteners == AT_CORNERS * cylinders_per_head:
        return AT_CORNERS
    left = fasteners - 2 * (cylinders_per_head + 1)
    if left < 0 or left % cylinders_per_head:
        return None
    return AT_CORNERS + left // cylinders_per_head
