"""The commands and their options, as one application."""

from __future__ import annotations

import logging
from typing import Annotated

import typer

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
from excerpts.cli import steps_command as steps
from excerpts.cli.next import next_week

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
    debug: Annotated[
        bool, typer.Option("--debug", help="Show technical details of a program error.")
    ] = False,
) -> None:
    handler = logging.StreamHandler()
    handler.addFilter(_is_ours)
    logging.basicConfig(format="excerpts: %(message)s", handlers=[handler])
    logging.getLogger("excerpts").setLevel(logging.DEBUG if debug else logging.WARNING)


def _is_ours(record: logging.LogRecord) -> bool:
    """Whether a line is for the user: libraries are heard where they fail, and what they warn of is told by us."""
    return record.name.startswith("excerpts") or record.levelno >= logging.ERROR


app.command("demo")(demo.demo)
app.command("show")(show.show)
app.command("cut")(cut.cut)
app.command("annotate")(annotate.annotate)
app.command("variants")(variants.variants)
app.command("steps")(steps.steps)
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
