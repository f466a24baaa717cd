"""What stands around a table, files in doubt, and the whole list of dresses."""

import re
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import numpy as np
from dress_heads import HUB, RAW, SAE, WHEEL, heads, layouts
from dresses import (
    AMBIENT,
    BASES,
    CLP,
    HP,
    IAT,
    IGN,
    LAM,
    LB_FT,
    MAP,
    PLAIN,
    PS,
    RPM,
    SPEED,
    SYNTAXES,
    TORQUE,
    Change,
    Col,
    Dress,
    N,
    P,
    Sheet,
    Syntax,
    T,
    above,
    bad_cell,
    below,
    count,
    dress,
    filled,
    heading_again,
    insert,
    lead,
    lifted,
    summary,
    summary_in_speed,
    thousands,
    trail,
)

FRAMES: tuple[tuple[str, Change], ...] = (
    ("title", above("Invented test bed, run 4")),
    ("title and blank", above("Invented test bed", "", "warm engine", "")),
    ("commented facts", above("# measured at: wheel", "# correction: SAE J1349",
                              facts={**WHEEL, **SAE})),
    ("facts without mark", above("Measured at: wheel", "Correction: SAE", facts={**WHEEL, **SAE})),
    ("facts in cells", above("Measured at\x1fhub", "Correction\x1fnone", facts={**HUB, **RAW})),
    ("facts with equals", above("measured at = rollers", "correction=DIN",
                                facts={**WHEEL, "correction": "DIN70020"})),
    ("facts below", below("", "Measured at: wheel", facts=WHEEL)),
    ("facts and others", above("Operator: nobody", "Date: 2026-01-02", "Drivetrain loss: 14 %",
                               "Correction: STD", facts={"correction": "J607"})),
    ("facts with delimiters", above("Operator\x1fnobody\x1f\x1f", "Correction\x1fSAE\x1f\x1f",
                                    facts=SAE)),
    ("remark of the wheels", above("Chassis dyno, power at the wheels", facts=WHEEL,
                                   told=("wheels",), good=False)),
    ("remark of a hub dyno", above("# hub dyno, third gear", facts=HUB, told=("hub",), good=False)),
    ("remark of rollers", above("Run on rollers in 4th gear", facts=WHEEL, told=("rollers",),
                                good=False)),
    ("remark of a correction", above("All values SAE corrected", facts=SAE, told=("SAE",),
                                     good=False)),
    ("remark uncorrected", above("uncorrected values", facts=RAW, told=("uncorrected",),
                                 good=False)),
    ("two places", above("Measured at: wheel", "Power at the crank", facts=WHEEL, told=("crank",),
                         good=False)),
    *((f"index column {h!r}", lead(h, count))
      for h in ("", "No", "Index", "Sample", "Point", "#", "Nr.", "idx", "Row")),
    *((f"column {h!r}", trail(h, c))
      for h, c in (("Gear", "4"), ("Throttle [%]", "100.0"), ("Note", "ok"), ("", ""),
                   ("vehicle speed [km/h]", "88.1"), ("Clock", "12:01:02"), ("spare", ""),
                   ("turbo speed [rpm]", "99000.5"), ("torque loss [Nm]", "22.5"),
                   ("power loss [kW]", "9.5"), ("wheel speed [rpm]", "650.1"),
                   ("target torque [Nm]", "450.2"), ("boost target [kPa]", "170.2"),
                   ("lambda target", "0.85"), ("Unnamed: 9", ""), ("fan speed [rpm]", "2100.3"),
                   ("torque request [Nm]", "460.5"), ("max torque [Nm]", "500.3"),
                   ("requested torque [Nm]", "460.5"), ("power correction factor", "1.02"),
                   ("drag torque [Nm]", "-20.5"))),
    *((f"columns in front {h!r}", lead(h, c))
      for h, c in (("turbo speed [rpm]", "99000.5"), ("wheel speed [rpm]", "650.1"),
                   ("roller speed [rpm]", "650.1"), ("Marker", ""),
                   ("Time [s]", lambda i: f"{0.1 * i:.2f}"),
                   ("Timestamp", "2026-01-02 10:11:12"))),
    *((f"last row {w}", summary(w, h, blank=b))
      for w, h in (("Max", max), ("Peak", max), ("Average", np.mean), ("Min", min),
                   ("Maximum", max), ("Avg", np.mean), ("Max.", max), ("MAX:", max),
                   ("Peak values", max), ("Std dev", np.std), ("Highest", max))
      for b in (False, True)),
    *((f"{w} for a speed", summary_in_speed(w)) for w in ("Max", "Peak", "Average", "Maximum:")),
    ("last row of maxima without word", lambda s: replace(
        summary("", max)(s), good=False, told=("maxima", "highest"))),
    ("heading again", heading_again(12)),
    ("heading again twice", lambda s: heading_again(18)(heading_again(7)(s))),
    ("rate row in words", lambda s: replace(filled(s), heads=(
        *filled(s).heads, ("10 Hz",) * len(s.cols)))),
    ("rate row in numbers", insert(0, lambda s: ("10",) * len(s.rows[0]))),
    ("rate row of 100", insert(0, lambda s: ("100",) * len(s.rows[0]))),
    ("rate row of 500", insert(0, lambda s: ("500",) * len(s.rows[0]))),
    ("rate row of 1000", insert(0, lambda s: ("1000",) * len(s.rows[0]))),
    ("channel numbers above", above("1\x1f2\x1f3\x1f4")),
    ("throttle lift", insert(12, *(lifted(12, v) for v in (4205.0, 4215.0, 4209.0)))),
    ("throttle lift, steps back", insert(12, *(lifted(12, v) for v in (4203.0, 4196.0, 4190.0)))),
    ("bad cell of torque", bad_cell(7, 1, "ERR")),
    ("bad cell of lambda", bad_cell(7, 3, "overflow")),
    ("dropout of speed", bad_cell(7, 0, "0")),
    ("dropout of pressure", bad_cell(7, 2, "0")),
    ("spike of torque", bad_cell(7, 1, "99999")),
    ("spike of speed", bad_cell(7, 0, "16383")),
    ("no torque in one row", bad_cell(7, 1, "0.0")),
    ("torque below 0 in one row", bad_cell(7, 1, "-40.0")),
    *((f"the same in {unit}", lambda s, n=name, u=unit, c=channel, z=size: replace(
        filled(s), heads=(), rows=(), cols=(*filled(s).cols, Col(n, u, c, z))))
      for name, unit, channel, size in (("torque", "lb-ft", "torque", LB_FT),)),
    ("gaps", lambda s: bad_cell(5, 3, "")(bad_cell(9, 3, "n/a")(s))),
    ("blank rows", lambda s: insert(9, lambda t: ("",) * len(t.rows[0]))(s)),
    *((f"last row named {w!r}", summary(w, h))
      for w, h in (("Moyenne", np.mean), ("Spitze", max), ("highs", max), ("Ø", np.mean))),
    ("footer", below("", "end of log", "checked by nobody")),
    ("footer of peaks", below("", "highest torque\x1f402.7")),
    ("separator line", above("sep=\x1f")),
)  # fmt: skip


