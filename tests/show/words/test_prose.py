"""Numbers and chances as people are shown them."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from torquerisk.case.sentence import Sentence, Torque
from torquerisk.quantities import RPM
from torquerisk.show.words import prose
from torquerisk.show.words.prose import Units
from torquerisk.study.assessment.result import Band
from torquerisk.study.limits import ALL_LIMITS
from torquerisk.study.table.rows import PressureTarget


def test_gum_example_of_rounding():
    """JCGM 100:2008 7.2.6 (from memory): 10.057 62 ohm with u = 27 mohm is written 10.058 ohm."""
    assert prose.rounded(10.05762, 0.027) == "10.058"


def test_gum_example_of_a_result():
    """JCGM 100:2008 7.2.2 (from memory): 100.021 47 g with u = 0.35 mg keeps two digits of u."""
    assert prose.rounded(100.021474, 0.00035) == "100.02147"


@given(
    value=st.floats(-1e6, 1e6, allow_nan=False),
    uncertainty=st.floats(1e-4, 1e5, allow_nan=False),
)
def test_rounding_keeps_two_digits_of_the_uncertainty(value, uncertainty):
    """identity: the last place shown is worth 1 to 10 % of the uncertainty."""
    shown = float(prose.rounded(value, uncertainty).replace(",", "").replace(prose.MINUS, "-"))
    place = 10.0 ** -prose.decimals_for(uncertainty)
    assert 0.00999 * uncertainty <= place <= 0.1001 * uncertainty * 1.01
    assert abs(shown - value) <= 0.5001 * place


def test_certain_value_keeps_its_digits():
    """identity: an uncertainty of 0 rounds to six digits, and 0 stays 0."""
    assert prose.rounded(101.325, 0.0) == "101.325"
    assert prose.rounded(0.0, 0.0) == "0"


@pytest.mark.parametrize(
    ("value", "told"), [(38.0, "38.0"), (0.0, "0.0"), (-0.0123, "−0.012"), (1234.5, "1,234.5")]
)
def test_a_range_without_width_is_one_short_number(value, told):
    """common practice, no source: one decimal, or two digits where that would show nothing."""
    assert prose.middle_low_high(value, value, value) == (told, told, told)
    near = value * (1 + 1e-13)
    assert prose.middle_low_high(*sorted((value, near, near))) == (told, told, told)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_no_decimals_for_what_is_no_uncertainty(bad):
    """common practice, no source: an infinite or missing uncertainty is never rounded to."""
    with pytest.raises(ValueError, match="must be finite and above 0"):
        prose.decimals_for(bad)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
def test_infinite_number_is_never_shown(bad):
    """common practice, no source: an infinite capacity has words, not a number."""
    with pytest.raises(ValueError, match="say in words"):
        prose.plain(bad)


def test_minus_and_thousands():
    """common practice, no source: a true minus sign, a comma between thousands, no minus zero."""
    assert prose.plain(-12345.6) == "−12,346"
    assert prose.plain(-0.3) == "0"
    assert prose.plain(1234.0, -1) == "1,230"


def test_us_units_by_exact_definition():
    """NIST SP 811 App. B.8: 1 ft·lbf = 1.355 818 N·m; 1 hp (550 ft·lbf/s) = 745.6999 W."""
    assert abs(prose.FOOT_POUND - 1.355818) < 5e-7
    assert abs(prose.HORSEPOWER - 745.6999) < 5e-5
    assert prose.torque_in_words(400.0, Units.US) == "295 lb·ft"
    assert prose.power_in_words(200e3, Units.US) == "268 hp"
    assert prose.torque_in_words(400.0) == "400 N·m"


@given(st.integers(0, 1024))
def test_chance_is_never_none_and_never_a_share(count):
    """GUM Supplement 1 (JCGM 101) 5.9.2 spirit: zero hits of N bound a chance, they do not make it
    0; so the words never say 0, 100 % or '1 in', and of all only that it is all simulated ones."""
    told = prose.chance_in_words(count / 1024, 1024)
    assert not told.startswith("in 0 ")
    assert "1,024 of 1,024" not in told
    assert "%" not in told
    assert "1 in" not in told
    if 0 < count < 1024:
        assert told.startswith(f"in {count:,} of 1,024 simulated engines")


def test_zero_hits_is_a_bound():
    """common practice, no source: no hit among 1,024 reads 'fewer than 1 of 1,024'."""
    assert "fewer than 1 of 1,024" in prose.chance_in_words(0.0, 1024)
    assert prose.chance_count(0.0, 1024) == "<1"
    assert prose.chance_count(1.0, 1024) == "all"
    assert prose.chance_in_words(1.0, 1024) == "in all 1,024 simulated engines"


def _band(low: float, middle: float, high: float) -> Band:
    return Band(p05=np.array([low]), p50=np.array([middle]), p95=np.array([high]))


def test_margin_reads_spare_or_short():
    """common practice, no source: no sign beside a word that says the same; an owner read
    '7.0 bar short (−8.5 to −6.0 to spare)' twice."""
    bar = prose.ShownUnit("bar", 1e5)
    assert prose.spare_in_words(_band(-9.2e5, 6.1e5, 22.4e5), 0, bar) == (
        "6 bar to spare (9 short to 22 to spare)"
    )
    assert (
        prose.spare_in_words(_band(2.2e5, 6.1e5, 9.0e5), 0, bar) == "6.1 bar to spare (2.2 to 9.0)"
    )
    assert prose.spare_in_words(_band(-8.5e5, -7.0e5, -6.0e5), 0, bar, "; x") == (
        "7.0 bar short (6.0 to 8.5 short; x)"
    )
    assert prose.spare_in_words(_band(-22.0e5, -6.1e5, 9.0e5), 0, bar) == (
        "6 bar short (22 short to 9 to spare)"
    )


@pytest.mark.parametrize("limit", ALL_LIMITS, ids=lambda limit: limit.name)
def test_no_margin_without_a_unit(limit):
    """ISO 80000-1 7.1: a value is a number and a unit; a plain ratio is shown in per cent."""
    unit = prose.limit_unit(limit)
    assert unit.name
    told = prose.points_in_words((-61 * unit.size, -24 * unit.size, 7 * unit.size), unit)
    assert told == f"24 {unit.name} short (61 short to 7 to spare)"


def test_stretches_of_speeds():
    """identity: the stretches cover every true value once and no false one."""
    mask = np.array([True, True, False, True, False, False, True, True])
    found = list(prose.stretches(mask))
    assert found == [(0, 1), (3, 3), (6, 7)]
    speed = np.arange(1, 9) * 1000 * RPM
    assert prose.where_in_words(speed, mask) == "at 5 of the speeds from 1,000 to 8,000 rpm"
    mask[3] = False
    assert prose.where_in_words(speed, mask) == (
        "from 1,000 to 2,000 rpm and from 7,000 to 8,000 rpm"
    )


STEP = Torque(1.0, ".3g", " N*m")


@pytest.mark.parametrize(
    ("parts", "si", "us"),
    [
        (("a peak of ", Torque(400)), "a peak of 400 N·m", "a peak of 295 lb·ft"),
        (("a peak of ", Torque(1246.2)), "a peak of 1,246 N·m", "a peak of 919 lb·ft"),
        (("up to ", Torque(4.2, ".1f"), " added"), "up to 4.2 N·m added", "up to 3.1 lb·ft added"),
        (("step (", STEP, ") above"), "step (1 N*m) above", "step (0.7 lb·ft) above"),
        (
            ("from ", Torque(1000, ",.0f", ""), " to ", Torque(1200, ",.0f")),
            "from 1,000 to 1,200 N·m",
            "from 738 to 885 lb·ft",
        ),
        (
            (Torque(60, ".4g", " N*m", " per 1,000 rpm"), " is asked"),
            "60 N*m per 1,000 rpm is asked",
            "44 lb·ft per 1,000 rpm is asked",
        ),
        (("at 3,000 rpm, ", Torque(0)), "at 3,000 rpm, 0 N·m", "at 3,000 rpm, 0 lb·ft"),
        ((Torque(2.5e-6, ".4g", " N*m"),), "2.5e-06 N*m", "1.844e-06 lb·ft"),
        (("lb·ft read as N·m",), "lb·ft read as N·m", "lb·ft read as N·m"),
        (("16 kN and 180 bar",), "16 kN and 180 bar", "16 kN and 180 bar"),
    ],
)
def test_a_sentence_is_told_in_other_units(parts, si, us):
    """NIST SP 811: 1 ft·lbf = 1.355 818 N·m; decimals kept, one more below ten."""
    sentence = Sentence(*parts)
    assert sentence == si
    assert prose.in_units(sentence, Units.US) == us
    assert prose.in_units(sentence, Units.SI) == si


@pytest.mark.parametrize("torque", [5.25, 12.0, 420.0, 1234.5])
def test_told_torques_agree_with_the_units_library(torque):
    """pint's N·m in foot-pounds of force, to the decimal shown; in every place of a list."""
    pound_feet = pint.UnitRegistry().Quantity(torque, "N*m").to("force_pound * foot").magnitude
    first, last = Torque(torque, ".2f", ""), Torque(torque, ".2f")
    told = prose.in_units(Sentence(first, " to ", first, " and ", last), Units.US)
    number = f"{pound_feet:,.2f}"
    assert told == f"{number} to {number} and {number} lb·ft"


