import dataclasses
import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from torquerisk.case import SECTIONS, Engine
from torquerisk.case.declare import YES_NO, Kind, declarations
from torquerisk.case.engine import COMPRESSION_ONLY
from torquerisk.case.joint_defaults import SHANK_OVER_THREAD, thread_nominal
from torquerisk.errors import InputError
from torquerisk.files.engine_file import (
    blend_word,
    engine_from_text,
    engine_to_toml,
    load_engine,
)
from torquerisk.files.units import quantity_in_words

MINIMAL = """
ignition = "spark"
cylinders = 4
bore = "86 mm"
stroke = "86 mm"
rod_length = "145 mm"
compression_ratio = 9.5
[head_joint]
fasteners = 10
thread = "M11x1.5"
property_class = "10.9"
"""

DESIGN_EXAMPLE = """
name = "Invented hill-climb four"
ignition = "spark"                 # or "compression"
cylinders = 4
bore = "86 mm"
stroke = "86 mm"
rod_length = "145 mm"
compression_ratio = 9.5
[fuel]
blend = "E30"                      # petrol and ethanol by volume, or "diesel"
octane = 99                        # RON, optional
lambda = 0.86
[running_gear]
piston_mass = "0.42 kg"            # with rings and pin
rod_mass = "0.60 kg"
rod_big_end_share = 0.70
rod_section_area = "190 mm^2"
rod_yield_strength = "700 MPa"
pin_diameter = "22 mm"
[head_joint]
sealing_diameter = "89 mm"
fasteners = 10
thread = "M11x1.5"
property_class = "10.9"
tightening = "torque"              # torque, angle or yield
tightening_torque = "95 N*m"
thread_friction = 0.12
[known_good]                       # optional: what it has survived many times
run = "factory.csv"                # beside this file
blend = "E0"
octane = 95
"""

RUN = "# correction: DIN 70020\nengine speed [rpm],torque [N·m]\n2000,200\n3000,220\n4000,210\n"


def read(text: str) -> Engine:
    return engine_from_text(text, "engine.toml")


def refused(text: str) -> str:
    with pytest.raises(InputError) as caught:
        read(text)
    sentence = str(caught.value)
    assert "\n" not in sentence
    assert sentence.startswith("engine.toml")
    assert len(sentence) < 700
    return sentence


DIESEL = MINIMAL.replace('"spark"', '"compression"')


RATED = (
    'torque = "200 N*m"', 'torque_speed = "4000 rpm"', 'power = "110 kW"',
    'power_speed = "6000 rpm"',
)  # fmt: skip
"""A data sheet: its four numbers come together."""


def with_line(section: str, line: str) -> str:
    """The minimal file with one line more, or with a line of the same key replaced.

    Of a diesel where the input means nothing to a spark engine.
    """
    key = line.split("=")[0].strip()
    if f"{section}.{key}" in COMPRESSION_ONLY:
        return "\n".join([DIESEL, f"[{section}]", line])
    lines = [x for x in MINIMAL.splitlines() if x.split("=")[0].strip() != key or section]
    if section == "head_joint":
        lines = [x for x in MINIMAL.splitlines() if x.split("=")[0].strip() != key]
        return "\n".join([*lines, line])
    if section == "rated":
        rest = [x for x in RATED if x.split("=")[0].strip() != key]
        return "\n".join([*lines, "[rated]", *rest, line])
    if section:
        return "\n".join([*lines, f"[{section}]", line])
    return "\n".join([line, *lines])


