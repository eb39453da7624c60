"""What was measured on a board, whatever the process."""

from checker.measure.facts import Facts, Gaps, Necks, Reach

__all__ = ["Facts", "Gaps", "Necks", "Reach"]
