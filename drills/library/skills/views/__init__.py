"""The pages of skills and faults, and what their buttons do."""
