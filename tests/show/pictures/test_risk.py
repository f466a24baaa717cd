"""common practice, no source: the part that is likeliest to give is looked at first."""

from pathlib import Path

import torquerisk
from torquerisk.show.pictures.risk import worst_first
from torquerisk.study.answers.results import LimitKind


def test_the_likeliest_to_be_passed_come_first():
    """Identity: chances never rise down the list, and guidance stands behind what counts."""
    case = Path(__file__).parents[3] / "sample_runs" / "hill_climb"
    engine, run = (
        torquerisk.load_engine(case / "engine.toml"),
        torquerisk.load_run(case / "run.csv"),
    )
    items = worst_first(torquerisk.assess(engine, run, torquerisk.default_policy(draws=256)))
    counted = [i for i in items if i.limit.kind is not LimitKind.INDEX]
    chances = [float(i.chance.max()) for i in counted]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0
    assert [*counted, *(i for i in items if i.limit.kind is LimitKind.INDEX)] == items
