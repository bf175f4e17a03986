"""The checkpoints of each area, which managers edit."""
