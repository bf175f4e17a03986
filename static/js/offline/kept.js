// What this phone keeps for a day without a network, for one person: first names, open focuses, drills, blank forms.
const NAME = "coachbook-kept";
const STORE = "kept";
const LASTS = 3 * 24 * 3600 * 1000; // then it is forgotten

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function store(mode) {
  const opening = indexedDB.open(NAME, 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore(STORE);
  const database = await asked(opening);
  database.onversionchange = () => database.close();
  return database.transaction(STORE, mode).objectStore(STORE);
}

export async function put(name, value) {
  return asked((await store("readwrite")).put(value, name));
}

export async function get(name) {
  return asked((await store("readonly")).get(name));
}

export async function names() {
  return asked((await store("readonly")).getAllKeys());
}

export async function remove(name) {
  return asked((await store("readwrite")).delete(name));
}

// What is kept, unless it is too old; a clock that was set back makes it too old as well.
export async function kept(now = Date.now()) {
  const found = await get("day").catch(() => undefined);
  if (!found) return undefined;
  if (now - found.at <= LASTS && now >= found.at - LASTS) return found;
  await forget();
  return undefined;
}

export async function forget() {
  return asked((await store("readwrite")).clear());
}

// A walk-in’s name and the balls of a test are kept until they are sent, a test also until it is finished.
export async function tidy(pending) {
  for (const name of await names()) {
    if (name.startsWith("logged-") && Date.now() - (await get(name)).at > LASTS) await remove(name);
    const draft = name.startsWith("draft-") && (await get(name));
    if (draft && !draft.open && !pending.some(({ address }) => address.startsWith(draft.address))) await remove(name);
  }
}
