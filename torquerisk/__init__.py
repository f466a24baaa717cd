"""torquerisk: what a torque curve asks of an engine's parts, and a limit that they can carry.

Four steps: `load_engine(path)`, `load_run(path)`, `assess(engine, run)` gives every load and margin
by speed, and `propose_limit(assessment)` the torque-limit table with its proof.
"""

from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from torquerisk.case import default_policy
    from torquerisk.files.engine_file import load_engine
    from torquerisk.files.run_file import load_run
    from torquerisk.study.assessment.assess import assess
    from torquerisk.study.table.propose import propose_limit

try:
    __version__ = version("torquerisk")
except PackageNotFoundError:
    __version__ = "0 (not installed)"

__all__ = ["__version__", "assess", "default_policy", "load_engine", "load_run", "propose_limit"]

_HOMES = {
    "assess": "torquerisk.study.assessment.assess",
    "default_policy": "torquerisk.case",
    "load_engine": "torquerisk.files.engine_file",
    "load_run": "torquerisk.files.run_file",
    "propose_limit": "torquerisk.study.table.propose",
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used, so that importing the package stays quick."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'torquerisk' has no attribute {name!r}")
