"""Measuring in a still: the page on which points are placed, and what is kept of them."""
