"""The whole academy as one file: a ZIP of CSV tables, saved from here and taken into an empty place without loss."""
