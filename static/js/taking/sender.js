// Pictures on their way: one after the other, each to an address of its own, so that one that is sent again is kept once.
const WAITS = [2000, 5000, 15000, 60000]; // ms before the next try, the last one again and again
const LONGEST = 90000; // ms that one try may take
const TOKEN = /(?:^|; )(?:__Host-csrf|csrftoken)=([^;]+)/;

const WORDS = {
  0: "no connection. It is sent again by itself",
  401: "you are signed out. Sign in in another tab, then press “Send again”",
  403: "the server refused it. Sign in again in another tab, then press “Send again”",
  413: "the file is more than the server takes. Choose a smaller one",
  429: "too much was sent at once. It is sent again by itself in a minute",
  507: "the server’s disk is full. Tell whoever runs this site; the picture waits here",
};
const AGAIN_BY_ITSELF = [0, 408, 425, 429, 502, 503, 504];

export class Sender {
  #waiting = []; // what is not kept yet, in order
  #sending = null;
  #tries = 0;
  #timer = 0;

  // `show(entry)` draws what became of one; `kept(entry, page)` takes the page that answered.
  constructor({ show, kept }) {
    this.show = show;
    this.kept = kept;
    window.addEventListener("online", () => this.send());
    window.addEventListener("beforeunload", (event) => { if (this.#waiting.length) event.preventDefault(); });
  }

  add(entry) {
    this.#waiting.push(entry);
    this.#say(entry, "waits for the one before");
    this.send();
  }

  drop(entry) {
    if (entry === this.#sending) return;
    this.#waiting = this.#waiting.filter((other) => other !== entry);
    this.send();
  }

  send(first = this.#waiting.find((entry) => !entry.isRefused)) {
    if (this.#sending || !first) return;
    clearTimeout(this.#timer);
    this.#sending = first;
    first.isRefused = false;
    this.#post(first);
  }

  #post(entry) {
    const request = new XMLHttpRequest(); // which says how much of it is sent
    request.open("POST", entry.address);
    request.responseType = "document";
    request.timeout = LONGEST;
    const token = document.cookie.match(TOKEN);
    if (token) request.setRequestHeader("X-CSRFToken", token[1]);
    const total = Math.max(1, Math.round(entry.size / 1000));
    request.upload.onprogress = ({ loaded }) => this.#say(entry, `sending: ${Math.min(total, Math.round(loaded / 1000))} of ${total} kB`);
    request.onloadend = () => this.#answered(entry, request);
    this.#say(entry, `sending: 0 of ${total} kB`);
    request.send(entry.data);
  }

  #answered(entry, request) {
    this.#sending = null;
    if (request.status >= 200 && request.status < 300) {
      this.#tries = 0;
      this.#waiting = this.#waiting.filter((other) => other !== entry);
      entry.isKept = true;
      this.#say(entry, "kept");
      this.kept(entry, request.response);
      this.send();
    } else if (AGAIN_BY_ITSELF.includes(request.status)) {
      this.#say(entry, `not sent yet: ${wordsFor(request)}.`, true);
      this.#timer = setTimeout(() => this.send(), WAITS[Math.min(this.#tries++, WAITS.length - 1)]);
    } else {
      entry.isRefused = true;
      this.#say(entry, `not kept: ${wordsFor(request)}.`, true);
      this.send();
    }
  }

  #say(entry, words, isProblem = false) {
    entry.said = words;
    entry.isProblem = isProblem;
    this.show(entry);
  }
}

// What is wrong, as the server says it beside the fields, or by the status.
function wordsFor({ status, response }) {
  const said = status === 422 && response ? [...response.querySelectorAll(".problems li, .care")].map((item) => item.textContent.trim()) : [];
  if (said.length) return said.join(" ").replace(/\.$/, "");
  if (WORDS[status]) return WORDS[status];
  return status < 500 ? "the server refused it" : "the server cannot keep it just now. Press “Send again” in a while";
}
