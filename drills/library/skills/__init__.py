"""Skills and faults: the academy's and a coach's own; added, changed, offered, ordered, merged and archived here."""
