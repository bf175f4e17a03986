"""Kills: the served site is killed while people write, to see that nothing of what it said is saved is lost."""