def doubtful_words() -> Iterator[tuple[str, Sheet]]:
    """Words beside a quantity that a reader must refuse or tell of, or read as the truth."""
    for name in ("torque foo", "net torque", "gearbox torque", "target torque", "torque loss",
                 "driveshaft torque", "torque limit", "estimated torque", "prop torque",
                 "torque error", "torque reserve", "cylinder torque", "fwtq torque"):  # fmt: skip
        col = Col(name, "Nm", "torque", 1.17)
        word = next(w for w in name.split() if w != "torque")
        yield f"{name} alone", Sheet(cols=(N, col), good=False, told=(word,))
        rows = (("engine speed", name), ("rpm", "Nm"))
        yield f"{name}, units row", Sheet(cols=(N, col), heads=rows, good=False, told=(word,))
        split = (("engine speed", "torque"), ("", name), ("rpm", "Nm"))
        yield f"{name}, word row", Sheet(cols=(N, col), heads=split, good=False, told=(word,))
        split = (("", name), ("engine speed", "torque"), ("rpm", "Nm"))
        yield f"{name}, row above", Sheet(cols=(N, col), heads=split, good=False, told=(word,))
    for name in ("turbo speed", "wheel speed", "roller speed", "input speed", "vehicle speed",
                 "nTurbo", "shaft speed", "target rpm", "turbo rpm", "N2"):  # fmt: skip
        col = Col(name, "rpm", "speed", 0.5 * RPM)
        word = name.split()[0]
        yield f"{name} alone", Sheet(cols=(col, T), good=False, told=(word,))
        rows = ((name, "torque"), ("rpm", "Nm"))
        yield f"{name}, units row", Sheet(cols=(col, T), heads=rows, good=False, told=(word,))
        split = (("speed", "torque"), (word, ""), ("rpm", "Nm"))
        if " " in name and word != "target":
            yield f"{name}, word row", Sheet(cols=(col, T), heads=split, good=False)
    for where, fact in (("wheel", WHEEL), ("hubs", HUB), ("rollers", WHEEL), ("axle", WHEEL)):
        for heads_ in ((("engine speed", "torque"), ("", where), ("rpm", "Nm")),
                       (("", where), ("engine speed", "torque"), ("rpm", "Nm")),
                       (("engine speed", "torque"), ("rpm", "Nm"), ("", where)),
                       (("rpm", "Nm"), ("engine", where))):  # fmt: skip
            label = f"{where} in a row of words, {'/'.join(h[1] or '-' for h in heads_)}"
            yield label, Sheet(cols=(N, T), heads=heads_, facts=fact, good=False, told=(where,))
    for name in ("boost error", "MAP target", "manifold vacuum", "turbine pressure",
                 "baro pressure", "boost duty"):  # fmt: skip
        col = Col(name, "kPa", "manifold_pressure", 1.3e3)
        rows = (("engine speed", "torque", name), ("rpm", "Nm", "kPa"))
        told = (name,)
        yield name, Sheet(cols=(N, T, col), good=False, told=told)
        yield f"{name}, units row", Sheet(cols=(N, T, col), heads=rows, good=False, told=told)
    for name in ("ignition retard", "ignition correction", "knock retard", "ignition trim"):
        col = Col(name, "deg", "ignition_advance", 0.3 * RPM)
        yield name, Sheet(cols=(N, T, col), good=False, told=(name,))


