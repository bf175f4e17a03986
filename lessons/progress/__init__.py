"""A fault's history, read from plain points: no database, no clock, no Django."""
