"""What all windows share: canvas, overlay, the window itself."""
