"""Warm-ups in any key."""
