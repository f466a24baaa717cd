"""The report: whole, still, harmless, and the same each time."""

import base64
import dataclasses
import hashlib
import re
import shlex
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from cli_case import METRIC, command, run_text, write_case

from torquerisk import assess, default_policy, propose_limit
from torquerisk.case import CAUTIONS, Notice
from torquerisk.files.engine_file import engine_from_text
from torquerisk.files.run_file import run_from_bytes
from torquerisk.show.documents.assessed import limit_document
from torquerisk.show.report import gear_section, made_from, tables
from torquerisk.show.report.contents import ORDER, Reader
from torquerisk.show.report.report import report_html
from torquerisk.show.text.tables import proposal_text
from torquerisk.show.words import checked, prose, running_gear, table_in_short
from torquerisk.show.words.limit_columns import not_before, not_before_degrees
from torquerisk.show.words.limit_table import LATER_THAN_JUDGED
from torquerisk.show.words.prose import FOOT_POUND, Units
from torquerisk.study.answers.cycle_traces import median_cycle
from torquerisk.study.answers.dips import find_dips
from torquerisk.study.answers.gear_loads import FORCES, gear_loads
from torquerisk.study.assessment.notices import assumed_and_used
from torquerisk.study.limits import wants_inputs
from torquerisk.study.studs.bench import stud_bench
from torquerisk.study.table.attainable import BoostCeiling
from torquerisk.study.table.rows import PressureTarget

pytestmark = pytest.mark.slow
FEW = {"draws": 128, "chance": 0.1}
"""A chance for which so few engines prove a table."""
ROOT = Path(__file__).parents[3]
SPEEDS = tuple(range(2000, 6250, 250))
DIPPED = (235.0, 270.0, 310.0, 340.0, 355.0, 362.0, 370.0, 345.0, 310.0, 330.0, 355.0, 352.0, 340.0,
          325.0, 305.0, 290.0, 270.0)  # fmt: skip
HOSTILE = (
    "\"'></title></style></svg><script>alert(1)</script><img src=x onerror=alert(2)>"
    "{{ 7*7 }} \u202e\u05de\u05e0\u05d5\u05e2 \\22}body{display:none} %s &lt; "
)
LONG = HOSTILE + "very" * 2000
TAGS = set(
    re.findall(
        r"\w+",
        "html head meta title style body main header section div p h1 h2 h3 h4 b small bdi dl dt "
        "dd ul ol li details summary table caption thead tbody tr th td figure figcaption span i "
        "code svg text tspan path rect circle g nav a",
    )
)


