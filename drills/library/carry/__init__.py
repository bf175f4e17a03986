"""The library as one file: out of an academy, and into another."""
