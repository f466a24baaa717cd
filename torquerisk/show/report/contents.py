"""The sections of the report: what each needs, and which come for which reader, in which order.

A section's words are put into the template of its name in `sections/`.
"""

import dataclasses
import enum
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from torquerisk.case import CAUTIONS, Notice
from torquerisk.files.text import brief
from torquerisk.show.pictures.risk import CHANCE_NAMES
from torquerisk.show.report import made_from, pictures, tables
from torquerisk.show.report.ceilings import ceilings_part
from torquerisk.show.report.gear_section import gear_part
from torquerisk.show.report.studs import studs_part
from torquerisk.show.words import ceilings, in_short, limit_table, owner, prose, table_in_short
from torquerisk.show.words.checked import CHECKS, LEFT_OUT, NOT_CHECKED
from torquerisk.show.words.dips import FOR_DOTS, explain_dip
from torquerisk.show.words.limit_columns import titles_of
from torquerisk.show.words.notices import ASSUMED, NOT_ASSESSED
from torquerisk.show.words.prose import Units
from torquerisk.show.words.word_list import words_used
from torquerisk.study.answers.answers import answers_of
from torquerisk.study.answers.results import Dip, Proposal, StudBench

Words = dict[str, Any]
URGENT = ("coolant-pressure", "coolant-seen", "oil-pressure", "fuel-pressure", "knock-counts",
          "knock-retard")  # fmt: skip
"""Notices that a reader must see before anything is run again."""
FEW_CHECKS = 2
"""Checks that are told where not all are: peak pressures of measured engines."""


class Reader(enum.Enum):
    """Who the report is for: whose page comes first."""

    TUNER = "tuner"
    OWNER = "owner"
    BUILDER = "builder"


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a report is made of."""

    proposal: Proposal
    dips: Sequence[Dip]
    bench: StudBench | None
    notices: Iterable[Notice]
    units: Units
    command: str
    full: bool
    reader: Reader

    def told(self, text: str) -> str:
        """A sentence in the units asked for."""
        return prose.in_units(text, self.units)


@dataclass(frozen=True, kw_only=True)
class Section:
    """One section: its name in the file, its heading, its words; nothing where it has none."""

    name: str
    title: str
    words: Callable[[Asked], Words | None]
    appendix: bool = True
    only_full: bool = False


def first_page(asked: Asked) -> Words:
    """What stands on page one, whoever reads: reasons not to run, and cautions."""
    p = asked.proposal
    return {
        "urgent": [asked.told(n.text) for n in p.assessment.notices if n.code in URGENT],
        "unproved": "" if p.verified else asked.told(p.proof.words),
        "cautions": CAUTIONS,
    }


def _answer(asked: Asked) -> Words:
    """The answer, curve, table, what decides, what was assumed."""
    p, a = asked.proposal, asked.proposal.assessment
    first, *rest = table_in_short.decides_in_words(p)
    return {
        "answer": " ".join(
            (
                *table_in_short.too_little_known(a, p, asked.units),
                table_in_short.answer_in_words(p, asked.units),
            )
        ),
        "curve": pictures.curve(p, asked.units),
        "limits": tables.limit_table(p, asked.units, asked.full),
        "accepted": prose.percent(p.policy.chance, 2),
        "pulls": f"{a.policy.pulls:,}",
        "carries": limit_table.carries_in_words(p),
        "window": limit_table.window_in_words(p),
        "decides": (" ".join([*in_short.likely_in_words(p.measured), first]), *rest),
        "assumed": [
            *in_short.phasing_in_words(a),
            tables.most_assumed(a),
            _known(asked),
        ],
    }


def _known(asked: Asked) -> str:
    """What the engine is known to carry, and how many simulated engines agree with it."""
    a = asked.proposal.assessment
    found = answers_of(a).over_known
    if found is None:
        return "Nothing is known of what it carried: give a data sheet or a survived curve first."
    return (
        f"Known to hold: {found.curve}. Of {a.evidence.tried:,} simulated engines "
        f"{a.evidence.agreed:,} agree with that and with this run; the counts are of "
        f"{a.model.every.count:,} that do."
    )


def _why(asked: Asked) -> Words:
    p, a = asked.proposal, asked.proposal.assessment
    found = answers_of(a).ceilings
    return {
        "told": [
            *in_short.limits_in_short(p.measured),
            *ceilings.sentences(found, asked.units)[:2],
        ],
        "room": pictures.room(p, asked.units),
        "pressures": pictures.pressures(a, asked.units),
        "parts": tables.parts_table(a, p.policy.chance, asked.full),
        "never": [] if asked.full else [titles_of(a)[n].lower() for n in tables.never_passed(a)],
        "not_assessed": tables.not_assessed(a, asked.full),
    }


def _ceilings(asked: Asked) -> Words:
    return ceilings_part(asked.proposal.assessment, asked.units)


def _change(asked: Asked) -> Words:
    p = asked.proposal
    return {
        "verified": p.verified,
        "verification": asked.told(p.proof.words),
        "table": tables.before_after(p, asked.units),
        "abnormal": limit_table.abnormal_in_words(p),
    }


def _dips(asked: Asked) -> Words | None:
    """All dips in one picture, then what is told of each, but for what page one says of it."""
    a = asked.proposal.assessment
    if not asked.dips:
        return None
    warned = any(n.code == "coolant-pressure" for n in a.notices)
    told = [
        dataclasses.replace(
            d, signs=tuple(s for s in d.signs if not (warned and s.channel == "coolant_pressure"))
        )
        for d in asked.dips
    ]
    return {
        "still": pictures.of_dips(a, asked.dips, asked.units),
        "each": [
            (explain_dip(a, d, asked.units), pictures.dots(d, k)) for k, d in enumerate(told, 1)
        ],
        "dots": FOR_DOTS,
    }


def _owner(asked: Asked) -> Words:
    """An owner's page: the dip or the answer in three sentences, what to ask, the words."""
    a = asked.proposal.assessment
    told = owner.told_to_a_friend(asked.proposal, asked.dips, asked.units)
    ask = owner.questions(asked.proposal, asked.dips, asked.units)
    return {
        "told": told,
        "still": pictures.of_dips(a, asked.dips, asked.units) if asked.dips else None,
        "ask": ask,
        "words": words_used((*told, *ask)),
    }


