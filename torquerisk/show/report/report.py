"""The report: one printable HTML file that asks nothing of any network.

Everything that people wrote is escaped by the template; pictures are drawn here and carry no
script. The same inputs give the same bytes, unless a date is given.
"""

import base64
import hashlib
from collections.abc import Iterable, Sequence

import jinja2
from markupsafe import Markup

import torquerisk
from torquerisk.case import Notice
from torquerisk.files.text import brief
from torquerisk.show.pictures.style import DARK, LIGHT, Look, colours
from torquerisk.show.report import made_from
from torquerisk.show.report.contents import Asked, Reader, first_page, sections_of
from torquerisk.show.report.studs import drawn_order
from torquerisk.show.words.prose import Units
from torquerisk.show.words.target_sheet import TargetSheet
from torquerisk.study.answers.results import Dip, Proposal, StudBench

LONGEST_NAME = 160
LONGEST_HEADER = 60


def report_html(
    proposal: Proposal,
    dips: Sequence[Dip] = (),
    bench: StudBench | None = None,
    *,
    notices: Iterable[Notice] = (),
    units: Units = Units.SI,
    date: str = "",
    command: str = "",
    full: bool = False,
    reader: Reader = Reader.TUNER,
) -> str:
    """The report as one HTML text.

    proposal: the table, with the assessment it was made from. dips, bench: sections that are left
    out where nothing is given. notices: what the caller adds, such as what an option replaced.
    date: printed as it is given; without one the text depends on the inputs only. command: the line
    that makes it again; made from the policy when left out. full: every table and check, not only
    what fits on six pages. reader: whose page comes first.
    """
    digest = made_from.case_digest(proposal.assessment)
    name = brief(proposal.assessment.engine.name, LONGEST_NAME)
    style = Markup(_style(name, digest))
    asked = Asked(
        proposal=proposal, dips=dips, bench=bench, notices=tuple(notices),
        units=units, command=command, full=full, reader=reader,
    )  # fmt: skip
    return (
        _environment()
        .get_template("report.html.j2")
        .render(
            style=style,
            policy=_content_policy(style),
            name=name,
            digest=digest,
            date=date,
            version=torquerisk.__version__,
            run=brief(proposal.assessment.run.name, LONGEST_HEADER),
            full=full,
            first=first_page(asked),
            sections=sections_of(asked),
        )
    )


def sheet_html(sheet: TargetSheet, order: str | None = None) -> str:
    """A target sheet as HTML, as it stands in the report. order: the drawing of it, if another."""
    source = '{% import "macros.html.j2" as m %}{{ m.sheet(s, order) }}'
    drawn = drawn_order(sheet.order) if order is None else Markup(order)
    return _environment().from_string(source).render(s=sheet, order=drawn)


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
