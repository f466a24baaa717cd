"""A case as it was loaded, with changed inputs, and its assessment."""

import dataclasses

from torquerisk.case import Engine, Run
from torquerisk.study.assessment.assess import assess as assessed
from torquerisk.study.run.crank_reading import crank_reading as reading_of
from torquerisk.study.run.crank_reading import with_run_facts as as_loaded

__all__ = ["Edits", "as_loaded", "assessed", "edited", "reading_of"]

Edits = tuple[tuple[str, float | int | str | None], ...]
"""Changed inputs by name, sorted; None takes a given value back to the assumed one."""


def edited(engine: Engine, run: Run, edits: Edits) -> tuple[Engine, Run]:
    """Engine and run with the edits; checked anew. Raises InputError with one sentence.

    Facts about the test are changed in the run too, since a run's own facts win.
    """
    engine = as_loaded(engine, run)
    if not edits:
        return engine, run
    facts = dict(run.facts)
    for name, value in edits:
        section, _, key = name.partition(".")
        if section == "test":
            facts.pop(key, None)
            if value is not None:
                facts[key] = value
    return engine.with_values(dict(edits)), dataclasses.replace(run, facts=facts)
