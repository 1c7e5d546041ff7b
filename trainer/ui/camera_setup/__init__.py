"""The window of setting up camera and player."""
