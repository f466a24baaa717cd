"""Screw threads by designation: ISO metric, and unified inch threads, of the sizes used in engines.

The basic profile is the same for both (ISO 68-1, ASME B1.1): a 60 degree thread. Only the printed
stress area differs: ISO takes the mean of pitch and minor diameter, ASME takes d - 0.9743 P.
"""

import difflib
import re
from dataclasses import dataclass, replace

import numpy as np

from torquerisk.errors import InputError, OutOfRangeError
from torquerisk.quantities import INCH, MM

PITCH_DIAMETER_DROP = 0.649519
"""(d - d2)/P = 3/4 H/P. Exact: 3 sqrt(3)/8. Source: [ISO724]."""
MINOR_DIAMETER_DROP = 1.226869
"""(d - d3)/P = 17/12 H/P. Exact: 17 sqrt(3)/24. Source: [ISO724]."""
INTERNAL_MINOR_DROP = 1.082532
"""(d - D1)/P = 5/4 H/P. Exact: 5 sqrt(3)/8. Source: [ISO724]."""

COARSE_PITCH_MM: dict[int, float] = {
    5: 0.8,
    6: 1.0,
    7: 1.0,
    8: 1.25,
    9: 1.25,
    10: 1.5,
    11: 1.5,
    12: 1.75,
    14: 2.0,
    16: 2.0,
    18: 2.5,
    20: 2.5,
    22: 2.5,
    24: 3.0,
}
"""Coarse pitch by nominal diameter [mm]. Source: [ISO261]."""

FINE_ONLY_MM = (15, 17)
"""Third-choice diameters that have fine pitches alone [mm]. From memory. Source: [ISO261]."""
METRIC_PITCHES_MM = (0.5, 0.75, 0.8, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0)
"""Pitches accepted in a metric designation [mm]. Source: [ISO261]."""
COARSEST = 0.2
"""Greatest pitch over the diameter [-]. Some head bolts are coarser than ISO 261 has them, M11x2
for one (from memory); the profile and its stress area follow from the pitch all the same."""

USUAL_METRIC = (
    *("M8x1.25", "M8x1", "M9x1.25", "M9x1", "M10x1.5", "M10x1.25", "M10x1"),
    *("M11x1.5", "M11x1.25", "M11x1", "M12x1.75", "M12x1.5", "M12x1.25"),
    *("M14x2", "M14x1.5", "M16x2", "M16x1.5"),
)
"""Metric threads usual in head joints; any other ISO diameter and pitch is read as well."""

_HEXAGON_BEARING_MM: dict[int, tuple[float, float]] = {
    5: (6.88, 5.5),
    6: (8.88, 6.6),
    8: (11.63, 9.0),
    10: (14.63, 11.0),
    12: (16.63, 13.5),
    14: (19.64, 15.5),
    16: (22.49, 17.5),
    20: (28.19, 22.0),
}
"""Least bearing-face diameter d_w of a hexagon head and medium hole d_h [mm].

Source: [ISO4014] and [ISO273].
"""

_FLANGE_MM: dict[int, float] = {
    5: 9.8,
    6: 12.2,
    8: 15.8,
    10: 19.6,
    12: 23.8,
    14: 27.6,
    16: 31.9,
    20: 39.9,
}
"""Least bearing-face diameter d_w of a flange head [mm]. Source: [EN1665]."""
_FLANGE_OVER_DIAMETER = 1.96
"""The same over the nominal diameter, where the table has no such size. Source: [EN1665]."""

