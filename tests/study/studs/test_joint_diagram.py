"""Tests of the joint diagram against the equations of the joint."""

import numpy as np
import pytest
from stud_cases import bench_of, known

from torquerisk.study.studs.joint_diagram import joint_diagram

pytestmark = pytest.mark.slow


def diagram():
    return joint_diagram(known(), torque=bench_of().torque)


def test_the_gas_force_is_split_by_the_load_factor():
    """VDI 2230 section 5.3: the fastener gains Phi F_A, the parts lose (1 - Phi) F_A."""
    d = diagram()
    for state in ("cold", "hot"):
        rest, fired = d.points[f"rest, {state}"], d.points[f"firing, {state}"]
        assert fired.clamp_force > 0
        gain = fired.fastener_force - rest.fastener_force
        loss = rest.clamp_force - fired.clamp_force
        assert gain / fired.gas_force == pytest.approx(d.load_factor)
        assert gain + loss == pytest.approx(fired.gas_force)


def test_every_point_lies_on_both_lines():
    """Identity: fastener and members stretch alike, each along its own line."""
    d = diagram()
    for name, state in (("rest, cold", "cold"), ("firing, cold", "cold"), ("lift", "hot")):
        point = d.points[name]
        on_fastener = np.interp(point.stretch, *d.fastener_line)
        x, force = d.member_line[state]
        assert on_fastener == pytest.approx(point.fastener_force)
        assert np.interp(point.stretch, x, force) == pytest.approx(point.clamp_force)


def test_the_lift_point_is_the_head_models():
    """Identity: at lift the ring's mean is down to the line load at which it lifts.

    Its weakest point is so at a pressure that is less.
    """
    d = diagram()
    head = known().model.parts.head
    lift = d.points["lift"]
    assert lift.line_load == pytest.approx(np.median(head.lift_line_load))
    assert lift.clamp_force == pytest.approx(d.clamp_at_lift)
    (ring, *_) = sorted(head.rings.values(), key=lambda r: np.median(r.fasteners))
    shares = np.median(ring.own_share) + np.median(ring.gain) * d.effective_count
    pressure = lift.gas_force * d.effective_count / shares / np.median(head.sealing_area)
    assert np.median(head.lift_pressure()) < pressure < 1.5 * np.median(head.lift_pressure())


def test_slopes_split_what_the_beam_leaves():
    """VDI 2230: Phi = delta_P/(delta_S + delta_P); here of what falls to this cylinder."""
    d = diagram()
    head = known().model.parts.head
    assert d.fastener_compliance == pytest.approx(np.median(head.fastener_compliance))
    whole = d.fastener_compliance + d.member_compliance
    assert d.member_compliance / whole == pytest.approx(d.load_factor)
    assert 0 < d.load_factor < 0.3


def test_speed_and_choice_can_be_asked_for():
    """Identity: another speed has another pressure, another fastening another preload."""
    a, best = known(), bench_of().mildest
    slow = joint_diagram(a, speed=float(a.speed[0]))
    assert slow.speed == a.speed[0]
    assert slow.pressure < joint_diagram(a).pressure
    changed = joint_diagram(a, choice=best)
    assert changed.points["rest, cold"].preload > joint_diagram(a).points["rest, cold"].preload
