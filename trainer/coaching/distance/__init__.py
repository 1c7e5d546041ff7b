"""Distance: green speed, slope and roll; a player's own scale of stroke length; the chart; the ladder. Pure.

Lengths of strokes are cm, distances m, speeds m/s, decelerations m/s^2, green speeds feet as a course's sign says,
slopes per cent (rise over run times 100, + uphill). The model is a rigid ball on a firm, even, straight plane: `model_validity`
says where that fails.
"""