def test_a_torque_is_converted_as_it_is_not_as_it_was_rounded():
    """identity: 420.6 N·m is 310.2 lb·ft; from the '421 N·m' of a sentence it would be 310.5."""
    said = Sentence("the run as measured, peak ", Torque(420.6))
    assert said == "the run as measured, peak 421 N·m"
    assert prose.in_units(said, Units.US).endswith("peak 310 lb·ft")
    assert prose.torque_in_words(420.6, Units.US) == "310 lb·ft"


def test_sentences_put_together_keep_their_torques():
    """identity: of a part and of a list every torque is still a value."""
    rate = Torque(60, ".4g", " N*m", " per 1,000 rpm")
    one = Sentence("First run: ", Sentence("up to ", Torque(10)))
    both = Sentence.joined("; ", [one, "plain", Sentence(rate)])
    assert both == "First run: up to 10 N·m; plain; 60 N*m per 1,000 rpm"
    assert prose.in_units(both, Units.US) == (
        "First run: up to 7.4 lb·ft; plain; 44 lb·ft per 1,000 rpm"
    )


def test_boost_is_pressure_over_ambient_as_a_gauge_tells_it() -> None:
    """NIST SP 811 (from memory), 1 psi = 6.894 757 kPa: 200 kPa absolute at 100 is 14.5 psi."""
    target = PressureTarget(value=200e3, sd=8e3, low=150e3, high=250e3, ambient=100e3)
    assert target.boost / prose.boost_unit(Units.SI).size == 100.0
    assert target.boost / prose.boost_unit(Units.US).size == pytest.approx(100 / 6.894757, rel=1e-6)


def test_one_pull_and_all_are_told_apart_only_where_they_differ() -> None:
    """Contract: both counts, and no '<1' after 'fewer than 1'."""
    assert prose.over_pulls(0.01, 0.2, 500, 1000).endswith("in one pull, in 200 over 500 pulls")
    assert prose.over_pulls(0.0, 0.0, 500, 1000).endswith("in one pull and over 500 alike")
    assert prose.over_pulls(0.01, 0.01, 1, 1000).endswith("in one pull")


@pytest.mark.parametrize(
    ("share", "told"), [(0.999, "100 %"), (0.82, "82 %"), (0.00076, "0.076 %"), (0.01, "1 %")]
)
def test_a_share_has_no_power_of_ten(share: float, told: str) -> None:
    """By hand: two significant digits, written out."""
    assert prose.percent(share, 2) == told


@pytest.mark.parametrize(("rpm", "told"), [(1533, "1,550 rpm"), (4950, "4,950 rpm")])
def test_a_peak_is_told_to_the_step_of_a_table(rpm: float, told: str) -> None:
    """Common practice, no source: tables are set in steps of 50 rpm or more."""
    assert prose.peak_speed_in_words(rpm * RPM) == told
