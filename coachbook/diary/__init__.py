"""Days as they really are: appointments, series, pauses in them, and each coach's calendar feed."""
