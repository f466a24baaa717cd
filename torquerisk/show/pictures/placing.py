"""Where labels of a picture go: kept apart, and one to a stretch of equal names."""

from collections.abc import Sequence


def apart(wanted: Sequence[float], least: float) -> list[float]:
    """Places for labels near the wanted ones, at least a distance apart, order kept."""
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    placed = [float(wanted[k]) for k in order]
    for _ in range(60):
        moved = False
        for k in range(len(placed) - 1):
            short = least - (placed[k + 1] - placed[k])
            if short > 1e-9:
                placed[k] -= short / 2
                placed[k + 1] += short / 2
                moved = True
        if not moved:
            break
    result = [0.0] * len(wanted)
    for place, k in zip(placed, order, strict=True):
        result[k] = place
    return result


def spans(names: Sequence[str]) -> list[tuple[str, int, int]]:
    """Stretches of equal names: name, first and last index."""
    found: list[tuple[str, int, int]] = []
    for k, name in enumerate(names):
        if found and found[-1][0] == name:
            found[-1] = (name, found[-1][1], k)
        else:
            found.append((name, k, k))
    return found
