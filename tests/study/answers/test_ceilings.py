"""The ceilings of a run in order: what stops it first, and what next when that is changed."""

import dataclasses

import numpy as np
import pytest
from plain_runs import run_of

from torquerisk.case import Engine, Policy
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.ceilings import Ceilings, ceilings_of, on_blends
from torquerisk.study.assessment.assess import BINDING, assess, at_accepted
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.limits import LimitKind

RPM_OF = [1800, 2400, 3000, 3600, 4200, 4700, 5200]
TORQUE = [170, 240, 290, 300, 285, 260, 230]
SUPPLY = {
    "fuel.blend": "E85",
    "supply.fuel_pump_flow": 2.4e-5,
    "supply.wastegate_spring": 1.2e5,
    "valvetrain.valve_effective_mass": 0.08,
    "valvetrain.valve_deceleration": 0.02,
    "valvetrain.spring_force_at_nose": 500.0,
}


@pytest.fixture(scope="module")
def result(plain_engine: Engine, few: Policy) -> Assessment:
    return assess(plain_engine.with_values(SUPPLY), run_of(RPM_OF, TORQUE), few)


@pytest.fixture(scope="module")
def found(result: Assessment) -> Ceilings:
    return answers_of(result).ceilings


def test_every_ceiling_that_binds_stands_once_in_order(result: Assessment, found: Ceilings) -> None:
    """Identity: all limits that bind and no others, the nearest first, parts and supply alike."""
    named = [one.limit.name for one in found.in_order] + [one.name for one in found.beyond]
    assert sorted(named) == sorted(n for n, i in result.limits.items() if i.limit.kind in BINDING)
    assert np.all(np.diff([one.share for one in found.in_order]) >= 0)
    assert {LimitKind.STRENGTH, LimitKind.SUPPLY} <= {one.limit.kind for one in found.in_order}


def test_a_ceiling_allows_what_its_accepted_chance_does(
    result: Assessment, found: Ceilings
) -> None:
    """Identity: torque, power and share are those of the speed where it is least over the run."""
    for one in found.in_order:
        allowed = at_accepted(result.model.bounding(one.limit), result.policy.chance)
        share = allowed / result.torque
        assert one.index == int(np.argmin(share))
        assert one.share == pytest.approx(float(share.min()), rel=1e-12)
        assert one.torque == pytest.approx(float(allowed[one.index]), rel=1e-12)
        assert one.power == pytest.approx(one.torque * result.speed[one.index], rel=1e-12)


def test_lifting_one_leaves_what_the_others_allow(result: Assessment, found: Ceilings) -> None:
    """Identity: together they allow the table's ceiling; each lifted one leaves no less, and no
    more than the next one allows alone."""
    assert found.together == pytest.approx(float((result.ceiling / result.torque).min()), rel=1e-12)
    rest = [found.together, *(one.rest for one in found.in_order)]
    assert np.all(np.diff([min(share, 1e9) for share in rest]) >= 0)
    for before, one in zip(rest[:-1], found.in_order, strict=True):
        assert before <= one.share * (1 + 1e-12)


def test_the_whole_run_raised_to_the_ceilings_keeps_the_accepted_chance(
    result: Assessment, found: Ceilings, few: Policy
) -> None:
    """Metamorphic: the run times what all allow together passes none at more than the accepted
    chance, and three tenths more passes one."""
    for factor, keeps in ((0.999, True), (1.3, False)):
        torque = np.array(TORQUE) * found.together * factor
        again = assess(result.engine, run_of(RPM_OF, torque), few)
        worst = max(
            float(item.chance.max()) for item in again.limits.values() if item.limit.kind in BINDING
        )
        assert (worst <= few.chance) is keeps


def test_the_same_pump_on_another_blend(plain_engine: Engine, few: Policy) -> None:
    """Arithmetic against the model: for E85 the pump's torque on E30 at the same phasing is greater
    by the ratio of heat per litre, 1.27; octane is 8 lower by moles."""
    run = run_of(RPM_OF, TORQUE, ca50=np.full(len(RPM_OF), np.radians(12)))
    rich, lean = (
        assess(plain_engine.with_values({**SUPPLY, "fuel.blend": blend}), run, few)
        for blend in ("E85", "E30")
    )
    told = next(one for one in answers_of(rich).ceilings.blends if one.ethanol == 0.30)
    torque = [r.limits["fuel_pump"].capacity_torque.p50 for r in (rich, lean)]
    fits = np.isfinite(torque).all(axis=0)
    assert fits.sum() >= 2
    assert (torque[1] / torque[0])[fits] == pytest.approx(told.power, rel=0.01)
    assert told.power == pytest.approx(1.27, abs=0.01)
    assert told.octane == pytest.approx(-8, abs=0.5)


def test_a_blend_beside_itself_is_left_out() -> None:
    """Edge: the blend of the case stands at no row; more ethanol feeds less, with more octane."""
    told = on_blends(0.30)
    assert 0.30 not in [one.ethanol for one in told]
    assert np.all(np.diff([one.power for one in told]) < 0)
    assert np.all(np.diff([one.octane for one in told]) > 0)


def test_speed_alone_comes_first(plain_engine: Engine, few: Policy) -> None:
    """Edge: springs that float at top speed allow no torque there, and nothing else is nearer."""
    weak = plain_engine.with_values({**SUPPLY, "valvetrain.spring_force_at_nose": 70.0})
    first = answers_of(assess(weak, run_of(RPM_OF, TORQUE), few)).ceilings.in_order[0]
    assert first.limit.name == "valve_float"
    assert np.isneginf(first.torque)
    assert np.isneginf(first.share)


def test_where_only_several_together_leave_no_torque_none_is_to_be_lifted(
    result: Assessment,
) -> None:
    """Limiting case: such a speed is left out, so lifting one still tells what the next allows."""
    last = len(result.speed) - 1
    ceiling = np.where(np.arange(last + 1) == last, -np.inf, result.ceiling)
    found = ceilings_of(dataclasses.replace(result, ceiling=ceiling))
    assert last not in {one.index for one in found.in_order}
    assert found.together > 0
