"""common practice, no source: the part that is likeliest to give is looked at first."""

from torquerisk.show.pictures.risk import worst_first
from torquerisk.study.answers.results import LimitKind


def test_the_likeliest_to_be_passed_come_first(loaded):
    """Identity: chances never rise down the list, and guidance stands behind what counts."""
    items = worst_first(loaded)
    counted = [i for i in items if i.limit.kind is not LimitKind.INDEX]
    chances = [float(i.chance.max()) for i in counted]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0
    assert [*counted, *(i for i in items if i.limit.kind is LimitKind.INDEX)] == items
