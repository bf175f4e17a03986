"""Changes that wait for a second person: what needs one, who may decide, what is made then, and who is notified."""
