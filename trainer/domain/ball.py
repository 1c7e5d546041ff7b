"""The ball: one size for all."""

BALL_CM = 4.267  # diameter; Equipment Rules: not less than 42.67 mm, which all makers use
