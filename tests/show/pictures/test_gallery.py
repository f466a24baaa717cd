"""Every picture of a real case: unit in the axis, table behind it, words for it, small and true."""

import dataclasses
import html
import math
import re
from collections.abc import Callable
from urllib.parse import unquote
from xml.etree import ElementTree

import numpy as np
import pytest

from torquerisk.case import Engine, HeadJoint, Run, default_policy
from torquerisk.quantities import RPM
from torquerisk.show.pictures import gallery
from torquerisk.show.pictures.curve import (
    Limited,
    least_band,
    least_capacity,
    overall_states,
    weakest_parts,
)
from torquerisk.show.pictures.risk import CHANCE_EDGES, CHANCE_NAMES, chance_contours, ratio_band
from torquerisk.show.pictures.still import for_page, for_paper
from torquerisk.show.pictures.style import DARK, LIGHT, Look, Picture, Stamp, drawn
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.compare import overlay
from torquerisk.study.answers.cycle_traces import MedianCycle, median_cycle
from torquerisk.study.answers.dips import find_dips
from torquerisk.study.answers.gear_loads import gear_loads
from torquerisk.study.answers.same_torque_later import same_torque_by_speed
from torquerisk.study.answers.sensitivity import sensitivity
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment, State
from torquerisk.study.limits import LimitKind, place_of
from torquerisk.study.strengths.head import head_capacity
from torquerisk.study.studs.bench import StudBench, stud_bench
from torquerisk.study.studs.fastener_loads import firing_curve
from torquerisk.study.studs.fastening import MIDDLE

SVG = "{http://www.w3.org/2000/svg}"
STAMP = Stamp(case="A <b>case</b>", digest="0123456789abcdef", version="9.9")


@pytest.fixture(scope="module")
def case() -> Assessment:
    """An invented engine, loosely tightened, with a dip in its curve; 128 simulated engines."""
    engine = Engine(
        ignition="spark", cylinders=4, bore=0.086, stroke=0.086, rod_length=0.145,
        compression_ratio=9.5, name="<i>invented</i> %{y}",
        head_joint=HeadJoint(
            fasteners=10, thread="M11x1.5", property_class="10.9", tightening="torque",
            tightening_torque=40.0,
        ),
    )  # fmt: skip
    rpm = np.linspace(1800, 6600, 25)
    torque = 330 - 90 * ((rpm - 4300) / 2500) ** 2 - 40 * np.exp(-(((rpm - 4200) / 500) ** 2))
    run = Run(
        name="<u>run</u>", speed=rpm * RPM, torque=torque,
        facts={"correction": "none", "measured_at": "crank"},
    )  # fmt: skip
    return assess(engine, run, default_policy(draws=128))


@pytest.fixture(scope="module")
def limited(case: Assessment) -> Limited:
    at = np.linspace(case.speed[0], case.speed[-1], 8)
    limit = np.full(8, 240.0)
    return Limited(
        breakpoints=at, limit=limit, delivered=np.minimum(case.torque, 240.0), ceiling=case.ceiling
    )


@pytest.fixture(scope="module")
def bench(case: Assessment) -> StudBench:
    return stud_bench(case)


@pytest.fixture(scope="module")
def cycle(case: Assessment) -> MedianCycle:
    return median_cycle(case, 10)