class Parsed(HTMLParser):
    """What a browser would make of the text: tags, attributes, and the words inside each."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: dict[str, list[str]] = {}
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "path", "rect", "circle"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if self.open and self.open[-1] == tag:
            self.open.pop()

    def handle_data(self, data):
        if self.open:
            self.inside.setdefault(self.open[-1], []).append(data)


def made(name="Invented test four", run_name="run.csv", torques=DIPPED, **policy):
    """A small case, assessed and with its table."""
    engine = dataclasses.replace(engine_from_text(METRIC, "engine.toml"), name=name)
    run = dataclasses.replace(
        run_from_bytes(run_text(torques, SPEEDS).encode(), "run.csv"), name=run_name
    )
    run = dataclasses.replace(run, record=(*run.record, f"Line 1 is a remark: {name}"))
    assessment = assess(engine, run, default_policy(**FEW, **policy))
    return assessment, propose_limit(assessment)


@pytest.fixture(scope="module")
def plain():
    return made()


@pytest.fixture(scope="module")
def plain_text(plain):
    return report_html(plain[1])


@pytest.fixture(scope="module")
def full_text(plain):
    return report_html(plain[1], full=True)


@pytest.fixture(scope="module")
def hostile_text():
    """Every section there is, with hostile names."""
    assessment, proposal = made(LONG, HOSTILE)
    return report_html(
        proposal,
        find_dips(assessment),
        stud_bench(assessment),
        date=HOSTILE,
        command=HOSTILE,
        full=True,
    )


def test_hostile_names_stay_words(hostile_text):
    """OWASP XSS prevention (escape on output): foreign text opens no element, no attribute."""
    read = Parsed(hostile_text)
    assert {tag for tag, _ in read.tags} <= TAGS
    assert not [a for _, attrs in read.tags for a in attrs if a.startswith("on") or a == "style"]
    assert "<script>alert(1)</script>" in "".join(read.inside["bdi"])
    assert "{{ 7*7 }}" in read.inside["bdi"][0]
    assert read.inside["title"][0].startswith("\"'></title></style>")
    assert read.open == ["html"] or read.open == []


def test_long_names_are_cut(hostile_text):
    """Common practice, no source: 8,000 letters of a name are not printed once a heading."""
    longest = max(len(t) for t in Parsed(hostile_text).inside["bdi"])
    assert longest < 1000


def test_only_its_own_style_may_be_used(hostile_text, plain_text):
    """Content Security Policy level 3: nothing loads, and the one hash is of the style as sent."""
    for text in (hostile_text, plain_text):
        read = Parsed(text)
        (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
        (policy,) = [
            a["content"] for t, a in read.tags if a.get("http-equiv") == "Content-Security-Policy"
        ]
        digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
        assert policy == (
            f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
        )
        assert "body{display:none}" not in style
        assert "url(" not in text
        assert "://" not in text
        assert "@import" not in text


def test_whole_and_small(hostile_text, plain_text, full_text):
    """Identity: every section in order, every picture with words, well under 1.5 MB."""
    headings = Parsed(hostile_text).inside["h2"]
    assert headings == [section.title for section in ORDER[Reader.TUNER]]
    beside = ("Why the curve dips", "Head fasteners")
    assert Parsed(full_text).inside["h2"] == [h for h in headings if h not in beside]
    assert Parsed(plain_text).inside["h2"] == [
        section.title
        for section in ORDER[Reader.TUNER]
        if section.title not in beside and not section.only_full
    ]
    for text, least in ((hostile_text, 6), (full_text, 6), (plain_text, 4)):
        assert len(text.encode()) < 1_500_000
        read = Parsed(text)
        told = [a["aria-label"] for _, a in read.tags if a.get("role") == "img"]
        assert len(told) == sum(tag == "figure" for tag, _ in read.tags) >= least
        assert all(len(str(alt)) > 40 for alt in told)


def test_the_contents_list_leads_to_every_section(hostile_text, plain_text):
    """HTML standard 7.4.6 (fragments): every entry names the id of a section, in its order."""
    for text in (hostile_text, plain_text):
        tags = Parsed(text).tags
        assert [a["href"] for tag, a in tags if tag == "a"] == [
            f"#{a['id']}" for tag, a in tags if tag == "section"
        ]
        assert [tag for tag, a in tags if "id" in a and tag != "section"] == []
        assert re.sub(r"\s+", " ", text).count("<span>Appendix:</span>") == 1


def test_each_reader_has_a_page_first(plain):
    """Identity: the owner's page has the answer in words, the builder's the sheet; the table stays
    that of the tuner."""
    assessment, proposal = plain
    bench = stud_bench(assessment)
    for reader, first in ((Reader.OWNER, "For the owner"), (Reader.BUILDER, "Bench sheet")):
        text = report_html(proposal, find_dips(assessment), bench, reader=reader)
        assert Parsed(text).inside["h2"][:2] == [first, "The answer"]
        assert f"--for {reader.value}" in text
        assert limits_in(text) == limits_in(report_html(proposal))
    assert table_in_short.answer_in_words(proposal) in text


@pytest.mark.parametrize("reader", list(Reader))
def test_page_one_has_the_warning_and_the_cautions(plain, reader):
    """Identity: whoever it is for, both stand in the first section, once in the whole report; a
    builder's has choices where no sheet can be made."""
    assessment, proposal = plain
    gas = Notice("coolant-pressure", "Coolant pressure rose: stop.")
    told = dataclasses.replace(assessment, notices=(*assessment.notices, gas))
    bench = dataclasses.replace(stud_bench(assessment, 800.0), choices=())
    assert bench.mildest is None
    unproved = dataclasses.replace(proposal.proof, holds=False)
    text = report_html(
        dataclasses.replace(proposal, assessment=told, proof=unproved), (), bench, reader=reader
    )
    first = text.split("<section")[1]
    for words in ("again.</b> Coolant pressure rose: stop.", "Not proved: do not", CAUTIONS[0]):
        assert words in first
        assert text.count(words) == 1
    if reader is Reader.BUILDER:
        assert "then choices, mildest change first" in first


