"""Names of variants, the grammar, the list, and the texts a player reads (default tier)."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import get_args

import pytest

import excerpts
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.score import open_score
from excerpts.system.resources import scores
from excerpts.variants import instruction, parse_variant, title, variants, vary
from excerpts.weekfile.item_values import FaultName
from excerpts.words import Words


def test_the_variants_there_are() -> None:
    first = [info.usage for info in variants()][:5]
    assert first == ["as-written", "slow[:NUMBER]", "separate", "long-short", "short-long"]
    assert len({info.name for info in variants()}) == len(variants())
    assert {"as-written", "slow"} <= {info.name for info in variants() if info.same_notes}


def test_each_says_the_faults_it_is_for_by_their_known_names() -> None:
    known = set(get_args(FaultName))
    for info in variants():
        assert info.for_faults
        assert set(info.for_faults) <= known


@pytest.mark.parametrize("column", ["uk", "us"])
def test_every_variant_has_its_texts(column: str) -> None:
    words = Words("us" if column == "us" else "uk")
    for info in variants():
        assert title(info.name, words)[0].isupper()
        assert instruction(info.name, words).endswith(".")


@pytest.mark.slow
def test_what_is_written_over_the_notes_is_in_the_players_words() -> None:
    """Brackets are no words, nor are the box's own words in them; everything else each language says by itself."""
    box = open_score(scores() / "gale-concerto-1.musicxml").part().passage("8-11").cut(1)
    written: set[str] = set()
    for name in (name for info in variants() for name in info.examples):
        try:
            english, german = (_words(vary(box, name, words=Words(choice))) for choice in ("uk", "de"))
        except VariantError:
            continue
        written |= english - _words(box)
        own = _words(box) | {f"({text})" for text in _words(box)}
        assert (english & german) - own <= {"(", ")"}, name
    assert written >= {"strings guessed", "carry on like this"}


def _words(made: Excerpt) -> set[str]:
    return {words.text or "" for words in made.tree().iter("words")}


def test_stacks_read_well() -> None:
    words = Words("uk")
    assert title("separate+long-short", words) == "Separate bows, long–short"
    assert title("slow:60", words) == "Slow, 60 to the minute"
    both = instruction("separate+long-short", words)
    assert both == f"{instruction('separate', words)} {instruction('long-short', words)}"
    assert instruction("as-written+slow:60", words) == instruction("slow:60", words)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("longshort", r"no variant 'longshort'.*Did you mean 'long-short'"),
        ("seperate", r"Did you mean 'separate'"),
        ("xyz", r"There are: as-written, slow, separate, long-short, short-long"),
        ("long-short+", r"a name is missing in 'long-short\+'"),
        ("", r"a name is missing"),
        ("separate:3", r"'separate' takes nothing after a colon"),
        ("slow:", r"nothing follows the colon"),
        ("slow:fast", r"'fast' in 'slow:fast' is not a number of beats"),
        ("slow:0", r"not a number of beats a minute.*10 to 400"),
        ("slow:-60", r"not a number of beats"),
        ("slow:5000", r"10 to 400"),
    ],
)
def test_what_is_no_variant_is_refused(text: str, message: str) -> None:
    with pytest.raises(VariantError, match=message):
        parse_variant(text)


def test_spaces_and_capitals_do_not_matter() -> None:
    steps = parse_variant(" Separate + long-short ")
    assert [step.variant.info.name for step in steps] == ["separate", "long-short"]
    assert [step.parameter for step in parse_variant("slow:60.5")] == ["60.5"]


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_the_papers_say_how_many_there_are(name: str) -> None:
    text = (Path(__file__).parents[2] / name).read_text(encoding="utf-8")
    assert f"There are {len(variants())}" in text


def test_variants_are_made_without_markup() -> None:
    """How an element is written is known to the notes room alone."""
    folder = Path(excerpts.__file__).parent / "variants"
    for path in folder.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        imported = {
            name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names
        }
        imported |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        assert not any(name.split(".")[0] == "lxml" for name in imported), path.name
        documented = {
            id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)
        }  # docstrings may speak of elements
        texts = (
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and id(node) not in documented
        )
        assert not any("<" in text for text in texts if isinstance(text, str)), path.name