def test_the_example_of_the_design_reads_as_printed(tmp_path):
    """Source: design.md section 6, the fixed engine file; every number there, in SI."""
    (tmp_path / "engine.toml").write_text(DESIGN_EXAMPLE, encoding="utf-8")
    (tmp_path / "factory.csv").write_text(RUN, encoding="utf-8")
    engine = load_engine(tmp_path / "engine.toml")
    assert engine.name == "Invented hill-climb four"
    assert engine.bore == pytest.approx(0.086, rel=1e-15)
    assert engine.fuel.blend == "E30"
    assert engine.fuel.lambda_ == 0.86
    assert engine.running_gear.rod_section_area == pytest.approx(190e-6, rel=1e-15)
    assert engine.running_gear.rod_yield_strength == 700e6
    assert engine.head_joint.tightening_torque == 95.0
    assert engine.head_joint.fasteners == 10
    assert isinstance(engine.head_joint.fasteners, int)
    curve = engine.known_good.curve
    assert curve is not None
    assert curve.torque.tolist() == [200.0, 220.0, 210.0]
    assert curve.facts == {"correction": "DIN70020"}


def test_only_the_required_keys_are_required():
    """Source: design.md section 6, last paragraph."""
    engine = read(MINIMAL)
    assert engine.fuel.blend is None
    assert "fuel.blend" in engine.assumed()
    for key in ("ignition", "cylinders", "bore", "stroke", "rod_length", "compression_ratio"):
        text = "\n".join(x for x in MINIMAL.splitlines() if not x.startswith(key))
        assert f"{key} is missing" in refused(text)
    for key in ("fasteners", "thread", "property_class"):
        text = "\n".join(x for x in MINIMAL.splitlines() if not x.startswith(key))
        assert f"head_joint.{key} is missing" in refused(text)
    assert "head_joint.fasteners, head_joint.thread" in refused(MINIMAL.split("[")[0])


INCH = {
    'bore = "86 mm"': f'bore = "{86 / 25.4!r} in"',
    'stroke = "86 mm"': f'stroke = "{86 / 25.4!r} inch"',
    'rod_length = "145 mm"': f'rod_length = "{145 / 25.4!r}\\""',
    'piston_mass = "0.42 kg"': f'piston_mass = "{0.42 / 0.45359237!r} lb"',
    'rod_mass = "0.60 kg"': f'rod_mass = "{600 / 28.349523125!r} oz"',
    'rod_section_area = "190 mm^2"': f'rod_section_area = "{190 / 645.16!r} in^2"',
    'rod_yield_strength = "700 MPa"': f'rod_yield_strength = "{700 / 6.894757293168361!r} ksi"',
    'pin_diameter = "22 mm"': f'pin_diameter = "{22000 / 25.4!r} thou"',
    'sealing_diameter = "89 mm"': f'sealing_diameter = "{89 / 25.4!r} in"',
    'tightening_torque = "95 N*m"': f'tightening_torque = "{95 / 1.3558179483314004!r} lb-ft"',
}


def test_metric_and_inch_files_of_one_engine_are_equal():
    """Metamorphic: a change of units changes no answer. Factors: NIST SP 811, exact definitions."""
    metric = DESIGN_EXAMPLE.split("[known_good]")[0]
    inch = metric
    for old, new in INCH.items():
        assert old in inch
        inch = inch.replace(old, new)
    a, b = read(metric), read(inch)
    for owner, section in ((Engine, ""), *((type(getattr(a, s)), s) for s in SECTIONS)):
        for key in declarations(owner):
            name = f"{section}.{key}" if section else key
            one, two = a.given(name), b.given(name)
            if isinstance(one, float):
                assert two == pytest.approx(one, rel=1e-12), name
            else:
                assert one == two, name


def _inputs() -> list:
    """Every declared input of an engine file: section, key, declaration."""
    owners = {"": Engine, **{s: type(getattr(read(MINIMAL), s)) for s in SECTIONS}}
    return [
        pytest.param(section, key, declaration, id=f"{section}.{key}".lstrip("."))
        for section, owner in owners.items()
        for key, declaration in declarations(owner).items()
    ]


def _line(key: str, value: float, kind: Kind) -> str:
    text = quantity_in_words(value, kind)
    quoted = text if kind in (Kind.NUMBER, Kind.SHARE, Kind.COUNT) else f'"{text}"'
    return f"{'lambda' if key == 'lambda_' else key} = {quoted}"


