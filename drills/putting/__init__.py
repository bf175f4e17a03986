"""What putts and chips say about start line and pace: pure, on plain numbers, in metres and degrees.

Every figure is an estimate of a model: a flat green, one player, every ball on its own, read and aim as intended.
"""
