"""A session with two to twenty students: attendance, the same for all, then what differs."""
