"""Recordings: the sound files of a week."""
