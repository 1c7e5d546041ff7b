"""The ball: found, measured, seen to leave."""
