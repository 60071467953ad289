"""The commands: what each is called, and which function does it."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Final

from excerpts.cli.command import call, near
from excerpts.errors import InputError

COMMANDS: Final = {
    "demo": "demo.demo",
    "show": "show.show",
    "cut": "cut.cut",
    "annotate": "annotate.annotate",
    "paper": "paper.paper",
    "variants": "variants.variants",
    "fingering": "fingering.fingering",
    "hard": "hard.hard",
    "steps": "steps_command.steps",
    "warmup": "warmup.warmup",
    "new": "new.new",
    "check": "week.check",
    "plan": "week.plan",
    "workbook": "week.workbook",
    "sound": "sound.sound",
    "page": "page.page",
    "studio": "studio.studio",
    "log": "log.log",
    "next": "next.next_week",
    "progress": "progress.progress",
    "lesson": "teacher.lesson",
    "board": "teacher.board",
    "notes": "teacher.notes",
    "desk": "desk.desk",
}
"""Module and function of each. They import little, so that `--help` and faults in a line are answered at once."""

_SAY_LITTLE: Final = ("cut", "show")
"""Commands that log nothing before they draw: logging would be 5 ms of the 60 that they take."""


def command(name: str) -> Callable[..., object]:
    """The function of a command.

    Raises:
        InputError: There is no such command.
    """
    if name not in COMMANDS:
        hint = near(name, COMMANDS) or "excerpts --help lists them."
        raise InputError(f"there is no command '{name}'.", hint=hint)
    module, _, function = COMMANDS[name].partition(".")
    function_of_it: Callable[..., object] = getattr(import_module(f"excerpts.cli.{module}"), function)
    return function_of_it


def overview() -> str:
    """All commands with a line each."""
    lines = [f"  {name:<10} {(command(name).__doc__ or '').splitlines()[0]}" for name in COMMANDS]
    return "\n".join(
        [
            "usage: excerpts [--debug] COMMAND …",
            "",
            "Practice workbooks for string players, cut from MusicXML scores.",
            "",
            *lines,
            "",
            "excerpts COMMAND --help tells what a command takes. --debug shows technical details of a program error.",
        ]
    )


def run_command(arguments: list[str]) -> object:
    """Do what a command line says: the result of the command."""
    debug = arguments[:1] == ["--debug"]
    words = arguments[debug:]
    if not words or words[0] in ("-h", "--help"):
        print(overview())
        return 0 if words else 2
    name, *rest = words
    function = command(name)
    if debug or name not in _SAY_LITTLE:
        hear(debug)
    return call(f"excerpts {name}", function, rest)


def hear(debug: bool = False) -> None:
    """Let our own warnings reach the user; libraries are heard where they fail, and what they warn of is told by us."""
    import logging

    handler = logging.StreamHandler()
    handler.addFilter(lambda line: line.name.startswith("excerpts") or line.levelno >= logging.ERROR)
    logging.basicConfig(format="excerpts: %(message)s", handlers=[handler])
    logging.getLogger("excerpts").setLevel(logging.DEBUG if debug else logging.WARNING)
