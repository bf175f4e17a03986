"""A fault's history, computed from plain points: no database, no clock, no Django."""
