"""Leftover copper: what no pass clears, and what it stands beside."""
