"""Findings that fail no more: those that a maker waived, and those that a baseline knows."""
