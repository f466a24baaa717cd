"""How much more is used than on a known curve, where a part has nothing left in either."""

import numpy as np

from torquerisk.study.answers.over_known import _over, _used


def test_a_part_without_strength_is_used_as_much_as_before() -> None:
    """Limiting case: what has no strength left is wholly used, here and on the known curve alike;
    the others are compared as ever, and nothing is left without a number."""
    strength = np.array([100.0, 0.0, 50.0])
    here, known = _used(np.array([[50.0, 60.0, 50.0]]), strength), _used(
        np.array([25.0, 30.0, 50.0]), strength
    )  # fmt: skip
    assert here.tolist() == [[0.5, np.inf, 1.0]]
    assert _over(here, known).tolist() == [[2.0, 1.0, 1.0]]
