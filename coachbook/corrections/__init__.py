"""Corrections: a lesson moved, a duplicate merged, a focus opened again; each can be undone for a time."""