def limits_in(text):
    """The cells of the limit table."""
    body = text.split("Torque-limit table</caption>")[1].split("</table>")[0]
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", body, re.DOTALL)[1:]
    return [re.findall(r">([^<>]*)</t[hd]>", r) for r in rows]


def test_running_gear_is_told_and_drawn(plain, full_text, plain_text):
    """Identity: sentences, every force at both speeds, and a polar diagram of each."""
    assessment, _ = plain
    gear = gear_loads(assessment)
    read = Parsed(full_text)
    told = "".join(read.inside["p"] + read.inside["li"])
    for sentence in (*running_gear.sentences(gear), running_gear.FRAME):
        assert sentence in told
    table = gear_section.extremes_table(assessment, gear)
    assert len(table.rows) == len(FORCES)
    assert {len(row) for row in table.rows} == {len(table.headings)} == {9}
    body = full_text.split(f"{table.title}</caption>")[1].split("</table>")[0]
    rows = re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL)[1:]
    assert [re.findall(r">([^<>]*)</t[hd]>", r) for r in rows] == table.rows
    (shank,) = [r for r in table.rows if r[0].startswith("Rod shank")]
    for column, (_, k) in zip((1, 5), running_gear.told_speeds(assessment), strict=True):
        force = median_cycle(assessment, k).forces.rod_link
        assert float(shank[column]) == pytest.approx(force.max() / 1e3, abs=0.06)
        assert float(shank[column + 2]) == pytest.approx(-force.min() / 1e3, abs=0.06)
        at = f"{assessment.speed[k] * 30 / np.pi:.0f} rpm"
        pictures = [a["aria-label"] for _, a in read.tags if a.get("role") == "img"]
        told_so = f"Polar diagram of the big-end load at {at}."
        assert sum(str(alt).startswith(told_so) for alt in pictures) == 1
    assert len(plain_text.encode()) < 300_000


def test_the_table_is_the_proposals(plain, plain_text):
    """Identity: speed, limit and power of every row as the proposal has them, rounded as shown."""
    _, proposal = plain
    shown = [[float(c.replace(",", "")) for c in cells[:3]] for cells in limits_in(plain_text)]
    wanted = [
        [round(r.speed * 30 / np.pi), round(r.limit), round(r.power / 1e3)] for r in proposal.rows
    ]
    assert shown == wanted
    assert proposal.proof.words in plain_text


def test_every_column_by_speed_has_its_heading(plain):
    """Identity: as many headings as cells, the governing limit's title under its own."""
    assessment, proposal = plain
    table = tables.by_speed(proposal, Units.SI)
    assert {len(row) for row in table.rows} == {len(table.headings)}
    at = [name for name, _ in table.headings].index("limited by")
    titles = [assessment.limits[name].limit.title for name in assessment.governing]
    assert [row[at] for row in table.rows] == titles


