"""All that is drawn with pygame, a folder a window."""
