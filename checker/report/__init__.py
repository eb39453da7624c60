"""One module per output format."""
