// The outbox of whoever is signed in on this page; `outbox` is null where the browser can keep none.
import { Outbox, isAble } from "./outbox.js";
import { Strip } from "./strip.js";
import { take } from "./forms.js";

const place = document.getElementById("outbox");
export const outbox = place && isAble ? new Outbox(place.dataset.person, place.dataset.who) : null;
export const strip = outbox && new Strip(place, outbox);

if (outbox) {
  take(outbox, strip);
  strip.show();
  outbox.watch();
}
