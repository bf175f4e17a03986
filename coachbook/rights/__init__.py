"""One person's data: everything about a student as a file, and erasing it."""