def _studs(asked: Asked) -> Words | None:
    if asked.bench is None:
        return None
    on_the_sheet = asked.reader is Reader.BUILDER
    return studs_part(asked.bench, asked.units, asked.full, elsewhere=on_the_sheet)


def _more_studs(asked: Asked) -> Words | None:
    """What the bench sheet leaves: nothing, where it has no sheet and not all is asked for."""
    part = _studs(asked)
    said = part is not None and part["elsewhere"] and part["sheet"] is None and not asked.full
    return None if said else part


def _map(asked: Asked) -> Words:
    return {
        "still": pictures.risk_map(asked.proposal, asked.units),
        "chances": list(enumerate(CHANCE_NAMES)),
        "by_speed": tables.by_speed(asked.proposal, asked.units),
    }


def _gear(asked: Asked) -> Words:
    return gear_part(asked.proposal.assessment, asked.full)


def _drivers(asked: Asked) -> Words:
    return tables.drivers(asked.proposal.assessment, asked.units, asked.full)


def _assumed(asked: Asked) -> Words:
    return {"table": tables.assumed_table(asked.proposal.assessment)}


def _checked(asked: Asked) -> Words:
    return {
        "checks": CHECKS if asked.full else CHECKS[:FEW_CHECKS],
        "not_checked": NOT_CHECKED,
        "left_out": LEFT_OUT,
    }


def _notices(asked: Asked) -> Words:
    """All but what has a place of its own."""
    p = asked.proposal
    elsewhere = (ASSUMED, NOT_ASSESSED, *URGENT, *(() if asked.full else ("evidence",)))
    told = (*asked.notices, *p.notices, *p.assessment.notices)
    texts = (asked.told(n.text) for n in told if n.code not in elsewhere)
    return {"texts": list(dict.fromkeys(texts))}


