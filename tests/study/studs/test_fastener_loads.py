"""What a fastener carries before and after lift, its swing, and the pressure under its head."""

import math

import numpy as np
import pytest
from small_case import assessed, engine, hump

from torquerisk.physics.head_joint.fatigue import amplitude_limit_vdi2230
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.studs.fastener_loads import (
    bearing_under_head,
    fastener_loads,
    firing_curve,
    loads_of_run,
)
from torquerisk.study.studs.fastening import MIDDLE


def middle(pressure: float, **values: object):
    """Loads of the joint with every input at its median, at one pressure [Pa]."""
    wanted = engine().with_values({f"head_joint.{k}": v for k, v in values.items()})
    head = head_capacity(wanted, MIDDLE)
    at = np.array([pressure])
    return head, fastener_loads(wanted, head, at, at)


def loaded_most(head):
    """The kind of ring whose firing adds most to a fastener."""
    return max(head.rings.values(), key=lambda ring: ring.gain[0])


def test_before_and_after_lift_by_hand():
    """Derived: the beam's gain while the ring is closed, its greater one once it has opened."""
    head, low = middle(60e5)
    area, ring = float(head.sealing_area[0]), loaded_most(head)
    gain, gain_open = float(ring.gain[0]), float(ring.gain_open[0])
    preload = max(float(head.preload_cold[0]), float(head.preload_hot[0]))
    assert low.open_share == 0
    assert low.rest.p50 == pytest.approx(preload)
    assert low.firing.p50 == pytest.approx(preload + gain * 60e5 * area)
    opens = low.open_pressure.p50
    _, high = middle(opens + 10e5)
    assert high.open_share == 1
    expected = preload + (gain * opens + gain_open * 10e5) * area
    assert high.firing.p50 == pytest.approx(expected)
    assert high.gain_closed == pytest.approx(gain * area)
    assert high.gain_lifted == pytest.approx(gain_open * area)
    assert 2 < gain_open / gain < 10


def test_the_ring_opens_at_the_pressure_named():
    """Identity: nothing is left at its weakest point there, and something just below."""
    head, loads = middle(60e5)
    kind = next(k for k, ring in head.rings.items() if ring is loaded_most(head))
    at = loads.open_pressure.p50
    assert head.ring_line_load(np.array([at * 1.0001]), kind)[0] == 0
    assert head.ring_line_load(np.array([at * 0.9999]), kind)[0] > 0
    gained = float(head.rings[kind].gain[0] * at * head.sealing_area[0])
    assert loads.at_open.p50 == pytest.approx(float(head.preload_hot[0]) + gained)


@pytest.mark.parametrize(("material", "bears"), [("cast aluminium", "hot"), ("grey iron", "cold")])
def test_what_it_bears_is_of_the_greater_preload(material, bears):
    """Derived: warm, an aluminium head adds to its steel fasteners, an iron one takes off.

    Middle joint, so that each load is one number: rest = the greater in-service preload.
    """
    head, loads = middle(60e5, head_material=material)
    cold, hot = float(head.preload_cold[0]), float(head.preload_hot[0])
    assert (hot > cold) is (bears == "hot")
    assert loads.load_state == bears
    gained = float(loaded_most(head).gain[0] * head.sealing_area[0]) * 60e5
    assert loads.rest.p50 == pytest.approx(max(cold, hot))
    assert loads.firing.p50 == pytest.approx(max(cold, hot) + gained)


def test_tightened_into_yield_it_bears_no_more_than_yield():
    """Edge: firing takes a fastener at yield to its yield load, and warm-up no further at rest."""
    head, loads = middle(60e5, tightening="yield", tightening_torque=40.0, gasket_relaxation=0.0)
    top = float(head.yield_load[0])
    assert float(head.preload_hot[0]) > top
    assert loads.rest.p50 == pytest.approx(top)
    assert loads.firing.p50 == pytest.approx(top)


@pytest.mark.parametrize("tightening", ["torque", "yield"])
def test_more_pressure_never_carries_less(tightening):
    """Metamorphic: the load in a fastener rises with pressure, or stays at yield."""
    values = {"tightening": tightening, "tightening_torque": 40.0 if tightening == "yield" else 92}
    found = [middle(p, **values)[1].firing.p50 for p in np.linspace(10e5, 300e5, 15)]
    assert np.all(np.diff(found) >= -1e-6)


def test_the_amplitude_over_its_limit_is_the_fatigue_index():
    """Identity: the number shown and the index judged are one thing; VDI 2230 throughout."""
    run = assessed(hump())
    index = run.limits["fastener_fatigue"]
    k = int(np.argmax(index.utilisation))
    loads = loads_of_run(run, k)
    assert loads.amplitude_limit == pytest.approx(float(amplitude_limit_vdi2230(0.011)))
    assert loads.amplitude.p50 / loads.amplitude_limit == pytest.approx(
        index.utilisation[k], rel=0.02
    )


def test_bearing_pressure_by_hand():
    """Derived: preload over the ring of a washer of twice 11 mm about its hole of 12 mm."""
    head = head_capacity(engine(), MIDDLE)
    found = bearing_under_head(engine(), head)
    load = max(float(head.assembly_preload[0]), float(head.preload_hot[0]))
    hole = head.fastener.turned.clearance_hole_diameter
    assert found.pressure == pytest.approx(load / (math.pi / 4 * (0.022**2 - hole**2)))
    assert found.utilisation == pytest.approx(found.pressure / 220e6)
    wide = math.pi / 4 * (found.washer**2 - hole**2)
    narrow = math.pi / 4 * ((found.washer - 1e-3) ** 2 - hole**2)
    assert load / wide <= found.limit < load / narrow


def test_picture_and_text_tell_one_load():
    """Identity: at one pressure the curve's load is that of the sentence, in every state."""
    for material in ("cast aluminium", "grey iron"):
        head, loads = middle(90e5, head_material=material)
        curve = firing_curve(head, 90e5)
        assert curve.fastener[-1] == pytest.approx(loads.firing.p50)
        assert curve.yield_load == pytest.approx(float(head.yield_load[0]))


def test_the_rings_curve_starts_at_the_fasteners_own_clamp():
    """Balance of forces: without pressure a ring bears no more than its preload."""
    head, _ = middle(60e5)
    curve = firing_curve(head, 60e5)
    preload = float(head.preload[0])
    assert 0.2 * preload < curve.left[0] <= preload
    assert np.all(np.diff(curve.left[:-1]) <= 1e-6 * preload)
    assert curve.left[-2] < 0.02 * preload
