"""The body: points of the pose model, and the stretch of the picture that the player fills."""
