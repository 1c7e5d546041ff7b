"""The limits window, for the coach at a desk."""
