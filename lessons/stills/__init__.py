"""Stills: made clean of an upload, kept in the storage with a row each, and shown where there is consent."""

SMALL_EDGE = 320  # pixels along the long edge of a thumbnail
