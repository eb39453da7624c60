"""Gaps between islands: the widest cut that still separates the two sides."""
