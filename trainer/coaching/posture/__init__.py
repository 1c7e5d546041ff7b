"""How the player stands: measures of a still address from one picture, each against a range. Pure: numbers in, numbers out.

``measure`` gives the measures of either view; ``setup`` puts the ranges beside them. Nothing here leans on colour or
drawing, and nothing asks for handedness: the picture of a left-hander is mirrored first (see ``address``).
"""
