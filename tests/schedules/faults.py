"""Faults put into the outbox, so that the schedules notice: what stands in a module, and what in its place."""

# What shows a fault that chance alone shows rarely, while something waits: a network, or what goes wrong now and then.
PROVOKED_BY = {
    "any answer is a success": "late portal",
    "an older version is dropped": "update",
    "sent as whoever is signed in": "other_person",
}
SENDS = "const answer = await send(entry, person, token.token);"
FAULTS = {
    "no lock": [
        (
            "navigator.locks.request(`sender-${this.person}`, async () => {",
            "Promise.resolve().then(async () => {",
        )
    ],
    "a new key for each try": [('"Outbox-Key": entry.key,', '"Outbox-Key": (entry.key = crypto.randomUUID()),')],
    "forgotten before it is sent": [(SENDS, f"await store.remove(entry); {SENDS}")],
    "any answer is a success": [
        (
            'return found?.key === entry.key ? { isSent: true, status, to: found.to } : { reason: "busy" };',
            "return { isSent: true, status, to: '' };",
        )
    ],
    "an older version is dropped": [
        (
            "if (oldVersion < 1) return",
            "if (oldVersion === 1) asked.result.deleteObjectStore(ENTRIES); if (oldVersion < 2) return",
        )
    ],
    "sent as whoever is signed in": [
        ('return found.person === person ? found : { reason: "other" };', "return found;"),
        (SENDS, "const answer = await send(entry, token.person, token.token);"),
    ],
    "latest first": [("nextOf(await store.all(),", "nextOf((await store.all()).reverse(),")],
}
