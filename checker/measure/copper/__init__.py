"""More on copper: reliefs, hatches, letters, slots, bites, currents, distances of nets."""
