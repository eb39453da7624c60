"""The boundary of copper as segments, and where two stretches of it face each other."""
