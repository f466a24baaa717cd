"""Columns of the quasi-random sequence. Source: [SOBOL], and identities of what a column is."""

import numpy as np
import pytest

from torquerisk.study.draws import columns, spreads
from torquerisk.study.draws.columns import COLUMNS, WIDTH
from torquerisk.study.draws.simulated_engines import standard_draws


def test_a_name_more_or_less_moves_no_other_draw(monkeypatch: pytest.MonkeyPatch) -> None:
    """Metamorphic: deviates follow name and seed, not what else is drawn nor in which order."""
    names = COLUMNS[3:9]
    before = standard_draws(names, 64, 1).deviates
    monkeypatch.setattr(columns, "COLUMNS", (*COLUMNS, "model.not_there_yet"))
    more = standard_draws(("model.not_there_yet", *reversed(names)), 64, 1).deviates
    assert all(np.array_equal(before[name], more[name]) for name in names)
    assert not np.array_equal(before[names[0]], standard_draws(names, 64, 2).deviates[names[0]])
    assert all(np.any(more["model.not_there_yet"] != more[name]) for name in names)


def test_every_drawn_name_owns_one_column() -> None:
    """Identity: no two names share one, none is without, and there is room for more."""
    named = [name for name in COLUMNS if name]
    assert len(set(named)) == len(named)
    assert set(spreads.drawn(compression_ignition=True)) == set(named)
    models = (*spreads.MODEL_SPREADS, *spreads.MODEL_SPREADS_COMPRESSION)
    assert {item.name for item in models} <= set(named)
    assert len(COLUMNS) < WIDTH
    with pytest.raises(KeyError, match="owns no column"):
        standard_draws(("model.unheard_of",), 64, 1)


@pytest.mark.parametrize(("count", "most", "usual"), [(256, 0.55, 0.05), (4096, 0.11, 0.006)])
def test_columns_are_no_more_correlated_than_a_net_of_their_own(count, most, usual) -> None:
    """Simulation: a scrambled Sobol net of just the drawn names has over four seeds a greatest
    correlation of 0.50 (256 points) and 0.073 (4,096), root mean square 0.045 and 0.004."""
    z = np.array(list(standard_draws(COLUMNS, count, 20240229).deviates.values()))
    apart = np.corrcoef(z)[np.triu_indices(len(z), 1)]
    assert np.abs(apart).max() < most
    assert np.sqrt(np.mean(apart**2)) < usual
