"""Clips, stills and sheets with the lines drawn in, written to files."""