def doubtful_tables() -> Iterator[tuple[str, Sheet]]:
    """Tables that a reader must refuse or tell of, or read as the truth."""
    wheel = replace(T, name="wheel torque")
    crank = replace(P, name="crank power")
    yield "two places in heads", Sheet(cols=(N, wheel, crank), facts=WHEEL, good=False,
                                       told=("wheel",))  # fmt: skip
    half = filled(Sheet(cols=(N, T)))
    other = Col("torque", "lb·ft", "torque", LB_FT)
    second = filled(Sheet(cols=(N, other)))
    yield "later heading in other units", replace(
        half, rows=(*half.rows[:12], (*second.heads[0], "@heading"), *second.rows[12:]),
        good=False, told=("other units",),
    )  # fmt: skip
    swapped = tuple((b, a) for a, b in half.rows)
    yield "later heading in other order", replace(
        half, rows=(*half.rows[:12], (*half.heads[0][::-1], "@heading"), *swapped[12:]),
        good=False, told=("other units",),
    )  # fmt: skip
    for n in (1, 2, 6, 18):
        yield f"{n} rows of numbers above the heading", Sheet(
            cols=(N, T), rows=half.rows[n:], good=False, told=("above the heading",),
            above=tuple("\x1f".join(r) for r in half.rows[:n]),
        )  # fmt: skip
    yield "power that does not fit", Sheet(cols=(N, T, replace(P, size=1.3e3)), good=False)
    yield "torque in lb·ft headed N·m", Sheet(cols=(N, replace(T, size=LB_FT), P), good=False)
    yield (
        "a gauge MAP in a bracket",
        Sheet(
            cols=(N, T, Col("MAP", "kPa (gauge)", "manifold_pressure", 1e3, AMBIENT)), good=False
        ),
    )
    for unit, size in (("Nm/10", 10.0), ("Nm x10", 10.0), ("Nm*100", 100.0), ("10 Nm", 10.0),
                       ("0.1 Nm", 0.1)):  # fmt: skip
        col = replace(T, unit=unit, size=size)
        yield f"torque in {unit}", Sheet(cols=(N, col), good=False, told=(unit,))
        heads_ = ((N.name, "torque"), ("rpm", unit))
        yield f"torque in {unit}, units row", Sheet(cols=(N, col), heads=heads_, good=False)
        yield f"torque {unit}", Sheet(cols=(N, replace(col, name=f"torque {unit}", unit="")),
                                      good=False)  # fmt: skip
    for line in ("Torque in lb-ft", "All pressures are gauge", "power in PS at the wheels?"):
        col = replace(T, size=LB_FT)
        yield f"remark {line}", Sheet(cols=(N, col), above=(line,), good=False, told=(line,))
    twice = filled(Sheet(cols=(N, T)))
    more = tuple((n, f"{1.1 * float(t):.2f}") for n, t in twice.rows)
    rows = tuple(r for pair in zip(twice.rows, more, strict=True) for r in pair)
    yield "two runs row by row", Sheet(cols=(N, T), rows=rows, good=False, told=("equal speed",))
    yield "two runs below each other", Sheet(cols=(N, T), rows=(*twice.rows, *more), good=False,
                                             told=("2 pulls",))  # fmt: skip
    negative = replace(T, size=-1.0)
    yield "torque of the absorber", Sheet(cols=(N, negative), good=False)
    yield "horsepower of DIN", Sheet(cols=(N, Col("power", "DIN hp", "power", PS)), good=False,
                                     told=("metric",))  # fmt: skip
    yield "FWHP", Sheet(cols=(N, Col("FWHP", "", "power", HP)), good=False, told=("fwhp",))
    yield "unit in heading and in row differ", Sheet(
        cols=(N, T), heads=(("engine speed [rpm]", "torque [Nm]"), ("rpm", "lb-ft")), good=False,
        told=("lb-ft",),
    )  # fmt: skip
    yield "a contradiction", replace(Sheet(cols=(N, wheel)), above=("# measured at: crank",),
                                     good=False)  # fmt: skip


