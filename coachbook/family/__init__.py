"""Guardians and children: consent, who guards whom, and the thread of messages that all of them read."""
