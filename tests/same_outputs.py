"""Writes what every verb answers for both sample cases, and compares two such folders.

`python tests/same_outputs.py write FOLDER` in each of two checkouts, then
`python tests/same_outputs.py compare FOLDER FOLDER`: names what differs, byte for byte.
The report's own date and the digest of the code are left out of the comparison.
"""

import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[1]
CASES = ("hill_climb", "tow_diesel")
VERBS: dict[str, tuple[str, ...]] = {
    "assess": (), "limit": (), "studs": (), "explain": (), "judge": ("factory.csv",),
    "compare": ("factory.csv",), "report": (),
}  # fmt: skip
DATE = re.compile(rb"\d{4}-\d{2}-\d{2}")


def commands(folder: Path) -> dict[str, list[str]]:
    """The command line of each output, by the name of the file that holds it."""
    made = {}
    for case in CASES:
        for verb, more in VERBS.items():
            files = [f"sample_runs/{case}", *(f"sample_runs/{case}/{name}" for name in more)]
            if verb == "report":
                made[f"{case}.report.html"] = [
                    verb,
                    *files,
                    "-o",
                    str(folder / "report.tmp" / case),
                ]
                continue
            made[f"{case}.{verb}.txt"] = [verb, *files]
            made[f"{case}.{verb}.json"] = [verb, *files, "--json"]
        axis = "ethanol" if case == "hill_climb" else "coolant"
        values = "0 %, 60 %" if case == "hill_climb" else "80, 100 degC"
        made[f"{case}.axis.txt"] = [
            "limit", f"sample_runs/{case}", "--axis", axis, "--values", values, "--draws", "256",
        ]  # fmt: skip
        made[f"{case}.frontier.txt"] = [
            "limit", f"sample_runs/{case}", "--frontier", "--units", "us", "--draws", "256",
        ]  # fmt: skip
    made["cycle.json"] = [
        "cycle", "sample_runs/hill_climb/engine.toml", "--imep-gross", "22bar", "--speed",
        "3000rpm", "--json",
    ]  # fmt: skip
    return made


def write(folder: Path) -> None:
    """Run every command and keep what it prints, its notes and its exit code."""
    (folder / "report.tmp").mkdir(parents=True, exist_ok=True)

    def run(item: tuple[str, list[str]]) -> None:
        name, words = item
        done = subprocess.run(
            [sys.executable, "-m", "torquerisk", *words], cwd=ROOT, capture_output=True, check=False
        )
        shown = done.stdout
        if name.endswith(".html"):
            shown = DATE.sub(b"DATE", Path(words[-1]).read_bytes())
        ended = f"\nexit {done.returncode}\n".encode()
        (folder / name).write_bytes(shown + done.stderr.replace(bytes(folder), b"FOLDER") + ended)

    with ThreadPoolExecutor(max_workers=2) as pool:
        list(pool.map(run, commands(folder).items()))


def compare(first: Path, second: Path) -> int:
    """Names of outputs that differ; 0 where none does."""
    names = sorted({p.name for p in (*first.iterdir(), *second.iterdir()) if p.is_file()})
    apart = [
        name
        for name in names
        if not (first / name).is_file()
        or not (second / name).is_file()
        or (first / name).read_bytes().replace(bytes(first), b"")
        != (second / name).read_bytes().replace(bytes(second), b"")
    ]
    print("\n".join(f"differs: {name}" for name in apart) or f"all {len(names)} are the same")
    return 1 if apart else 0


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["write", folder]:
            write(Path(folder).resolve())
        case ["compare", first, second]:
            sys.exit(compare(Path(first).resolve(), Path(second).resolve()))
        case _:
            sys.exit(__doc__)