def raw_files() -> Iterator[Dress]:
    """Files whose text itself is in doubt."""

    def one(label: str, text: str, *told: str) -> Dress:
        return Dress(label, text.encode(), ("torque",), {}, False, told)

    whole = [(f"{n:.0f}", f"{t:.1f}") for n, t in zip(SPEED, TORQUE, strict=True)]
    comma = [(n, t.replace(".", ",")) for n, t in whole]
    for spare in ("", "spare", "x", "reserve", "Unnamed: 2", "note", "gear"):
        head = f"engine speed [rpm],torque [Nm],{spare}\n"
        yield one(f"decimal comma in a comma file, column {spare!r}",
                  head + "".join(f"{n},{t}\n" for n, t in comma), "decimal")  # fmt: skip
    head = "engine speed [rpm],torque [Nm],MAP [kPa],gear\n"
    yield one("decimal comma in a comma file, shifted",
              head + "".join(f"{n},{t},158\n" for n, t in comma), "decimal")  # fmt: skip
    yield one("point or thousands", "rpm;torque [Nm]\n2000;1.250\n3000;1.251\n4000;1.252\n")
    long = [f"{2000 + i * 0.9:.1f};{402.7 - 1.9e-5 * (2000 + i * 0.9 - 4212) ** 2:.1f}"
            for i in range(5000)]  # fmt: skip
    late = [*long[:2500], *(line.replace(".", ",") for line in long[2500:])]
    yield one("decimal mark changes late", "rpm;torque [Nm]\n" + "\n".join(late), "line 2502")
    early = [line.split(".")[0] + ";" + line.split(";")[1].split(".")[0] for line in long[:2500]]
    yield one("decimal comma only late", "rpm;torque [Nm]\n" + "\n".join(
        [*early, *(line.replace(".", ",") for line in long[2500:])]))  # fmt: skip
    for cut in (3, 6, 9):
        text = "rpm;torque [Nm]\n" + "\n".join(f"{n};{t}" for n, t in whole)
        yield one(f"last line cut by {cut}", text[:-cut], "last line", "row")
    yield one("headings of a table without numbers below", "rpm;torque [Nm]\n")


