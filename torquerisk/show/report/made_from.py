"""What a report was made from: digests of inputs, versions, the line that makes it again."""

import hashlib
import platform

import numpy as np
import scipy

import torquerisk
from torquerisk.case import SECTIONS, Engine, Run, declarations
from torquerisk.case.declare import Kind
from torquerisk.quantities import RPM
from torquerisk.study.answers.results import Assessment, BoostCeiling, Proposal


def engine_digest(engine: Engine) -> str:
    """SHA-256 over the values in use (SI, every digit), by name; not over the file's bytes."""
    lines = [f"name={engine.name!r}"]
    for section in ("", *SECTIONS):
        owner = getattr(engine, section) if section else engine
        for key in declarations(type(owner)):
            value = getattr(owner, key)
            if value is not None:
                shown = value.hex() if isinstance(value, float) else repr(value)
                lines.append(f"{section}.{key}={shown}")
    curve = engine.known_good.curve
    if curve is not None:
        lines += ["known good", curve.digest, *(v.hex() for v in (*curve.speed, *curve.torque))]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def case_digest(a: Assessment) -> str:
    """One SHA-256 over engine, run and what is simulated: the stamp of page and report."""
    run, drawn = a.run, a.policy
    total = hashlib.sha256(engine_digest(a.engine).encode())
    total.update(run.digest.encode())
    for name, values in sorted({"speed": run.speed, "torque": run.torque, **run.channels}.items()):
        total.update(name.encode())
        total.update(np.ascontiguousarray(values).tobytes())
    total.update(repr(sorted(run.facts.items())).encode())
    asked = (int(drawn.seed), int(drawn.draws), int(drawn.pulls), bool(drawn.abnormal_in_chance))
    total.update(repr(asked).encode())
    return total.hexdigest()


def inputs_digest(p: Proposal) -> str:
    """The same over all that was asked too: equal inputs, equal report."""
    told = f"{case_digest(p.assessment)} {p.policy!r} {p.assessment.policy!r}"
    return hashlib.sha256(told.encode()).hexdigest()


def versions() -> list[tuple[str, str]]:
    """What the numbers were made with."""
    return [
        ("torquerisk", torquerisk.__version__),
        ("python", platform.python_version()),
        ("numpy", np.__version__),
        ("scipy", scipy.__version__),
    ]


def command_line(p: Proposal, more: str = "") -> str:
    """The command that makes the same numbers again from the same files. more: other options."""
    policy, drawn = p.policy, p.assessment.policy
    given = [
        ("chance", f"{policy.chance!r}"),
        ("pulls", str(int(drawn.pulls))),
        ("draws", str(int(drawn.draws))),
        ("seed", str(int(drawn.seed))),
        _speeds(p),
        ("resolution", f'"{_short(policy.step)} N*m"'),
        ("objective", f'"{policy.objective}"'),
    ]
    if policy.rise is not None:
        rise = f"{_short(Kind.TORQUE_RISE.shown(policy.rise))} N*m/1000rpm"
        given.insert(3, ("rise", f'"{rise}"'))
    if policy.peak_from is not None:
        given.insert(4, ("peak-from", f"{_short(policy.peak_from / RPM)}rpm"))
    told = " ".join(f"--{name} {value}" for name, value in given)
    flags = (
        ("reference REFERENCE.csv", p.wish.reference is not None),
        ("no-dip", policy.no_dip),
        ("nearest", any(n.code == "nearest-table" for n in p.notices)),
        ("count-abnormal", drawn.abnormal_in_chance),
    )
    asked = "".join(f" --{name}" for name, wanted in flags if wanted)
    return f"torquerisk report ENGINE RUN -o FILE.html {told}{_reach(p)}{asked}{more}"


def _speeds(p: Proposal) -> tuple[str, str]:
    """The option that gives the table's speeds."""
    if p.wish.own_speeds is None:
        return "points", str(int(p.policy.points))
    told = ", ".join(_short(v / RPM) for v in p.shape.breakpoints)
    return "own-breakpoints", f'"{told} rpm"'


def _short(value: float) -> str:
    """A number for a command line: the fewest digits that come within rounding of it."""
    return f"{value:.12g}"


def _reach(p: Proposal) -> str:
    if isinstance(p.wish.reach, BoostCeiling):
        return f' --reach "{_short(p.wish.reach.pressure / 1e3)} kPa"'
    if isinstance(p.wish.reach, Run):
        return " --reach REACH.csv"
    return "" if p.wish.reach == "measured" else f" --reach {p.wish.reach}"
