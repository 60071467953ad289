"""The sound files of a week in a studio: made where something has changed, in a folder beside the workbook."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Final

from excerpts.recordings.week_sound import AS_USUAL, WeekSound
from excerpts.system.cache import Store
from excerpts.system.output import check_output, made_here, write_whole
from excerpts.week import Week
from excerpts.week.sound_files import sound_files

KIND: Final = "sound"
SUFFIX: Final = ".mp3"


def write_sounds(
    week: Week, workbook: Path, store: Store, version: str, force: bool
) -> tuple[dict[str, str], list[str]]:
    """Write the sound files of a week, and take away those of ours that it has no more.

    Args:
        week: The week.
        workbook: Its workbook; the folder is called after it.
        store: The cache.
        version: What sound depends on besides the music.
        force: Write over files of the user's.

    Returns:
        Digests of the files by path, and what is to be told.

    Raises:
        InputError: A file cannot be made or written.
    """
    folder = workbook.with_name(f"{workbook.stem}-sound")
    made = WeekSound(week, sound_files(week), AS_USUAL)
    folder.mkdir(exist_ok=True)
    digests: dict[str, str] = {}
    for file in made.files:
        path = folder / f"{file.name}{SUFFIX}"
        check_output(path, force=force)
        key = sha256(f"{version} {made.facts(file)}".encode()).hexdigest()
        data = store.get(KIND, key)
        if data is None:
            data = made.made(file, SUFFIX)
            store.put(KIND, key, data)
        if not path.is_file() or path.read_bytes() != data:
            write_whole(path, data)
        digests[str(path)] = sha256(data).hexdigest()
    for path in folder.glob(f"*{SUFFIX}"):
        if str(path) not in digests and made_here(path):
            path.unlink()
    return digests, [*made.unplayed, *filter(None, [made.not_to_share])]
