"""The commands: a thin shell over the stages."""

from excerpts.cli.app import main, run

__all__ = ["main", "run"]
