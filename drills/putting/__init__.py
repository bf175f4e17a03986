"""Start line and pace of a putter, estimated from scored tests: pure, on plain numbers, in metres and degrees.

Every figure is an estimate under a model: a flat green, one player, independent balls, read and aim as intended.
"""
