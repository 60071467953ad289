"""What a grown-up at home can listen for stands with each box of a child, and with no one else's."""

import io

import pdfplumber
import pytest

from excerpts.resources import scores
from excerpts.week import load_week
from excerpts.workbook import build_workbook


@pytest.mark.parametrize(
    ("player", "said"),
    [
        ("mila", ["notes that ring.", "a clean change of string, without a bump."]),
        ("jonas", []),
    ],
)
def test_a_child_s_boxes_say_what_a_grown_up_can_listen_for(player: str, said: list[str]) -> None:
    week = load_week(scores() / "weeks" / f"{player}-week-49.toml")
    with pdfplumber.open(io.BytesIO(build_workbook(week).pdf)) as pdf:
        text = " ".join(" ".join(page.extract_text().split()) for page in pdf.pages)
    assert text.count("For the grown-up: listen for") == len(said)
    assert all(f"listen for {what}" in text for what in said)