GOOD_WORDS = {
    "blend": ("E10",),
    "run": (),
    "thread": ("M10x1.5", "M11x1.25", "7/16-14", "1/2-20"),
    "fasteners_by_row": ("2 2 2 2 2", "2, 2, 2, 2, 2"),
    "nut_thread": ("M11x1.25", "M10x1.25"),
    "original_thread": ("M10x1.5", "7/16-20"),
    "original_class": ("8.8", "10.9", "SAE grade 5"),
    "property_class": ("8.8", "10.9", "12.9", "SAE grade 8"),
    "rod_bolt_thread": ("M9x1", "3/8-24"),
    "rod_bolt_class": ("10.9", "12.9"),
    "oil_grade": ("40", "5W-30"),
    "firing_order": ("1-3-4-2", "1-2-4-3"),
    "big_end_lining": ("trimetal, electroplated overlay",),
}
_WANTS = {"original_thread": "original = false\n", "original_class": "original = false\n"}
"""What else has to be said where a word is given."""
_TIED = (
    "bore", "stroke", "rod_length", "displacement", "heads", "sealing_diameter", "shank_diameter",
    "torque", "torque_from", "torque_speed", "power", "power_speed", "rev_limit",
)  # fmt: skip
"""Inputs that are checked against each other as well as against their range."""


@pytest.mark.parametrize(("section", "key", "declaration"), _inputs())
def test_every_declared_input_can_be_given_and_is_refused_outside_its_range(
    section, key, declaration
):
    """Identity: generated from the declarations, so a new input cannot escape the reader."""
    name = f"{section}.{key}" if section else key
    if declaration.kind is None:
        words = declaration.options or GOOD_WORDS[key]
        also = _WANTS.get(key, "")
        for word in words:
            assert read(with_line(section, f'{also}{key} = "{word}"')).given(name) == word
        assert name in refused(with_line(section, f'{also}{key} = "no such word"'))
        if declaration.options == YES_NO:
            assert read(with_line(section, f"{key} = false")).given(name) == "false"
            assert name in refused(with_line(section, f"{key} = 0"))
        else:
            assert name in refused(with_line(section, f"{key} = true"))
        return
    assert math.isfinite(declaration.low), name
    assert math.isfinite(declaration.high), name
    if key not in _TIED:
        for value in (declaration.low, declaration.high):
            assert (
                read(with_line(section, _line(key, value, declaration.kind))).given(name) == value
            )
    step = 1.0 if declaration.kind is Kind.COUNT else 1e-6 * (declaration.high - declaration.low)
    for value in (declaration.low - step, declaration.high + step):
        line = _line(key, value, declaration.kind)
        assert name.replace("lambda_", "lambda") in refused(with_line(section, line))
    if declaration.kind not in (Kind.NUMBER, Kind.SHARE, Kind.COUNT):
        assert "without a unit" in refused(with_line(section, f"{key} = 1"))
        assert "no known unit" in refused(with_line(section, f'{key} = "1 furlong"'))
    for wrong in ("true", "[1, 2]", "1979-05-27", '"many"', "nan", "inf"):
        shown = "lambda" if key == "lambda_" else key
        assert shown in refused(with_line(section, f"{shown} = {wrong}"))


