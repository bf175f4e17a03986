// Who signs out while something waits on this phone is asked first: what waits is deleted here with everything else.
import { outbox } from "./outbox/page.js";
import { forget } from "./offline/kept.js";

const form = document.getElementById("sign-out");
const asks = document.getElementById("waits");
const others = form.elements.namedItem("others");

// Another person's outbox on this phone is not ours to delete; a browser that does not say whether there is one may have it.
async function keepOthers() {
  const all = await indexedDB.databases?.().catch(() => null);
  const isAlone = all?.every(({ name }) => !name.startsWith("outbox-") || name === outbox.store.name);
  others.value = isAlone ? "" : "wait";
}

async function look() {
  const entries = await outbox.store.all().catch(() => []);
  asks.hidden = !entries.length;
  asks.querySelector("input").required = entries.length > 0;
  asks.querySelector("b").textContent = entries.length === 1 ? "1 entry is" : `${entries.length} entries are`;
  return entries.length;
}

async function leave() {
  const waits = outbox && await look();
  const isSaid = asks.querySelector("input").checked;
  if (waits && !isSaid) return asks.querySelector("input").focus();
  await Promise.allSettled([forget(), outbox && eraseOwn()]);
  form.submit();
}

async function eraseOwn() {
  await keepOthers();
  await outbox.store.erase();
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  leave().catch(() => form.submit());
});
if (outbox) {
  look();
  outbox.onchange(look);
}
