"""The board's edge: what comes near to it, and what a cutter leaves in its corners."""
