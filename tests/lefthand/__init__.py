"""Tests of the left hand."""
