"""What the week page's addresses take and refuse, without a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.desk.running import RunningDesk, letters


@pytest.fixture
def week(desk: RunningDesk, folder: Path) -> tuple[str, Path]:
    """The address of a player's week, and its file."""
    return f"/week/{desk.key_of()}", folder / "mila-11-30.toml"


def sent(file: Path, **more: Any) -> dict[str, Any]:
    return {"week": file.name, "texts": {file.name: file.read_text(encoding="utf-8")}, **more}


def saving(desk: RunningDesk, file: Path, text: str, name: str = "") -> dict[str, Any]:
    digest = desk.desk.studio.saves.show(file).digest
    return {"week": file.name, "file": name or file.name, "text": text, "digest": digest}


def test_a_player_that_is_not_there_is_told(desk: RunningDesk) -> None:
    assert desk.get("/week/nobody-00000000").status == 404


def test_the_page_shows_form_and_plan(desk: RunningDesk, week: tuple[str, Path]) -> None:
    page = desk.get(week[0])
    assert page.status == 200
    shown = letters(page.text)
    assert "Box 1: Slow Air, bars 2–3" in shown
    assert "Mon 30 Nov: 20 min" in shown


def test_changes_are_answered_with_the_text_the_plan_and_the_faults(
    desk: RunningDesk, week: tuple[str, Path]
) -> None:
    address, file = week
    before = file.read_bytes()
    changes = [
        {"do": "set", "path": ["week", "minutes"], "value": {"every": "35"}},
        {"do": "set", "path": ["box", 0, "why"], "value": ["shfit"]},
    ]
    said = desk.post(f"{address}/plan", sent(file, changes=changes)).said
    assert "35 min" in said["plan"]
    assert list(said["faults"]) == ["f-box-0-why"]
    assert 'why = ["shfit"]' in said["texts"][file.name]
    assert file.read_bytes() == before


def test_a_save_keeps_every_byte_that_was_not_changed(desk: RunningDesk, week: tuple[str, Path]) -> None:
    address, file = week
    text = "\ufeff" + file.read_text(encoding="utf-8").replace("\n", "\r\n") + "# end"
    assert desk.post(f"{address}/save", saving(desk, file, text)).status == 200
    assert file.read_bytes() == text.encode()
    changes = [{"do": "set", "path": ["week", "focus"], "value": "Arm"}]
    body = {"week": file.name, "texts": {file.name: text}, "changes": changes}
    changed = desk.post(f"{address}/plan", body).said["texts"][file.name]
    assert changed == text.replace("minutes = 20\r\n", 'minutes = 20\r\nfocus = "Arm"\r\n')


@pytest.mark.parametrize(
    "name", ["studio.toml", "ada-11-30.toml", "../out.toml", "/etc/hosts", "scores/air.musicxml"]
)
def test_nothing_but_the_week_and_its_sets_is_written(
    desk: RunningDesk, week: tuple[str, Path], folder: Path, name: str
) -> None:
    address, file = week
    held = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    body = {**saving(desk, file, "format = 1\n", name), "digest": ""}
    assert desk.post(f"{address}/save", body).status == 422
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == held


def test_what_is_no_toml_is_not_saved(desk: RunningDesk, week: tuple[str, Path]) -> None:
    address, file = week
    before = file.read_bytes()
    answer = desk.post(f"{address}/save", saving(desk, file, "format = \n"))
    assert answer.status == 422
    assert "line 1" in answer.said["error"]
    assert file.read_bytes() == before


def test_a_file_that_was_changed_elsewhere_is_shown_and_not_written(
    desk: RunningDesk, week: tuple[str, Path]
) -> None:
    address, file = week
    body = saving(desk, file, file.read_text(encoding="utf-8") + "# ours\n")
    outside = file.read_bytes() + b"# theirs\n"
    file.write_bytes(outside)
    answer = desk.post(f"{address}/save", body)
    assert answer.status == 409
    assert answer.said["ours"].endswith("# ours\n")
    assert answer.said["theirs"].endswith("# theirs\n")
    assert file.read_bytes() == outside


def test_a_page_of_an_older_week_is_told(desk: RunningDesk, week: tuple[str, Path]) -> None:
    address, file = week
    body = {**sent(file), "week": "mila-11-23.toml"}
    answer = desk.post(f"{address}/plan", body)
    assert answer.status == 422
    assert "newer week" in answer.said["error"]


@pytest.mark.parametrize(
    "body", [{}, {"texts": []}, {"texts": {"x": 1}}, {"texts": {"../a.toml": ""}}], ids=str
)
def test_what_is_no_week_is_refused(desk: RunningDesk, week: tuple[str, Path], body: dict[str, Any]) -> None:
    address, file = week
    for what in ("plan", "form", "check", "variants"):
        assert desk.post(f"{address}/{what}", {"week": file.name, **body}).status == 422


def test_nothing_is_made_that_is_not_known(desk: RunningDesk, week: tuple[str, Path]) -> None:
    assert desk.post(f"{week[0]}/make", {"what": "rm"}).status == 422
    assert desk.get("/making/nothing").status == 404


def test_a_fault_of_the_studio_leads_to_its_field(desk: RunningDesk, week: tuple[str, Path]) -> None:
    address, file = week
    file.write_text(file.read_text(encoding="utf-8").replace('"2-3"', '"99"'), encoding="utf-8")
    assert '"at": "f-box-0-bars"' in desk.get(f"{address}?at=box%20%22a%22,%20bars").text


def test_the_plan_names_its_days_as_pages_do(desk: RunningDesk, week: tuple[str, Path]) -> None:
    address, file = week
    plan = desk.post(f"{address}/plan", {**sent(file), "changes": []}).said["plan"]
    assert "<h3>Mon 30 Nov: 20 min</h3>" in plan
    assert "2026-" not in plan
