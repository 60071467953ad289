"""`excerpts desk`: the studio in the browser, on the teacher's own files."""

from __future__ import annotations

from pathlib import Path
from threading import Thread
from typing import Annotated

from excerpts.cli.command import Arg
from excerpts.errors import InputError
from excerpts.system.output import make_folder


def desk(
    folder: Annotated[Path, Arg(help="Folder of a studio; made if it is not there.")] = Path(),
    no_browser: Annotated[
        bool, Arg("--no-browser", help="Print the address instead of opening the browser.")
    ] = False,
    shortcut: Annotated[
        bool, Arg("--shortcut", help="Put the desk of this folder into the menu of programs, and stop.")
    ] = False,
) -> int:
    """Open a studio in the browser: players, weeks, lessons, printing, on the same files. Control-C ends it."""
    if folder.exists() and not folder.is_dir():
        raise InputError("this is a file, not a folder.", where=str(folder))
    home = Path.home().resolve()
    if folder.resolve() in (home, *home.parents):
        raise InputError(
            "this is not the folder of a studio: it holds all of your files.",
            where=str(folder),
            hint="Name one for the studio, as in: excerpts desk Studio",
        )
    make_folder(folder)
    if shortcut:
        from excerpts.desk.shortcut import write_shortcut

        print(write_shortcut(folder))
        return 0
    return _serve(folder, no_browser)


def _serve(folder: Path, no_browser: bool) -> int:
    from excerpts.desk.server import Desk
    from excerpts.desk.start_file import open_browser, start_file

    try:
        with Desk(folder) as opened:
            if no_browser:
                print(opened.start_address, flush=True)
                print("Open this address in a browser on this computer. Control-C ends the desk.", flush=True)
                opened.run()
                return 0
            with start_file(opened.start_address, opened.port) as path:
                Thread(target=lambda: _say(path, open_browser(path)), daemon=True).start()
                opened.run()
    except KeyboardInterrupt:
        pass  # the way to end it
    print("\nThe desk is closed. Everything that it said was saved is in your files.")
    return 0


def _say(path: Path, there: bool) -> None:
    if there:
        print(
            "The desk is open in your browser. Leave this window open; Control-C ends the desk.\n"
            "(If the browser may not read the file that it was given: excerpts desk --no-browser)",
            flush=True,
        )
    else:
        print(f"No browser was found. Open this file in one: {path}", flush=True)
