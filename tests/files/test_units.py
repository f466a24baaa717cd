import math
import subprocess
import sys

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from torquerisk.case.declare import Kind
from torquerisk.errors import InputError
from torquerisk.files.units import (
    NO_SHARE,
    accepted_units,
    all_units,
    kind_of_unit,
    parse_quantity,
    quantity_in_words,
    says_absolute,
    says_gauge,
    size_by_pint,
    unit_of,
)
from torquerisk.quantities import RPM


@pytest.mark.parametrize("unit", all_units(), ids=lambda u: f"{u.kind.name}-{u.spelling}")
def test_every_size_is_the_one_that_pint_has(unit):
    """Source: pint's default unit registry. Guards against a wrong factor in our own table."""
    size, offset = size_by_pint(unit)
    assert size == pytest.approx(unit.size, rel=1e-9)
    assert offset == pytest.approx(unit.offset, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "si", "digits"),
    [
        ("1 lbf·ft", Kind.TORQUE, 1.355818, 7),
        ("1 lbf·in", Kind.TORQUE, 0.1129848, 7),
        ("1 kgf·m", Kind.TORQUE, 9.80665, 6),
        ("1 psi", Kind.PRESSURE, 6894.757, 7),
        ("1 ksi", Kind.STRESS, 6894757, 7),
        ("1 inHg", Kind.PRESSURE, 3386.389, 7),
        ("1 mmHg", Kind.PRESSURE, 133.3224, 7),
        ("1 kgf/cm^2", Kind.PRESSURE, 98066.5, 6),
        ("1 atm", Kind.PRESSURE, 101325, 6),
        ("1 hp", Kind.POWER, 745.6999, 7),
        ("1 PS", Kind.POWER, 735.4988, 7),
        ("1 in", Kind.LENGTH, 0.0254, 6),
        ("1 lb", Kind.MASS, 0.4535924, 7),
        ("1 oz", Kind.MASS, 0.02834952, 7),
        ("1 lbf", Kind.FORCE, 4.448222, 7),
        ("1 lb·ft^2", Kind.INERTIA, 0.04214011, 7),
        ("1 in^3", Kind.VOLUME, 1.638706e-5, 7),
        ("1 lbf/in", Kind.STIFFNESS, 175.1268, 7),
        ("1 US gal/h", Kind.VOLUME_FLOW, 3.785412e-3 / 3600, 7),
        ("1 lb/h", Kind.MASS_FLOW, 1.259979e-4, 7),
        ("1 rpm", Kind.SPEED, 0.1047198, 7),
        ("1 deg", Kind.ANGLE, 0.01745329, 7),
    ],
)
def test_sizes_agree_with_the_printed_table(text, kind, si, digits):
    """Source: NIST SP 811 (2008), appendix B.8, from memory; digits as printed there."""
    assert parse_quantity(text, kind, "x") == pytest.approx(si, rel=0.51 * 10 ** (1 - digits))


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        *(
            (t, Kind.TORQUE, 95.0)
            for t in ("95 N*m", "95 Nm", "95 N·m", "95N m", "95 N-m", "95 n.m", "9.5e1 N⋅m")
        ),
        *(
            (f"70 {u}", Kind.TORQUE, 70 * 0.3048 * 4.4482216152605)
            for u in (
                "lb·ft",
                "lb-ft",
                "ft-lb",
                "lbf·ft",
                "ft·lbf",
                "lb ft",
                "ft.lbs.",
                "LB-FT",
                "lbft",
            )
        ),
        ("3.386 in", Kind.LENGTH, 0.0860044),
        ('3.386"', Kind.LENGTH, 0.0860044),
        ("1500 g", Kind.MASS, 1.5),
        ("190 mm^2", Kind.AREA, 190e-6),
        ("190 mm²", Kind.AREA, 190e-6),
        ("700 MPa", Kind.STRESS, 7e8),
        ("700 N/mm²", Kind.STRESS, 7e8),
        ("22bar", Kind.PRESSURE, 22e5),
        ("150 kPa abs", Kind.PRESSURE, 150e3),
        ("150 kPa(a)", Kind.PRESSURE, 150e3),
        ("10 psia", Kind.PRESSURE, 68947.57293168),
        ("1.5 bar gauge", Kind.GAUGE_PRESSURE, 150e3),
        ("1.5 barg", Kind.GAUGE_PRESSURE, 150e3),
        ("10 psig", Kind.GAUGE_PRESSURE, 68947.57293168),
        ("12 deg", Kind.ANGLE, math.radians(12)),
        ("12deg", Kind.ANGLE, math.radians(12)),
        ("12°", Kind.ANGLE, math.radians(12)),
        ("-12 °CA", Kind.ANGLE, math.radians(-12)),
        ("330K", Kind.TEMPERATURE, 330.0),
        ("60 °C", Kind.TEMPERATURE, 333.15),
        ("60 degC", Kind.TEMPERATURE, 333.15),
        ("60C", Kind.TEMPERATURE, 333.15),
        ("140 F", Kind.TEMPERATURE, 333.15),
        ("140 °F", Kind.TEMPERATURE, 333.15),
        ("25 K", Kind.TEMPERATURE_RISE, 25.0),
        ("45 °F difference", Kind.TEMPERATURE_RISE, 25.0),
        *(
            (t, Kind.SPEED, 3000 * RPM)
            for t in (
                "3000rpm",
                "3000 r/min",
                "3000 1/min",
                "3000 min^-1",
                "3000 min⁻¹",
                "50 rev/s",
            )
        ),
        ("300 rpm/s", Kind.SPEED_RATE, 300 * RPM),
        ("60 N*m/1000rpm", Kind.TORQUE_RISE, 0.06 / RPM),
        ("60 Nm per 1000 rpm", Kind.TORQUE_RISE, 0.06 / RPM),
        ("60 N·m/1,000rpm", Kind.TORQUE_RISE, 0.06 / RPM),
        ("60 N*m/1000 r/min", Kind.TORQUE_RISE, 0.06 / RPM),
        ("44 lb·ft/1000rpm", Kind.TORQUE_RISE, 0.044 * 1.3558179483314 / RPM),
        ("255 L/h", Kind.VOLUME_FLOW, 0.255 / 3600),
        ("600 cc/min", Kind.VOLUME_FLOW, 1e-5),
        ("36 kg/h", Kind.MASS_FLOW, 0.01),
        ("15 %", Kind.SHARE, 0.15),
        ("0.15", Kind.SHARE, 0.15),
        (0.15, Kind.SHARE, 0.15),
        ("9.5", Kind.NUMBER, 9.5),
        ("9.5:1", Kind.NUMBER, 9.5),
        (4, Kind.COUNT, 4.0),
    ],
)
def test_spellings_of_the_trade(text, kind, si):
    """Common practice, no source: every spelling that torque files and data sheets use."""
    assert parse_quantity(text, kind, "x") == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("86", Kind.LENGTH, "without a unit; write one of mm"),
        ("1500-3500 rpm", Kind.SPEED, "a range; give one number"),
        ("1500 to 3500 rpm", Kind.SPEED, "a range; give one number"),
        ("1500 rpm - 3500 rpm", Kind.SPEED, "a range; give one number"),
        (86, Kind.LENGTH, "without a unit"),
        ("86 furlong", Kind.LENGTH, "no known unit of length"),
        ("9 Nm", Kind.PRESSURE, "no known unit of pressure"),
        ("95 J", Kind.TORQUE, "no known unit of torque"),
        ("90+90 deg", Kind.ANGLE, "write the whole turn, 180 deg"),
        ("60° + 60° + 45°", Kind.ANGLE, "write the whole turn, 165 deg"),
        ("5 mPa", Kind.STRESS, "no known unit of stress"),
        ("25 °C", Kind.TEMPERATURE_RISE, "no known unit of temperature rise"),
        ("1,5 m", Kind.LENGTH, "decimal point"),
        ("1,500 mm", Kind.LENGTH, "decimal point"),
        ("1 500 mm", Kind.LENGTH, "decimal point"),
        ("0x10 mm", Kind.LENGTH, "no known unit"),
        ("1_000 mm", Kind.LENGTH, "decimal point"),
        ("inf mm", Kind.LENGTH, "must be a number with a unit"),
        ("nan mm", Kind.LENGTH, "must be a number with a unit"),
        ("1e999 mm", Kind.LENGTH, "must be a number with a unit"),
        ("٣ mm", Kind.LENGTH, "must be a number with a unit"),
        ("9**9**9 m", Kind.LENGTH, "no known unit"),
        ("1" * 30 + " mm", Kind.LENGTH, "must be a number with a unit"),
        ("", Kind.LENGTH, "must be a number with a unit"),
        (True, Kind.COUNT, "must be a plain number"),
        (float("nan"), Kind.NUMBER, "finite"),
        (float("inf"), Kind.SHARE, "finite"),
        ("4 mm", Kind.COUNT, "no known unit of count"),
        ("a\nb" * 400, Kind.LENGTH, "must be a number with a unit"),
    ],
)
def test_bad_quantities_are_refused_in_one_sentence(text, kind, says):
    """Pint alone reads '1,5 m' as 15 m and does not return on '9**9**9': none may pass."""
    with pytest.raises(InputError) as caught:
        parse_quantity(text, kind, "bore")
    sentence = str(caught.value)
    assert sentence.startswith("bore ")
    assert says in sentence
    assert "\n" not in sentence
    assert len(sentence) < 300


