"""Stills beside each other: arrival, departure and the academy's own reference; on sheets; and over time."""
