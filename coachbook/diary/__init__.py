"""Appointments, single and in series, and each coach's calendar feed."""