def test_gauge_becomes_absolute_only_with_the_ambient_pressure():
    """Identity: absolute = gauge + ambient."""
    with pytest.raises(InputError, match="state the ambient pressure"):
        parse_quantity("1.5 bar gauge", Kind.PRESSURE, "x")
    assert parse_quantity("1.5 bar gauge", Kind.PRESSURE, "x", ambient=1e5) == pytest.approx(2.5e5)
    with pytest.raises(InputError, match="gauge pressure is needed"):
        parse_quantity("2.5 bar abs", Kind.GAUGE_PRESSURE, "x")
    assert parse_quantity("2.5 bar abs", Kind.GAUGE_PRESSURE, "x", ambient=1e5) == pytest.approx(
        1.5e5
    )


def test_kind_of_unit_and_reference():
    """Common practice, no source: what a unit by itself says."""
    assert kind_of_unit("N·m") is Kind.TORQUE
    assert kind_of_unit("PS") is Kind.POWER
    assert kind_of_unit("r/min") is Kind.SPEED
    assert kind_of_unit("psi") is Kind.PRESSURE
    assert kind_of_unit("psig") is Kind.GAUGE_PRESSURE
    assert kind_of_unit("furlong") is None
    assert kind_of_unit("") is None
    assert says_absolute("kPa abs")
    assert says_gauge("barg")
    assert not says_absolute("kPa")
    assert not says_gauge("kPa")


