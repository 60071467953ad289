"""What DEVELOPERS.md says of the house: which room imports which, and what is imported from outside."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAPER = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

NAMED = {"fontTools": "fonttools", "PIL": "pillow", "axe_playwright_python": "axe-playwright-python"}
"""Names under which packages are imported, where these are others than those of the packages."""

BROUGHT = {"markupsafe": "jinja2", "pydantic_core": "pydantic"}
"""What comes with a package and is a part of its interface."""

LOADED = {"brotli", "musicxml", "pytest-xdist", "hatchling"}
"""What is loaded by others than our own `import`: fontTools, the schema's path, pytest, pip."""


def lines_of_rooms() -> list[list[str]]:
    """The rooms of the drawing, line by line from the top."""
    drawn = re.search(r"<!-- house -->\n```\n(.*?)```", PAPER, flags=re.DOTALL)
    assert drawn is not None
    return [line.partition("|")[0].split() for line in drawn[1].splitlines()]


def statements(block: Sequence[ast.AST]) -> Iterator[ast.AST]:
    """Every statement of a block and of the blocks in it: expressions, most of a module, hold no import."""
    for node in block:
        yield node
        for name in ("body", "orelse", "handlers", "finalbody", "cases"):
            yield from statements(getattr(node, name, []))


@cache
def imports(path: Path) -> list[str]:
    """Everything that a module imports, at its top and inside its functions."""
    found: list[str] = []
    for node in statements(ast.parse(path.read_text(encoding="utf-8")).body):
        if isinstance(node, ast.Import):
            found += (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, path
            found += (f"{node.module}.{name.name}" for name in node.names)
    return found


def room(module: str, rooms: set[str]) -> str:
    """The room of a module, the innermost that is drawn; "" for the package itself."""
    names = module.split(".")[1:]
    inside = ["/".join(names[:count]) for count in range(len(names), 0, -1)]
    return next((name for name in inside if name in rooms), "")


def modules() -> Iterator[tuple[str, Path]]:
    for path in sorted((ROOT / "excerpts").rglob("*.py")):
        yield ".".join(path.relative_to(ROOT).with_suffix("").parts), path


def test_every_room_imports_only_rooms_below_it() -> None:
    height = {name: -line for line, names in enumerate(lines_of_rooms()) for name in names}
    rooms = set(height)
    found = []
    for module, path in modules():
        own = room(module, rooms)
        for other in imports(path):
            other_room = room(other, rooms)
            if other.startswith("excerpts.") and own and own != other_room:
                assert other_room, f"{module} imports {other}, which is in no room"
                if height[other_room] >= height[own]:
                    found.append(f"{module} imports {other}")
    assert found == []


def test_every_room_is_drawn_and_there() -> None:
    rooms = {name for names in lines_of_rooms() for name in names}
    lived_in = {room(module, rooms) for module, _ in modules()}
    assert rooms <= lived_in
    nowhere = [module for module, _ in modules() if not room(module, rooms)]
    assert nowhere == ["excerpts.__init__"]


def declared(*extras: str) -> set[str]:
    """Names of the packages that pyproject.toml asks for."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"]]
    for extra in extras:
        wanted += project["optional-dependencies"][extra]
    return {re.split(r"[\[<>=]", text)[0] for text in wanted} - {"excerpts"}


def imported(folder: str) -> set[str]:
    names = {name.split(".")[0] for path in (ROOT / folder).rglob("*.py") for name in imports(path)}
    own = {"excerpts", "tests", *sys.stdlib_module_names}
    return {BROUGHT.get(name, NAMED.get(name, name)) for name in names - own}


def test_what_is_imported_is_declared_and_the_other_way_round() -> None:
    assert imported("excerpts") == declared() - LOADED
    assert imported("tests") <= declared("test", "fuzz")
    assert imported("tests") | imported("excerpts") == declared("test", "fuzz") - LOADED


def test_every_package_has_its_reason() -> None:
    table = PAPER.partition("## Dependencies")[2].partition("\n## ")[0]
    named = set(re.findall(r"[\w-]+", " ".join(re.findall(r"^\| ([^|]+) \|", table, flags=re.MULTILINE))))
    assert named - {"package", "---"} == declared("test", "dev", "fuzz")


def test_modules_that_are_named_are_there() -> None:
    """A module or file that the paper names by its path, or by its name alone, is somewhere."""
    files = {
        path.relative_to(ROOT).as_posix()
        for top in ("excerpts", "templates", "tests")
        for path in (ROOT / top).rglob("*")
    }
    for name in re.findall(r"`([\w/]+\.(?:py|html|css|toml))`", PAPER):
        if name != "templates/NAME.css":
            assert any(file == name or file.endswith(f"/{name}") for file in files), name
