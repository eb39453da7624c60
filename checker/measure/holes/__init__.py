"""Holes: what they are for, the copper and the laminate round them, joints made in them."""
