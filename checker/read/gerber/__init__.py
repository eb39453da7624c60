"""The Gerber layer format."""
