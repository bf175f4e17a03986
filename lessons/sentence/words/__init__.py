"""Words of the language: classes, cues, and common words that are no slip of others."""
