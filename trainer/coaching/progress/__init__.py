"""What the record of many strokes says, and how surely. Pure statistics."""
