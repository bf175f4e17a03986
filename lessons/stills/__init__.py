"""Stills: made clean of an upload, kept in the storage with a row each, and shown where there is consent."""