_INCH_THREADS: dict[str, tuple[float, int, float, float]] = {
    "5/16-18": (5 / 16, 18, 1 / 2, 0.344),
    "5/16-24": (5 / 16, 24, 1 / 2, 0.344),
    "3/8-16": (3 / 8, 16, 9 / 16, 0.406),
    "3/8-24": (3 / 8, 24, 9 / 16, 0.406),
    "7/16-14": (7 / 16, 14, 5 / 8, 0.469),
    "7/16-20": (7 / 16, 20, 5 / 8, 0.469),
    "1/2-13": (1 / 2, 13, 3 / 4, 0.562),
    "1/2-20": (1 / 2, 20, 3 / 4, 0.562),
    "9/16-12": (9 / 16, 12, 13 / 16, 0.625),
    "9/16-18": (9 / 16, 18, 13 / 16, 0.625),
    "5/8-11": (5 / 8, 11, 15 / 16, 0.688),
    "5/8-18": (5 / 8, 18, 15 / 16, 0.688),
    "3/4-10": (3 / 4, 10, 9 / 8, 0.812),
    "3/4-16": (3 / 4, 16, 9 / 8, 0.812),
}
"""Diameter [in], threads per inch, width across flats [in], normal clearance hole [in].

Source: [ASME-B1.1] and [ASME-B18].
"""

_BEARING_FACE_OVER_FLATS = 0.95
"""Bearing-face diameter over width across flats of an inch hexagon head. Source: [ASME-B18]."""

KNOWN_THREADS: tuple[str, ...] = (*USUAL_METRIC, *_INCH_THREADS)
"""Designations offered to the reader."""

