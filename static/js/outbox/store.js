// What waits on this phone: one database a person, an entry for each form that the server has not answered yet.
// An entry: id (its turn), key (made once), address, root (what it holds up: later entries whose address begins so),
// page (a later form of the same page and address takes its place), count (which save of the page it is), fields (pairs, as sent), files (pairs of a name and
// a File), made (ms), kind, words (for a list), problem (null, or {status, words} of an answer that was no success).
const SCHEMA = 3;
const ENTRIES = "entries";
const PATIENCE = 5000; // ms until another tab that does not let go of the database is no longer waited for

export class Store {
  constructor(person) {
    this.name = `outbox-${person}`;
    this.opening = null;
  }

  // All entries, in their turn.
  all() {
    return this.within("readonly", (entries) => entries.getAll());
  }

  // Keep an entry, in place of unsent earlier ones of its page, or of one that was opened and put right; and in their
  // turn, since what was written after them may wait for it: a walk-in's log.
  put(entry) {
    return this.within("readwrite", (entries) => {
      entries.getAll().onsuccess = ({ target }) => {
        const replaced = target.result.filter((earlier) => isReplaced(earlier, entry));
        for (const { id } of replaced) entries.delete(id);
        if (replaced.length) entry.id = replaced[0].id;
        entries.add(entry).onsuccess = (added) => { entry.id = added.target.result; };
      };
    });
  }

  // Only what is still there goes, or is changed: a later form may have taken its place and its turn.
  remove(entry) {
    return this.change(entry, null);
  }

  // Forget what a page put in before its save number `count`.
  settle(page, count) {
    return this.within("readwrite", (entries) => {
      entries.getAll().onsuccess = ({ target }) => {
        for (const entry of target.result) if (entry.page === page && entry.count < count) entries.delete(entry.id);
      };
    });
  }

  change({ id, key }, values) {
    return this.within("readwrite", (entries) => {
      entries.get(id).onsuccess = ({ target }) => {
        if (target.result?.key !== key) return;
        if (values) entries.put({ ...target.result, ...values });
        else entries.delete(id);
      };
    });
  }

  async within(mode, act) {
    const database = await this.connect();
    return new Promise((resolve, reject) => {
      const turn = database.transaction(ENTRIES, mode, { durability: "strict" }); // "saved" outlives a dead battery
      const asked = act(turn.objectStore(ENTRIES));
      turn.oncomplete = () => resolve(asked?.result);
      turn.onabort = () => reject(turn.error || new Error("nothing was kept"));
    });
  }

  // The open database. A page of an older version that a phone has put to sleep keeps it from being opened: then this
  // rejects after a while, and again at once, until that page is gone.
  connect() {
    if (!this.opening) {
      const database = open(this.name, () => { this.opening = null; });
      this.opening = { database, late: late() };
      database.catch(() => { this.opening = null; });
    }
    return Promise.race([this.opening.database, this.opening.late]);
  }

  async close() {
    if (this.opening) (await this.connect().catch(() => null))?.close();
    this.opening = null;
  }

  // Forget all of this person's; for signing out.
  async erase() {
    await this.close();
    const erased = new Promise((resolve, reject) => {
      const asked = indexedDB.deleteDatabase(this.name);
      asked.onsuccess = resolve;
      asked.onerror = () => reject(asked.error);
    });
    await Promise.race([erased, late()]);
  }
}

function isReplaced(earlier, entry) {
  const samePage = entry.page && earlier.page === entry.page && earlier.address === entry.address;
  return samePage || earlier.key === entry.replaces;
}

function late() {
  return new Promise((_, reject) => { setTimeout(reject, PATIENCE, new DOMException("held by another tab", "TimeoutError")); });
}

function open(name, onclose) {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, SCHEMA);
    asked.onupgradeneeded = ({ oldVersion }) => upgrade(asked, oldVersion);
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const database = asked.result;
      database.onclose = onclose;
      database.onversionchange = () => { // a newer version of the program wants to bring it up to date
        database.close();
        onclose();
      };
      resolve(database);
    };
  });
}

// Version 1 had no root and no problem, and kept the moment as text; version 2 had no files: nothing of them is dropped.
function upgrade(asked, oldVersion) {
  if (oldVersion < 1) return void asked.result.createObjectStore(ENTRIES, { keyPath: "id", autoIncrement: true });
  asked.transaction.objectStore(ENTRIES).openCursor().onsuccess = ({ target }) => {
    const cursor = target.result;
    if (!cursor) return;
    const old = cursor.value;
    cursor.update({ page: "", root: old.address, problem: null, files: [], ...old, made: new Date(old.made).getTime() });
    cursor.continue();
  };
}
