"""The camera: its tilt, where things are in space, and what a pixel measures."""
