"""Stills of a lesson: taking them without a script, the list of them, and the only way to their files."""
