"""How the fasteners of an inline head stand in rows across it."""

from torquerisk.errors import OutOfRangeError


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
