"""What becomes of pictures whose consent is withdrawn."""
