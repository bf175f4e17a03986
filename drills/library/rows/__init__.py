"""Rows of the catalogue, of any kind: whose they are, and how they are offered, ordered, merged and archived."""
