"""Group sessions of two to twenty students: attendance, what is the same for everyone, and what differs."""