def test_every_kind_has_units_and_reads_its_own_shown_and_si_unit():
    """Identity: what we show, we read. A new kind without units must not go unseen."""
    for kind in Kind:
        assert accepted_units(kind)
        if kind.shown_unit:
            shown = unit_of(kind.shown_unit, kind)
            assert shown is not None, kind
            assert shown.to_si(1.0) == pytest.approx(kind.from_shown(1.0), rel=1e-12)


@given(st.sampled_from(list(Kind)), st.floats(-1e12, 1e12, allow_subnormal=False))
def test_a_value_in_words_reads_back_to_the_same_float(kind, value):
    """Identity: a saved case gives the same answer, so the text must carry every bit."""
    assume(kind is not Kind.SHARE or value < NO_SHARE)
    assert parse_quantity(quantity_in_words(value, kind), kind, "x") == value


@pytest.mark.parametrize(("number", "shown"), [(math.nan, "nan"), (math.inf, "inf")])
def test_a_number_that_is_none_is_named_as_given(number, shown):
    """Edge: TOML has nan and inf."""
    with pytest.raises(InputError, match=f"^x is {shown}, but must be a finite number"):
        parse_quantity(number, Kind.NUMBER, "x")


@given(st.text(max_size=60), st.sampled_from(list(Kind)))
def test_any_text_gives_a_number_or_one_sentence(text, kind):
    """Metamorphic: no text at all may raise anything but InputError, or give NaN."""
    try:
        outcome: object = parse_quantity(text, kind, "x")
    except InputError as error:
        outcome = str(error)
    if isinstance(outcome, float):
        assert math.isfinite(outcome)
    else:
        assert "\n" not in str(outcome)


def test_reading_units_does_not_load_pint():
    """Guards the start time of the command: the unit registry takes longer than all else."""
    code = (
        "import sys; from torquerisk.files.units import parse_quantity as p; "
        "from torquerisk.case.declare import Kind; p('70 lb-ft', Kind.TORQUE, 'x'); "
        "print('pint' in sys.modules, 'pandas' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_a_mass_flow_for_a_volume_flow_is_refused_with_the_way_on():
    """Source: NIST SP 811: 1 lb is 0.45359237 kg, so that 180 lb/h at 0.72 kg/L are 113.4 L/h."""
    with pytest.raises(InputError, match=r"flow of mass, 180 lb/h.*113\.4 L/h"):
        parse_quantity("180 lb/h", Kind.VOLUME_FLOW, "injector_flow")


def test_a_zero_needs_no_unit_but_where_its_unit_matters():
    """Identity: 0 of any unit is 0; of a temperature or a pressure it depends on the reference."""
    assert parse_quantity("0", Kind.INERTIA, "x") == parse_quantity(0, Kind.INERTIA, "x") == 0.0
    for kind in (Kind.TEMPERATURE, Kind.PRESSURE, Kind.GAUGE_PRESSURE):
        with pytest.raises(InputError, match="without a unit"):
            parse_quantity("0", kind, "x")


def test_a_share_written_in_per_cent_without_its_sign_is_asked_about():
    """Identity: 5 is 500 %; 1.2 is a share that some inputs take."""
    with pytest.raises(InputError, match=r"if 5 % is meant, write 5 % or 0\.05"):
        parse_quantity("5", Kind.SHARE, "x")
    assert parse_quantity("1.2", Kind.SHARE, "x") == 1.2