def test_a_data_sheet_comes_whole_and_makes_sense():
    """Identity: four numbers or none; power is not more than rated torque makes at its speed."""
    whole = with_line("rated", "octane = 95")
    assert read(whole).rated.points == pytest.approx(
        (200.0, 4000 * math.pi / 30, 110e3, 6000 * math.pi / 30), rel=1e-12
    )
    without = whole.replace('power = "110 kW"\n', "")
    assert "rated.power missing" in refused(without)
    assert "rated.torque, 200 N·m" in refused(whole.replace("110 kW", "150 kW"))
    assert "rated.torque_speed" in refused(whole.replace("4000 rpm", "6500 rpm"))
    assert "rated.blend" in refused(with_line("rated", 'blend = "diesel"'))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (with_line("", 'boar = "86 mm"'), "nearest is bore"),
        (with_line("", 'redline = "6500 rpm"'), "known there are ignition"),
        (with_line("running_gear", 'bolt_torque = "30 N*m"'), "known there are original_rods"),
        (
            with_line("running_gear", 'rod_length = "1 mm"'),
            "wrong place: move rod_length to the top of the file",
        ),
        (with_line("head_joint", 'torque = "95 N*m"'), "the nearest is tightening_torque."),
        (with_line("head_joint", "friction = 0.1"), "is thread_friction or head_friction."),
        (MINIMAL.replace('"spark"', '"petrol"'), "did you mean spark"),
        (with_line("head_joint", 'lubricant = "moly"'), "did you mean molybdenum paste."),
        (with_line("head_joint", 'lubricant = "Molybdenum"'), "did you mean molybdenum paste."),
        (with_line("head_joint", 'lubricant = "grease"'), "thread sealant, dry."),
        (with_line("head_joint", 'lubricant = "oil"'), "did you mean engine oil."),
        (with_line("head_joint", 'tightening_angle = "90+90 deg"'), "whole turn, 180 deg."),
        (with_line("head_joint", 'original_thread = "M10x1.5"'), "original is not false: write"),
        (with_line("head_joint", 'original_class = "8.8"'), "original is not false: write"),
        (
            with_line("head_joint", 'original = false\noriginal_thread = "M24x3"'),
            "the maker's must be 0.5 to 1.5 times as thick",
        ),
        (MINIMAL.replace('"spark"', '"diesel"'), "did you mean compression"),
        (with_line("", 'rod_mass = "0.6 kg"'), "move rod_mass to section [running_gear]"),
        (with_line("head_joint", "octane = 95"), "move octane to section [fuel]"),
        (with_line("head_joint", 'tightning = "torque"'), "nearest is tightening"),
        (with_line("fuel", "lambda_ = 0.9"), "nearest is lambda"),
        (with_line("headjoint", "x = 1"), "nearest is head_joint, which is a section"),
        (
            with_line("policy", "chance = 0.02\npulls = 100"),
            "give --chance, --pulls on",
        ),
        (with_line("policy", "abnormal_in_chance = true"), "give --count-abnormal on"),
        (with_line("", 'objective = "most area"'), "objective is what is asked of an engine"),
        (with_line("turbo", "x = 1"), "known there are ignition"),
        (with_line("", "fuel = 1"), "[fuel]"),
        (with_line("", 'bore = "86 mm'), "no valid TOML"),
        (MINIMAL + 'thread = "M10"', "no valid TOML"),
        (with_line("", "cylinders = 4.5"), "whole number"),
        (with_line("", "cylinders = 1" + "0" * 400), "must be a finite number"),
        (with_line("", "cylinders = 1" + "0" * 5000), "no valid TOML"),
        (with_line("", "cylinders = " + "[" * 5000), "no valid TOML"),
        (with_line("", "name = 3"), "must be text"),
        (with_line("", 'stroke = "43 mm"'), "bore over stroke"),
        (with_line("", 'rod_length = "51 mm"'), "longer than 0.62"),
        (with_line("", "heads = 3"), "must divide cylinders"),
        (with_line("fuel", 'blend = "diesel"'), "ignition 'spark'"),
        (with_line("fuel", 'blend = "E101"'), "E0 to E100"),
        (with_line("head_joint", 'tightening = "by feel"'), "one of torque, angle, yield"),
        (with_line("", 'bore = "86 mm"' + "x" * 300_000), "larger than"),
        ("", "is empty"),
        (with_line("head_joint", 'thread = "M11x9"'), "head_joint.thread: thread is 'M11x9'"),
        (with_line("head_joint", 'property_class = "11.9"'), "property_class: property class is"),
        (with_line("head_joint", 'property_class = "special"'), "needs head_joint.yield_strength"),
        (with_line("running_gear", 'rod_bolt_class = "special"'), "rod_bolt_class: property class"),
        (with_line("running_gear", 'oil_grade = "31"'), "oil_grade: Oil grade is '31'"),
        (with_line("running_gear", 'big_end_lining = "tin"'), "big_end_lining is 'tin', but must"),
        (with_line("known_good", 'run = "factory.csv"'), "was not given"),
    ],
)
def test_bad_files_are_refused_in_one_sentence(text, says):
    """Common practice, no source: what people get wrong, and what each sentence must name."""
    assert says in refused(text)