def _read(asked: Asked) -> Words:
    """What was read and made of it."""
    a = asked.proposal.assessment
    run, engine = a.run, a.reading.engine
    channels = [c.strip("_").replace("_", " ") for c in run.channels]
    octane = a.engine.given("fuel.octane")
    fuel = a.engine.word("fuel.blend")
    if octane is not None and not a.engine.compression_ignition:
        fuel = f"{fuel}, octane {prose.plain(octane)}"
    facts = [
        ("engine", f"{int(engine.cylinders)} cylinders, "
                   f"{prose.plain(engine.swept_volume_total * 1e6)} cm³, {engine.ignition} "
                   "ignition"),
        ("fuel", fuel),
        ("run", f"{brief(run.name, 80)}: {len(run.speed)} rows "
                f"{prose.speeds_in_words(float(run.speed[0]), float(run.speed[-1]))}"),
        ("made of it", "; ".join(asked.told(step) for step in a.reading.steps)),
        ("logged beside torque", ", ".join(channels) or "nothing"),
    ]  # fmt: skip
    return {"facts": facts, "record": run.record if asked.full else ()}


def _made(asked: Asked) -> Words:
    """What the same numbers can be made from again."""
    p, a = asked.proposal, asked.proposal.assessment
    curve = a.engine.known_good.curve
    hashes = [("all inputs and what was asked", made_from.inputs_digest(p))]
    if asked.full:
        hashes.append((f"run file, {brief(a.run.name, 60)}", a.run.digest or "not from a file"))
        if curve is not None:
            name = f"known-good file, {brief(curve.name, 60)}"
            hashes.append((name, curve.digest or "not from a file"))
        hashes.append(("engine values, SI, as used", made_from.engine_digest(a.engine)))
    more = " --full" if asked.full else ""
    if asked.reader is not Reader.TUNER:
        more += f" --for {asked.reader.value}"
    return {
        "facts": [
            *(made_from.versions() if asked.full else ()),
            ("seed", f"{int(a.policy.seed)}"),
            ("simulated engines", prose.plain(a.policy.draws)),
            ("agreeing of those tried", f"{prose.plain(a.evidence.agreed)} of "
                                        f"{prose.plain(a.evidence.tried)}"),
            ("effective sample", prose.plain(a.evidence.kept)),
        ],
        "hashes": hashes,
        "command": asked.command or made_from.command_line(p, more),
    }  # fmt: skip


ANSWER = Section(name="answer", title="The answer", words=_answer, appendix=False)
WHY = Section(name="why", title="Why", words=_why, appendix=False)
CHANGE = Section(name="change", title="Before and after", words=_change, appendix=False)
DIPS = Section(name="dips", title="Why the curve dips", words=_dips, appendix=False)
OWNER = Section(name="owner", title="For the owner", words=_owner, appendix=False)
SHEET = Section(name="sheet", title="Bench sheet", words=_studs, appendix=False)
STUDS = Section(name="studs", title="Head fasteners", words=_more_studs)
CEILINGS = Section(name="ceilings", title=ceilings.TITLE, words=_ceilings, only_full=True)
MAP = Section(name="map", title="If it made more, or less", words=_map, only_full=True)
GEAR = Section(name="gear", title="Running gear", words=_gear)
DRIVERS = Section(name="drivers", title="What drives the answer", words=_drivers)
REST = (
    Section(name="assumed", title="What was assumed", words=_assumed, only_full=True),
    Section(name="checked", title="What was checked", words=_checked),
    Section(name="notices", title="Notices", words=_notices),
    Section(name="read", title="What was read", words=_read),
    Section(name="made", title="To make it again", words=_made),
)
ORDER = {
    Reader.TUNER: (ANSWER, WHY, CHANGE, DIPS, STUDS, CEILINGS, MAP, GEAR, DRIVERS, *REST),
    Reader.OWNER: (OWNER, ANSWER, WHY, CHANGE, *REST),
    Reader.BUILDER: (SHEET, ANSWER, WHY, CHANGE, STUDS, CEILINGS, MAP, GEAR, *REST),
}
"""The sections for each reader: whose page comes first, and what the others need not read."""


def sections_of(asked: Asked) -> list[tuple[Section, Words]]:
    """The sections that have something to say, in order, with their words."""
    wanted = [s for s in ORDER[asked.reader] if asked.full or not s.only_full]
    made = ((section, section.words(asked)) for section in wanted)
    return [(section, words) for section, words in made if words is not None]
