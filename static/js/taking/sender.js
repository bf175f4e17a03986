// Pictures on their way: one after the other, each to an address of its own, so that one that is sent again is kept once.
import { bodyOf } from "../outbox/files.js";
import { headersOf } from "../outbox/sender.js";

const WAITS = [2000, 5000, 15000, 60000]; // ms before the next try, the last one again and again
const LONGEST = 90000; // ms that one try may take
const TOKEN = /(?:^|; )(?:__Host-csrf|csrftoken)=([^;]+)/;

const WORDS = {
  0: "no connection. It is sent again by itself",
  200: "no answer of this site came. Open another page of it, then press “Send again”",
  401: "you are signed out, or somebody else is signed in. Sign in in another tab, then press “Send again”",
  403: "the server refused it. Sign in again in another tab, then press “Send again”",
  404: "you no longer reach this student, or the lesson was moved to another",
  413: "the file is more than the server takes. Choose a smaller one",
  429: "too much was sent at once. It is sent again by itself in a minute",
  507: "the server’s disk is full. Tell whoever runs this site; the picture waits here",
};
const AGAIN_BY_ITSELF = [0, 408, 425, 429, 502, 503, 504];
const REFUSED = [403, 404, 409, 413, 422]; // it is no use to send it as it is, also later

export class Sender {
  #waiting = []; // what the server does not have yet, in order
  #sending = null;
  #tries = 0;
  #timer = 0;

  // `shelf` keeps it on this phone; `show(entry)` draws what became of one; `taken(entry, to)` hears where the list is.
  constructor({ person, shelf, show, taken }) {
    this.person = person;
    this.shelf = shelf;
    this.show = show;
    this.taken = taken;
    window.addEventListener("online", () => this.send());
    window.addEventListener("beforeunload", (event) => { if (this.#waiting.some(({ kept }) => !kept)) event.preventDefault(); });
    shelf.onchange((news) => this.#hear(news));
  }

  // An entry has a form, as the outbox takes it, and words.
  async add(entry) {
    this.#waiting.push(entry);
    this.#say(entry, "waits for the one before");
    entry.kept = await this.shelf.keep(entry.form);
    entry.isReady = true;
    this.send();
  }

  drop(entry) {
    if (entry === this.#sending) return;
    this.#leave(entry);
    this.shelf.forget(entry.kept);
    this.send();
  }

  send(first = this.#waiting.find((entry) => entry.isReady && !entry.isRefused)) {
    if (this.#sending || !first) return;
    clearTimeout(this.#timer);
    this.#sending = first;
    first.isRefused = false;
    this.#start(first);
  }

  async #start(entry) {
    if (!(await this.shelf.isHeldUp(entry.kept))) return this.#post(entry);
    this.#sending = null;
    this.#wait(entry, "what was written before it goes first");
  }

  #post(entry) {
    const { form, kept } = entry;
    const request = new XMLHttpRequest(); // which says how much of it is sent
    request.open("POST", form.address);
    request.timeout = LONGEST;
    const token = document.cookie.match(TOKEN)?.[1] || "";
    for (const [name, value] of Object.entries(headersOf({ made: Date.now(), ...form, ...kept }, this.person, token))) {
      request.setRequestHeader(name, value);
    }
    const total = Math.max(1, Math.round(form.files[0][1].size / 1000));
    request.upload.onprogress = ({ loaded }) => this.#say(entry, `sending: ${Math.min(total, Math.round(loaded / 1000))} of ${total} kB`);
    request.onloadend = () => this.#answered(entry, request);
    this.#say(entry, `sending: 0 of ${total} kB`);
    request.send(bodyOf(form));
  }

  #answered(entry, request) {
    this.#sending = null;
    const to = whereTo(entry.form.key, request);
    if (to) this.#done(entry, to);
    else if (AGAIN_BY_ITSELF.includes(request.status)) this.#wait(entry, wordsFor(request));
    else this.#refuse(entry, request);
  }

  #done(entry, to) {
    this.#tries = 0;
    this.#leave(entry);
    this.shelf.forget(entry.kept);
    this.#say(entry, "kept");
    this.taken(entry, to);
    this.send();
  }

  #wait(entry, why) {
    this.#say(entry, `not sent yet: ${why}. ${whereItIs(entry)}`, true);
    this.shelf.fail(entry.kept, null);
    this.#timer = setTimeout(() => this.send(), WAITS[Math.min(this.#tries++, WAITS.length - 1)]);
  }

  #refuse(entry, request) {
    entry.isRefused = true;
    const { status } = request;
    this.#say(entry, `not kept: ${wordsFor(request)}. ${whereItIs(entry)}`, true);
    this.shelf.fail(entry.kept, REFUSED.includes(status) ? { status, words: `${said(request).join(" ")}` } : null);
    this.send();
  }

  #leave(entry) {
    this.#waiting = this.#waiting.filter((other) => other !== entry);
    if (!this.#waiting.length) this.shelf.calm();
  }

  #hear({ asked, answer, settled, dropped }) {
    if (asked) for (const entry of this.#waiting) entry.isRefused = false;
    const thrown = dropped && this.#waiting.find(({ kept }) => kept?.id === dropped);
    if (thrown && thrown !== this.#sending) {
      this.#leave(thrown);
      thrown.row.remove();
    }
    if (asked || answer || settled) this.send();
  }

  #say(entry, words, isProblem = false) {
    entry.said = words;
    entry.isProblem = isProblem;
    this.show(entry);
  }
}

// Where the list is that has it; empty where the answer does not name its key: a page of somebody else's network is none.
function whereTo(key, { status, responseText }) {
  if (status < 200 || status >= 300) return "";
  try {
    const found = JSON.parse(responseText);
    return found.key === key ? found.to : "";
  } catch {
    return "";
  }
}

function whereItIs({ kept }) {
  return kept ? "It is saved on this phone." : "It is on this page only: leave the page open.";
}

// What is wrong, as the server says it beside the fields.
function said({ status, responseText }) {
  if (status !== 422) return [];
  const page = new DOMParser().parseFromString(responseText, "text/html");
  return [...page.querySelectorAll(".problems li, .refusal")].map((item) => item.textContent.trim());
}

function wordsFor(request) {
  const words = said(request).join(" ").replace(/\.$/, "");
  if (words || WORDS[request.status]) return words || WORDS[request.status];
  if (request.status < 300) return WORDS[200];
  return request.status < 500 ? "the server refused it" : "the server cannot keep it just now. Press “Send again” in a while";
}
