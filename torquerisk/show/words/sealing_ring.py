"""What firing leaves on the combustion ring, in words and rows: one wording for every face."""

from collections.abc import Iterator
from typing import NamedTuple

from torquerisk.quantities import BAR, KILO, MEGA, RPM
from torquerisk.show.words import prose
from torquerisk.show.words.columns import Column
from torquerisk.study.answers.results import (
    WASHER_DIAMETERS,
    Band,
    FastenerLoads,
    HeldBy,
    RingClamp,
    RingHold,
    Spread,
)

LINE_LOAD = 1e3
"""One N/mm [N/m]."""
SURE = 0.05
"""Share of joints whose other state is the greater, above which that is said [-]."""
TITLE = "What is left on the ring"
NAMES = {HeldBy.INNER: "inner", HeldBy.END: "end"}
AT_REST = "At rest: the clamp after losses, warm, other beads included."
BENDING = (
    "The head is a beam on rings and fasteners, and one cylinder fires at a time: neighbours bear "
    f"part of its gas force and share the clamp. {AT_REST} Rows of equally many fasteners are "
    "assumed; where those at the ends are thinner, end cylinders keep less than shown."
)


def bending_in_words(ring: RingClamp) -> str:
    """How the head shares clamp and gas force out, and what at rest means."""
    return AT_REST if ring.single else BENDING


def kinds_title(ring: RingClamp) -> str:
    """Name of the table of kinds of cylinder."""
    one = "The ring of one cylinder"
    return one if ring.single else f"{one}, inner and end"


def name_of(ring: RingClamp, kind: HeldBy, *, marked: bool = True) -> str:
    """A kind of cylinder; marked: named where it is the one that governs."""
    if ring.single:
        return "single"
    return f"{NAMES[kind]}, governs" if marked and kind is ring.governing else NAMES[kind]


def cylinders_in_words(ring: RingClamp, kind: HeldBy) -> str:
    """A kind of cylinder as the name of a line."""
    return "the cylinder" if ring.single else f"{NAMES[kind]} cylinders"


def left_in_words(values: Band, k: int, size: float) -> str:
    """What is left at a speed: '43 (0 to 110)', or '0' where the ring is open in all."""
    low, high = float(values.p05[k]), float(values.p95[k])
    if low == high:
        return prose.plain(high / size)
    middle, start, end = prose.with_range(values, k, size)
    return f"{middle} ({start} to {end})"


def spread_in_words(values: Spread, size: float) -> str:
    """A spread: '50 (31 to 77)'."""
    low, middle, high = (v / size for v in (values.p05, values.p50, values.p95))
    if low == high:
        return prose.plain(middle)
    told, start, end = prose.middle_low_high(low, middle, high)
    return f"{told} ({start} to {end})"


def ring_sentences(ring: RingClamp, draws: int) -> Iterator[str]:
    """What is left where the ring is nearest to lifting, and which cylinder governs and why."""
    k, governs = ring.worst, ring.governs
    where = prose.speed_in_words(float(ring.speed[k]))
    whose = {HeldBy.INNER: "of an inner cylinder", HeldBy.END: "of an end cylinder"}[ring.governing]
    if ring.single:
        whose = "of the cylinder"
    yield (
        f"At {where} the highest pressure, {left_in_words(ring.pressure, k, BAR)} bar, "
        f"leaves {left_in_words(governs.left, k, KILO)} kN on the ring {whose}, "
        f"{left_in_words(governs.line_load, k, LINE_LOAD)} N/mm at its weakest point: fully tight "
        f"down to {spread_in_words(ring.least_line_load, LINE_LOAD)} N/mm, lifted at "
        f"{spread_in_words(ring.lift_line_load, LINE_LOAD)}. It weeps "
        f"{prose.chance_in_words(float(governs.weep_chance[k]), draws)}, an early sign, no failure."
    )
    yield why_it_governs(ring, draws)


def why_it_governs(ring: RingClamp, draws: int) -> str:
    """Which kind of cylinder lifts first, and why the other keeps more."""
    k = ring.worst
    if ring.single:
        return "One cylinder to a head: all its fasteners are its own."
    if HeldBy.INNER not in ring.holds:
        return "Two cylinders to a head: both are end cylinders, held alike."
    governs = ring.governs
    lifts = prose.chance_in_words(float(governs.lift_chance[k]), draws)
    first = f"{NAMES[ring.governing].capitalize()} cylinders govern: they lift {lifts}."
    inner, end = ring.holds[HeldBy.INNER], ring.holds[HeldBy.END]
    first += (
        f" {inner.fasteners:.3g} fasteners clamp an inner ring, which loses "
        f"{inner.own_share.p50:.0%} of its gas force; {end.fasteners:.3g} clamp an end one, which "
        f"loses {end.own_share.p50:.0%}."
    ).replace("%", " %")
    kind = HeldBy.INNER if ring.governing is HeldBy.END else HeldBy.END
    other = ring.holds[kind]
    return (
        f"{first} So an {kind.value} one keeps "
        f"{left_in_words(other.line_load, k, LINE_LOAD)} N/mm, and lifts in "
        f"{prose.chance_count(float(other.lift_chance[k]), draws)} of {draws:,}."
    )


