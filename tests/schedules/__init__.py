"""Schedules: the real outbox in a real browser against the real server, in random order of what goes wrong."""