def dresses() -> list[Dress]:
    """All dresses: each head, layout, frame and syntax by itself, then random pairs of frames."""
    made = [dress(label, s, BASES[i % 4]) for i, (label, s) in enumerate(heads())]
    everything = (N, T, P, MAP, IGN, LAM, IAT, CLP)
    for label, rows in layouts(everything):
        for syntax in SYNTAXES:
            if syntax.delimiter == "    " and label in ("types row", "comment"):
                continue
            made.append(dress(label, Sheet(cols=everything, heads=rows), syntax))
    for i, (label, change) in enumerate(FRAMES):
        for syntax in (BASES[i % 4], BASES[(i + 1 + i // 4) % 4]):
            made.append(dress(label, change(Sheet()), syntax))
    made += [thousands_dress(m, SYNTAXES[i]) for m, places in MARKS for i in places]
    for i, (label, s) in enumerate([*doubtful_words(), *doubtful_tables()]):
        made.append(dress(label, s, BASES[i % 4]))
        made.append(dress(label, s, BASES[(i + 1) % 4]))
    made += raw_files()
    return made + pairs(240)


MARKS = ((",", (0, 7)), (".", (2, 4)), (" ", (1, 2, 5)), ("'", (1, 3)))


def thousands_dress(mark: str, syntax: Syntax) -> Dress:
    """Speeds with a mark between thousands; whole numbers where the decimal mark is a comma."""
    sheet = thousands("\x1e")(Sheet())
    if syntax.decimal == ",":
        sheet = replace(sheet, rows=tuple((r[0][:-2], *r[1:]) for r in sheet.rows))
    if mark == syntax.delimiter:
        sheet = replace(sheet, rows=tuple((f'"{r[0]}"', *r[1:]) for r in sheet.rows))
        data = syntax.write(sheet).replace(b'"""', b'"')
    else:
        data = syntax.write(sheet)
    channels = ("torque", "manifold_pressure", "lambda_")
    return Dress(f"thousands {mark!r} / {syntax.label}", data.replace(b"\x1e", mark.encode()),
                 channels, {}, True, ())  # fmt: skip


def pairs(number: int) -> list[Dress]:
    """Random pairs of frames over random heads and layouts, from one fixed seed."""
    chance = Random(18)
    some = [f for f in FRAMES if not f[0].startswith(("rate row", "two places", "last row of max"))]
    made = []
    while len(made) < number:
        (one, first), (two, second) = chance.sample(some, 2)
        if any(w in one and w in two for w in ("fact", "last row", "front", "heading")):
            continue
        if all(re.search("fact|remark", label) for label in (one, two)):
            continue
        late = re.compile("heading again|last row|for a speed")
        early = re.compile("cell|dropout|spike|gaps")
        if late.match(one) or early.match(two):
            one, first, two, second = two, second, one, first
        if late.match(one) or early.match(two):
            continue
        layout, rows = chance.choice(list(layouts(PLAIN)))
        sheet = second(first(Sheet(heads=rows)))
        made.append(dress(f"{one} + {two} + {layout}", sheet, chance.choice(SYNTAXES[:6])))
    return made
