"""More engines than are kept whole: the same chances as if they were, in little memory."""

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, default_policy
from torquerisk.study.assessment import assess as module
from torquerisk.study.assessment.assess import assess


def test_engines_in_blocks_tell_what_all_at_once_tell(
    plain_engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Identity: chances and ceiling do not depend on how many engines are worked out at once."""
    run, policy = run_of([2500, 4000, 5500], [330.0, 340.0, 320.0]), default_policy(draws=600)
    whole = assess(plain_engine, run, policy)
    monkeypatch.setattr(module, "SHOWN", 256)
    parts = assess(plain_engine, run, policy)
    assert parts.model.every.count == whole.model.draws.count == 600
    assert parts.model.draws.count == 256
    assert parts.model.demand.torque.shape[1] == 256
    for name in ("ceiling", "chance_any", "chance_pull", "chance_pulls"):
        assert getattr(parts, name) == pytest.approx(getattr(whole, name), rel=1e-12)
    for name, one in parts.limits.items():
        if one.limit.kind in module.BINDING:
            assert np.array_equal(one.chance, whole.limits[name].chance)
