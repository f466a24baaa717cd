"""Tests of the joint diagram against the equations of the joint."""

import numpy as np
import pytest
from stud_cases import bench_of, known

from torquerisk.study.studs.joint_diagram import joint_diagram


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
    for name in ("rest, cold", "firing, cold", "lift"):
        point = d.points[name]
        on_fastener = np.interp(point.stretch, *d.fastener_line)
        x, force = d.member_line["cold"]
        assert on_fastener == pytest.approx(point.fastener_force)
        assert np.interp(point.stretch, x, force) == pytest.approx(point.clamp_force)


def test_the_lift_point_is_the_head_models():
    """Identity: at lift the ring is down to its least line load, at the median joint's pressure."""
    d = diagram()
    head = known().model.parts.head
    lift = d.points["lift"]
    assert lift.line_load == pytest.approx(np.median(head.line_load))
    assert lift.clamp_force == pytest.approx(d.clamp_at_lift)
    pressure = lift.gas_force * d.effective_count / np.median(head.sealing_area)
    assert pressure == pytest.approx(np.median(head.lift_pressure()), rel=0.06)


def test_slopes_sum_to_the_joints():
    """VDI 2230: delta_S + delta_P is kept; Phi = n delta_P/(delta_S + delta_P)."""
    d = diagram()
    head = known().model.parts.head
    whole = np.median(head.fastener_compliance) + np.median(head.member_compliance)
    assert d.fastener_compliance + d.member_compliance == pytest.approx(whole)
    assert d.member_compliance / whole == pytest.approx(d.load_factor)


def test_speed_and_choice_can_be_asked_for():
    """Identity: another speed has another pressure, another fastening another preload."""
    a, best = known(), bench_of().mildest
    slow = joint_diagram(a, speed=float(a.speed[0]))
    assert slow.speed == a.speed[0]
    assert slow.pressure < joint_diagram(a).pressure
    changed = joint_diagram(a, choice=best)
    assert changed.points["rest, cold"].preload > joint_diagram(a).points["rest, cold"].preload