@pytest.fixture(scope="module")
def drawn_in(
    case: Assessment, limited: Limited, bench: StudBench, cycle: MedianCycle
) -> Callable[[Look], list[Picture]]:
    """Every picture in a look."""
    dips = find_dips(case)
    assert dips, "the invented curve was given a dip"
    later = same_torque_by_speed(case, 250.0)
    gear = gear_loads(case)
    reach = gear.reach
    assert reach is not None
    shares = [s for s in sensitivity(case).shares if s.share > 0][:8]
    compared = overlay((case, case, case))

    def draw(look: Look) -> list[Picture]:
        return [
            gallery.curve_picture(case, limited, look, STAMP),
            gallery.room_picture(case, look, STAMP, 0.01),
            gallery.map_picture(case, limited, look, STAMP, 0.01),
            gallery.ceilings_picture(case, look, STAMP),
            gallery.pressure_picture(case, look, STAMP),
            gallery.rod_picture(case, look, STAMP),
            gallery.cycle_picture(cycle, 4000 * RPM, look, STAMP, 2e7),
            gallery.forces_picture(cycle, 4000 * RPM, look, STAMP, 9e4),
            gallery.polar_picture(cycle, 4000 * RPM, look, STAMP, reach),
            gallery.piston_picture(gear, look, STAMP),
            gallery.dips_picture(case, dips, look, STAMP),
            gallery.dots_picture(dips[0], 1, look),
            gallery.clamp_picture(bench, bench.choices[0], look, STAMP),
            gallery.choices_picture(bench, [bench.present, *bench.choices[:9]], look, STAMP),
            gallery.joint_picture(firing_curve(bench.present.head, 1e7), look, STAMP),
            gallery.lift_picture(case, look, STAMP),
            gallery.drivers_picture(shares, "head clamping", look, STAMP),
            gallery.compare_picture(compared[:1], ("one", "<b>two</b>"), look, STAMP),
            gallery.compare_picture(compared, ("one", "<b>two</b>", "three"), look, STAMP),
            gallery.later_picture(later, list(case.limits)[:4], look, STAMP),
            *(gallery.part_picture(case, i, look, 0.01) for i in case.limits.values()),
        ]

    return draw


@pytest.fixture(scope="module")
def every(drawn_in: Callable[[Look], list[Picture]]) -> list[Picture]:
    """All pictures in both themes."""
    return [*drawn_in(LIGHT), *drawn_in(DARK)]


@pytest.fixture(scope="module")
def pairs(
    drawn_in: Callable[[Look], list[Picture]], every: list[Picture]
) -> list[tuple[Picture, Picture]]:
    """Every picture in SI and with torque in lb·ft, power in hp."""
    other = drawn_in(dataclasses.replace(LIGHT, units=Units.US))
    return list(zip(every[: len(other)], other, strict=True))


def test_every_axis_says_what_it_is_and_in_which_unit(every: list[Picture]) -> None:
    """identity: an upright or level axis with numbers carries a title; a quantity, its unit."""
    for picture in every:
        layout = picture.figure.layout
        assert layout.xaxis.title.text, picture.name
        named = layout.yaxis.ticktext is not None
        assert named or layout.yaxis.title.text or picture.name.startswith("part_"), picture.name
        if "speed" in layout.xaxis.title.text:
            assert "[rpm]" in layout.xaxis.title.text


def test_every_picture_has_words_and_a_table(every: list[Picture]) -> None:
    """identity: WCAG 2.2, 1.1.1; hover values are out of reach of a keyboard, tables are not."""
    for picture in every:
        assert len(picture.alt) > 40, picture.name
        assert len(picture.columns) >= 2, picture.name
        assert len({len(c.values) for c in picture.columns}) == 1, picture.name


def test_every_picture_has_a_still(every: list[Picture]) -> None:
    """identity: nothing in a picture is refused; every word on it is on its still."""
    for picture in every:
        paper = for_paper(picture)
        still = re.sub(r"<[^>]*>", "|", paper)
        layout = picture.figure.layout
        written = [note.text for note in layout.annotations]
        written += [*(layout.yaxis.ticktext or ()), layout.xaxis.title.text]
        for words in (one for told in written for one in told.split("<br>")):
            assert f"|{html.escape(html.unescape(words), quote=False)}|" in still, picture.name
        assert "rgba" not in paper, picture.name
        assert len(paper) < 40_000, picture.name
        (image,) = re.findall(r'src="data:image/svg\+xml,([^"]*)">', for_page(picture))
        page, said = ElementTree.fromstring(unquote(image)), ElementTree.fromstring(paper)
        assert [*map(_told, page.iter(f"{SVG}text"))] == [*map(_told, said.iter("text"))]


def _told(words: ElementTree.Element) -> str:
    return "".join(words.itertext())


