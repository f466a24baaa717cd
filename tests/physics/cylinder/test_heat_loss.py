import numpy as np
import pytest
from cycle_examples import RPM, spark
from oracles.gas import woschni_velocity

from torquerisk.physics.cylinder import heat_loss
from torquerisk.physics.cylinder.burn import wiebe
from torquerisk.physics.cylinder.burn_duration import duration_spark
from torquerisk.physics.cylinder.closed_cycle import closed_cycle_at_imep
from torquerisk.physics.cylinder.gas import petrol_ethanol


def test_woschni_check_value():
    """Woschni's own print (recomputed): B 0.1 m, 5 MPa, 2000 K, w 20 m/s, p in bar."""
    assert heat_loss.woschni_coefficient(0.1, 5e6, 2000.0, 20.0) == pytest.approx(921.3, abs=0.1)


def test_woschni_in_the_units_of_the_paper():
    """Identity of units: 110 kcal/(m2 h K) at 1 kgf/cm2 is 130 W/(m2 K) at 1 bar, to 0.1 %."""
    kilocalorie, technical_atmosphere = 4186.8, 98066.5
    value = heat_loss.woschni_coefficient(1.0, technical_atmosphere, 1.0, 1.0)
    assert value == pytest.approx(110 * kilocalorie / 3600, rel=1.5e-3)


def test_woschni_velocity():
    """Identity: 2.28 S_p when motored; the combustion term is linear in the pressure excess."""
    assert woschni_velocity(10.0, 1e-3, 4e6, 4e6) == pytest.approx(22.8)
    assert woschni_velocity(10.0, 1e-3, 5e6, 4e6) == pytest.approx(22.8 + 3.24)


def test_motion_from_compression_is_a_least():
    """Huber, Woschni, Zeilinger: 3 C1 S_p motored at top dead centre, and the greater of the two.

    2 (V_c/V)^2 imep^-0.2: at 32 bar half of that at 1 bar.
    """
    squeeze = heat_loss.squeeze_factor(np.array([1.0, 0.5, 1.0]), np.array([0.0, 1e5, 32e5]))
    assert squeeze == pytest.approx([2.0, 0.5, 1.0])
    assert woschni_velocity(10.0, 1e-3, 4e6, 4e6, 2.0) == pytest.approx(3 * 22.8)
    assert woschni_velocity(10.0, 1e-3, 9e7, 4e6, 2.0) == pytest.approx(22.8 + 278.64)


FULL_LOAD = [
    # rpm, gross imep [bar], CA50 [deg], lambda, least and most share of the fuel's heat [%]
    (1400, 9.5, 9.0, 1.0, 14, 21),
    (3000, 10.0, 9.0, 1.0, 10, 16),
    (6000, 11.0, 10.0, 0.9, 6, 12),
    (3000, 22.0, 12.0, 1.0, 9, 13),
]


@pytest.mark.parametrize(("rpm", "imep", "ca50", "lam", "least", "most"), FULL_LOAD)
def test_petrol_heat_loss_is_usual(rpm, imep, ca50, lam, least, most):
    """Energy balances of textbooks, from memory: Heywood ch. 12 and table 12.1 (17 to 26 % of the

    fuel's heat in the coolant at full power, a third to a half of it from ports and friction), and
    10 to 12 % closed-cycle loss of boosted engines.
    """
    inputs = spark(
        fuel=petrol_ethanol(0.0), speed=rpm * RPM, lambda_=lam,
        burn=wiebe(np.radians(ca50), duration_spark(rpm * RPM, (imep - 1.5) * 1e5, lam)),
    )  # fmt: skip
    cycle = closed_cycle_at_imep(inputs, imep * 1e5)
    share = 100 * cycle.heat_lost[0] / (cycle.fuel_mass[0] * inputs.fuel.lower_heating_value)
    print(f"\n{rpm} rpm, {imep:.0f} bar: {share:.1f} % of the fuel's heat to the walls")
    assert least < share < most
