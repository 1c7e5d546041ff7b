"""Sound in, onsets of clicks out. Nothing that is heard is kept or written, only when and how plainly it clicked."""
