"""The command line: one application, and what every command does with errors."""

from __future__ import annotations

import logging
import sys
from collections.abc import Sequence
from typing import Annotated

import typer
from typer.exceptions import TyperException

from excerpts.cli import (
    annotate,
    cut,
    demo,
    log,
    new,
    progress,
    show,
    studio,
    teacher,
    variants,
    warmup,
    week,
)
from excerpts.cli.next import next_week
from excerpts.errors import ExcerptsError

app = typer.Typer(
    name="excerpts",
    help="Practice workbooks for string players, cut from MusicXML scores.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def _options(
    debug: Annotated[bool, typer.Option("--debug", help="Show the trace of an error of ours.")] = False,
) -> None:
    logging.getLogger("excerpts").setLevel(logging.DEBUG if debug else logging.WARNING)


app.command("demo")(demo.demo)
app.command("show")(show.show)
app.command("cut")(cut.cut)
app.command("annotate")(annotate.annotate)
app.command("variants")(variants.variants)
app.command("warmup")(warmup.warmup)
app.command("new")(new.new)
app.command("check")(week.check)
app.command("plan")(week.plan)
app.command("workbook")(week.workbook)
app.command("studio")(studio.studio)
app.command("log")(log.log)
app.command("next")(next_week)
app.command("progress")(progress.progress)
app.command("lesson")(teacher.lesson)
app.command("board")(teacher.board)
app.command("notes")(teacher.notes)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Args:
        argv: The arguments without the program's name; None takes those of the process.

    Returns:
        The exit status: 0 done, 2 something in the user's input, 1 the machine's fault or ours,
        130 interrupted.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    try:
        status = app(arguments, standalone_mode=False)
    except ExcerptsError as error:
        _say(str(error))
        return error.exit_status
    except TyperException as error:
        _say(error.format_message())
        return 2
    except (typer.Abort, KeyboardInterrupt):
        _say("interrupted; nothing half-written is left.")
        return 130
    except Exception as error:
        if "--debug" in arguments:
            raise
        _say(
            f"this went wrong in the program itself: {type(error).__name__}: {error}. (--debug shows where.)"
        )
        return 1
    return status if isinstance(status, int) else 0


def _say(message: str) -> None:
    print(f"excerpts: {message}", file=sys.stderr)  # noqa: T201


def run() -> None:
    """Entry point of the console script."""
    logging.basicConfig(format="%(levelname)s: %(message)s")
    sys.exit(main())
