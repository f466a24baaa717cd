import pytest

from torquerisk.case import Policy, default_policy
from torquerisk.errors import InputError
from torquerisk.quantities import RPM


def test_the_stated_defaults():
    """Source: design.md section 5: 1 % chance, 16 points, a fixed seed."""
    policy = default_policy()
    assert policy.chance == 0.01
    assert policy.points == 16
    assert policy.rise is None
    assert policy.peak_from is None
    assert policy == default_policy()


def test_changes_are_kept():
    """Identity: a change changes that and nothing else."""
    policy = default_policy(chance=0.02, peak_from=4500 * RPM)
    assert isinstance(policy, Policy)
    assert policy.chance == 0.02
    assert policy.peak_from == 4500 * RPM
    assert policy.draws == default_policy().draws


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"chance": 0.0}, "chance"),
        ({"chance": 1.0}, "chance is 100 %.*; if 1 % is meant, write 1 % or 0.01"),
        ({"chance": 60.0}, "to 50 %; check the number and its unit"),
        ({"points": 1}, "points"),
        ({"points": 2.5}, "whole number"),
        ({"peak_from": 4500.0}, "peak_from"),
        ({"rise": -1.0}, "rise"),
        ({"draws": 10}, "draws"),
        ({"seed": -1}, "seed"),
        ({"resolution": 0.0}, "resolution"),
        ({"objective": "win"}, "must be one of most area"),
    ],
)
def test_policies_outside_their_range_are_refused(changes, says):
    """Identity: every field is declared with its range."""
    with pytest.raises(InputError, match=says):
        default_policy(**changes)


@pytest.mark.parametrize(
    ("torque", "step"),
    [(4.0, 0.1), (14.0, 0.1), (20.0, 0.2), (49.9, 0.2), (60.0, 0.5), (100.0, 1.0), (3000.0, 1.0)],
)
def test_the_step_of_a_table_is_a_round_hundredth_of_the_greatest_torque(torque, step):
    """Arithmetic: the greatest of 0.1, 0.2, 0.5 and 1 N*m within 1 %; what is asked for wins."""
    assert default_policy().of(torque).step == step
    assert default_policy(resolution=5.0).of(torque).step == 5.0
    with pytest.raises(ValueError, match=r"Policy\.of"):
        _ = default_policy().step
