"""Clips, pictures and sheets with the lines drawn in, written to files."""
