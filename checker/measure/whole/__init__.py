"""The board as a whole: how its files fit, how much they cover, how far the tool travels."""