@given(st.binary(max_size=60), st.integers(0, len(DESIGN_EXAMPLE)), st.integers(0, 40))
def test_damaged_files_give_an_engine_or_one_sentence(junk, at, cut):
    """Metamorphic: no bytes at all may raise anything but InputError."""
    text = DESIGN_EXAMPLE[:at] + junk.decode("latin-1") + DESIGN_EXAMPLE[at + cut :]
    try:
        outcome: object = engine_from_text(text, "engine.toml", None, {"factory.csv": RUN.encode()})
    except InputError as error:
        outcome = str(error)
    assert isinstance(outcome, Engine) or "\n" not in str(outcome)


def test_swapped_bore_and_stroke_are_named():
    """Source: UCI imports-85, where one row over 10 % off has bore and stroke swapped."""
    swapped = MINIMAL.replace('bore = "86 mm"', 'bore = "96 mm"').replace(
        'stroke = "86 mm"', 'stroke = "78 mm"'
    )
    right = math.pi / 4 * 7.8**2 * 9.6 * 4
    assert "swapped" in refused(f'displacement = "{right:.0f} cc"\n{swapped}')
    assert "check bore, stroke" in refused(f'displacement = "3000 cc"\n{swapped}')
    assert read(f'displacement = "{math.pi / 4 * 9.6**2 * 7.8 * 4:.0f} cc"\n{swapped}')


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("petrol", "E0"),
        ("Gasoline", "E0"),
        ("ethanol", "E100"),
        ("e85", "E85"),
        ("E05", "E5"),
        ("Diesel", "diesel"),
    ],
)
def test_blend_words(text, word):
    """Source: EN 228 and EN 15293 name blends by E and per cent of ethanol, from memory."""
    assert blend_word(text) == word


@pytest.mark.parametrize("text", ["E", "E101", "E-5", "E1e1", "E5.5", "LPG", "E²", "", "E0005"])
def test_other_blends_are_refused(text):
    """Identity: nothing but E0 to E100, petrol, gasoline, ethanol and diesel has a meaning."""
    with pytest.raises(InputError, match="E0 to E100"):
        blend_word(text)


def test_gauge_pressure_needs_the_ambient_pressure_of_the_test():
    """Identity: absolute = gauge + ambient; without ambient it is refused, not guessed."""
    line = 'exhaust_pressure = "100 kPa gauge"'
    assert "ambient pressure" in refused(with_line("charge", line))
    text = with_line("charge", line) + '\n[test]\nambient_pressure = "95 kPa"'
    assert read(text).charge.exhaust_pressure == pytest.approx(195e3, rel=1e-12)


def test_facts_about_the_test_may_stand_in_the_engine_file():
    """Source: design.md section 6: facts come from the run, from [test] or from options."""
    text = MINIMAL + '[test]\ncorrection = "SAE J1349"\nmeasured_at = "rollers"\n'
    test = read(text).test
    assert (test.correction, test.measured_at) == ("J1349", "wheel")
    assert "test.correction" in refused(MINIMAL + '[test]\ncorrection = "magic"\n')


