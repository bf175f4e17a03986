"""What an academy that grows needs: when to change to PostgreSQL, and the copy that proves itself."""
