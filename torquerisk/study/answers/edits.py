"""A case as it was loaded, with changed inputs, and its assessment."""

import dataclasses

from torquerisk.case import Engine, Policy, Run
from torquerisk.study.assessment.assess import assess
from torquerisk.study.assessment.result import Assessment
from torquerisk.study.run.crank_reading import Reading, crank_reading, with_run_facts

Edits = tuple[tuple[str, float | int | str | None], ...]
"""Changed inputs by name, sorted; None takes a given value back to the assumed one."""


def as_loaded(engine: Engine, run: Run) -> Engine:
    """The engine with the facts that the run file itself states, before any edit."""
    return with_run_facts(engine, run)


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


def reading_of(engine: Engine, run: Run) -> Reading:
    """What is made of the run's torque, before anything is simulated."""
    return crank_reading(engine, run)


def assessed(engine: Engine, run: Run, policy: Policy) -> Assessment:
    """The assessment behind every answer."""
    return assess(engine, run, policy)
