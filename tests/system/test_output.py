"""Files are whole or not there, whatever they are called, and nothing is left of a process that was killed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from excerpts.errors import OutputError
from excerpts.system.output import PART, clear_parts, write_whole

_WRITES_AND_WAITS = """
import os, sys
from pathlib import Path
from excerpts.system.output import write_whole
def wait(*paths):
    print("half", flush=True)
    sys.stdin.read()
os.replace = wait
write_whole(Path(sys.argv[1]), b"new")
"""


def _half_way(path: Path) -> subprocess.Popen[str]:
    """A process that has written all but the last step."""
    process = subprocess.Popen(
        [sys.executable, "-c", _WRITES_AND_WAITS, str(path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "half\n"
    return process


def _parts(folder: Path) -> list[Path]:
    return list(folder.glob(f".*{PART}"))


def test_what_a_killed_process_left_is_removed_by_the_next_and_what_is_being_written_is_not(
    tmp_path: Path,
) -> None:
    path = tmp_path / "week.pdf"
    killed, working = _half_way(path), _half_way(path)
    killed.kill()
    killed.communicate()
    assert len(_parts(tmp_path)) == 2
    write_whole(path, b"next")
    assert path.read_bytes() == b"next"
    assert len(_parts(tmp_path)) == 1
    working.kill()
    working.communicate()
    clear_parts(path)
    assert _parts(tmp_path) == []


def test_a_name_as_long_as_the_system_allows(tmp_path: Path) -> None:
    longest = os.pathconf(tmp_path, "PC_NAME_MAX")
    path = tmp_path / ("n" * (longest - 4) + ".pdf")
    write_whole(path, b"whole")
    assert path.read_bytes() == b"whole"
    with pytest.raises(OutputError, match=r"nnn\.pdf: the file cannot be written \(File name too long\)"):
        write_whole(tmp_path / ("n" * (longest - 3) + ".pdf"), b"")


def test_a_full_disk_names_the_file_and_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "week.pdf"
    write_whole(path, b"old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(
        OutputError, match=r"week\.pdf: the file cannot be written \(No space left on device\)"
    ):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert _parts(tmp_path) == []