def test_area_under_power_by_hand(plain):
    """Identity: trapezoid of power over speed of the run as measured, in MW·rpm."""
    assessment, proposal = plain
    area = np.trapezoid(assessment.power / 1e6, assessment.speed * 30 / np.pi)
    shown = tables.before_after(proposal, Units.SI).rows[0][3]
    assert float(shown) == pytest.approx(area, abs=0.5 + 0.01 * area)


def test_us_units(plain):
    """NIST SP 811: 1 lb·ft is 1.355818 N·m; heading and numbers change together."""
    _, proposal = plain
    assert pytest.approx(1.355818, abs=5e-7) == FOOT_POUND
    table = tables.limit_table(proposal, Units.US)
    assert table.headings[1] == ("limit", "lb·ft")
    assert [float(r[1]) for r in table.rows] == pytest.approx(
        [r.limit / 1.355818 for r in proposal.rows], abs=0.051
    )
    assert "lb·ft" in report_html(plain[1], units=Units.US)


def test_a_table_that_failed_its_check_says_so(plain):
    """Identity: the refusal stands before the table, and the table's own title says it."""
    _, proposal = plain
    failed = dataclasses.replace(proposal.proof, holds=False, words="Chance 9 % at 3000 rpm.")
    text = report_html(dataclasses.replace(proposal, proof=failed))
    refused = text.index("Not proved: do not use this table.</b> Chance 9 % at 3000 rpm.")
    assert refused < text.index("Torque-limit table, not proved</caption>")
    assert "<b>Proof.</b>" not in text


def test_what_must_be_seen_first_comes_first(plain):
    """Identity: a sign of a lifted head stands above the answer, not only among the notices."""
    assessment, proposal = plain
    notice = dataclasses.replace(assessment.notices[0], code="coolant-pressure", text="Stop now.")
    warned = dataclasses.replace(assessment, notices=(notice, *assessment.notices))
    text = report_html(dataclasses.replace(proposal, assessment=warned))
    assert text.index("Stop now.") < text.index('<p class="short">')
    assert text.count("Stop now.") == 1


def test_every_notice_and_assumed_input_is_there(plain, full_text, plain_text):
    """Identity: every face shows the same notices; each assumed input has value and reason.

    What is assumed or not assessed is told once, in its own place; how evidence was used, in full.
    """
    assessment, proposal = plain
    told = "".join(t for texts in Parsed(full_text).inside.values() for t in texts)
    short = "".join(t for texts in Parsed(plain_text).inside.values() for t in texts)
    for notice in (*assessment.notices, *proposal.notices):
        shown = prose.in_units(notice.text, Units.SI)
        assert shown in told or notice.code in ("assumed", "not-assessed")
        assert shown in short or notice.code in ("assumed", "not-assessed", "evidence")
    for name in assumed_and_used(assessment):
        assert assessment.engine.declaration(name).label in told
    for wanted in filter(wants_inputs, assessment.not_assessed.values()):
        for name in wanted:
            assert (assessment.engine.declaration(name).words if "." in name else name) in told
    table = tables.assumed_table(assessment)
    assert len(table.rows) > 10
    for _label, value, spread, reason in table.rows:
        assert value
        assert spread
        assert reason


def test_assumed_spread_as_declared(plain):
    """Identity: the share of clamp at the ring is taken as declared, one sd with the same unit."""
    assessment, _ = plain
    used = assessment.engine.value("head_joint.ring_share")
    rows = tables.assumed_table(assessment).rows
    (row,) = [r for r in rows if "reaches the combustion ring" in r[0]]
    assert float(row[1].split()[0]) == pytest.approx(100 * used.value, abs=0.06)
    assert float(row[2].split()[0]) == pytest.approx(100 * used.sd, abs=0.06)
    assert row[2].endswith(" points")
    (other,) = [r for r in rows if "Heat loss" in r[0]]
    assert other[2].endswith(" % of it")


