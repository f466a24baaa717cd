"""What a deviate does to an input or to a model's factor."""

import numpy as np
import pytest

from torquerisk.case import Engine
from torquerisk.study.draws.simulated_engines import (
    Z_MOST,
    Draws,
    ModelSpread,
    middle_draw,
    standard_draws,
)
from torquerisk.study.draws.spreads import DRAWN

Z = np.array([-1.0, 0.0, 2.0])


def drawn(name: str) -> Draws:
    return Draws(deviates={name: Z}, count=3)


def test_an_input_is_spread_by_its_logarithm(plain_engine: Engine) -> None:
    """Identity: one deviate multiplies by exp(relative spread), the middle is as given."""
    value = plain_engine.value("running_gear.piston_mass")
    found = drawn(value.name).of_value(value)
    assert found == pytest.approx(value.value * np.exp(value.sd / value.value * Z))


def test_an_absolute_spread_is_added_and_held(plain_engine: Engine) -> None:
    """Identity: one deviate adds its spread in kelvin; the declared range ends it, told apart."""
    value = plain_engine.value("running_gear.oil_temperature")
    draws = Draws(deviates={value.name: np.array([-1.0, 0.0, 9.0])}, count=3)
    loose, held = draws.unheld(value), draws.of_value(value)
    assert loose == pytest.approx(value.value + value.sd * np.array([-1.0, 0.0, 9.0]))
    assert held[:2] == pytest.approx(loose[:2])
    assert held[2] == value.declaration.high < loose[2]


def test_what_is_not_drawn_stays(plain_engine: Engine) -> None:
    """Edge: an input without a column is its value in every engine."""
    value = plain_engine.value("running_gear.rod_mass")
    assert np.all(drawn("fuel.octane").of_value(value) == value.value)
    assert middle_draw(("running_gear.rod_mass",)).of_value(value) == pytest.approx([value.value])


def test_a_models_spread_multiplies_or_adds() -> None:
    """Identity: factor exp(sd z) about 1, or offset sd z about 0."""
    for logarithmic, expected in ((True, np.exp(0.3 * Z)), (False, 0.3 * Z)):
        spread = ModelSpread(
            name="model.x", label="x", sd=0.3, reason="a test", logarithmic=logarithmic
        )
        assert drawn("model.x").of_model(spread) == pytest.approx(expected)


def test_deviates_are_standard_normal_and_cut() -> None:
    """Identity: middle 0 and spread 1 within the sequence's evenness, none beyond the cut."""
    draws = standard_draws(DRAWN, 1024, 7)
    for z in draws.deviates.values():
        assert abs(z.mean()) < 0.01
        assert z.std() == pytest.approx(1.0, abs=0.02)
        assert np.abs(z).max() <= Z_MOST + 1e-9


def test_fewer_and_swapped_engines_are_the_same_ones() -> None:
    """Identity: the first few are those, and another error is read under the first one's name."""
    draws = standard_draws(DRAWN, 64, 7)
    assert draws.first(5).count == 5
    assert draws.first(500).count == 64
    name, other = DRAWN[:2]
    swapped = draws.of_another_run({name: (other, 0.0)})
    np.testing.assert_array_equal(swapped.deviates[name], draws.deviates[other])
    same = draws.of_another_run({name: (other, 1.0)})
    np.testing.assert_array_equal(same.deviates[name], draws.deviates[name])
    many = standard_draws(DRAWN, 4096, 7)
    half = many.of_another_run({name: (other, 0.5)}).deviates[name]
    assert np.corrcoef(half, many.deviates[name])[0, 1] == pytest.approx(0.5, abs=0.03)
    assert half.std() == pytest.approx(1.0, abs=0.03)
    np.testing.assert_array_equal(draws.first(5).deviates[name], draws.deviates[name][:5])