def test_pictures_are_small(every: list[Picture]) -> None:
    """identity: what travels to the browser is some tens of kilobytes a picture, no more."""
    for picture in every:
        assert len(picture.figure.to_json()) < 60_000, picture.name


def test_ranges_are_fixed(every: list[Picture]) -> None:
    """identity: axes do not jump while inputs move, and nothing can be dragged off."""
    for picture in every:
        layout = picture.figure.layout
        for axis in (layout.xaxis, layout.yaxis):
            assert axis.range is not None, picture.name
            assert axis.fixedrange is True
            assert all(math.isfinite(v) for v in axis.range)


def test_foreign_names_meet_no_markup(every: list[Picture]) -> None:
    """identity: names of case, run and engine appear in pictures escaped."""
    for picture in every:
        text = picture.figure.to_json().replace("\\u003c", "<")
        for evil in ("<i>invented", "<u>run", "<b>two", "<b>case", '%{y}"}'):
            assert evil not in text, (picture.name, evil)


def test_pictures_cut_from_the_page_keep_their_inputs(every: list[Picture]) -> None:
    """identity: the large pictures carry case, digest and version at their foot."""
    stamped = [p for p in every if any(a.name == "stamp" for a in p.figure.layout.annotations)]
    assert len(stamped) >= 2 * 13
    for picture in stamped:
        note = next(a.text for a in picture.figure.layout.annotations if a.name == "stamp")
        assert "01234567" in note
        assert "9.9" in note


def test_colour_is_never_alone(every: list[Picture]) -> None:
    """WCAG 2.2, 1.4.1: lines of different colour in a picture differ in dash, or have a name."""
    for picture in every:
        lines = [
            (t.line.color, t.line.dash or "solid")
            for t in picture.figure.data
            if t.mode in ("lines", "lines+markers") and t.line.width and t.fill is None
            and t.line.color not in (LIGHT.paper, DARK.paper)
        ]  # fmt: skip
        by_dash: dict[str, set[str]] = {}
        for colour, dash in lines:
            by_dash.setdefault(dash, set()).add(colour)
        clashes = {d: c for d, c in by_dash.items() if len(c) > 1}
        names = " ".join(a.text for a in picture.figure.layout.annotations)
        assert not clashes or len(names) > 40, (picture.name, clashes)


def _trace(picture: Picture, name: str) -> np.ndarray:
    return np.array(next(t.y for t in picture.figure.data if t.name == name), dtype=float)


def test_curve_draws_the_numbers_of_the_assessment(case: Assessment, limited: Limited) -> None:
    """identity: what is drawn is what was computed, to the rounding of the picture."""
    picture = gallery.curve_picture(case, limited, LIGHT, STAMP)
    drawn_torque = next(
        t for t in picture.figure.data if t.name == "measured" and t.yaxis in (None, "y")
    )
    assert np.array(drawn_torque.y, dtype=float) == pytest.approx(case.torque, abs=0.06)
    assert _trace(picture, "limit") == pytest.approx(limited.limit)
    power = next(t for t in picture.figure.data if t.name == "measured" and t.yaxis == "y2")
    assert np.array(power.y, dtype=float) == pytest.approx(case.power / 1e3, abs=0.06)


SIZES = {"N·m": ("lb·ft", 1.3558179483), "kW": ("hp", 0.74569987)}
"""Units of torque and power with sizes. Source: NIST SP 811 (2008), appendix B.8."""
FORCE = {"kN": ("lbf", 4.4482216152605e-3)}
"""Of a fastener's force. Source: as above."""
FASTENERS = ("clamp", "choices", "joint")
"""Pictures of fasteners: the forces of others, in kN with bar and MPa, stay in SI."""


def _size(picture: Picture, unit: str) -> tuple[str, float]:
    sizes = SIZES | FORCE if picture.name in FASTENERS else SIZES
    return sizes.get(unit, (unit, 1.0))


def _unit(title: str | None) -> str:
    return (title or "").rpartition("[")[2].rstrip("]")


