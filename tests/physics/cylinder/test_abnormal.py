"""Checks of abnormal cycles."""

import numpy as np
import pytest

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.cylinder import abnormal

RPM = 2 * np.pi / 60


def test_preignition_rate_is_of_the_published_order() -> None:
    """Published orders of magnitude, from memory: 1e-5 to 1e-4 per cycle above 20 bar, slow."""
    rate = abnormal.preignition_rate(np.array([20e5, 24e5, 30e5, 35e5]), 1800 * RPM)
    assert np.all((rate > 1e-5) & (rate < 1e-4))


def test_preignition_fades_with_speed_and_without_load() -> None:
    """Metamorphic: monotone and smooth; negligible at 10 bar and at 4,000 rpm."""
    bmep = np.linspace(0, 40e5, 81)[:, None]
    speed = np.linspace(1000, 9000, 81)[None, :] * RPM
    rate = abnormal.preignition_rate(bmep, speed)
    assert np.all(np.diff(rate, axis=0) > 0)
    assert np.all(np.diff(rate, axis=1) < 0)
    assert abnormal.preignition_rate(10e5, 1500 * RPM) < 1e-7
    assert abnormal.preignition_rate(25e5, 4000 * RPM) < 1e-6


def test_at_the_load_that_it_is_sold_with_an_engine_hardly_pre_ignites() -> None:
    """Common practice, no source: engines sold at 20 to 25 bar see about one in their lives, less
    than 1e-6 per cycle; well above it the published rate, and one sold at 10 bar is as any other.
    """
    for rated in (20e5, 25e5):
        assert abnormal.preignition_rate(rated, 1500 * RPM, rated=rated) < 1e-6
        assert abnormal.preignition_rate(rated + 12e5, 1500 * RPM, rated=rated) > 1e-5
    unrated = abnormal.preignition_rate(22e5, 1500 * RPM)
    assert abnormal.preignition_rate(22e5, 1500 * RPM, rated=10e5) == unrated


def test_compression_ignition_has_none() -> None:
    """Identity: neither kind exists without a spark; shapes still broadcast."""
    bmep, speed = np.full((3, 1), 25e5), np.full((1, 4), 200.0)
    assert abnormal.preignition_rate(bmep, speed, False).shape == (3, 4)
    assert not abnormal.preignition_rate(bmep, speed, False).any()
    assert not abnormal.heavy_knock_rate(np.array([1.0, 5.0]), 1.9, False).any()


def test_heavy_knock_rate_at_its_stated_points() -> None:
    """Regression: our own output, as the docstring states it: 5.6e-6, 0.3 % and 5 %."""
    rate = abnormal.heavy_knock_rate(1.9 * np.array([1.0, 1.5, 2.0]), 1.9)
    assert rate == pytest.approx([5.6e-6, 2.8e-3, 0.0524], rel=0.05)


def test_heavy_knock_rate_is_half_at_heavy_knock() -> None:
    """Identity: half the cycles lie above the mean one; none without knock integral."""
    assert abnormal.heavy_knock_rate(3.0 * 1.9, 1.9) == pytest.approx(0.5)
    assert abnormal.heavy_knock_rate(0.0, 1.9) == 0.0
    rising = abnormal.heavy_knock_rate(np.linspace(0.1, 5, 50), 1.9)
    assert np.all(np.diff(rising) >= 0)


def test_heavy_knock_rate_against_simulation() -> None:
    """Identity by sampling: share of lognormal cycle integrals above three times the threshold."""
    cycles = 3.6 * np.exp(0.25 * np.random.default_rng(3).standard_normal(400_000))
    share = (cycles > 3 * 1.9).mean()
    error = 4 * np.sqrt(share / cycles.size)
    assert abnormal.heavy_knock_rate(3.6, 1.9) == pytest.approx(share, abs=error)


def test_chance_in_a_pull_is_binomial() -> None:
    """Identity: 1 - (1 - r)^N by hand, r N for rare events, and the ends."""
    assert abnormal.chance_in_pull(0.1, 3) == pytest.approx(1 - 0.9**3)
    assert abnormal.chance_in_pull(1e-9, 1000) == pytest.approx(1e-6, rel=1e-5)
    ends = abnormal.chance_in_pull(np.array([0.0, 1.0, 1.0]), np.array([100.0, 1.0, 0.0]))
    assert ends == pytest.approx([0.0, 1.0, 0.0])


def test_amplitude_spans_what_was_seen() -> None:
    """Published events, from memory, 1.2 to 2.0; about twice the normal peak was measured once."""
    assert abnormal.chance_amplitude_exceeds(np.array([1.2, 2.0])) == pytest.approx([0.95, 0.05])


def test_heavy_knock_loads_rod_and_head_less_than_pre_ignition() -> None:
    """Common practice, no source: knock erodes a piston and bends no rod that carries 1.5 times
    the normal peak; pre-ignition does in most events. Never more at any height."""
    ratio = np.linspace(1.0, 2.5, 31)
    knock, early = (
        abnormal.chance_amplitude_exceeds(ratio, kind)
        for kind in (abnormal.HEAVY_KNOCK, abnormal.PREIGNITION)
    )
    assert np.all(knock < early)
    assert abnormal.chance_amplitude_exceeds(1.5, abnormal.HEAVY_KNOCK) < 0.01
    assert abnormal.chance_amplitude_exceeds(1.5, abnormal.PREIGNITION) > 0.5


def test_harm_needs_an_event_and_its_height() -> None:
    """Metamorphic: more capacity, less harm; more cycles, more; never above any event's chance."""
    ratio = np.linspace(1.0, 2.5, 31)
    chance = abnormal.chance_of_harm(ratio, 1e-3, 200.0)
    assert np.all(np.diff(chance) < 0)
    assert np.all(chance < abnormal.chance_in_pull(1e-3, 200.0))
    assert np.all(abnormal.chance_of_harm(ratio, 1e-3, 400.0) > chance)


def test_either_is_a_union() -> None:
    """Identity: independent union by hand; zero changes nothing."""
    assert abnormal.either(0.2, 0.5) == pytest.approx(0.6)
    assert abnormal.either(1e-12, 0.0) == pytest.approx(1e-12)


def test_refusals_name_the_argument() -> None:
    """Edge: rates above 1 and an integral below 0."""
    with pytest.raises(OutOfRangeError, match=r"rate is 1\.5"):
        abnormal.chance_in_pull(1.5, 10)
    with pytest.raises(OutOfRangeError, match="knock_integral"):
        abnormal.heavy_knock_rate(-0.1, 1.9)


def test_worst_amplitude_is_where_the_chance_of_harm_says() -> None:
    """Identity: the chance of passing the u-quantile of the worst is 1 - u; none, and it is 1."""
    quantile = np.array([0.3, 0.9, 0.999])
    worst = abnormal.worst_amplitude(1e-2, 400.0, quantile)
    assert abnormal.chance_of_harm(worst, 1e-2, 400.0) == pytest.approx(1 - quantile)
    assert np.all(abnormal.worst_amplitude(1e-7, 400.0, np.array([0.3, 0.9])) == 1.0)
