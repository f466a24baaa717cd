import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from torquerisk.errors import OutOfRangeError
from torquerisk.physics.head_joint.fastener_rows import fasteners_in_row
from torquerisk.physics.head_joint.joint import (
    fastener_load,
    fastener_load_at_yield,
    gas_force_at_fastener_load,
    lift_gas_force,
    preload_required,
    ring_clamp_left,
    sealing_area,
)
from torquerisk.physics.head_joint.screw_thread import screw_thread
from torquerisk.physics.head_joint.tightening import yield_utilisation_tightening

INCH = 0.0254
LBF = 4.4482216152605
PSI = LBF / INCH**2


def parting_force(clamp, *, load_factor):
    """Gas force at which the whole clamp is gone: all of it on the ring, which seals to the end."""
    return lift_gas_force(clamp, own_share=1 - load_factor, sealing_diameter=0.089)


def standing_alone(load_factor, count=1.0):
    """A bolted joint by itself: its bolts gain Phi while it is closed, all once it has parted."""
    return {"gain": load_factor / count, "gain_open": 1 / count}


RING = {
    "own_share": 0.5,
    "sealing_diameter": 0.089,
    "ring_share": 0.65,
    "least_line_load": 50e3,
}
"""An invented ring: loses half the gas force, 89 mm, 65 % of the clamp, 50 N/mm to seal."""


def test_trade_figures_for_clamp_over_gas_force():
    """Trade-press article (common practice): 4 in, 1100 psi: 13 827 lbf gas, 41 500 lbf clamp.

    The article's 13 827 is 0.03 % above the exact product; its per-bolt loads are whole pounds.
    """
    force = 1100 * PSI * sealing_area(4 * INCH)
    assert force / LBF == pytest.approx(13827, rel=0.001)
    clamp = 41500 * LBF
    assert clamp / force == pytest.approx(3.0, abs=0.05)
    for bolts, printed in ((4, 10375), (5, 8300), (6, 6916)):
        assert bolts * printed * LBF == pytest.approx(clamp, rel=2e-4)


def test_shigley_8_4_separation_and_loads():
    """Shigley 9th ed. Ex 8-4: C 0.368, F_i 14.4 kip, P 6 kip a bolt: n_0 3.80, n_P 1.16."""
    preload, share, area, proof = 14.4e3 * LBF, 0.368, 0.226 * INCH**2, 85e3 * PSI
    load = 6e3 * LBF
    assert parting_force(preload, load_factor=share) / load == pytest.approx(3.80, abs=0.006)
    bolt = fastener_load(load, preload_per_fastener=preload, **standing_alone(share))
    assert proof * area / bolt == pytest.approx(1.16, abs=0.006)
    at_proof = gas_force_at_fastener_load(proof * area, preload_per_fastener=preload, gain=share)
    assert at_proof / load == pytest.approx(2.18, abs=0.011)


def test_shigley_8_5_separation_and_loads():
    """Shigley 9th ed. Ex 8-5: C 0.280, F_i 14.4 kip, P 5 kip: n_P 1.22, n_L 3.44, n_0 4.00."""
    preload, share, area, proof = 14.4e3 * LBF, 0.280, 0.226 * INCH**2, 85e3 * PSI
    load = 5e3 * LBF
    bolt = fastener_load(load, preload_per_fastener=preload, **standing_alone(share))
    at_proof = gas_force_at_fastener_load(proof * area, preload_per_fastener=preload, gain=share)
    assert proof * area / bolt == pytest.approx(1.22, abs=0.006)
    assert at_proof / load == pytest.approx(3.44, abs=0.011)
    assert parting_force(preload, load_factor=share) / load == pytest.approx(4.0, abs=0.006)


def test_cylinder_cover_of_shigley_8_20():
    """Shigley 8th ed. 8-20: 150 mm at 6 MPa on 10 bolts is 10.6 kN each; F_i 37.9 kN, n 5.1.

    The printed n holds the closed branch beyond separation (4.67 P), where bolts carry all.
    """
    force = 6e6 * sealing_area(0.150)
    assert force / 10 / 1e3 == pytest.approx(10.6, abs=0.06)
    preload = 0.75 * 600e6 * 84.3e-6
    assert preload / 1e3 == pytest.approx(37.9, abs=0.06)
    at_proof = gas_force_at_fastener_load(
        600e6 * 84.3e-6, preload_per_fastener=preload, gain=0.2346 / 10
    )
    assert at_proof / force == pytest.approx(5.1, abs=0.06)
    parting = parting_force(10 * preload, load_factor=0.2346)
    assert parting / force == pytest.approx(4.67, abs=0.006)
    bolts = fastener_load(
        5.1 * force, preload_per_fastener=preload, opens=parting, **standing_alone(0.2346, 10)
    )
    assert bolts == pytest.approx(5.1 * force / 10)


