"""The academy's own reference stills: how a checkpoint should look. Managers add and archive them."""
