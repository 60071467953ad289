"""The files of a studio: every text file below a folder that may be a week."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from excerpts.errors import WeekError

STUDIO_FILE: Final = "studio.toml"
"""The settings of a studio; no week."""

MOST_FILES: Final = 20_000
"""Text files below one folder: a large studio over many years."""


def files_below(folder: Path) -> list[Path]:
    """The .toml files in a folder and below it, in order, without the settings and what lies in dot-folders.

    Raises:
        WeekError: There are more than MOST_FILES.
    """
    files = []
    for path in folder.rglob("*.toml"):
        inside = path.relative_to(folder).parts
        if path.name != STUDIO_FILE and path.is_file() and not any(part.startswith(".") for part in inside):
            files.append(path)
        if len(files) > MOST_FILES:
            raise WeekError(f"there are more than {MOST_FILES} files below it.", where=str(folder))
    return sorted(files)
