"""E-mail notices: one digest a person and day at most, of the kinds that the person switched on."""
