"""Printed pages that come in at the desk: a file dropped on the week or the studio, photos in an inbox."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from pathlib import Path
from urllib.parse import quote

import pikepdf
import pytest
from PIL import Image

from tests.desk.running import RunningDesk, letters
from tests.paper.test_cut import choral
from tests.paper.test_found import rendered


@cache
def scan() -> bytes:
    """A page of music in black and white."""
    written = BytesIO()
    Image.fromarray(rendered(choral(), 150) // 128 * 255).convert("1").save(written, "PNG", dpi=(150, 150))
    return written.getvalue()


def blank() -> bytes:
    written = BytesIO()
    Image.new("L", (1000, 1400), 255).save(written, "JPEG", dpi=(120, 120))
    return written.getvalue()


def locked() -> bytes:
    written = BytesIO()
    with pikepdf.open(BytesIO(choral())) as pdf:
        pdf.save(written, encryption=pikepdf.Encryption(user="secret", owner="more"))
    return written.getvalue()


@pytest.fixture
def week(desk: RunningDesk) -> str:
    return f"/week/{next(one.key for one in desk.desk.studio.players() if one.name == 'Mila')}"


def test_a_pdf_becomes_a_piece_and_copying_is_told_once(desk: RunningDesk, week: str, folder: Path) -> None:
    said = desk.upload(f"{week}/pages/upload?name={quote('slow-air page.pdf')}", choral()).said
    assert said["piece"] == {"title": "Slow air page", "pages": "slow-air page.pdf"}
    assert said["told"].startswith("Copying or rearranging a printed edition may be restricted")
    assert (folder / "scores" / "slow-air page.pdf").read_bytes() == choral()
    path = folder / "mila-11-30.toml"
    path.write_text(
        path.read_text(encoding="utf-8") + '[[piece]]\nid = "p"\ntitle = "P"\npages = "slow-air page.pdf"\n',
        encoding="utf-8",
    )
    again = desk.upload(f"{week}/pages/upload?name={quote('slow-air page.pdf')}", choral()).said
    assert again["told"] == ""
    page = letters(desk.get(week).text)
    assert "Box bars on its pages" in page
    taken = desk.post(f"{week}/piece", {"score": "slow-air page.pdf"}).said
    assert taken["piece"]["pages"] == "slow-air page.pdf"


def test_pictures_that_come_together_are_pages_of_one_piece(
    desk: RunningDesk, week: str, folder: Path
) -> None:
    for name in ("p 1.png", "p 2.png"):
        said = desk.upload(f"{week}/pages/upload?name={quote(name)}&together={quote('../p 1')}", scan()).said
    assert said["piece"]["pages"] == "p-1"
    assert sorted(one.name for one in (folder / "scores" / "p-1").iterdir()) == ["p 1.png", "p 2.png"]


def test_what_is_no_page_is_refused_in_the_words_of_paper(desk: RunningDesk, week: str, folder: Path) -> None:
    for name, data, words in (
        ("photo.heic", b"x", "Save it as JPEG"),
        (
            "locked.pdf",
            locked(),
            "the PDF is encrypted and asks for a password. Save a copy without a password.",
        ),
        ("no.pdf", b"no pdf", "this is neither a PDF nor a picture"),
        (
            "blank.jpg",
            blank(),
            "blank.jpg: no staves are found. Take it again: flat, from above, in even light.",
        ),
        ("../up.pdf", choral(), "cannot be called that"),
        ("tune.musicxml", b"x", "this is no page of music that can be read"),
    ):
        for address in (f"{week}/pages/upload", "/studio/pages/upload"):
            answer = desk.upload(f"{address}?name={quote(name, safe='')}", data)
            assert answer.status == 422, name
            assert words in answer.said["error"]
    assert sorted(one.name for one in (folder / "scores").iterdir()) == ["air.musicxml"]
    headers = {**desk.write_headers("application/octet-stream"), "Content-Length": "100000001"}
    assert desk.ask("POST", f"{week}/pages/upload?name=a.pdf", None, headers).status == 413


def test_another_file_of_the_name_is_never_written_over(desk: RunningDesk, folder: Path) -> None:
    assert desk.upload("/studio/pages/upload?name=a.pdf", choral()).status == 200
    assert desk.upload("/studio/pages/upload?name=a.pdf", choral() + b"\n").status == 422
    assert (folder / "scores" / "a.pdf").read_bytes() == choral()
    assert desk.post("/undo/last", {}).said["undone"]
    assert not (folder / "scores" / "a.pdf").exists()


def test_photos_in_the_inbox_are_offered(desk: RunningDesk, week: str, folder: Path) -> None:
    (folder / "inbox").mkdir()
    for name, data in (("a.png", scan()), ("b.png", scan()), ("c.heic", b"x"), ("d.pdf", choral())):
        (folder / "inbox" / name).write_bytes(data)
    page = desk.get(week).text
    assert all(f"<option>inbox/{name}</option>" in page for name in ("a.png", "c.heic", "d.pdf"))
    one = desk.post(f"{week}/pages", {"names": ["inbox/a.png"]}).said
    assert one["piece"] == {"title": "A", "pages": "inbox/a.png"}
    both = desk.post(f"{week}/pages", {"names": ["inbox/a.png", "inbox/b.png"]}).said
    assert both["piece"]["pages"] == "a"
    assert sorted(file.name for file in (folder / "scores" / "a").iterdir()) == ["a.png", "b.png"]
    for names in (
        ["inbox/c.heic"],
        ["inbox/a.png", "inbox/d.pdf"],
        ["studio.toml"],
        ["../x.png"],
        [],
        "a",
        [1],
    ):
        assert desk.post(f"{week}/pages", {"names": names}).status == 422, names