def test_bhandari_7_16_and_7_19():
    """[BHANDARI] Ex 7.16 prints 9.929 kN; Ex 7.19: 11.25 kN holds 50 % overload (C 1/4).

    In 7.16 the joint has parted at 9.86 kN, which the book passes over: the bolt then carries
    all 10 kN, 0.7 % more than printed.
    """
    parting = parting_force(5e3, load_factor=0.4929)
    assert parting == pytest.approx(9860, abs=1)
    load = fastener_load(10e3, preload_per_fastener=5e3, opens=parting, **standing_alone(0.4929))
    assert load == pytest.approx(10e3)
    assert load == pytest.approx(9929, rel=0.0075)
    assert parting_force(11.25e3, load_factor=0.25) == pytest.approx(15e3)


def test_khurmi_32_1_gas_force():
    """Khurmi & Gupta, head example: 115 mm at 3.15 MPa, printed 32 702 N (exact 32 719)."""
    force = 3.15e6 * sealing_area(0.115)
    assert force == pytest.approx(32702, rel=0.001)


@pytest.mark.parametrize(
    ("fasteners", "cylinders", "row"), [(4, 1, 2), (6, 2, 2), (10, 4, 2), (14, 6, 2), (17, 4, 3.4)]
)
def test_fasteners_stand_in_rows_between_and_outside_bores(fasteners, cylinders, row):
    """Identity: one row more than bores."""
    assert fasteners_in_row(fasteners, cylinders) == pytest.approx(row)


@pytest.mark.parametrize(("fasteners", "cylinders"), [(3, 4), (10, 0), (2, 1)])
def test_too_few_fasteners_are_refused(fasteners, cylinders):
    """Edge: fewer than two a row, or no cylinder."""
    with pytest.raises(OutOfRangeError):
        fasteners_in_row(fasteners, cylinders)


def test_lift_force_fed_back():
    """Identity: at the lift force the ring is at its least line load, and the clamp is needed."""
    clamp = np.array([90e3, 130e3, 170e3])
    force = lift_gas_force(clamp, **RING)
    shared = {key: RING[key] for key in ("own_share", "ring_share")}
    left = ring_clamp_left(force, clamp=clamp, **shared)
    np.testing.assert_allclose(left / (np.pi * 0.089), 50e3)
    preload = preload_required(force, effective_count=2.0, **RING)
    np.testing.assert_allclose(2.0 * preload, clamp)


def test_twice_the_joint_lifts_at_twice_the_force():
    """Metamorphic: twice the clamp and twice the sealing load lift at twice the gas force."""
    double = RING | {"least_line_load": 2 * RING["least_line_load"]}
    assert lift_gas_force(240e3, **double) == pytest.approx(2 * lift_gas_force(120e3, **RING))


def test_lift_moves_the_right_way():
    """Metamorphic: more clamp or ring share lifts later; more line load or own share, sooner."""
    clamp = np.linspace(50e3, 200e3, 16)
    assert np.all(np.diff(lift_gas_force(clamp, **RING)) > 0)
    share = np.linspace(0.5, 0.9, 9)
    assert np.all(np.diff(lift_gas_force(120e3, **(RING | {"ring_share": share}))) > 0)
    needed = np.linspace(0, 200e3, 9)
    assert np.all(np.diff(lift_gas_force(120e3, **(RING | {"least_line_load": needed}))) < 0)
    assert np.all(np.diff(lift_gas_force(120e3, **(RING | {"own_share": share}))) < 0)


def test_joint_without_clamp_leaks_at_once():
    """Edge: no clamp gives a negative lift force and an open ring, never NaN."""
    assert lift_gas_force(0.0, **RING) < 0
    assert ring_clamp_left(1e3, clamp=0.0, own_share=0.9) == 0


