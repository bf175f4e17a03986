"""Guardians and children: consent, guardianships, and each student's one thread of messages."""