def test_no_picture_keeps_the_other_units(pairs: list[tuple[Picture, Picture]]) -> None:
    """identity: axes, hovers, words and tables name N·m and kW, or lb·ft and hp, never both."""
    named = forces = 0
    for si, us in pairs:
        told = [
            f"{p.title} {p.alt} {p.figure.to_dict()} {[(c.heading, c.values) for c in p.columns]}"
            for p in (si, us)
        ]
        assert not re.search(r"N[·*]m\b|\bkW\b", told[1]), us.name
        assert not re.search(r"\blb·ft\b|\bhp\b", told[0]), si.name
        assert ("N·m" in told[0]) == ("lb·ft" in told[1]), si.name
        if si.name in FASTENERS:
            assert "lbf" not in told[0], si.name
            assert not re.search(r"\bkN\b", told[1]), si.name
            forces += "lbf" in told[1]
        named += "lb·ft" in told[1]
    assert (named, forces) == (9, len(FASTENERS))


def test_tables_behind_pictures_convert(pairs: list[tuple[Picture, Picture]]) -> None:
    """NIST SP 811: a column in lb·ft or hp is that in SI over its size, any other is the same."""
    converted = 0
    for si, us in pairs:
        for one, other in zip(si.columns, us.columns, strict=True):
            unit, size = _size(si, one.unit)
            decimals = 0 if unit == "lbf" else one.decimals
            assert (other.name, other.unit, other.decimals) == (one.name, unit, decimals)
            if size != 1.0:
                wanted = [np.nan if v is None else float(v) / size for v in one.values]
                there = [np.nan if v is None else float(v) for v in other.values]
                assert there == pytest.approx(wanted, rel=1e-9, nan_ok=True), (si.name, one.name)
                converted += 1
    assert converted > 15


def test_lines_convert_with_their_axis(pairs: list[tuple[Picture, Picture]]) -> None:
    """NIST SP 811: what is drawn on an axis of lb·ft or hp lies where it lay in SI, converted.

    Ends of ranges that leave the axis are cut, so only what lies well inside both is compared.
    """
    compared = 0
    for si, us in pairs:
        for one, other in zip(si.figure.data, us.figure.data, strict=True):
            axis = "yaxis" + (one.yaxis or "y")[1:]
            unit, size = _size(si, _unit(si.figure.layout[axis].title.text))
            if size == 1.0 or one.y is None:
                continue
            assert _unit(us.figure.layout[axis].title.text) == unit
            y, shown = (np.array(t.y, dtype=float) for t in (one, other))
            inside = np.isfinite(y) & (np.abs(shown) < 0.99 * us.figure.layout[axis].range[1])
            inside &= shown > us.figure.layout[axis].range[0]
            inside &= np.abs(y) < 0.99 * si.figure.layout[axis].range[1]
            # Half a tenth of rounding on either side.
            assert np.abs(shown * size - y)[inside].max(initial=0.0) <= 0.05 * (1 + size) + 1e-6
            compared += int(inside.sum())
    assert compared > 400


def test_map_borders_are_shares_of_the_draws(case: Assessment) -> None:
    """identity: below a border of chance c at most that share of the draws gives way."""
    least = least_capacity(case)
    count = least.shape[1]
    before = np.full(len(case.speed), -np.inf)
    for chance in CHANCE_EDGES:
        (border,) = chance_contours(case, [chance])
        assert (border >= before).all()
        share = (least < border[:, None]).mean(axis=1)
        assert (share <= chance + 1e-12).all()
        assert ((least <= border[:, None]).mean(axis=1) >= chance - 1 / count).all()
        before = border
    assert len(CHANCE_NAMES) == len(CHANCE_EDGES) + 1 == len(LIGHT.chance)


def test_least_capacity_is_the_least_of_the_strength_limits(case: Assessment) -> None:
    """identity: guidance and supply are no strength and do not enter."""
    names = [n for n, i in case.limits.items() if i.limit.kind is LimitKind.STRENGTH]
    least = least_capacity(case)
    for name in names:
        assert (least <= case.model.capacities[name]).all()
    band = least_band(case)
    assert (band.p05 <= band.p50).all()