def test_fastener_load_is_continuous_at_separation_then_carries_all():
    """Identity: both branches meet at F_V/(1 - Phi); beyond it the fasteners carry everything."""
    parting = parting_force(120e3, load_factor=0.2)
    common = {"preload_per_fastener": 40e3, "opens": parting, **standing_alone(0.2, 3)}
    assert fastener_load(parting, **common) == pytest.approx(parting / 3)
    below = fastener_load(parting * (1 - 1e-9), **common)
    above = fastener_load(parting * (1 + 1e-9), **common)
    assert above == pytest.approx(float(below), rel=1e-8)
    assert fastener_load(2 * parting, **common) == pytest.approx(2 * parting / 3)
    assert fastener_load(0.0, **common) == 40e3
    force = np.linspace(1e3, 400e3, 50)
    closed = {"preload_per_fastener": 40e3, "gain": 0.05}
    back = gas_force_at_fastener_load(fastener_load(force, **closed), **closed)
    np.testing.assert_allclose(back, force)


def test_left_on_the_ring_by_hand():
    """Derived: 0.65 of two fasteners' 59.4 kN less 0.9 of 100 bar on 85 mm.

    0.65 x 118.8 = 77.22 kN; 0.9 x 56.745 = 51.071 kN; 26.149 kN are left.
    """
    force = 10e6 * sealing_area(0.085)
    assert force == pytest.approx(56_745, rel=1e-4)
    left = ring_clamp_left(force, clamp=2 * 59.4e3, own_share=0.9, ring_share=0.65)
    assert left == pytest.approx(26_149, rel=1e-4)


def test_nothing_is_left_from_the_lift_force_on():
    """Identity: without a least line load the ring is empty exactly from the lift force on."""
    given = {"own_share": 0.6, "ring_share": 0.65}
    lift = lift_gas_force(120e3, sealing_diameter=0.085, **given)
    force = lift * np.array([0.999, 1.0, 1.001, 2.0])
    left = ring_clamp_left(force, clamp=120e3, **given)
    assert left[0] > 0
    np.testing.assert_allclose(left[1:], 0.0, atol=1e-9)
    assert ring_clamp_left(0.0, clamp=120e3, **given) == pytest.approx(0.65 * 120e3)


def test_load_at_yield_fed_back():
    """Identity: without torsion left it is R A; with it, von Mises of load and twist gives R."""
    thread = screw_thread("M11x1.5")
    common = {"thread": thread, "yield_strength": 940e6, "thread_friction": 0.12}
    free = fastener_load_at_yield(assembly_preload=50e3, torsion_kept=0.0, **common)
    assert free == pytest.approx(940e6 * thread.stress_area)
    load = fastener_load_at_yield(assembly_preload=50e3, torsion_kept=1.0, **common)
    twisted = yield_utilisation_tightening(50e3, **common)
    tension = 50e3 / thread.stress_area / 940e6
    shear_part = twisted**2 - tension**2
    assert (load / thread.stress_area / 940e6) ** 2 + shear_part == pytest.approx(1.0)
    with pytest.raises(OutOfRangeError, match="assembly_preload"):
        fastener_load_at_yield(assembly_preload=500e3, torsion_kept=1.0, **common)


@settings(max_examples=60, deadline=None)
@given(
    preload=st.floats(5e3, 90e3),
    count=st.floats(1.0, 8.0),
    own=st.floats(0.1, 1.0),
    share=st.floats(0.3, 1.0),
    line=st.floats(0.0, 3e5),
    diameter=st.floats(0.05, 0.15),
)
def test_lift_inverts_over_the_whole_range(preload, count, own, share, line, diameter):
    """Identity: force at lift and preload required are inverses everywhere."""
    ring = {"own_share": own, "sealing_diameter": diameter}
    ring |= {"ring_share": share, "least_line_load": line}
    clamp = count * preload
    force = lift_gas_force(clamp, **ring)
    needed = preload_required(force, effective_count=count, **ring)
    assert needed == pytest.approx(preload)
    assert force <= clamp / own * (1 + 1e-12)


def test_bad_shares_are_refused_by_name():
    """Edge: an own share of 0, a ring share above 1, NaN clamp."""
    with pytest.raises(OutOfRangeError, match="own_share"):
        lift_gas_force(1e5, own_share=0.0, sealing_diameter=0.089)
    with pytest.raises(OutOfRangeError, match="ring_share"):
        lift_gas_force(1e5, own_share=0.1, sealing_diameter=0.089, ring_share=1.2)
    with pytest.raises(OutOfRangeError, match="clamp"):
        lift_gas_force(np.nan, own_share=0.1, sealing_diameter=0.089)
