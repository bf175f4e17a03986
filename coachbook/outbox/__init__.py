"""What a phone could not send at once, and sends again until it is answered: the server's side of it."""
