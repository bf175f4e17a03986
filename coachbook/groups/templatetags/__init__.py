"""Template tags of group sessions."""
