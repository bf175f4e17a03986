// The outbox of one person: put a form in, and it is sent once, now or later, by one tab at a time.
import { Store } from "./store.js";
import { written } from "./files.js";
import { REASONS, askWho, heldPages, sendAll } from "./sender.js";

const SOON = 5000; // ms until the next try; twice as long after each failure, to five minutes
const SELDOM = 300000;

// A browser that can keep an outbox; others send forms as if there were none.
export const isAble = "indexedDB" in window && "locks" in navigator && "BroadcastChannel" in window;

export class Outbox {
  constructor(person, who) {
    this.person = person;
    this.who = who; // the address that says who is signed in
    this.store = new Store(person);
    this.reason = ""; // why what waits could not be sent
    this.isLasting = undefined; // whether the browser promised to keep what waits, once it was asked
    this.listeners = new Set();
    this.own = new Set(); // pages of this tab that send for themselves
    this.stuck = new Set(); // those that could not
    this.asked = null;
    this.pause = SOON;
    this.channel = new BroadcastChannel(`outbox-${person}`);
    this.channel.onmessage = ({ data }) => this.tell({ ...data, isOfAnotherTab: true });
  }

  // Keep a form: resolves with the entry once it is on this phone for good, and rejects where it cannot be kept.
  async put({ key = crypto.randomUUID(), address, fields, files = [], kind, words, page = "", root = address, replaces = "", count = 0 }) {
    const entry = { key, address, root, page, fields, files, made: Date.now(), kind, words, problem: null, replaces, count };
    await this.store.put(entry);
    navigator.storage?.persist?.().then((isLasting) => { this.isLasting = isLasting; });
    this.share({ put: entry.key, page, isQuiet: this.own.has(page) });
    return entry;
  }

  // What waits, oldest first; without what an open page is just sending itself.
  async pending() {
    const [entries, held] = await Promise.all([this.store.all(), heldPages()]);
    return entries.filter(({ page }) => !held.has(page) || this.stuck.has(page));
  }

  // Try to send all. Whoever calls while it is tried waits for the next round. Resolves when that is over.
  send({ again = false } = {}) {
    this.again ||= again;
    if (again) this.tell({ asked: true });
    this.asked ||= navigator.locks.request(`sender-${this.person}`, async () => {
      const isAgain = this.again;
      this.asked = null;
      this.again = false;
      await this.round(isAgain);
    });
    return this.asked;
  }

  async round(again) {
    const told = (entry, answer) => this.share({ key: entry.key, page: entry.page, kind: entry.kind, words: entry.words, answer });
    try {
      this.reason = await sendAll(this.store, { person: this.person, who: this.who, again, told });
    } catch (error) {
      this.reason = String(error);
    }
    this.share({ reason: this.reason });
    this.plan();
  }

  // The next try: soon, then more and more seldom.
  plan() {
    clearTimeout(this.timer);
    if (!this.reason) this.pause = SOON;
    else this.timer = setTimeout(() => this.send(), this.pause);
    if (this.reason) this.pause = Math.min(this.pause * 2, SELDOM);
  }

  async settle(page, count) {
    await this.store.settle(page, count);
    this.share({ settled: page });
  }

  async drop(entry) {
    await this.store.remove(entry);
    this.share({ dropped: entry.id });
  }

  token() {
    return askWho(this.who, this.person);
  }

  // `listener(news)` hears in every tab what was put in, answered, dropped, or why it waits.
  onchange(listener) {
    this.listeners.add(listener);
  }

  share(news) {
    this.channel.postMessage(news);
    this.tell(news);
  }

  tell(news) {
    if ("reason" in news) this.reason = news.reason;
    for (const listener of this.listeners) listener(news);
  }

  // What waits, as a text for a file.
  async exported() {
    return JSON.stringify(await Promise.all((await this.store.all()).map(written)), null, 2);
  }

  // From now on try whenever there is hope.
  watch() {
    const now = () => { if (document.visibilityState === "visible") this.send(); };
    for (const name of ["online", "pageshow"]) window.addEventListener(name, now);
    document.addEventListener("visibilitychange", now);
    return this.send();
  }
}

export { REASONS };