def test_the_part_named_is_the_one_that_the_table_names(case: Assessment) -> None:
    """identity: a tuner read 'rod in compression' over all speeds in the picture and 'head
    clamping' in every row; one part breaks most engines first, another the few weakest."""
    parts = weakest_parts(case, case.policy.chance)
    assert all(p.kind is LimitKind.STRENGTH for p in parts)
    for part, name in zip(parts, case.governing, strict=True):
        assert case.limits[name].limit.kind is not LimitKind.STRENGTH or part.name == name
    count, most = case.model.draws.count, 10.0 * case.torque.max()
    capacities = {n: np.full_like(c, most) for n, c in case.model.capacities.items()}
    capacities["rod_compression"] = np.full_like(most * capacities["head_lift"], 300.0)
    capacities["head_lift"][:, : count // 10] = 100.0
    model = dataclasses.replace(case.model, capacities=capacities)
    other = dataclasses.replace(case, model=model)
    assert {p.name for p in weakest_parts(other, 0.05)} == {"head_lift"}
    assert {p.name for p in weakest_parts(other, 0.3)} == {"rod_compression"}
    drawn_names = {
        str(note.text)
        for picture in (
            gallery.curve_picture(other, None, LIGHT, STAMP),
            gallery.map_picture(other, None, LIGHT, STAMP, 0.05),
        )
        for note in picture.figure.layout.annotations
    }
    assert "rod in compression" not in drawn_names
    assert "head clamping" in drawn_names
    assert "head clamping allows least" in gallery.room_picture(other, LIGHT, STAMP, 0.05).alt


def test_load_over_strength_is_the_assessments_utilisation(case: Assessment) -> None:
    """identity: the line is the utilisation, the shade ends at 5 and 95 % of the draws."""
    count = case.model.draws.count
    place = place_of(case.model.demand.torque, case.torque)
    for name, item in case.limits.items():
        drawn_band = ratio_band(case, item)
        assert (drawn_band.p50 == item.utilisation).all()
        load = place.load(case.model.load(case.limits[name].limit))
        strength = item.limit.strength(case.model.demand, case.model.parts)
        ratio = load / np.broadcast_to(strength, load.shape)
        for edge, most in ((drawn_band.p05, 0.05), (drawn_band.p95, 0.95)):
            assert ((ratio < edge[:, None]).mean(axis=1) <= most).all()
            assert ((ratio <= edge[:, None]).mean(axis=1) >= most - 1 / count).all()


def test_state_words_follow_the_chance(case: Assessment) -> None:
    """JCGM 106:2012, guard bands: within the accepted chance, in doubt by sampling, or past it."""
    states = overall_states(case, 0.01)
    for chance, state in zip(case.chance_any, states, strict=True):
        assert (state is State.HOLDS) == (chance <= 0.01)
        near = min(0.01 + 3 * (0.01 * 0.99 / case.evidence.kept) ** 0.5, 0.1)
        assert (state is State.EXCEEDS) == (chance > near)


def test_joint_forces_follow_the_beam(case: Assessment) -> None:
    """Identity, middle joint: fastener and ring change by the beam's shares of the gas force.

    Of the fastener that firing loads most, and of the ring that lifts first.
    """
    head = head_capacity(case.engine, MIDDLE)
    first = min(head.rings, key=lambda k: float(head.lift_pressure(k)[0]))
    most = max(head.rings, key=lambda k: float(head.rings[k].gain[0]))
    picture = gallery.joint_picture(firing_curve(head, 5e6), LIGHT, STAMP)
    columns = {c.name: np.array(c.values, dtype=float) for c in picture.columns}
    pressure = columns["cylinder pressure"] * 1e5
    gas = pressure * float(head.sealing_area[0]) / 1e3
    rest = max(float(head.preload_hot[0]), float(head.preload_cold[0])) / 1e3
    for kind, name, start, slope in (
        (most, "in a fastener", rest, float(head.rings[most].gain[0])),
        (first, "left on the ring", float(head.ring_share[0] * head.preload[0]) / 1e3,
         -float(head.rings[first].own_share[0] / head.rings[first].fasteners[0])),
    ):  # fmt: skip
        closed = pressure < float(head.ring_open_pressure(kind)[0])
        assert 10 < closed.sum() < len(gas)
        assert columns[name][closed] == pytest.approx(start + slope * gas[closed], rel=1e-6)


def test_dots_stand_where_the_dip_says(case: Assessment) -> None:
    """identity: twenty dots each, those at 1 or beyond are drawn as past the limit."""
    dip = find_dips(case)[0]
    picture = gallery.dots_picture(dip, 1, LIGHT)
    assert dip.shown is not None
    past = sum(len(t.x) for t in picture.figure.data if t.marker.symbol == "diamond")
    sides = dip.shown.cells.values()
    assert past == sum(int((side.dots >= 1).sum()) for side in sides)
    assert sum(len(t.x) for t in picture.figure.data) == 20 * len(sides)


def test_the_name_of_a_dipping_curve_fits_on_a_phone(case: Assessment) -> None:
    """identity: 'measured' at 13 px is some 60 px wide, and ends within 390 px less the margins."""
    falling = dataclasses.replace(
        case, torque=case.torque * np.linspace(1.0, 0.72, len(case.speed))
    )
    for one in (case, falling):
        figure = gallery.dips_picture(one, find_dips(one)[:1], LIGHT, STAMP).figure
        (name,) = (a for a in figure.layout.annotations if a.text == "measured")
        low, high = figure.layout.xaxis.range
        room = 390 - 32 - figure.layout.margin.l - figure.layout.margin.r
        assert (name.x - low) / (high - low) * room + name.xshift + 60 < room


def test_a_word_at_the_end_of_the_speeds_is_drawn(bench: StudBench) -> None:
    """Plotly: a word whose place lies beyond an axis, by however little, is not drawn."""
    a = bench.assessment
    speed = a.speed.copy()
    speed[0] = np.nextafter(1500 * RPM, np.inf)
    speed[-1] = np.nextafter(6500 * RPM, 0.0)
    beside = dataclasses.replace(bench, assessment=dataclasses.replace(a, speed=speed))
    figure = gallery.clamp_picture(beside, bench.present, LIGHT, STAMP).figure
    low, high = figure.layout.xaxis.range
    (name,) = (n for n in figure.layout.annotations if n.text == "as it stands")
    assert name.x in (1500.0, 6500.0)
    assert low <= name.x <= high


def test_names_of_clamps_stand_apart(bench: StudBench) -> None:
    """identity: the needed clamp's name is at its peak, those of given ones at the far end.

    However near the clamps lie, one is named above its line and one below.
    """
    for choice in bench.choices:
        figure = gallery.clamp_picture(bench, choice, LIGHT, STAMP).figure
        low, high = figure.layout.xaxis.range
        names = {a.text: a for a in figure.layout.annotations if a.name != "stamp"}
        needed = names.pop("clamp needed")
        given = [names["as it stands"], names["with the choice"]]
        assert all(abs(needed.x - a.x) > 0.45 * (high - low) for a in given)
        upper, lower = sorted(given, key=lambda a: -a.y)
        assert upper.yshift > 0 > lower.yshift


def test_gaps_are_gaps() -> None:
    """identity: an infinite value is left out of a line, never drawn as zero."""
    assert drawn(np.array([1.234, np.inf, -np.inf])) == [1.23, None, None]


def test_an_engine_limited_by_speed_alone_is_said_so(case: Assessment) -> None:
    """identity: minus infinity is told in words in every hover and drawn at no false height."""
    name = next(n for n, i in case.limits.items() if i.limit.kind is LimitKind.STRENGTH)
    capacities = dict(case.model.capacities)
    capacities[name] = np.full_like(capacities[name], -np.inf)
    model = dataclasses.replace(case.model, capacities=capacities)
    stuck = dataclasses.replace(case, model=model, chance_any=np.ones(len(case.speed)))
    for picture in (
        gallery.curve_picture(stuck, None, LIGHT, STAMP),
        gallery.room_picture(stuck, LIGHT, STAMP, 0.01),
        gallery.map_picture(stuck, None, LIGHT, STAMP, 0.01),
    ):
        assert "speed alone" in picture.figure.to_json(), picture.name
