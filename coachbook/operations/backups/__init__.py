"""Backups: one folder each, with the database, the media, and a manifest of all that it holds."""
