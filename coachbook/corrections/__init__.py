"""Mistakes put right: a lesson moved, a walk-in merged, a focus opened again; each undoable for thirty days."""
