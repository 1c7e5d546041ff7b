"""Floor 6: threads, the window, keys. The only floor that reads a clock."""
