"""The head of the week files that tests write."""


def head(
    level: str, *, name: str = "Ada", instrument: str = "violin", minutes: str = "30", **more: str
) -> str:
    """`[player]` and `[week]`, eight lines and one for each thing more, which is written as it is given."""
    of_week = {key: more.pop(key) for key in ("until", "focus", "notes", "paper") if key in more}
    player = {"name": f'"{name}"', "instrument": f'"{instrument}"', "level": f'"{level}"'} | more
    week = {"start": "2026-11-30", "minutes": minutes} | of_week
    return f"format = 1\n[player]\n{_lines(player)}[week]\n{_lines(week)}"


def _lines(table: dict[str, str]) -> str:
    return "".join(f"{key} = {value}\n" for key, value in table.items())
