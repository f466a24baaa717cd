"""The report: one printable HTML file that asks nothing of any network.

Everything that people wrote is escaped by the template; pictures are drawn here and carry no
script. The same inputs give the same bytes, unless a date is given.
"""

import base64
import hashlib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

import torquerisk
from torquerisk.case import CAUTIONS, Notice
from torquerisk.files.exports import write_text_atomically
from torquerisk.files.text import brief
from torquerisk.show.pictures.risk import CHANCE_NAMES
from torquerisk.show.pictures.style import DARK, LIGHT, Look, colours
from torquerisk.show.report import made_from, parts, pictures
from torquerisk.show.report.ceilings import ceilings_part
from torquerisk.show.report.gear_section import gear_part
from torquerisk.show.report.studs import studs_part
from torquerisk.show.words import limit_table, prose
from torquerisk.show.words.checked import CHECKS, LEFT_OUT, NOT_CHECKED
from torquerisk.show.words.comparison import compare_in_words
from torquerisk.show.words.dips import FOR_DOTS, WORD_LIST, explain_dip
from torquerisk.show.words.in_short import proposal_in_short
from torquerisk.show.words.notices import ASSUMED, NOT_ASSESSED
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Assessment, Comparison, Dip, Proposal, StudBench

LONGEST_NAME = 160
LONGEST_HEADER = 60
URGENT = ("coolant-pressure", "oil-pressure", "fuel-pressure", "knock-counts")
"""Notices that a reader must see before anything is run again."""


def report_html(
    proposal: Proposal,
    dips: Sequence[Dip] = (),
    bench: StudBench | None = None,
    comparison: Sequence[Comparison] = (),
    *,
    notices: Iterable[Notice] = (),
    units: Units = Units.SI,
    date: str = "",
    command: str = "",
) -> str:
    """The report as one HTML text.

    proposal: the table, with the assessment it was made from. dips, bench, comparison:
    sections that are left out where nothing is given. notices: what the caller adds, such as what
    an option replaced. date: printed as it is given; without one the text depends on the inputs
    only. command: the line that makes it again; made from the policy when left out.
    """
    assessment = proposal.assessment
    digest = made_from.inputs_digest(proposal)
    name = brief(assessment.engine.name, LONGEST_NAME)
    style = Markup(_style(name, digest))
    return _environment().get_template("report.html.j2").render(
        style=style,
        policy=_content_policy(style),
        name=name,
        digest=digest,
        date=date,
        version=torquerisk.__version__,
        read=_read(assessment, units),
        urgent=[prose.in_units(n.text, units) for n in assessment.notices if n.code in URGENT],
        short=proposal_in_short(proposal, units),
        cautions=CAUTIONS,
        notices=list(
            dict.fromkeys(
                prose.in_units(n.text, units)
                for n in (*notices, *proposal.notices, *assessment.notices)
                if n.code not in (ASSUMED, NOT_ASSESSED)  # each has a place of its own
            )
        ),
        checks=CHECKS,
        not_checked=NOT_CHECKED,
        left_out=LEFT_OUT,
        not_assessed=parts.not_assessed(assessment),
        made=_made(proposal, command),
        **_limits(proposal, units),
        **_why(proposal, units),
        gear=gear_part(assessment),
        dips=_dips(assessment, dips, units),
        dots=FOR_DOTS,
        words=WORD_LIST,
        studs=None if bench is None else studs_part(bench, units),
        compared=_compared(comparison, units) if comparison else None,
    )  # fmt: skip


def write_report(
    proposal: Proposal,
    path: str | Path,
    dips: Sequence[Dip] = (),
    bench: StudBench | None = None,
    comparison: Sequence[Comparison] = (),
    **more: Any,
) -> None:
    """Write the report so that the file is the whole new one or stays as it was.

    more: as `report_html` takes them. Raises InputError where the place cannot be written.
    """
    write_text_atomically(path, report_html(proposal, dips, bench, comparison, **more))


def _environment() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.PackageLoader("torquerisk", "show/report"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _style(name: str, digest: str) -> str:
    """The style sheet with both themes' colours and the page's running head."""
    source = jinja2.PackageLoader("torquerisk", "show/report").get_source(
        _environment(), "report.css"
    )[0]
    head = _css_text(brief(name, LONGEST_HEADER))
    foot = _css_text(f"torquerisk {torquerisk.__version__}, inputs {digest[:12]}")
    return "\n".join(
        (
            f":root{{{_colours(LIGHT)}}}",
            f"@media screen and (prefers-color-scheme:dark){{:root{{{_colours(DARK)}}}}}",
            f"@page{{@top-left{{content:{head}}}@bottom-left{{content:{foot}}}}}",
            source,
        )
    )


def _colours(look: Look) -> str:
    """Colours of a theme as CSS variables."""
    return ";".join(f"--{name}:{colour}" for name, colour in colours(look).items())


def _css_text(value: str) -> str:
    """Foreign text as a CSS string: all but plain letters, digits and spaces as code points.

    A space after a code point ends it and is not shown.
    """
    plain = "".join(
        c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):06x} " for c in value
    )
    return f'"{plain}"'


