"""All parts cut at the same bars."""

from __future__ import annotations

import pytest

from excerpts.errors import AddressError, VariantError
from excerpts.excerpt import Excerpt, Position
from excerpts.score import score_from_bytes
from excerpts.score.whole import whole_passage
from excerpts.variants import vary
from tests.music import FIRST, part, score
from tests.schema import schema_errors
from tests.score.cutting import direction, said, texts

TIED = "[<notations><tied type='{}'/></notations>]"
MARK = direction("<rehearsal>B</rehearsal>")
TEMPO = direction("<metronome><beat-unit>quarter</beat-unit><per-minute>72</per-minute></metronome>")


def duo(top: list[str], low: list[str]) -> bytes:
    return score(
        part([f"{FIRST} {top[0]}", *top[1:]]),
        part(
            [f"{FIRST.replace('<sign>G</sign><line>2', '<sign>F</sign><line>4')} {low[0]}", *low[1:]],
            part_id="P2",
        ),
        names=("Violin", "Cello"),
    )


DUO = duo([f"{TEMPO} C5:4", "D5:4", "E5:4", "F5:4"], ["C3:4", f"{MARK} D3:4", "E3:4", "F3:4"])


def cut_all(data: bytes, address: str, context: int = 1) -> Excerpt:
    excerpt = whole_passage(score_from_bytes(data, "test"), address).cut(context)
    assert schema_errors(excerpt.xml) == []
    return excerpt


def test_every_part_is_cut_at_the_same_bars() -> None:
    excerpt = cut_all(DUO, "3", 1)
    parts = excerpt.tree().findall("part")
    assert [p.get("id") for p in parts] == ["P1", "P2"]
    assert [[m.get("number") for m in p] for p in parts] == [["2", "3", "4"]] * 2
    assert texts(excerpt, "part-name") == ["Violin", "Cello"]
    assert texts(excerpt, "sign") == ["G", "F"]
    (box,) = excerpt.boxes
    assert (box.start, box.end.bar) == (Position(1, box.start.onset), 1)
    assert (excerpt.origin.part, excerpt.origin.address) == ("Violin, Cello", "3")


def test_the_tempo_stands_once_over_the_system() -> None:
    excerpt = cut_all(DUO, "3", 0)
    assert texts(excerpt, "per-minute") == ["72"]
    assert excerpt.tree().findall("part")[0].find(".//metronome") is not None
    low = duo(["C5:4", "C5:4"], [f"{TEMPO} C3:4", f"{TEMPO} C3:4"])
    assert texts(cut_all(low, "2", 0), "per-minute") == ["72"]


def test_a_mark_that_only_a_lower_part_has() -> None:
    assert [bar.label for bar in cut_all(DUO, "B", 0).bars] == ["2", "3", "4"]
    with pytest.raises(AddressError, match="part Violin: there is no rehearsal mark or bar 'Q'"):
        cut_all(DUO, "Q")


def test_open_ends_count_staves_from_the_top() -> None:
    data = duo(["C5:4", "C5:4"], [f"C3:4{TIED.format('start')}", f"C3:4{TIED.format('stop')}"])
    (end,) = cut_all(data, "2", 0).open_ends
    assert (end.kind, end.staff, end.pitch) == ("tie", 2, "C3")


def test_a_part_that_ends_before_the_others_rests() -> None:
    excerpt = cut_all(duo(["C5:4", "D5:4", "E5:4"], ["C3:4"]), "2-3", 0)
    low = excerpt.tree().findall("part")[1]
    assert len(low.findall("measure/note/rest[@measure='yes']")) == 2
    assert (
        "warning the score: Cello ends before the others; the bars that are missing are filled with rests"
        in said(excerpt)
    )


def test_brackets_of_parts_are_kept_where_they_are_whole() -> None:
    start = b"<part-group type='start' number='1'><group-symbol>bracket</group-symbol></part-group>"
    stop = b"<part-group type='stop' number='1'/>"
    data = DUO.replace(b"<part-list>", b"<part-list>" + start)
    assert cut_all(data, "2").tree().find(".//part-group") is None
    whole = cut_all(data.replace(b"</part-list>", stop + b"</part-list>"), "2")
    tags = [child.tag for child in whole.tree().findall("part-list/*")]
    assert tags == ["part-group", "score-part", "score-part", "part-group"]


def test_instruments_of_one_id_in_two_parts_are_told_apart() -> None:
    listed = b"</part-name><score-instrument id='I1'><instrument-name>x</instrument-name></score-instrument>"
    excerpt = cut_all(DUO.replace(b"</part-name>", listed), "2")
    assert [i.get("id") for i in excerpt.tree().iter("score-instrument")] == ["I1", "P2-I1"]


def test_the_report_names_the_part() -> None:
    assert "restated clef (Cello) in bar 2" in said(cut_all(DUO, "2", 0))


@pytest.mark.parametrize("variant", ["slow:40", "long-short", "as-written"])
def test_variants_of_all_parts_together_are_refused(variant: str) -> None:
    excerpt = cut_all(duo(["A4:4", "B4:4"], ["D3:4", "E3:4"]), "1")
    with pytest.raises(VariantError, match=r"a variant is made of one part, and the excerpt has 2"):
        vary(excerpt, variant)


def test_a_whole_cut_cut_again_is_the_same() -> None:
    once = cut_all(DUO, "2-3", 0)
    assert cut_all(once.xml, "2-3", 0).xml == once.xml