def test_open_and_missing_numbers_are_words(plain):
    """Identity: an infinite spare reads 'open', no phasing that holds reads 'none'."""
    _, proposal = plain
    row = dataclasses.replace(proposal.rows[0], spare=np.inf, ca50_not_before=None)
    table = tables.limit_table(dataclasses.replace(proposal, rows=(row,)), Units.SI, full=True)
    assert table.rows[0][5] == "open"
    assert table.rows[0][9] == "none"


def test_the_earliest_phasing_is_never_shown_earlier_than_it_is(plain):
    """Identity: tenths of a degree are rounded up, in words and as a number alike."""
    _, proposal = plain
    for angle, shown in ((14.75, 14.8), (14.999999999999998, 15.0), (15.01, 15.1), (15.0, 15.0)):
        row = dataclasses.replace(proposal.rows[0], ca50_not_before=np.radians(angle))
        assert not_before_degrees(row) == pytest.approx(shown, abs=1e-9)
        assert not_before(row) == f"{shown:.1f}"


def test_a_speed_limited_row_has_nothing_to_spare_in_text_and_report(plain):
    """Contract: where no torque is acceptable, spare reads 'none' on both, never 'open'."""
    _, proposal = plain
    row = dataclasses.replace(proposal.rows[0], spare=-np.inf)
    bent = dataclasses.replace(proposal, rows=(row,))
    assert tables.limit_table(bent, Units.SI, full=True).rows[0][5] == "none"
    text = proposal_text(bent).split("Torque-limit table")[1].split("spare:")[0]
    assert " none " in text
    assert "open" not in text


def test_an_earliest_phasing_later_than_the_judged_is_explained(plain):
    """Contract: one sentence in text, report and JSON where it is so, nowhere else."""
    _, proposal = plain
    row = dataclasses.replace(proposal.rows[0], ca50=np.radians(14.2))
    words = LATER_THAN_JUDGED.format(", or that one knocks")
    for earliest, told in ((15.0, True), (14.0, False)):
        rows = (dataclasses.replace(row, ca50_not_before=np.radians(earliest)),)
        bent = dataclasses.replace(proposal, rows=rows)
        text = " ".join(proposal_text(bent).split())
        assert (words in text) == told
        assert (words in report_html(bent)) == told
        assert (words in limit_document(bent)["phasing_text"]) == told


def test_pressure_beyond_trust_wears_a_star(plain):
    """Contract: whole kPa, as far as one sd of 4 % knows them; a star out of the trusted range."""
    _, proposal = plain
    row = proposal.rows[0]
    inside = PressureTarget(value=164_321.0, sd=5_678.0, low=120e3, high=190e3, ambient=101e3)
    outside = dataclasses.replace(inside, high=160e3)
    rows = tuple(
        dataclasses.replace(row, pressure=target, advance_not_above=np.radians(17.9))
        for target in (inside, outside)
    )
    table = tables.limit_table(dataclasses.replace(proposal, rows=rows), Units.SI)
    assert [r[-1] for r in table.rows] == ["164", "164 *"]
    assert [r[-2] for r in table.rows] == ["17.9", "17.9"]


def test_same_inputs_same_bytes(plain_text):
    """Metamorphic: read, assessed and written anew, the text is the same; a date is added."""
    again = made()
    assert report_html(again[1]) == plain_text
    dated = report_html(again[1], date="2031-02-03")
    assert dated.replace(", 2031-02-03", "") == plain_text


def test_digest_follows_inputs(plain):
    """Metamorphic: one digit of one input, or one option, changes the digest."""
    assessment, proposal = plain
    first = made_from.inputs_digest(proposal)
    longer = assessment.engine.with_values({"rod_length": assessment.engine.rod_length + 1e-9})
    run = dataclasses.replace(assessment.run, torque=assessment.run.torque + 1e-9)
    for changed in (
        dataclasses.replace(assessment, engine=longer),
        dataclasses.replace(assessment, run=run),
    ):
        assert made_from.inputs_digest(dataclasses.replace(proposal, assessment=changed)) != first
    more = dataclasses.replace(proposal.policy, points=15)
    other = dataclasses.replace(proposal, wish=dataclasses.replace(proposal.wish, policy=more))
    assert made_from.inputs_digest(other) != first


