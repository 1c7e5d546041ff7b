"""Floor 8: all that is drawn with pygame, a folder a window."""
