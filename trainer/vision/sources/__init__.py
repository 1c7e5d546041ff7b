"""Where frames come from: cameras, clips, fakes; and what their times can support."""
