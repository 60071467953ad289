"""Work that a stranger's file could hang or crash, in a process of its own with limits."""

from excerpts.system.child.process import SECONDS, Child, ChildDiedError

__all__ = ["SECONDS", "Child", "ChildDiedError"]
