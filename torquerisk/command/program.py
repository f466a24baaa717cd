"""The group of verbs: what fails becomes one sentence on stderr and an exit code."""

import contextlib
import os
import sys
import traceback
from collections.abc import Callable
from typing import Any

import click

from torquerisk.errors import InputError, TorqueRiskError
from torquerisk.files.text import brief

DONE, OUR_FAULT, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130
DEBUG = "TORQUERISK_DEBUG"


class Program(click.Group):
    """The group of verbs, with one place where failures become one sentence and an exit code."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run, and leave with 0 done, 2 bad input, 1 our own fault."""
        kwargs["standalone_mode"] = False
        sys.exit(_run(lambda: super(Program, self).main(*args, **kwargs)))

    def invoke(self, ctx: click.Context) -> Any:
        """Run the verb; a reader who closes the pipe early has what was wanted."""
        if sys.stdout is None:
            raise InputError("standard output is closed; leave it open, or send it to a file.")
        try:
            result = super().invoke(ctx)
            sys.stdout.flush()
            return result
        except BrokenPipeError:
            _write_no_more()
            return DONE

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The verbs in the order in which they are needed."""
        return list(self.commands)


def _write_no_more() -> None:
    """Standard output takes nothing more, so what is left must not be tried when Python ends."""
    with contextlib.suppress(
        OSError, AttributeError
    ):  # closed, or a stream without a file of its own
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(action: Callable[[], Any]) -> int:
    """Exit code of an action; what failed goes to stderr as one sentence."""
    try:
        result = action()
    except click.exceptions.Exit as left:
        return left.exit_code
    except click.ClickException as error:
        return say(_usage(error), BAD_INPUT)
    except TorqueRiskError as error:
        return say(str(error), BAD_INPUT)
    except OSError as error:
        place = error.filename
        if not isinstance(place, str):
            place = "standard output"
            _write_no_more()
        return say(f"{brief(place, 120)} cannot be used ({error.strerror}).", BAD_INPUT)
    except (KeyboardInterrupt, click.Abort):
        return say("interrupted.", INTERRUPTED)
    except Exception as error:
        if os.environ.get(DEBUG):
            traceback.print_exc()
        told = " ".join(f"{type(error).__name__}: {error}".split())[:200]
        return say(
            f"this is a fault of the program, not of your input ({told}); run it again with "
            f"{DEBUG}=1 to see where.",
            OUR_FAULT,
        )
    return result if isinstance(result, int) else DONE


def say(sentence: str, code: int) -> int:
    """A sentence to people on stderr; the exit code comes back."""
    click.echo(f"torquerisk: {' '.join(sentence.split())}", err=True)
    return code


def _usage(error: click.ClickException) -> str:
    """A refusal of the command line as one sentence that says where help is."""
    text = error.format_message().strip().rstrip(".")
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "torquerisk"
    return f"{text[:1].lower()}{text[1:]}; see {path} --help."
