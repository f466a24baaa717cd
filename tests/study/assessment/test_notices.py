"""Every caveat appears exactly when it should: one case with it, one without."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pytest
from plain_runs import RPM, run_of

from torquerisk.case import CAUTIONS, Engine, Policy, Run, default_policy
from torquerisk.show.words.in_short import assessment_in_short
from torquerisk.study.assessment.assess import assess, noticed
from torquerisk.study.assessment.notices import notices_of
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.table.finer_grid import on_finer_grid

pytestmark = pytest.mark.slow

RPMS = [2000, 3000, 4000, 5000, 6000]
TORQUE = [170.0, 220.0, 230.0, 225.0, 200.0]
GIVEN: dict[str, Any] = {
    "head_joint.tightening": "torque",
    "head_joint.tightening_torque": 75.0,
    "test.sweep_rate": 100 * RPM,
    "test.inertia": 0.0,
    "charge.intake_temperature": 318.15,
    "running_gear.small_end_wall": 0.012,
    "running_gear.cap_thickness": 0.030,
}
"""Engine values with which the base case is quiet."""
VE = {"manifold_pressure": np.array(TORQUE) * 550 + 0.3e5, "lambda_": np.full(5, 0.87)}


@dataclass(frozen=True, kw_only=True)
class Case:
    """Changes to the base case."""

    code: str
    values: dict[str, Any] = field(default_factory=dict)
    """Engine values."""
    drop: tuple[str, ...] = ()
    """Engine values of GIVEN left out."""
    facts: dict[str, Any] = field(default_factory=dict)
    """Facts of the run; None takes one away."""
    channels: dict[str, Any] = field(default_factory=dict)
    torque: Any = None
    rpm: Any = None
    diesel: bool = False

    def __str__(self) -> str:
        return self.code


CASES = [
    Case(code="measured-at-assumed", facts={"measured_at": None}),
    Case(code="driveline-loss-assumed", facts={"measured_at": "wheel"}),
    Case(code="correction-unknown", facts={"correction": None}),
    Case(code="ambient-assumed", facts={"correction": "J1349"}),
    Case(code="correction-out-of-range",
         facts={"correction": "J1349", "ambient_pressure": 85e3, "ambient_temperature": 308.0}),
    Case(code="inertia-unknown", drop=("test.inertia",)),
    Case(code="rows-averaged", rpm=np.linspace(2000, 6000, 100), torque=np.full(100, 200.0)),
    Case(code="tightening-torque-assumed", drop=("head_joint.tightening_torque",)),
    Case(code="tightening-angle-assumed", values={"head_joint.tightening": "angle"}),
    Case(code="tightened-past-yield", values={"head_joint.tightening_torque": 125.0}),
    Case(code="phasing-ignition-advance",
         channels={"ignition_advance": np.radians([18.0] * 5)}),
    Case(code="phasing-efficiency", channels=VE),
    Case(code="evidence", channels=VE),
    Case(code="few-draws", channels={"peak_pressure": np.array([3.6, 4.5, 4.8, 4.8, 4.5]) * 1e6}),
    Case(code="bmep-high", torque=np.array([300.0, 480, 560, 560, 500])),
    Case(code="volumetric-efficiency", channels={**VE, "manifold_pressure": np.full(5, 0.97e5)}),
    Case(code="sold-boosted-assumed", torque=np.array([170.0, 270, 300, 270, 240]),
         values={"running_gear.original_rods": None}),
    Case(code="far-below-rating", torque=np.full(5, 40.0), values={
        "rated.torque": 220.0, "rated.torque_speed": 4000 * RPM, "rated.power": 110e3,
        "rated.power_speed": 6000 * RPM,
    }),
    Case(code="boost-added", torque=np.array([170.0, 270, 300, 270, 240]),
         values={"rated.boosted": "false", "running_gear.original_rods": None}),
    Case(code="boosted-charge-assumed", torque=np.array([170.0, 270, 300, 270, 240]),
         drop=("charge.intake_temperature",)),
    Case(code="sweep-assumed", drop=("test.sweep_rate",)),
    Case(code="steady-points", values={"test.sweep_rate": 0.0}),
    Case(code="speed-limited", rpm=[3000, 6000, 9000, 11000, 12000],
         values={"running_gear.piston_mass": 0.7}),
    Case(code="no-torque", values={
        "head_joint.tightening": "torque", "head_joint.tightening_torque": 5.0
    }),
    Case(code="late-phasing", channels={"ca50": np.radians([14, 14, 32, 14, 14])}),
    Case(code="overspeed", values={
        "rated.torque": 120.0, "rated.torque_speed": 4000 * RPM, "rated.power": 60e3,
        "rated.power_speed": 5000 * RPM,
    }),
    Case(code="critical-speed", values={"running_gear.critical_speed": 5200 * RPM}),
    Case(code="pin-oval-range", values={"running_gear.pin_diameter": 0.022,
                                        "running_gear.pin_bore_diameter": 0.006}),
    Case(code="lambda-range", channels={"lambda_": [0.87, 0.87, 0.60, 0.87, 0.87]}),
    Case(code="phasing-range", channels={"ca50": np.radians([12, 12, 12, 12, 50.0])}),
    Case(code="phasing-range", channels={"ca50": np.radians([-6, 12, 12, 12, 12.0])}),
    Case(code="phasing-range", diesel=True, channels={"ca50": np.radians([12, 12, 40, 12, 12])}),
    Case(code="load-range", torque=np.array([300.0, 480, 1400, 560, 500])),
    Case(code="load-range-low", torque=np.array([-30.0, 220, 230, 225, 200])),
    Case(code="speed-range", diesel=True, rpm=[2000, 3000, 4000, 6000, 7500]),
    Case(code="ca50-load-range", diesel=True, torque=np.array([400.0, 900, 1050, 500, 400])),
    Case(code="burn-load-range", torque=np.array([300.0, 480, 680, 560, 500])),
    Case(code="burn-range", diesel=True, rpm=[2000, 3000, 4000, 5000, 6800],
         torque=np.array([400.0, 500, 500, 500, 900])),
    Case(code="delay-range", diesel=True, torque=np.array([12.0, 400, 400, 400, 400]),
         channels={"lambda_": np.full(5, 1.5)}),
    Case(code="light-load-charge", diesel=True, torque=np.array([12.0, 400, 400, 400, 400])),
    Case(code="delay-range", diesel=True,
         channels={"intake_temperature": np.array([225.0, 320, 320, 320, 320])},
         values={"compression_ratio": 8.0, "charge.trapped_heating": 0.0}),
    Case(code="charge-temperature-range",
         channels={"intake_temperature": np.array([318.0, 318, 318, 318, 470])}),
    Case(code="piston-speed-range", rpm=[2000, 4000, 6000, 8000, 11000]),
    Case(code="friction-range", torque=np.array([300.0, 480, 1050, 560, 500]),
         channels={"ca50": np.radians([12, 12, 3, 12, 12])}),
    Case(code="manifold-pressure-range", torque=np.array([40.0, 220, 230, 225, 200])),
    Case(code="advance-range", channels={"ignition_advance": np.radians([18, 18, 18, 18, 65.0])}),
    Case(code="lambda-spread-cut", channels={"lambda_": [0.87, 0.87, 1.10, 0.87, 0.87]}),
    Case(code="phasing-spread-cut", channels={"ca50": np.radians([12, 12, 43.5, 12, 12])}),
    Case(code="phasing-spread-cut", diesel=True, torque=np.array([20.0, 220, 230, 225, 200])),
    Case(code="cyclic-spread-cut", channels={"ca50": np.radians([12, 12, 43, 12, 12])}),
    Case(code="clearance-range", values={"running_gear.big_end_clearance": 290e-6}),
    Case(code="bearing-width-range", values={"running_gear.big_end_width": 0.060}),
    Case(code="pin-bore-range", values={"running_gear.pin_diameter": 0.022,
                                        "running_gear.pin_bore_diameter": 0.020}),
    Case(code="cycles-range", values={"test.sweep_rate": 800 * RPM}),
    Case(code="burn-load-range", torque=np.array([300.0, 480, 680, 560, 500]),
         values={"charge.burn_duration": np.radians(25)}),
    Case(code="shank-range", values={"head_joint.shank_diameter": 0.0052,
                                     "head_joint.tightening_torque": 12.0}),
    Case(code="shank-spread-cut", values={"head_joint.shank_diameter": 0.0115}),
    Case(code="clamped-length-range", values={"head_joint.clamped_length": 0.016}),
    Case(code="clamped-length-range", values={"head_joint.clamped_length": 0.300}),
    Case(code="clamped-length-spread-cut", values={"head_joint.clamped_length": 0.0168}),
    Case(code="engagement-spread-cut", values={"head_joint.thread": "M24x3",
                                               "head_joint.engagement_length": 0.006}),
    Case(code="sealing-diameter-spread-cut", values={"head_joint.sealing_diameter": 0.0865}),
    Case(code="head-friction-spread-cut", values={"head_joint.head_friction": 0.04}),
    Case(code="snug-torque-range", values={"head_joint.tightening": "angle",
                                           "head_joint.tightening_torque": 95.0,
                                           "head_joint.tightening_angle": np.radians(90)}),
    Case(code="rod-strength-range", values={"running_gear.rod_yield_strength": 900e6,
                                            "running_gear.rod_tensile_strength": 905e6}),
    Case(code="rod-strength-spread-cut", values={"running_gear.rod_yield_strength": 900e6,
                                                 "running_gear.rod_tensile_strength": 960e6}),
    Case(code="clearance-spread-cut", values={"running_gear.big_end_clearance": 200e-6}),
    Case(code="bearing-width-spread-cut", values={"running_gear.big_end_width": 0.0129}),
    Case(code="pin-bore-spread-cut", values={"running_gear.pin_bore_diameter": 0.0180}),
    *(Case(code="input-spread-cut", values={name: value}) for name, value in (
        ("charge.trapped_heating", 5.0), ("head_joint.ring_share", 0.97),
        ("head_joint.gasket_relaxation", 0.01),
        ("head_joint.lift_share", 0.05), ("head_joint.running_temperature", 470.0),
        ("running_gear.rod_big_end_share", 0.84), ("running_gear.oil_temperature", 440.0))),
    Case(code="input-spread-cut", values={"head_joint.thread_friction": 0.04,
                                          "head_joint.tightening_torque": 40.0}),
    Case(code="input-spread-cut", diesel=True, values={"fuel.cetane": 69.0}),
    Case(code="charge-temperature-spread-cut",
         channels={"intake_temperature": np.array([318.0, 318, 318, 318, 440])}),
    Case(code="friction-spread-cut", torque=np.array([300.0, 480, 800, 560, 500]),
         channels={"ca50": np.radians([12, 12, 3, 12, 12])}),
    Case(code="delay-spread-cut", diesel=True, torque=np.full(5, 400.0),
         channels={"intake_temperature": np.array([320.0, 320, 290, 320, 320])},
         values={"compression_ratio": 8.0, "charge.trapped_heating": 10.0}),
    Case(code="premixed-spread-cut", diesel=True, torque=np.array([60.0, 220, 230, 225, 200]),
         channels={"lambda_": np.full(5, 2.4)},
         values={"fuel.cetane": 22.0, "compression_ratio": 10.0}),
    Case(code="pressure-scale-range", torque=np.array([170.0, 220, 230, 225, -8]), channels=VE,
         values={"supply.pressure_sensor_limit": 3e5}),
    Case(code="coolant-pressure", channels={"coolant_pressure": [1e5, 1e5, 1.3e5, 1.3e5, 1.3e5]}),
    Case(code="abnormal", torque=np.full(5, 400.0),
         channels={"ignition_advance": np.radians([25.0] * 5)}),
    Case(code="displacement-off", values={"displacement": 2.15e-3}),
]  # fmt: skip
QUIET_DIESEL = Case(
    code="", diesel=True, rpm=[1200, 1400, 1600, 1800, 2000], torque=np.full(5, 90.0),
    channels={"ca50": np.radians([6.0] * 5), "lambda_": np.full(5, 2.2)},
    values={"fuel.cetane": 40.0, "compression_ratio": 14.5, "charge.intake_temperature": 300.0},
)  # fmt: skip
ALWAYS = {"assumed", "knock-estimate", "not-assessed", "no-known-good"}
"""Codes of any spark engine without a known-good curve and supply data."""


@pytest.fixture(scope="module")
def tiny() -> Policy:
    """As few draws as are not called few."""
    return default_policy(draws=200)


def made(case: Case, spark: Engine, diesel: Engine) -> tuple[Engine, Run]:
    """Engine and run of a case."""
    engine = diesel if case.diesel else spark
    values = {k: v for k, v in {**GIVEN, **case.values}.items() if k not in case.drop}
    rpm = RPMS if case.rpm is None else case.rpm
    torque = TORQUE if case.torque is None else case.torque
    run = run_of(rpm, torque, **case.channels)
    facts = {k: v for k, v in {**run.facts, **case.facts}.items() if v is not None}
    return engine.with_values(values), Run(
        name="run", speed=run.speed, torque=run.torque, channels=run.channels, facts=facts
    )


@pytest.fixture(scope="module")
def found(plain_engine: Engine, plain_diesel: Engine, tiny: Policy) -> Callable[[Case], Assessment]:
    """The assessment of a case, made once."""
    kept: dict[int, Assessment] = {}

    def assessed(case: Case) -> Assessment:
        if id(case) not in kept:
            kept[id(case)] = assess(*made(case, plain_engine, plain_diesel), tiny)
        return kept[id(case)]

    return assessed


@pytest.fixture(scope="module")
def base(plain_engine: Engine, plain_diesel: Engine, tiny: Policy) -> Assessment:
    """The quiet case."""
    return assess(*made(Case(code=""), plain_engine, plain_diesel), tiny)


def codes(result: Assessment) -> set[str]:
    """Codes of its notices."""
    return {notice.code for notice in result.notices}


@pytest.fixture(scope="module")
def diesel_base(plain_engine: Engine, plain_diesel: Engine, tiny: Policy) -> Assessment:
    """A quiet diesel: light enough a load that some of it burns premixed."""
    return assess(*made(QUIET_DIESEL, plain_engine, plain_diesel), tiny)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_notice_comes_with_its_cause(
    found: Callable[[Case], Assessment], base: Assessment, diesel_base: Assessment, case: Case
) -> None:
    """Identity: there with the cause, not there without it."""
    assert case.code not in codes(diesel_base if case.diesel else base)
    assert case.code in codes(found(case))


def test_the_quiet_diesel_has_the_usual_ones_alone(diesel_base: Assessment) -> None:
    """Identity: nothing is held in a diesel whose every quantity lies inside the ranges."""
    usual = {"assumed", "no-known-good", "not-assessed", "replaced-unknown"}
    assert codes(diesel_base) == usual


def test_replaced_parts_of_which_nothing_is_said_come_first(
    plain_engine: Engine, tiny: Policy
) -> None:
    """Contract: a guess stands in for them, so what they are is asked before any verdict; parts
    that are told, and those of the maker, are not."""
    told = plain_engine.with_values(
        {"running_gear.rod_section_area": 190e-6, "running_gear.rod_bolt_class": "12.9",
         "head_joint.tightening": "yield"}
    )  # fmt: skip
    run = run_of([2000, 4000, 6000], [150, 160, 140])
    bare, given = (assess(engine, run, tiny) for engine in (plain_engine, told))
    (notice,) = (n.text for n in bare.notices if n.code == "replaced-unknown")
    assert "rods and rod bolts are not the maker's and nothing is said of them" in notice
    assert "How the head is tightened is not said" in notice, "its thread and class always are"
    assert assessment_in_short(bare)[0] == notice
    assert "replaced-unknown" not in codes(given)
    rods = told.with_values({"running_gear.original_rods": "true"})
    assert "replaced-unknown" not in codes(assess(rods, run, tiny))


def test_the_quiet_case_has_the_usual_ones_alone(base: Assessment) -> None:
    """Identity: assumed phasing and what every such engine is told, nothing else."""
    assert codes(base) == ALWAYS | {"phasing-assumed", "cold-full-load", "replaced-unknown"}


def test_known_phasing_needs_no_caveat(
    plain_engine: Engine, plain_diesel: Engine, tiny: Policy
) -> None:
    """Identity: with CA50 logged no sentence on phasing is left."""
    case = Case(code="", channels={"ca50": np.radians([14.0] * 5)})
    result = assess(*made(case, plain_engine, plain_diesel), tiny)
    assert not any(code.startswith("phasing") for code in codes(result))


def test_a_known_good_curve_takes_its_notice_away(
    plain_engine: Engine, plain_diesel: Engine, tiny: Policy
) -> None:
    """Identity: evidence for no-known-good."""
    engine, run = made(Case(code=""), plain_engine, plain_diesel)
    result = assess(engine, run, tiny, known_good=run_of(RPMS, np.array(TORQUE) * 0.7))
    assert "no-known-good" not in codes(result)
    assert "evidence" in codes(result)


def test_a_diesel_hears_nothing_of_sparks(
    plain_engine: Engine, plain_diesel: Engine, tiny: Policy
) -> None:
    """Identity: knock, pre-ignition and ignition advance are no matter of a diesel."""
    result = assess(*made(Case(code="", diesel=True), plain_engine, plain_diesel), tiny)
    assert not codes(result) & {"abnormal", "knock-estimate", "phasing-ignition-advance"}
    told = " ".join(n.text.lower() for n in result.notices)
    for word in ("knock", "pre-ignition", "ignition advance", "octane", "spark"):
        assert word not in told
    assert "knock" in result.not_assessed
    assert "knock" not in result.limits


@pytest.mark.parametrize("case", CASES, ids=str)
def test_notices_are_sentences(found: Callable[[Case], Assessment], case: Case) -> None:
    """Identity: they end in a full stop and hold no NaN, no infinity and no bare SI name."""
    for notice in found(case).notices:
        assert notice.text.endswith(".")
        words = notice.text.lower().replace(".", " ").replace(",", " ").split()
        assert not {"nan", "inf", "-inf", "none"} & set(words), notice.text
        assert "rad/s" not in notice.text


def test_shares_in_the_evidence_notice_agree(
    plain_engine: Engine, plain_diesel: Engine, tiny: Policy
) -> None:
    """Identity: the share told is of all that were tried, the sample is what is used, and a finer
    grid tells the same."""
    case = Case(code="", channels=VE)
    result = assess(*made(case, plain_engine, plain_diesel), tiny)
    told = next(n.text for n in result.notices if n.code == "evidence")
    assert f"of {result.evidence.tried} simulated engines agree" in told
    assert f"{result.evidence.kept} of those are used" in told
    finer = noticed(on_finer_grid(result, result.speed[:1]))
    assert told == next(n.text for n in finer.notices if n.code == "evidence")


@pytest.mark.parametrize(("chance", "told"), [(0.004, True), (0.006, False)])
def test_a_chance_of_less_than_one_engine_is_told(
    plain_engine: Engine, plain_diesel: Engine, chance: float, told: bool
) -> None:
    """Arithmetic: 0.4 % of 200 simulated engines is less than one of them, 0.6 % is more."""
    policy = default_policy(draws=200, chance=chance)
    result = assess(*made(Case(code=""), plain_engine, plain_diesel), policy)
    found = [n.text for n in result.notices if n.code == "chance-unresolved"]
    assert bool(found) is told
    if told:
        assert "Simulate 250 or more" in found[0]


def test_cautions_name_what_comes_first() -> None:
    """Design: estimates, not a guarantee; the maker's data, local codes and practice come first."""
    text = " ".join(CAUTIONS).lower()
    for word in ("estimate", "not a promise", "maker", "local codes", "qualified", "stop the run"):
        assert word in text


def test_valves_that_float_name_themselves(plain_engine: Engine, tiny: Policy) -> None:
    """Contract: whatever leaves no torque at a speed is named there, springs as well as rods."""
    engine = plain_engine.with_values(
        {"valvetrain.valve_effective_mass": 0.12, "valvetrain.valve_deceleration": 0.02,
         "valvetrain.spring_force_at_nose": 300.0}
    )  # fmt: skip
    found = assess(engine, run_of([2000, 4000, 6500], [150, 160, 140]), tiny)
    assert np.isneginf(found.ceiling[-1])
    (told,) = (n.text for n in found.notices if n.code == "speed-limited")
    assert "valve float in" in told


@pytest.mark.parametrize(("agreed", "told"), [(0, "None of"), (3, "Only 3 of")])
def test_how_few_engines_agree_is_told_as_people_say_it(base: Assessment, agreed, told) -> None:
    """Common practice, no source: nobody says 'only 0'."""
    strained = replace(
        base.evidence, agreed=agreed, tried=32768, kept=1024, used=("a",), strained="torque"
    )
    found = notices_of(replace(base, evidence=strained))
    (text,) = [str(n.text) for n in found if n.code == "evidence-strains"]
    assert text.startswith(told)