@pytest.mark.parametrize("name", ["../factory.csv", "/etc/passwd", "..", "sub/../../x.csv"])
def test_a_known_good_run_outside_the_folder_is_refused(tmp_path, name):
    """Identity: an engine file that someone sent must not make us read other files."""
    folder = tmp_path / "case"
    folder.mkdir()
    (tmp_path / "factory.csv").write_text(RUN)
    with pytest.raises(InputError, match="beside the engine file"):
        engine_from_text(with_line("known_good", f'run = "{name}"'), "engine.toml", folder)


def test_a_known_good_run_may_come_along_as_bytes():
    """Identity: the page hands uploads over by name."""
    text = with_line("known_good", 'run = "factory.csv"')
    engine = engine_from_text(text, "engine.toml", companions={"factory.csv": RUN.encode()})
    assert engine.known_good.curve is not None
    bad = RUN.replace("[N·m]", "").encode()
    with pytest.raises(
        InputError, match=r"engine\.toml: factory\.csv: the heading 'torque' has no"
    ):
        engine_from_text(text, "engine.toml", companions={"factory.csv": bad})


def test_missing_folder_and_binary_files_are_refused(tmp_path):
    """Common practice, no source: what a path on a command line may turn out to be."""
    with pytest.raises(InputError, match="does not exist"):
        load_engine(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a folder"):
        load_engine(tmp_path)
    (tmp_path / "e.toml").write_bytes(b"PK\x03\x04....")
    with pytest.raises(InputError, match="not text"):
        load_engine(tmp_path / "e.toml")
    (tmp_path / "e.toml").write_bytes(b"\xef\xbb\xbf" + MINIMAL.replace("\n", "\r\n").encode())
    assert load_engine(tmp_path / "e.toml").cylinders == 4


@st.composite
def engines(draw):
    """Engines with a random choice of inputs, each anywhere in its range."""
    engine = read(draw(st.sampled_from((MINIMAL, DIESEL))))
    changes: dict[str, object] = {
        "name": draw(
            st.text(
                st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=40
            ).filter(str.strip)
        )
    }
    for section in SECTIONS:
        for key, declaration in declarations(type(getattr(engine, section))).items():
            if section == "rated" or declaration.kind is None or draw(st.integers(0, 3)):
                continue
            if f"{section}.{key}" in COMPRESSION_ONLY and not engine.compression_ignition:
                continue
            if f"{section}.{key}" == "fuel.octane" and engine.compression_ignition:
                continue
            high = declaration.high
            if key == "shank_diameter":
                high = SHANK_OVER_THREAD * thread_nominal(engine)
            value = draw(st.floats(declaration.low, high, allow_subnormal=False))
            if declaration.kind is Kind.COUNT:
                value = math.floor(value)
            changes[f"{section}.{key}"] = value
    if draw(st.booleans()):
        torque, speed = draw(st.floats(1.0, 9e3)), draw(st.floats(100.0, 1200.0))
        rating = {"torque": torque, "torque_speed": speed * 0.9, "power_speed": speed}
        rating["power"] = min(max(0.8 * torque * speed, 500.0), 2e6)
        assume(rating["power"] / speed <= torque)
        changes |= {f"rated.{key}": value for key, value in rating.items()}
        changes["running_gear.original_rods"] = draw(st.sampled_from(YES_NO))
    try:
        return engine.with_values(changes)
    except InputError as error:
        assume("cannot exceed" not in str(error))
        raise


@settings(max_examples=60, deadline=None)
@given(engines())
def test_a_written_engine_reads_back_equal(engine):
    """Identity: a saved case holds every given value, bit for bit, and nothing else."""
    again = read(engine_to_toml(engine))
    assert dataclasses.replace(again, name="x") == dataclasses.replace(engine, name="x")
    assert again.name == " ".join(engine.name.split())


def test_a_bank_angle_needs_pairs_of_cylinders():
    """Contract: which input, what was given, what is allowed."""
    three = with_line("running_gear", 'bank_angle = "60 deg"').replace(
        "cylinders = 4", "cylinders = 3"
    )
    assert "running_gear.bank_angle is given for 3 cylinders" in refused(three)