def test_the_command_makes_it_again(tmp_path):
    """Identity: the printed command line, run on the same files, gives the same table."""
    folder = write_case(tmp_path / "case", run=run_text(DIPPED, SPEEDS))
    engine = engine_from_text((folder / "engine.toml").read_text(), "engine.toml")
    run = run_from_bytes((folder / "run.csv").read_bytes(), "run.csv")
    policy = default_policy(**FEW, seed=7, points=9, peak_from=4000 * np.pi / 30)
    proposal = propose_limit(assess(engine, run, policy))
    line = shlex.split(made_from.command_line(proposal))
    assert line[:6] == ["torquerisk", "report", "ENGINE", "RUN", "-o", "FILE.html"]
    table = command("limit", folder, *line[6:], "--json").json["table"]
    assert [r["torque_limit_n_m"] for r in table] == [r.limit for r in proposal.rows]
    chances = [r.chance for r in proposal.rows]
    assert [r["chance"] for r in table] == pytest.approx(chances, rel=1e-11)


def test_reach_is_named(plain):
    """Identity: an open reach and another run's reach are not passed off as the measured one."""
    _, proposal = plain
    assert "--reach" not in made_from.command_line(proposal)
    for reach, told in (
        ("open", "--reach open"),
        (proposal.assessment.run, "--reach REACH.csv"),
        (BoostCeiling(pressure=1.8e5), '--reach "180 kPa"'),
    ):
        other = dataclasses.replace(proposal, wish=dataclasses.replace(proposal.wish, reach=reach))
        assert told in made_from.command_line(other)


def test_all_that_was_asked_is_in_the_command(tmp_path):
    """Identity: own speeds, a boost ceiling, no dip, the nearest table: printed, run, the same."""
    pressures = [140 + t / 4 for t in DIPPED]
    lines = run_text(DIPPED, SPEEDS).splitlines()
    head = next(k for k, line in enumerate(lines) if "rpm" in line and "torque" in line)
    with_pressure = [
        *lines[:head], lines[head] + ",manifold pressure [kPa]",
        *(f"{line},{p}" for line, p in zip(lines[head + 1 :], pressures, strict=True)),
    ]  # fmt: skip
    folder = write_case(tmp_path / "case", run="\n".join(with_pressure))
    engine = engine_from_text((folder / "engine.toml").read_text(), "engine.toml")
    run = run_from_bytes((folder / "run.csv").read_bytes(), "run.csv")
    policy = default_policy(**FEW, seed=7, no_dip=True, abnormal_in_chance=True)
    proposal = propose_limit(
        assess(engine, run, policy), reach=BoostCeiling(pressure=1.9e5),
        breakpoints=np.array([2100.0, 3300.0, 4700.0, 5800.0]) * np.pi / 30,
    )  # fmt: skip
    line = shlex.split(made_from.command_line(proposal))
    table = command("limit", folder, *line[6:], "--json").json["table"]
    assert [r["torque_limit_n_m"] for r in table] == [r.limit for r in proposal.rows]
    assert [r["speed_rpm"] for r in table] == pytest.approx([2100.0, 3300.0, 4700.0, 5800.0])
    for flag in ("--no-dip", "--count-abnormal"):
        assert flag in line


def test_checks_are_repeated_by_tests():
    """Identity: every check names a test file that exists; measured figures are the README's."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8").replace("-", "−")
    for check in checked.CHECKS:
        assert (ROOT / check.test).is_file(), check.test
    for check in checked.CHECKS[:2]:
        figures = re.findall(r"−?\d+\.\d+ (?:bar|%)", f"{check.against} {check.closeness}")
        assert len(figures) == 3
        for figure in figures:
            assert figure.split()[0] in readme, figure
