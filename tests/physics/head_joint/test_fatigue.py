import numpy as np
import pytest

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.physics.head_joint.fatigue import (
    amplitude_limit_finite_vdi2230,
    amplitude_limit_rolled_after_vdi2230,
    amplitude_limit_vdi2230,
    elliptic_safety_shigley,
    endurance_strength_shigley,
    gerber_safety_shigley,
    goodman_safety_shigley,
    preload_cap_shigley,
    proof_safety_shigley,
    stress_amplitude,
)

KSI = 6.894757293168361e6
SHIGLEY_8_5 = {
    "amplitude": 0.280 * 5 / (2 * 0.226) * KSI,
    "preload_stress": 14.4 / 0.226 * KSI,
}


@pytest.mark.parametrize(("diameter_mm", "printed"), [(10, 51.0), (12, 48.9)])
def test_amplitude_limit_vdi2230(diameter_mm, printed):
    """VDI 2230, 0.85 (150/d + 45), printed in secondary excerpts: M10 51.0, M12 48.9 MPa."""
    assert amplitude_limit_vdi2230(diameter_mm * 1e-3) / 1e6 == pytest.approx(printed, abs=0.06)


def test_amplitude_limit_falls_with_size_and_rolling_after_helps():
    """Metamorphic: M8 54.2, M11 49.8, M14 47.4 MPa falling; rolled after is higher."""
    limits = amplitude_limit_vdi2230(np.array([8e-3, 11e-3, 14e-3]))
    np.testing.assert_allclose(limits / 1e6, [54.2, 49.8, 47.4], atol=0.06)
    after = amplitude_limit_rolled_after_vdi2230(0.011, mean_load=np.array([0.3, 0.7, 1.0]))
    assert np.all(np.diff(after) < 0)
    assert after[-1] == pytest.approx(float(limits[1]))


def test_finite_life_meets_the_endurance_limit():
    """Identity: at 2e6 cycles it is the endurance limit, at an eighth of them twice that."""
    life = amplitude_limit_finite_vdi2230(50e6, cycles=np.array([2.5e5, 2e6, 1e8]))
    np.testing.assert_allclose(life, [100e6, 50e6, 50e6])
    with pytest.raises(OutOfRangeError, match="cycles"):
        amplitude_limit_finite_vdi2230(50e6, cycles=100)


def test_shigley_8_5_fatigue():
    """Shigley 9th ed. Ex 8-5: s_a 3.10; S_a 7.55 Goodman, 10.64 proof, 11.32 Gerber (kpsi)."""
    amplitude = SHIGLEY_8_5["amplitude"]
    strengths = {"endurance_strength": endurance_strength_shigley("SAE grade 5")}
    strengths["tensile_strength"] = 120 * KSI
    assert amplitude / KSI == pytest.approx(3.10, abs=0.0051)
    for safety, printed in (
        (goodman_safety_shigley(**SHIGLEY_8_5, **strengths), 7.55),
        (gerber_safety_shigley(**SHIGLEY_8_5, **strengths), 11.32),
        (proof_safety_shigley(**SHIGLEY_8_5, proof_stress=85 * KSI), 10.64),
    ):
        assert safety * amplitude / KSI == pytest.approx(printed, abs=0.0061)


def test_bhandari_7_18_and_7_19():
    """Bhandari Ex 7.18 (54.134 mm2) and 7.19 (39.414 mm2): both come out at Goodman safety 2."""
    for share, preload, tensile, area in (
        (207 / (207 + 3 * 71), 5e3, 630e6, 54.134e-6),
        (0.25, 11.25e3, 660e6, 39.414e-6),
    ):
        safety = goodman_safety_shigley(
            amplitude=stress_amplitude(preload + share * 10e3, preload, area=area),
            preload_stress=preload / area,
            endurance_strength=0.5 * tensile * 0.897 / 2.2,
            tensile_strength=tensile,
        )
        assert safety == pytest.approx(2.0, abs=0.001)


def test_safety_points_lie_on_their_lines():
    """Identity: at n_f the load line s_m = s_i + s_a meets Goodman, Gerber and the ellipse."""
    si, se, sut, sp = 500e6, 162e6, 1040e6, 830e6
    common = {"amplitude": 20e6, "preload_stress": si, "endurance_strength": se}
    for safety, residual in (
        (
            goodman_safety_shigley(tensile_strength=sut, **common),
            lambda a: a / se + (si + a) / sut,
        ),
        (
            gerber_safety_shigley(tensile_strength=sut, **common),
            lambda a: a / se + ((si + a) / sut) ** 2,
        ),
        (
            elliptic_safety_shigley(proof_stress=sp, **common),
            lambda a: (a / se) ** 2 + ((si + a) / sp) ** 2,
        ),
    ):
        assert residual(20e6 * safety) == pytest.approx(1.0)


def test_the_two_philosophies_differ_by_about_three():
    """Shigley Table 8-17 over VDI 2230: 2.5 to 4 times; hence they are never mixed."""
    limit = amplitude_limit_vdi2230(0.010)
    for name in ("8.8", "9.8", "10.9", "12.9"):
        assert 2.5 <= endurance_strength_shigley(name) / limit <= 4.0


def test_bad_input_is_refused_by_name():
    """Edge: preload beyond the strength, falling loads, a class without data, a diameter in mm."""
    assert preload_cap_shigley(
        joint_constant=0.25, tensile_strength=1040e6, stress_area=72.3e-6
    ) == pytest.approx(0.75 * 1040e6 * 72.3e-6)
    with pytest.raises(OutOfRangeError, match="preload_stress"):
        goodman_safety_shigley(
            amplitude=1e6, preload_stress=9e8, endurance_strength=1e8, tensile_strength=8e8
        )
    with pytest.raises(OutOfRangeError, match="highest_load"):
        stress_amplitude(1.0, 2.0, area=1e-4)
    with pytest.raises(InputError, match="own stud"):
        endurance_strength_shigley("own stud")
    with pytest.raises(OutOfRangeError, match="nominal_diameter"):
        amplitude_limit_vdi2230(10.0)
