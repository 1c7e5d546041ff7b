"""The putter: its shaft, its tape, its end, frame by frame."""
