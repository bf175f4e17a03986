"""What became of the changes for which a drill was given, beside the other drills for the same fault."""
