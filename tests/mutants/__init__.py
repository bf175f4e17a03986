"""Mutation testing: small faults are put into the program, one at a time, to see whether a test fails."""
