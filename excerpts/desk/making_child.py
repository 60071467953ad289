"""A process that makes what a week page asks for: a workbook of another kind, or the sound files of the week.

It stays alive, so that the second one does not load everything again; what it does is what the commands do.
"""

from __future__ import annotations

import gc
import json
import sys
from typing import Any, Final, get_args

from excerpts.editions import EditionName
from excerpts.errors import ExcerptsError, file_of
from excerpts.recordings.week_sound import AS_USUAL, WeekSound
from excerpts.score.opened_scores import Scores
from excerpts.studio.worker import tell_step
from excerpts.system.child.serve import serve
from excerpts.system.output import check_output, write_whole
from excerpts.system.studio_files import refuse_anothers, workbook_path
from excerpts.week import Week, load_week
from excerpts.week.load import load_warnings
from excerpts.week.sound_files import sound_files
from excerpts.words import Words
from excerpts.workbook import build_workbook
from excerpts.workbook.already_printed import earlier_workbooks
from excerpts.workbook.blocks import Only

_SCORES: Final = Scores()
_SUFFIX: Final = ".mp3"


def made(order: dict[str, Any]) -> dict[str, Any]:
    """Do one order.

    Args:
        order: `week`, the file; `what`: "only_boxes", "only_new", the name of an edition, or "sound";
            for sound `place`, that of the file in the list of all, from 0.

    Returns:
        `file`, `pages`, `told` of a workbook; `file`, `all`, `told` of a sound file.

    Raises:
        ExcerptsError: It cannot be made or written.
    """
    week = load_week(order["week"], _SCORES)
    return _sound(week, order["place"]) if order["what"] == "sound" else _workbook(week, order["what"])


def _workbook(week: Week, what: str) -> dict[str, Any]:
    target = workbook_path(week.path.parent, week.player.name, week.week.start)
    target = target.with_name(f"{target.stem}-{what.replace('_', '-')}.pdf")
    check_output(target, (".pdf",))
    refuse_anothers(target, week.player.name)
    earlier = tuple(earlier_workbooks(week).values()) if what == "only_new" else ()
    paper: EditionName | None = next((name for name in get_args(EditionName) if name == what), None)
    only: tuple[Only, ...] = ("boxes",) if what == "only_boxes" else ()
    built = build_workbook(week, paper=paper, only=only, earlier=earlier, tell=tell_step)
    write_whole(target, built.pdf)
    remarks = [
        *load_warnings(week, Words(week.player.words)),
        *(str(one) for one in built.told),
        *built.warnings,
    ]
    return {"file": str(target), "pages": built.pages, "told": remarks}


def _sound(week: Week, place: int) -> dict[str, Any]:
    workbook = workbook_path(week.path.parent, week.player.name, week.week.start)
    folder = workbook.with_name(f"{workbook.stem}-sound")
    files = sound_files(week)
    sound = WeekSound(week, files, AS_USUAL)
    folder.mkdir(exist_ok=True)
    path = folder / f"{files[place].name}{_SUFFIX}"
    check_output(path)
    write_whole(path, sound.made(files[place], _SUFFIX))
    return {
        "file": str(path),
        "all": len(files),
        "told": [*sound.unplayed, *filter(None, [sound.not_to_share])],
    }


def _answer(parts: list[bytes]) -> list[bytes]:
    gc.collect()
    order = json.loads(parts[0])
    try:
        facts = made(order)
    except ExcerptsError as error:
        facts = {"failed": str(error)}
    except OSError as error:
        facts = {"failed": f"this computer could not read or write {file_of(error)} ({error.strerror})."}
    except Exception as error:
        facts = {"failed": f"something went wrong in the program itself: {type(error).__name__}: {error}."}
    return [json.dumps(facts).encode()]


if __name__ == "__main__":
    gc.disable()
    serve(_answer, sys.argv[1:])
