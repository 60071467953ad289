"""`excerpts variants`: the practice variants there are."""

from __future__ import annotations

import typer

from excerpts.words import Words


def variants() -> None:
    """List the practice variants with a line each."""
    from excerpts.practice import variants as all_variants

    words = Words("uk")
    for info in all_variants():
        typer.echo(
            f"{info.usage:<22} {words(f'variant.{info.name}.title')}: {words(f'variant.{info.name}.instruction')}"
        )
    typer.echo("\nStack them with +, in order: separate+long-short")
