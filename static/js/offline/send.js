// What is written without a network goes into the outbox of the person who writes it, and from there to the server.
import { Outbox } from "../outbox/outbox.js";
import { Strip } from "../outbox/strip.js";

let outbox;

// The outbox of a person, with the strip that says what waits; it is opened once on a page.
export function openOutbox(person) {
  const place = document.getElementById("outbox");
  place.dataset.person = person;
  outbox = new Outbox(person, place.dataset.who);
  new Strip(place, outbox).show();
  outbox.watch();
  return outbox;
}

// The network may be there again, or may be slow: what is kept is sent at once, if it can be.
export async function keep(entry) {
  await outbox.put(entry);
  outbox.send();
}

export const listen = (listener) => outbox.onchange(listener);

export async function waiting(pattern) {
  return (await outbox.pending()).filter(({ address }) => pattern.test(address));
}
