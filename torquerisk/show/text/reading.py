"""How a run file was read, as text."""

from torquerisk.files.exports import run_columns
from torquerisk.files.run_file import FIRST, Reading, Seen
from torquerisk.quantities import RPM
from torquerisk.show.text.blocks import bullets, columns, section


def reading_text(reading: Reading, output: str | None) -> str:
    """Columns with meaning and unit, first rows as read, what needs a look, the whole record."""
    run = reading.run
    meanings = [(c.heading or "(no heading)", _read_as(c), c.unit or "-") for c in reading.columns]
    pulls = [
        (
            str(number),
            f"{lines[0]} to {lines[1]}",
            f"{pull.low / RPM:.0f} to {pull.high / RPM:.0f}",
            f"{pull.peak:.0f}",
        )
        for number, (pull, lines) in enumerate(reading.pulls, 1)
    ]
    told = [n.text.removeprefix(f"{run.name}: ") for n in run.notices]
    parts = [
        f"{run.name}: {len(run.speed)} rows from {run.speed[0] / RPM:.0f} to "
        f"{run.speed[-1] / RPM:.0f} rpm\n",
        section("Columns", [columns(("heading", "read as", "unit"), meanings, (0, 1, 2), 0)]),
        section("Pulls, the best first", [
            columns(("no", "lines", "speed\n[rpm]", "peak torque\n[N·m]"), pulls, (1, 2))
        ] if pulls else []),
        section("First rows as read", _rows(reading)),
        section("To be looked at", bullets(told)),
        section("How it was read", bullets(t for t in run.record if t not in told)),
        f"Written: {output}\n" if output is not None else "",
    ]  # fmt: skip
    return "\n".join(part for part in parts if part)


def _read_as(seen: Seen) -> str:
    """What a column is taken for, and what becomes of one cylinder's beside those of others."""
    return "\n".join(t for t in (seen.meaning, seen.note) if t) or "not used"


def _rows(reading: Reading) -> list[str]:
    """The first rows, a line for each channel, so that any number of them fits."""
    made = run_columns(reading.run, exact=False)
    rows = [(c.heading.removesuffix(" [1]"), *(f"{v:.6g}" for v in c.values[:FIRST])) for c in made]
    heads = ("channel", *(f"row {i + 1}" for i in range(len(rows[0]) - 1)))
    return [columns(heads, rows, (0,), 0)]
