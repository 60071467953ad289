"""What may go wrong with the machine: nothing half-written stays, the cache is never wrong, and it is said.

Tier: default for what is quick, slow for what kills processes.
"""

from __future__ import annotations

import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pikepdf
import pytest

from excerpts.studio import build_studio
from tests.studio.small import studio, week

NAMES = ("Ada", "Bo", "Cy")
"""One more than are built at once."""
LONG = pytest.mark.long
RUN = "import sys; from excerpts.cli import run; run()"


def _start(
    folder: Path,
    cache: Path,
    *more: str,
    before: Callable[[], None] | None = None,
    prefix: tuple[str, ...] = (),
) -> subprocess.Popen[str]:
    command = [*prefix, sys.executable, "-c", RUN, "studio", str(folder), "--jobs", "2", *more]
    return subprocess.Popen(
        command,
        env={**os.environ, "XDG_CACHE_HOME": str(cache)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=before,
    )


def _ended(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    out, err = process.communicate(timeout=300)
    return process.returncode, out, err


def _pdfs(folder: Path) -> dict[str, bytes]:
    """Every PDF of a folder; each can be read to its last page."""
    found = {}
    for path in sorted(folder.glob("*.pdf")):
        with pikepdf.open(path) as pdf:
            assert not pdf.check_pdf_syntax()
            for page in pdf.pages:
                assert page.Contents.read_bytes() is not None
        found[path.name] = path.read_bytes()
    return found


def _is_sound(cache: Path) -> None:
    """Every entry of the cache begins with the digest of what follows; else it is one that was not moved into place."""
    for path in cache.rglob("*"):
        if path.is_file() and not path.name.endswith(".part") and path.parent.name != "locks":
            data = path.read_bytes()
            assert data[:32] == sha256(data[32:]).digest(), path


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The PDFs of the studio, built without any fault."""
    folder = studio(tmp_path_factory.mktemp("clean") / "s", *NAMES)
    assert not build_studio(folder).failed
    return _pdfs(folder)


def _full() -> None:
    """No file may grow over 8 kB: a write fails in its middle, as on a disk that is full."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (8192, 8192))


@pytest.mark.slow
def test_a_full_disk_leaves_nothing_half_written(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Ada")
    status, out, err = _ended(_start(folder, tmp_path / "cache", before=_full))
    assert status == 2
    assert "(File too large)" in err
    assert "0 made, 0 unchanged, 1 failed" in out
    assert not list(folder.glob("*.pdf"))
    assert not list(folder.rglob(".*"))
    _is_sound(tmp_path / "cache")
    status, out, _ = _ended(_start(folder, tmp_path / "cache"))
    assert status == 0
    assert "1 made, 0 unchanged, 0 failed" in out


def test_a_file_that_has_no_room_leaves_nothing_and_the_old_one_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"the old one")
    code = """
import sys
from pathlib import Path
from excerpts.system.output import write_whole
write_whole(Path(sys.argv[1]), bytes(9000))
"""
    command = [sys.executable, "-c", code, str(tmp_path / "a.pdf")]
    done = subprocess.run(command, capture_output=True, text=True, preexec_fn=_full)
    assert "OutputError" in done.stderr
    assert "the file cannot be written (File too large)" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]
    assert (tmp_path / "a.pdf").read_bytes() == b"the old one"


@pytest.mark.long
@pytest.mark.slow
def test_a_full_disk_keeps_the_old_workbook(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Ada")
    build_studio(folder, cache=tmp_path / "cache")
    before = _pdfs(folder)
    week(folder, "Ada", bars="4")
    assert _ended(_start(folder, tmp_path / "cache", before=_full))[0] == 2
    assert _pdfs(folder) == before


def _bound() -> tuple[str, ...]:
    """What makes even root keep to the rights of files."""
    if os.geteuid() != 0:
        return ()
    return ("setpriv", "--bounding-set", "-dac_override,-dac_read_search")


@pytest.mark.slow
def test_a_folder_that_cannot_be_written_to_is_told(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Ada")
    folder.chmod(0o555)
    try:
        status, out, err = _ended(_start(folder, tmp_path / "cache", prefix=_bound()))
    finally:
        folder.chmod(0o755)
    assert status == 2
    assert "cannot be written to" in err
    assert "1 failed" in out
    assert not list(folder.glob("*.pdf"))


@pytest.mark.slow
def test_a_cache_that_cannot_be_written_to_is_told_and_does_not_matter(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Ada")
    cache = tmp_path / "cache"
    cache.mkdir()
    cache.chmod(0o555)
    try:
        status, out, err = _ended(_start(folder, cache, prefix=_bound()))
    finally:
        cache.chmod(0o755)
    assert status == 0
    assert "1 made" in out
    assert "the cache" in err
    assert "cannot be written" in err


@pytest.mark.long
@pytest.mark.slow
def test_a_cache_full_of_rubbish_changes_nothing(tmp_path: Path, clean: dict[str, bytes]) -> None:
    folder = studio(tmp_path / "s", *NAMES)
    cache = tmp_path / "cache"
    build_studio(folder, cache=cache)
    entries = [path for path in cache.rglob("*") if path.is_file()]
    assert len(entries) > 6
    for place, path in enumerate(entries):
        path.write_bytes(path.read_bytes()[: 20 * place] if place % 2 else b"rubbish" * 50)
    summary = build_studio(folder, cache=cache)
    assert {one.state for one in summary.outcomes} == {"made"}
    assert not summary.failed
    assert _pdfs(folder) == clean


@pytest.mark.long
@pytest.mark.slow
@pytest.mark.parametrize("when", [0.0, pytest.param(2e9, marks=LONG), pytest.param(4e9, marks=LONG)])
def test_a_clock_that_jumps_changes_nothing(tmp_path: Path, when: float) -> None:
    """Times of files in 1970, 2033 and 2096: what is unchanged stays so, what has changed is built."""
    folder = studio(tmp_path / "s", "Ada", "Bo")
    cache = tmp_path / "cache"
    build_studio(folder, cache=cache)
    week(folder, "Bo", bars="5")
    for path in [*folder.rglob("*"), *cache.rglob("*")]:
        os.utime(path, (when, when))
    assert [one.state for one in build_studio(folder, cache=cache).outcomes] == ["unchanged", "made"]


@pytest.mark.slow
def test_two_builds_at_once(tmp_path: Path, clean: dict[str, bytes]) -> None:
    folder = studio(tmp_path / "s", *NAMES)
    both = [_start(folder, tmp_path / "cache") for _ in range(2)]
    told = [_ended(process) for process in both]
    assert [status for status, _, _ in told] == [0, 0]
    assert _pdfs(folder) == clean
    _is_sound(tmp_path / "cache")
    lines = sorted(out.splitlines()[-1] for _, out, _ in told)
    assert lines == ["0 made, 3 unchanged, 0 failed", "3 made, 0 unchanged, 0 failed"]
    assert sum("another process is building this studio" in err for _, _, err in told) == 1


@pytest.mark.long
@pytest.mark.slow
def test_two_builds_at_once_without_a_common_lock(tmp_path: Path, clean: dict[str, bytes]) -> None:
    """Two computers on one shared folder: each has its own cache, and nothing keeps them apart."""
    folder = studio(tmp_path / "s", *NAMES)
    both = [_start(folder, tmp_path / f"cache-{place}") for place in range(2)]
    told = [_ended(process) for process in both]
    assert _pdfs(folder) == clean
    assert all(status == 0 or "cannot be written" in err for status, _, err in told)
    assert not list(folder.rglob(".*"))


def _progress(folder: Path) -> int:
    return len(list(folder.glob("*.pdf"))) + len(list(folder.glob(".*.part")))


@pytest.mark.slow
@pytest.mark.parametrize(
    "after", ["half", *(pytest.param(name, marks=LONG) for name in ("start", "first file", "delay"))]
)
def test_killed_in_the_middle_of_a_build(tmp_path: Path, clean: dict[str, bytes], after: str) -> None:
    """Kill -9 of the whole program, at four points of a build; the next build finds all in order."""
    folder = studio(tmp_path / "s", *NAMES)
    cache = tmp_path / "cache"
    process = _start(folder, cache)
    wanted = {"start": 0, "first file": 1, "half": 2, "delay": 1}[after]
    limit = time.monotonic() + 200
    while _progress(folder) < wanted and time.monotonic() < limit and process.poll() is None:
        time.sleep(0.002)
    if after == "delay":
        time.sleep(0.3)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    found = _pdfs(folder)
    assert all(found[name] == clean[name] for name in found)
    _is_sound(cache)
    status, out, _ = _ended(_start(folder, cache))
    assert status == 0
    assert out.splitlines()[-1].endswith("0 failed")
    assert _pdfs(folder) == clean
    assert not list(folder.rglob(".*"))


@pytest.mark.slow
def test_a_killed_process_fails_its_own_workbook_only(tmp_path: Path, clean: dict[str, bytes]) -> None:
    """Kill -9 of one worker, as the system does when memory runs out."""
    folder = studio(tmp_path / "s", *NAMES)
    process = _start(folder, tmp_path / "cache")
    workers: list[int] = []
    limit = time.monotonic() + 60
    while not workers and time.monotonic() < limit:
        told = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text(encoding="ascii")
        workers = [int(word) for word in told.split()]
    os.kill(workers[0], signal.SIGKILL)
    status, out, err = _ended(process)
    assert status == 2
    assert out.splitlines()[-1] == "2 made, 0 unchanged, 1 failed"
    assert "the process that built it ended (signal 9" in err
    found = _pdfs(folder)
    assert sum(found.get(name) == data for name, data in clean.items() if not name.startswith("print")) == 2
    status, out, _ = _ended(_start(folder, tmp_path / "cache"))
    assert (status, out.splitlines()[-1]) == (0, "1 made, 2 unchanged, 0 failed")
    assert _pdfs(folder) == clean


@pytest.mark.slow
def test_an_interrupt_leaves_nothing_behind(tmp_path: Path) -> None:
    """Control-C goes to every process of the terminal."""
    folder = studio(tmp_path / "s", *NAMES)
    process = _start(folder, tmp_path / "cache", before=os.setsid)
    limit = time.monotonic() + 200
    while _progress(folder) < 1 and time.monotonic() < limit and process.poll() is None:
        time.sleep(0.002)
    os.killpg(process.pid, signal.SIGINT)
    status, _, err = _ended(process)
    assert status == 130
    assert "interrupted" in err
    assert not list(folder.rglob(".*"))
    _pdfs(folder)


@pytest.mark.slow
def test_a_cache_that_is_deleted_in_the_middle(tmp_path: Path, clean: dict[str, bytes]) -> None:
    folder = studio(tmp_path / "s", *NAMES)
    cache = tmp_path / "cache"
    process = _start(folder, cache)
    while process.poll() is None:
        shutil.rmtree(cache, ignore_errors=True)
        time.sleep(0.1)
    assert _ended(process)[0] == 0
    assert _pdfs(folder) == clean
