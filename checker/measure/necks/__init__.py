"""Necks of copper: where an island is narrower than a reach, and what it joins there."""