def _content_policy(style: str) -> str:
    """Nothing may be loaded or run; only this very style sheet counts."""
    made = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{made}'; base-uri 'none'; form-action 'none'"


def _read(a: Assessment, units: Units) -> dict[str, Any]:
    """What was read and made of it."""
    run, engine = a.run, a.reading.engine
    channels = [c.strip("_").replace("_", " ") for c in run.channels]
    known = engine.known_good
    facts = [
        ("engine", f"{int(engine.cylinders)} cylinders, "
                   f"{prose.plain(engine.swept_volume_total * 1e6)} cm³, {engine.ignition} "
                   "ignition"),
        ("fuel", _fuel(a)),
        ("run", f"{brief(run.name, 80)}: {len(run.speed)} rows "
                f"{prose.speeds_in_words(float(run.speed[0]), float(run.speed[-1]))}"),
        ("made of it", "; ".join(prose.in_units(step, units) for step in a.reading.steps)),
        ("logged beside torque", ", ".join(channels) or "nothing"),
        ("known-good curve", brief(known.curve.name, 80) if known.curve is not None else "none"),
        ("phasing", a.phasing_source.value),
    ]  # fmt: skip
    return {"facts": facts, "record": run.record}


def _fuel(a: Assessment) -> str:
    blend, octane = a.engine.word("fuel.blend"), a.engine.given("fuel.octane")
    if a.engine.compression_ignition:
        return blend
    return blend if octane is None else f"{blend}, octane {prose.plain(octane)}"


def _limits(p: Proposal, units: Units) -> dict[str, Any]:
    lifted = dict.fromkeys(
        (p.assessment.limits[r.governing].limit.title, r.lifted_by) for r in p.rows
    )
    return {
        "verified": p.verified,
        "verification": prose.in_units(p.verification, units),
        "accepted": prose.percent(p.policy.chance, 2),
        "limits": parts.limit_table(p, units),
        "window": limit_table.window_in_words(p),
        "before_after": parts.before_after(p, units),
        "lifted": list(lifted),
        "by_speed": parts.by_speed(p, units),
    }


def _why(p: Proposal, units: Units) -> dict[str, Any]:
    a = p.assessment
    return {
        **pictures.of_proposal(p, units),
        "ceilings": ceilings_part(a, units),
        "parts": parts.parts_table(a, p.policy.chance),
        "chances": list(enumerate(CHANCE_NAMES)),
        "drivers": parts.drivers(a, units),
        "assumed": parts.assumed_table(a),
    }


def _dips(a: Assessment, dips: Sequence[Dip], units: Units) -> dict[str, Any] | None:
    """All dips in one picture, then what is told of each."""
    if not dips:
        return None
    return {
        "still": pictures.of_dips(a, dips, units),
        "each": [(explain_dip(a, d, units), pictures.dots(d, k)) for k, d in enumerate(dips, 1)],
    }


def _compared(comparison: Sequence[Comparison], units: Units) -> dict[str, Any]:
    return {
        "told": compare_in_words(comparison, units),
        "still": pictures.compared(comparison, units),
    }


def _made(p: Proposal, command: str) -> dict[str, Any]:
    """What the same numbers can be made from again."""
    a = p.assessment
    drawn = a.policy
    curve = a.engine.known_good.curve
    hashes = [(f"run file, {brief(a.run.name, 60)}", a.run.digest or "not read from a file")]
    if curve is not None:
        hashes.append(
            (f"known-good file, {brief(curve.name, 60)}", curve.digest or "not read from a file")
        )
    hashes.append(("engine values, SI, as used", made_from.engine_digest(a.engine)))
    hashes.append(("all inputs and what was asked", made_from.inputs_digest(p)))
    return {
        "versions": made_from.versions(),
        "facts": [
            ("seed", f"{int(drawn.seed)}"),
            ("simulated engines", prose.plain(drawn.draws)),
            ("kept of those tried", f"{prose.plain(a.evidence.kept)} of "
                                       f"{prose.plain(a.evidence.tried)}"),
            ("accepted chance at each speed", prose.percent(p.policy.chance, 2)),
            ("objective", p.policy.objective),
        ],
        "hashes": hashes,
        "command": command or made_from.command_line(p),
    }  # fmt: skip
