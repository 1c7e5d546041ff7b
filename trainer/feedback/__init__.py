"""What is heard and shown, and when not to."""