_METRIC = re.compile(r"M\s*(\d+(?:\.\d+)?)\s*(?:[X×*]\s*(\d+(?:[.,]\d+)?))?", re.IGNORECASE)
_INCH = re.compile(r"(\d+/\d+)\s*(?:IN|INCH|\")?\s*-?\s*(\d+)?\s*(UNC|UNF)?", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class ScrewThread:
    """A screw thread and the bearing face under its usual head or nut; lengths in m.

    Replace the bearing face (`dataclasses.replace`) where the head, nut or washer is not the
    usual hexagon.
    """

    designation: str
    nominal_diameter: float
    """d [m]."""
    pitch: float
    """P [m]."""
    pitch_diameter: float
    """d2 [m]."""
    minor_diameter: float
    """d3, root of the external thread [m]."""
    internal_minor_diameter: float
    """D1, minor diameter of the internal thread [m]."""
    stress_area: float
    """A_s [m^2], as the thread's own standard defines it."""
    bearing_outer_diameter: float
    """d_w, outside diameter of the bearing face under head or nut [m]."""
    clearance_hole_diameter: float
    """d_h, hole in the clamped part [m]."""

    @property
    def stress_diameter(self) -> float:
        """d0, diameter of the circle with the stress area [m]: (d2 + d3)/2 for ISO threads."""
        return float(np.sqrt(4 * self.stress_area / np.pi))

    @property
    def minor_area(self) -> float:
        """A_d3, area at the root of the external thread [m^2]."""
        return float(np.pi / 4 * self.minor_diameter**2)

    @property
    def nominal_area(self) -> float:
        """A_N, area at the nominal diameter [m^2]."""
        return float(np.pi / 4 * self.nominal_diameter**2)

    @property
    def bearing_mean_diameter(self) -> float:
        """D_Km = (d_w + d_h)/2, at which friction under the head acts [m]. Source: [VDI2230]."""
        return (self.bearing_outer_diameter + self.clearance_hole_diameter) / 2


def stress_area_iso_898_1(nominal_diameter: float, pitch: float) -> float:
    """Return the nominal stress area A_s of an ISO metric thread [m^2].

    nominal_diameter: d [m]; pitch: P [m].
    A_s = pi/4 ((d2 + d3)/2)^2. Exact by definition. Source: [ISO898-1] clause 9.1.6.
    """
    mean_drop = (PITCH_DIAMETER_DROP + MINOR_DIAMETER_DROP) / 2
    return float(np.pi / 4 * (nominal_diameter - mean_drop * pitch) ** 2)


def stress_area_asme_b1_1(nominal_diameter: float, pitch: float) -> float:
    """Return the tensile stress area A_s of a unified inch thread [m^2].

    nominal_diameter: d [m]; pitch: P [m].
    A_s = pi/4 (d - 0.9743 P)^2. Exact by definition. Source: [ASME-B1.1].
    """
    return float(np.pi / 4 * (nominal_diameter - 0.9743 * pitch) ** 2)


def sixty_degree_thread(
    nominal_diameter: float,
    pitch: float,
    *,
    bearing_outer_diameter: float,
    clearance_hole_diameter: float,
    designation: str | None = None,
    unified: bool = False,
) -> ScrewThread:
    """Return a thread of the 60 degree profile of any diameter and pitch.

    nominal_diameter: d [m]; pitch: P [m]; bearing_outer_diameter: d_w [m];
    clearance_hole_diameter: d_h [m]; unified: take the inch standard's stress area.
    d2 = d - 0.6495 P, d3 = d - 1.2269 P, D1 = d - 1.0825 P. Exact (basic profile).
    Source: [ISO724], [ASME-B1.1]. Raises OutOfRangeError on impossible dimensions.
    """
    if not nominal_diameter > 0:
        raise OutOfRangeError("nominal_diameter", f"{nominal_diameter:.6g}", "above 0 m")
    if not 0.03 * nominal_diameter <= pitch <= 0.25 * nominal_diameter:
        raise OutOfRangeError(
            "pitch", f"{pitch:.6g} m", "between 0.03 and 0.25 of the nominal diameter"
        )
    if not bearing_outer_diameter > clearance_hole_diameter >= nominal_diameter:
        raise OutOfRangeError(
            "bearing_outer_diameter",
            f"{bearing_outer_diameter:.6g} m with a hole of {clearance_hole_diameter:.6g} m",
            "larger than the hole, and the hole at least the nominal diameter",
        )
    area = stress_area_asme_b1_1 if unified else stress_area_iso_898_1
    return ScrewThread(
        designation=designation or f"{nominal_diameter / MM:g} mm x {pitch / MM:g} mm",
        nominal_diameter=nominal_diameter,
        pitch=pitch,
        pitch_diameter=nominal_diameter - PITCH_DIAMETER_DROP * pitch,
        minor_diameter=nominal_diameter - MINOR_DIAMETER_DROP * pitch,
        internal_minor_diameter=nominal_diameter - INTERNAL_MINOR_DROP * pitch,
        stress_area=area(nominal_diameter, pitch),
        bearing_outer_diameter=bearing_outer_diameter,
        clearance_hole_diameter=clearance_hole_diameter,
    )


def screw_thread(designation: str) -> ScrewThread:
    """Return the thread that a designation names.

    designation: ISO metric "M11x1.5" or "M11 x 1,5" (coarse pitch when left out: "M12"), or inch
    "7/16-14", "7/16-14 UNC", "7/16 UNF".
    Source: [ISO261], [ISO724], [ASME-B1.1]; bearing face [ISO4014], [ISO273], [ASME-B18].
    Raises InputError naming the nearest known designation.
    """
    text = designation.strip()
    if match := _METRIC.fullmatch(text):
        pitch = float(match[2].replace(",", ".")) if match[2] else None
        return _metric(text, float(match[1]), pitch)
    if match := _INCH.fullmatch(text):
        return _inch(text, match[1], match[2], match[3])
    raise _unknown(text)


def _metric(text: str, diameter: float, pitch: float | None) -> ScrewThread:
    """Return the ISO metric thread of diameter and pitch in mm."""
    sizes = sorted((*COARSE_PITCH_MM, *FINE_ONLY_MM))
    if diameter not in sizes:
        raise _unknown(text, f"Metric diameters are {', '.join(map(str, sizes))} mm.")
    size = int(diameter)
    if pitch is None:
        if size not in COARSE_PITCH_MM:
            raise _unknown(text, f"M{size} has no coarse pitch: give it, such as M{size}x1.5.")
        pitch = COARSE_PITCH_MM[size]
    if pitch not in METRIC_PITCHES_MM or not 0.05 * size <= pitch <= COARSEST * size:
        raise _unknown(
            text,
            f"{pitch:g} mm is no pitch for M{size}: one of "
            f"{', '.join(f'{p:g}' for p in METRIC_PITCHES_MM)} mm from {0.05 * size:g} to "
            f"{COARSEST * size:g}.",
        )
    face, hole = _hexagon_face(size)
    return sixty_degree_thread(
        size * MM,
        pitch * MM,
        bearing_outer_diameter=face * MM,
        clearance_hole_diameter=hole * MM,
        designation=f"M{size}x{pitch:g}",
    )


def _hexagon_face(size: int) -> tuple[float, float]:
    """Return d_w and d_h [mm] of a hexagon head of a metric size, with a medium hole.

    M11, in no head table, has the head of an M12 and a hole of 12 mm; others that are in none have
    1.4 and 1.1 d (assumed). Source: [ISO4014], [ISO273].
    """
    if size == 11:
        return 16.63, 12.0
    return _HEXAGON_BEARING_MM.get(size, (1.4 * size, 1.1 * size))


def _inch(text: str, fraction: str, per_inch: str | None, series: str | None) -> ScrewThread:
    """Return the unified thread of a fraction of an inch, by threads per inch or by series."""
    sizes = [key for key in _INCH_THREADS if key.split("-")[0] == fraction]
    if not sizes or not (per_inch or series):
        raise _unknown(text)
    by_series = dict(zip(("UNC", "UNF"), sizes, strict=True))
    wanted = f"{fraction}-{per_inch}" if per_inch else by_series[str(series).upper()]
    if wanted not in sizes or (series and by_series[series.upper()] != wanted):
        raise _unknown(text)
    diameter, count, flats, hole = _INCH_THREADS[wanted]
    return sixty_degree_thread(
        diameter * INCH,
        INCH / count,
        bearing_outer_diameter=_BEARING_FACE_OVER_FLATS * flats * INCH,
        clearance_hole_diameter=hole * INCH,
        designation=wanted,
        unified=True,
    )


def with_flange_face(thread: ScrewThread) -> ScrewThread:
    """Return the thread with the bearing face of a flange head, wider than a hexagon's.

    d_w from the table of metric sizes, else 1.96 d (assumed). Source: [EN1665].
    """
    size = thread.nominal_diameter / MM
    listed = _FLANGE_MM.get(round(size)) if abs(size - round(size)) < 1e-6 else None
    return with_bearing_face(thread, (listed or _FLANGE_OVER_DIAMETER * size) * MM)


def with_bearing_face(thread: ScrewThread, outer_diameter: float) -> ScrewThread:
    """Return the thread with a face of an outside diameter d_w [m] under its head or nut.

    Raises OutOfRangeError unless it is wider than the clearance hole.
    """
    if not outer_diameter > thread.clearance_hole_diameter:
        raise OutOfRangeError(
            "bearing_diameter",
            f"{outer_diameter / MM:.4g} mm",
            f"above the clearance hole of {thread.clearance_hole_diameter / MM:.4g} mm",
        )
    return replace(thread, bearing_outer_diameter=outer_diameter)


def larger_for_insert(thread: ScrewThread) -> ScrewThread:
    """Return the thread that a wire thread insert is screwed into: the same pitch, 1.299 P larger.

    Nominal diameter d + 1.29904 P: one and a half heights H of the 60 degree profile. From memory.
    Source: [DIN8140].
    """
    diameter = thread.nominal_diameter + 1.5 * np.sqrt(3) / 2 * thread.pitch
    return sixty_degree_thread(
        float(diameter),
        thread.pitch,
        bearing_outer_diameter=2.0 * float(diameter),
        clearance_hole_diameter=1.1 * float(diameter),
        designation=f"{thread.designation} insert",
    )


def _unknown(text: str, reason: str = "") -> InputError:
    """Return the refusal of a designation, with the nearest known ones."""
    near = difflib.get_close_matches(text.replace(" ", ""), KNOWN_THREADS, n=2, cutoff=0.0)
    middle = f" {reason}" if reason else ""
    return InputError(
        f"thread is {text!r}, but must be an ISO metric designation such as M11x1.5 or an inch "
        f"designation such as 7/16-14.{middle} Nearest known: {' or '.join(near)}."
    )
