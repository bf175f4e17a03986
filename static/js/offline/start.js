// Which page stands at which address while there is no network. An address of no such page says what works.
import { day } from "./day.js";
import { make, message, show } from "./dom.js";
import { isAble } from "../outbox/outbox.js";
import { kept, tidy } from "./kept.js";
import { log } from "./log.js";
import { family, practice, sheet } from "./practice.js";
import { test } from "./test.js";
import { openOutbox } from "./send.js";
import { walkIn } from "./walk_in.js";

const KEY = "[0-9a-f-]{36}";
const PAGES = [
  ["/", (found) => ({ coach: day, guardian: family }[found.kind] || practice)(found)],
  ["/students/", family],
  ["/diary/", day],
  [`/students/(${KEY})/lessons/(new|${KEY})/`, log],
  ["/students/walk-in/", walkIn],
  [`/students/(${KEY})/walk-in/`, walkIn],
  [`/students/(${KEY})/tests/(new|${KEY})/`, test],
  [`/students/(${KEY})/practice/`, practice],
  [`/students/(${KEY})/sheets/(${KEY})/`, sheet],
].map(([address, draw]) => [new RegExp(`^${address}$`), draw]);

async function start() {
  const found = await kept();
  if (found && isAble) await tidy(await openOutbox(found.person).pending());
  for (const [pattern, draw] of PAGES) {
    const keys = location.pathname.match(pattern);
    if (keys && found && (await draw(found, ...keys.slice(1)))) return tell(found);
  }
  if (isSlow()) location.reload(); // with nothing to show here, the page itself is worth waiting for
  else nothing(found);
}

// A network that is there and did not answer in time; after a reload, which waits, there is none.
function isSlow() {
  const [{ type }] = performance.getEntriesByType("navigation");
  return navigator.onLine && type !== "reload";
}

// What a page that is drawn here has to say of itself.
function tell({ ahead = 0 }) {
  const hours = Math.round(ahead / 3600000);
  if (isSlow()) notice("The network is slow: this is what the phone keeps. ", "Wait for the whole page");
  else if (hours) say(`The clock of this phone was about ${Math.abs(hours)} ${Math.abs(hours) === 1 ? "hour" : "hours"} ${hours > 0 ? "fast" : "slow"} when it last had a network: check the day.`);
}

function nothing(found) {
  const works = {
    coach: "Today’s students, a walk-in, a log and a scored test work without one.",
    guardian: "Today’s drills of your children work without one.",
    student: "Today’s drills, a test and your sheet work without one.",
  }[found?.kind];
  show(
    "No network", [],
    make("h1", {}, "No network"),
    make("p", {}, "This page needs a network. ", works || "Nothing is kept on this phone. Sign in once with a network."),
    works && make("p", { class: "actions" }, make("a", { class: "button main", href: "/" }, "Today")),
  );
}

function notice(why, what) {
  const again = make("a", { href: "" }, what);
  again.addEventListener("click", (event) => {
    event.preventDefault();
    location.reload();
  });
  say(why, again);
}

function say(...words) {
  document.getElementById("notice").replaceChildren(message(...words));
}

// Back on the network, every address has its real page.
window.addEventListener("online", () => notice("The network is back. ", "Open this page as it is there"));
start();
