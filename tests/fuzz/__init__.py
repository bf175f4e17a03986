"""Fuzzing: junk is posted to every address as everybody, to see that nothing answers with a server error."""
