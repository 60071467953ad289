"""Reading score files safely, finding bars in them, cutting them out."""

from excerpts.score.opening import open_score
from excerpts.score.score import Part, PartInfo, Passage, Score, score_from_bytes

__all__ = ["Part", "PartInfo", "Passage", "Score", "open_score", "score_from_bytes"]
