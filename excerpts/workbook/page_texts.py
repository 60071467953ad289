"""The words of the pages: the workbook's own messages, in a child's version where there is one."""

from __future__ import annotations

from excerpts.errors import FailedVariantError, VariantError
from excerpts.variants import instruction
from excerpts.words import Words


class PageTexts:
    """Looks up what a page says.

    Args:
        words: The texts of the player's language and column.
        child: Take the version for the youngest where the words file has one.
    """

    def __init__(self, words: Words, child: bool = False) -> None:
        self.words = words
        self.child = child

    def __call__(self, message: str, /, **parameters: object) -> str:
        """The text of `workbook.<message>`; a message that starts with "caution." stands by itself."""
        if message.startswith("caution."):
            return self.words(message, **parameters)
        if self.child and f"workbook.child.{message}" in self.words:
            return self.words(f"workbook.child.{message}", **parameters)
        return self.plain(message, **parameters)

    def variant(self, name: str) -> str:
        """What to do in a practice variant."""
        message = f"workbook.child.variant.{name}"
        if self.child and message in self.words:
            return self.words(message)
        return instruction(name, self.words)

    def refused(self, refusal: VariantError) -> str:
        """Why a variant is not printed, in a sentence: the bars one by one are for the command line."""
        if isinstance(refusal, FailedVariantError):
            return self("failed")
        return self("refused", reason=refusal.what.partition(". ")[0].rstrip("."))

    def plain(self, message: str, /, **parameters: object) -> str:
        """The text of `workbook.<message>` as it is for everybody."""
        return self.words(f"workbook.{message}", **parameters)
