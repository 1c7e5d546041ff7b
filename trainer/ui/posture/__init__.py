"""The posture windows: one address live, two side by side."""