def left_for_the_sheet(ring: RingClamp) -> str:
    """Line load left by kind of cylinder, and the least that seals, in one line."""
    told = ", ".join(
        f"{name_of(ring, kind, marked=False)} "
        f"{left_in_words(ring.holds[kind].line_load, ring.worst, LINE_LOAD)}"
        for kind in ring.holds
    )
    tight, lifts = (v.p50 / LINE_LOAD for v in (ring.least_line_load, ring.lift_line_load))
    return f"{told} N/mm; tight down to {prose.plain(tight)}, lifts at {prose.plain(lifts)}"


def fastener_sentences(
    loads: FastenerLoads, material: str, units: prose.Units = prose.Units.SI
) -> Iterator[str]:
    """What a fastener carries before and after the ring lifts, its swing, and the face under it.

    material: of the head; units: of the fastener's force.
    """
    unit, size = prose.force_unit(units)
    ten, digits = 10 * BAR / size, 2 if units is prose.Units.SI else 0
    yield (
        f"Each fastener carries {spread_in_words(loads.rest, size)} {unit} at rest and "
        f"{spread_in_words(loads.firing, size)} {unit} at the highest pressure, "
        f"{_mostly(loads)}{loads.load_state}: the greater preload. While the ring is "
        f"closed, 10 bar add {prose.plain(ten * loads.gain_closed, digits)} {unit} to the most "
        f"loaded one. Warm, the ring's weakest point has nothing left at "
        f"{spread_in_words(loads.open_pressure, BAR)} bar, with "
        f"{spread_in_words(loads.at_open, size)} {unit} in the fastener; after that it gains "
        f"{prose.plain(ten * loads.gain_lifted, digits)} {unit} for 10 bar."
    )
    bearing = loads.bearing
    yield (
        f"Fatigue: amplitude {spread_in_words(loads.amplitude, MEGA)} MPa in a mean cycle, ring "
        f"closed; VDI 2230 allows {prose.plain(loads.amplitude_limit / MEGA)} MPa for good (an "
        "index, not a verdict). Under the head: a washer of "
        f"{WASHER_DIAMETERS:.3g} thread diameters presses with "
        f"{prose.plain(bearing.pressure / MEGA)} MPa; {material} bears about "
        f"{prose.plain(bearing.limit / MEGA)} MPa (handbook-typical)."
    )


def _mostly(loads: FastenerLoads) -> str:
    """A word where cold and hot change places from joint to joint."""
    return "mostly " if SURE < loads.hot_share < 1 - SURE else ""


class Kind(NamedTuple):
    """A kind of cylinder at the speed where the ring is nearest to lifting."""

    ring: RingClamp
    kind: HeldBy
    made: str = ""
    """The fastening, where several are shown."""

    @property
    def hold(self) -> RingHold:
        """What is left on it."""
        return self.ring.holds[self.kind]

    @property
    def worst(self) -> int:
        """Index of the speed."""
        return self.ring.worst


def kinds(ring: RingClamp, made: str = "") -> list[Kind]:
    """A row for each kind of cylinder."""
    return [Kind(ring, kind, made) for kind in ring.holds]


KIND_COLUMNS: tuple[Column[Kind], ...] = (
    Column(key="marked", value=lambda r: name_of(r.ring, r.kind), name="cylinder"),
    Column(key="kind", value=lambda r: name_of(r.ring, r.kind, marked=False), text="cylinder",
           words=True),
    Column(key="made", value=lambda r: r.made, name="fastening"),
    Column(key="cylinders", value=lambda r: r.hold.cylinders, name="cylinders"),
    Column(key="fasteners", value=lambda r: f"{r.hold.fasteners:.3g}", text="fas-\nteners",
           name="fasteners"),
    Column(key="at_rest", value=lambda r: r.hold.clamp.p50, size=KILO, unit="kN",
           text="at rest\nkN", name="at rest"),
    Column(key="left", value=lambda r: left_in_words(r.hold.left, r.worst, KILO), unit="kN",
           text="left\nkN", name="left"),
    Column(key="line", value=lambda r: left_in_words(r.hold.line_load, r.worst, LINE_LOAD),
           unit="N/mm", text="left\nN/mm", name="left"),
    Column(key="used", value=lambda r: r.hold.lift_utilisation[r.worst], text="lift\nused",
           name="lift used", cell=lambda r, _: _used(float(r.hold.lift_utilisation[r.worst]))),
    Column(key="lifts", value=lambda r: r.hold.lift_chance[r.worst], text="lifts/\n{draws}",
           name="lifts", report_unit="of {draws}", counted=True),
)  # fmt: skip
KIND = ("fasteners", "at_rest", "left", "line", "used", "lifts")
"""Keys of the columns that every face shows."""


def _used(share: float) -> str:
    return prose.plain(share, 2) if share < 100 else ">100"


def speed_of(ring: RingClamp, k: int) -> str:
    """A speed of the table in rpm."""
    return prose.plain(float(ring.speed[k]) / RPM)
